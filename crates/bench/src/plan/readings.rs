//! How often to read, and what the readings can tell apart.

use lamp::as_built::Lamp;

use crate::sensor::doubt::doubt;
use crate::sensor::telling::set_up;

/// Samples within the fast time constant (common practice, no source).
const SAMPLES_IN_FAST: f64 = 15.0;
/// Intervals that loggers offer, s.
const INTERVALS_S: [f64; 6] = [1.0, 2.0, 5.0, 10.0, 20.0, 30.0];

/// What a room's sensor at the bench leaves of doubt in a difference of two rises, K either way (common practice, no source).
const ROOM_K: f64 = 0.2;

/// Time between samples for a fast time constant, s: the longest usual one that leaves some fifteen samples in it, and no less than a
/// second, for what a lamp does faster than that no longer matters to where it settles.
#[must_use]
pub fn interval_s(fast_s: f64) -> f64 {
    let most_s = fast_s / SAMPLES_IN_FAST;
    INTERVALS_S.into_iter().rfind(|s| *s <= most_s).unwrap_or(INTERVALS_S[0])
}

/// What two settled rises must differ by to be told apart, K: at 95 %, by what differs from sample to sample (the logger's steps and
/// noise), by what the dwell leaves of the approach and by the room, `2 sqrt(2) sqrt(u^2 + (w^2 + r^2) / 3)` (JCGM 100:2008, 4.3.7 and 5.1.2). Samples are
/// not counted as averaged: a converter's steps do not average out where there is no noise. The sensors' own errors are left out, for
/// the reading without power takes them off.
#[must_use]
pub fn told_apart_k(lamp: &Lamp, at_c: f64, settled_within_k: f64) -> f64 {
    let setup = lamp.watched().and_then(|sensor| set_up(lamp, sensor));
    let scatter_k =
        setup.and_then(|s| doubt(&s, at_c, Some(lamp.ambient_c)).ok()).map_or(0.0, |d| d.scatter_k());
    2.0 * 2f64.sqrt() * scatter_k.hypot(settled_within_k.hypot(ROOM_K) / 3f64.sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn some_fifteen_samples_fall_into_the_fast_time_constant() {
        // By hand: 24 s over 15 is 1.6 s; 150 s over 15 is 10 s; 3 s would be five samples in a second.
        for (fast_s, interval) in
            [(24.0, 1.0), (30.0, 2.0), (149.0, 5.0), (150.0, 10.0), (3.0, 1.0), (1e5, 30.0)]
        {
            assert_eq!(interval_s(fast_s), interval, "{fast_s}");
        }
    }
}

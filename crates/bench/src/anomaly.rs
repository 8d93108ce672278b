//! What should not happen on a plateau: a step at constant current, a slope that rises, a fan that stops, an emitter that lets go, a
//! sensor that saturates.

use crate::approach::{Wanted, settle};
use crate::plateau::spans::{Least, Span};
use crate::plateau::splitting::split_points;

/// What kind of trouble.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// The temperature took another course although the current did not change.
    StepAtConstantCurrent,
    /// It took another course upwards, by a good part of its rise: as when a fan stops.
    FanLoss,
    /// It rises ever faster.
    RisingSlope,
    /// The voltage jumped at constant current.
    EmitterLetsGo,
    /// The sensor stands at an end of its range.
    Saturation,
}

/// Trouble with its place.
#[derive(Debug, Clone, PartialEq)]
pub struct Anomaly {
    /// What kind.
    pub kind: Kind,
    /// When it began, s.
    pub time_s: f64,
    /// What was seen, what it may mean, what to do.
    pub text: String,
}

/// A change upwards by more than this part of the rise looks like a fan (a fan's loss doubles a finned heatsink's resistance or more;
/// common practice, no source).
const FAN_PART: f64 = 0.2;
/// So many equal samples in a row at the very end of the range are no chance.
const STUCK: usize = 5;
/// The voltage's jump counts from this part of it on; a single emitter of a string of eight is an eighth.
const VOLTAGE_PART: f64 = 0.01;

/// Everything that is wrong with a plateau. Columns are those of the whole log, NaN where missing: temperature, degC; ambient, degC;
/// voltage of the lamp or a string, V.
#[must_use]
pub fn anomalies(
    time_s: &[f64],
    temperature_c: &[f64],
    ambient_c: Option<&[f64]>,
    voltage_v: Option<&[f64]>,
    span: &Span,
    least: &Least,
) -> Vec<Anomaly> {
    let end = (span.last + 1).min(time_s.len()).min(temperature_c.len());
    let first = span.first.min(end);
    let (time, temperature) = (&time_s[first..end], &temperature_c[first..end]);
    // Slow drifts of the room are no anomalies of the lamp; a gap in its column keeps the value before it.
    let above: Vec<f64> = match ambient_c.and_then(|column| column.get(first..end)) {
        Some(ambient) => {
            let mut known = ambient.iter().copied().find(|a| a.is_finite()).unwrap_or(0.0);
            let felt = ambient.iter().map(|a| {
                known = if a.is_finite() { *a } else { known };
                known
            });
            temperature.iter().zip(felt).map(|(t, a)| t - a).collect()
        }
        None => temperature.to_vec(),
    };
    let mut found = Vec::new();
    found.extend(saturation(time, temperature));
    if found.is_empty() {
        found.extend(other_course(time, &above, least));
    }
    found.extend(rising_slope(time, &above));
    if let Some(voltage) = voltage_v.and_then(|column| column.get(first..end)) {
        found.extend(voltage_jump(time, voltage));
    }
    found.sort_by(|a, b| a.time_s.total_cmp(&b.time_s));
    found
}

fn minutes(time_s: f64, time: &[f64]) -> f64 {
    (time_s - time.first().copied().unwrap_or(0.0)) / 60.0
}

/// Runs of exactly equal samples at the highest or lowest value of the plateau, where the samples before them moved towards it.
fn saturation(time: &[f64], temperature: &[f64]) -> Option<Anomaly> {
    let known: Vec<(f64, f64)> =
        time.iter().zip(temperature).filter(|(_, v)| v.is_finite()).map(|(t, v)| (*t, *v)).collect();
    let ends = known.iter().fold([f64::INFINITY, f64::NEG_INFINITY], |[a, b], (_, v)| [a.min(*v), b.max(*v)]);
    for end in ends {
        let longest =
            known.chunk_by(|a, b| a.1 == b.1).filter(|run| run[0].1 == end).max_by_key(|run| run.len())?;
        let elsewhere = known
            .chunk_by(|a, b| a.1 == b.1)
            .filter(|run| run[0].1 != end)
            .map(<[_]>::len)
            .max()
            .unwrap_or(0);
        // A coarse converter repeats itself everywhere; a saturated one at the end only.
        let mut distinct: Vec<f64> = known.iter().map(|(_, v)| *v).collect();
        distinct.sort_by(f64::total_cmp);
        distinct.dedup();
        let coarse = 3 * distinct.len() < known.len() - longest.len();
        if ends[0] < ends[1] && longest.len() >= STUCK && longest.len() > 4 * elsewhere && !coarse {
            return Some(Anomaly {
                kind: Kind::Saturation,
                time_s: longest[0].0,
                text: format!(
                    "the sensor reads exactly {end:.2} degC {} times in a row, the end of what it or the logger can read: the true temperature \
                     lies beyond; take a wider range and repeat this plateau",
                    longest.len()
                ),
            });
        }
    }
    None
}

/// Another approach within the plateau: one that heads for another settled value, beyond the doubt of both.
fn other_course(time: &[f64], above: &[f64], least: &Least) -> Vec<Anomaly> {
    let splits = split_points(time, above, least);
    let settled = |from: usize, to: usize, dead_s: f64| {
        settle(&time[from..to], &above[from..to], None, &Wanted { dead_s, ..Wanted::default() }).ok()
    };
    let (mut found, mut from) = (Vec::new(), 0);
    for (k, split) in splits.iter().enumerate() {
        let until = splits.get(k + 1).map_or(above.len(), |next| next.sample);
        // The place is known to some samples only; those are left out on its side.
        let early = (0..split.sample)
            .rfind(|&i| time[i] <= time[split.sample] - split.doubt_s)
            .unwrap_or(split.sample);
        let (Some(before), Some(after)) =
            (settled(from, early, 0.0), settled(split.sample, until, split.doubt_s))
        else {
            continue;
        };
        let change = after.value - before.value;
        if change.abs() < least.change_k.max(3.0 * before.standard.hypot(after.standard)) {
            continue;
        }
        from = split.sample;
        // Without the ambient the rise is not known; the change since the step stands for it.
        let begun = above.iter().copied().find(|v| v.is_finite()).unwrap_or(0.0);
        let rise = (before.value - begun).abs().max(1.0);
        let (kind, means) = if change > FAN_PART * rise {
            (
                Kind::FanLoss,
                "as when a fan stops or slows, an air path is blocked, or the board lifts off its heatsink; look at the fan first",
            )
        } else {
            (
                Kind::StepAtConstantCurrent,
                "somebody moved, opened or touched something, the fan changed its speed, or the contact to the heatsink did; use the part \
                 before only",
            )
        };
        found.push(Anomaly {
            kind,
            time_s: time[split.sample],
            text: format!(
                "{:.0} min after the step the temperature took another course at constant current, towards {change:+.1} K: {means}",
                minutes(time[split.sample], time)
            ),
        });
    }
    found
}

/// Slopes of the last three quarters of the plateau: an approach flattens, a runaway steepens.
fn rising_slope(time: &[f64], above: &[f64]) -> Option<Anomaly> {
    let known: Vec<(f64, f64)> = time
        .iter()
        .zip(above)
        .filter(|(t, v)| v.is_finite() && t.is_finite())
        .map(|(t, v)| (*t, *v))
        .collect();
    if known.len() < 40 {
        return None;
    }
    let late = &known[known.len() / 4..];
    let parts: Vec<Line> = late.chunks(late.len().div_ceil(3)).filter_map(line).collect();
    let [first, second, third] = parts.as_slice() else { return None };
    let steeper = |a: &Line, b: &Line| b.slope - a.slope > 4.0 * a.slope_standard.hypot(b.slope_standard);
    let hours = third.slope * 3600.0;
    // Below a kelvin an hour nothing runs away.
    (third.slope > 0.0 && hours > 1.0 && steeper(first, third) && second.slope > first.slope && third.slope > second.slope)
        .then(|| Anomaly {
            kind: Kind::RisingSlope,
            time_s: late[2 * late.len() / 3].0,
            text: format!(
                "the temperature rises ever faster at constant current, at last by {hours:.0} K/h: stop the test. Either the lamp runs away (each \
                 kelvin makes more heat than the cooling takes) or its cooling is failing"
            ),
        })
}

struct Line {
    slope: f64,
    slope_standard: f64,
}

/// Least-squares line; its uncertainty from residuals that hang together as neighbours show (effective number of samples).
fn line(points: &[(f64, f64)]) -> Option<Line> {
    let n = points.len() as f64;
    let (mx, my) = (points.iter().map(|p| p.0).sum::<f64>() / n, points.iter().map(|p| p.1).sum::<f64>() / n);
    let sxx: f64 = points.iter().map(|p| (p.0 - mx).powi(2)).sum();
    if points.len() < 4 || sxx <= 0.0 {
        return None;
    }
    let slope = points.iter().map(|p| (p.0 - mx) * (p.1 - my)).sum::<f64>() / sxx;
    let residuals: Vec<f64> = points.iter().map(|p| p.1 - my - slope * (p.0 - mx)).collect();
    let squares: f64 = residuals.iter().map(|r| r * r).sum();
    let r = crate::approach::noise::autocorrelation(&residuals, 1)
        .get(1)
        .copied()
        .filter(|r| r.is_finite())
        .unwrap_or(0.0);
    let r = r.clamp(0.0, 0.95);
    let variance = squares / (n - 2.0) * (1.0 + r) / (1.0 - r);
    Some(Line { slope, slope_standard: (variance / sxx).sqrt() })
}

/// A jump of the voltage: medians of five samples before and after.
pub(crate) fn voltage_jump(time: &[f64], voltage: &[f64]) -> Option<Anomaly> {
    let known: Vec<(f64, f64)> =
        time.iter().zip(voltage).filter(|(_, v)| v.is_finite()).map(|(t, v)| (*t, *v)).collect();
    const SIDE: usize = 5;
    if known.len() < 4 * SIDE {
        return None;
    }
    let median = |part: &[(f64, f64)]| {
        let mut values: Vec<f64> = part.iter().map(|p| p.1).collect();
        values.sort_by(f64::total_cmp);
        values[values.len() / 2]
    };
    let mut differences: Vec<f64> = known.windows(2).map(|pair| (pair[1].1 - pair[0].1).abs()).collect();
    differences.sort_by(f64::total_cmp);
    let noise = differences[differences.len() / 2];
    let whole = median(&known).abs();
    // The first samples after a step still move with the warming junction.
    let (at, jump) = (2 * SIDE..known.len() - SIDE)
        .map(|i| (i, median(&known[i..i + SIDE]) - median(&known[i - SIDE..i])))
        .max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()))?;
    if jump.abs() <= (8.0 * noise).max(VOLTAGE_PART * whole) {
        return None;
    }
    let means = if jump < 0.0 {
        "an emitter has become a short, or its string a way around it"
    } else {
        "a joint or a bond wire has gone high in resistance, or a parallel string has opened and the others carry its current"
    };
    Some(Anomaly {
        kind: Kind::EmitterLetsGo,
        time_s: known[at].0,
        text: format!(
            "the voltage jumped by {jump:+.2} V of {whole:.1} V at constant current: {means}. Switch off and look at each emitter before going on"
        ),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::approach::testing::Random;

    const N: usize = 600;

    fn log(seed: u64, extra: impl Fn(f64) -> f64) -> (Vec<f64>, Vec<f64>) {
        let mut random = Random::new(seed);
        let time_s: Vec<f64> = (0..N).map(|i| 5.0 * i as f64).collect();
        let value = time_s
            .iter()
            .map(|t| {
                25.0 + 30.0 * (1.0 - 0.3 * (-t / 25.0).exp() - 0.7 * (-t / 400.0).exp())
                    + extra(*t)
                    + 0.1 * random.normal()
            })
            .collect();
        (time_s, value)
    }

    fn kinds(time_s: &[f64], value: &[f64], voltage: Option<&[f64]>) -> Vec<(Kind, f64)> {
        let span = Span {
            first: 0,
            last: N - 1,
            begin_s: 0.0,
            begin_doubt_s: 0.0,
            end_s: time_s[N - 1],
            current_a: Some(1.0),
        };
        anomalies(time_s, value, None, voltage, &span, &Least::default())
            .iter()
            .map(|a| (a.kind, a.time_s))
            .collect()
    }

    #[test]
    fn a_sound_plateau_has_no_anomaly() {
        for seed in 0..25 {
            let (time_s, value) = log(seed, |t| 0.4 * (t / 9.0).sin());
            let mut random = Random::new(1000 + seed);
            let voltage: Vec<f64> = time_s
                .iter()
                .map(|t| 24.0 - 0.6 * (1.0 - (-t / 300.0).exp()) + 0.02 * random.normal())
                .collect();
            assert_eq!(kinds(&time_s, &value, Some(&voltage)), [], "{seed}");
            // A coarse logger repeats itself and is not saturated.
            let coarse: Vec<f64> = value.iter().map(|v| (v / 0.5).round() * 0.5).collect();
            assert_eq!(kinds(&time_s, &coarse, None), [], "{seed} coarse");
        }
    }

    #[test]
    fn a_fan_that_stops_is_told_with_its_time() {
        for seed in 0..20 {
            let (time_s, value) =
                log(seed, |t| if t > 1500.0 { 20.0 * (1.0 - (-(t - 1500.0) / 300.0).exp()) } else { 0.0 });
            let found = kinds(&time_s, &value, None);
            assert!(
                found.len() == 1 && found[0].0 == Kind::FanLoss && (found[0].1 - 1500.0).abs() < 60.0,
                "{seed}: {found:?}"
            );
        }
    }

    #[test]
    fn a_small_change_of_course_is_told() {
        for seed in 0..20 {
            let (time_s, value) =
                log(seed, |t| if t > 1800.0 { -2.5 * (1.0 - (-(t - 1800.0) / 100.0).exp()) } else { 0.0 });
            let found = kinds(&time_s, &value, None);
            let right = found.len() == 1
                && found[0].0 == Kind::StepAtConstantCurrent
                && (found[0].1 - 1800.0).abs() < 90.0;
            assert!(right, "{seed}: {found:?}");
        }
    }

    #[test]
    fn a_runaway_is_told() {
        for seed in 0..20 {
            let (time_s, value) = log(seed, |t| 2.0 * (t / 900.0).exp());
            assert!(
                kinds(&time_s, &value, None).iter().any(|(kind, _)| *kind == Kind::RisingSlope),
                "{seed}"
            );
        }
    }

    #[test]
    fn an_emitter_that_lets_go_shows_in_the_voltage() {
        let (time_s, value) = log(1, |_| 0.0);
        for (jump, seed) in [(-2.9, 1), (1.0, 2)] {
            let mut random = Random::new(seed);
            let voltage: Vec<f64> = time_s
                .iter()
                .map(|t| 24.0 + if *t >= 2000.0 { jump } else { 0.0 } + 0.02 * random.normal())
                .collect();
            let found = kinds(&time_s, &value, Some(&voltage));
            assert!(
                found.len() == 1 && found[0].0 == Kind::EmitterLetsGo && (found[0].1 - 2000.0).abs() < 15.0,
                "{found:?}"
            );
        }
    }

    #[test]
    fn a_saturated_sensor_is_told() {
        let (time_s, value) = log(4, |_| 0.0);
        let cut: Vec<f64> = value.iter().map(|v| v.min(48.0)).collect();
        let found = kinds(&time_s, &cut, None);
        assert!(found.len() == 1 && found[0].0 == Kind::Saturation, "{found:?}");
    }

    #[test]
    fn empty_and_wild_columns_harm_nothing() {
        let span =
            Span { first: 3, last: 900, begin_s: 0.0, begin_doubt_s: 0.0, end_s: 1.0, current_a: None };
        assert!(anomalies(&[], &[], Some(&[]), Some(&[]), &span, &Least::default()).is_empty());
        let nothing = [f64::NAN; 100];
        assert!(
            anomalies(&nothing, &nothing, Some(&nothing), Some(&nothing), &span, &Least::default())
                .is_empty()
        );
    }
}

//! In which order currents and variants are taken.

/// How the currents of a run follow one another.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Order {
    /// Up and down again, the highest once: each current's two plateaus have the same mean time, so that what drifts evenly
    /// with the time adds the same to every current, and drops out of the differences between them.
    Mirrored,
    /// Up, each once: the shortest.
    Rising,
    /// Each once, shuffled anew for each run, by a number from which the same order comes again.
    Random(u64),
}

impl Order {
    /// As typed.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Mirrored => "mirrored",
            Self::Rising => "rising",
            Self::Random(_) => "random",
        }
    }

    /// The number it is shuffled by.
    #[must_use]
    pub const fn seed(self) -> Option<u64> {
        match self {
            Self::Random(seed) => Some(seed),
            _ => None,
        }
    }

    /// The currents, A, of a run by its number, from those to be taken, ascending.
    #[must_use]
    pub fn of_run(self, run: usize, ascending_a: &[f64]) -> Vec<f64> {
        let mut all = ascending_a.to_vec();
        match self {
            Self::Mirrored => all.extend(ascending_a.iter().rev().skip(1)),
            Self::Rising => {}
            Self::Random(seed) => shuffle(&mut all, seed.wrapping_add((run as u64).wrapping_mul(WEYL))),
        }
        all
    }
}

/// The variants of all runs, by index: each is mounted so many times, and every other round goes backwards, so that what drifts
/// evenly from run to run adds the same to each.
#[must_use]
pub fn mounts(variants: &[usize], mountings: usize) -> Vec<usize> {
    let round = |k: usize| -> Vec<usize> {
        if k.is_multiple_of(2) { variants.to_vec() } else { variants.iter().rev().copied().collect() }
    };
    (0..mountings).flat_map(round).collect()
}

/// Odd, and far from small multiples of anything: 2^64 over the golden ratio.
const WEYL: u64 = 0x9E37_79B9_7F4A_7C15;

/// Shuffles evenly (R. A. Fisher and F. Yates 1938, in R. Durstenfeld's form of 1964), with numbers from G. L. Steele, D. Lea and
/// C. H. Flood's splitting generator of 2014 (constants from memory).
fn shuffle(all: &mut [f64], seed: u64) {
    let mut state = seed;
    let mut next = || {
        state = state.wrapping_add(WEYL);
        let mut z = state;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    };
    for last in (1..all.len()).rev() {
        // Of so few places, the remainder's unevenness is below 1e-17.
        let with = (next() % (last as u64 + 1)) as usize;
        all.swap(last, with);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const CURRENTS_A: [f64; 6] = [0.2, 0.35, 0.5, 0.7, 0.85, 1.05];

    /// By hand: with plateaus of one length, read at their ends, a drift of so much a second adds the same to the mean of each
    /// current's readings, whatever its rate. Exact but for rounding.
    #[test]
    fn a_mirrored_order_cancels_an_even_drift_exactly() {
        let dwell_s = 960.0;
        let order = Order::Mirrored.of_run(0, &CURRENTS_A);
        assert_eq!(order.len(), 11);
        for drift_k_per_s in [3e-4, -1.7e-3] {
            let added = |current_a: f64| {
                let own = order.iter().enumerate().filter(|(_, a)| **a == current_a);
                let all: Vec<f64> = own.map(|(k, _)| drift_k_per_s * dwell_s * (k as f64 + 1.0)).collect();
                all.iter().sum::<f64>() / all.len() as f64
            };
            let first = added(CURRENTS_A[0]);
            assert!(first.abs() > 1.0, "the drift matters: {first} K");
            for current_a in CURRENTS_A {
                assert!((added(current_a) - first).abs() < 1e-12, "{current_a} A");
            }
            // A rising order does not.
            let rising = |k: usize| drift_k_per_s * dwell_s * (k as f64 + 1.0);
            assert!((rising(5) - rising(0)).abs() > 1.0);
        }
    }

    /// By hand, as above, with whole runs for plateaus.
    #[test]
    fn variants_alternate_so_that_an_even_drift_adds_the_same_to_each() {
        let all = mounts(&[0, 1], 2);
        assert_eq!(all, [0, 1, 1, 0]);
        let mean_place = |v: usize| {
            let own: Vec<f64> = (0..4).filter(|k| all[*k] == v).map(|k| k as f64).collect();
            own.iter().sum::<f64>() / own.len() as f64
        };
        assert_eq!(mean_place(0), mean_place(1));
        assert_eq!(mounts(&[0, 1], 1), [0, 1]);
    }

    #[test]
    fn a_seed_gives_its_order_again_and_runs_differ() {
        let of = |seed: u64, run: usize| Order::Random(seed).of_run(run, &CURRENTS_A);
        assert_eq!(of(7, 0), of(7, 0));
        assert!(of(7, 0) != of(7, 1) && of(7, 0) != of(8, 0));
        // By hand from the generator's published numbers for 1234567 (from memory): 6457827717110365317, 3203168211198807973,
        // 9817491932198370423, 4593380528125082431, 16408922859458223821, whose remainders by 6, 5, 4, 3, 2 are 3, 3, 3, 1, 1.
        assert_eq!(of(1_234_567, 0), [0.2, 0.5, 0.35, 0.85, 1.05, 0.7]);
        // The next run begins at the second number; a sixth is 7804594928223864054: remainders 1, 3, 3, 2, 0.
        assert_eq!(of(1_234_567, 1), [1.05, 0.2, 0.5, 0.85, 0.7, 0.35]);
        for seed in 0..50 {
            let mut sorted = of(seed, 0);
            sorted.sort_by(f64::total_cmp);
            assert_eq!(sorted, CURRENTS_A);
        }
    }

    /// Chance: over 6000 seeds each current comes first 1000 times, give or take five deviations of sqrt(6000 / 6 * 5 / 6) = 29.
    #[test]
    fn every_current_comes_first_as_often() {
        let mut first = [0; 6];
        for seed in 0..6000 {
            let of = Order::Random(seed).of_run(0, &CURRENTS_A)[0];
            first[CURRENTS_A.iter().position(|a| *a == of).unwrap()] += 1;
        }
        assert!(first.iter().all(|count: &i32| (count - 1000).abs() < 145), "{first:?}");
    }
}

//! Weights that keep an outlier group of readings from bending the rest.

/// What is done with a group of readings (a plateau) that lies farther off than its standard deviations allow.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum Robust {
    /// All groups count in full.
    #[default]
    No,
    /// Groups follow Student's distribution with `freedom` degrees of freedom (about 4) instead of the normal one: a group of `p`
    /// readings with squares adding up to `q` weighs `(freedom + p) / (freedom + q)` (K. L. Lange, R. J. A. Little and
    /// J. M. G. Taylor 1989, "Robust statistical modeling using the t distribution", Journal of the American Statistical
    /// Association 84).
    Student {
        /// Degrees of freedom, above 0.
        freedom: f64,
    },
    /// Groups beyond `bend` standard deviations (1.345: 95 % as good as plain least squares on normal readings; P. J. Huber 1964,
    /// "Robust estimation of a location parameter", Annals of Mathematical Statistics 35, the number from memory) weigh as much
    /// less as they lie beyond.
    Huber {
        /// Where weights begin to fall, above 0.
        bend: f64,
    },
}

impl Robust {
    /// Weight of a group of `readings` whose squares add up to `squares`.
    #[must_use]
    pub fn weight(self, readings: usize, squares: f64) -> f64 {
        let readings = readings as f64;
        match self {
            Self::No => 1.0,
            Self::Student { freedom } => (freedom + readings) / (freedom + squares),
            Self::Huber { bend } => {
                let off = (squares / readings.max(1.0)).sqrt();
                if off > bend { bend / off } else { 1.0 }
            }
        }
    }

    /// Whether its number can be used.
    pub fn is_sound(self) -> bool {
        match self {
            Self::No => true,
            Self::Student { freedom: number } | Self::Huber { bend: number } => {
                number.is_finite() && number > 0.0
            }
        }
    }
}

/// Readings by group: for each group the places of its readings.
pub fn by_group(groups: &[usize]) -> Vec<Vec<usize>> {
    let count = groups.iter().max().map_or(0, |last| last + 1);
    let mut all = vec![Vec::new(); count];
    for (place, group) in groups.iter().enumerate() {
        all[*group].push(place);
    }
    all
}

/// Weights of all groups at these residuals; 1 for a group without readings.
pub fn weights(robust: Robust, by_group: &[Vec<usize>], residuals: &[f64]) -> Vec<f64> {
    let squares = |places: &[usize]| places.iter().map(|i| residuals[*i].powi(2)).sum::<f64>();
    by_group
        .iter()
        .map(|places| if places.is_empty() { 1.0 } else { robust.weight(places.len(), squares(places)) })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand after the formulas above: two readings of a group 1 and 2 off are (4 + 2) / (4 + 5); one 3 off is 5 / 13, and 1.5 / 3 by
    /// Huber's.
    #[test]
    fn weights_are_those_of_their_formulas() {
        let groups = by_group(&[0, 1, 0]);
        let residuals = [1.0, -3.0, 2.0];
        let of = |robust| weights(robust, &groups, &residuals);
        for (found, by_hand) in [
            (of(Robust::Student { freedom: 4.0 }), [6.0 / 9.0, 5.0 / 13.0]),
            (of(Robust::Huber { bend: 1.5 }), [1.5 / 2.5f64.sqrt(), 0.5]),
            (of(Robust::No), [1.0, 1.0]),
        ] {
            assert!(found.iter().zip(by_hand).all(|(f, h)| (f - h).abs() < 1e-12), "{found:?} {by_hand:?}");
        }
    }
}

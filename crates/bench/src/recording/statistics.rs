//! A channel in a few numbers.

use super::Channel;

/// What a channel holds.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Statistics {
    /// Values that can be used.
    pub values: usize,
    /// Rows without a reading, those out of range aside.
    pub missing: usize,
    /// Rows whose reading was out of the logger's range.
    pub saturated: usize,
    /// Least value.
    pub least: Option<f64>,
    /// Largest value.
    pub largest: Option<f64>,
    /// Mean of the values.
    pub mean: Option<f64>,
    /// Standard deviation of the values about their mean; `None` below two.
    pub deviation: Option<f64>,
}

impl Channel {
    /// The channel in a few numbers; mean and deviation by Welford's running sums (Technometrics 4 (1962) 419, from memory).
    #[must_use]
    pub fn statistics(&self) -> Statistics {
        let (mut count, mut mean, mut squares) = (0usize, 0.0, 0.0);
        let (mut least, mut largest) = (f64::INFINITY, f64::NEG_INFINITY);
        for value in self.values.iter().copied().filter(|value| !value.is_nan()) {
            count += 1;
            let off = value - mean;
            mean += off / count as f64;
            squares += off * (value - mean);
            (least, largest) = (least.min(value), largest.max(value));
        }
        let saturated = self.saturated.rows();
        let some = |value: f64| (count > 0).then_some(value);
        Statistics {
            values: count,
            missing: self.values.len() - count - saturated.min(self.values.len() - count),
            saturated,
            least: some(least),
            largest: some(largest),
            mean: some(mean),
            deviation: (count > 1).then(|| (squares / (count - 1) as f64).sqrt()),
        }
    }
}

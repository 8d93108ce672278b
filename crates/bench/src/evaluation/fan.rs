//! Where a fan's voltage left its level: the log itself tells that the cooling was another.

use crate::anomaly::{Anomaly, Kind};
use crate::plateau::spans::Span;

/// A fan's voltage within this part of its level is the same fan speed; a regulated supply keeps to a hundredth (common practice, no
/// source).
const SAME_PART: f64 = 0.1;
/// So many samples in a row are no single bad reading.
const CONVINCING: usize = 3;

/// A stretch of samples in which the fan was not as it was in the rest.
#[derive(Debug, Clone, PartialEq)]
pub struct Fault {
    /// First sample.
    pub first: usize,
    /// Last sample, itself a part of it.
    pub last: usize,
    /// What there is to say.
    pub anomaly: Anomaly,
}

/// Stretches of `span` in which the fan's voltage (V, NaN where missing) left its median of the span by more than a tenth.
#[must_use]
pub fn faults(time_s: &[f64], fan_v: &[f64], span: &Span) -> Vec<Fault> {
    let end = (span.last + 1).min(time_s.len()).min(fan_v.len());
    let known: Vec<usize> = (span.first.min(end)..end).filter(|&i| fan_v[i].is_finite()).collect();
    let mut sorted: Vec<f64> = known.iter().map(|&i| fan_v[i]).collect();
    sorted.sort_by(f64::total_cmp);
    let Some(&level) = sorted.get(sorted.len() / 2).filter(|level| **level > 0.0) else { return Vec::new() };
    let off = |i: &usize| (fan_v[*i] - level).abs() > SAME_PART * level;
    known
        .chunk_by(|a, b| off(a) == off(b))
        .filter(|run| run.len() >= CONVINCING && off(&run[0]))
        .map(|run| {
            let (first, last) = (run[0], run[run.len() - 1]);
            let mean = run.iter().map(|&i| fan_v[i]).sum::<f64>() / run.len() as f64;
            let text = format!(
                "{:.0} min after the step the fan's voltage went from {level:.1} V to {mean:.1} V, for {:.1} min: the cooling was another \
                 meanwhile, so this stretch does not count; look at the fan's lead and supply",
                (time_s[first] - span.begin_s) / 60.0,
                (time_s[last] - time_s[first]) / 60.0
            );
            Fault { first, last, anomaly: Anomaly { kind: Kind::FanLoss, time_s: time_s[first], text } }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn span(samples: usize) -> Span {
        let end_s = samples as f64;
        Span { first: 0, last: samples - 1, begin_s: 0.0, begin_doubt_s: 0.0, end_s, current_a: None }
    }

    #[test]
    fn a_stretch_without_voltage_is_found_and_single_readings_are_not() {
        let time_s: Vec<f64> = (0..600).map(f64::from).collect();
        let mut fan_v: Vec<f64> = (0..600).map(|i| 12.0 + 0.02 * f64::from(i % 5)).collect();
        fan_v[50] = 0.0;
        fan_v[70] = f64::NAN;
        assert_eq!(faults(&time_s, &fan_v, &span(600)), []);
        fan_v[300..360].fill(0.1);
        let found = faults(&time_s, &fan_v, &span(600));
        assert_eq!((found.len(), found[0].first, found[0].last), (1, 300, 359), "{found:?}");
        assert_eq!(found[0].anomaly.kind, Kind::FanLoss);
    }

    #[test]
    fn a_fan_that_never_turned_and_no_samples_are_no_fault() {
        let time_s: Vec<f64> = (0..600).map(f64::from).collect();
        assert_eq!(faults(&time_s, &[0.0; 600], &span(600)), []);
        assert_eq!(faults(&[], &[], &span(600)), []);
        assert_eq!(faults(&time_s, &[f64::NAN; 600], &span(600)), []);
    }
}

//! Samples made ready: gaps left out, neighbours averaged, ambient filled in.

use super::{CannotSettle, FEWEST_SAMPLES};

/// More samples than this are averaged in groups; an approach averaged over even groups is an approach with the same time constants.
const MOST_SAMPLES: usize = 240;

/// Samples of a plateau.
#[derive(Debug, Clone)]
pub struct Series {
    /// Time of the first of them, s, by the clock of the samples.
    pub start_s: f64,
    /// Time since the first of them, s, ascending.
    pub time_s: Vec<f64>,
    /// Their values.
    pub value: Vec<f64>,
    /// Ambient at the same times, where logged.
    pub ambient: Option<Vec<f64>>,
}

impl Series {
    /// Time from first to last, s.
    pub fn span_s(&self) -> f64 {
        self.time_s.last().copied().unwrap_or(0.0)
    }

    /// Ambient's straight-line drift over the whole time, K.
    pub fn ambient_drift_k(&self) -> Option<f64> {
        let ambient = self.ambient.as_ref()?;
        Some(slope(&self.time_s, ambient) * self.span_s())
    }
}

/// Slope of the least-squares line.
fn slope(x: &[f64], y: &[f64]) -> f64 {
    let n = x.len() as f64;
    let (mx, my) = (x.iter().sum::<f64>() / n, y.iter().sum::<f64>() / n);
    let sxx: f64 = x.iter().map(|a| (a - mx).powi(2)).sum();
    let sxy: f64 = x.iter().zip(y).map(|(a, b)| (a - mx) * (b - my)).sum();
    if sxx > 0.0 { sxy / sxx } else { 0.0 }
}

pub fn reduce(
    time_s: &[f64],
    value: &[f64],
    ambient: Option<&[f64]>,
    dead_s: f64,
) -> Result<Series, CannotSettle> {
    let begin = time_s.first().copied().unwrap_or(0.0) + dead_s.max(0.0);
    let usable: Vec<usize> = (0..time_s.len().min(value.len()))
        .filter(|&i| time_s[i] >= begin && value[i].is_finite() && time_s[i].is_finite())
        .collect();
    if usable.windows(2).any(|pair| time_s[pair[1]] <= time_s[pair[0]]) {
        return Err(CannotSettle::BadTimes);
    }
    if usable.len() < FEWEST_SAMPLES {
        return Err(CannotSettle::TooFew { samples: usable.len() });
    }
    let ambient = ambient.and_then(|ambient| filled(time_s, ambient));
    let group = usable.len().div_ceil(MOST_SAMPLES);
    let start = time_s[usable[0]];
    let mut series = Series {
        start_s: start,
        time_s: Vec::new(),
        value: Vec::new(),
        ambient: ambient.as_ref().map(|_| Vec::new()),
    };
    for part in usable.chunks(group) {
        let mean = |of: &dyn Fn(usize) -> f64| part.iter().map(|&i| of(i)).sum::<f64>() / part.len() as f64;
        series.time_s.push(mean(&|i| time_s[i] - start));
        series.value.push(mean(&|i| value[i]));
        if let (Some(all), Some(ambient)) = (&mut series.ambient, &ambient) {
            all.push(mean(&|i| ambient[i]));
        }
    }
    let first = series.time_s[0];
    series.start_s += first;
    series.time_s.iter_mut().for_each(|t| *t -= first);
    Ok(series)
}

/// The ambient with its gaps filled along straight lines; `None` when fewer than half of it is there.
fn filled(time_s: &[f64], ambient: &[f64]) -> Option<Vec<f64>> {
    let n = time_s.len().min(ambient.len());
    let known: Vec<usize> = (0..n).filter(|&i| ambient[i].is_finite()).collect();
    if known.len() < 2 || 2 * known.len() < time_s.len() {
        return None;
    }
    let (first, last) = (known[0], known[known.len() - 1]);
    let mut right = 0;
    Some(
        (0..time_s.len())
            .map(|i| {
                if i <= first {
                    return ambient[first];
                }
                if i >= last {
                    return ambient[last];
                }
                while known[right] < i {
                    right += 1;
                }
                if known[right] == i {
                    return ambient[i];
                }
                let (a, b) = (known[right - 1], known[right]);
                let part = (time_s[i] - time_s[a]) / (time_s[b] - time_s[a]);
                ambient[a] + part * (ambient[b] - ambient[a])
            })
            .collect(),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn gaps_are_left_out_and_the_ambients_filled() {
        let time_s: Vec<f64> = (0..20).map(f64::from).collect();
        let mut value = vec![1.0; 20];
        value[3] = f64::NAN;
        let mut ambient: Vec<f64> = time_s.iter().map(|t| 20.0 + 0.1 * t).collect();
        ambient[7] = f64::NAN;
        ambient[8] = f64::NAN;
        let series = reduce(&time_s, &value, Some(&ambient), 1.5).unwrap();
        assert_eq!(series.time_s.len(), 17);
        assert_eq!(series.time_s[..3], [0.0, 2.0, 3.0]);
        let filled = series.ambient.as_ref().unwrap();
        assert!((filled[5] - 20.8).abs() < 1e-12, "{filled:?}");
        assert!((series.ambient_drift_k().unwrap() - 1.7).abs() < 1e-9);
    }

    #[test]
    fn what_cannot_be_used_is_told() {
        let time_s: Vec<f64> = (0..20).map(f64::from).collect();
        assert_eq!(
            reduce(&time_s, &[f64::NAN; 20], None, 0.0).unwrap_err(),
            CannotSettle::TooFew { samples: 0 }
        );
        assert_eq!(reduce(&[], &[], None, 0.0).unwrap_err(), CannotSettle::TooFew { samples: 0 });
        let mut back = time_s.clone();
        back[9] = 3.0;
        assert_eq!(reduce(&back, &[1.0; 20], None, 0.0).unwrap_err(), CannotSettle::BadTimes);
        assert!(reduce(&time_s, &[1.0; 20], Some(&[f64::NAN; 20]), 0.0).unwrap().ambient.is_none());
    }
}

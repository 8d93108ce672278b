//! The part of the fit that is linear: settled value and amplitudes, for given time constants and noise.

use nalgebra::{Matrix4, Vector4};
use statrs::distribution::{ContinuousCDF, StudentsT};

use super::noise::{Noise, Whitener, autocorrelation};
use super::reduction::Series;

/// Columns of the fit: the settled value and up to three exponentials.
const COLUMNS: usize = 4;

/// Samples with what does not change between questions.
pub struct Problem {
    pub series: Series,
    /// Taken off all values, so that sums of squares keep their digits.
    pub offset: f64,
    /// How large amplitudes may be expected: the size of what was seen to change, K.
    pub amplitude_k: f64,
    /// Variance of the noise over that of the amplitudes.
    pub ridge: f64,
    /// Noise below this is not believed, K: sum of squares.
    floor: f64,
    /// Half the 95 % interval of Student's distribution over that of a normal curve; nearly 1 from thirty samples on.
    pub wider: f64,
}

/// What given time constants and noise make of the data.
#[derive(Debug, Clone, Copy)]
pub struct Point {
    /// Logarithm of the probability of the data, up to a constant of the problem.
    pub log_evidence: f64,
    /// Settled value above the offset, and amplitudes.
    pub coefficients: [f64; COLUMNS],
    /// Scale of Student's distribution of the settled value.
    pub scale: f64,
    /// Weighted sum of squares.
    pub squares: f64,
}

/// The ambient as the lamp feels it: through a first-order lag, or at once where there is no approach. What it did before the first
/// sample only adds an exponential of that very time constant.
struct Felt<'a> {
    ambient: Option<&'a [f64]>,
    lags: bool,
    now: f64,
}

impl<'a> Felt<'a> {
    fn new(problem: &'a Problem, lags: bool) -> Self {
        let ambient = problem.series.ambient.as_deref();
        Self { ambient, lags, now: ambient.map_or(0.0, |ambient| ambient[0]) }
    }

    /// At the `i`-th sample, asked in order; `fade` is what is left of the lag since the one before.
    fn at(&mut self, i: usize, fade: f64) -> f64 {
        let Some(ambient) = self.ambient else { return 0.0 };
        if !self.lags {
            return ambient[i];
        }
        if i > 0 {
            self.now = fade * self.now + (1.0 - fade) * 0.5 * (ambient[i - 1] + ambient[i]);
        }
        self.now
    }
}

/// A fit's residuals.
pub struct Fit {
    /// Time, s by the clock of the samples, and the fitted curve with the ambient as it was, at each sample used.
    pub curve: Vec<(f64, f64)>,
    pub noise_k: f64,
    pub autocorrelation: f64,
    pub independent_samples: f64,
}

impl Problem {
    pub fn new(series: Series) -> Self {
        let last = series.value.len() - 1;
        let above = |i: usize| series.value[i] - series.ambient.as_ref().map_or(0.0, |a| a[i]);
        let offset = above(last);
        let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
        for i in 0..=last {
            low = low.min(above(i));
            high = high.max(above(i));
        }
        // Nothing is known to a tenth of a millikelvin.
        let floor = series.value.len() as f64 * 1e-8;
        let freedom = last as f64;
        let wider =
            StudentsT::new(0.0, 1.0, freedom).map_or(1.0, |student| student.inverse_cdf(0.975) / 1.959_964);
        Self { series, offset, amplitude_k: (high - low).max(1e-3), ridge: 1e-8, floor, wider }
    }

    /// Number of samples.
    pub fn samples(&self) -> usize {
        self.series.time_s.len()
    }

    /// Shortest and longest time constant that the samples could show, s. One shorter than a sample is over at once; one of several
    /// times the plateau is a straight line.
    pub fn time_constant_range_s(&self) -> [f64; 2] {
        let span = self.series.span_s();
        let apart = span / (self.samples() - 1) as f64;
        [0.7 * apart, 3.0 * span]
    }

    /// Settled value and amplitudes for `time_constants_s` (ascending).
    pub fn point(&self, time_constants_s: &[f64], whitener: &Whitener) -> Option<Point> {
        let exponentials = time_constants_s.len();
        // One pass: exponentials step by step, the filter, and all sums of products, settled value first and data last.
        let mut sums = [[0.0; COLUMNS + 1]; COLUMNS + 1];
        let mut state = [0.0; COLUMNS + 1];
        let mut column = [1.0, 0.0, 0.0, 0.0, 0.0];
        column[1..=exponentials].fill(1.0);
        let (mut fade, mut apart) = ([1.0; COLUMNS], 0.0);
        let time_s = &self.series.time_s;
        let mut felt = Felt::new(self, time_constants_s.last().is_some());
        for (i, filter) in whitener.steps().enumerate() {
            if i > 0 {
                let step = time_s[i] - time_s[i - 1];
                // Even samples fade alike; a part of 1e-9 of the step is rounding of the times.
                if (step - apart).abs() > 1e-9 * step {
                    apart = step;
                    for (fade, tau) in fade[1..].iter_mut().zip(time_constants_s) {
                        *fade = (-step / tau).exp();
                    }
                }
                for d in 1..=exponentials {
                    column[d] *= fade[d];
                }
            }
            column[COLUMNS] = self.series.value[i] - self.offset - felt.at(i, fade[exponentials]);
            let mut white = [0.0; COLUMNS + 1];
            for d in 0..=COLUMNS {
                let before = state[d] * filter.fade;
                let innovation = column[d] - before;
                state[d] = before + filter.gain * innovation;
                white[d] = innovation * filter.inverse_deviation;
            }
            for a in 0..=COLUMNS {
                for b in 0..=COLUMNS {
                    sums[a][b] += white[a] * white[b];
                }
            }
        }
        let mut squares = Matrix4::<f64>::identity();
        for a in 0..=exponentials {
            for b in 0..=exponentials {
                squares[(a, b)] = sums[a][b] + if a == b && a > 0 { self.ridge } else { 0.0 };
            }
        }
        let products = Vector4::from_fn(|d, _| sums[d][COLUMNS]);
        self.solve(&squares, &products, sums[COLUMNS][COLUMNS], exponentials, whitener.log_determinant)
    }

    fn solve(
        &self,
        squares: &Matrix4<f64>,
        sums: &Vector4<f64>,
        whole: f64,
        exponentials: usize,
        log_determinant: f64,
    ) -> Option<Point> {
        let factor = squares.cholesky()?;
        let solution = factor.solve(sums);
        let left = (whole - solution.dot(sums)).max(0.0) + self.floor;
        let freedom = (self.samples() - 1) as f64;
        let log_squares: f64 = (0..COLUMNS).map(|i| 2.0 * factor.l_dirty()[(i, i)].ln()).sum();
        let log_evidence = 0.5 * (exponentials as f64 * self.ridge.ln() - log_squares - log_determinant)
            - 0.5 * freedom * left.ln();
        let first = factor.solve(&Vector4::new(1.0, 0.0, 0.0, 0.0))[0];
        let scale = (left / freedom * first).sqrt();
        let coefficients = [solution[0], solution[1], solution[2], solution[3]];
        (log_evidence.is_finite() && scale.is_finite()).then_some(Point {
            log_evidence,
            coefficients,
            scale,
            squares: left,
        })
    }

    /// Deviations from the fitted curve, in the order of time.
    pub fn residuals(&self, time_constants_s: &[f64], coefficients: &[f64; COLUMNS]) -> Vec<f64> {
        let slowest = time_constants_s.last();
        let mut felt = Felt::new(self, slowest.is_some());
        let time_s = &self.series.time_s;
        let above = (0..time_s.len()).map(|i| {
            let step = if i > 0 { time_s[i] - time_s[i - 1] } else { 0.0 };
            let fade = slowest.map_or(1.0, |tau| (-step / tau).exp());
            self.series.value[i] - self.offset - felt.at(i, fade)
        });
        let curve = |t: f64| {
            let sum: f64 =
                time_constants_s.iter().zip(&coefficients[1..]).map(|(tau, a)| a * (-t / tau).exp()).sum();
            coefficients[0] + sum
        };
        time_s.iter().zip(above).map(|(t, y)| y - curve(*t)).collect()
    }

    /// What is left beside the curve.
    pub fn fit(&self, time_constants_s: &[f64], noise: Noise) -> Fit {
        let whitener = Whitener::new(noise, &self.series.time_s);
        let residuals = self
            .point(time_constants_s, &whitener)
            .map(|point| self.residuals(time_constants_s, &point.coefficients))
            .unwrap_or_default();
        let mut ones = vec![1.0; self.samples()];
        whitener.whiten(&mut ones);
        let squares = dot(&residuals, &residuals) / (self.samples() as f64 - 1.0);
        let series = &self.series;
        let samples = series.time_s.iter().zip(&series.value);
        let curve = samples.zip(&residuals).map(|((t, y), off)| (series.start_s + t, y - off)).collect();
        Fit {
            curve,
            noise_k: squares.sqrt(),
            autocorrelation: autocorrelation(&residuals, 1).get(1).copied().unwrap_or(f64::NAN),
            independent_samples: dot(&ones, &ones).min(self.samples() as f64),
        }
    }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

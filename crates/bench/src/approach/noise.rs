//! Noise with memory, and the filter that makes it white.
//!
//! Model: a white part and a part that forgets exponentially with time (an Ornstein-Uhlenbeck process: AR(1) where samples are
//! evenly spaced), `cov(t) = s^2 ((1 - w) [t = 0] + w exp(-|t| / theta))`. It holds for uneven samples and gaps too. The filter is
//! Kalman's for this process (R. E. Kalman, J. Basic Eng. 82 (1960) 35): its innovations over their standard deviations are
//! white, and the sum of the logarithms of their variances is the logarithm of the covariance's determinant.

/// Shape of the noise: how much of its variance has a memory, and how long.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Noise {
    /// Part of the variance that has a memory, 0 to 1.
    pub share: f64,
    /// Its correlation time, s.
    pub memory_s: f64,
}

impl Noise {
    /// No memory.
    pub const WHITE: Self = Self { share: 0.0, memory_s: 1.0 };

    /// Correlation between samples `apart_s` (s) from each other.
    #[must_use]
    pub fn correlation(self, apart_s: f64) -> f64 {
        self.share * (-apart_s / self.memory_s).exp()
    }
}

/// The filter at a sample.
#[derive(Debug, Clone, Copy)]
pub struct Step {
    /// How much of the state is left from the sample before.
    pub fade: f64,
    /// How much of the innovation the state takes up.
    pub gain: f64,
    /// One over the innovation's deviation.
    pub inverse_deviation: f64,
}

/// The filter for given times.
#[derive(Debug, Clone)]
pub struct Whitener {
    steps: Vec<Step>,
    /// Logarithm of the determinant of the covariance (for unit variance).
    pub log_determinant: f64,
}

impl Whitener {
    /// For samples at `time_s` (s, ascending).
    #[must_use]
    pub fn new(noise: Noise, time_s: &[f64]) -> Self {
        let memory = noise.share.clamp(0.0, 1.0);
        let mut steps = Vec::with_capacity(time_s.len());
        let (mut left, mut log_determinant) = (memory, 0.0);
        for (i, &t) in time_s.iter().enumerate() {
            let f = if i == 0 { 0.0 } else { (-(t - time_s[i - 1]) / noise.memory_s).exp() };
            let before = f * f * left + memory * (1.0 - f * f);
            // Two samples at one instant of pure memory would have no innovation.
            let variance = (before + 1.0 - memory).max(1e-9);
            let g = before / variance;
            left = before * (1.0 - g);
            log_determinant += variance.ln();
            steps.push(Step { fade: f, gain: g, inverse_deviation: 1.0 / variance.sqrt() });
        }
        Self { steps, log_determinant }
    }

    /// The column made white, in place.
    pub fn whiten(&self, column: &mut [f64]) {
        let mut state = 0.0;
        for (value, step) in column.iter_mut().zip(&self.steps) {
            state *= step.fade;
            let innovation = *value - state;
            state += step.gain * innovation;
            *value = innovation * step.inverse_deviation;
        }
    }

    /// Its steps, in the order of time.
    pub fn steps(&self) -> impl Iterator<Item = &Step> {
        self.steps.iter()
    }
}

/// Autocorrelation of a series at lags 0 to `lags`, about its mean, each sum over n (the usual biased estimate).
#[must_use]
pub fn autocorrelation(series: &[f64], lags: usize) -> Vec<f64> {
    let n = series.len();
    let mean = series.iter().sum::<f64>() / n.max(1) as f64;
    let product = |lag: usize| -> f64 {
        series.iter().zip(series.iter().skip(lag)).map(|(a, b)| (a - mean) * (b - mean)).sum()
    };
    let whole = product(0);
    (0..=lags.min(n.saturating_sub(1)))
        .map(|lag| if whole > 0.0 { product(lag) / whole } else { f64::NAN })
        .collect()
}

/// Allan deviation: half the mean square of the differences between neighbouring means of `width` samples, rooted.
///
/// Source: D. W. Allan, Proc. IEEE 54 (1966) 221. White noise falls with the root of the width; where it stops falling, averaging
/// longer gains nothing more. `None` with fewer than two such means.
#[must_use]
pub fn allan_deviation(series: &[f64], width: usize) -> Option<f64> {
    let means: Vec<f64> =
        series.chunks_exact(width.max(1)).map(|part| part.iter().sum::<f64>() / part.len() as f64).collect();
    let pairs = means.len().checked_sub(1).filter(|pairs| *pairs > 0)?;
    let sum: f64 = means.windows(2).map(|pair| (pair[1] - pair[0]).powi(2)).sum();
    Some((0.5 * sum / pairs as f64).sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;
    use nalgebra::{DMatrix, DVector};

    /// Source: a general-purpose dense factorisation (Cholesky, nalgebra) of the same covariance.
    #[test]
    fn whitening_is_that_of_the_dense_covariance() {
        let time_s: [f64; 7] = [0.0, 1.0, 2.5, 2.6, 9.0, 10.0, 40.0];
        let noise = Noise { share: 0.7, memory_s: 3.0 };
        let n = time_s.len();
        let covariance = DMatrix::from_fn(n, n, |i, j| {
            let white = if i == j { 1.0 - noise.share } else { 0.0 };
            white + noise.correlation((time_s[i] - time_s[j]).abs())
        });
        let whitener = Whitener::new(noise, &time_s);
        assert!((covariance.determinant().ln() - whitener.log_determinant).abs() < 1e-10);
        let (a, b) = ([1.0, -2.0, 0.5, 3.0, 1.0, 0.0, -1.0], [0.3, 0.1, 4.0, -1.0, 2.0, 2.0, 5.0]);
        let (mut x, mut y) = (a, b);
        whitener.whiten(&mut x);
        whitener.whiten(&mut y);
        let found: f64 = x.iter().zip(&y).map(|(p, q)| p * q).sum();
        let solved = covariance.cholesky().unwrap().solve(&DVector::from_row_slice(&b));
        let dense: f64 = a.iter().zip(solved.iter()).map(|(p, q)| p * q).sum();
        assert!((found - dense).abs() < 1e-10, "{found} {dense}");
    }

    /// Source: the definition, by hand: means of two are 1.5, 3.5, 2.5; differences 2 and -1; (5 / 4)^(1/2).
    #[test]
    fn the_allan_deviation_is_that_of_its_definition() {
        let series = [1.0, 2.0, 3.0, 4.0, 5.0, 0.0, 7.0];
        assert!((allan_deviation(&series, 2).unwrap() - 1.25f64.sqrt()).abs() < 1e-12);
        assert_eq!(allan_deviation(&series, 4), None);
    }

    /// Source: white noise of unit variance has Allan variance 1/width (Allan 1966); a random walk's grows with the width.
    #[test]
    fn white_noise_falls_with_the_root_of_the_width() {
        let mut random = super::super::testing::Random::new(7);
        let white: Vec<f64> = (0..60_000).map(|_| random.normal()).collect();
        for width in [1, 4, 16, 64] {
            let found = allan_deviation(&white, width).unwrap();
            // Relative standard error of about (1 / pairs)^(1/2), four of them.
            let allowed = 4.0 * (width as f64 / 60_000.0).sqrt();
            assert!((found * (width as f64).sqrt() - 1.0).abs() < allowed, "{width}: {found}");
        }
        let mut at = 0.0;
        let walk: Vec<f64> = white
            .iter()
            .map(|step| {
                at += step;
                at
            })
            .collect();
        assert!(allan_deviation(&walk, 64).unwrap() > 3.0 * allan_deviation(&walk, 1).unwrap());
    }
}

//! Repeats of one plateau taken together.
//!
//! Weighted mean with a scatter between repeats beside the doubt of each: R. DerSimonian and N. Laird, Control. Clin. Trials 7 (1986)
//! 177; degrees of freedom of the sum after Welch and Satterthwaite (JCGM 100:2008, G.4).

use statrs::distribution::{ContinuousCDF, StudentsT};

/// Several values of one quantity in one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Together {
    /// Their mean, weighted by their doubt.
    pub value: f64,
    /// Its standard uncertainty.
    pub standard: f64,
    /// Half its 95 % interval.
    pub half_95: f64,
    /// Scatter from repeat to repeat beyond the doubt of each (standard deviation): what setting up anew changes.
    pub between: f64,
    /// How many repeats.
    pub repeats: usize,
}

/// Values with their standard uncertainties in one; `None` of none, or when an uncertainty is not above 0.
#[must_use]
pub fn together(values: &[(f64, f64)]) -> Option<Together> {
    if values.is_empty() || values.iter().any(|(value, standard)| !(value.is_finite() && *standard > 0.0)) {
        return None;
    }
    let mean = |between: f64| {
        let weights = values.iter().map(|(_, standard)| 1.0 / (standard * standard + between));
        let whole: f64 = weights.clone().sum();
        (values.iter().zip(weights).map(|((value, _), weight)| value * weight).sum::<f64>() / whole, whole)
    };
    let (fixed, whole) = mean(0.0);
    let repeats = values.len();
    let excess =
        values.iter().map(|(value, s)| ((value - fixed) / s).powi(2)).sum::<f64>() - (repeats as f64 - 1.0);
    let fourth: f64 = values.iter().map(|(_, s)| s.powi(-4)).sum();
    let spread = whole - fourth / whole;
    let between = if repeats > 1 && spread > 0.0 { (excess / spread).max(0.0) } else { 0.0 };
    let (value, whole) = mean(between);
    let variance = 1.0 / whole;
    // The part of the variance that comes from the scatter is known from so few repeats only.
    let scattered = between * variance.sqrt().powi(2)
        / (between + values.iter().map(|(_, s)| s * s).sum::<f64>() / repeats as f64);
    let factor = if scattered > 0.0 {
        let freedom = (repeats as f64 - 1.0) * (variance / scattered).powi(2);
        StudentsT::new(0.0, 1.0, freedom).map_or(1.96, |student| student.inverse_cdf(0.975))
    } else {
        1.959_964
    };
    Some(Together {
        value,
        standard: variance.sqrt(),
        half_95: factor * variance.sqrt(),
        between: between.sqrt(),
        repeats,
    })
}

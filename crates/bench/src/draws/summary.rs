//! What many draws of an outcome say: its middle, its 95 % band, the chance of passing.

/// Median and band of an outcome.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    /// Half lie below.
    pub median: f64,
    /// 2.5 % lie below.
    pub low_95: f64,
    /// 2.5 % lie above.
    pub high_95: f64,
}

/// Of outcomes, straight between neighbours in order (R. J. Hyndman and Y. Fan 1996, "Sample quantiles in statistical packages",
/// The American Statistician 50, type 7). `None` without an outcome or where one is not a number.
#[must_use]
pub fn spread(outcomes: &[f64]) -> Option<Spread> {
    if outcomes.is_empty() || outcomes.iter().any(|value| value.is_nan()) {
        return None;
    }
    let mut sorted = outcomes.to_vec();
    sorted.sort_by(f64::total_cmp);
    let at = |part: f64| {
        let place = part * (sorted.len() - 1) as f64;
        let below = place.floor() as usize;
        let (a, b) = (sorted[below], sorted[(below + 1).min(sorted.len() - 1)]);
        // Equal neighbours may both be infinite.
        if a == b { a } else { a + (place - below as f64) * (b - a) }
    };
    Some(Spread { median: at(0.5), low_95: at(0.025), high_95: at(0.975) })
}

/// A chance with what the number of draws leaves of doubt.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Chance {
    /// Draws that passed.
    pub passed: usize,
    /// All draws.
    pub of: usize,
    /// Part that passed.
    pub part: f64,
    /// Lower end of the 95 % interval.
    pub low_95: f64,
    /// Upper end.
    pub high_95: f64,
}

/// Chance of passing, with the score interval of E. B. Wilson 1927, "Probable inference, the law of succession, and statistical
/// inference", Journal of the American Statistical Association 22. Meant for independent draws: for even ones it is too wide
/// rather than too narrow. `None` without draws.
#[must_use]
pub fn chance(passed: usize, of: usize) -> Option<Chance> {
    const Z: f64 = 1.959_963_984_540_054;
    if of == 0 || passed > of {
        return None;
    }
    let (n, part) = (of as f64, passed as f64 / of as f64);
    let square = Z * Z / n;
    let middle = (part + square / 2.0) / (1.0 + square);
    let half = Z / (1.0 + square) * (part * (1.0 - part) / n + square / (4.0 * n)).sqrt();
    let low = if passed == 0 { 0.0 } else { (middle - half).max(0.0) };
    let high = if passed == of { 1.0 } else { (middle + half).min(1.0) };
    Some(Chance { passed, of, part, low_95: low, high_95: high })
}

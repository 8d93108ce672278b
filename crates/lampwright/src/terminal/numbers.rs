//! Numbers as a maker reads them: no more digits than are known.

/// What stands where there is no value.
pub const NOTHING: &str = "-";

/// One decimal, or a dash.
pub fn tenths(value: Option<f64>) -> String {
    value.map_or_else(|| NOTHING.to_owned(), |value| format!("{value:.1}"))
}

/// Three decimals, or a dash.
pub fn thousandths(value: Option<f64>) -> String {
    value.map_or_else(|| NOTHING.to_owned(), |value| format!("{value:.3}"))
}

/// Three significant digits or so, without an exponent where a maker would not write one.
pub fn three_digits(value: f64) -> String {
    let size = value.abs();
    if size == 0.0 {
        return "0".to_owned();
    }
    let decimals = (2.0 - size.log10().floor()).clamp(0.0, 6.0);
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "clamped to 0..6 in the line above"
    )]
    let decimals = decimals as usize;
    if size < 1e-4 { format!("{value:.1e}") } else { format!("{value:.decimals$}") }
}

/// A temperature with its error: whole degrees where the error is of that size, tenths otherwise. The error is rounded
/// up, and never said to be nothing.
pub fn with_error(value: f64, error: f64) -> String {
    let error = error.abs();
    if error >= 1.95 {
        format!("{value:.0} ± {:.0}", error.ceil())
    } else {
        // The small allowance keeps 0.2 from becoming 0.3 by its binary form.
        format!("{value:.1} ± {:.1}", ((error * 10.0 - 1e-9).ceil() / 10.0).max(0.1))
    }
}

/// A count with its thousands apart.
pub fn thousands(count: usize) -> String {
    let digits = count.to_string();
    let mut out = String::new();
    for (at, digit) in digits.chars().enumerate() {
        if at > 0 && (digits.len() - at).is_multiple_of(3) {
            out.push(' ');
        }
        out.push(digit);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_error_is_rounded_up_and_never_nothing() {
        assert_eq!(with_error(78.26, 0.0), "78.3 ± 0.1");
        assert_eq!(with_error(78.26, 0.2), "78.3 ± 0.2");
        assert_eq!(with_error(78.26, 0.21), "78.3 ± 0.3");
        assert_eq!(with_error(78.26, 3.2), "78 ± 4");
    }

    #[test]
    fn three_digits_are_kept_at_any_size() {
        for (value, text) in
            [(0.0, "0"), (26.04, "26.0"), (1234.6, "1235"), (0.025, "0.0250"), (-1.7, "-1.70")]
        {
            assert_eq!(three_digits(value), text);
        }
        assert_eq!(three_digits(1.7e-5), "1.7e-5");
    }

    #[test]
    fn thousands_stand_apart() {
        assert_eq!(thousands(7), "7");
        assert_eq!(thousands(1_234_567), "1 234 567");
    }
}

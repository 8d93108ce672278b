//! Coordinates: digits with an implied decimal point, or a written one, to nanometres.

/// Length unit of a file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LengthUnit {
    /// Millimetres.
    Millimetre,
    /// Inches of exactly 25.4 mm.
    Inch,
}

impl LengthUnit {
    /// Nanometres in one unit.
    #[must_use]
    pub fn nm(self) -> f64 {
        match self {
            Self::Millimetre => 1e6,
            Self::Inch => 25.4e6,
        }
    }

    /// `mm` or `in`.
    #[must_use]
    pub fn symbol(self) -> &'static str {
        match self {
            Self::Millimetre => "mm",
            Self::Inch => "in",
        }
    }
}

/// Which zeros a file leaves out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Zeros {
    LeadingOmitted,
    TrailingOmitted,
}

/// How digits become a length.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Format {
    pub zeros: Zeros,
    pub incremental: bool,
    pub x_digits: (u32, u32),
    pub y_digits: (u32, u32),
}

impl Default for Format {
    fn default() -> Self {
        Self { zeros: Zeros::LeadingOmitted, incremental: false, x_digits: (2, 4), y_digits: (2, 4) }
    }
}

impl Format {
    /// The value of a coordinate in file units. `text` has an optional sign, digits and at most one point.
    pub fn value(&self, text: &str, horizontal: bool) -> Option<f64> {
        if text.contains('.') {
            return text.parse::<f64>().ok().filter(|v| v.is_finite());
        }
        let (whole, decimals) = if horizontal { self.x_digits } else { self.y_digits };
        let digits = text.trim_start_matches(['+', '-']);
        if digits.is_empty() || digits.len() > 18 || !digits.bytes().all(|b| b.is_ascii_digit()) {
            return None;
        }
        let number = digits.parse::<u64>().ok()? as f64;
        let exponent = match self.zeros {
            Zeros::LeadingOmitted => decimals as i32,
            Zeros::TrailingOmitted => digits.len() as i32 - whole as i32,
        };
        // Division by a power of ten keeps short decimals exact to the last bit.
        let size = if exponent >= 0 { number / 10f64.powi(exponent) } else { number * 10f64.powi(-exponent) };
        Some(if text.starts_with('-') { -size } else { size })
    }
}

#[cfg(test)]
mod tests {
    use super::{Format, Zeros};

    #[test]
    fn both_omissions_and_written_points() {
        let leading = Format { x_digits: (2, 5), ..Format::default() };
        assert_eq!(leading.value("12345", true), Some(0.12345));
        assert_eq!(leading.value("-12345", false), Some(-1.2345));
        assert_eq!(leading.value("+1.5", true), Some(1.5));
        let trailing = Format { zeros: Zeros::TrailingOmitted, x_digits: (2, 5), ..Format::default() };
        assert_eq!(trailing.value("012", true), Some(1.2));
        assert_eq!(trailing.value("1", true), Some(10.0));
        assert_eq!(leading.value("", true), None);
        assert_eq!(leading.value("1234567890123456789", true), None);
    }
}

//! Coordinates as written, and the digit formats that turn them into lengths.

/// A number as written: its digits, and where its decimal point stood, if it had one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Number {
    pub(crate) negative: bool,
    /// All digits as one whole number.
    pub(crate) digits: i64,
    /// How many digits were written, leading zeros included.
    pub(crate) count: u8,
    /// Digits after the decimal point, where there was one.
    pub(crate) fraction: Option<u8>,
}

/// Unit of length of a file's coordinates.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Unit {
    /// Inches of 25.4 mm.
    Inch,
    /// Millimetres.
    Millimetre,
}

impl Unit {
    /// Nanometres in the unit.
    #[must_use]
    pub fn nanometres(self) -> i64 {
        match self {
            Self::Inch => 25_400_000,
            Self::Millimetre => 1_000_000,
        }
    }

    /// `in` or `mm`.
    #[must_use]
    pub fn symbol(self) -> &'static str {
        match self {
            Self::Inch => "in",
            Self::Millimetre => "mm",
        }
    }
}

/// Which zeros of a coordinate without decimal point may have been left out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Zeros {
    /// Leading zeros are left out (the `TZ` of the header: trailing zeros are there).
    LeadingOmitted,
    /// Trailing zeros are left out (the `LZ` of the header: leading zeros are there).
    TrailingOmitted,
}

impl Zeros {
    /// Plain words for remarks.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::LeadingOmitted => "leading zeros omitted",
            Self::TrailingOmitted => "trailing zeros omitted",
        }
    }
}

/// How digits without a decimal point become a length.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct DigitFormat {
    /// Unit of length.
    pub unit: Unit,
    /// Which zeros are left out.
    pub zeros: Zeros,
    /// Digits before the implied decimal point.
    pub integer_digits: u8,
    /// Digits after it.
    pub fraction_digits: u8,
}

impl DigitFormat {
    /// Such as `2.4 in, leading zeros omitted`.
    #[must_use]
    pub fn words(self) -> String {
        let (unit, zeros) = (self.unit.symbol(), self.zeros.words());
        format!("{}.{} {unit}, {zeros}", self.integer_digits, self.fraction_digits)
    }
}

/// Lengths beyond this are cut to it; far outside any board, far inside 64 bits.
const FAR_NM: i128 = 1_000_000_000_000_000;

impl Number {
    /// The length in nanometres, rounded to the nearest.
    pub(crate) fn nanometres(self, format: DigitFormat) -> i64 {
        let places = match (self.fraction, format.zeros) {
            (Some(fraction), _) => i32::from(fraction),
            (None, Zeros::LeadingOmitted) => i32::from(format.fraction_digits),
            (None, Zeros::TrailingOmitted) => i32::from(self.count) - i32::from(format.integer_digits),
        };
        self.scaled(format.unit.nanometres(), places)
    }

    /// The number times `factor`, with its last `places` digits behind the decimal point.
    pub(crate) fn scaled(self, factor: i64, places: i32) -> i64 {
        let product = i128::from(self.digits) * i128::from(factor);
        let value = if places >= 0 {
            let divisor = 10i128.pow(places.min(30).unsigned_abs());
            (product + divisor / 2) / divisor
        } else {
            product.saturating_mul(10i128.pow(places.max(-12).unsigned_abs()))
        };
        let value = value.min(FAR_NM) as i64;
        if self.negative { -value } else { value }
    }

    /// Its value as a whole number, the decimal point ignored.
    pub(crate) fn whole(self) -> i64 {
        if self.negative { -self.digits } else { self.digits }
    }

    /// Reads a number at the start of `text`; gives it and how many bytes it took.
    pub(crate) fn read(text: &[u8]) -> Option<(Self, usize)> {
        let mut number = Self { negative: false, digits: 0, count: 0, fraction: None };
        let mut at = 0;
        while let Some(b' ') = text.get(at) {
            at += 1;
        }
        if let Some(sign @ (b'+' | b'-')) = text.get(at) {
            number.negative = *sign == b'-';
            at += 1;
        }
        while let Some(&byte) = text.get(at) {
            match byte {
                b'0'..=b'9' if number.count < 18 => {
                    number.digits = number.digits * 10 + i64::from(byte - b'0');
                    number.count += 1;
                    number.fraction = number.fraction.map(|f| f + 1);
                }
                b'0'..=b'9' if number.fraction.is_some() => {} // beyond any meaning: dropped
                b'.' if number.fraction.is_none() => number.fraction = Some(0),
                _ => break,
            }
            at += 1;
        }
        (number.count > 0).then_some((number, at))
    }
}

#[cfg(test)]
mod tests {
    use super::{DigitFormat, Number, Unit, Zeros};

    fn length(text: &str, unit: Unit, zeros: Zeros, integer_digits: u8, fraction_digits: u8) -> i64 {
        let (number, used) = Number::read(text.as_bytes()).unwrap();
        assert_eq!(used, text.len());
        number.nanometres(DigitFormat { unit, zeros, integer_digits, fraction_digits })
    }

    #[test]
    fn omitted_zeros_by_hand() {
        assert_eq!(length("1743", Unit::Inch, Zeros::LeadingOmitted, 2, 4), 4_427_220);
        assert_eq!(length("02689", Unit::Inch, Zeros::TrailingOmitted, 2, 4), 68_300_600);
        assert_eq!(length("-0123456", Unit::Millimetre, Zeros::TrailingOmitted, 3, 3), -12_345_600);
        assert_eq!(length("5", Unit::Millimetre, Zeros::TrailingOmitted, 3, 3), 500_000_000);
        assert_eq!(length("+12", Unit::Millimetre, Zeros::LeadingOmitted, 3, 3), 12_000);
    }

    #[test]
    fn a_decimal_point_needs_no_format() {
        for zeros in [Zeros::LeadingOmitted, Zeros::TrailingOmitted] {
            assert_eq!(length("55.", Unit::Millimetre, zeros, 3, 3), 55_000_000);
            assert_eq!(length("-.5", Unit::Inch, zeros, 2, 4), -12_700_000);
        }
    }

    #[test]
    fn monstrous_numbers_stay_in_range() {
        let nines = "9".repeat(18);
        assert_eq!(length(&nines, Unit::Inch, Zeros::TrailingOmitted, 255, 4), 1_000_000_000_000_000);
        assert!(Number::read(b"-").is_none());
        assert!(Number::read(b".").is_none());
        assert!(Number::read(b"").is_none());
    }
}

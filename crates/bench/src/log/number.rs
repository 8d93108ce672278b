//! Numbers as loggers write them, and the words and codes that stand in their place.

use super::unit::{Unit, unit_named};

/// What separates a number's whole part from its decimals.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum DecimalMark {
    /// `23.5`
    #[default]
    Point,
    /// `23,5`
    Comma,
}

impl DecimalMark {
    /// The character.
    #[must_use]
    pub fn byte(self) -> u8 {
        match self {
            Self::Point => b'.',
            Self::Comma => b',',
        }
    }

    /// The other one.
    #[must_use]
    pub fn other(self) -> Self {
        match self {
            Self::Point => Self::Comma,
            Self::Comma => Self::Point,
        }
    }

    /// As written in a bench sheet.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Point => "point",
            Self::Comma => "comma",
        }
    }
}

/// What a cell of a log holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Cell {
    /// A number.
    Value(f64),
    /// A number with its own unit, such as `980 mV`; in the unit's base.
    WithUnit(f64, Unit),
    /// Nothing, or a word for nothing.
    Missing,
    /// A word or code for a reading outside the logger's range.
    OverRange,
    /// Anything else.
    Text,
}

/// Words for a missing reading, upper case (common practice of loggers and spreadsheets, no source).
const MISSING: &[&str] = &[
    "-", "--", "---", "----", "?", "*", ".", "NA", "N/A", "#N/A", "NAN", "-NAN", "+NAN", "1.#IND", "-1.#IND",
    "1.#QNAN", "NULL", "NONE", "NIL", "ERR", "ERROR", "#ERR", "FAULT", "FAIL", "OPEN", "BREAK", "MISSING",
    "INVALID", "OFF", "NO DATA", "NODATA", "#VALUE!", "#DIV/0!", "BLANK",
];

/// Words for a reading out of range, upper case (common practice, no source).
const OVER_RANGE: &[&str] = &[
    "OL",
    "+OL",
    "-OL",
    "O.L",
    "O.L.",
    "OL.",
    ".OL",
    "OFL",
    "OVER",
    "+OVER",
    "-OVER",
    "OVLD",
    "+OVLD",
    "-OVLD",
    "OVERLOAD",
    "+OVERLOAD",
    "-OVERLOAD",
    "OVERRANGE",
    "OVER RANGE",
    "OVER-RANGE",
    "OVERFLOW",
    "UNDER",
    "UNDERRANGE",
    "UNDER RANGE",
    "UNDERFLOW",
    "INF",
    "+INF",
    "-INF",
    "INFINITY",
    "+INFINITY",
    "-INFINITY",
    "1.#INF",
    "-1.#INF",
    "SAT",
    "SATURATED",
    "CLIP",
];

/// Longest cell that is looked up among the words.
const LONGEST_WORD: usize = 24;

/// Reads a cell.
#[must_use]
#[inline]
pub fn cell(bytes: &[u8], mark: DecimalMark) -> Cell {
    let bytes = trimmed(bytes);
    if bytes.is_empty() {
        return Cell::Missing;
    }
    if let Some(value) = number(bytes, mark) {
        return coded(value);
    }
    word(bytes).or_else(|| with_unit(bytes, mark)).unwrap_or(Cell::Text)
}

/// Numbers that stand for no reading: 9.9e37 for infinity and 9.91e37 for not a number (SCPI-99 volume 1, numeric
/// response values, from memory).
fn coded(value: f64) -> Cell {
    let size = value.abs();
    if size < 9.8e37 {
        Cell::Value(value)
    } else if size > 9.905e37 && size < 9.915e37 {
        Cell::Missing
    } else {
        Cell::OverRange
    }
}

fn word(bytes: &[u8]) -> Option<Cell> {
    if bytes.len() > LONGEST_WORD {
        return None;
    }
    if bytes.len() > 1 && bytes.iter().all(|b| matches!(b, b'#' | b'*')) {
        // A column too narrow for its number.
        return Some(Cell::OverRange);
    }
    let same = |known: &str| known.as_bytes().eq_ignore_ascii_case(bytes);
    if MISSING.iter().any(|known| same(known)) {
        Some(Cell::Missing)
    } else if OVER_RANGE.iter().any(|known| same(known)) {
        Some(Cell::OverRange)
    } else {
        None
    }
}

/// A number followed by a unit that is known.
fn with_unit(bytes: &[u8], mark: DecimalMark) -> Option<Cell> {
    let first = *bytes.first()?;
    if !(first.is_ascii_digit() || matches!(first, b'+' | b'-' | b'.' | b',')) {
        return None;
    }
    let end = bytes
        .iter()
        .position(|b| !(b.is_ascii_digit() || matches!(b, b'+' | b'-' | b'.' | b',')))
        .filter(|end| bytes.len() - end <= LONGEST_WORD)?;
    let (digits, rest) = bytes.split_at(end);
    let value = number(digits, mark)?;
    // A lone byte of an older encoding is the degree or micro sign.
    let text = std::str::from_utf8(rest)
        .map_or_else(|_| rest.iter().map(|b| char::from(*b)).collect(), str::to_owned);
    let unit = unit_named(text.trim())?;
    Some(Cell::WithUnit(unit.to_base(value), unit))
}

/// A number with this decimal mark; digits of its whole part may be grouped by threes with the other mark, a space or an
/// apostrophe.
#[must_use]
pub fn number(bytes: &[u8], mark: DecimalMark) -> Option<f64> {
    match plain(bytes, mark.byte()) {
        Plain::Exact(value) => Some(value),
        Plain::Not => None,
        Plain::Long => long(bytes, mark),
        Plain::Grouped => long(&ungrouped(bytes, mark, false)?, mark),
    }
}

/// The same where it is known that the other mark groups digits: `1,234` is then a thousand and more with a decimal point.
#[must_use]
pub fn grouped_number(bytes: &[u8], mark: DecimalMark) -> Option<f64> {
    long(&ungrouped(trimmed(bytes), mark, true)?, mark)
}

enum Plain {
    /// Read, correctly rounded.
    Exact(f64),
    /// May be a number with an exponent or with more digits than the quick way holds.
    Long,
    /// May be a number with grouped digits.
    Grouped,
    /// No number.
    Not,
}

/// Exact powers of ten in f64.
const POWERS: [f64; 23] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18,
    1e19, 1e20, 1e21, 1e22,
];

/// Sign, digits, one mark. Whole numbers below 2^53 and powers of ten up to 10^22 are exact, so that their quotient is
/// correctly rounded (Clinger, "How to read floating point numbers accurately", 1990, from memory).
fn plain(bytes: &[u8], mark: u8) -> Plain {
    let (negative, digits) = match bytes.split_first() {
        Some((b'-', rest)) => (true, rest),
        Some((b'+', rest)) => (false, rest),
        _ => (false, bytes),
    };
    let (mut whole, mut count, mut decimals, mut marked) = (0u64, 0usize, 0usize, false);
    for &b in digits {
        if b.is_ascii_digit() {
            whole = whole.wrapping_mul(10).wrapping_add(u64::from(b - b'0'));
            count += 1;
            decimals += usize::from(marked);
        } else if b == mark && !marked {
            marked = true;
        } else if count == 0 {
            return Plain::Not;
        } else if matches!(b, b'e' | b'E') {
            return Plain::Long;
        } else if matches!(b, b'.' | b',' | b' ' | b'\'' | 0xa0 | 0xc2) {
            return Plain::Grouped;
        } else {
            return Plain::Not;
        }
    }
    if count == 0 {
        return Plain::Not;
    }
    if count > 19 || whole >= 1 << 53 || decimals >= POWERS.len() {
        return Plain::Long;
    }
    let value = whole as f64 / POWERS.get(decimals).copied().unwrap_or(f64::NAN);
    Plain::Exact(if negative { -value } else { value })
}

/// The standard library's way, for what is rare.
fn long(bytes: &[u8], mark: DecimalMark) -> Option<f64> {
    if bytes.len() > 64 || !bytes.iter().any(u8::is_ascii_digit) {
        return None;
    }
    let mut copy = [0u8; 64];
    for (to, &from) in copy.iter_mut().zip(bytes) {
        // The other mark must not slip through as a decimal point.
        let allowed =
            from.is_ascii_digit() || matches!(from, b'+' | b'-' | b'e' | b'E') || from == mark.byte();
        if !allowed {
            return None;
        }
        *to = if from == mark.byte() { b'.' } else { from };
    }
    let text = std::str::from_utf8(copy.get(..bytes.len())?).ok()?;
    text.parse().ok()
}

/// Grouped digits without their grouping; `None` where the groups are not threes or nothing proves that they are groups.
fn ungrouped(bytes: &[u8], mark: DecimalMark, known: bool) -> Option<Vec<u8>> {
    if bytes.len() > 48 {
        return None;
    }
    let group = mark.other().byte();
    let (head, tail) = match bytes.iter().position(|b| *b == mark.byte()) {
        Some(at) => bytes.split_at(at),
        None => (bytes, &[][..]),
    };
    if tail.iter().skip(1).any(|b| !b.is_ascii_digit()) {
        return None;
    }
    let mut out = Vec::with_capacity(bytes.len());
    let (mut groups, mut since) = (0usize, 0usize);
    let mut certain = known || !tail.is_empty();
    let mut rest = head.iter().copied().peekable();
    while let Some(b) = rest.next() {
        let no_break_space = b == 0xc2 && rest.peek() == Some(&0xa0);
        if no_break_space {
            rest.next();
        }
        if no_break_space || b == group || matches!(b, b' ' | b'\'' | 0xa0) {
            if (groups > 0 && since != 3) || since == 0 || since > 3 {
                return None;
            }
            certain |= b != group || groups > 0;
            (groups, since) = (groups + 1, 0);
        } else if b.is_ascii_digit() {
            since += 1;
            out.push(b);
        } else if out.is_empty() && matches!(b, b'+' | b'-') {
            out.push(b);
        } else {
            return None;
        }
    }
    // "1.234" alone may as well be a number with the other mark.
    if since != 3 || !certain {
        return None;
    }
    out.extend_from_slice(tail);
    Some(out)
}

/// Without blanks around it.
#[must_use]
#[inline]
pub fn trimmed(bytes: &[u8]) -> &[u8] {
    match (bytes.first(), bytes.last()) {
        // Most cells have none.
        (Some(first), Some(last)) if *first > b' ' && *last > b' ' => bytes,
        _ => {
            let blank = |b: &u8| *b <= b' ';
            let start = bytes.iter().position(|b| !blank(b)).unwrap_or(bytes.len());
            let end = bytes.iter().rposition(|b| !blank(b)).map_or(start, |last| last + 1);
            bytes.get(start..end).unwrap_or_default()
        }
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn point(text: &str) -> Cell {
        cell(text.as_bytes(), DecimalMark::Point)
    }

    fn comma(text: &str) -> Cell {
        cell(text.as_bytes(), DecimalMark::Comma)
    }

    #[test]
    fn both_marks_are_read_and_neither_for_the_other() {
        assert_eq!(point(" 23.5 "), Cell::Value(23.5));
        assert_eq!(comma("-23,5"), Cell::Value(-23.5));
        assert_eq!(point("+1.5E-3"), Cell::Value(1.5e-3));
        assert_eq!(comma("1,5e3"), Cell::Value(1500.0));
        assert_eq!((point(".5"), point("5.")), (Cell::Value(0.5), Cell::Value(5.0)));
        for (text, mark) in
            [("23,5", DecimalMark::Point), ("23.5", DecimalMark::Comma), ("1.234", DecimalMark::Comma)]
        {
            assert_eq!(cell(text.as_bytes(), mark), Cell::Text, "{text}");
        }
    }

    #[test]
    fn grouped_digits_are_read_where_they_are_certain() {
        assert_eq!(point("1,234.5"), Cell::Value(1234.5));
        assert_eq!(comma("1.234.567,25"), Cell::Value(1_234_567.25));
        assert_eq!(comma("-12'345,5"), Cell::Value(-12345.5));
        assert_eq!(comma("12 345"), Cell::Value(12345.0));
        assert_eq!(comma("12\u{a0}345,5"), Cell::Value(12345.5));
        assert_eq!(point("1,234"), Cell::Text);
        assert_eq!(grouped_number(b"1,234", DecimalMark::Point), Some(1234.0));
        assert_eq!(grouped_number(b"1,23", DecimalMark::Point), None);
        for text in ["12,34.5", "1,2345.0", ",123.0", "1,234,56.0", "1,,234.0"] {
            assert_eq!(point(text), Cell::Text, "{text}");
        }
    }

    #[test]
    fn words_and_codes_are_no_numbers() {
        for text in ["", "  ", "NaN", "n/a", "---", "1.#QNAN", "9.91E37", "9.91e+37"] {
            assert_eq!(point(text), Cell::Missing, "{text}");
        }
        for text in ["OL", "-over", "inf", "####", "9.9E37", "-9.9e+37", "1e308", "1e999"] {
            assert_eq!(point(text), Cell::OverRange, "{text}");
        }
        for text in ["hello", "12:30", "2026-01-01", "1.2.3", "e5", "+", "1e", "0x10", "1 2"] {
            assert_eq!(point(text), Cell::Text, "{text}");
        }
    }

    #[test]
    fn a_unit_in_the_cell_scales_it() {
        let value = |text: &str, mark| match cell(text.as_bytes(), mark) {
            Cell::WithUnit(value, _) => value,
            other => panic!("{text}: {other:?}"),
        };
        assert_eq!(value("980 mV", DecimalMark::Point), 0.98);
        assert_eq!(value("1,02V", DecimalMark::Comma), 1.02);
        assert_eq!(value("23.5 °C", DecimalMark::Point), 23.5);
        assert!(matches!(cell(b"23.5 \xb0C", DecimalMark::Point), Cell::WithUnit(v, _) if v == 23.5));
    }

    proptest! {
        /// Against the standard library's correctly rounded reading.
        #[test]
        fn numbers_are_those_of_the_standard_library(
            sign in "[+-]?", whole in "[0-9]{0,21}", tail in "[0-9]{0,25}", exponent in "(e[+-]?[0-9]{1,2})?"
        ) {
            let text = format!("{sign}{whole}.{tail}{exponent}");
            let theirs = text.parse::<f64>().ok();
            let ours = number(text.as_bytes(), DecimalMark::Point);
            prop_assert_eq!(ours.map(f64::to_bits), theirs.map(f64::to_bits), "{}", text);
            let ours = number(text.replace('.', ",").as_bytes(), DecimalMark::Comma);
            prop_assert_eq!(ours.map(f64::to_bits), theirs.map(f64::to_bits));
        }
    }
}

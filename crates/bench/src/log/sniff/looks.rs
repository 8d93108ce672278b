//! What a cell of an unknown log looks like.

use crate::log::number::{Cell, DecimalMark, cell};
use crate::log::stamp::{RawStamp, stamp};

/// What a cell looks like.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Look {
    /// Nothing in it.
    Empty,
    /// A number.
    Number {
        /// Whether it has a point.
        point: bool,
        /// Whether it has a comma.
        comma: bool,
    },
    /// A word or code for a missing or impossible reading.
    Code,
    /// Date and time of day.
    Stamp(RawStamp),
    /// A date alone.
    Date(RawStamp),
    /// A time of day alone.
    Clock(RawStamp),
    /// Anything else.
    Text,
}

impl Look {
    /// Whether it may stand in a row of values.
    pub fn is_value(self) -> bool {
        !matches!(self, Self::Text)
    }

    /// Whether it measures something: a number or a time.
    pub fn is_solid(self) -> bool {
        !matches!(self, Self::Text | Self::Empty | Self::Code)
    }
}

/// Looks at a cell.
pub fn look(bytes: &[u8]) -> Look {
    if bytes.is_empty() {
        return Look::Empty;
    }
    let marks = Look::Number { point: bytes.contains(&b'.'), comma: bytes.contains(&b',') };
    match (cell(bytes, DecimalMark::Point), cell(bytes, DecimalMark::Comma)) {
        (Cell::Value(_) | Cell::WithUnit(..), _) | (_, Cell::Value(_) | Cell::WithUnit(..)) => return marks,
        (Cell::Missing | Cell::OverRange, _) | (_, Cell::Missing | Cell::OverRange) => return Look::Code,
        _ => {}
    }
    match stamp(bytes) {
        Some(found) => match (found.date, found.seconds) {
            (Some(_), Some(_)) => Look::Stamp(found),
            (Some(_), None) => Look::Date(found),
            _ => Look::Clock(found),
        },
        None => Look::Text,
    }
}

//! Gerber layers (X2, X3 and the older RS-274X): bytes to the exact dark image.
//!
//! Reading follows the Gerber layer format specification, revision 2022.02, and what older files are known to do.
//! It goes by `*` and `%`, never by lines, and never stops: what cannot be read is told with its line.

mod aperture;
mod arc;
mod attribute;
mod blocks;
mod drawing;
mod expression;
mod extended;
mod image;
mod machine;
mod macros;
mod number;
mod object;
mod outlines;
mod word;

#[cfg(test)]
mod tests;

pub use number::LengthUnit;
pub use object::{Attribute, Attributes, DrawnObject, ObjectKind};

use crate::remark::Remark;
use crate::shape::{Area, Contour, Point};

/// The centre line of a stroke; arcs are made of short edges.
#[derive(Debug, Clone, PartialEq)]
pub struct Stroke {
    /// Two points for a straight stroke, more for an arc.
    pub points: Vec<Point>,
    /// Width of the aperture, nm; 0 is allowed.
    pub width_nm: f64,
    /// Line of the file that drew it.
    pub line: u32,
    /// Whether it adds (dark) or clears.
    pub dark: bool,
}

/// One layer as read.
#[derive(Debug, Clone)]
pub struct GerberLayer {
    /// File name as given.
    pub file: String,
    /// Length unit of its coordinates.
    pub unit: LengthUnit,
    /// `true` when the file does not say its unit and it was assumed.
    pub unit_assumed: bool,
    /// File attributes, from `TF` commands or from structured comments.
    pub attributes: Attributes,
    /// `true` when the file asks for its image reversed (IPNEG): `area` is then what is *not* dark.
    pub image_negative: bool,
    /// The exact dark image, nm.
    pub area: Area,
    /// The objects in drawing order.
    pub objects: Vec<DrawnObject>,
    /// Centre lines of all strokes in drawing order.
    pub strokes: Vec<Stroke>,
    /// Contours of regions as drawn, in drawing order.
    pub region_contours: Vec<Contour>,
    /// Remarks in order of line.
    pub remarks: Vec<Remark>,
}

/// Reads one layer from any bytes. Never fails: an unreadable file has an empty image and says so.
#[must_use]
pub fn read(file: &str, bytes: &[u8]) -> GerberLayer {
    let mut machine = machine::Machine::new(file);
    for block in blocks::split(bytes) {
        machine.take(&block);
    }
    machine.finish(file)
}

/// Whether the bytes look like a Gerber layer: a format or unit statement, or aperture and drawing codes.
#[must_use]
pub fn looks_like_gerber(bytes: &[u8]) -> bool {
    let head = &bytes[..bytes.len().min(20_000)];
    let has = |what: &[u8]| head.windows(what.len()).any(|window| window == what);
    (has(b"%FS") || has(b"%MO") || has(b"%ADD") || has(b"%TF") || has(b"%AM"))
        || (has(b"*") && (has(b"D01*") || has(b"D02*") || has(b"D03*")) && !has(b"M48"))
}

//! Drill files: XNC and the common dialects of the older drill language, to holes and slots.
//!
//! Read word by word, so that several commands may share a line. A line that is not understood is told and left out;
//! nothing else is lost with it. Digits without decimal point need a format; where the file declares none it is found by how
//! many holes land on copper, and told.

mod arc;
mod command;
mod comment;
mod deduction;
mod landing;
mod machine;
mod number;
mod parsing;
mod plating;

#[cfg(test)]
mod tests;

pub(crate) use landing::Landing;
pub use number::{DigitFormat, Unit, Zeros};
pub use plating::plating_in_words;

use crate::gathering::Gathering;
use crate::remark::Remark;
use crate::shape::{Area, Point};
use crate::text::decoded;

/// What a drill file makes.
#[derive(Debug, Clone)]
pub struct DrillFile {
    /// File name as given.
    pub file: String,
    /// Unit of the coordinates.
    pub unit: Unit,
    /// Whether the file names no unit and it had to be found or assumed.
    pub unit_assumed: bool,
    /// How coordinates without decimal point were read.
    pub format: DigitFormat,
    /// Where that format comes from.
    pub format_source: FormatSource,
    /// Tools in the order of their definition; a tool number appears again when its diameter changes on the way.
    pub tools: Vec<Tool>,
    /// Holes in the order of drilling.
    pub hits: Vec<Hit>,
    /// Slots in the order of cutting.
    pub slots: Vec<Slot>,
    /// File attributes: name with its leading dot, and values.
    pub attributes: Vec<(String, Vec<String>)>,
    /// What there is to say about the file, in order of line.
    pub remarks: Vec<Remark>,
}

/// Where the digit format of a drill file comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum FormatSource {
    /// Every coordinate has a decimal point; no format is needed.
    DecimalPoints,
    /// The file declares it.
    Declared,
    /// Found by how many holes land on copper.
    Deduced,
    /// Nothing to go by; the usual format was assumed.
    Assumed,
}

/// One tool.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tool {
    /// Its number.
    pub number: u32,
    /// Diameter, nm; 0 where the file gives none.
    pub diameter_nm: i32,
    /// Holes it drills.
    pub hits: usize,
    /// Slots it cuts.
    pub slots: usize,
    /// Whether its holes are plated, where known.
    pub plated: Option<bool>,
}

/// One drilled hole.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Hit {
    /// Tool number.
    pub tool: u32,
    /// Centre.
    pub at: Point,
    /// Diameter, nm; 0 where unknown.
    pub diameter_nm: i32,
    /// Whether it is plated, where known.
    pub plated: Option<bool>,
    /// Line of the file.
    pub line: u32,
}

/// One slot: what a tool removes along a path.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Slot {
    /// Tool number.
    pub tool: u32,
    /// Centre line, two points or more; arcs are chords within 0.5 um.
    pub path: Vec<Point>,
    /// Width, nm; 0 where unknown.
    pub diameter_nm: i32,
    /// Whether it is plated, where known.
    pub plated: Option<bool>,
    /// Line of the file where it begins.
    pub line: u32,
}

/// Reads a drill file. Never fails: what was not understood is in the remarks.
///
/// `copper` is the copper of all layers (its polygons may overlap one another); it serves to find undeclared digits.
#[must_use]
pub fn read(file: &str, bytes: &[u8], copper: Option<&Area>) -> DrillFile {
    read_on(file, bytes, copper.and_then(Landing::new).as_ref())
}

/// As [`read`], with the copper made ready once for several files.
pub(crate) fn read_on(file: &str, bytes: &[u8], copper: Option<&Landing>) -> DrillFile {
    let mut remarks = Gathering::new(file);
    let program = parsing::parse(&decoded(bytes), &mut remarks);
    let base_name = file.rsplit(['/', '\\']).next().unwrap_or(file);
    let file_plating = program.file_plating.or_else(|| plating_in_words(base_name));
    let decision = deduction::decide(&program.commands, copper, file_plating == Some(false), &mut remarks);
    let mut made = machine::run(&program.commands, decision.start, &mut remarks);
    if let Some(plated) = file_plating {
        made.tools.iter_mut().for_each(|t| t.plated = t.plated.or(Some(plated)));
        made.hits.iter_mut().for_each(|h| h.plated = h.plated.or(Some(plated)));
        made.slots.iter_mut().for_each(|s| s.plated = s.plated.or(Some(plated)));
    }
    DrillFile {
        file: file.to_owned(),
        unit: decision.start.format.unit,
        unit_assumed: decision.unit_assumed,
        format: decision.start.format,
        format_source: decision.source,
        tools: made.tools,
        hits: made.hits,
        slots: made.slots,
        attributes: program.attributes,
        remarks: remarks.finish(),
    }
}

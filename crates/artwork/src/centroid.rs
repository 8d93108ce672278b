//! Centroid files: tables that say where each part is placed.

use crate::drill::Unit;
use crate::gathering::{Gathering, quoted};
use crate::remark::{Remark, Severity};
use crate::shape::{LIMIT_NM, Point};
use crate::text::{decoded, numbered_lines};

mod columns;

use columns::{Columns, Field};

/// Side of the board.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Side {
    /// The top side, from which the coordinates are seen.
    Top,
    /// The bottom side.
    Bottom,
}

/// One placed part.
#[derive(Debug, Clone, PartialEq)]
pub struct Placement {
    /// Reference on the board, such as D3.
    pub reference: String,
    /// Value, where given.
    pub value: String,
    /// Package, where given.
    pub package: String,
    /// Centre of the part.
    pub at: Point,
    /// Rotation, degrees counter-clockwise, 0 (included) to 360.
    pub rotation_deg: f64,
    /// Side it is mounted on.
    pub side: Side,
    /// Line of the file.
    pub line: u32,
}

/// What a centroid file says.
#[derive(Debug, Clone, Default)]
pub struct Centroid {
    /// File name as given.
    pub file: String,
    /// Unit of the coordinates where the file names none of its own; `None` when it names it.
    pub unit_assumed: Option<Unit>,
    /// The parts in the order of the file.
    pub placements: Vec<Placement>,
    /// What there is to say, in order of line.
    pub remarks: Vec<Remark>,
}

/// A length unit of a coordinate column, in nm.
type UnitNm = f64;

/// Reads a centroid file. Never fails: what was not understood is in the remarks.
///
/// Separators are commas, semicolons, tabs or blanks; the heading names the columns in any order; units come from the
/// heading, from the values themselves or from a comment above the table, else millimetres are assumed and told.
#[must_use]
pub fn read(file: &str, bytes: &[u8]) -> Centroid {
    let mut remarks = Gathering::new(file);
    let text = decoded(bytes).replace("\r\n", "\n").replace('\r', "\n");
    let mut table = Table::default();
    match columns::find_heading(&text) {
        Some(heading) => {
            table.unit = unit_in_comments(&text, heading.line);
            table.read_below(&text, &heading, &mut remarks);
        }
        None => table.read_without_heading(&text, &mut remarks),
    }
    let unit_assumed = (table.unit_missing && !table.placements.is_empty()).then_some(Unit::Millimetre);
    if unit_assumed.is_some() {
        remarks.about(Severity::Warning, "no unit is named for the coordinates; mm is assumed");
    }
    tell_duplicates(&table.placements, &mut remarks);
    Centroid { file: file.to_owned(), unit_assumed, placements: table.placements, remarks: remarks.finish() }
}

/// Whether a text looks like a centroid table: it has a heading with reference, x and y.
pub(crate) fn looks_like(bytes: &[u8]) -> bool {
    let start = decoded(bytes.get(..bytes.len().min(16_384)).unwrap_or_default());
    columns::find_heading(&start.replace("\r\n", "\n").replace('\r', "\n")).is_some()
}

#[derive(Default)]
struct Table {
    unit: Option<UnitNm>,
    unit_missing: bool,
    placements: Vec<Placement>,
}

impl Table {
    fn read_below(&mut self, text: &str, heading: &columns::Heading, remarks: &mut Gathering) {
        if !heading.columns.has(Field::Side) {
            remarks.note(heading.line, "no column names the side; all parts are taken as on top");
        }
        if !heading.columns.has(Field::Rotation) {
            remarks.note(heading.line, "no column gives the rotation; 0 is taken");
        }
        for (line, record) in heading.records(text) {
            match record {
                Ok(fields) if fields.iter().all(|f| f.trim().is_empty()) => {}
                Ok(fields) if is_comment(&fields) => {}
                Ok(fields) => self.row(line, &fields, &heading.columns, remarks),
                Err(why) => remarks.error(line, format!("the row is not understood and left out: {why}")),
            }
        }
        if self.placements.is_empty() {
            remarks.warn(heading.line, "no part stands below this heading");
        }
    }

    fn row(&mut self, line: u32, fields: &[String], columns: &Columns, remarks: &mut Gathering) {
        let field = |f: Field| columns.value(fields, f);
        let reference = field(Field::Reference);
        let column_unit = columns.unit().or(self.unit);
        let x = length_nm(field(Field::X), column_unit);
        let y = length_nm(field(Field::Y), column_unit);
        let (Some(x), Some(y)) = (x, y) else {
            let text = format!(
                "part {}: x {} and y {} must both be lengths within 1 m, such as 12.7 or 12.7 mm; the part is left out",
                quoted(reference),
                quoted(field(Field::X)),
                quoted(field(Field::Y))
            );
            remarks.error(line, text);
            return;
        };
        self.unit_missing |= x.1 || y.1;
        let rotation_deg = self.rotation(line, reference, field(Field::Rotation), remarks);
        let side = side_by_word(field(Field::Side)).unwrap_or_else(|| {
            if columns.has(Field::Side) {
                let text = format!(
                    "part {}: {} names no side; top is taken",
                    quoted(reference),
                    quoted(field(Field::Side))
                );
                remarks.warn(line, text);
            }
            Side::Top
        });
        if reference.is_empty() {
            remarks.warn(line, "a part without reference");
        }
        self.placements.push(Placement {
            reference: reference.to_owned(),
            value: field(Field::Value).to_owned(),
            package: field(Field::Package).to_owned(),
            at: Point { x_nm: x.0, y_nm: y.0 },
            rotation_deg,
            side,
            line,
        });
    }

    fn rotation(&self, line: u32, reference: &str, text: &str, remarks: &mut Gathering) -> f64 {
        let plain = text.trim_end_matches(|c: char| c.is_alphabetic() || c == '\u{b0}' || c == ' ');
        match decimal(plain) {
            Some(degrees) => {
                let turned = degrees.rem_euclid(360.0);
                if turned >= 360.0 { 0.0 } else { turned }
            }
            None => {
                if !text.is_empty() {
                    let text = format!(
                        "part {}: {} is no rotation in degrees; 0 is taken",
                        quoted(reference),
                        quoted(text)
                    );
                    remarks.warn(line, text);
                }
                0.0
            }
        }
    }

    /// Rows of reference, x, y, rotation and more, with nothing above them.
    fn read_without_heading(&mut self, text: &str, remarks: &mut Gathering) {
        self.unit = unit_in_comments(text, u32::MAX);
        let columns = Columns::positional();
        let mut lost = Vec::new();
        for (line, content) in numbered_lines(text) {
            let fields: Vec<String> =
                content.split([',', ';', '\t', ' ']).filter(|f| !f.is_empty()).map(str::to_owned).collect();
            if fields.is_empty() || is_comment(&fields) {
                continue;
            }
            let numbers = [1, 2].iter().all(|&k| fields.get(k).is_some_and(|f| length_nm(f, None).is_some()));
            let named = fields.first().is_some_and(|f| f.starts_with(|c: char| c.is_ascii_alphabetic()));
            if numbers && named && fields.len() >= 4 {
                self.row(line, &fields, &columns, remarks);
            } else {
                lost.push(line);
            }
        }
        let needed = "a heading needs a reference, an x and a y column";
        if self.placements.is_empty() {
            remarks.about(Severity::Error, format!("no table of parts found; {needed}"));
            return;
        }
        let text = format!("no heading; the columns are taken as reference, x, y, rotation; {needed}");
        remarks.about(Severity::Warning, text);
        for line in lost {
            remarks.error(line, "the row is not understood and left out");
        }
    }
}

fn is_comment(fields: &[String]) -> bool {
    fields.first().is_some_and(|f| f.trim_start().starts_with(['#', '*']) || f.trim_start().starts_with("//"))
}

/// A unit named in the lines above the table, such as `# Unit = mm` or `Units used: inch`.
fn unit_in_comments(text: &str, heading_line: u32) -> Option<UnitNm> {
    numbered_lines(text).take_while(|(line, _)| *line < heading_line).find_map(|(_, content)| {
        let lower = content.to_ascii_lowercase();
        let words = || lower.split(|c: char| !c.is_ascii_alphanumeric());
        let named = words().any(|w| matches!(w, "unit" | "units"));
        if named { words().find_map(unit_by_word) } else { None }
    })
}

/// A unit of length by its usual spellings, in nm.
pub(crate) fn unit_by_word(word: &str) -> Option<UnitNm> {
    match word.trim().to_ascii_lowercase().as_str() {
        "mm" | "millimetre" | "millimetres" | "millimeter" | "millimeters" | "metric" => Some(1e6),
        "mil" | "mils" | "thou" => Some(25_400.0),
        "in" | "inch" | "inches" | "imperial" | "\"" => Some(25.4e6),
        "um" | "\u{b5}m" | "\u{3bc}m" => Some(1e3),
        "cm" => Some(1e7),
        "nm" => Some(1.0),
        _ => None,
    }
}

/// A length, and whether no unit was named for it. A unit of its own goes before the column's.
fn length_nm(text: &str, column_unit: Option<UnitNm>) -> Option<(i32, bool)> {
    let text = text.trim();
    let split = text.find(|c: char| c.is_alphabetic() || c == '"').unwrap_or(text.len());
    let (number, suffix) = text.split_at_checked(split)?;
    let own_unit = if suffix.is_empty() { None } else { Some(unit_by_word(suffix)?) };
    let unit = own_unit.or(column_unit);
    let nm = (decimal(number)? * unit.unwrap_or(1e6)).round();
    (nm.abs() <= f64::from(LIMIT_NM)).then_some((nm as i32, unit.is_none()))
}

/// A decimal number with point or comma; of several kinds the last is the decimal one.
fn decimal(text: &str) -> Option<f64> {
    let text = text.trim();
    let plain = match (text.rfind('.'), text.rfind(',')) {
        (Some(point), Some(comma)) if comma > point => text.replace('.', "").replace(',', "."),
        (Some(_), Some(_)) => text.replace(',', ""),
        (None, Some(_)) => text.replace(',', "."),
        _ => text.to_owned(),
    };
    let allowed = plain.bytes().all(|b| b.is_ascii_digit() || matches!(b, b'+' | b'-' | b'.'));
    if allowed { plain.parse().ok().filter(|v: &f64| v.is_finite()) } else { None }
}

fn side_by_word(word: &str) -> Option<Side> {
    let lower: String =
        word.chars().filter(char::is_ascii_alphanumeric).collect::<String>().to_ascii_lowercase();
    let lower = lower.strip_suffix("layer").or_else(|| lower.strip_suffix("side")).unwrap_or(&lower);
    match lower {
        "top" | "t" | "front" | "f" | "fcu" | "upper" | "component" | "primary" => Some(Side::Top),
        "bottom" | "bot" | "b" | "back" | "bcu" | "lower" | "solder" | "secondary" | "rear" => {
            Some(Side::Bottom)
        }
        _ => None,
    }
}

fn tell_duplicates(placements: &[Placement], remarks: &mut Gathering) {
    let mut seen = std::collections::BTreeMap::new();
    for placement in placements.iter().filter(|p| !p.reference.is_empty()) {
        if let Some(first) = seen.insert(placement.reference.as_str(), placement.line) {
            let text = format!("part {} stood on line {first} already", quoted(&placement.reference));
            remarks.warn(placement.line, text);
        }
    }
}

#[cfg(test)]
mod tests;

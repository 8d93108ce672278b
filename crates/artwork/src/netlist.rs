//! Bare-board test netlists in the form of IPC-D-356 and IPC-D-356A: which net is at which test point.
//!
//! Records of fixed columns (counted from 1), all from memory of the standard, which we have not seen in print:
//!
//! | columns | what |
//! | --- | --- |
//! | 1-3 | 317 hole, 327 surface point, 307 blind or buried via, 337, 347 and 367 tooling; 0 in place of the first 3 continues the record before |
//! | 4-17 | net; `N/C` for a point of no net; 18-20 are blank, longer names of some writers run on there |
//! | 21-26, 28-31 | component and pin, with a dash between them in column 27; `VIA` for a via |
//! | 32 | M where the point is not an end of the net |
//! | 33-38 | D and the hole's diameter in 4 digits, then P (plated) or U (unplated) |
//! | 39-41 | A and the side or layer: 00 both or all, 01 the top, 02 and on the others |
//! | 42-48, 49-55 | X and Y with sign and 6 digits |
//! | 58-62, 63-67 | X and Y and the size in 4 digits |
//! | 68-71 | R and the rotation |
//! | 73-74 | S and the solder mask: 0 none, 1 top, 2 bottom, 3 both |
//!
//! Lines that begin with C are comments, with P parameters: `P  UNITS CUST 0` counts in 0.0001 inch and degrees, `CUST 1`
//! in 0.001 mm and degrees, `CUST 2` in 0.0001 inch and radians; `P  NNAME1 name` gives the whole of a name that records
//! call `NNAME1`. 999 ends the job. Records of conductors, adjacency and outlines (378, 379, 389 and others) are counted
//! and not used. From column 33 on, letters lead and not columns, so that files whose columns slipped are read too.

mod record;

#[cfg(test)]
mod tests;

use std::collections::BTreeMap;

use crate::drill::{Landing, Unit};
use crate::gathering::{Gathering, quoted};
use crate::remark::{Remark, Severity};
use crate::shape::{Area, LIMIT_NM, Point};
use crate::text::{decoded, numbered_lines};
use record::{Line, RawPoint};

/// What a test point is on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum PointKind {
    /// A hole through the board.
    Hole,
    /// A place on the surface.
    Surface,
    /// A blind or buried via.
    BuriedVia,
    /// A tooling feature or hole: on no net.
    Tooling,
}

/// A place where a net can be touched.
#[derive(Debug, Clone, PartialEq)]
pub struct TestPoint {
    /// Its net's whole name; empty for a point of no net.
    pub net: String,
    /// Component, or `VIA`; may be empty.
    pub reference: String,
    /// Pin; may be empty.
    pub pin: String,
    /// Whether it is not an end of its net.
    pub middle: bool,
    /// What it is on.
    pub kind: PointKind,
    /// Diameter of its hole, nm, where it has one.
    pub hole_nm: Option<i32>,
    /// Whether the hole is plated, where told.
    pub plated: Option<bool>,
    /// Where it can be touched: 0 from both sides, else the layer from 1, the top.
    pub access: Option<u16>,
    /// Its place.
    pub at: Point,
    /// Width and height of the copper, nm, where told; a round place has no height.
    pub size_nm: [Option<i32>; 2],
    /// Rotation of the copper, degrees counter-clockwise, where told in degrees.
    pub rotation_deg: Option<f64>,
    /// Solder mask over it: 0 none, 1 top, 2 bottom, 3 both.
    pub mask: Option<u8>,
    /// Line of the file.
    pub line: u32,
}

impl TestPoint {
    /// Whether it is a via and no component's pad.
    #[must_use]
    pub fn is_via(&self) -> bool {
        self.reference.eq_ignore_ascii_case("VIA")
    }
}

/// How a netlist's unit became known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum UnitSource {
    /// The file declares it.
    Declared,
    /// Found by how many points lie on copper.
    Deduced,
    /// Nothing to go by; inches were assumed.
    Assumed,
}

/// A netlist as read.
#[derive(Debug, Clone)]
pub struct Netlist {
    /// File name as given.
    pub file: String,
    /// Unit: records count in 0.0001 inch or in 0.001 mm.
    pub unit: Unit,
    /// How the unit became known.
    pub unit_source: UnitSource,
    /// Test points in the order of the file.
    pub points: Vec<TestPoint>,
    /// Records of kinds that are not used: conductors, adjacency, outlines.
    pub unused_records: usize,
    /// What there is to say, in order of line.
    pub remarks: Vec<Remark>,
}

/// Whether the bytes look like a bare-board test netlist: among the first lines, a test record or a parameter.
#[must_use]
pub fn looks_like_netlist(bytes: &[u8]) -> bool {
    let head = decoded(&bytes[..bytes.len().min(20_000)]);
    let (mut records, mut others) = (0, 0);
    for (_, line) in numbered_lines(&head).filter(|(_, line)| !line.trim().is_empty()) {
        match record::read(line) {
            Line::Point(_) => records += 2,
            Line::Unit(_) => records += 3,
            Line::Comment | Line::Parameter | Line::Name(..) | Line::Unused | Line::End => {}
            Line::Bad(_) | Line::Unknown => others += 1,
        }
    }
    records > others
}

/// Reads a netlist. Never fails: what was not understood is in the remarks.
///
/// `copper` is the copper of all layers (polygons may overlap one another); it serves to find an undeclared unit.
#[must_use]
pub fn read(file: &str, bytes: &[u8], copper: Option<&Area>) -> Netlist {
    let mut remarks = Gathering::new(file);
    let mut raw = Raw::default();
    for (line, text) in numbered_lines(&decoded(bytes)) {
        if raw.ended {
            if !text.trim().is_empty() {
                remarks.warn(line, "what stands behind the end record 999 is not read");
                break;
            }
            continue;
        }
        raw.take(line, text, &mut remarks);
    }
    if !raw.ended {
        remarks.about(Severity::Note, "there is no end record 999; is the file complete?");
    }
    if raw.unused > 0 {
        let text = format!("{} records of conductors, adjacency or outlines are not used", raw.unused);
        remarks.about(Severity::Note, text);
    }
    let (unit, unit_source) = match raw.unit {
        Some(unit) => (unit, UnitSource::Declared),
        None => find_unit(&raw.points, copper, &mut remarks),
    };
    let mut points = Vec::with_capacity(raw.points.len());
    for (line, point) in &raw.points {
        match made(point, *line, unit, &raw) {
            Some(point) => points.push(point),
            None => remarks.error(
                *line,
                "the point lies more than a metre from the origin; it is left out (is the unit right?)",
            ),
        }
    }
    if points.is_empty() {
        remarks.about(Severity::Warning, "no test point was read");
    }
    Netlist {
        file: file.to_owned(),
        unit,
        unit_source,
        points,
        unused_records: raw.unused,
        remarks: remarks.finish(),
    }
}

/// The file as written.
#[derive(Default)]
struct Raw {
    unit: Option<Unit>,
    radians: bool,
    names: BTreeMap<String, String>,
    points: Vec<(u32, RawPoint)>,
    unused: usize,
    ended: bool,
}

impl Raw {
    fn take(&mut self, line: u32, text: &str, remarks: &mut Gathering) {
        match record::read(text) {
            Line::Comment | Line::Parameter => {}
            Line::End => self.ended = true,
            Line::Unused => self.unused += 1,
            Line::Unit(told) => self.take_unit(line, told, text, remarks),
            Line::Name(short, long) => {
                if self.names.insert(short.clone(), long).is_some() {
                    remarks.warn(line, format!("{} is given a second name, which counts", quoted(&short)));
                }
            }
            Line::Point(mut point) => {
                if point.continues && point.net.is_empty() {
                    match self.points.last() {
                        Some((_, before)) => point.net.clone_from(&before.net),
                        None => remarks.warn(line, "the record continues none: it is the first"),
                    }
                }
                self.points.push((line, point));
            }
            Line::Bad(why) => {
                remarks.error(line, format!("{why}; the record {} is left out", quoted(text)));
            }
            Line::Unknown => remarks.warn(
                line,
                format!(
                    "{} is no record of this form (317, 327, 307, 337, 347, 367, their continuations, C, P, 378, 379, 389, 999); it is left out",
                    quoted(text)
                ),
            ),
        }
    }

    fn take_unit(&mut self, line: u32, told: Option<(Unit, bool)>, text: &str, remarks: &mut Gathering) {
        let Some((unit, radians)) = told else {
            remarks.warn(
                line,
                format!(
                    "the unit {} is none of CUST 0, CUST 1, CUST 2 and SI; it is not obeyed",
                    quoted(text)
                ),
            );
            return;
        };
        if self.unit.is_some_and(|before| before != unit) {
            remarks
                .warn(line, "the unit is declared again and differs; the last one counts for the whole file");
        }
        (self.unit, self.radians) = (Some(unit), radians);
    }
}

/// A count of the file in nm; `None` beyond a metre.
fn length_nm(count: i64, unit: Unit) -> Option<i32> {
    let step_nm = match unit {
        Unit::Inch => 2_540,
        Unit::Millimetre => 1_000,
    };
    let nm = count.checked_mul(step_nm)?;
    i32::try_from(nm).ok().filter(|nm| nm.abs() <= LIMIT_NM)
}

fn place(point: &RawPoint, unit: Unit) -> Option<Point> {
    Some(Point::new(length_nm(point.x, unit)?, length_nm(point.y, unit)?))
}

fn made(raw: &RawPoint, line: u32, unit: Unit, file: &Raw) -> Option<TestPoint> {
    let length = |count: Option<i64>| count.and_then(|count| length_nm(count, unit)).filter(|nm| *nm > 0);
    let net = file.names.get(&raw.net).unwrap_or(&raw.net);
    Some(TestPoint {
        net: if net == "N/C" { String::new() } else { net.clone() },
        reference: raw.reference.clone(),
        pin: raw.pin.clone(),
        middle: raw.middle,
        kind: raw.kind,
        hole_nm: length(raw.hole),
        plated: raw.plated,
        access: raw.access,
        at: place(raw, unit)?,
        size_nm: raw.size.map(length),
        rotation_deg: raw.rotation.filter(|_| !file.radians).map(|degrees| degrees as f64),
        mask: raw.mask,
        line,
    })
}

/// Finds the unit by how many points lie on copper.
fn find_unit(
    points: &[(u32, RawPoint)],
    copper: Option<&Area>,
    remarks: &mut Gathering,
) -> (Unit, UnitSource) {
    let landing = copper.and_then(Landing::new);
    if let Some(landing) = &landing {
        let on_copper = |unit: Unit| {
            let lands = |(_, point): &&(u32, RawPoint)| {
                let diameter_nm = point.hole.and_then(|count| length_nm(count, unit)).unwrap_or(0);
                place(point, unit).is_some_and(|at| landing.lands(at, diameter_nm))
            };
            points.iter().filter(lands).count()
        };
        let (inch, millimetre) = (on_copper(Unit::Inch), on_copper(Unit::Millimetre));
        if inch != millimetre {
            let unit = if inch > millimetre { Unit::Inch } else { Unit::Millimetre };
            let text = format!(
                "no unit is declared; {} is taken: {} of {} points lie on copper, as against {} otherwise",
                step_words(unit),
                inch.max(millimetre),
                points.len(),
                inch.min(millimetre)
            );
            remarks.about(Severity::Warning, text);
            return (unit, UnitSource::Deduced);
        }
    }
    if !points.is_empty() {
        remarks.about(
            Severity::Warning,
            "no unit is declared and copper does not tell it; 0.0001 inch is assumed",
        );
    }
    (Unit::Inch, UnitSource::Assumed)
}

fn step_words(unit: Unit) -> &'static str {
    match unit {
        Unit::Inch => "0.0001 inch",
        Unit::Millimetre => "0.001 mm",
    }
}

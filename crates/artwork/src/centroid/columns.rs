//! Headings of centroid tables: which column is what, and how the columns are set apart.

use crate::text::numbered_lines;

use super::{UnitNm, unit_by_word};

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Field {
    Reference,
    X,
    Y,
    Rotation,
    Side,
    Value,
    Package,
}

const FIELDS: usize = 7;

/// Usual column names, as letters and digits without case or units; earlier ones win.
const NAMES: [(Field, &[&str]); FIELDS] = [
    (
        Field::Reference,
        &[
            "ref",
            "refdes",
            "designator",
            "reference",
            "references",
            "refdesignator",
            "part",
            "component",
            "name",
        ],
    ),
    (
        Field::X,
        &[
            "midx",
            "centerx",
            "centrex",
            "posx",
            "x",
            "xpos",
            "xposition",
            "positionx",
            "xcenter",
            "xcentre",
            "xmid",
            "locationx",
            "xlocation",
            "locx",
            "xloc",
            "coordx",
            "xcoord",
            "xcoordinate",
            "coordinatex",
            "refx",
        ],
    ),
    (
        Field::Y,
        &[
            "midy",
            "centery",
            "centrey",
            "posy",
            "y",
            "ypos",
            "yposition",
            "positiony",
            "ycenter",
            "ycentre",
            "ymid",
            "locationy",
            "ylocation",
            "locy",
            "yloc",
            "coordy",
            "ycoord",
            "ycoordinate",
            "coordinatey",
            "refy",
        ],
    ),
    (
        Field::Rotation,
        &["rot", "rotation", "angle", "orientation", "theta", "rotate", "rotationangle", "orient"],
    ),
    (
        Field::Side,
        &[
            "side",
            "layer",
            "tb",
            "topbottom",
            "boardside",
            "mountside",
            "mountingside",
            "boardlayer",
            "placementside",
        ],
    ),
    (Field::Value, &["val", "value", "comment", "description", "partvalue"]),
    (Field::Package, &["package", "footprint", "pattern", "case", "packagename", "decal", "land"]),
];

/// Which column holds what, and the unit named in the heading.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Columns {
    places: [Option<usize>; FIELDS],
    unit: Option<UnitNm>,
}

impl Columns {
    /// Reference, x, y, rotation, then package or value.
    pub(super) fn positional() -> Self {
        let mut columns = Self::default();
        for (field, place) in
            [(Field::Reference, 0), (Field::X, 1), (Field::Y, 2), (Field::Rotation, 3), (Field::Value, 4)]
        {
            columns.places[field as usize] = Some(place);
        }
        columns
    }

    pub(super) fn has(&self, field: Field) -> bool {
        self.places[field as usize].is_some()
    }

    pub(super) fn unit(&self) -> Option<UnitNm> {
        self.unit
    }

    /// The text of a field in a row, trimmed; empty where the column or the field is missing.
    pub(super) fn value<'a>(&self, fields: &'a [String], field: Field) -> &'a str {
        self.places[field as usize].and_then(|place| fields.get(place)).map_or("", |f| f.trim())
    }

    /// Columns by heading; `None` without reference, x and y.
    fn by_names(names: &[String]) -> Option<(Self, usize)> {
        let plain: Vec<(String, Option<UnitNm>)> = names.iter().map(|n| plain_name(n)).collect();
        let mut columns = Self::default();
        for (field, known) in NAMES {
            let place = known.iter().find_map(|name| plain.iter().position(|(p, _)| p == name));
            columns.places[field as usize] = place;
        }
        let needed = [Field::Reference, Field::X, Field::Y];
        if !needed.iter().all(|f| columns.has(*f)) {
            return None;
        }
        let unit_of =
            |f: Field| columns.places[f as usize].and_then(|place| plain.get(place)).and_then(|p| p.1);
        columns.unit = unit_of(Field::X).or_else(|| unit_of(Field::Y));
        let found = columns.places.iter().flatten().count();
        Some((columns, found))
    }
}

/// A column name without case, blanks and signs, and the unit it carries: `Center-X(mm)` is `centerx` in mm.
fn plain_name(name: &str) -> (String, Option<UnitNm>) {
    let lower = name.to_lowercase();
    let parts: Vec<&str> = lower.split(|c: char| !c.is_alphanumeric()).filter(|p| !p.is_empty()).collect();
    let unit_part = parts.iter().rposition(|p| unit_by_word(p).is_some()).filter(|&k| k > 0);
    let unit = unit_part.and_then(|k| parts.get(k)).and_then(|p| unit_by_word(p));
    let ignored = |k: usize, p: &str| Some(k) == unit_part || p == "deg" || p == "degrees";
    let plain: String = parts.iter().enumerate().filter(|(k, p)| !ignored(*k, p)).map(|(_, p)| *p).collect();
    (plain, unit)
}

/// How the fields of a row are set apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Separator {
    Byte(u8),
    Blanks,
}

/// The heading of a table.
#[derive(Debug, Clone)]
pub(super) struct Heading {
    pub(super) line: u32,
    pub(super) columns: Columns,
    separator: Separator,
    width: usize,
}

/// Finds the first line that names reference, x and y columns, looking at the first hundred lines.
pub(super) fn find_heading(text: &str) -> Option<Heading> {
    for (line, content) in numbered_lines(text).take(100) {
        let content = content.trim_start_matches(['#', ' ', '*', '!']);
        let all = [Separator::Byte(b','), Separator::Byte(b';'), Separator::Byte(b'\t'), Separator::Blanks];
        let mut best: Option<(Heading, usize)> = None;
        for separator in all {
            let Some(names) = split_line(content, separator) else { continue };
            if let Some((columns, found)) = Columns::by_names(&names)
                && best.as_ref().is_none_or(|b| found > b.1)
            {
                best = Some((Heading { line, columns, separator, width: names.len() }, found));
            }
        }
        if let Some((heading, _)) = best {
            return Some(heading);
        }
    }
    None
}

fn reader(text: &str, delimiter: u8) -> csv::Reader<&[u8]> {
    let mut builder = csv::ReaderBuilder::new();
    builder.delimiter(delimiter).has_headers(false).flexible(true).from_reader(text.as_bytes())
}

fn split_line(content: &str, separator: Separator) -> Option<Vec<String>> {
    match separator {
        Separator::Byte(delimiter) => {
            let record = reader(content, delimiter).into_records().next()?.ok()?;
            Some(record.iter().map(str::to_owned).collect())
        }
        Separator::Blanks => Some(content.split_whitespace().map(str::to_owned).collect()),
    }
}

type Row = (u32, Result<Vec<String>, String>);

impl Heading {
    /// The rows below the heading with their line numbers; `text` has lines ending in LF.
    pub(super) fn records<'t>(&'t self, text: &'t str) -> Box<dyn Iterator<Item = Row> + 't> {
        let below = text.split('\n').take(self.line as usize).map(|l| l.len() + 1).sum::<usize>();
        let rest = text.get(below..).unwrap_or_default();
        let first = self.line + 1;
        match self.separator {
            Separator::Blanks => {
                let lines = numbered_lines(rest);
                Box::new(
                    lines.map(move |(k, content)| (self.line.saturating_add(k), self.blank_row(content))),
                )
            }
            Separator::Byte(delimiter) => {
                let records = reader(rest, delimiter).into_records();
                Box::new(records.map(move |record| match record {
                    Ok(record) => {
                        let line = lines_before(rest, record.position());
                        (first.saturating_add(line), Ok(record.iter().map(str::to_owned).collect()))
                    }
                    Err(error) => (first, Err(error.to_string())),
                }))
            }
        }
    }

    /// Blanks inside a value make a row too wide: told rather than misread.
    fn blank_row(&self, content: &str) -> Result<Vec<String>, String> {
        let fields: Vec<String> = content.split_whitespace().map(str::to_owned).collect();
        let too_wide = fields.len() > self.width && !content.trim_start().starts_with('#');
        if too_wide {
            return Err(format!("it has {} fields, its heading {}", fields.len(), self.width));
        }
        Ok(fields)
    }
}

/// Line feeds before a record; the reader's own count stands before the empty lines it passes over.
fn lines_before(text: &str, position: Option<&csv::Position>) -> u32 {
    let begin = position.map_or(0, |p| usize::try_from(p.byte()).unwrap_or(usize::MAX)).min(text.len());
    let bytes = text.as_bytes();
    let empty = bytes[begin..].iter().take_while(|b| **b == b'\n').count();
    bytes[..begin + empty].iter().filter(|b| **b == b'\n').count() as u32
}

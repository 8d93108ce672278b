//! The head of a log to its dialect.

mod layout;
mod looks;
mod sampled;
mod times;

use super::dialect::{ColumnHead, ColumnKind, Detection, Dialect, TimeSource, Told};
use super::encoding::Encoding;
use super::number::{Cell, DecimalMark, cell};
use super::stamp::RawDate;
use super::unit::{Measured, name_and_unit, unit_named};
use layout::{HeadLine, header_cells, layout};
use looks::{Look, look};
use sampled::Sampled;

pub use times::{order_of, orders_in_words};

/// Lines of the head that are looked at.
const HEAD_LINES: usize = 800;
/// Lines of the preamble that are kept.
const PREAMBLE_LINES: usize = 50;

/// What the head of a log shows.
#[derive(Debug)]
pub struct Sniffed {
    /// The dialect, where there are rows of values.
    pub dialect: Option<Dialect>,
    /// What must be told before the log can be read.
    pub questions: Vec<String>,
    /// What is odd about it.
    pub warnings: Vec<String>,
}

/// Looks at the head of a log: decoded bytes, cut anywhere.
#[must_use]
pub fn sniff(head: &[u8], terminator: u8, encoding: (Encoding, &'static str), told: &Told) -> Sniffed {
    let lines = head_lines(head, terminator);
    let Some((layout, evidence, certain)) = layout(&lines, told.delimiter) else {
        let what = if lines.is_empty() { "is empty" } else { "has no line of values near its beginning" };
        let hint = match told.delimiter {
            Some(delimiter) => format!("; told is the delimiter \"{}\"", delimiter.word()),
            None => "; a log has rows of numbers, one reading a line".to_owned(),
        };
        return Sniffed { dialect: None, questions: vec![format!("{what}{hint}")], warnings: Vec::new() };
    };
    let mut warnings = Vec::new();
    let mut detections = vec![
        Detection {
            what: "letters",
            found: encoding.0.word().to_owned(),
            evidence: encoding.1.to_owned(),
            certain: true,
            key: "",
        },
        Detection {
            what: "delimiter",
            found: layout.delimiter.word(),
            evidence,
            certain,
            key: "format.delimiter",
        },
    ];
    if !certain {
        warnings.push(format!(
            "the delimiter is taken to be {}, and others would do as well; write delimiter in [format]",
            layout.delimiter.word()
        ));
    }
    let count = layout.fields;
    let rows = Sampled::new(lines.iter().skip(layout.first).map(|line| line.bytes), layout.delimiter, count);
    let (decimal, grouped) = decimal(&rows, count, told.decimal);
    if !decimal.certain {
        warnings
            .push(format!("decimals: {} ({}); write decimal in [format]", decimal.found, decimal.evidence));
    }
    let mark =
        if decimal.found == DecimalMark::Comma.word() { DecimalMark::Comma } else { DecimalMark::Point };
    detections.push(decimal);

    let line_number = |at: usize| lines.get(at).map_or(1, |line| line.number);
    let text = |bytes: &[u8]| encoding.0.text(bytes);
    let names =
        layout.names.and_then(|at| lines.get(at)).map(|line| header_cells(line.bytes, layout.delimiter));
    let units =
        layout.units.and_then(|at| lines.get(at)).map(|line| header_cells(line.bytes, layout.delimiter));
    let mut columns = heads(count, names.as_deref(), units.as_deref(), &text);
    for (index, column) in columns.iter_mut().enumerate() {
        column.kind = kind(&rows, index);
        column.example = rows.example(index);
        if let (None, Some(symbol)) = (&column.unit_text, unit_in_cells(&rows, index, mark)) {
            column.unit_text = Some(symbol.to_owned());
            column.unit = unit_named(symbol);
        }
    }
    let header_lines: Vec<u64> =
        [layout.names, layout.units].into_iter().flatten().map(line_number).collect();
    detections.push(header_detection(&columns, &header_lines, line_number(layout.first)));
    if let Some(names) = &names
        && names.len() != count
    {
        let clash =
            layout.delimiter.word() == "comma" && (names.len() * 2 == count || names.len() * 2 == count + 1);
        warnings.push(if clash {
            format!("line {}: the header names {} columns and rows have {count}: commas seem to stand between fields and in numbers both, which cannot be told apart. Let the logger write semicolons or quotes", line_number(layout.names.unwrap_or(0)), names.len())
        } else {
            format!("line {}: the header names {} columns and rows have {count}", line_number(layout.names.unwrap_or(0)), names.len())
        });
    }

    let mut dialect = Dialect {
        encoding: encoding.0,
        delimiter: layout.delimiter,
        decimal: mark,
        grouped,
        preamble: Vec::new(),
        header_lines,
        first_line: line_number(layout.first),
        columns,
        time: TimeSource::Rows { interval_s: None },
        date_order: None,
        detections,
    };
    let found = times::time(&rows, &dialect.columns, mark, told, &|name| dialect.column(name));
    let questions = found.questions;
    warnings.extend(found.warnings);
    dialect.time = found.source;
    dialect.detections.extend(found.detections);
    for column in time_columns(dialect.time) {
        if let Some(head) = dialect.columns.get_mut(column) {
            head.kind = ColumnKind::Time;
        }
    }
    date_order(&rows, &mut dialect, told);
    let above = layout.names.unwrap_or(layout.first);
    dialect.preamble =
        lines.iter().take(above).take(PREAMBLE_LINES).map(|line| clean(&text(line.bytes), 200)).collect();
    if above > 0 {
        dialect.detections.push(Detection {
            what: "preamble",
            found: format!("{} lines before the header", line_number(above).saturating_sub(1)),
            evidence: format!("the first of them: {}", dialect.preamble.first().map_or("", String::as_str)),
            certain: true,
            key: "",
        });
    }
    Sniffed { dialect: Some(dialect), questions, warnings }
}

/// Columns that the time is in.
#[must_use]
pub fn time_columns(source: TimeSource) -> Vec<usize> {
    match source {
        TimeSource::Stamp { date, clock } => [Some(date), clock].into_iter().flatten().collect(),
        TimeSource::Clock { column, .. } | TimeSource::Count { column, .. } => vec![column],
        TimeSource::Rows { .. } => Vec::new(),
    }
}

/// Lines of the head that hold something; the last one, perhaps cut, only when it is alone.
fn head_lines(head: &[u8], terminator: u8) -> Vec<HeadLine<'_>> {
    let mut lines: Vec<HeadLine<'_>> = head
        .split(|b| *b == terminator)
        .zip(1..)
        .map(|(bytes, number)| HeadLine { number, bytes: bytes.strip_suffix(b"\r").unwrap_or(bytes) })
        .filter(|line| line.bytes.iter().any(|b| *b > b' '))
        .take(HEAD_LINES + 1)
        .collect();
    if lines.len() > HEAD_LINES || (lines.len() > 3 && !head.ends_with(&[terminator])) {
        lines.pop();
    }
    lines
}

/// The dates of the head, and which number of them is the day.
fn date_order(rows: &Sampled<'_>, dialect: &mut Dialect, told: &Told) {
    let TimeSource::Stamp { date, .. } = dialect.time else { return };
    let dates = || {
        rows.column(date).filter_map(|cell| match look(cell) {
            Look::Stamp(stamp) | Look::Date(stamp) => stamp.date,
            _ => None,
        })
    };
    let open = |date: &RawDate| matches!(date.form, super::stamp::DateForm::Open(_));
    if !dates().any(|date| open(&date)) {
        return;
    }
    let (order, evidence, certain) = match (told.date_order, order_of(dates())) {
        (Some(order), _) => (order, "told by the bench sheet".to_owned(), true),
        (None, Some((order, evidence))) => (order, evidence, true),
        (None, None) => {
            // The rest of the log may show it, so that this is no question yet.
            dialect.detections.push(Detection {
                what: "date order",
                found: "open".to_owned(),
                evidence: dates().next().map_or_else(String::new, orders_in_words),
                certain: false,
                key: "time.date_order",
            });
            return;
        }
    };
    dialect.date_order = Some(order);
    dialect.detections.push(Detection {
        what: "date order",
        found: order.word().to_owned(),
        evidence,
        certain,
        key: "time.date_order",
    });
}

fn header_detection(columns: &[ColumnHead], lines: &[u64], first: u64) -> Detection {
    let (found, evidence) = match lines {
        [] => (
            "none".to_owned(),
            format!("line {first}, the first of the rows, has nothing but values above and in it"),
        ),
        [one] => (format!("in line {one}"), format!("it has words where line {first} has values")),
        more => (
            format!(
                "names in line {}, units in line {}",
                more.first().unwrap_or(&0),
                more.last().unwrap_or(&0)
            ),
            format!(
                "the second has units such as {}",
                columns.iter().find_map(|head| head.unit_text.clone()).unwrap_or_default()
            ),
        ),
    };
    Detection { what: "header", found, evidence, certain: true, key: "" }
}

/// What separates decimals.
fn decimal(rows: &Sampled<'_>, count: usize, told: Option<DecimalMark>) -> (Detection, bool) {
    let made = |mark: DecimalMark, evidence: String, certain| Detection {
        what: "decimals",
        found: mark.word().to_owned(),
        evidence,
        certain,
        key: "format.decimal",
    };
    let mut seen = Marks::default();
    for bytes in (0..count).flat_map(|column| rows.column(column)) {
        if let Look::Number { point, comma } = look(bytes) {
            seen.count(bytes, point, comma);
        }
    }
    let rows = rows.len();
    let (points, commas) = (seen.points + seen.both_point, seen.commas + seen.both_comma);
    let (point, comma) = (&seen.point_example, &seen.comma_example);
    // Numbers whose only mark has always three digits behind it may as well be grouped by thousands.
    let (points_group, commas_group) =
        (seen.grouping_points == seen.points, seen.grouping_commas == seen.commas);
    if let Some(mark) = told {
        let grouped = match mark {
            DecimalMark::Point => commas > 0 && commas_group,
            DecimalMark::Comma => points > 0 && points_group,
        };
        return (made(mark, "told by the bench sheet".to_owned(), true), grouped);
    }
    let certain = |mark, evidence, grouped| (made(mark, evidence, true), grouped);
    let plain_points = seen.points - seen.grouping_points + seen.both_point;
    let plain_commas = seen.commas - seen.grouping_commas + seen.both_comma;
    match (points, commas) {
        (0, 0) => {
            certain(DecimalMark::Point, format!("no number of the first {rows} rows has decimals"), false)
        }
        (_, 0) => certain(
            DecimalMark::Point,
            format!(
                "{points} numbers of the first {rows} rows have a point, such as {point}, and none a comma"
            ),
            false,
        ),
        (0, _) if plain_commas == 0 => (
            made(
                DecimalMark::Comma,
                format!(
                    "numbers such as {comma} have a comma, and always three digits after it: it might group thousands"
                ),
                false,
            ),
            false,
        ),
        (0, _) => certain(
            DecimalMark::Comma,
            format!(
                "{commas} numbers of the first {rows} rows have a comma, such as {comma}, and none a point"
            ),
            false,
        ),
        _ if plain_commas == 0 && plain_points > 0 => certain(
            DecimalMark::Point,
            format!(
                "numbers such as {point} have a point; commas stand before three digits always, such as {comma}, and group thousands"
            ),
            true,
        ),
        _ if plain_points == 0 && plain_commas > 0 => certain(
            DecimalMark::Comma,
            format!(
                "numbers such as {comma} have a comma; points stand before three digits always, such as {point}, and group thousands"
            ),
            true,
        ),
        _ => {
            let mark = if commas > points { DecimalMark::Comma } else { DecimalMark::Point };
            (
                made(
                    mark,
                    format!(
                        "{points} numbers have a point such as {point}, {commas} a comma such as {comma}"
                    ),
                    false,
                ),
                false,
            )
        }
    }
}

/// Points and commas in the numbers of a head.
#[derive(Default)]
struct Marks {
    points: usize,
    commas: usize,
    /// Of those, such that may group digits.
    grouping_points: usize,
    grouping_commas: usize,
    /// Numbers with both, by the last of them.
    both_point: usize,
    both_comma: usize,
    point_example: String,
    comma_example: String,
}

impl Marks {
    fn count(&mut self, bytes: &[u8], point: bool, comma: bool) {
        let example = || String::from_utf8_lossy(bytes).into_owned();
        match (point, comma) {
            (true, true) => {
                if bytes.iter().rev().find(|b| matches!(b, b'.' | b',')) == Some(&b',') {
                    self.both_comma += 1;
                    self.comma_example = example();
                } else {
                    self.both_point += 1;
                    self.point_example = example();
                }
            }
            (true, false) => {
                self.points += 1;
                self.grouping_points += usize::from(may_group(bytes, b'.'));
                if self.point_example.is_empty() {
                    self.point_example = example();
                }
            }
            (false, true) => {
                self.commas += 1;
                self.grouping_commas += usize::from(may_group(bytes, b','));
                if self.comma_example.is_empty() {
                    self.comma_example = example();
                }
            }
            (false, false) => {}
        }
    }
}

/// Whether a number reads as digits grouped by threes with this mark.
fn may_group(bytes: &[u8], mark: u8) -> bool {
    let digits = bytes.strip_prefix(b"-").unwrap_or(bytes);
    let mut groups = digits.split(|b| *b == mark);
    let head = groups.next().unwrap_or_default();
    let digits = |group: &[u8]| group.iter().all(u8::is_ascii_digit);
    (1..=3).contains(&head.len())
        && digits(head)
        && head.first() != Some(&b'0')
        && groups.all(|group| group.len() == 3 && digits(group))
}

/// Columns with their names and units.
fn heads(
    count: usize,
    names: Option<&[Vec<u8>]>,
    units: Option<&[Vec<u8>]>,
    text: &dyn Fn(&[u8]) -> String,
) -> Vec<ColumnHead> {
    let mut heads: Vec<ColumnHead> = Vec::with_capacity(count);
    for index in 0..count {
        let header =
            names.and_then(|names| names.get(index)).map(|bytes| clean(&text(bytes), 80)).unwrap_or_default();
        let below = units
            .and_then(|units| units.get(index))
            .map(|bytes| clean(&text(bytes), 20))
            .filter(|t| !t.is_empty());
        let (name, inside) = if below.is_some() { (header.clone(), None) } else { name_and_unit(&header) };
        let unit_text = below.or(inside);
        let mut name = if name.is_empty() { format!("column {}", index + 1) } else { name };
        let twins = heads.iter().filter(|head| head.name == name).count();
        if twins > 0 {
            name = format!("{name} (column {})", index + 1);
        }
        let unit = unit_text.as_deref().and_then(unit_named);
        heads.push(ColumnHead {
            name,
            header,
            unit_text,
            unit,
            kind: ColumnKind::Empty,
            example: String::new(),
        });
    }
    heads
}

fn kind(rows: &Sampled<'_>, column: usize) -> ColumnKind {
    let (mut numbers, mut words) = (0usize, 0usize);
    for cell in rows.column(column) {
        match look(cell) {
            Look::Number { .. } => numbers += 1,
            Look::Text => words += 1,
            _ => {}
        }
    }
    match (numbers, words) {
        (0, 0) => ColumnKind::Empty,
        _ if numbers >= words => ColumnKind::Numbers,
        _ => ColumnKind::Words,
    }
}

/// The base unit of a column whose cells carry their own units.
fn unit_in_cells(rows: &Sampled<'_>, column: usize, mark: DecimalMark) -> Option<&'static str> {
    let measured: Measured = rows.column(column).find_map(|bytes| match cell(bytes, mark) {
        Cell::WithUnit(_, unit) => Some(unit.measured),
        _ => None,
    })?;
    Some(measured.base()).filter(|base| !base.is_empty())
}

/// Text without control characters, of so many characters at most.
#[must_use]
pub fn clean(text: &str, longest: usize) -> String {
    let plain: String = text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    let plain = plain.trim();
    if plain.chars().count() > longest {
        plain.chars().take(longest.saturating_sub(3)).chain("...".chars()).collect()
    } else {
        plain.to_owned()
    }
}

/// Cells of a line as a header's.
pub(super) fn header_fields(
    line: &[u8],
    delimiter: super::fields::Delimiter,
    encoding: Encoding,
) -> Vec<String> {
    header_cells(line, delimiter).iter().map(|cell| clean(&encoding.text(cell), 80)).collect()
}

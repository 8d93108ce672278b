//! How a logger's lines become rows of plain CSV: comma, decimal point, one header, the time first.
//!
//! Cells stay as the logger wrote them, but for the decimal mark and what would break the row; nothing is rounded.

use super::clock::{RowClock, RowTime};
use crate::log::encoding::Encoding;
use crate::log::fields::Fields;
use crate::log::number::{Cell, DecimalMark, cell, grouped_number, trimmed};
use crate::log::{ColumnKind, Dialect, Told, sniff};

/// Name of the column that the recorded time is in.
pub const TIME_COLUMN: &str = "sample time";

/// Rows after which the form is taken as found.
const CONVINCING_ROWS: usize = 3;
/// Lines after which looking for a form is given up for the oldest of them.
const MOST_LINES: usize = 200;

/// Lines of which nobody knows yet how they are written.
#[derive(Debug, Default)]
pub struct FirstLines {
    lines: Vec<(Vec<u8>, f64)>,
    told: Told,
    /// Lines that were given up.
    pub given_up: u64,
}

impl FirstLines {
    /// Nothing so far; `told` is what a bench sheet says of the logger.
    #[must_use]
    pub fn new(told: Told) -> Self {
        Self { lines: Vec::new(), told, given_up: 0 }
    }

    /// Adds a line with the time at which it came.
    pub fn push(&mut self, line: &[u8], received_s: f64) {
        if self.lines.len() >= MOST_LINES {
            self.lines.remove(0);
            self.given_up += 1;
        }
        let mark: &[u8] = if self.lines.is_empty() { b"\xef\xbb\xbf" } else { b"" };
        self.lines.push((line.strip_prefix(mark).unwrap_or(line).to_vec(), received_s));
    }

    /// Lines held.
    #[must_use]
    pub fn len(&self) -> usize {
        self.lines.len()
    }

    /// Whether there is none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.lines.is_empty()
    }

    /// The form, once three rows show it; with `hurry` one row is enough.
    #[must_use]
    pub fn form(&self, hurry: bool) -> Option<Form> {
        let head: Vec<u8> =
            self.lines.iter().flat_map(|(line, _)| line.iter().copied().chain([b'\n'])).collect();
        let (encoding, evidence, _) = Encoding::of(&head);
        let found = sniff::sniff(&head, b'\n', (encoding, evidence), &self.told);
        let dialect = found.dialect?;
        let open_questions = !found.questions.is_empty();
        let first = usize::try_from(dialect.first_line).ok()?.checked_sub(1)?;
        let mut form = Form::new(dialect, open_questions, found.questions, found.warnings);
        let mut trial = form.clone();
        let rows = self.lines.iter().skip(first).filter(|(line, at)| trial.row(line, *at).is_some()).count();
        let enough = rows >= CONVINCING_ROWS || hurry && rows > 0;
        form.first_line = first;
        enough.then_some(form)
    }

    /// The lines, oldest first.
    #[must_use]
    pub fn into_lines(self) -> Vec<(Vec<u8>, f64)> {
        self.lines
    }
}

/// How lines become rows.
#[derive(Debug, Clone)]
pub struct Form {
    /// How the logger writes.
    pub dialect: Dialect,
    /// Where the times come from.
    pub clock: RowClock,
    /// What cannot be told of the log; its time is then that of the receiving clock.
    pub questions: Vec<String>,
    /// What is odd about it.
    pub warnings: Vec<String>,
    /// Line, of those it was found in, in which the rows begin.
    pub first_line: usize,
    expected: usize,
}

/// A row as it is recorded.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// When.
    pub time: RowTime,
    /// Its line in the recorded log, with its end.
    pub text: String,
    /// What was read of each of the logger's columns; NaN for what is no number.
    pub values: Vec<f64>,
    /// Whether a reading was out of the logger's range.
    pub over_range: bool,
}

impl Form {
    fn new(dialect: Dialect, open_questions: bool, questions: Vec<String>, warnings: Vec<String>) -> Self {
        let clock = RowClock::new(&dialect, open_questions);
        let expected = dialect.columns.len();
        Self { dialect, clock, questions, warnings, first_line: 0, expected }
    }

    /// The header of the recorded log, with its end.
    #[must_use]
    pub fn header(&self) -> String {
        // A word in square brackets is read as a unit whatever it is, one in round brackets only where it is known.
        let names = self.dialect.columns.iter().map(|head| match &head.unit_text {
            Some(unit) if head.unit.is_some() => csv_cell(&format!("{} ({unit})", head.name)),
            Some(unit) => csv_cell(&format!("{} [{unit}]", head.name)),
            None => csv_cell(&head.name),
        });
        let all: Vec<String> = std::iter::once(TIME_COLUMN.to_owned()).chain(names).collect();
        all.join(",") + "\n"
    }

    /// The row that a line holds; `None` where it is none: a header again, half a line, rubbish.
    pub fn row(&mut self, line: &[u8], received_s: f64) -> Option<Row> {
        let mut fields = Fields::default();
        fields.split(line, self.dialect.delimiter);
        if fields.len() != self.expected || fields.open_quote {
            return None;
        }
        let mark = self.dialect.decimal;
        let times = sniff::time_columns(self.dialect.time);
        let read: Vec<Cell> = fields.iter(line).map(|bytes| self.cell(bytes, mark)).collect();
        // A column of numbers that holds words, or a line without a single reading, is the header again or rubbish.
        let numbers = |index: usize| {
            !times.contains(&index)
                && self.dialect.columns.get(index).is_some_and(|head| head.kind == ColumnKind::Numbers)
        };
        let readings = read.iter().enumerate().filter(|(index, _)| numbers(*index));
        let (mut solid, mut words) = (0, 0);
        for (_, cell) in readings {
            match cell {
                Cell::Text => words += 1,
                Cell::Missing => {}
                _ => solid += 1,
            }
        }
        if words > 0 || solid == 0 {
            return None;
        }
        let time = self.clock.time(&fields, line, &self.dialect, received_s)?;
        let mut text = time.written();
        for (bytes, cell) in fields.iter(line).zip(&read) {
            text.push(',');
            text += &self.written(bytes, *cell);
        }
        text.push('\n');
        let values = read.iter().map(|cell| match cell {
            Cell::Value(value) | Cell::WithUnit(value, _) => *value,
            _ => f64::NAN,
        });
        let over_range = read.contains(&Cell::OverRange);
        Some(Row { time, text, values: values.collect(), over_range })
    }

    /// What a row of the recorded log holds after its time: by it a row is known again.
    #[must_use]
    pub fn after_time(row: &str) -> &str {
        row.trim_end_matches(['\n', '\r']).split_once(',').map_or("", |(_, rest)| rest)
    }

    fn cell(&self, bytes: &[u8], mark: DecimalMark) -> Cell {
        match cell(bytes, mark) {
            Cell::Text if self.dialect.grouped => grouped_number(bytes, mark).map_or(Cell::Text, Cell::Value),
            read => read,
        }
    }

    fn written(&self, bytes: &[u8], read: Cell) -> String {
        let text = self.dialect.encoding.text(trimmed(bytes));
        match read {
            Cell::Value(value) if self.dialect.grouped => value.to_string(),
            Cell::Value(_) | Cell::WithUnit(..) if self.dialect.decimal == DecimalMark::Comma => {
                csv_cell(&text.replace(',', "."))
            }
            _ => csv_cell(&text),
        }
    }
}

/// A text as a cell of CSV (RFC 4180) that never breaks its row.
fn csv_cell(text: &str) -> String {
    let clean: String = text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    if clean.contains([',', '"']) { format!("\"{}\"", clean.replace('"', "\"\"")) } else { clean }
}

//! How a log is written: what was told of it, what was found, and by what evidence.

use serde::Serialize;

use super::calendar::days_from_civil;
use super::encoding::Encoding;
use super::fields::Delimiter;
use super::number::DecimalMark;
use super::stamp::DateOrder;
use super::unit::Unit;

/// What a bench sheet tells of a log; the rest is found out.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Told {
    /// What stands between fields.
    pub delimiter: Option<Delimiter>,
    /// What separates decimals.
    pub decimal: Option<DecimalMark>,
    /// Which of two numbers of a date is the day.
    pub date_order: Option<DateOrder>,
    /// The column of time, or those of date and time of day: name, or number from 1.
    pub time_columns: Vec<String>,
    /// Unit of a time that is counted.
    pub time_unit: Option<Unit>,
    /// What a counted time counts from.
    pub time_from: Option<CountedFrom>,
    /// Whether the first of two numbers, `12:30`, is minutes.
    pub minutes_first: Option<bool>,
    /// Time between rows of a log without a column of time, s.
    pub interval_s: Option<f64>,
    /// Offset from UTC of stamps without one, s.
    pub utc_offset_s: Option<i32>,
    /// Cells that stand for no reading, besides the usual words.
    pub missing: Vec<String>,
    /// Cells that stand for a reading out of range, besides the usual words.
    pub over_range: Vec<String>,
}

/// What a counted time counts from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CountedFrom {
    /// A start of the logger's.
    Start,
    /// 1970-01-01 00:00 UTC.
    Epoch,
    /// 1899-12-30 00:00 by the clock on the wall, as spreadsheets count days.
    Spreadsheet,
    /// 1904-01-01 00:00 by the clock on the wall, as some spreadsheets count days.
    Spreadsheet1904,
}

impl CountedFrom {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Start, Self::Epoch, Self::Spreadsheet, Self::Spreadsheet1904];

    /// As written in a bench sheet.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Start => "start",
            Self::Epoch => "epoch",
            Self::Spreadsheet => "1899-12-30",
            Self::Spreadsheet1904 => "1904-01-01",
        }
    }

    /// Seconds from 1970-01-01 to where it counts from, where that is a date.
    #[must_use]
    pub fn from_1970_s(self) -> Option<f64> {
        #[expect(clippy::cast_precision_loss, reason = "some ten thousand days")]
        let at = |year, month, day| Some(days_from_civil(year, month, day) as f64 * 86_400.0);
        match self {
            Self::Start => None,
            Self::Epoch => Some(0.0),
            Self::Spreadsheet => at(1899, 12, 30),
            Self::Spreadsheet1904 => at(1904, 1, 1),
        }
    }
}

/// Something found out about a log.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Detection {
    /// What was looked for.
    pub what: &'static str,
    /// What it is.
    pub found: String,
    /// What shows it.
    pub evidence: String,
    /// Whether the evidence leaves no other way; otherwise the key should be given.
    pub certain: bool,
    /// Key of the bench sheet that tells it.
    pub key: &'static str,
}

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum ColumnKind {
    /// Numbers, perhaps with codes among them.
    Numbers,
    /// Part of the time.
    Time,
    /// Words.
    Words,
    /// Nothing so far.
    Empty,
}

/// A column of a log.
#[derive(Debug, Clone, PartialEq)]
pub struct ColumnHead {
    /// Name: of the header, without the unit; never empty, never twice.
    pub name: String,
    /// The header as written.
    pub header: String,
    /// Unit as written.
    pub unit_text: Option<String>,
    /// The unit, where it is known.
    pub unit: Option<Unit>,
    /// What it holds.
    pub kind: ColumnKind,
    /// A cell of it, as written.
    pub example: String,
}

/// Where the time of a row is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum TimeSource {
    /// A column of stamps, or a column of dates and one of times of day.
    Stamp {
        /// Column of the date.
        date: usize,
        /// Column of the time of day, where it is another one.
        clock: Option<usize>,
    },
    /// Hours, minutes, seconds without a date.
    Clock {
        /// Its column.
        column: usize,
        /// Whether two numbers are minutes and seconds.
        minutes_first: bool,
    },
    /// A count.
    Count {
        /// Its column.
        column: usize,
        /// Its unit.
        unit: Unit,
        /// What it counts from.
        from: CountedFrom,
    },
    /// No column; rows follow each other at this interval, s.
    Rows {
        /// Where told.
        interval_s: Option<f64>,
    },
}

/// How a log is written.
#[derive(Debug, Clone, PartialEq)]
pub struct Dialect {
    /// Letters.
    pub encoding: Encoding,
    /// Between fields.
    pub delimiter: Delimiter,
    /// Decimals.
    pub decimal: DecimalMark,
    /// Whether the other mark groups digits by thousands.
    pub grouped: bool,
    /// Lines before the header, the first of them.
    pub preamble: Vec<String>,
    /// Lines of the header, from 1.
    pub header_lines: Vec<u64>,
    /// First line of numbers, from 1.
    pub first_line: u64,
    /// Columns.
    pub columns: Vec<ColumnHead>,
    /// Where the time is.
    pub time: TimeSource,
    /// Which number of a date is the day, as far as the head of the log shows it.
    pub date_order: Option<DateOrder>,
    /// Everything found out.
    pub detections: Vec<Detection>,
}

impl Dialect {
    /// The column that a bench sheet names: by its name, its whole header, or its number from 1.
    ///
    /// # Errors
    ///
    /// A sentence with what there is.
    pub fn column(&self, wanted: &str) -> Result<usize, String> {
        let wanted = wanted.trim();
        let by = |same: &dyn Fn(&ColumnHead) -> bool| self.columns.iter().position(same);
        let found = by(&|column| column.header == wanted)
            .or_else(|| by(&|column| column.name == wanted))
            .or_else(|| by(&|column| column.name.eq_ignore_ascii_case(wanted)))
            .or_else(|| {
                let number: usize = wanted.parse().ok()?;
                number.checked_sub(1).filter(|index| *index < self.columns.len())
            });
        found.ok_or_else(|| {
            let known: Vec<String> = self
                .columns
                .iter()
                .take(40)
                .enumerate()
                .map(|(index, column)| format!("{} \"{}\"", index + 1, column.name))
                .collect();
            format!("the log has no column \"{wanted}\"; it has {}", known.join(", "))
        })
    }
}

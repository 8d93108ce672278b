//! The rows of a log: one pass over its lines.

use std::io::Read;

use lamp::findings::FindingRemark;

use super::dialect::{ColumnKind, Dialect, TimeSource};
use super::fields::Fields;
use super::lines::{Line, Lines};
use super::number::{Cell, DecimalMark, cell, grouped_number, number};
use super::runs::Runs;
use super::sniff::clean;
use super::stamp::{RawDate, StampReader, stamp};
use super::tally::{Tally, Trouble};
use super::unit::{Measured, Unit};
use super::zone::OpenZone;
use super::{MAX_NUMBERS, Opened};

/// A column that is wanted of a log.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wanted {
    /// Its index.
    pub column: usize,
    /// Its unit, where told; else that of the header.
    pub unit: Option<Unit>,
    /// What its numbers are multiplied by before the unit; 1 as a rule.
    pub factor: f64,
    /// What the logger can read, in base units: values at or beyond these are out of range.
    pub range: Option<[f64; 2]>,
}

/// A column of numbers.
#[derive(Debug, Clone, PartialEq)]
pub struct LogColumn {
    /// Its index in the log.
    pub column: usize,
    /// Its name.
    pub name: String,
    /// Its unit; the values are in the unit's base.
    pub unit: Option<Unit>,
    /// Its unit as written.
    pub unit_text: Option<String>,
    /// One for each row; NaN where nothing was read or the reading was out of range.
    pub values: Vec<f64>,
    /// Rows whose reading was out of range.
    pub saturated: Runs,
}

/// A log as read.
#[derive(Debug)]
pub struct Log {
    /// Name of the file.
    pub file: String,
    /// How it is written.
    pub dialect: Dialect,
    /// The columns that were wanted.
    pub columns: Vec<LogColumn>,
    /// Time of each row, s: of the day for stamps, as counted for counts; empty for rows at an interval.
    pub clock_s: Vec<f64>,
    /// Rows from which on a date holds.
    pub dates: Vec<(usize, RawDate)>,
    /// Whether stamps carry an offset from UTC (and are UTC here).
    pub utc: bool,
    /// How many rows.
    pub rows: usize,
    /// Rows, and the line each of them stands in: only where it is not the next after the row before.
    lines: Vec<(usize, u64)>,
    /// Lines that held neither a row nor a header nor nothing.
    pub lost_lines: u64,
    /// What was noticed, in the order of the lines.
    pub remarks: Vec<FindingRemark>,
}

impl Log {
    /// The line of a row, from 1.
    #[must_use]
    pub fn line(&self, row: usize) -> u64 {
        let after = self.lines.partition_point(|(first, _)| *first <= row);
        self.lines.get(after.wrapping_sub(1)).map_or(0, |(first, line)| line + (row - first) as u64)
    }
}

/// What reads the time of a row.
#[derive(Debug, Clone, Copy)]
enum Clock {
    Stamp { date: usize, clock: Option<usize> },
    Parts { column: usize, minutes_first: bool },
    Count { column: usize, unit: Unit },
    Rows,
}

/// The time of one row.
struct Moment {
    seconds: f64,
    date: Option<RawDate>,
}

/// Cells that stand for something, besides the usual words.
#[derive(Debug, Default)]
struct Codes {
    words: Vec<(Vec<u8>, bool)>,
    numbers: Vec<(f64, bool)>,
}

impl Codes {
    fn new(missing: &[String], over_range: &[String], mark: DecimalMark) -> Self {
        let mut codes = Self::default();
        for (text, over) in missing.iter().map(|t| (t, false)).chain(over_range.iter().map(|t| (t, true))) {
            let bytes = text.trim().as_bytes();
            codes.words.push((bytes.to_vec(), over));
            let value = number(bytes, mark).or_else(|| number(bytes, DecimalMark::Point));
            codes.numbers.extend(value.map(|value| (value, over)));
        }
        codes
    }

    fn applied(&self, bytes: &[u8], read: Cell) -> Cell {
        if self.words.is_empty() {
            return read;
        }
        let word =
            self.words.iter().find(|(word, _)| word.eq_ignore_ascii_case(bytes)).map(|(_, over)| *over);
        let by_number = || match read {
            Cell::Value(value) => self.numbers.iter().find(|(code, _)| *code == value).map(|(_, over)| *over),
            _ => None,
        };
        match word.or_else(by_number) {
            Some(true) => Cell::OverRange,
            Some(false) => Cell::Missing,
            None => read,
        }
    }
}

/// A column while it is read.
struct Column {
    /// Where it stands now; a new header may move it or leave it out.
    at: Option<usize>,
    unit: Option<Unit>,
    factor: f64,
    range: Option<[f64; 2]>,
    out: LogColumn,
}

struct Reader {
    dialect: Dialect,
    clock: Clock,
    expected: usize,
    codes: Codes,
    columns: Vec<Column>,
    fields: Fields,
    stamps: StampReader,
    clock_s: Vec<f64>,
    dates: Vec<(usize, RawDate)>,
    utc: bool,
    open_zone: Option<OpenZone>,
    rows: usize,
    lines: Vec<(usize, u64)>,
    next_line: u64,
    tally: Tally,
    lost_lines: u64,
}

impl<R: Read> Opened<R> {
    /// The columns of numbers, all of them, with the units of the header.
    #[must_use]
    pub fn all_columns(&self) -> Vec<Wanted> {
        let columns = self.dialect.iter().flat_map(|dialect| dialect.columns.iter().enumerate());
        columns
            .filter(|(_, head)| matches!(head.kind, ColumnKind::Numbers | ColumnKind::Empty))
            .map(|(column, _)| Wanted { column, unit: None, factor: 1.0, range: None })
            .collect()
    }

    /// Reads the rows. `None` where the log is not understood; the remarks of [`Opened`] say why.
    #[must_use]
    pub fn read(self, wanted: &[Wanted]) -> Option<Log> {
        let dialect = self.dialect?;
        let mut reader = Reader::new(dialect, wanted, &self.told);
        // Rows to come, by the length of those of the head; so that the vectors need not move while they grow.
        let lines = memchr::memchr_iter(self.terminator, &self.head).count().max(1);
        if let Some(size) = self.size.filter(|_| !self.head.is_empty()) {
            let rows = size as f64 / self.head.len() as f64 * lines as f64 * 1.02 + 64.0;
            let most = MAX_NUMBERS / (wanted.len() + 1);
            reader.reserve((rows as usize).min(most));
        }
        let mut lines = Lines::new(self.inner, self.head, self.terminator);
        let mut remarks = self.remarks;
        let remark = |severity, text: String| FindingRemark {
            severity,
            file: Some(self.file.clone()),
            line: None,
            column: None,
            text,
        };
        loop {
            match lines.next_line() {
                Ok(Some(line)) => reader.line(line),
                Ok(None) => break,
                Err(error) => {
                    remarks.push(remark("error", format!("cannot be read to its end: {error}")));
                    break;
                }
            }
            if reader.rows.saturating_mul(reader.columns.len() + 1) >= MAX_NUMBERS {
                remarks.push(remark(
                    "error",
                    format!("is read to row {} only: it has more numbers than are kept at once; split the file, or name fewer columns", reader.rows),
                ));
                break;
            }
        }
        if reader.rows == 0 {
            remarks.push(remark("error", "has no row that can be read".to_owned()));
        }
        remarks.extend(reader.tally.remarks(&self.file));
        Some(Log {
            file: self.file,
            dialect: reader.dialect,
            columns: reader.columns.into_iter().map(|column| column.out).collect(),
            clock_s: reader.clock_s,
            dates: reader.dates,
            utc: reader.utc,
            rows: reader.rows,
            lines: reader.lines,
            lost_lines: reader.lost_lines,
            remarks,
        })
    }
}

impl Reader {
    fn new(dialect: Dialect, wanted: &[Wanted], told: &super::Told) -> Self {
        let clock = match dialect.time {
            TimeSource::Stamp { date, clock } => Clock::Stamp { date, clock },
            TimeSource::Clock { column, minutes_first } => Clock::Parts { column, minutes_first },
            TimeSource::Count { column, unit, .. } => Clock::Count { column, unit },
            TimeSource::Rows { .. } => Clock::Rows,
        };
        let columns = wanted
            .iter()
            .filter_map(|wanted| {
                let head = dialect.columns.get(wanted.column)?;
                let unit = wanted.unit.or(head.unit);
                Some(Column {
                    at: Some(wanted.column),
                    unit,
                    factor: wanted.factor,
                    range: wanted.range,
                    out: LogColumn {
                        column: wanted.column,
                        name: head.name.clone(),
                        unit,
                        unit_text: head.unit_text.clone(),
                        values: Vec::new(),
                        saturated: Runs::default(),
                    },
                })
            })
            .collect();
        Self {
            codes: Codes::new(&told.missing, &told.over_range, dialect.decimal),
            expected: dialect.columns.len(),
            dialect,
            clock,
            columns,
            fields: Fields::default(),
            stamps: StampReader::default(),
            clock_s: Vec::new(),
            dates: Vec::new(),
            utc: false,
            open_zone: None,
            rows: 0,
            lines: Vec::new(),
            next_line: 0,
            tally: Tally::default(),
            lost_lines: 0,
        }
    }

    fn reserve(&mut self, rows: usize) {
        if !matches!(self.clock, Clock::Rows) {
            self.clock_s.reserve_exact(rows);
        }
        for column in &mut self.columns {
            column.out.values.reserve_exact(rows);
        }
    }

    fn line(&mut self, line: Line<'_>) {
        let bytes = line.bytes;
        if line.number < self.dialect.first_line || bytes.iter().all(|b| *b <= b' ') {
            return;
        }
        if line.too_long {
            self.lost_lines += 1;
            self.tally.count(Trouble::TooLong, 0, line.number, 1, || {
                "this line has more than a million characters and is left out; a row of a log has some hundreds".to_owned()
            });
            return;
        }
        self.fields.split(bytes, self.dialect.delimiter);
        match self.instant(bytes, line.number) {
            Some(instant) => self.row(line, &instant),
            None => self.not_a_row(line),
        }
    }

    fn instant(&mut self, line: &[u8], number_of_line: u64) -> Option<Moment> {
        let field = |index: usize| self.fields.get(line, index);
        match self.clock {
            Clock::Stamp { date, clock } => {
                let mut found = self.stamps.read(field(date)?)?;
                if let Some(clock) = clock {
                    let of_day = stamp(field(clock)?)?;
                    found.seconds = Some(of_day.seconds?);
                    (found.offset_s, found.open_zone) = (of_day.offset_s, of_day.open_zone);
                }
                self.zones(found.open_zone, number_of_line);
                let date = found.date?;
                self.utc |= found.offset_s.is_some();
                Some(Moment {
                    seconds: found.seconds? - f64::from(found.offset_s.unwrap_or(0)),
                    date: Some(date),
                })
            }
            Clock::Parts { column, minutes_first } => {
                let found = stamp(field(column)?).filter(|found| found.date.is_none())?;
                let seconds = found.seconds?;
                // Two numbers were read as hours and minutes.
                let scale = if minutes_first && found.clock_parts == 2 { 1.0 / 60.0 } else { 1.0 };
                Some(Moment { seconds: seconds * scale, date: None })
            }
            Clock::Count { column, unit } => {
                let count = number(field(column)?, self.dialect.decimal)?;
                count.is_finite().then(|| Moment { seconds: unit.to_base(count), date: None })
            }
            Clock::Rows => {
                // A line without any number is no row.
                let mark = self.dialect.decimal;
                let solid = self.fields.iter(line).any(|bytes| !matches!(cell(bytes, mark), Cell::Text));
                solid.then_some(Moment { seconds: 0.0, date: None })
            }
        }
    }

    /// Another zone name on the way, and none of them tells its offset: one told offset cannot hold for both.
    fn zones(&mut self, open: Option<OpenZone>, line: u64) {
        let Some(open) = open else { return };
        let first = *self.open_zone.get_or_insert(open);
        if first != open {
            self.tally.count(Trouble::OtherZone, 0, line, 1, || {
                format!(
                    "the zone is {} here and {} before, and neither tells its offset from UTC: all rows are taken at one offset, so that the \
                     time jumps here. Make one log of each part, each with its zone in [time]",
                    open.word(),
                    first.word()
                )
            });
        }
    }

    fn row(&mut self, line: Line<'_>, instant: &Moment) {
        let row = self.rows;
        if line.number != self.next_line {
            self.lines.push((row, line.number));
        }
        self.next_line = line.number + 1;
        if !matches!(self.clock, Clock::Rows) {
            self.clock_s.push(instant.seconds);
        }
        if let Some(date) = instant.date
            && self.dates.last().is_none_or(|(_, last)| *last != date)
        {
            self.dates.push((row, date));
        }
        self.check_fields(line);
        let expected = self.expected;
        // The last field of a line that was cut off may be cut as well.
        let whole =
            if !line.ended && self.fields.len() < expected { self.fields.len() - 1 } else { usize::MAX };
        for column in &mut self.columns {
            let bytes = column.at.filter(|at| *at < whole).and_then(|at| self.fields.get(line.bytes, at));
            let mark = self.dialect.decimal;
            let read = bytes.map_or(Cell::Missing, |bytes| match cell(bytes, mark) {
                Cell::Text if self.dialect.grouped => {
                    grouped_number(bytes, mark).map_or(Cell::Text, Cell::Value)
                }
                read => read,
            });
            let read = bytes.map_or(read, |bytes| self.codes.applied(bytes, read));
            let value = match read {
                Cell::Value(value) => {
                    let value = value * column.factor;
                    column.unit.map_or(value, |unit| unit.to_base(value))
                }
                Cell::Missing => f64::NAN,
                Cell::WithUnit(value, unit) if same_measure(column.unit, unit) => value,
                Cell::OverRange => {
                    column.out.saturated.push(row);
                    f64::NAN
                }
                Cell::WithUnit(_, unit) => {
                    let at = column.at.unwrap_or(0);
                    let name = &column.out.name;
                    let measured = column.unit.map_or("nothing known", |unit| unit.measured.word());
                    self.tally.count(Trouble::OtherUnit, at, line.number, self.fields.column(at), || {
                        format!(
                            "\"{name}\" reads {}, a {}, in a column of {measured}: left out",
                            shown(bytes),
                            unit.measured.word()
                        )
                    });
                    f64::NAN
                }
                Cell::Text => {
                    let at = column.at.unwrap_or(0);
                    let name = &column.out.name;
                    self.tally.count(Trouble::NoNumber, at, line.number, self.fields.column(at), || {
                        no_number(name, bytes, mark)
                    });
                    f64::NAN
                }
            };
            let value = match column.range {
                Some([low, high]) if value <= low || value >= high => {
                    column.out.saturated.push(row);
                    f64::NAN
                }
                _ => value,
            };
            column.out.values.push(value);
        }
        self.rows += 1;
    }

    fn check_fields(&mut self, line: Line<'_>) {
        let (count, expected) = (self.fields.len(), self.expected);
        if self.fields.open_quote {
            self.tally.count(Trouble::OpenQuote, 0, line.number, 1, || {
                "a quote is opened and not closed in this line; it is closed at the line's end".to_owned()
            });
        }
        if count < expected {
            if !line.ended {
                self.tally.count(Trouble::CutOff, 0, line.number, 1, || {
                    format!("the log ends within this line, after {count} of {expected} fields; the last of them is left out")
                });
                return;
            }
            self.tally.count(Trouble::Short, 0, line.number, 1, || {
                format!("this line has {count} fields where {expected} are usual; those behind are taken as missing")
            });
        } else if count > expected {
            let extra = (expected..count)
                .any(|index| self.fields.get(line.bytes, index).is_some_and(|f| !f.is_empty()));
            if extra {
                let at = self.fields.column(expected);
                self.tally.count(Trouble::Long, 0, line.number, at, || {
                    format!(
                        "this line has {count} fields where {expected} are usual; those behind are left out"
                    )
                });
            }
        }
    }

    /// A line without a time: a header again, another header, or nothing that can be used.
    fn not_a_row(&mut self, line: Line<'_>) {
        if !line.ended {
            self.tally.count(Trouble::CutOff, 0, line.number, 1, || {
                "the log ends within this line, before its time; it is left out".to_owned()
            });
            return;
        }
        let header = super::sniff::header_fields(line.bytes, self.dialect.delimiter, self.dialect.encoding);
        let known =
            |name: &String| self.dialect.columns.iter().any(|head| !name.is_empty() && head.header == *name);
        let found = header.iter().filter(|name| known(name)).count();
        let same = header.len() >= 2
            && self.dialect.columns.iter().zip(&header).all(|(head, name)| head.header == *name);
        if same && header.len() == self.dialect.columns.len() {
            self.tally.count(Trouble::HeaderAgain, 0, line.number, 1, || {
                "the header stands here again; the logger seems to have started anew".to_owned()
            });
            self.place(&header);
        } else if found >= 2 && found * 2 > header.len() && self.time_is_in(&header) {
            self.tally.count(Trouble::NewHeader, 0, line.number, 1, || {
                format!(
                    "another header stands here: {}; columns are taken by their names from here on",
                    clean(&header.join(", "), 120)
                )
            });
            self.place(&header);
        } else {
            self.lost_lines += 1;
            let column = match self.clock {
                Clock::Stamp { date, .. } => date,
                Clock::Parts { column, .. } | Clock::Count { column, .. } => column,
                Clock::Rows => 0,
            };
            let (bytes, at) = (self.fields.get(line.bytes, column), self.fields.column(column));
            let allowed = self.dialect.columns.get(column).map_or("", |head| head.example.as_str());
            self.tally.count(Trouble::NoTime, 0, line.number, at, || {
                format!(
                    "{} is no time of this log, which are such as {allowed}; the line is left out",
                    shown(bytes)
                )
            });
        }
    }

    fn time_is_in(&self, header: &[String]) -> bool {
        super::sniff::time_columns(self.dialect.time)
            .iter()
            .all(|column| self.dialect.columns.get(*column).is_some_and(|head| header.contains(&head.header)))
    }

    /// Takes the columns from where a header names them.
    fn place(&mut self, header: &[String]) {
        let heads = &self.dialect.columns;
        let at = |column: usize| {
            let name = &heads.get(column)?.header;
            // Columns without a name, or with the name of another one, keep their place.
            let unique = !name.is_empty() && heads.iter().filter(|head| head.header == *name).count() == 1;
            if unique { header.iter().position(|other| other == name) } else { Some(column) }
        };
        for column in &mut self.columns {
            column.at = at(column.out.column);
        }
        let moved = |column: usize| at(column).unwrap_or(column);
        self.clock = match self.dialect.time {
            TimeSource::Stamp { date, clock } => Clock::Stamp { date: moved(date), clock: clock.map(moved) },
            TimeSource::Clock { column, minutes_first } => {
                Clock::Parts { column: moved(column), minutes_first }
            }
            TimeSource::Count { column, unit, .. } => Clock::Count { column: moved(column), unit },
            TimeSource::Rows { .. } => Clock::Rows,
        };
        self.expected = header.len();
    }
}

fn same_measure(unit: Option<Unit>, other: Unit) -> bool {
    unit.is_none_or(|unit| unit.measured == other.measured && unit.measured != Measured::Other)
}

fn shown(bytes: Option<&[u8]>) -> String {
    match bytes {
        None => "nothing".to_owned(),
        Some(bytes) => format!("\"{}\"", clean(&String::from_utf8_lossy(bytes), 40)),
    }
}

fn no_number(name: &str, bytes: Option<&[u8]>, mark: DecimalMark) -> String {
    let other = mark.other();
    let by_other = bytes.is_some_and(|bytes| number(bytes, other).is_some());
    let hint = if by_other {
        format!("; decimals of this log have a {}: decimal in [format] tells another", mark.word())
    } else {
        "; a code for a missing reading can be told as missing in [format]".to_owned()
    };
    format!("{} in \"{name}\" is no number and is taken as missing{hint}", shown(bytes))
}

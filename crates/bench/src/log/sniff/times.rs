//! Where a log's time is, and what kind of time.

use super::looks::{Look, look};
use super::sampled::Sampled;
use crate::log::calendar::written;
use crate::log::dialect::{ColumnHead, CountedFrom, Detection, TimeSource, Told};
use crate::log::number::{DecimalMark, number};
use crate::log::stamp::{DateForm, DateOrder, RawDate};
use crate::log::unit::{Measured, Unit, unit_named};

/// Names of columns of time, lower case (English and some neighbours; common practice, no source).
const TIME_NAMES: &[&str] = &[
    "time",
    "t",
    "timestamp",
    "time stamp",
    "date time",
    "datetime",
    "date/time",
    "elapsed",
    "elapsed time",
    "runtime",
    "run time",
    "uptime",
    "seconds",
    "secs",
    "millis",
    "milliseconds",
    "micros",
    "minutes",
    "zeit",
    "laufzeit",
    "uhrzeit",
    "zeitstempel",
    "temps",
    "heure",
    "tiempo",
    "hora",
    "tempo",
    "ora",
    "tijd",
    "tid",
    "epoch",
    "unix",
    "unix time",
    "x",
];

/// Names of columns that count rows.
const COUNTER_NAMES: &[&str] = &[
    "n", "no", "no.", "nr", "nr.", "#", "index", "idx", "record", "sample", "row", "scan", "count", "id",
    "punkt",
];

/// The time of a log, how it was found, and what must be asked.
pub struct FoundTime {
    pub source: TimeSource,
    pub detections: Vec<Detection>,
    /// Errors: what the bench sheet must tell.
    pub questions: Vec<String>,
    /// What it should tell, and times from the start do not depend on.
    pub warnings: Vec<String>,
}

pub fn time(
    rows: &Sampled<'_>,
    columns: &[ColumnHead],
    decimal: DecimalMark,
    told: &Told,
    resolve: &dyn Fn(&str) -> Result<usize, String>,
) -> FoundTime {
    let mut found = FoundTime {
        source: TimeSource::Rows { interval_s: told.interval_s },
        detections: Vec::new(),
        questions: Vec::new(),
        warnings: Vec::new(),
    };
    let mut wanted = Vec::new();
    for name in &told.time_columns {
        match resolve(name) {
            Ok(column) => wanted.push(column),
            Err(why) => found.questions.push(why),
        }
    }
    if !found.questions.is_empty() {
        return found;
    }
    let how = |column: usize, decides: fn(Look) -> bool| {
        let mut cells = (0usize, 0usize);
        for cell in rows.column(column) {
            let seen = look(cell);
            cells = (cells.0 + usize::from(decides(seen)), cells.1 + usize::from(seen != Look::Empty));
        }
        cells
    };
    let mostly = |column: usize, decides: fn(Look) -> bool| {
        let (yes, all) = how(column, decides);
        all > 0 && yes * 10 >= all * 8
    };
    let is_stamp: fn(Look) -> bool = |look| matches!(look, Look::Stamp(_));
    let is_date: fn(Look) -> bool = |look| matches!(look, Look::Date(_));
    let is_clock: fn(Look) -> bool = |look| matches!(look, Look::Clock(_));
    let all: Vec<usize> = if wanted.is_empty() { (0..columns.len()).collect() } else { wanted.clone() };
    let name = |column: usize| columns.get(column).map_or("", |head| head.name.as_str());
    let first = |decides: fn(Look) -> bool| all.iter().copied().find(|column| mostly(*column, decides));
    // Among several columns of times of day the one that is called so.
    let clocks: Vec<usize> = all.iter().copied().filter(|column| mostly(*column, is_clock)).collect();
    let clock = clocks.iter().copied().find(|column| is_time_name(name(*column))).or(clocks.first().copied());
    let say = |found: &mut FoundTime, what: String, evidence: String, certain: bool, key| {
        found.detections.push(Detection { what: "time", found: what, evidence, certain, key });
    };
    if let Some(column) = first(is_stamp) {
        found.source = TimeSource::Stamp { date: column, clock: None };
        let (yes, of) = how(column, is_stamp);
        say(
            &mut found,
            format!("stamps in \"{}\"", name(column)),
            format!("{yes} of {of} cells are a date with a time of day"),
            true,
            "time.column",
        );
        open_zone(rows, column, told, &mut found);
        return found;
    }
    if let (Some(date), Some(clock)) = (first(is_date), clock) {
        found.source = TimeSource::Stamp { date, clock: Some(clock) };
        let evidence = "one holds dates, the other times of day".to_owned();
        say(
            &mut found,
            format!("date in \"{}\", time of day in \"{}\"", name(date), name(clock)),
            evidence,
            true,
            "time.column",
        );
        open_zone(rows, clock, told, &mut found);
        return found;
    }
    if let Some(column) = clock {
        clock_source(rows, column, name(column), told, &mut found);
        return found;
    }
    if let Some(column) = counted_column(rows, columns, decimal, &wanted) {
        count_source(rows, columns, column, decimal, told, &mut found);
        return found;
    }
    match told.interval_s {
        Some(interval_s) => {
            say(&mut found, format!("a row every {interval_s} s"), "told by the bench sheet".to_owned(), true, "time.interval");
        }
        None => found.questions.push(
            "no column of this log reads as a time; give its name as column = \"...\" in [time], or the time between rows as interval = \"1 s\"".to_owned(),
        ),
    }
    found
}

/// Whether stamps name a zone that stands for several offsets.
fn open_zone(rows: &Sampled<'_>, column: usize, told: &Told, found: &mut FoundTime) {
    let open = rows.column(column).find_map(|cell| match look(cell) {
        Look::Stamp(stamp) | Look::Clock(stamp) => stamp.open_zone,
        _ => None,
    });
    let (Some(open), None) = (open, told.utc_offset_s) else { return };
    let evidence = format!("the stamps' zone is {}, which may be {} from UTC", open.word(), open.offsets());
    found.warnings.push(format!(
        "{evidence}. Times from the start do not depend on it; the start is taken as the logger's own clock. To have it, write zone = \"{}\" in \
         [time], or another offset",
        open.offsets().split([',', ' ']).next().unwrap_or("+00:00")
    ));
    found.detections.push(Detection {
        what: "zone",
        found: format!("{}: open", open.word()),
        evidence,
        certain: false,
        key: "time.zone",
    });
}

fn clock_source(rows: &Sampled<'_>, column: usize, name: &str, told: &Told, found: &mut FoundTime) {
    let two =
        rows.column(column).any(|cell| matches!(look(cell), Look::Clock(stamp) if stamp.clock_parts == 2));
    let three =
        rows.column(column).any(|cell| matches!(look(cell), Look::Clock(stamp) if stamp.clock_parts == 3));
    let mut minutes_first = told.minutes_first.unwrap_or(false);
    let what = if two { "two numbers" } else { "hours, minutes and seconds" };
    let mut evidence = format!("the cells of \"{name}\" are such as {}", rows.example(column));
    let mut certain = true;
    if two {
        // `1:05.5` has tenths of a second, `59:59` followed by `1:00:00` is minutes and seconds.
        let tenths = rows.column(column).any(|cell| cell.contains(&b'.') || cell.contains(&b','));
        let large = rows.column(column).any(|cell| {
            matches!(look(cell), Look::Clock(stamp) if stamp.clock_parts == 2 && stamp.seconds.unwrap_or(0.0) >= 86_400.0)
        });
        match told.minutes_first {
            Some(true) => evidence += ", told to be minutes and seconds",
            Some(false) => evidence += ", told to be hours and minutes",
            None if tenths || large || three => {
                minutes_first = true;
                evidence += if tenths {
                    "; with decimals they are minutes and seconds"
                } else if large {
                    "; the first number goes beyond 23, so they are minutes and seconds"
                } else {
                    "; others have three numbers, so these are minutes and seconds"
                };
            }
            None => {
                certain = false;
                found.questions.push(format!(
                    "\"{name}\" reads {}: hours and minutes or minutes and seconds? Write clock = \"hh:mm\" or clock = \"mm:ss\" in [time]",
                    rows.example(column)
                ));
            }
        }
    }
    found.source = TimeSource::Clock { column, minutes_first };
    found.detections.push(Detection {
        what: "time",
        found: format!("{what} without a date in \"{name}\""),
        evidence,
        certain,
        key: "time.clock",
    });
}

fn is_time_name(name: &str) -> bool {
    TIME_NAMES.contains(&name.trim().to_lowercase().as_str())
}

/// The column of numbers that counts time.
fn counted_column(
    rows: &Sampled<'_>,
    columns: &[ColumnHead],
    decimal: DecimalMark,
    wanted: &[usize],
) -> Option<usize> {
    if let Some(column) = wanted.first() {
        return Some(*column);
    }
    let unit_of_time = |head: &ColumnHead| head.unit.is_some_and(|unit| unit.measured == Measured::Time);
    let rising = |column: &usize| is_rising(rows, *column, decimal);
    let with = |fits: &dyn Fn(&ColumnHead) -> bool| {
        columns.iter().enumerate().filter(|(_, head)| fits(head)).map(|(column, _)| column).find(rising)
    };
    with(&|head| is_time_name(&head.name) && unit_of_time(head))
        .or_else(|| with(&|head| is_time_name(&head.name) && head.name.chars().count() > 1))
        .or_else(|| with(&unit_of_time))
        .or_else(|| with(&|head| is_time_name(&head.name)))
        .or_else(|| {
            (0..columns.len()).filter(rising).find(|column| epoch_unit(rows, *column, decimal).is_some())
        })
        .or_else(|| {
            let unnamed = |head: &&ColumnHead| {
                let name = head.name.to_lowercase();
                head.unit.is_none() && !COUNTER_NAMES.contains(&name.as_str())
            };
            // A lone column is what was measured.
            columns.first().filter(|_| columns.len() > 1).filter(unnamed).map(|_| 0).filter(rising)
        })
}

/// Whether numbers rise from row to row, all but a few.
fn is_rising(rows: &Sampled<'_>, column: usize, decimal: DecimalMark) -> bool {
    let values: Vec<f64> = rows.column(column).filter_map(|cell| number(cell, decimal)).collect();
    let steps = values.windows(2).filter(|pair| pair.last() >= pair.first()).count();
    // Coarse counts stand still for some rows; a counter that rolls over ends below where it began.
    let moved = values.windows(2).filter(|pair| pair.last() > pair.first()).count();
    moved >= 1 && moved * 10 >= values.len() && steps * 10 >= (values.len() - 1) * 9
}

/// Seconds, milliseconds, microseconds or nanoseconds since 1970, by their size: 2001 to 2100.
fn epoch_unit(rows: &Sampled<'_>, column: usize, decimal: DecimalMark) -> Option<Unit> {
    let first = rows.column(column).find_map(|cell| number(cell, decimal))?;
    let seconds = 978_307_200.0..4_102_444_800.0;
    ["s", "ms", "us", "ns"]
        .into_iter()
        .zip([1.0, 1e3, 1e6, 1e9])
        .find(|(_, parts)| seconds.contains(&(first / parts)))
        .and_then(|(word, _)| unit_named(word))
}

/// Names of columns that hold a date, lower case (English and German; common practice, no source).
const DATE_NAMES: &[&str] =
    &["date", "datetime", "date time", "date/time", "timestamp", "time stamp", "datum", "zeitstempel"];

/// Whether numbers may be days since 1899-12-30, of a year from 2000 to 2099: the first of them and the usual step, s. Rows follow each
/// other within an hour then, and days have decimals.
fn spreadsheet_days(rows: &Sampled<'_>, column: usize, decimal: DecimalMark) -> Option<(f64, f64)> {
    let values: Vec<f64> = rows.column(column).filter_map(|cell| number(cell, decimal)).collect();
    let days = 36_526.0..73_051.0;
    let broken = values.iter().any(|value| value.fract() != 0.0);
    if !broken || !values.iter().all(|value| days.contains(value)) {
        return None;
    }
    let mut steps: Vec<f64> =
        values.windows(2).map(|pair| (pair[1] - pair[0]) * 86_400.0).filter(|step| *step > 0.0).collect();
    steps.sort_by(f64::total_cmp);
    let usual_s = *steps.get(steps.len() / 2)?;
    (usual_s <= 3600.0).then_some((*values.first()?, usual_s))
}

/// Days since 1899-12-30, where the numbers may be such and nothing else is told; asked for where only their size tells.
fn spreadsheet_source(
    rows: &Sampled<'_>,
    head: &ColumnHead,
    column: usize,
    decimal: DecimalMark,
    told: &Told,
    found: &mut FoundTime,
) -> bool {
    let from = told.time_from.unwrap_or(CountedFrom::Spreadsheet);
    let told_so = matches!(told.time_from, Some(CountedFrom::Spreadsheet | CountedFrom::Spreadsheet1904));
    let Some(unit) = unit_named("d") else { return false };
    let header_unit = head.unit.filter(|unit| unit.measured == Measured::Time);
    let stated = told.time_unit.or(header_unit);
    if told_so {
        found.source = TimeSource::Count { column, unit: stated.unwrap_or(unit), from };
        found.detections.push(Detection {
            what: "time",
            found: format!("days since {} in \"{}\"", from.word(), head.name),
            evidence: "told by the bench sheet".to_owned(),
            certain: true,
            key: "time.from",
        });
        return true;
    }
    if told.time_from.is_some() || stated.is_some_and(|stated| stated != unit) {
        return false;
    }
    let Some((first, step_s)) = spreadsheet_days(rows, column, decimal) else { return false };
    let seconds = first * unit.to_base(1.0) + from.from_1970_s().unwrap_or(0.0);
    let named = DATE_NAMES.contains(&head.name.trim().to_lowercase().as_str());
    let certain = named;
    let evidence = format!(
        "numbers such as {} are {} as days since 1899-12-30, as spreadsheets count them, with {} s between rows{}",
        rows.example(column),
        written(seconds.round()),
        (step_s * 100.0).round() / 100.0,
        if named { ", and the header calls it a date" } else { "" }
    );
    if !certain {
        found.questions.push(format!(
            "\"{}\" has {evidence}; nothing else tells. Write from = \"1899-12-30\" in [time] if that is so, else unit = \"s\", \"min\" or \
             another with from = \"start\"",
            head.name
        ));
    }
    found.source = TimeSource::Count { column, unit, from };
    found.detections.push(Detection {
        what: "time",
        found: format!("days since 1899-12-30 in \"{}\"", head.name),
        evidence,
        certain,
        key: "time.from",
    });
    true
}

fn count_source(
    rows: &Sampled<'_>,
    columns: &[ColumnHead],
    column: usize,
    decimal: DecimalMark,
    told: &Told,
    found: &mut FoundTime,
) {
    let Some(head) = columns.get(column) else { return };
    if spreadsheet_source(rows, head, column, decimal, told, found) {
        return;
    }
    let by_size = epoch_unit(rows, column, decimal);
    let header_unit = head.unit.filter(|unit| unit.measured == Measured::Time);
    // A name such as millis tells its unit.
    let name_unit =
        unit_named(&head.name).filter(|unit| unit.measured == Measured::Time && head.name.len() > 1);
    let given = told.time_unit.or(header_unit).or(name_unit);
    let from = told.time_from.unwrap_or_else(|| {
        let agrees = given.is_none_or(|unit| Some(unit.symbol) == by_size.map(|size| size.symbol));
        if by_size.is_some() && agrees { CountedFrom::Epoch } else { CountedFrom::Start }
    });
    let (unit, mut evidence, certain) = match (told.time_unit, header_unit.or(name_unit), from, by_size) {
        (Some(unit), ..) => (unit, "its unit is told by the bench sheet".to_owned(), true),
        (None, Some(unit), ..) => (unit, format!("its header says {}", unit.symbol), true),
        (None, None, CountedFrom::Epoch, Some(unit)) => (
            unit,
            format!(
                "numbers such as {} are {} since 1970 in a year from 2001 to 2100 and in no other unit",
                rows.example(column),
                unit.symbol
            ),
            true,
        ),
        _ => {
            let Some(unit) = unit_named("s") else { return };
            found.questions.push(format!(
                "\"{}\" counts a time and nothing tells its unit: write unit = \"s\", \"ms\" or \"min\" in [time]",
                head.name
            ));
            (unit, "no unit stands in its header".to_owned(), false)
        }
    };
    let what = match from {
        CountedFrom::Epoch => format!("{} since 1970 in \"{}\"", unit.symbol, head.name),
        _ => format!("{} since a start in \"{}\"", unit.symbol, head.name),
    };
    if told.time_columns.is_empty() {
        evidence += "; it rises from row to row";
    }
    found.source = TimeSource::Count { column, unit, from };
    found.detections.push(Detection { what: "time", found: what, evidence, certain, key: "time.unit" });
}

/// Which number of a date is what, by the dates themselves; the evidence, or `None` where they leave it open.
pub fn order_of(dates: impl Iterator<Item = RawDate>) -> Option<(DateOrder, String)> {
    let mut dotted = None;
    for date in dates {
        let DateForm::Open(separator) = date.form else { continue };
        if let [order] = date.orders().as_slice() {
            return Some((*order, format!("{} is a date that way only", date.written())));
        }
        if separator == b'.' && dotted.is_none() {
            let evidence =
                format!("dates with points such as {} have the day first (common practice)", date.written());
            dotted = Some((DateOrder::DayFirst, evidence));
        }
    }
    dotted
}

/// What a date may be, in words.
pub fn orders_in_words(date: RawDate) -> String {
    let words: Vec<&str> = date.orders().into_iter().map(DateOrder::word).collect();
    format!("{} may be {}", date.written(), words.join(" or "))
}

//! A log's clock to seconds from the start: dates, rollovers, restarts; duplicate and backward rows, gaps.

use lamp::findings::FindingRemark;

use super::{Marks, Start, TimeRules};
use crate::log::sniff::{order_of, orders_in_words};
use crate::log::stamp::{DateForm, DateOrder};
use crate::log::{CountedFrom, Log, TimeSource};

/// Times of a log's rows.
pub struct Timed {
    pub start: Option<Start>,
    pub times_s: Vec<f64>,
    pub marks: Marks,
    pub step_s: Option<f64>,
}

const DAY_S: f64 = 86_400.0;

/// A step longer than so many times the longest usual one (90 of 100 are shorter) is a gap.
pub(super) const GAP_STEPS: f64 = 2.5;

/// A counter that rolled over goes on within so many usual steps.
const ROLLOVER_STEPS: f64 = 20.0;

/// Steps that are looked at for the usual one; spread over the whole log.
const SAMPLED_STEPS: usize = 200_000;

struct Notes<'a> {
    file: &'a str,
    all: Vec<FindingRemark>,
}

impl Notes<'_> {
    fn say(&mut self, severity: &'static str, line: u64, text: String) {
        let line = u32::try_from(line).ok().filter(|line| *line > 0);
        self.all.push(FindingRemark { severity, file: Some(self.file.to_owned()), line, column: None, text });
    }
}

pub fn timed(mut log: Log, rules: TimeRules) -> (Option<Timed>, Log, Vec<FindingRemark>) {
    let file = log.file.clone();
    let mut notes = Notes { file: &file, all: std::mem::take(&mut log.remarks) };
    if log.rows == 0 {
        return (None, log, notes.all);
    }
    let mut times_s = std::mem::take(&mut log.clock_s);
    let mut start = None;
    match log.dialect.time {
        TimeSource::Rows { interval_s } => {
            let interval_s = interval_s.unwrap_or(f64::NAN);
            times_s = (0..log.rows).map(|row| row as f64 * interval_s).collect();
            if !interval_s.is_finite() {
                return (None, log, notes.all);
            }
        }
        TimeSource::Stamp { .. } => match place_dates(&log, &mut times_s, rules, &mut notes) {
            Ok(found) => start = found,
            Err(why) => {
                notes.say("error", 0, why);
                return (None, log, notes.all);
            }
        },
        TimeSource::Count { from, .. } => {
            // A spreadsheet counts by the clock on the wall, 1970 by UTC.
            let offset = rules.utc_offset_s.filter(|_| from != CountedFrom::Epoch);
            let utc = from == CountedFrom::Epoch || offset.is_some();
            let shift = from.from_1970_s().map(|at| at - f64::from(offset.unwrap_or(0)));
            start = times_s.first().zip(shift).map(|(first, shift)| Start { seconds: first + shift, utc });
        }
        TimeSource::Clock { .. } => {}
    }
    let dated = start.is_some() || matches!(log.dialect.time, TimeSource::Stamp { .. });
    if !dated {
        unroll(&log, &mut times_s, &mut notes);
    }
    if let Some(first) = times_s.first().copied().filter(|first| *first != 0.0) {
        times_s.iter_mut().for_each(|time| *time -= first);
    }
    spread_coarse(&mut times_s, &mut notes);
    let (step_s, usual_s) = usual_steps(&times_s);
    let marks = mark(&log, &times_s, usual_s, &mut notes);
    (Some(Timed { start, times_s, marks, step_s }), log, notes.all)
}

/// Adds the days of the dates; the start, where the dates are understood.
fn place_dates(
    log: &Log,
    times_s: &mut [f64],
    rules: TimeRules,
    notes: &mut Notes<'_>,
) -> Result<Option<Start>, String> {
    let open = log.dates.iter().any(|(_, date)| matches!(date.form, DateForm::Open(_)));
    let order = if open { order(log, times_s, rules, notes)? } else { Some(DateOrder::DayFirst) };
    let Some(order) = order else {
        // One date throughout: nothing depends on which it is but the start.
        return Ok(None);
    };
    let mut first_day = None;
    let mut impossible = None;
    for (index, (row, date)) in log.dates.iter().enumerate() {
        let end = log.dates.get(index + 1).map_or(times_s.len(), |(next, _)| *next);
        let Some(days) = date.days(order) else {
            impossible.get_or_insert((*row, *date));
            // Out of order, so that it is marked and not used.
            times_s
                .get_mut(*row..end)
                .unwrap_or_default()
                .iter_mut()
                .for_each(|time| *time = f64::NEG_INFINITY);
            continue;
        };
        let since = days - *first_day.get_or_insert(days);
        let shift = since as f64 * DAY_S;
        times_s.get_mut(*row..end).unwrap_or_default().iter_mut().for_each(|time| *time += shift);
    }
    if let Some((row, date)) = impossible {
        notes.say(
            "warning",
            log.line(row),
            format!("{} is no date with the {}; such rows are not used", date.written(), order.word()),
        );
        // Before the first row that has a date: at its time; else before it, and so marked.
        let valid = times_s.iter().position(|time| time.is_finite());
        let first = valid.and_then(|row| times_s.get(row)).copied().unwrap_or(0.0);
        for (row, time) in times_s.iter_mut().enumerate().filter(|(_, time)| !time.is_finite()) {
            *time = if valid.is_some_and(|valid| row > valid) { first - 1.0 } else { first };
        }
    }
    let first = times_s.first().copied().unwrap_or(0.0);
    let offset = f64::from(rules.utc_offset_s.filter(|_| !log.utc).unwrap_or(0));
    let utc = log.utc || rules.utc_offset_s.is_some();
    Ok(first_day.map(|days| Start { seconds: days as f64 * DAY_S + first - offset, utc }))
}

/// Which number is the day: told, shown by a date, or shown by midnight. `None`: open, and nothing but the start depends on it.
fn order(
    log: &Log,
    times_s: &[f64],
    rules: TimeRules,
    notes: &mut Notes<'_>,
) -> Result<Option<DateOrder>, String> {
    if let Some(order) = rules.date_order {
        return Ok(Some(order));
    }
    if let Some((order, evidence)) = order_of(log.dates.iter().map(|(_, date)| *date)) {
        notes.say("note", 0, format!("dates have the {}: {evidence}", order.word()));
        return Ok(Some(order));
    }
    let example = log.dates.first().map_or_else(String::new, |(_, date)| orders_in_words(*date));
    let key = "write date_order = \"day first\" or date_order = \"month first\" in [time]";
    if let [_] = log.dates.as_slice() {
        notes.say(
            "warning",
            log.line(0),
            format!("{example}, and the log has no other date that tells. Times from the start do not depend on it; the start is left open. To have it, {key}"),
        );
        return Ok(None);
    }
    // From the last row of a date to the first of the next: less than two days one way, weeks the other.
    let mut votes = [0usize; DateOrder::ALL.len()];
    for pair in log.dates.windows(2) {
        let [(_, before), (row, after)] = pair else { continue };
        let of_day = |row: usize| times_s.get(row).copied().unwrap_or(0.0);
        for (vote, order) in votes.iter_mut().zip(DateOrder::ALL) {
            if let (Some(before), Some(after)) = (before.days(order), after.days(order)) {
                let step = (after - before) as f64 * DAY_S + of_day(*row) - of_day(row.saturating_sub(1));
                *vote += usize::from((0.0..2.0 * DAY_S).contains(&step));
            }
        }
    }
    let fits: Vec<DateOrder> = DateOrder::ALL
        .into_iter()
        .zip(votes)
        .filter(|(_, votes)| *votes > 0)
        .map(|(order, _)| order)
        .collect();
    let [found] = fits.as_slice() else {
        return Err(format!("{example}, and nothing in the log tells: {key}"));
    };
    notes.say(
        "note",
        log.dates.get(1).map_or(0, |(row, _)| log.line(*row)),
        format!(
            "dates have the {}: that way the date goes on by a day at midnight, any other way by weeks or years",
            found.word()
        ),
    );
    Ok(Some(*found))
}

/// Times without a date go on where a counter rolled over or the logger started anew.
fn unroll(log: &Log, times_s: &mut [f64], notes: &mut Notes<'_>) {
    let (usual_s, _) = usual_steps(times_s);
    let Some(usual_s) = usual_s else { return };
    let moduli = moduli(log.dialect.time);
    let mut shift = 0.0;
    let mut before = times_s.first().copied().unwrap_or(0.0);
    let mut told = 0usize;
    for row in 1..times_s.len() {
        let Some(raw) = times_s.get(row).copied() else { break };
        if raw < before {
            let on_time = |whole: f64| (0.0..=ROLLOVER_STEPS * usual_s).contains(&(whole + raw - before));
            if let Some((whole, what)) = moduli.iter().find(|(whole, _)| on_time(*whole)) {
                shift += whole;
                told += 1;
                if told <= 3 {
                    notes.say(
                        "note",
                        log.line(row),
                        format!("the time rolls over from {before} s to {raw} s at {what}; it is counted on"),
                    );
                }
            } else if raw <= 10.0 * usual_s && before > 20.0 * usual_s && goes_on(times_s, row, raw, before) {
                // What passed in between nobody knows.
                shift += before - raw + usual_s;
                told += 1;
                if told <= 3 {
                    notes.say("warning", log.line(row), format!("the time starts anew from {raw} s after {before} s: the logger was restarted. How long it was off is not known; the rows are put right behind, as after a gap"));
                }
            }
        }
        before = if raw < before && shift == 0.0 { before.max(raw) } else { raw };
        if let Some(time) = times_s.get_mut(row) {
            *time = raw + shift;
        }
    }
}

/// Whether the rows after a restart stay below the time before it for a while.
fn goes_on(times_s: &[f64], row: usize, raw: f64, before: f64) -> bool {
    let next = times_s.get(row + 1..(row + 4).min(times_s.len())).unwrap_or_default();
    next.iter().all(|time| (raw..before).contains(time))
}

/// What a counter may roll over at, s, smallest first.
fn moduli(time: TimeSource) -> Vec<(f64, &'static str)> {
    match time {
        TimeSource::Clock { minutes_first: true, .. } => vec![(3600.0, "60 minutes")],
        TimeSource::Clock { .. } => vec![(DAY_S, "24 hours"), (360_000.0, "100 hours")],
        TimeSource::Count { unit, .. } => {
            let counts = [
                (65_536.0, "2^16 counts"),
                (1e5, "100 000 counts"),
                (1e6, "1 000 000 counts"),
                (2f64.powi(31), "2^31 counts"),
                (2f64.powi(32), "2^32 counts"),
            ];
            let mut all: Vec<(f64, &'static str)> =
                counts.into_iter().map(|(counts, what)| (unit.to_base(counts), what)).collect();
            // A count of microseconds that is written in other units, and a day.
            all.extend([
                (DAY_S, "24 hours"),
                (2f64.powi(32) / 1e6, "2^32 microseconds"),
                (2f64.powi(32) / 1e3, "2^32 milliseconds"),
            ]);
            all.sort_by(|a, b| a.0.total_cmp(&b.0));
            all
        }
        TimeSource::Stamp { .. } | TimeSource::Rows { .. } => Vec::new(),
    }
}

/// The median step forward, and the one that 90 of 100 do not exceed.
fn usual_steps(times_s: &[f64]) -> (Option<f64>, Option<f64>) {
    let every = times_s.len() / SAMPLED_STEPS + 1;
    let mut latest = f64::INFINITY;
    let mut steps = Vec::with_capacity(times_s.len().min(SAMPLED_STEPS));
    for (row, &time) in times_s.iter().enumerate() {
        if time > latest && row % every == 0 {
            steps.push(time - latest);
        }
        latest = if latest.is_finite() { latest.max(time) } else { time };
    }
    if steps.is_empty() {
        return (None, None);
    }
    let last = steps.len() - 1;
    let at = last * 90 / 100;
    let (_, usual, _) = steps.select_nth_unstable_by(at, f64::total_cmp);
    let usual = *usual;
    let (_, median, _) = steps.select_nth_unstable_by(last / 2, f64::total_cmp);
    (Some(*median), Some(usual))
}

/// Stamps coarser than the sampling: several rows share each. They are spread evenly up to the next stamp.
fn spread_coarse(times_s: &mut [f64], notes: &mut Notes<'_>) {
    let steps = times_s.len().saturating_sub(1);
    let same = times_s.windows(2).filter(|pair| pair.first() == pair.last()).count();
    // Now and then a row twice is a duplicate; most rows sharing their stamp is a coarse clock.
    if steps < 8 || same * 10 < steps * 4 {
        return;
    }
    let mut from = 0;
    let mut last = None;
    while from < times_s.len() {
        let time = times_s.get(from).copied().unwrap_or(0.0);
        let count = times_s.iter().skip(from).take_while(|other| **other == time).count();
        let next = times_s.get(from + count).copied().filter(|next| *next > time);
        // After the last stamp, and across a gap, rows follow each other as before.
        let step = match (next, last) {
            (Some(next), Some(usual)) => ((next - time) / count as f64).min(usual * 1.5),
            (Some(next), None) => (next - time) / count as f64,
            (None, usual) => usual.unwrap_or(0.0),
        };
        for (index, row) in (from..from + count).enumerate() {
            if let Some(to) = times_s.get_mut(row) {
                *to = time + index as f64 * step;
            }
        }
        last = Some(step);
        from += count;
    }
    notes.say(
        "note",
        0,
        format!("{} of 100 rows have the same stamp as the row before: the stamps are coarser than the sampling, and the rows are spread evenly between them", same * 100 / steps),
    );
}

fn mark(log: &Log, times_s: &[f64], usual_s: Option<f64>, notes: &mut Notes<'_>) -> Marks {
    let mut marks = Marks::default();
    let limit = usual_s.map_or(f64::INFINITY, |usual| GAP_STEPS * usual);
    let mut latest = f64::NEG_INFINITY;
    let mut longest: Option<(usize, f64)> = None;
    for (row, &time) in times_s.iter().enumerate() {
        if time > latest {
            let step = time - latest;
            if step > limit && latest.is_finite() {
                marks.gap.push(row);
                if longest.is_none_or(|(_, longest)| step > longest) {
                    longest = Some((row, step));
                }
            }
            latest = time;
        } else if time == latest {
            marks.duplicate.push(row);
        } else {
            marks.backward.push(row);
        }
    }
    if let Some((row, step)) = longest {
        let count = marks.gap.rows();
        let what = if count == 1 { "a gap".to_owned() } else { format!("{count} gaps, the longest") };
        notes.say(
            "warning",
            log.line(row),
            format!(
                "{what} of {} ends here; rows come every {} as a rule",
                spoken(step),
                spoken(usual_s.unwrap_or(0.0))
            ),
        );
    }
    for (runs, what) in [
        (&marks.duplicate, "the time of the row before; only the first of them is used"),
        (&marks.backward, "a time before that of an earlier row and not used"),
    ] {
        let Some(first) = runs.iter().next() else { continue };
        let count = runs.rows();
        let have = if count == 1 { "row has" } else { "rows have" };
        notes.say("warning", log.line(first), format!("{count} {have} {what}; the first stands here"));
    }
    marks
}

/// A duration for people.
fn spoken(seconds: f64) -> String {
    let rounded = |value: f64| (value * 100.0).round() / 100.0;
    match seconds {
        s if s < 0.1 => format!("{} ms", rounded(s * 1e3)),
        s if s < 300.0 => format!("{} s", rounded(s)),
        s if s < 18_000.0 => format!("{} min", rounded(s / 60.0)),
        s => format!("{} h", rounded(s / 3600.0)),
    }
}

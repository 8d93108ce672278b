//! What `bench` found, and what it understood of the logs.

use std::fmt::Write;

use bench::run::{ChannelSummary, RunSummary};
use lamp::findings::FindingRemark;

use super::bench_findings::bench_findings;
use super::numbers::{NOTHING, thousands, three_digits};
use super::remarks::{count, remark_lines};
use super::text::{Align, Columns, bold, heading, paragraph};
use crate::bench_answer::Findings;

/// The whole text: what was found, the answer first; each run with its channels; the remarks.
#[must_use]
pub fn bench_runs(lamp: &str, runs: &[RunSummary], found: &Findings, width: usize) -> String {
    let mut out = bold(&format!("{lamp}\n"));
    out += &bench_findings(found, width);
    if !found.plateaus.is_empty() {
        out += &heading("What the logs hold");
    }
    let remarks: Vec<FindingRemark> = runs.iter().flat_map(|run| run.remarks.clone()).collect();
    let read = if runs.len() == 1 { "One run read".to_owned() } else { format!("{} runs read", runs.len()) };
    out += &paragraph(&format!("{read}: {}.", count(&remarks)), width, 2);
    for run in runs {
        out += &heading(&if run.title == run.run {
            run.run.clone()
        } else {
            format!("{}: {}", run.run, run.title)
        });
        out += &paragraph(&run_words(run), width, 2);
        if !run.channels.is_empty() {
            out += "\n";
            out += &channel_table(&run.channels).text(width);
        }
        if let Some(notes) = &run.notes {
            out += "\n";
            out += &paragraph(&format!("Notes: {notes}"), width, 2);
        }
    }
    if !remarks.is_empty() {
        out += &heading("Remarks");
        out += &remark_lines(&remarks, width);
    }
    out
}

fn run_words(run: &RunSummary) -> String {
    let mut words = match &run.variant {
        Some(variant) => format!("Variant {variant}."),
        None => "No variant.".to_owned(),
    };
    let files: Vec<&str> = run.logs.iter().map(|log| log.file.as_str()).collect();
    if run.rows == 0 {
        let _ = write!(
            words,
            " Nothing could be read{}.",
            if files.is_empty() { "" } else { " that can be used" }
        );
        return words;
    }
    let _ = write!(words, " {} rows over {}", thousands(run.rows), spoken(run.span_s));
    if let Some(step_s) = run.step_s {
        let _ = write!(words, ", one every {}", spoken(step_s));
    }
    let _ = write!(words, ", from {}.", files.join(", "));
    match (&run.start, run.start_is_utc) {
        (Some(start), true) => {
            let _ = write!(words, " Begun {start} UTC.");
        }
        (Some(start), false) => {
            let _ = write!(words, " Begun {start} by the logger's clock.");
        }
        (None, _) => words += " When it was begun is not known.",
    }
    if let Some(longest) = run.gaps.iter().max_by(|a, b| a.length_s.total_cmp(&b.length_s)) {
        let gaps = if run.gap_count == 1 {
            "One gap,".to_owned()
        } else {
            format!("{} gaps, the longest", run.gap_count)
        };
        let _ = write!(words, " {gaps} of {} at {}.", spoken(longest.length_s), spoken(longest.from_s));
    }
    for (rows, what) in [
        (run.duplicate_rows, "with the time of the row before"),
        (run.backward_rows, "with a time that runs back"),
    ] {
        if rows > 0 {
            let _ = write!(
                words,
                " {} {} {what}, not used.",
                thousands(rows),
                if rows == 1 { "row" } else { "rows" }
            );
        }
    }
    if run.lost_lines > 0 {
        let lines = if run.lost_lines == 1 { "line" } else { "lines" };
        let _ = write!(words, " {} {lines} left out.", run.lost_lines);
    }
    for (value, what, unit) in [
        (run.ambient_c, "room", "degC"),
        (run.fan_voltage_v, "fan", "V"),
        (run.drive_current_a, "drive", "A"),
    ] {
        if let Some(value) = value {
            let _ = write!(words, " By the sheet: {what} {value} {unit}.");
        }
    }
    if !run.steps.is_empty() {
        let steps: Vec<String> = run
            .steps
            .iter()
            .map(|step| format!("{} A from {}", step.drive_current_a, spoken(step.at_s)))
            .collect();
        let _ = write!(words, " Steps by the sheet: {}.", steps.join(", "));
    }
    words
}

fn channel_table(channels: &[ChannelSummary]) -> Columns {
    let mut table = Columns::new();
    for (head, below, align) in [
        ("column", "", Align::Left),
        ("is", "", Align::Left),
        ("unit", "", Align::Left),
        ("values", "", Align::Right),
        ("missing", "", Align::Right),
        ("out of", "range", Align::Right),
        ("least", "", Align::Right),
        ("mean", "", Align::Right),
        ("largest", "", Align::Right),
    ] {
        table.column(head, below, align);
    }
    let by_law = channels.iter().any(|channel| channel.mean_c.is_some());
    if by_law {
        table.column("by its law", "degC", Align::Right);
    }
    let shown = |value: Option<f64>| value.map_or_else(|| NOTHING.to_owned(), three_digits);
    for channel in channels {
        let is = match &channel.sensor {
            Some(sensor) => sensor.clone(),
            None => channel.is.to_owned(),
        };
        let mut row = vec![
            channel.column.clone(),
            is,
            channel.unit.clone(),
            thousands(channel.values),
            thousands(channel.missing),
            thousands(channel.saturated),
            shown(channel.least),
            shown(channel.mean),
            shown(channel.largest),
        ];
        if by_law {
            row.push(match (channel.least_c, channel.largest_c) {
                (Some(least), Some(largest)) => format!("{least:.1} to {largest:.1}"),
                _ => String::new(),
            });
        }
        table.row(row);
    }
    table
}

/// A duration for people.
fn spoken(seconds: f64) -> String {
    match seconds.abs() {
        s if s < 0.1 => format!("{} ms", three_digits(seconds * 1e3)),
        s if s < 300.0 => format!("{} s", short(seconds)),
        s if s < 7200.0 => format!("{} min", short(seconds / 60.0)),
        _ => format!("{} h", short(seconds / 3600.0)),
    }
}

/// Two decimals at most.
fn short(value: f64) -> String {
    ((value * 100.0).round() / 100.0).to_string()
}

#[cfg(test)]
mod tests {
    use super::spoken;

    #[test]
    fn durations_read_as_one_says_them() {
        for (seconds, text) in
            [(0.0, "0 ms"), (0.02, "20.0 ms"), (1.0, "1 s"), (600.0, "10 min"), (9000.0, "2.5 h")]
        {
            assert_eq!(spoken(seconds), text);
        }
    }
}

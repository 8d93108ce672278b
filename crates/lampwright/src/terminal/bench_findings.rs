//! What the bench test says: the answer, plateaus by variant, what went wrong, variants side by side.

use std::fmt::Write;

use bench::evaluation::PlateauFinding;
use bench::evaluation::comparing::{ComparisonFinding, DifferenceFinding};

use super::numbers::{NOTHING, tenths, with_error};
use super::text::{Align, Columns, heading, paragraph, sentence};
use crate::bench_answer::Findings;

/// The whole text; empty where nothing was found.
#[must_use]
pub fn bench_findings(found: &Findings, width: usize) -> String {
    let mut out = String::new();
    for answer in &found.answers {
        out += &paragraph(answer, width, 2);
    }
    for (variant, sensor) in found.tables() {
        let rows: Vec<&PlateauFinding> = found.plateaus_of(variant, sensor).collect();
        let board = variant.map_or_else(|| "No variant".to_owned(), |name| format!("{name} board"));
        out += &heading(&format!("{board}, {sensor}: what each current settled to"));
        out += &plateau_table(&rows).text(width);
        out += &below_table(&rows, width);
    }
    for comparison in &found.comparisons {
        out += &heading(&format!("{} and {} side by side", comparison.first, comparison.second));
        out += &side_by_side(comparison, width);
    }
    if !found.lamp_off.is_empty() || !found.remarks.is_empty() {
        out += &heading("Before you rely on it");
        for text in found.lamp_off.iter().map(|off| &off.text).chain(&found.remarks) {
            out += "  ";
            out += &paragraph(&sentence(text), width.saturating_sub(2), 4);
        }
    }
    out
}

fn plateau_table(rows: &[&PlateauFinding]) -> Columns {
    let mut table = Columns::new();
    for (head, unit) in
        [("current", "A"), ("sensor", "degC"), ("above room", "K"), ("heat", "W"), ("sensor to room", "K/W")]
    {
        table.column(head, unit, Align::Right);
    }
    table.column("settled", "", Align::Left);
    for row in rows {
        table.row(vec![
            row.drive_current_a.map_or_else(|| NOTHING.to_owned(), |current| format!("{current:.3}")),
            tenths(row.settled_sensor_c),
            doubted(row.rise_k, row.rise_doubt_k()),
            doubted(row.heat_w, row.heat_doubt_w),
            hundredths(row.resistance_k_per_w, row.resistance_doubt_k_per_w),
            settled_words(row),
        ]);
    }
    table
}

fn doubted(value: Option<f64>, doubt: Option<f64>) -> String {
    value.zip(doubt).map_or_else(|| NOTHING.to_owned(), |(value, doubt)| with_error(value, doubt))
}

/// Two decimals; the doubt rounded up, and never nothing.
fn hundredths(value: Option<f64>, doubt: Option<f64>) -> String {
    value.zip(doubt).map_or_else(
        || NOTHING.to_owned(),
        |(value, doubt)| format!("{value:.2} ± {:.2}", ((doubt * 100.0).ceil() / 100.0).max(0.01)),
    )
}

fn settled_words(row: &PlateauFinding) -> String {
    match (row.rise_k, row.minutes_more) {
        (None, _) => "not told".to_owned(),
        (Some(_), _) if row.settled => "yes".to_owned(),
        (Some(_), Some(more)) if more < 1.5 => "needs about a minute more".to_owned(),
        (Some(_), Some(more)) if more < 120.0 => format!("needs about {more:.0} more min"),
        (Some(_), Some(more)) => format!("needs about {:.0} more h", more / 60.0),
        (Some(_), None) => "no end in sight".to_owned(),
    }
}

/// What went wrong and what else there is to say, by current.
fn below_table(rows: &[&PlateauFinding], width: usize) -> String {
    let mut out = String::new();
    for row in rows {
        let at = row.drive_current_a.map_or_else(
            || format!("From {:.0} min", row.from_s / 60.0),
            |current| format!("At {current:.3} A"),
        );
        for anomaly in &row.anomalies {
            out += "  ";
            let text = format!("{at}: {}: {}.", anomaly.kind.to_uppercase(), anomaly.text);
            out += &paragraph(&text, width.saturating_sub(2), 4);
        }
        for remark in &row.remarks {
            out += "  ";
            out += &paragraph(&format!("{at}: {remark}."), width.saturating_sub(2), 4);
        }
    }
    let mut from: Vec<&str> = rows.iter().filter_map(|row| row.heat_from).collect();
    from.sort_unstable();
    from.dedup();
    if !from.is_empty() {
        let source = match from.as_slice() {
            ["measured voltage"] => "the measured voltage less the light by the emitter sheet",
            ["emitter sheet"] => {
                "the emitter sheet's voltage less its light, for no voltage was measured that fits"
            }
            _ => "the measured voltage where it fits, else the emitter sheet's, less the light by the sheet",
        };
        let mut text = String::new();
        let _ = write!(text, "The heat is {source}.");
        out += "  ";
        out += &paragraph(&text, width.saturating_sub(2), 4);
    }
    out
}

fn side_by_side(comparison: &ComparisonFinding, width: usize) -> String {
    let mut out = String::new();
    for text in &comparison.sentences {
        out += &paragraph(&sentence(text), width, 2);
    }
    for (title, rows, by_heat) in [
        ("At equal current", &comparison.at_equal_current, false),
        ("At equal heat", &comparison.at_equal_heat, true),
    ] {
        if rows.is_empty() {
            continue;
        }
        let _ = write!(out, "\n{title}:\n");
        out += &difference_table(comparison, rows, by_heat).text(width);
    }
    out
}

fn difference_table(comparison: &ComparisonFinding, rows: &[DifferenceFinding], by_heat: bool) -> Columns {
    let mut table = Columns::new();
    let (head, unit) = if by_heat { ("heat", "W") } else { ("current", "A") };
    table.column(head, unit, Align::Right);
    table.column(comparison.first.clone(), "K above room", Align::Right);
    table.column(comparison.second.clone(), "K above room", Align::Right);
    table.column(format!("{} is cooler by", comparison.second), "K", Align::Right);
    for row in rows {
        let at = match row.heat_w.filter(|_| by_heat) {
            Some(heat_w) => format!("{heat_w:.1}"),
            None => format!("{:.3}", row.drive_current_a),
        };
        table.row(vec![
            at,
            format!("{:.1}", row.first_rise_k),
            format!("{:.1}", row.second_rise_k),
            with_error(row.difference_k, row.difference_doubt_k),
        ]);
    }
    table
}

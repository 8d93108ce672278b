//! The findings of the bench test as tables for a spreadsheet: RFC 4180, units in the names of the columns, numbers with all their
//! digits and a decimal point, empty where there is none.

use bench::evaluation::PlateauFinding;
use bench::evaluation::comparing::{ComparisonFinding, DifferenceFinding};

use super::Findings;

/// File of the plateaus.
pub const PLATEAUS: &str = "plateaus.csv";
/// File of the comparisons.
pub const COMPARISON: &str = "comparison.csv";

/// A column of the table of plateaus; the names are the JSON's keys.
type Column = (&'static str, fn(&PlateauFinding) -> String);

const COLUMNS: &[Column] = &[
    ("run", |one| quoted(&one.run)),
    ("variant", |one| quoted(one.variant.as_deref().unwrap_or_default())),
    ("sensor", |one| quoted(&one.sensor)),
    ("drive_current_a", |one| number(one.drive_current_a)),
    ("from_s", |one| one.from_s.to_string()),
    ("to_s", |one| one.to_s.to_string()),
    ("used_from_s", |one| one.used_from_s.to_string()),
    ("used_to_s", |one| one.used_to_s.to_string()),
    ("ambient_c", |one| number(one.ambient_c)),
    ("settled_sensor_c", |one| number(one.settled_sensor_c)),
    ("rise_k", |one| number(one.rise_k)),
    ("rise_low_k", |one| number(one.rise_low_k)),
    ("rise_high_k", |one| number(one.rise_high_k)),
    ("rise_standard_k", |one| number(one.rise_standard_k)),
    ("remaining_k", |one| number(one.remaining_k)),
    ("settled", |one| one.settled.to_string()),
    ("time_constants_s", |one| list(&one.time_constants_s)),
    ("noise_k", |one| number(one.noise_k)),
    ("minutes_more", |one| number(one.minutes_more)),
    ("heat_w", |one| number(one.heat_w)),
    ("heat_doubt_w", |one| number(one.heat_doubt_w)),
    ("heat_from", |one| one.heat_from.unwrap_or_default().to_owned()),
    ("resistance_k_per_w", |one| number(one.resistance_k_per_w)),
    ("resistance_doubt_k_per_w", |one| number(one.resistance_doubt_k_per_w)),
    ("above_board_limit", |one| one.above_board_limit.to_string()),
    ("anomalies", |one| {
        let told: Vec<String> = one.anomalies.iter().map(|a| format!("{} at {} s", a.kind, a.at_s)).collect();
        quoted(&told.join("; "))
    }),
];

/// A line for each plateau.
#[must_use]
pub fn plateaus(found: &Findings) -> String {
    let head: Vec<&str> = COLUMNS.iter().map(|(name, _)| *name).collect();
    let rows = found.plateaus.iter().map(|one| COLUMNS.iter().map(|(_, cell)| cell(one)).collect());
    table(&head, rows)
}

/// A line for each difference: at equal current, then at equal heat.
#[must_use]
pub fn comparison(found: &Findings) -> String {
    let head = [
        "sensor",
        "first",
        "second",
        "equal",
        "drive_current_a",
        "heat_w",
        "first_rise_k",
        "second_rise_k",
        "difference_k",
        "difference_doubt_k",
    ];
    let rows = found.comparisons.iter().flat_map(|pair| {
        let of = |equal: &'static str, all: &[DifferenceFinding]| -> Vec<Vec<String>> {
            all.iter().map(|one| difference(pair, equal, one)).collect()
        };
        [of("current", &pair.at_equal_current), of("heat", &pair.at_equal_heat)].concat()
    });
    table(&head, rows)
}

fn difference(pair: &ComparisonFinding, equal: &str, one: &DifferenceFinding) -> Vec<String> {
    vec![
        quoted(&pair.sensor),
        quoted(&pair.first),
        quoted(&pair.second),
        equal.to_owned(),
        one.drive_current_a.to_string(),
        number(one.heat_w),
        one.first_rise_k.to_string(),
        one.second_rise_k.to_string(),
        one.difference_k.to_string(),
        one.difference_doubt_k.to_string(),
    ]
}

fn table(head: &[&str], rows: impl Iterator<Item = Vec<String>>) -> String {
    let mut out = head.join(",") + "\n";
    for row in rows {
        out += &row.join(",");
        out.push('\n');
    }
    out
}

fn number(value: Option<f64>) -> String {
    value.map(|value| value.to_string()).unwrap_or_default()
}

/// Several numbers in one field, blanks between.
fn list(values: &[f64]) -> String {
    let words: Vec<String> = values.iter().map(f64::to_string).collect();
    words.join(" ")
}

/// A text as a CSV field.
#[must_use]
pub fn quoted(text: &str) -> String {
    if text.contains([',', '"', '\n', '\r']) {
        format!("\"{}\"", text.replace('"', "\"\""))
    } else {
        text.to_owned()
    }
}

//! The way of the heat drawn as stairs: each step as long as the kelvins lost on it, beginning where the last one ended.

use std::fmt::Write;

use lamp::findings::{EmitterFinding, HeatStep};

use super::text::{bold, faint, paragraph};

/// Columns that the words beside a step take.
const BESIDE: usize = 24;
const LONGEST: usize = 64;
/// Filled part of a character, in eighths.
const EIGHTHS: [&str; 8] = ["", "▏", "▎", "▍", "▌", "▋", "▊", "▉"];

/// The stairs of one emitter, from junction down to the room.
#[must_use]
pub fn staircase(emitter: &EmitterFinding, width: usize) -> String {
    let (Some(first), Some(last)) = (emitter.heat_path.first(), emitter.heat_path.last()) else {
        return String::new();
    };
    let whole_k = first.from_c - last.to_c;
    let title = format!(
        "The way of the heat from {}: {:.1} K from {} ({:.1} degC) to {} ({:.1} degC)",
        emitter.reference, whole_k, first.from, first.from_c, last.to, last.to_c
    );
    let mut out = bold(&paragraph(&title, width, 2));
    let length = width.saturating_sub(BESIDE).clamp(8, LONGEST);
    for step in &emitter.heat_path {
        let bar = bar(first.from_c - step.from_c, step.drop_k, whole_k, length);
        let _ = writeln!(out, "  {:<11}{:>6.1} K   {bar}", step.step, step.drop_k);
    }
    for step in largest_two(&emitter.heat_path) {
        let said = format!(
            "{}, {} to {}, {:.1} K. Lowered by: {}",
            step.step, step.from, step.to, step.drop_k, step.lowered_by
        );
        let _ = write!(out, "  {}", faint(&paragraph(&said, width.saturating_sub(2), 4)));
    }
    out
}

fn largest_two(path: &[HeatStep]) -> Vec<&HeatStep> {
    let mut sorted: Vec<&HeatStep> = path.iter().collect();
    sorted.sort_by(|a, b| b.drop_k.total_cmp(&a.drop_k));
    sorted.truncate(2);
    sorted
}

/// A bar that begins after `lost_k` and is `drop_k` long, both as parts of `whole_k` on `length` characters.
fn bar(lost_k: f64, drop_k: f64, whole_k: f64, length: usize) -> String {
    let usable = whole_k > 0.0 && lost_k.is_finite() && drop_k.is_finite();
    if !usable {
        return String::new();
    }
    #[expect(clippy::cast_precision_loss, reason = "a terminal's width")]
    let eighths = 8.0 * length as f64 / whole_k;
    let place = |kelvin: f64| -> usize {
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "clamped to the terminal's width"
        )]
        let at = (kelvin * eighths).round().clamp(0.0, 8.0 * LONGEST as f64) as usize;
        at
    };
    let (begin, end) = (place(lost_k), place(lost_k + drop_k));
    // A bar begins at a whole character; what it is shifted by there is less than one.
    let (space, filled) = (begin / 8, end.saturating_sub(begin / 8 * 8));
    let rest = EIGHTHS.get(filled % 8).copied().unwrap_or_default();
    format!("{}{}{rest}", " ".repeat(space), "█".repeat(filled / 8))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bar_begins_where_the_last_one_ended_and_is_as_long_as_its_kelvins() {
        assert_eq!(bar(0.0, 10.0, 40.0, 16), "████");
        assert_eq!(bar(10.0, 30.0, 40.0, 16), "    ████████████");
        assert_eq!(bar(20.0, 1.25, 40.0, 16), "        ▌");
    }

    #[test]
    fn odd_numbers_draw_nothing_and_harm_nothing() {
        assert_eq!(bar(0.0, f64::NAN, 40.0, 16), "");
        assert_eq!(bar(0.0, 1.0, 0.0, 16), "");
        assert!(bar(0.0, 1e9, 1.0, 16).chars().count() <= LONGEST);
    }
}

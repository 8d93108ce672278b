//! Several files of one run, one behind the other.

use lamp::findings::FindingRemark;

use super::timing::GAP_STEPS;
use super::{Channel, Recording};
use crate::log::Runs;

/// Joins the recordings of one run: in the order of their starts where all have one, else as they were named.
///
/// Channels are matched by name; one that a file lacks is missing there. Without starts a file is put right behind the
/// one before, as after a gap, and that is told.
#[must_use]
pub fn join(parts: Vec<(String, Recording)>) -> (Option<Recording>, Vec<FindingRemark>) {
    let mut remarks = Vec::new();
    let mut say = |file: &str, severity, text: String| {
        remarks.push(FindingRemark { severity, file: Some(file.to_owned()), line: None, column: None, text });
    };
    let mut parts = parts;
    let dated = parts.iter().filter(|(_, part)| part.start.is_some()).count();
    let by_start = dated == parts.len();
    let mixed = parts.iter().any(|(_, part)| {
        part.start.map(|start| start.utc)
            != parts.first().and_then(|(_, first)| first.start.map(|start| start.utc))
    });
    if by_start && !mixed {
        let seconds = |part: &(String, Recording)| part.1.start.map_or(0.0, |start| start.seconds);
        parts.sort_by(|a, b| seconds(a).total_cmp(&seconds(b)));
    }
    let mut rest = parts.into_iter();
    let Some((_, mut whole)) = rest.next() else { return (None, remarks) };
    for (file, part) in rest {
        let step = whole.step_s.or(part.step_s).unwrap_or(0.0);
        let told_pause = whole.start.is_some() && part.start.is_some();
        let shift = match (whole.start, part.start) {
            (Some(first), Some(next)) if first.utc == next.utc => next.seconds - first.seconds,
            (Some(_), Some(_)) => {
                say(&file, "error", "its stamps have a zone and those of the other files have none, or the other way round; write zone = \"+01:00\" in [time]".to_owned());
                continue;
            }
            _ => {
                say(&file, "warning", "nothing tells how long after the file before it began; it is put right behind, as after a gap".to_owned());
                whole.span_s() + step
            }
        };
        let overlap = shift < whole.span_s();
        if overlap {
            say(
                &file,
                "warning",
                format!(
                    "begins {} s before the file before it ends; rows that lie before its end are not used",
                    rounded(whole.span_s() - shift)
                ),
            );
        }
        append(&mut whole, part, shift, told_pause);
    }
    (Some(whole), remarks)
}

fn rounded(value: f64) -> f64 {
    (value * 10.0).round() / 10.0
}

/// Puts a part behind; where nothing tells the pause, its first row is one after a gap.
fn append(whole: &mut Recording, part: Recording, shift: f64, told_pause: bool) {
    let offset = whole.rows();
    let count = part.rows();
    let latest = whole.span_s();
    whole.times_s.extend(part.times_s.iter().map(|time| time + shift));
    for channel in &part.channels {
        if whole.channel(&channel.name).is_none() {
            whole.channels.push(Channel {
                name: channel.name.clone(),
                unit: channel.unit,
                values: vec![f64::NAN; offset],
                saturated: Runs::default(),
            });
        }
    }
    for channel in &mut whole.channels {
        match part.channels.iter().find(|other| other.name == channel.name) {
            Some(other) => {
                channel.values.extend_from_slice(&other.values);
                channel.saturated.append(&other.saturated, offset);
            }
            None => channel.values.resize(offset + count, f64::NAN),
        }
    }
    // Rows that lie before the end of the file before are backward, whatever they were in their own.
    let over = |row: usize| whole.times_s.get(row + offset).is_some_and(|time| *time <= latest);
    let backward: Runs = (0..count).filter(|row| part.marks.backward.contains(*row) || over(*row)).collect();
    let duplicate: Runs = part.marks.duplicate.iter().filter(|row| !over(*row)).collect();
    let mut gap: Runs = Runs::default();
    let first = (0..count).find(|row| !over(*row));
    if let Some(first) = first {
        let step = whole.step_s.or(part.step_s).unwrap_or(f64::INFINITY);
        let behind = whole.times_s.get(first + offset).map_or(0.0, |time| time - latest);
        if !told_pause || behind > GAP_STEPS * step {
            gap.push(first);
        }
        part.marks.gap.iter().filter(|row| *row > first).for_each(|row| gap.push(row));
    }
    whole.marks.backward.append(&backward, offset);
    whole.marks.duplicate.append(&duplicate, offset);
    whole.marks.gap.append(&gap, offset);
    whole.step_s = whole.step_s.or(part.step_s);
    whole.lost_lines += part.lost_lines;
}

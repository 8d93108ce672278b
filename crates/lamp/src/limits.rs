//! Limits and how far a run is from them.

use crate::as_built::{Lamp, Variant};
use crate::findings::{EmitterFinding, LimitFinding};

/// Limits of one run, smallest margin first within each unit's kind: temperatures and current sorted together by margin.
pub(crate) fn limits(
    lamp: &Lamp,
    variant: &Variant,
    emitters: &[EmitterFinding],
    hottest_board_c: Option<f64>,
) -> Vec<LimitFinding> {
    let mut all = Vec::new();
    worst_and_over(&mut all, "junction", emitters, |e| Some((e.junction_c?, e.junction_limit_c)));
    let solder_limit = |index: usize| -> Option<f64> {
        let of_sheet = variant.emitters.get(index).and_then(|e| e.sheet.solder_limit_c);
        [of_sheet, lamp.solder_limit_c].into_iter().flatten().reduce(f64::min)
    };
    let mut index = 0;
    worst_and_over(&mut all, "solder point", emitters, |e| {
        index += 1;
        Some((e.solder_c?, solder_limit(index - 1)?))
    });
    if let (Some(found), Some(limit)) = (hottest_board_c, lamp.board_limit_c) {
        all.push(temperature("board".into(), found, limit));
    }
    if let Some(current) = tightest_current(variant, emitters) {
        all.push(current);
    }
    all.sort_by(|a, b| a.margin.total_cmp(&b.margin));
    all
}

fn temperature(what: String, found: f64, limit: f64) -> LimitFinding {
    LimitFinding { what, unit: "degC", found, limit, margin: limit - found }
}

/// The emitter with the least margin, and every other that is over its limit.
fn worst_and_over(
    all: &mut Vec<LimitFinding>,
    what: &str,
    emitters: &[EmitterFinding],
    mut found_and_limit: impl FnMut(&EmitterFinding) -> Option<(f64, f64)>,
) {
    let mut rows: Vec<LimitFinding> = emitters
        .iter()
        .filter_map(|e| {
            let (found, limit) = found_and_limit(e)?;
            Some(temperature(format!("{what} of {}", e.reference), found, limit))
        })
        .collect();
    rows.sort_by(|a, b| a.margin.total_cmp(&b.margin));
    all.extend(
        rows.into_iter().enumerate().filter(|(k, row)| *k == 0 || row.margin < 0.0).map(|(_, row)| row),
    );
}

fn tightest_current(variant: &Variant, emitters: &[EmitterFinding]) -> Option<LimitFinding> {
    let margin = |(e, placed): (&EmitterFinding, &crate::as_built::PlacedEmitter)| {
        let limit = placed.sheet.current_limit_a;
        LimitFinding {
            what: format!("current of {}", e.reference),
            unit: "A",
            found: e.current_a,
            limit,
            margin: limit - e.current_a,
        }
    };
    emitters.iter().zip(&variant.emitters).map(margin).min_by(|a, b| a.margin.total_cmp(&b.margin))
}

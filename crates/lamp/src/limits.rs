//! Limits and how far a run is from them.

use crate::as_built::{Lamp, Variant};
use crate::findings::{
    CopperFinding, EmitterFinding, LimitFinding, SharingFinding, SharingWorstFinding, SupplyFinding,
};

/// Limits of one run: what is over its limit first, then temperatures, currents, voltages; of each unit the smallest margin first, for
/// kelvins, amperes and volts cannot be compared.
pub(crate) fn limits(
    lamp: &Lamp,
    variant: &Variant,
    emitters: &[EmitterFinding],
    hottest_board_c: Option<f64>,
    (copper, sharing): (&Option<CopperFinding>, &Option<SharingFinding>),
) -> Vec<LimitFinding> {
    let mut all = Vec::new();
    worst_and_over(&mut all, "junction", emitters, |e| Some((e.junction_c?, e.junction_limit_c)));
    let solder_limit = |index: usize| variant.emitters.get(index)?.solder_limit_c(lamp);
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
    all.extend(sharing.iter().flat_map(worst_cases));
    all.extend(copper.iter().flat_map(|copper| &copper.supplies).flat_map(driver_range));
    in_order(&mut all);
    all
}

/// What is over its limit first, then by unit and margin.
fn in_order(all: &mut [LimitFinding]) {
    let unit = |limit: &LimitFinding| ["degC", "A", "V"].iter().position(|unit| *unit == limit.unit);
    let keeps = |limit: &LimitFinding| limit.margin >= 0.0;
    all.sort_by(|a, b| {
        let order = keeps(a).cmp(&keeps(b)).then(unit(a).cmp(&unit(b)));
        order.then(a.margin.total_cmp(&b.margin))
    });
}

/// The emitters of the worst case of the voltage tolerance that come nearest to their limits.
fn worst_cases(sharing: &SharingFinding) -> Vec<LimitFinding> {
    let cases = || sharing.groups.iter().filter_map(|group| group.worst.as_ref());
    let current = |worst: &SharingWorstFinding| LimitFinding {
        what: format!("worst-case current of {}", worst.emitter),
        unit: "A",
        found: worst.emitter_a,
        limit: worst.emitter_limit_a,
        margin: worst.emitter_limit_a - worst.emitter_a,
    };
    let junction = |worst: &SharingWorstFinding| {
        let what = format!("worst-case junction of {}", worst.hottest_emitter.as_ref()?);
        Some(temperature(what, worst.hottest_junction_c?, worst.junction_limit_c?))
    };
    let tightest = |a: LimitFinding, b: LimitFinding| if b.margin < a.margin { b } else { a };
    let rows = [cases().map(current).reduce(tightest), cases().filter_map(junction).reduce(tightest)];
    rows.into_iter().flatten().collect()
}

/// The range of a driver's voltage, where it is stated.
fn driver_range(supply: &SupplyFinding) -> Vec<LimitFinding> {
    let row = |what: &str, found: Option<f64>, limit: Option<f64>, margin: Option<f64>| {
        Some(LimitFinding {
            what: format!("{what} of supply {}", supply.name),
            unit: "V",
            found: found?,
            limit: limit?,
            margin: margin?,
        })
    };
    let most = supply.voltage_most_v;
    let rows = [
        row("driver voltage at a cold start", supply.cold_high_v, most, supply.cold_headroom_v),
        row("driver voltage, warm,", supply.driver_high_v, most, supply.headroom_v),
        row(
            "least driver voltage, warm,",
            supply.driver_low_v,
            supply.voltage_least_v,
            supply.least_headroom_v,
        ),
    ];
    rows.into_iter().flatten().collect()
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_ampere_left_does_not_come_before_kelvins_left_but_what_is_over_does() {
        let row = |what: &str, unit: &'static str, limit: f64, margin: f64| LimitFinding {
            what: what.to_owned(),
            unit,
            found: limit - margin,
            limit,
            margin,
        };
        let mut all = vec![
            row("volts", "V", 48.0, 0.5),
            row("current", "A", 2.0, 0.95),
            row("junction", "degC", 150.0, 69.6),
            row("board", "degC", 105.0, 28.1),
            row("cold start", "V", 12.0, -0.2),
        ];
        in_order(&mut all);
        let found: Vec<&str> = all.iter().map(|limit| limit.what.as_str()).collect();
        assert_eq!(found, ["cold start", "board", "junction", "current", "volts"]);
    }
}

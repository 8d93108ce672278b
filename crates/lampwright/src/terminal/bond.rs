//! The bond line as built, as a maker reads it.

use lamp::findings::{BondFinding, Run};

use super::numbers::three_digits;
use super::text::{bold, paragraph};

/// A bond line's section; empty for an even film of exactly known thickness, of which there is nothing to say.
pub fn bond_section(bond: &BondFinding, run: &Run, width: usize) -> String {
    let lines = bond_words(bond, run);
    if lines.is_empty() {
        return String::new();
    }
    let mut out = format!("\n{}", bold("Bond line\n"));
    for line in lines {
        out += &paragraph(&line, width, 2);
    }
    out
}

fn bond_words(bond: &BondFinding, run: &Run) -> Vec<String> {
    let mut lines = Vec::new();
    let whole = bond.part_contact > 0.9995;
    let place = |at: Option<[f64; 2]>| at.map_or_else(String::new, |[x, y]| format!(" at {x:.1}, {y:.1} mm"));
    if let (Some(mean), Some(least), Some(greatest)) = (bond.mean_um, bond.least_um, bond.greatest_um) {
        if greatest - least > 0.5 {
            lines.push(format!(
                "The {} is {} um thick in the mean, from {} um{} to {} um{}.",
                bond.kind,
                format_args!("{:.0}", mean),
                format_args!("{:.0}", least),
                place(bond.least_at_mm),
                format_args!("{:.0}", greatest),
                place(bond.greatest_at_mm)
            ));
        } else if !whole {
            lines.push(format!("The {} is {} um thick.", bond.kind, format_args!("{:.0}", mean)));
        }
    }
    if !whole {
        let percent = |part: f64| format!("{:.0} %", 100.0 * part);
        let mut parts =
            vec![format!("{} in contact at the film's least thickness", percent(bond.part_contact))];
        for (part, words) in [
            (bond.part_filled, "wider and filled"),
            (bond.part_air, "wider than is filled, with air"),
            (bond.part_untouched, "without film"),
        ] {
            if part > 0.0005 {
                parts.push(format!("{} {words}", percent(part)));
            }
        }
        lines.push(format!("Of {:.0} mm2 between board and heatsink: {}.", bond.area_mm2, parts.join(", ")));
    }
    let hottest = run.hottest_emitter.as_ref().map_or_else(
        || "the hottest place of the board".to_owned(),
        |name| format!("the hottest junction, {name}"),
    );
    let mut costs = Vec::new();
    for (cost, what) in [(bond.burrs_cost_k, "The burrs cost"), (bond.bow_costs_k, "the bow costs")] {
        if let Some(cost) = cost {
            costs.push(format!("{what} {cost:.1} K"));
        }
    }
    if !costs.is_empty() {
        let mut said = costs.join(", ");
        if let Some(first) = said.get_mut(..1) {
            first.make_ascii_uppercase();
        }
        let more = if bond.burrs_cost_k.is_some() {
            " Deburr the holes on the board's back before you mount it."
        } else {
            ""
        };
        lines.push(format!("{said} at {hottest}.{more}"));
    }
    if let Some(doubt) = bond.doubt_k {
        lines.push(format!(
            "By the film's tolerance its resistance is {} to {} m2K/W: up to {doubt:.1} K more at {hottest}.",
            three_digits(bond.least_resistance_m2k_per_w),
            three_digits(bond.greatest_resistance_m2k_per_w)
        ));
    }
    if let Some(pull) = bond.screw_pull_n.filter(|pull| *pull > 1.0) {
        lines.push(format!("To hold the board so, a screw must pull with {pull:.0} N."));
    }
    lines.extend(bond.remarks.iter().map(|remark| {
        let mut said = format!("{remark}.");
        if let Some(first) = said.get_mut(..1) {
            first.make_ascii_uppercase();
        }
        said
    }));
    lines
}

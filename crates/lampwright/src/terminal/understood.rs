//! What `check` understood of a lamp.

use std::fmt::Write;

use lamp::project::circuit_summary::CircuitSummary;
use lamp::project::summary::{BondSummary, EmitterSummary, HeatsinkSummary, LayerSummary, VariantSummary};
use lamp::project::{CheckSummary, Reading};

use super::numbers::three_digits;
use super::remarks::{count, remark_lines};
use super::text::{Align, Columns, bold, heading, paragraph};

/// The whole text: whether the lamp can be predicted, what was understood, and the remarks.
#[must_use]
pub fn understood(reading: &Reading, width: usize) -> String {
    let summary = &reading.understood;
    let mut out = bold(&format!("{}\n", summary.lamp));
    let verdict = if reading.has_errors() { "cannot be predicted" } else { "can be predicted" };
    out += &paragraph(&format!("This lamp {verdict}: {}.", count(&reading.remarks)), width, 2);
    out += "\n";
    out += &paragraph(&lamp_words(summary), width, 2);
    for variant in &summary.variants {
        out += &heading(&format!("{}: {}", variant.variant, variant.title));
        out += &section(variant, width);
    }
    if !reading.remarks.is_empty() {
        out += &heading("Remarks");
        out += &remark_lines(&reading.remarks, width);
    }
    out
}

fn lamp_words(summary: &CheckSummary) -> String {
    let mut words = format!("Room {} degC.", summary.ambient_c);
    if summary.nominal_current_a > 0.0 {
        let currents: Vec<String> = summary.currents_a.iter().map(f64::to_string).collect();
        let _ = write!(
            words,
            " Drive {} A {}; nominal {} A.",
            currents.join(", "),
            if summary.drive_per == "lamp" { "for the lamp" } else { "a string" },
            summary.nominal_current_a
        );
    }
    for sensor in &summary.sensors {
        let on = if sensor.on == "heatsink" { " on the heatsink" } else { "" };
        let _ = write!(words, " Sensor {}{on} at {}.", sensor.name, place(sensor.at_mm));
    }
    words
}

fn section(variant: &VariantSummary, width: usize) -> String {
    let files = |artwork| format!("\n{}", super::fabrication::files(artwork, width));
    if !variant.is_understood {
        let words =
            "This variant was not understood: the errors under Remarks say why. Mend them and check again.";
        return paragraph(words, width, 2) + &variant.artwork.as_ref().map(files).unwrap_or_default();
    }
    let mut out = paragraph(
        &format!(
            "Board of {} mm2 less cut-outs; {} plated and {} unplated holes and slots.",
            three_digits(variant.outline_area_mm2),
            variant.plated_bores,
            variant.unplated_bores
        ),
        width,
        2,
    );
    if !variant.layers.is_empty() {
        out += "\n";
        out += &layer_table(&variant.layers).text(width);
    }
    if !variant.emitters.is_empty() {
        out += "\n";
        out += &emitter_table(&variant.emitters).text(width);
    }
    out += "\n";
    if let Some(circuit) = &variant.circuit {
        for words in circuit_words(circuit) {
            out += &paragraph(&words, width, 2);
        }
    }
    for patch in &variant.heat_patches {
        let words = format!(
            "Heat patch {}: {} W on {} mm2.",
            patch.name,
            three_digits(patch.heat_w),
            three_digits(patch.area_mm2)
        );
        out += &paragraph(&words, width, 2);
    }
    out += &paragraph(&cooling_words(variant), width, 2);
    out += &variant.artwork.as_ref().map(files).unwrap_or_default();
    out
}

/// A line for each string, and one for each group of branches that share a current.
fn circuit_words(circuit: &CircuitSummary) -> Vec<String> {
    let mut lines = Vec::new();
    for string in &circuit.strings {
        let supply = circuit.supplies.iter().find(|supply| supply.name == string.supply);
        let pads = supply
            .map_or_else(String::new, |supply| format!(", from {} to {}", supply.plus.pad, supply.minus.pad));
        lines.push(format!("String {}: {}{pads}.", string.name, string.layout));
    }
    for group in &circuit.parallel_groups {
        lines.push(format!(
            "Side by side: {}. The largest current is {:.1} % above their mean by the sheets, {:.1} % ({} A through an emitter) with one branch at the low edge of the voltage tolerance and the others at the high.",
            group.branches.join(" | "),
            group.imbalance_percent,
            group.worst_imbalance_percent,
            three_digits(group.worst_emitter_a)
        ));
    }
    if circuit.strings.is_empty() {
        lines.push("No string leads from a + pad to a - pad.".to_owned());
    } else if !circuit.unlit.is_empty() {
        lines.push(format!("In no string: {}.", circuit.unlit.join(", ")));
    }
    lines
}

fn cooling_words(variant: &VariantSummary) -> String {
    let bond = variant.bond.as_ref().map_or_else(|| "No bond line.".to_owned(), bond_words);
    let heatsink = variant.heatsink.as_ref().map_or_else(|| "No heatsink.".to_owned(), heatsink_words);
    let (top, bottom) = (&variant.top_face, &variant.bottom_face);
    if top == bottom {
        return format!("{bond} {heatsink} Emitter side, and back where no heatsink covers it: {top}.");
    }
    format!("{bond} {heatsink} Emitter side: {top}. Back where no heatsink covers it: {bottom}.")
}

fn bond_words(bond: &BondSummary) -> String {
    let made_of = match (bond.thickness_um, bond.conductivity_w_per_m_k) {
        (Some(thickness), Some(conductivity)) => {
            format!("{} um of {} W/m/K, ", three_digits(thickness), three_digits(conductivity))
        }
        _ => String::new(),
    };
    let mut words = format!("Bond line: {made_of}{} m2K/W.", three_digits(bond.resistance_m2k_per_w));
    let several = |count: usize, one: &str| format!("{count} {one}{}", if count == 1 { "" } else { "s" });
    if bond.pedestals > 0 {
        words += &format!(" The base touches on {} only.", several(bond.pedestals, "pedestal"));
    }
    if bond.regions > 0 {
        words += &format!(" {} of the bond line with a value of their own.", several(bond.regions, "place"));
    }
    if let Some(material) = bond.screw_material {
        let places: Vec<String> = bond.screws.iter().map(|at| place(*at)).collect();
        words +=
            &format!(" {}: {}.", several(bond.screws.len(), &format!("{material} screw")), places.join("; "));
    }
    if bond.burrs > 0 {
        words +=
            &format!(" Burrs of {} um around {}.", three_digits(bond.burr_um), several(bond.burrs, "hole"));
    }
    for (what, bow_um) in [("board", bond.board_bow_um), ("heatsink", bond.heatsink_bow_um)] {
        if bow_um != 0.0 {
            let which = if bow_um > 0.0 { "in the middle" } else { "at its ends" };
            words +=
                &format!(" The {what} alone stands off {} um {which} (bow).", three_digits(bow_um.abs()));
        }
    }
    words
}

fn heatsink_words(heatsink: &HeatsinkSummary) -> String {
    let [x, y, thickness] = heatsink.base_mm;
    let cooled = match (heatsink.resistance_k_per_w, heatsink.h_w_per_m2_k) {
        _ if heatsink.air_side.is_some() => heatsink.air_side.clone().unwrap_or_default(),
        (Some(resistance), _) => format!("{resistance} K/W from its back to the room"),
        (None, Some(h)) => format!("{h} W/m2/K over its back"),
        (None, None) => "nothing at its back".to_owned(),
    };
    format!("Heatsink base: {x} x {y} x {thickness} mm of {}, {cooled}.", heatsink.material)
}

fn layer_table(layers: &[LayerSummary]) -> Columns {
    let mut table = Columns::new();
    table.column("layer", "", Align::Left);
    table.column("thickness", "um", Align::Right);
    table.column("substance", "", Align::Left);
    table.column("in plane", "W/m/K", Align::Right);
    table.column("through", "W/m/K", Align::Right);
    table.column("area", "mm2", Align::Right);
    for layer in layers {
        let (x, y) = (layer.kx_w_per_m_k, layer.ky_w_per_m_k);
        let in_plane =
            if x == y { three_digits(x) } else { format!("{}, {}", three_digits(x), three_digits(y)) };
        table.row(vec![
            layer.name.clone(),
            three_digits(layer.thickness_um),
            layer.material.clone(),
            in_plane,
            three_digits(layer.kz_w_per_m_k),
            three_digits(layer.area_mm2),
        ]);
    }
    table
}

fn emitter_table(emitters: &[EmitterSummary]) -> Columns {
    let mut table = Columns::new();
    table.column("emitter", "", Align::Left);
    table.column("sheet", "", Align::Left);
    table.column("x", "mm", Align::Right);
    table.column("y", "mm", Align::Right);
    table.column("rotation", "deg", Align::Right);
    table.column("copper under its land", "mm2", Align::Right);
    for emitter in emitters {
        let [x, y] = emitter.at_mm;
        table.row(vec![
            emitter.reference.clone(),
            emitter.sheet.clone(),
            format!("{x:.2}"),
            format!("{y:.2}"),
            emitter.rotation_deg.to_string(),
            format!("{:.2}", emitter.thermal_land_mm2),
        ]);
    }
    table
}

fn place(at_mm: [f64; 2]) -> String {
    format!("{}, {} mm", at_mm[0], at_mm[1])
}

#[cfg(test)]
mod tests {
    use lamp::project::circuit_summary::{
        CircuitSummary, GroupSummary, PadSummary, StringSummary, SupplySummary,
    };

    #[test]
    fn strings_have_a_line_each_and_groups_one() {
        let pad = |pad: &str| PadSummary { pad: pad.to_owned(), net: "n".to_owned(), at_mm: None };
        let mut circuit = CircuitSummary {
            supplies: vec![SupplySummary {
                name: "A".to_owned(),
                plus: pad("J2.1"),
                minus: pad("J2.2"),
                lead: None,
            }],
            strings: vec![StringSummary {
                name: "A".to_owned(),
                supply: "A".to_owned(),
                refs: ["D1", "D2", "D3"].map(str::to_owned).to_vec(),
                layout: "D1, (D2 | D3)".to_owned(),
            }],
            parallel_groups: vec![GroupSummary {
                branches: ["D2", "D3"].map(str::to_owned).to_vec(),
                imbalance_percent: 0.0,
                worst_imbalance_percent: 46.21,
                worst_emitter_a: 0.5118,
            }],
            unlit: vec!["D4".to_owned()],
        };
        let lines = super::circuit_words(&circuit);
        assert_eq!(lines[0], "String A: D1, (D2 | D3), from J2.1 to J2.2.");
        assert!(
            lines[1].starts_with("Side by side: D2 | D3. The largest current is 0.0 % above"),
            "{lines:?}"
        );
        assert!(lines[1].contains("46.2 % (0.512 A through an emitter)"), "{lines:?}");
        assert_eq!(lines[2], "In no string: D4.");
        circuit.strings.clear();
        circuit.parallel_groups.clear();
        assert_eq!(super::circuit_words(&circuit), ["No string leads from a + pad to a - pad."]);
    }
}

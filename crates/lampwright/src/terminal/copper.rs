//! The current in the copper as a maker reads it: loss, voltages, the tightest place.

use std::fmt::Write;

use lamp::findings::{CopperFinding, NeckFinding, StringFinding};

use super::numbers::{NOTHING, three_digits};
use super::text::{Align, Columns, bold, paragraph};

/// The part of a variant's section about its copper.
pub fn copper_section(copper: &CopperFinding, current_a: f64, width: usize) -> String {
    let mut out = format!("\n{}", bold(&format!("Copper at {current_a} A\n")));
    let mut said = format!(
        "The board's copper loses {} W, {} % of the electrical power",
        three_digits(copper.loss_w),
        three_digits(100.0 * copper.part_of_electrical)
    );
    if copper.leads_w > 0.0 {
        let _ = write!(said, "; the leads lose {} W", three_digits(copper.leads_w));
    }
    if let Some(island) = copper.islands.first() {
        let _ = write!(
            said,
            ". Most of it in {} ({}): {} W",
            island.net,
            island.layer,
            three_digits(island.loss_w)
        );
    }
    out += &paragraph(&(said + "."), width, 2);
    if !copper.strings.is_empty() {
        out += &string_table(&copper.strings).text(width);
    }
    if let Some(neck) = copper.necks.first() {
        out += &paragraph(&neck_words(neck), width, 2);
    }
    for remark in &copper.remarks {
        out += &paragraph(&format!("- {remark}"), width, 2);
    }
    out
}

fn string_table(strings: &[StringFinding]) -> Columns {
    let mut table = Columns::new();
    table.column("string", "", Align::Left);
    table.column("current", "A", Align::Right);
    for head in ["drop in copper", "in leads", "emitters", "driver, settled", "driver, cold"] {
        table.column(head, "V", Align::Right);
    }
    let volts = |value: Option<f64>, decimals: usize| {
        value.map_or_else(|| NOTHING.to_owned(), |value| format!("{value:.decimals$}"))
    };
    for string in strings {
        table.row(vec![
            string.name.clone(),
            three_digits(string.current_a),
            volts(string.copper_drop_v, 4),
            volts(string.lead_drop_v, 4),
            volts(string.forward_v, 2),
            volts(string.driver_v, 2),
            volts(string.driver_cold_v, 2),
        ]);
    }
    table
}

fn neck_words(neck: &NeckFinding) -> String {
    let [x, y] = neck.at_mm;
    let range = if neck.ipc_2221_in_range { "" } else { ", outside the range it is stated for" };
    format!(
        "Tightest: {:.2} mm of {} at {x:.1}, {y:.1} mm carry {} A, {} A/mm2. The IPC-2221 rule, made for FR4 traces in still \
         air, would give {} K there{range}. Widened to the free space it would save about {} W.",
        neck.width_mm,
        neck.layer,
        three_digits(neck.current_a),
        three_digits(neck.density_a_per_mm2),
        three_digits(neck.ipc_2221_rise_k),
        three_digits(neck.widening_saves_w)
    )
}

//! The current in the copper as a maker reads it: loss, voltages, and then its places.

use std::fmt::Write;

use lamp::findings::{CopperFinding, StringFinding};

use super::copper_places::places;
use super::numbers::{NOTHING, three_digits};
use super::text::{Align, Columns, bold, paragraph};

/// Parts of the electrical power below which copper's loss does not matter, and above which it does (common practice, no source).
const LITTLE: f64 = 0.01;
const MUCH: f64 = 0.03;

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
        let hottest = copper.supplies.iter().filter_map(|supply| supply.lead_c).reduce(f64::max);
        if let Some(lead_c) = hottest {
            let _ = write!(said, " and are {lead_c:.1} degC warm at most, each on its own in still air");
        }
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
    said += if copper.part_of_electrical < LITTLE {
        ". That is little: wider copper would hardly change the temperatures."
    } else if copper.part_of_electrical > MUCH {
        ". That is worth wider or thicker copper."
    } else {
        "."
    };
    out += &paragraph(&said, width, 2);
    if !copper.strings.is_empty() {
        out += &string_table(&copper.strings).text(width);
    }
    out += &places(copper, width);
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

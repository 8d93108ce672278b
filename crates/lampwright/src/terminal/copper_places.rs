//! Where in the copper the current costs most: its pieces, its hottest place and its necks.

use lamp::findings::{CopperFinding, IslandFinding, NeckFinding, StringFinding};

use super::numbers::{NOTHING, three_digits};
use super::text::{Align, Columns, paragraph};

/// Most pieces and necks that are listed; all are in the JSON and on the page.
const MOST: usize = 6;

/// The part of a copper section about places.
pub(super) fn places(copper: &CopperFinding, width: usize) -> String {
    let mut out = String::new();
    let by_string: Vec<String> = copper.strings.iter().filter_map(string_loss).collect();
    if !by_string.is_empty() {
        out += &paragraph(&format!("Loss in the copper by string: {}.", by_string.join("; ")), width, 2);
    }
    if let Some(hot) = &copper.hottest {
        let [x, y] = hot.at_mm;
        let said = format!(
            "Hottest copper that carries current: {:.1} degC in {} at {x:.1}, {y:.1} mm.",
            hot.temperature_c, hot.layer
        );
        out += &paragraph(&said, width, 2);
    }
    if !copper.islands.is_empty() {
        out += &island_table(&copper.islands).text(width);
        out += &more(copper.islands.len(), "pieces of copper", width);
    }
    // Of all necks the one with the least copper; the table begins with the densest.
    if let Some((number, neck)) =
        (1..).zip(&copper.necks).min_by(|a, b| a.1.width_mm.total_cmp(&b.1.width_mm))
    {
        out += &paragraph(&narrowest_words(number, neck), width, 2);
    }
    if !copper.necks.is_empty() {
        out += &neck_table(&copper.necks).text(width);
        out += &more(copper.necks.len(), "necks", width);
        let said = format!(
            "rise: of the copper there above the room, by emitters and copper together. rule: the rise above the board around it, \
             and the width for 20 K, by {}; in brackets where the rule is not stated. On a metal core copper runs far cooler than \
             the rule says. widened saves: loss that filling the free width on both sides would save, an estimate.",
            copper.ipc_2221_is
        );
        out += &paragraph(&said, width, 2);
    }
    out
}

fn string_loss(string: &StringFinding) -> Option<String> {
    let (loss_w, part) = (string.copper_loss_w?, string.copper_part_of_electrical?);
    Some(format!("{} {} W ({} % of the lamp)", string.name, three_digits(loss_w), three_digits(100.0 * part)))
}

fn narrowest_words(number: usize, neck: &NeckFinding) -> String {
    let [x, y] = neck.at_mm;
    let rise = neck.rise_k.map_or_else(String::new, |rise| format!(", {rise:.1} K above the room"));
    format!(
        "Narrowest neck that carries current: {number}, {:.2} mm of {} at {x:.1}, {y:.1} mm with {} A{rise}.",
        neck.width_mm,
        neck.layer,
        three_digits(neck.current_a)
    )
}

fn more(all: usize, what: &str, width: usize) -> String {
    if all <= MOST {
        return String::new();
    }
    paragraph(&format!("  ({} more {what}: --json and the page list all.)", all - MOST), width, 2)
}

fn island_table(islands: &[IslandFinding]) -> Columns {
    let mut table = Columns::new();
    table.column("piece of copper", "", Align::Left);
    table.column("layer", "", Align::Left);
    table.column("current", "A", Align::Right);
    table.column("loss", "W", Align::Right);
    table.column("of the lamp", "%", Align::Right);
    table.column("most at", "mm", Align::Right);
    for island in islands.iter().take(MOST) {
        table.row(vec![
            island.net.clone(),
            island.layer.clone(),
            three_digits(island.current_a),
            three_digits(island.loss_w),
            three_digits(100.0 * island.part_of_electrical),
            island.hottest_at_mm.map_or_else(|| NOTHING.to_owned(), |[x, y]| format!("{x:.1}, {y:.1}")),
        ]);
    }
    table
}

fn neck_table(necks: &[NeckFinding]) -> Columns {
    let mut table = Columns::new();
    table.column("neck", "", Align::Left);
    table.column("width", "mm", Align::Right);
    table.column("at", "mm", Align::Right);
    table.column("current", "A", Align::Right);
    table.column("density", "A/mm2", Align::Right);
    table.column("rise", "K", Align::Right);
    table.column("rule: rise", "K", Align::Right);
    table.column("width", "mm", Align::Right);
    table.column("widened saves", "W", Align::Right);
    let bracketed = |in_range: bool, text: String| if in_range { text } else { format!("({text})") };
    for (index, neck) in necks.iter().take(MOST).enumerate() {
        let [x, y] = neck.at_mm;
        table.row(vec![
            format!("{}, {}", index + 1, neck.layer),
            format!("{:.2}", neck.width_mm),
            format!("{x:.1}, {y:.1}"),
            three_digits(neck.current_a),
            three_digits(neck.density_a_per_mm2),
            neck.rise_k.map_or_else(|| NOTHING.to_owned(), |rise| format!("{rise:.1}")),
            bracketed(neck.ipc_2221_in_range, three_digits(neck.ipc_2221_rise_k)),
            bracketed(neck.ipc_2221_width_in_range, format!("{:.2}", neck.ipc_2221_width_mm)),
            three_digits(neck.widening_saves_w),
        ]);
    }
    table
}

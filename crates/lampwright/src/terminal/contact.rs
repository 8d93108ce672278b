//! What changes of the contact cost, as a maker reads it.

use lamp::findings::{ContactWhatIfFinding, Run};

use super::numbers::{NOTHING, tenths};
use super::text::{Align, Columns, bold, paragraph};

/// The table of the changes that were asked for; empty where none were.
pub fn contact_section(run: &Run, width: usize) -> String {
    let changes = run.bond.as_ref().map_or(&[][..], |bond| &bond.what_ifs);
    if changes.is_empty() {
        return String::new();
    }
    let mut out = format!("\n{}", bold(&format!("Contact at {} A: what if\n", run.current_a)));
    out += &table(changes).text(width);
    out + &paragraph(
        "Each is solved in full; less than 0: cooler than as built. No contact: nothing but air in the gap under the emitter's body.",
        width,
        2,
    )
}

fn table(changes: &[ContactWhatIfFinding]) -> Columns {
    let mut table = Columns::new();
    table.column("what if", "", Align::Left);
    for (head, unit) in [("hotter by", "K"), ("hottest junction", "degC")] {
        table.column(head, unit, Align::Right);
    }
    table.column("", "of", Align::Left);
    table.column("that emitter by", "K", Align::Right);
    let kelvins = |k: Option<f64>| tenths(k.map(|k| if k.abs() < 0.05 { 0.0 } else { k }));
    for change in changes {
        let hotter = if change.steady { kelvins(change.hotter_k) } else { "runs away".to_owned() };
        let there = if change.under.is_some() { kelvins(change.there_hotter_k) } else { NOTHING.to_owned() };
        table.row(vec![
            change.what.clone(),
            hotter,
            tenths(change.hottest_junction_c),
            change.hottest_emitter.clone().unwrap_or_default(),
            there,
        ]);
    }
    table
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_change_has_its_line() {
        let change = ContactWhatIfFinding {
            what: "no contact under D3".into(),
            under: Some("D3".into()),
            steady: true,
            hotter_k: Some(-0.01),
            hottest_junction_c: Some(91.26),
            hottest_emitter: Some("D6".into()),
            there_hotter_k: Some(4.24),
        };
        let away = ContactWhatIfFinding { steady: false, hotter_k: None, ..change.clone() };
        let text = table(&[change, away]).text(100);
        let rows: Vec<String> =
            text.lines().map(|line| line.split_whitespace().collect::<Vec<_>>().join(" ")).collect();
        assert!(rows.iter().any(|row| row.ends_with("no contact under D3 0.0 91.3 D6 4.2")), "{text}");
        assert!(text.contains("runs away"), "{text}");
    }
}

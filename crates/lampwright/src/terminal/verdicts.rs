//! What to set: the verdict of each variant.

use bench::verdict::VerdictFindings;

use super::numbers::{NOTHING, thousands};
use super::text::{Align, Columns, capital, heading, paragraph, sentence};

/// The whole text.
#[must_use]
pub fn verdicts(lamp: &str, found: &[VerdictFindings], width: usize) -> String {
    let mut out = format!("{lamp}: what to set\n");
    for one in found {
        let title = if one.title.is_empty() {
            one.variant.clone()
        } else {
            format!("{} ({})", one.variant, one.title)
        };
        out += &heading(&title);
        for answer in &one.answers {
            out += &paragraph(answer, width, 2);
        }
        if let Some(set) = one.throttle.as_ref().and_then(|t| logged(t.output_v, t.output_ohm)) {
            out += &paragraph(&format!("As logged, the reading at which to throttle is {set}."), width, 2);
        }
        out += &heading(&format!("{}: highest safe drive current against the room", one.variant));
        out += &currents(one).text(width);
        if !one.changes.is_empty() {
            out += &heading(&format!(
                "{}: what a change buys at the hottest junction, {} A",
                one.variant, one.nominal_current_a
            ));
            let mut table = Columns::new();
            table.column("change", "", Align::Left);
            table.column("cooler by", "K", Align::Right);
            for change in &one.changes {
                table.row(vec![change.what.clone(), format!("{:.1}", change.saves_k)]);
            }
            out += &table.text(width);
        }
        if !one.life.is_empty() {
            out += &heading(&format!("{}: how long the light lasts, after IES TM-21", one.variant));
            out += &life(one).text(width);
        }
    }
    out += &heading("Before you rely on it");
    let mut said: Vec<&String> = Vec::new();
    for remark in found.iter().flat_map(|one| one.life.iter().flat_map(|l| &l.remarks).chain(&one.remarks)) {
        if !said.contains(&remark) {
            said.push(remark);
            out += "  ";
            out += &paragraph(&sentence(&capital(remark)), width.saturating_sub(2), 4);
        }
    }
    out += "  ";
    out += &paragraph(
        "Eyes: do not look into emitters that are lit. Hot metal burns. Drivers on the mains can kill; leave mains wiring to licensed people.",
        width.saturating_sub(2),
        4,
    );
    out
}

fn currents(one: &VerdictFindings) -> Columns {
    let mut table = Columns::new();
    for (head, unit) in
        [("room", "degC"), ("set at most", "A"), ("likeliest lamp", "A"), ("39 of 40 below", "A")]
    {
        table.column(head, unit, Align::Right);
    }
    table.column("limited by", "", Align::Left);
    for safe in &one.safe_currents {
        let at = safe.emitter.as_ref().map_or(String::new(), |emitter| format!(" of {emitter}"));
        table.row(vec![
            format!("{:.0}", safe.ambient_c),
            format!("{:.3}", safe.low_a),
            format!("{:.3}", safe.current_a),
            format!("{:.3}", safe.high_a),
            format!("{}{at}", safe.limited_by),
        ]);
    }
    table
}

fn life(one: &VerdictFindings) -> Columns {
    let mut table = Columns::new();
    for (head, unit) in [("room", "degC"), ("solder point", "degC"), ("light left", "%")] {
        table.column(head, unit, Align::Right);
    }
    table.column("reported", "", Align::Left);
    table.column("39 of 40 last at least", "h", Align::Right);
    for l in &one.life {
        table.row(vec![
            format!("{:.0}", l.ambient_c),
            format!("{:.1}", l.solder_c),
            format!("{:.0}", 100.0 * l.part),
            l.reported.clone(),
            l.low_h.map_or_else(|| NOTHING.to_owned(), |h| thousands(((h / 100.0).floor() * 100.0) as usize)),
        ]);
    }
    table
}

fn logged(volt: Option<f64>, ohm: Option<f64>) -> Option<String> {
    volt.map(|v| format!("{:.1} mV", 1e3 * v)).or_else(|| ohm.map(|r| format!("{r:.1} ohm")))
}

//! Shared currents and drivers' voltages as a maker reads them.

use std::fmt::Write;

use lamp::findings::{RunState, SharingFinding, SharingGroupFinding, SharingWorstFinding, SupplyFinding};

use super::numbers::{NOTHING, three_digits};
use super::text::{Align, Columns, bold, paragraph};

/// How branches side by side share the current.
pub fn sharing_section(sharing: &SharingFinding, current_a: f64, width: usize) -> String {
    let mut out = format!("\n{}", bold(&format!("Sharing at {current_a} A\n")));
    for group in &sharing.groups {
        out += &paragraph(&group_words(group), width, 2);
        if let Some(worst) = &group.worst {
            out += &paragraph(&worst_words(worst), width, 2);
        }
    }
    out += &paragraph(&feedback_words(sharing), width, 2);
    for remark in &sharing.remarks {
        out += &paragraph(&format!("- {remark}"), width, 2);
    }
    out
}

fn group_words(group: &SharingGroupFinding) -> String {
    let names: Vec<&str> = group.branches.iter().map(|branch| branch.name.as_str()).collect();
    let amperes = |values: Vec<f64>| {
        let all: Vec<String> = values.into_iter().map(three_digits).collect();
        format!("{} A", all.join(", "))
    };
    let cold = amperes(group.branches.iter().map(|branch| branch.cold_a).collect());
    let mut said = format!("{} lie side by side and share {cold} when switched on", listed(&names));
    match (group.imbalance_percent, &group.runs_away) {
        (Some(percent), _) => {
            let warm = amperes(group.branches.iter().filter_map(|branch| branch.current_a).collect());
            let _ = write!(said, ", {warm} when warm: the most is {percent:.1} % above an even share.");
        }
        (None, Some(one)) => {
            let _ = write!(said, "; that does not last: {one} takes ever more of it as it gets hotter.");
        }
        (None, None) => said.push('.'),
    }
    said
}

fn worst_words(worst: &SharingWorstFinding) -> String {
    let mut said = format!(
        "At worst within the voltage tolerance, {} low and the others high, it takes {} A when switched on, {:.1} % above an even \
         share",
        worst.branch,
        three_digits(worst.cold_a),
        worst.cold_imbalance_percent
    );
    let over = if worst.emitter_a > worst.emitter_limit_a { ", over" } else { ", within" };
    match (worst.current_a, worst.imbalance_percent) {
        (Some(current_a), Some(percent)) => {
            let _ = write!(
                said,
                "; warm, its voltage has fallen further and it takes {} A, {percent:.1} % above. {} then carries {} A{over} its \
                 limit of {} A",
                three_digits(current_a),
                worst.emitter,
                three_digits(worst.emitter_a),
                three_digits(worst.emitter_limit_a)
            );
            if let (Some(emitter), Some(junction_c), Some(limit_c)) =
                (&worst.hottest_emitter, worst.hottest_junction_c, worst.junction_limit_c)
            {
                let _ =
                    write!(said, "; junction of {emitter} {junction_c:.1} degC of at most {limit_c} degC");
            }
            said + "."
        }
        _ => {
            said + &format!(
                ", and from there ever more: {} may come to carry {} A{over} its limit of {} A. Drive each branch by itself, put a \
                 resistor in series with each, order a narrower voltage bin, or cool the branches better and closer together.",
                worst.emitter,
                three_digits(worst.emitter_a),
                three_digits(worst.emitter_limit_a)
            )
        }
    }
}

fn feedback_words(sharing: &SharingFinding) -> String {
    let percent = 100.0 * sharing.feedback;
    if sharing.state == RunState::Runaway {
        return format!(
            "Feedback: a hotter branch has a lower voltage and takes more current; {percent:.0} % of a difference comes back each \
             time, so that it grows of its own. Drive each branch by itself, put a resistor in series with each, or cool the \
             branches better and closer together."
        );
    }
    format!(
        "Feedback: a hotter branch has a lower voltage and takes more current; {percent:.1} % of a difference comes back, so that \
         differences grow to {} times what they are at equal junctions. At 100 % the sharing would run away.",
        three_digits(1.0 / (1.0 - sharing.feedback))
    )
}

/// What the drivers must give.
pub fn headroom_section(supplies: &[SupplyFinding], ambient_c: f64, width: usize) -> String {
    let stated = |supply: &SupplyFinding| supply.voltage_least_v.or(supply.voltage_most_v).is_some();
    let spread = |supply: &SupplyFinding| supply.driver_high_v != supply.driver_v;
    let worth = |supply: &SupplyFinding| stated(supply) || spread(supply) || supply.cold_c != ambient_c;
    if !supplies.iter().any(worth) {
        // The strings' table has it all.
        return String::new();
    }
    let mut table = Columns::new();
    table.column("driver of supply", "", Align::Left);
    for head in ["warm, least", "warm, most", "cold start, most", "driver gives", "headroom"] {
        table.column(head, "V", Align::Right);
    }
    let volts = |value: Option<f64>| value.map_or_else(|| NOTHING.to_owned(), |value| format!("{value:.2}"));
    for supply in supplies {
        let range = match (supply.voltage_least_v, supply.voltage_most_v) {
            (Some(least), Some(most)) => format!("{least} to {most}"),
            (None, Some(most)) => format!("up to {most}"),
            (Some(least), None) => format!("from {least}"),
            (None, None) => NOTHING.to_owned(),
        };
        let headroom = [supply.headroom_v, supply.cold_headroom_v].into_iter().flatten().reduce(f64::min);
        table.row(vec![
            supply.name.clone(),
            volts(supply.driver_low_v),
            volts(supply.driver_high_v),
            volts(supply.cold_high_v),
            range,
            volts(headroom),
        ]);
    }
    let mut out = table.text(width);
    for supply in supplies {
        if let Some(words) = headroom_words(supply) {
            out += &paragraph(&words, width, 2);
        }
    }
    out
}

/// What to do where a driver does not reach.
fn headroom_words(supply: &SupplyFinding) -> Option<String> {
    let short = |headroom: Option<f64>| headroom.filter(|v| *v < 0.0).map(|v| format!("{:.2} V", -v));
    let name = &supply.name;
    if let Some(volts) = short(supply.cold_headroom_v) {
        return Some(format!(
            "The driver of supply {name} is {volts} short when the lamp is switched on at {} degC: it may not start, or start \
             dimmer. Take one that gives more, or an emitter less in the string.",
            supply.cold_c
        ));
    }
    if let Some(volts) = short(supply.headroom_v) {
        return Some(format!(
            "The driver of supply {name} is {volts} short when the lamp is warm: take one that gives more."
        ));
    }
    short(supply.least_headroom_v).map(|volts| {
        format!(
            "The warm string of supply {name} may need {volts} less than its driver can go down to: it may flicker or switch off. \
             Take a driver with a lower range, or an emitter more in the string."
        )
    })
}

fn listed(names: &[&str]) -> String {
    match names {
        [] => String::new(),
        [only] => (*only).to_owned(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn supply(most: f64) -> SupplyFinding {
        SupplyFinding {
            name: "A".into(),
            current_a: 1.0,
            lead_loss_w: None,
            lead_c: None,
            driver_v: Some(11.0),
            driver_low_v: Some(10.5),
            driver_high_v: Some(11.5),
            cold_c: -10.0,
            cold_v: Some(11.6),
            cold_high_v: Some(12.1),
            voltage_least_v: Some(9.0),
            voltage_most_v: Some(most),
            headroom_v: Some(most - 11.5),
            cold_headroom_v: Some(most - 12.1),
            least_headroom_v: Some(1.5),
        }
    }

    #[test]
    fn a_driver_that_falls_short_is_told_with_what_to_do() {
        let flat = |most: f64| {
            let said = headroom_section(&[supply(most)], 25.0, 200);
            anstream::adapter::strip_str(&said).to_string().split_whitespace().collect::<Vec<_>>().join(" ")
        };
        let enough = flat(14.0);
        assert!(enough.contains("A 10.50 11.50 12.10 9 to 14 1.90") && !enough.contains("short"), "{enough}");
        let short = flat(12.0);
        assert!(short.contains("0.10 V short when the lamp is switched on at -10 degC"), "{short}");
        assert!(flat(11.0).contains("1.10 V short"), "the cold start comes first");
    }
}

//! A prediction as a maker reads it: the answer first, then the table, then why, then what it rests on.

use std::fmt::Write;

use lamp::findings::{
    EmitterFinding, FindingRemark, Findings, LimitFinding, Run, RunState, RunawayOf, SensorFinding,
    VariantFindings,
};

use super::air::air_section;
use super::bond::bond_section;
use super::cautions::cautions;
use super::contact::contact_section;
use super::copper::copper_section;
use super::numbers::{NOTHING, tenths, thousands, thousandths, three_digits, with_error};
use super::remarks::remark_lines;
use super::sharing::{headroom_section, sharing_section};
use super::staircase::staircase;
use super::text::{Align, Columns, bold, heading, paragraph};

/// The whole text. `nominal_a` is the drive current, A, that the answer and the stairs are for; where it
/// was not computed, the highest one is taken.
#[must_use]
pub fn prediction(findings: &Findings, nominal_a: f64, width: usize) -> String {
    let mut out = bold(&format!("{}\n\n", findings.lamp));
    for variant in &findings.variants {
        if let Some(run) = shown_run(findings, variant, nominal_a) {
            let many = findings.variants.len() > 1;
            let name = if many { format!("{}: ", variant.variant) } else { String::new() };
            out += &paragraph(&format!("{name}{}", answer(run)), width, 2);
        }
    }
    for variant in &findings.variants {
        out += &heading(&format!("{}: {}", variant.variant, variant.title));
        out += &section(findings, variant, nominal_a, width);
    }
    let remarks = gathered_remarks(findings);
    if !remarks.is_empty() {
        out += &heading("Remarks");
        out += &remark_lines(&remarks, width);
    }
    let cautions = cautions(findings);
    if !cautions.is_empty() {
        out += &heading("Take care");
        for caution in cautions {
            out += &paragraph(&format!("- {caution}"), width, 2);
        }
    }
    out
}

/// The run of a variant that the answer is about.
fn shown_run<'a>(findings: &'a Findings, variant: &VariantFindings, nominal_a: f64) -> Option<&'a Run> {
    let runs = || findings.runs.iter().filter(|run| run.variant == variant.variant);
    runs().find(|run| run.current_a == nominal_a).or_else(|| runs().next_back())
}

/// The answer in a sentence with its number and doubt.
fn answer(run: &Run) -> String {
    if run.state == RunState::Runaway {
        let emitters =
            if run.current_a > 0.0 { format!("At {} A and ", run.current_a) } else { "At ".to_owned() };
        let what = if run.sharing.is_some() { "the sharing of the current" } else { "the lamp" };
        return format!("{emitters}{} degC there is no steady state: {what} runs away.", run.ambient_c);
    }
    let hottest = run.hottest_emitter.as_ref();
    let hottest = hottest.and_then(|name| run.emitters.iter().find(|emitter| &emitter.reference == name));
    let mut said = match hottest {
        Some(emitter) => junction_answer(run, emitter),
        None => patch_answer(run),
    };
    for limit in run.limits.iter().filter(|limit| limit.margin < 0.0 && !limit.what.starts_with("junction")) {
        let _ = write!(said, " Over its limit: {}.", limit_words(limit));
    }
    let cases =
        run.sharing.iter().flat_map(|sharing| &sharing.groups).filter_map(|group| group.worst.as_ref());
    for worst in cases.filter(|worst| worst.runs_away) {
        let _ = write!(
            said,
            " Within the voltage tolerance the sharing may run away: {} may take nearly all of the current.",
            worst.branch
        );
    }
    said
}

fn junction_answer(run: &Run, emitter: &EmitterFinding) -> String {
    let reached =
        emitter.junction_c.map_or_else(|| NOTHING.to_owned(), |at| with_error(at, run.grid_error_k));
    let begin = format!(
        "At {} A and {} degC the hottest junction, {}, reaches {reached} degC (grid)",
        run.current_a, run.ambient_c, emitter.reference
    );
    match emitter.junction_margin_k {
        Some(margin) if margin < 0.0 => {
            format!("{begin}: {:.1} K above its limit of {} degC.", -margin, emitter.junction_limit_c)
        }
        Some(margin) => {
            format!("{begin}: {margin:.1} K below its limit of {} degC.", emitter.junction_limit_c)
        }
        None => begin + ".",
    }
}

fn patch_answer(run: &Run) -> String {
    let hottest = run.heat_patches.iter().max_by(|a, b| a.hottest_c.total_cmp(&b.hottest_c));
    hottest.map_or_else(
        || format!("At {} degC nothing heats this board.", run.ambient_c),
        |patch| {
            format!(
                "At {} degC and {} W the hottest heat patch, {}, reaches {} degC (grid) at its hottest place, {:.2} K above \
                 the room.",
                run.ambient_c,
                three_digits(run.heat_w),
                patch.name,
                with_error(patch.hottest_c, run.grid_error_k),
                patch.hottest_rise_k
            )
        },
    )
}

/// Everything about one variant.
fn section(findings: &Findings, variant: &VariantFindings, nominal_a: f64, width: usize) -> String {
    let runs: Vec<&Run> = findings.runs.iter().filter(|run| run.variant == variant.variant).collect();
    let mut out = runs_table(&runs).text(width);
    let Some(shown) = shown_run(findings, variant, nominal_a) else { return out };
    if shown.emitters.len() > 1 {
        out += "\n";
        out += &bold(&format!("Emitters at {} A\n", shown.current_a));
        out += &emitter_table(shown).text(width);
    }
    if !shown.heat_patches.is_empty() {
        out += "\n";
        out += &patch_table(shown).text(width);
    }
    if let Some(emitter) =
        shown.emitters.iter().find(|e| Some(&e.reference) == shown.hottest_emitter.as_ref())
    {
        out += "\n";
        out += &staircase(emitter, width);
    }
    if !shown.limits.is_empty() {
        out += "\n";
        out += &bold(&format!("Limits at {} A\n", shown.current_a));
        out += &limit_table(&shown.limits).text(width);
    }
    out += &air_section(shown, width);
    if let Some(copper) = &shown.copper {
        out += &copper_section(copper, shown.current_a, width);
        out += &headroom_section(&copper.supplies, shown.ambient_c, width);
    }
    if let Some(sharing) = &shown.sharing {
        out += &sharing_section(sharing, shown.current_a, width);
    }
    if let Some(bond) = &shown.bond {
        out += &bond_section(bond, shown, width);
        out += &contact_section(shown, width);
    }
    out += "\n";
    for line in [runaway_words(variant), Some(balance_words(shown)), Some(grid_words(shown, &runs))]
        .into_iter()
        .flatten()
    {
        out += &paragraph(&line, width, 2);
    }
    out
}

/// One line for each drive current.
fn runs_table(runs: &[&Run]) -> Columns {
    let mut table = Columns::new();
    let any_emitters = runs.iter().any(|run| !run.emitters.is_empty());
    if any_emitters {
        table.column("current", "A", Align::Right);
    }
    table.column("heat", "W", Align::Right);
    if any_emitters {
        table.column("light", "lm", Align::Right);
        table.column("junction", "degC", Align::Right);
        table.column("", "of", Align::Left);
        table.column("solder", "degC", Align::Right);
    }
    table.column("board", "degC", Align::Right);
    let sensors = runs.first().map_or(&[][..], |run| &run.sensors);
    let outputs: Vec<(&str, Option<Output>)> =
        sensors.iter().map(|s| (s.name.as_str(), Output::of(&s.name, runs))).collect();
    for (name, output) in &outputs {
        table.column(*name, "degC", Align::Right);
        if let Some(output) = output {
            table.column("", output.unit(), Align::Right);
        }
    }
    let any_limits = runs.iter().any(|run| !run.limits.is_empty());
    if any_limits {
        table.column("margin", "K", Align::Right);
        table.column("", "to the limit of", Align::Left);
    }
    for run in runs {
        table.row(run_row(run, any_emitters, any_limits, &outputs));
    }
    table
}

/// What a sensor's output is printed in.
#[derive(Clone, Copy)]
enum Output {
    Volts,
    Millivolts,
    Ohms,
}

impl Output {
    /// For all runs together, so that a column has one unit; thermocouples stay below 0.1 V.
    fn of(sensor: &str, runs: &[&Run]) -> Option<Self> {
        let found = || runs.iter().flat_map(|run| &run.sensors).filter(|s| s.name == sensor);
        if found().any(|s| s.output_ohm.is_some()) {
            return Some(Self::Ohms);
        }
        let highest = found().filter_map(|s| s.output_v).map(f64::abs).reduce(f64::max)?;
        Some(if highest < 0.1 { Self::Millivolts } else { Self::Volts })
    }

    fn unit(self) -> &'static str {
        match self {
            Self::Volts => "V",
            Self::Millivolts => "mV",
            Self::Ohms => "ohm",
        }
    }

    fn cell(self, found: Option<&SensorFinding>) -> String {
        let value = found.and_then(|sensor| match self {
            Self::Volts => sensor.output_v,
            Self::Millivolts => sensor.output_v.map(|v| 1e3 * v),
            Self::Ohms => sensor.output_ohm,
        });
        match (self, value) {
            (_, None) => NOTHING.to_owned(),
            (Self::Ohms, Some(ohm)) => format!("{ohm:.1}"),
            (_, value) => thousandths(value),
        }
    }
}

fn run_row(run: &Run, emitters: bool, limits: bool, sensors: &[(&str, Option<Output>)]) -> Vec<String> {
    let steady = run.state == RunState::Steady;
    let when_steady = |text: String| if steady { text } else { NOTHING.to_owned() };
    let mut cells = Vec::new();
    if emitters {
        cells.push(run.current_a.to_string());
    }
    cells.push(when_steady(three_digits(run.heat_w)));
    if emitters {
        cells.push(when_steady(format!("{:.0}", run.light_lm)));
        cells.push(if steady { tenths(run.hottest_junction_c) } else { "runaway".to_owned() });
        cells.push(run.hottest_emitter.clone().unwrap_or_default());
        cells.push(tenths(run.hottest_solder_c));
    }
    cells.push(tenths(run.hottest_board_c));
    for (name, output) in sensors {
        let found = run.sensors.iter().find(|sensor| sensor.name == *name);
        cells.push(tenths(found.and_then(|sensor| sensor.reading_c)));
        cells.extend(output.map(|output| output.cell(found)));
    }
    if limits {
        let tightest = tightest(&run.limits);
        cells.push(tightest.map_or_else(|| NOTHING.to_owned(), |limit| format!("{:.1}", limit.margin)));
        cells.push(margin_words(run, tightest));
    }
    cells
}

/// The temperature limit with the smallest margin.
fn tightest(limits: &[LimitFinding]) -> Option<&LimitFinding> {
    limits.iter().filter(|limit| limit.unit == "degC").min_by(|a, b| a.margin.total_cmp(&b.margin))
}

fn margin_words(run: &Run, tightest: Option<&LimitFinding>) -> String {
    let mut words: Vec<String> = tightest.iter().map(|limit| limit.what.clone()).collect();
    let over = run.limits.iter().filter(|limit| limit.margin < 0.0 && limit.unit != "degC");
    words.extend(over.map(|limit| format!("{} over its limit", limit.what)));
    words.join("; ")
}

fn emitter_table(run: &Run) -> Columns {
    let mut table = Columns::new();
    table.column("emitter", "", Align::Left);
    for (head, unit) in [
        ("junction", "degC"),
        ("solder", "degC"),
        ("voltage", "V"),
        ("heat", "W"),
        ("light", "lm"),
        ("margin", "K"),
    ] {
        table.column(head, unit, Align::Right);
    }
    for emitter in &run.emitters {
        let heat = emitter.heat_w.map_or_else(|| NOTHING.to_owned(), three_digits);
        let light = emitter.flux_lm.map_or_else(|| NOTHING.to_owned(), |light| format!("{light:.0}"));
        table.row(vec![
            emitter.reference.clone(),
            tenths(emitter.junction_c),
            tenths(emitter.solder_c),
            thousandths(emitter.forward_v),
            heat,
            light,
            tenths(emitter.junction_margin_k),
        ]);
    }
    table
}

fn patch_table(run: &Run) -> Columns {
    let mut table = Columns::new();
    table.column("heat patch", "", Align::Left);
    for (head, unit) in
        [("heat", "W"), ("mean", "degC"), ("mean rise", "K"), ("rise at centre", "K"), ("highest rise", "K")]
    {
        table.column(head, unit, Align::Right);
    }
    for patch in &run.heat_patches {
        table.row(vec![
            patch.name.clone(),
            three_digits(patch.heat_w),
            format!("{:.2}", patch.mean_c),
            format!("{:.3}", patch.mean_rise_k),
            format!("{:.3}", patch.centre_rise_k),
            format!("{:.3}", patch.hottest_rise_k),
        ]);
    }
    table
}

fn limit_table(limits: &[LimitFinding]) -> Columns {
    let mut table = Columns::new();
    table.column("limit", "", Align::Left);
    for head in ["found", "allowed", "margin"] {
        table.column(head, "", Align::Right);
    }
    table.column("", "", Align::Left);
    for limit in limits {
        let (value, difference) = limit_numbers(limit);
        table.row(vec![
            limit.what.clone(),
            value(limit.found),
            value(limit.limit),
            difference,
            if limit.margin < 0.0 { "over".to_owned() } else { String::new() },
        ]);
    }
    table
}

/// How a limit's values are written, and its margin.
fn limit_numbers(limit: &LimitFinding) -> (fn(f64) -> String, String) {
    match limit.unit {
        "A" => (|value| format!("{value:.3} A"), format!("{:.3} A", limit.margin)),
        "V" => (|value| format!("{value:.2} V"), format!("{:.2} V", limit.margin)),
        _ => (|value| format!("{value:.1} degC"), format!("{:.1} K", limit.margin)),
    }
}

fn limit_words(limit: &LimitFinding) -> String {
    let (value, difference) = limit_numbers(limit);
    let over = difference.trim_start_matches('-');
    let side = if limit.found < limit.limit { "below" } else { "above" };
    format!("{} at {}, {over} {side} {}", limit.what, value(limit.found), value(limit.limit))
}

fn runaway_words(variant: &VariantFindings) -> Option<String> {
    match variant.runaway_current_a {
        Some(current) if variant.runaway_of == Some(RunawayOf::Sharing) => Some(format!(
            "Runaway: from {} A of drive current the sharing does not last: a branch takes ever more of the current.",
            three_digits(current)
        )),
        Some(current) => Some(format!(
            "Runaway: from {} A of drive current there is no steady state.",
            three_digits(current)
        )),
        None if variant.runaway_searched_to_a > 0.0 => Some(format!(
            "Runaway: none up to {} A of drive current.",
            three_digits(variant.runaway_searched_to_a)
        )),
        None => None,
    }
}

fn balance_words(run: &Run) -> String {
    let balance = &run.energy_balance;
    let mut ways = Vec::new();
    for (watts, way) in [
        (balance.heatsink_w, "by the heatsink"),
        (balance.convection_w, "by convection and given films"),
        (balance.radiation_w, "by radiation"),
    ] {
        if watts != 0.0 {
            ways.push(format!("{} W {way}", three_digits(watts)));
        }
    }
    if ways.is_empty() {
        ways.push("0 W".to_owned());
    }
    format!(
        "Energy: {} W of heat in; out {}; (in - out) / in is {:.1e}.",
        three_digits(balance.in_w),
        ways.join(", "),
        balance.relative_error
    )
}

fn grid_words(shown: &Run, runs: &[&Run]) -> String {
    let seconds: f64 = runs.iter().map(|run| run.seconds).sum();
    let iterations: usize = runs.iter().map(|run| run.iterations).sum();
    format!(
        "Grid: {} cells, finest pitch {} mm; the grid's error of the hottest temperatures is about {} K. {iterations} \
         iterations and {seconds:.2} s for {} run{}.",
        thousands(shown.cells),
        three_digits(shown.pitch_mm),
        three_digits(shown.grid_error_k),
        runs.len(),
        if runs.len() == 1 { "" } else { "s" }
    )
}

/// The remarks of the lamp and of its runs. Remarks of runs that differ in their numbers alone are said once: the last
/// one's, which is about the highest current, and how many runs have one like it. The JSON has them all.
fn gathered_remarks(findings: &Findings) -> Vec<FindingRemark> {
    let mut of_runs: Vec<(String, FindingRemark, Vec<String>)> = Vec::new();
    for run in &findings.runs {
        let drive = if run.emitters.is_empty() { String::new() } else { format!(" at {} A", run.current_a) };
        let place = format!("{}{drive}", run.variant);
        for remark in &run.remarks {
            let words = without_numbers(&remark.text);
            match of_runs
                .iter_mut()
                .find(|(said, other, _)| *said == words && other.severity == remark.severity)
            {
                Some((_, latest, places)) => {
                    *latest = remark.clone();
                    places.push(place.clone());
                }
                None => of_runs.push((words, remark.clone(), vec![place.clone()])),
            }
        }
    }
    let mut all: Vec<FindingRemark> = findings.remarks.clone();
    all.extend(of_runs.into_iter().map(|(_, mut remark, places)| {
        let which = places.last().map(String::as_str).unwrap_or_default();
        let others = places.len().saturating_sub(1);
        let alike = match others {
            0 => String::new(),
            1 => "; one other run has a remark like it".to_owned(),
            _ => format!("; {others} other runs have a remark like it"),
        };
        remark.text = format!("{} ({which}{alike})", remark.text);
        remark
    }));
    all
}

/// The words of a text, its numbers left out.
fn without_numbers(text: &str) -> String {
    text.split_whitespace()
        .filter(|word| !word.contains(|c: char| c.is_ascii_digit()))
        .collect::<Vec<_>>()
        .join(" ")
}

#[cfg(test)]
#[path = "prediction_tests.rs"]
mod tests;

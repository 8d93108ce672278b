//! A plan in sentences: the answer, the cautions, what else there is to say.

use lamp::as_built::Lamp;
use lamp::heat_capacity::stores;

use super::check_list::check_list;
use super::findings::{AbortReading, PlanFindings, PlannedDifference, PlannedVariant};
use crate::sensor::doubt::doubt;
use crate::sensor::telling::set_up;

/// Fills the sentences.
pub fn tell(found: &mut PlanFindings, lamp: &Lamp) {
    found.sampling_reason = sampling(found);
    found.answers = answers(found);
    found.check_list = check_list(found, lamp);
    found.cautions = cautions(found);
    found.remarks = remarks(found, lamp);
}

/// "3 h 10 min", to the whole minute.
pub(super) fn long(seconds: f64) -> String {
    let minutes = (seconds / 60.0).round() as u64;
    match (minutes / 60, minutes % 60) {
        (0, m) => format!("{m} min"),
        (h, 0) => format!("{h} h"),
        (h, m) => format!("{h} h {m} min"),
    }
}

/// A count in words where it is small.
fn count(n: usize) -> String {
    const WORDS: [&str; 7] = ["no", "one", "two", "three", "four", "five", "six"];
    WORDS.get(n).map_or_else(|| n.to_string(), |w| (*w).to_owned())
}

fn ampere(a: f64) -> String {
    format!("{} A", (1000.0 * a).round() / 1000.0)
}

/// As the sensor puts it out, in brackets; empty where it is not known.
pub(super) fn output(v: Option<f64>, ohm: Option<f64>) -> String {
    match (v, ohm) {
        (Some(v), _) if v.abs() < 0.1 => format!(" ({:.3} mV)", 1e3 * v),
        (Some(v), _) => format!(" ({v:.3} V)"),
        (None, Some(ohm)) => format!(" ({ohm:.1} ohm)"),
        (None, None) => String::new(),
    }
}

fn abort_words(stop: &AbortReading) -> String {
    format!("{:.0} degC{}", stop.above_c, output(stop.output_v, stop.output_ohm))
}

fn sampling(found: &PlanFindings) -> String {
    let fast_s = found.variants.iter().map(|v| v.fast_s).fold(f64::INFINITY, f64::min);
    let s = found.sampling_interval_s;
    format!(
        "{:.0} samples within the {fast_s:.0} s of the fast time constant; faster than once a second only fills the disk, and as samples hang \
         together it hardly sharpens what a plateau settles to",
        fast_s / s
    )
}

fn answers(found: &PlanFindings) -> Vec<String> {
    let runs = found.runs.len();
    let plateaus: Vec<usize> = found.runs.iter().map(|r| r.steps.len()).collect();
    let (least, most) =
        (plateaus.iter().min().copied().unwrap_or(0), plateaus.iter().max().copied().unwrap_or(0));
    let how_many = if least == most { format!("{most}") } else { format!("{least} to {most}") };
    let noun = |n: usize, one: &str| if n == 1 { one.to_owned() } else { format!("{one}s") };
    let changed = if runs > 1 { ", cooling and changing boards in between included" } else { "" };
    let mut all = vec![format!(
        "The test takes about {}: {} {} of {how_many} {} of {}{changed}.",
        long(found.total_s),
        count(runs),
        noun(runs, "run"),
        if most == 1 { "plateau" } else { "plateaus" },
        long(found.dwell_s),
    )];
    let stops: Vec<String> = found
        .variants
        .iter()
        .filter_map(|v| v.abort.as_ref().map(|s| format!("{} for {}", abort_words(s), v.variant)))
        .collect();
    all.push(if stops.is_empty() {
        "No abort reading can be given: no temperature limit is stated that the lamp could meet.".to_owned()
    } else {
        format!("Break off when {} passes {}.", found.sensor, stops.join(", "))
    });
    for v in &found.variants {
        if let Some(top) = v.expected.last() {
            all.push(format!(
                "{}: at {} expect {:.1} degC{} at the sensor ({:.1} to {:.1} degC in 95 % of lamps within the tolerances) in a room of {} degC.",
                v.variant,
                ampere(top.current_a),
                top.sensor_c,
                output(top.output_v.map(|o| o[0]), top.output_ohm.map(|o| o[0])),
                top.low_c,
                top.high_c,
                found.ambient_c,
            ));
        }
    }
    let others: Vec<&str> = found.variants.iter().skip(1).map(|v| v.variant.as_str()).collect();
    for other in others {
        let all_of: Vec<&PlannedDifference> = found.differences.iter().filter(|d| d.other == other).collect();
        all.extend(seen_words(&all_of));
    }
    all
}

/// From which current on a difference can be seen.
fn seen_words(all: &[&PlannedDifference]) -> Option<String> {
    let top = all.last()?;
    let from = all.iter().find(|d| d.seen);
    let tells = format!("sensor, logger, room and dwell tell {:.1} K apart", top.told_apart_k);
    Some(match from {
        None => format!(
            "The difference between {} and {} cannot be seen at any of these currents: {:+.1} K is expected at {}, and {tells}.",
            top.variant,
            top.other,
            top.difference_k,
            ampere(top.current_a)
        ),
        Some(from) => format!(
            "From {} on the difference between {} and {} can be seen: {:+.1} K there, {:+.1} K ({:+.1} to {:+.1} K) at {}; {tells}.{}",
            ampere(from.current_a),
            from.variant,
            from.other,
            from.difference_k,
            top.difference_k,
            top.low_k,
            top.high_k,
            ampere(top.current_a),
            if top.low_k * top.high_k <= 0.0 {
                " Within the tolerances either may be the cooler one."
            } else {
                ""
            }
        ),
    })
}

fn cautions(found: &PlanFindings) -> Vec<String> {
    let hot = if found.variants.iter().any(|v| !v.hot.is_empty()) { " at these readings" } else { "" };
    vec![
        "Eyes: do not look into the light, also not by a mirror; shade or dim it on the bench. The risk group after IEC 62471 is not assessed here.".to_owned(),
        format!("Burns: board and heatsink burn skin{hot}; let them cool before touching."),
        "Outputs of supplies, drivers and loggers may start at any voltage: switch them on before the lamp is connected, and let no output of a logger switch the lamp.".to_owned(),
        "Mains can kill: leave mains wiring to licensed people and follow local codes; on the bench use an isolated supply.".to_owned(),
        "Never leave a powered lamp unattended.".to_owned(),
        "A plan is an estimate and no safety certification.".to_owned(),
    ]
}

fn remarks(found: &PlanFindings, lamp: &Lamp) -> Vec<String> {
    let mut all = Vec::new();
    for v in &found.variants {
        all.push(dwell_words(found, v, lamp));
        for s in &v.skipped {
            all.push(format!("{}: {} is left out: {}.", v.variant, ampere(s.current_a), s.why));
        }
        let near = v.abort.as_ref().zip(v.expected.last()).filter(|(stop, top)| top.high_c >= stop.above_c);
        if let Some((stop, top)) = near {
            all.push(format!(
                "{}: at {} a lamp within its tolerances may reach the abort reading of {:.0} degC; go there last and watch it.",
                v.variant,
                ampere(top.current_a),
                stop.above_c
            ));
        }
        if let Some(stop) = &v.abort {
            all.push(format!(
                "{}: the abort reading is that at which one lamp in forty within the tolerances has the {} at its limit of {} degC at {} (the \
                 likeliest lamp: {:.0} degC).",
                v.variant,
                stop.limit,
                stop.limit_c,
                ampere(stop.current_a),
                stop.likeliest_c
            ));
        }
    }
    all.push(
        "Dwell and course come from two lumps of heat capacity, not from a transient solution: an estimate. Plateaus that were cut short are \
         extrapolated by `lampwright bench`, with a wider interval; the dwell spares you that."
            .to_owned(),
    );
    all.push(order_words(found));
    let unseen: Vec<&PlannedDifference> = found.differences.iter().filter(|d| !d.seen).collect();
    if !unseen.is_empty() && unseen.len() < found.differences.len() {
        let mut at: Vec<String> = unseen.iter().map(|d| ampere(d.current_a)).collect();
        at.dedup();
        all.push(format!(
            "To compare boards, {} tells nothing: leave it out unless the model's fit wants it.",
            at.join(", ")
        ));
    }
    if lamp.logger.is_none() {
        all.push(
            "lamp.toml states no [logger]: what its steps and noise hide is not in what can be told apart."
                .to_owned(),
        );
    }
    if lamp.sensors.len() > 1 {
        all.push(format!("Abort reading, dwell and what can be told apart go by {}.", found.sensor));
        for v in &found.variants {
            let Some(top) = v.expected.last().filter(|top| !top.others.is_empty()) else { continue };
            let of = |o: &super::findings::OtherReading| {
                format!("{} {:.1} degC ({:.1} to {:.1} degC)", o.sensor, o.sensor_c, o.low_c, o.high_c)
            };
            let others: Vec<String> = top.others.iter().map(of).collect();
            all.push(format!(
                "{}: at {} expect also {}.",
                v.variant,
                ampere(top.current_a),
                others.join(", ")
            ));
        }
    }
    let setup = lamp.watched().and_then(|sensor| set_up(lamp, sensor));
    let hottest_c =
        found.variants.iter().filter_map(|v| v.abort.as_ref()).map(|s| s.above_c).reduce(f64::max);
    if let Some(doubt) = setup.zip(hottest_c).and_then(|(s, c)| doubt(&s, c, Some(found.ambient_c)).ok()) {
        all.extend(doubt.warnings.iter().map(|w| format!("{}: {w}.", found.sensor)));
    }
    all.push(
        "Expected readings go by lamp.toml and its tolerances alone, so that the bench can contradict them."
            .to_owned(),
    );
    all
}

fn dwell_words(found: &PlanFindings, v: &PlannedVariant, lamp: &Lamp) -> String {
    let variant = lamp.variants.iter().find(|known| known.name == v.variant);
    let stores = variant.map(stores);
    let unknown = stores.as_ref().is_some_and(|s| s.fins_unknown);
    let by_class = stores.map_or(0.0, |s| s.part_by_class());
    let mut words = format!(
        "{}: it stores {:.0} J/K and settles with {:.0} s, at most {:.0} s within the tolerances; {} leaves less than {:.1} K of every step.",
        v.variant,
        v.heat_capacity_j_per_k,
        v.slow_s,
        v.slow_at_most_s,
        long(found.dwell_s),
        found.settled_within_k
    );
    if by_class > 0.2 {
        words += &format!(" {:.0} % of that are of substances known by their class alone.", 100.0 * by_class);
    }
    if unknown {
        words += " Its heatsink is given by its resistance alone: fins, if it has any, store more, and it settles later than that.";
    }
    words
}

fn order_words(found: &PlanFindings) -> String {
    let mounted = if found.mountings > 1 {
        "Each board is mounted more than once and every other round goes backwards: what the bond line differs by from mounting to mounting \
         shows, and drift from run to run cancels."
    } else {
        "Each board is mounted once: what its bond line would differ by at a second mounting stays unknown (`--mountings 2` plans for it)."
    };
    let order = match found.order {
        "mirrored" => {
            "Currents go up and down again: a drift that is even in time adds the same to each, and a plateau that reads otherwise on the way \
             down shows what has changed (`--order rising` takes about half the time)."
        }
        "rising" => "Currents go up once: drift cannot be told from what the current does; log the room.",
        _ => {
            "Currents are shuffled for each run, so that drift looks like scatter; the same seed gives the same order."
        }
    };
    format!("{order} {mounted}")
}

#[cfg(test)]
mod tests {
    use super::long;

    #[test]
    fn durations_are_said_as_one_says_them() {
        for (s, words) in
            [(600.0, "10 min"), (3600.0, "1 h"), (11_400.0, "3 h 10 min"), (11_429.0, "3 h 10 min")]
        {
            assert_eq!(long(s), words);
        }
    }
}

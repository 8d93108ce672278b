//! A fit in sentences.

use lamp::as_built::Lamp;

use super::findings::{FitFindings, FittedValue, JunctionFinding};

/// A plateau that lies farther from the rest than this is named.
const OUTLIER_WEIGHT: f64 = 0.5;
/// A value that the plateaus told this much of is named as learnt.
const LEARNT: f64 = 0.6;
/// A further measurement is worth its name when it takes off this part of the doubt.
const WORTH: f64 = 0.9;

/// Writes the answers and remarks.
pub(super) fn tell(found: &mut FitFindings, lamp: &Lamp) {
    let mut answers = Vec::new();
    answers.extend(hottest(&found.junctions, lamp));
    answers.push(explained(found));
    let learnt: Vec<String> = found
        .values
        .iter()
        .filter(|v| v.shrinkage < LEARNT)
        .map(|v| value(v, lamp.sensors.len() > 1))
        .collect();
    answers.push(if learnt.is_empty() {
        "The plateaus tell little of any single value that its tolerance did not tell before.".to_owned()
    } else {
        format!("Learnt from the plateaus: {}.", learnt.join("; "))
    });
    if let Some(first) = found.further.first().filter(|f| f.doubt_with_it_k < WORTH * f.doubt_now_k) {
        answers.push(format!(
            "What one more measurement would tell most: {}; the hottest junction would then be known within {:.1} K instead of {:.1} K.",
            first.what, first.doubt_with_it_k, first.doubt_now_k
        ));
    }
    found.answers = answers;
    if !found.converged {
        found.remarks.push(
            "the search did not end at a least sum of squares: take nothing of this fit as settled"
                .to_owned(),
        );
    }
    for plateau in found.plateaus.iter().filter(|p| p.weight < OUTLIER_WEIGHT) {
        found.remarks.push(format!(
            "{} on the plateau at {:.3} A of run {} lies {:.1} K from what the others say; the plateau weighs {:.0} % of the others",
            plateau.sensor,
            plateau.drive_current_a,
            plateau.run,
            plateau.residual_k.abs(),
            100.0 * plateau.weight
        ));
    }
    for tied in &found.tied {
        let sense = if tied.correlation > 0.0 {
            "both larger or both smaller"
        } else {
            "one larger and the other smaller"
        };
        found.remarks.push(format!(
            "the plateaus hardly tell {} from {}: {sense} would fit as well (correlation {:.2})",
            tied.one, tied.other, tied.correlation
        ));
    }
    for junction in found.junctions.iter().filter(|j| j.consistent == Some(false)) {
        found.remarks.push(format!(
            "at {:.3} A of run {} the junction from the sensor, {:.1} degC, and from the forward voltage, {:.1} degC, do not agree within their \
             doubts: one of the two is off",
            junction.drive_current_a,
            junction.run,
            junction.from_sensor_c,
            junction.from_voltage_c.unwrap_or(f64::NAN)
        ));
    }
}

/// The hottest junction of each variant, against its limit.
fn hottest(junctions: &[JunctionFinding], lamp: &Lamp) -> Vec<String> {
    let of = |name: &String| {
        let own = junctions.iter().filter(|j| j.variant == *name);
        own.max_by(|a, b| a.combined_c.total_cmp(&b.combined_c))
    };
    let say = |variant: &lamp::as_built::Variant| {
        let j = of(&variant.name)?;
        let limit_c = variant.emitters.iter().find(|e| e.reference == j.emitter)?.sheet.junction_limit_c;
        let margin = limit_c - j.combined_c;
        let against = if margin >= 0.0 {
            format!("{margin:.0} K below its limit")
        } else {
            format!("{:.0} K above its limit", -margin)
        };
        Some(format!(
            "{}: on the bench at {:.3} A the hottest junction, {}, was at {:.1} +- {:.1} degC, {against} of {limit_c:.0} degC.",
            variant.name, j.drive_current_a, j.emitter, j.combined_c, j.combined_doubt_k
        ))
    };
    lamp.variants.iter().filter_map(say).collect()
}

fn explained(found: &FitFindings) -> String {
    let count = found.plateaus.len();
    let worst = found.plateaus.iter().map(|p| p.residual_k.abs()).fold(0.0, f64::max);
    let p = found.p_value.map_or_else(
        || "not known".to_owned(),
        |p| if p < 1e-4 { "below 0.0001".to_owned() } else { format!("{p:.2}") },
    );
    let sums = format!(
        "sum of squares {:.1} where {:.1} is expected, probability of a larger one {p}",
        found.chi_square, found.chi_square_expected
    );
    if found.explains {
        format!("The model explains the {count} plateaus: the farthest is off by {worst:.2} K ({sums}).")
    } else {
        format!(
            "The model does NOT explain the {count} plateaus within their doubts and the values' tolerances: the farthest is off by {worst:.2} K \
             ({sums}). Something is not as lamp.toml says it; trust no junction below until it is found."
        )
    }
}

fn value(v: &FittedValue, several_sensors: bool) -> String {
    let sensor = v.sensor.as_ref().filter(|_| several_sensors);
    let whose = sensor.into_iter().chain(&v.variant).map(|name| format!(" of {name}")).collect::<String>();
    let half = 0.5 * (v.high - v.low);
    if v.unit == "kelvin" {
        format!("{}{whose} {:+.2} +- {half:.2} K", v.value, v.fitted)
    } else {
        format!("{}{whose} {:.2} +- {half:.2} times what lamp.toml says", v.value, v.fitted)
    }
}

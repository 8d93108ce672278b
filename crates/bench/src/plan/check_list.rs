//! What to do at the bench, in order, from the lamp's own facts.

use lamp::as_built::{Cooling, DrivePer, Lamp, Variant};

use super::COOL_K;
use super::findings::{PlanFindings, PlannedVariant};
use super::telling::{long, output};
use super::two_bodies::Settling;
use crate::sensor::doubt::doubt;
use crate::sensor::telling::set_up;
use crate::sensor::{output_ohm, output_v};

/// A reading within this of the room before power is in order, K, where the sensor's own accuracy is not stated (common practice, no
/// source).
const ZERO_WITHIN_K: f64 = 2.0;

/// The check list.
pub(super) fn check_list(found: &PlanFindings, lamp: &Lamp) -> Vec<String> {
    let planned = |v: &&Variant| found.variants.iter().any(|p| p.variant == v.name);
    let variants: Vec<&Variant> = lamp.variants.iter().filter(planned).collect();
    let mut all = Vec::new();
    if let Some(first) = variants.iter().find_map(|v| fan_words(v)) {
        all.push(first);
    }
    if variants.iter().any(|v| v.bond.is_some() && v.heatsink.is_some()) {
        all.push(
            "Apply the bond line and drive the screws the same way for each board: its spread from mounting to mounting counts as a \
             difference between boards."
                .to_owned(),
        );
    }
    all.push(
        "Set up the room's sensor in the shade of the lamp, out of its warm air, and log it: rises count from it.".to_owned(),
    );
    all.push(zero_words(found, lamp));
    let each = match lamp.drive_per {
        DrivePer::String => "each string's supply",
        DrivePer::Lamp => "the lamp's supply",
    };
    all.push(format!(
        "Set the current limit of {each} to the step's current before switching on; open-circuit voltage no higher than the lamp needs."
    ));
    all.push(format!(
        "Log without power for {}, then take the currents in their order, {} each; write down the time at which each was set.",
        long(found.zero_s),
        long(found.dwell_s)
    ));
    all.push(format!(
        "At the end of a plateau the last minute should move by no more than about {:.1} K; where it still moves, hold it longer. `lampwright \
         record` says when it is settled.",
        found.settled_within_k
    ));
    all.push(
        "Watch for a reading above the high end of what is expected: look for the cause (fan, bond line, screws) before going up.".to_owned(),
    );
    all.push("Break off at the abort reading: switch the supply off by hand; neither plan nor recording switches anything.".to_owned());
    let hottest =
        found.variants.iter().flat_map(|v| &v.hot).max_by(|a, b| a.hottest_c.total_cmp(&b.hottest_c));
    let cooling_s = found.variants.iter().map(|v| cooling_s(found, v)).fold(0.0, f64::max);
    let cool = format!(
        "Whenever you switch off, leave the fan on; from the highest current it takes about {} to come within {COOL_K:.0} K of the room",
        long(60.0 * (cooling_s / 60.0).ceil())
    );
    all.push(match hottest {
        Some(hot) => {
            format!(
                "{cool}. Do not touch before: {} reaches {:.0} degC, which burns within {}.",
                hot.surface, hot.hottest_c, hot.burns_within
            )
        }
        None => format!("{cool}; do not touch before."),
    });
    if found.runs.len() > 1 {
        all.push("Change the board only when all is cold and unplugged; the fan's voltage, the vents and the place stay as they were.".to_owned());
    }
    all
}

/// From the highest current until the sensor is within some kelvins of the room, s.
fn cooling_s(found: &PlanFindings, v: &PlannedVariant) -> f64 {
    let slow = Settling { slow_s: v.slow_at_most_s, fast_s: v.fast_s, slow_part: v.slow_part };
    v.expected.last().map_or(0.0, |e| slow.until_within_s(e.high_c - found.ambient_c, COOL_K))
}

fn fan_words(variant: &Variant) -> Option<String> {
    let Cooling::Air(side) = &variant.heatsink.as_ref()?.cooling else { return None };
    let fans = side.fans.as_ref()?;
    Some(format!(
        "Connect the fan, set it to {} V, see that it turns, and write its voltage down (log it where you can): a fan that slows down looks \
         like a worse board.",
        fans.voltage_v
    ))
}

fn zero_words(found: &PlanFindings, lamp: &Lamp) -> String {
    let sensor = lamp.watched();
    let law = sensor.and_then(|s| s.law);
    let within_k = sensor
        .and_then(|s| set_up(lamp, s))
        .filter(|s| s.accuracy.is_some())
        .and_then(|s| doubt(&s, found.ambient_c, Some(found.ambient_c)).ok())
        .map_or(ZERO_WITHIN_K, |d| d.expanded_k().max(0.5));
    let volts = output(
        law.and_then(|l| output_v(l, found.ambient_c)),
        law.and_then(|l| output_ohm(l, found.ambient_c)),
    );
    format!(
        "Before power, board and room alike: {} should read the room, {} degC{volts} in a room as planned, within {within_k:.1} K; note the \
         difference. If it does not, wait until all has the room's temperature, then look at the sensor.",
        found.sensor, found.ambient_c
    )
}

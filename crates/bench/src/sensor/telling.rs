//! What there is to say about the sensors of a lamp before anything is measured.

use lamp::as_built::{Lamp, Sensor};
use lamp::findings::FindingRemark;
use lamp::sensor_law::SensorLaw;

use super::doubt::{Doubt, SetUp, doubt};

/// Temperature at which sensors are judged when the lamp states no board limit, degC.
const HOT_BOARD_C: f64 = 80.0;

/// The sensor with the lamp's logger.
#[must_use]
pub fn set_up(lamp: &Lamp, sensor: &Sensor) -> Option<SetUp> {
    Some(SetUp {
        law: sensor.law?,
        accuracy: sensor.accuracy,
        logger: lamp.logger,
        cold_junction_limit_k: sensor.cold_junction_limit_k,
        sensing_current_a: sensor.sensing_current_a,
        dissipation_w_per_k: sensor.dissipation_w_per_k,
        resolve_k: sensor.resolve_k,
    })
}

/// For each sensor: how well it can tell the board's limit (or 80 degC), and what spoils that.
#[must_use]
pub fn remarks(lamp: &Lamp) -> Vec<FindingRemark> {
    let hot_c = lamp.board_limit_c.unwrap_or(HOT_BOARD_C);
    let mut all = Vec::new();
    for sensor in &lamp.sensors {
        let Some(setup) = set_up(lamp, sensor) else { continue };
        let mut say = |severity, text: String| {
            let text = format!("{}: {text}", sensor.name);
            all.push(FindingRemark { severity, file: None, line: None, column: None, text });
        };
        // A cold junction that only the log tells is taken at room temperature here.
        let open_junction = matches!(setup.law, SensorLaw::Thermocouple { cold_junction_c: None, .. });
        match doubt(&setup, hot_c, open_junction.then_some(lamp.ambient_c)) {
            Err(why) => say("warning", why.to_string()),
            Ok(found) => {
                if !found.parts.is_empty() {
                    say("note", sentence(&found));
                }
                for warning in found.warnings {
                    say("warning", warning);
                }
            }
        }
    }
    all
}

/// How well one sample tells the temperature, and most because of what.
fn sentence(found: &Doubt) -> String {
    let mut text = format!(
        "at {:.0} degC one sample tells the temperature to +- {:.2} K (95 %)",
        found.temperature_c,
        found.expanded_k()
    );
    if let Some(most) = found.parts.iter().max_by(|a, b| a.standard_k.total_cmp(&b.standard_k)) {
        text += &format!(", most of it from {}", most.from);
    }
    if found.step_k.is_some() {
        text += &format!("; from sample to sample it scatters by {:.2} K", found.scatter_k());
    }
    text
}

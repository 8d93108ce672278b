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

#[cfg(test)]
mod tests {
    use lamp::project::{MemoryFolder, read};

    use super::remarks;

    #[test]
    fn a_lamps_sensors_are_judged_at_the_boards_limit() {
        let text = r#"
            [limits]
            board = "100 degC"
            [[sensor]]
            name = "probe"
            at = ["5 mm", "5 mm"]
            at_0_degC = "500 mV"
            slope = "10 mV/K"
            error = "1 K"
            [[sensor]]
            name = "pair"
            at = ["6 mm", "5 mm"]
            kind = "thermocouple"
            pair = "K"
            [logger]
            bits = 8
            range = ["0 V", "1.2 V"]
            [variant.a]
            outline = ["20 mm", "20 mm"]
            [variant.a.board]
            kind = "fr4 one-layer"
            [[variant.a.heat]]
            at = ["5 mm", "5 mm"]
            size = ["2 mm", "2 mm"]
            power = "1 W"
        "#;
        let reading = read(&MemoryFolder::new([("lamp.toml".to_owned(), text.as_bytes().to_vec())]));
        let lamp = reading.lamp.unwrap_or_else(|| panic!("{:?}", reading.remarks));
        let said: Vec<String> = remarks(&lamp).into_iter().map(|remark| remark.text).collect();
        let has = |words: &str| said.iter().any(|text| text.contains(words));
        assert!(has("probe: at 100 degC one sample tells the temperature to"), "{said:?}");
        assert!(
            has("probe: at 100 degC the sensor puts out 1.5000 V and the logger reads 0 V to 1.2 V"),
            "{said:?}"
        );
        // One step is 4.7 mV: 115 K of a type K thermocouple.
        assert!(has("pair: one step of the logger is 11"), "{said:?}");
    }
}

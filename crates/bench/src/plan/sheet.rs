//! The bench sheet of a planned run, ready to lie beside its log.

use std::fmt::Write as _;

use lamp::as_built::Lamp;
use lamp::sensor_law::SensorLaw;

use super::findings::{PlanFindings, PlannedRun};
use crate::mapping::quoted;
use crate::sensor::{OutputUnit, output_unit};

/// The text of a run's bench sheet: its steps as planned, and columns as they are best named in the log.
#[must_use]
pub fn sheet_text(found: &PlanFindings, run: &PlannedRun, lamp: &Lamp) -> String {
    let name = &run.name;
    let named = lamp.sensors.iter().find(|sensor| sensor.name == found.sensor);
    let (column, unit) = column(named.and_then(|sensor| sensor.law));
    let mut out = format!(
        "# Bench sheet of a planned run, written by `lampwright plan`. Copy it into bench/ beside the log {name}.csv, name the columns as\n\
         # your logger does, and set right each time `at` if you changed the current at another (counted from the log's first row).\n\n\
         [run]\nlogs = [{}]\nvariant = {}\ntitle = {}\n",
        quoted(&format!("{name}.csv")),
        quoted(&run.variant),
        quoted(&format!("planned run {}: {}, mounting {}", run.run, run.variant, run.mounting)),
    );
    for step in &run.steps {
        let _ = write!(
            out,
            "\n[[step]]{:26}# expected {:.1} degC, {:.1} to {:.1}\nat = \"{} s\"\ndrive_current = \"{} A\"\n",
            "", step.sensor_c, step.low_c, step.high_c, step.start_s, step.current_a
        );
    }
    let end_s = run.duration_s;
    let _ = write!(
        out,
        "\n[[step]]{:26}# switched off\nat = \"{end_s} s\"\ndrive_current = \"0 A\"\n\
         \n[[channel]]\ncolumn = {}\nis = \"sensor\"\nsensor = {}\nunit = {}\n\
         \n[[channel]]\ncolumn = \"ambient_c\"\nis = \"ambient\"\nunit = \"degC\"\n",
        "",
        quoted(column),
        quoted(&found.sensor),
        quoted(unit),
    );
    let others = lamp.sensors.iter().filter(|s| s.name != found.sensor && s.reads_its_place());
    for (k, other) in others.enumerate() {
        let (column, unit) = self::column(other.law);
        let _ = write!(
            out,
            "\n[[channel]]\ncolumn = {}\nis = \"sensor\"\nsensor = {}\nunit = {}\n",
            quoted(&format!("{column}_{}", k + 2)),
            quoted(&other.name),
            quoted(unit),
        );
    }
    out
}

/// A column's name and unit for what a sensor puts out.
fn column(law: Option<SensorLaw>) -> (&'static str, &'static str) {
    match law.map(output_unit) {
        Some(OutputUnit::Volt) => ("sensor_v", "V"),
        Some(OutputUnit::Ohm) => ("sensor_ohm", "ohm"),
        Some(OutputUnit::DegreesCelsius) | None => ("sensor_c", "degC"),
    }
}

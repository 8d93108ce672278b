//! A thermocouple's cold junction as a column of the log: which column it is, and outputs to temperatures with it, row by row.

use lamp::sensor_law::SensorLaw;

use crate::mapping::{BenchSheet, Mapped, Role};
use crate::sensor::temperature_of;

/// The channel with the cold junction of a sensor: the one that names it, else one that names none. Only a thermocouple has one.
#[must_use]
pub fn channel_of<'s>(sheet: &'s BenchSheet, sensor: &str, law: SensorLaw) -> Option<&'s Mapped> {
    if !matches!(law, SensorLaw::Thermocouple { .. }) {
        return None;
    }
    let by = |wanted: Option<&str>| {
        sheet.channels.iter().find(|mapped| match &mapped.role {
            Role::ColdJunction(of) => of.as_deref() == wanted,
            _ => false,
        })
    };
    by(Some(sensor)).or_else(|| by(None))
}

/// Whether a sensor with this law needs a cold junction that neither its own value nor a column gives.
#[must_use]
pub fn is_missing(sheet: &BenchSheet, sensor: &str, law: SensorLaw) -> bool {
    matches!(law, SensorLaw::Thermocouple { cold_junction_c: None, .. })
        && channel_of(sheet, sensor, law).is_none()
}

/// The temperature, degC, of one output with the cold junction of its row, degC, where a column holds it; NaN where either is missing. A
/// stated value does not stand in for a row whose column is empty: the two may differ.
#[must_use]
pub fn celsius(law: SensorLaw, output: f64, cold_c: Option<f64>) -> f64 {
    if cold_c.is_some_and(f64::is_nan) {
        return f64::NAN;
    }
    temperature_of(law, output, cold_c).unwrap_or(f64::NAN)
}

/// As [`celsius`], row by row.
#[must_use]
pub fn all_celsius(law: SensorLaw, outputs: &[f64], cold_c: Option<&[f64]>) -> Vec<f64> {
    let cold = |row: usize| cold_c.map(|cold| cold.get(row).copied().unwrap_or(f64::NAN));
    outputs.iter().enumerate().map(|(row, output)| celsius(law, *output, cold(row))).collect()
}

#[cfg(test)]
mod tests {
    use std::fmt::Write as _;

    use lamp::project::MemoryFolder;

    use crate::evaluation::evaluate;
    use crate::mapping::Names;
    use crate::run::{BenchRun, read};
    use crate::testing::lamp_of;

    const LAMP: &str = r#"
[lamp]
name = "sketch"
[drive]
per = "string"
currents = ["0.7 A"]
[[sensor]]
name = "pair"
at = ["5 mm", "5 mm"]
kind = "thermocouple"
pair = "K"
[[sensor]]
name = "other"
at = ["6 mm", "5 mm"]
kind = "thermocouple"
pair = "K"
cold_junction = "20 degC"
[[emitters]]
sheet = "white-3.5mm"
refs = ["D1", "D2"]
at = [["10 mm", "10 mm"], ["20 mm", "10 mm"]]
[variant.only]
title = "sketch"
outline = ["30 mm", "20 mm"]
copper = "full"
[variant.only.board]
kind = "aluminium core"
core = "aluminium 5052"
core_thickness = "1.5 mm"
dielectric_conductivity = "2 W/m/K"
dielectric_thickness = "100 um"
copper_top = "70 um"
mask = "25 um"
[variant.only.faces]
bottom = "1500 W/m2/K"
"#;

    /// Source: NIST Monograph 175, type K table, mV with the reference junction at 0 degC (from memory; the whole range against a library in
    /// checks/compare_sensors.py): 20 degC 0.798, 25 degC 1.000, 30 degC 1.203, 50 degC 2.023, 100 degC 4.096.
    const PRINTED: [(f64, f64); 5] =
        [(20.0, 0.798), (25.0, 1.0), (30.0, 1.203), (50.0, 2.023), (100.0, 4.096)];

    fn printed_mv(celsius: f64) -> f64 {
        PRINTED.iter().find(|(at, _)| *at == celsius).map(|(_, mv)| *mv).unwrap()
    }

    /// Rows with hot and cold junction; the voltage is the difference of two entries of the table, to its microvolt.
    fn run(rows: &[(f64, f64)], cold: &str) -> (BenchRun, lamp::as_built::Lamp) {
        let mut log = String::from("t (s),pair (mV),other (mV),terminals (degC),room (degC),I (A)\n");
        for second in 0..400 {
            let (hot, cold) = rows[second * rows.len() / 400];
            let mv = printed_mv(hot) - printed_mv(cold);
            writeln!(log, "{second},{mv:.3},{mv:.3},{cold},20.0,0.7").unwrap();
        }
        let sheet = format!(
            "[run]\nlogs = [\"a.csv\"]\n[time]\ncolumn = \"t\"\n[[channel]]\ncolumn = \"pair\"\nis = \"sensor\"\nsensor = \"pair\"\n\
             [[channel]]\ncolumn = \"other\"\nis = \"sensor\"\nsensor = \"other\"\n[[channel]]\ncolumn = \"room\"\nis = \"ambient\"\n\
             [[channel]]\ncolumn = \"I\"\nis = \"drive current\"\n{cold}"
        );
        let folder = MemoryFolder::new([
            ("bench/a.toml".to_owned(), sheet.into_bytes()),
            ("bench/a.csv".to_owned(), log.into_bytes()),
        ]);
        let lamp = lamp_of(LAMP);
        (read(&folder, "bench/a.toml", &Names::of(&lamp)), lamp)
    }

    const COLD: &str = "[[channel]]\ncolumn = \"terminals\"\nis = \"cold junction\"\n";

    /// The logger's terminals warm up by 10 K and the board with them: the hot junction is 50 degC throughout, whatever the voltage does.
    #[test]
    fn a_cold_junction_in_a_column_is_added_row_by_row() {
        let (run, lamp) = run(&[(50.0, 20.0), (50.0, 25.0), (50.0, 30.0)], COLD);
        assert!(!run.has_errors(), "{:?}", run.remarks);
        let found = evaluate(&run, &lamp);
        let settled: Vec<f64> =
            found.plateaus.iter().filter(|p| p.sensor == "pair").filter_map(|p| p.settled_sensor_c).collect();
        // The table's microvolt twice is 0.05 K by its slope of 41 uV/K.
        assert!(matches!(settled[..], [celsius] if (celsius - 50.0).abs() < 0.05), "{found:#?}");
        let summary = run.summary(&lamp);
        let pair = summary.channels.iter().find(|channel| channel.column == "pair").unwrap();
        for celsius in [pair.least_c, pair.largest_c, pair.mean_c] {
            assert!((celsius.unwrap() - 50.0).abs() < 0.05, "{pair:?}");
        }
        let drawn = run.drawing(&lamp, 0.0, 400.0, 50).unwrap();
        let trace = drawn.traces.iter().find(|trace| trace.name == "pair").unwrap();
        assert!(trace.at.len() == 50 && trace.unit == "degC");
        // A column of the drawing in which the terminals jump by 5 K holds one value of them.
        let off = trace.first.iter().filter(|celsius| (*celsius - 50.0).abs() > 0.05).count();
        assert!(off <= 2, "{trace:?}");
        // The column goes before the value of 20 degC that the other sensor has.
        let other = found.plateaus.iter().find(|p| p.sensor == "other").unwrap();
        assert!((other.settled_sensor_c.unwrap() - 50.0).abs() < 0.05, "{other:?}");
    }

    #[test]
    fn a_cold_junction_may_belong_to_one_sensor_alone() {
        let of_pair = format!("{COLD}sensor = \"pair\"\n");
        let (run, lamp) = run(&[(100.0, 30.0)], &of_pair);
        let found = evaluate(&run, &lamp);
        let settled = |name: &str| {
            found.plateaus.iter().find(|p| p.sensor == name).and_then(|p| p.settled_sensor_c).unwrap()
        };
        assert!((settled("pair") - 100.0).abs() < 0.05, "{found:#?}");
        // Its own value of 20 degC holds for the other: 10 K at some 41 uV/K less.
        assert!((settled("other") - 90.1).abs() < 0.3, "{found:#?}");
    }

    #[test]
    fn a_thermocouple_without_cold_junction_is_told() {
        let (run, lamp) = run(&[(50.0, 20.0)], "");
        let found = evaluate(&run, &lamp);
        assert!(found.plateaus.iter().all(|plateau| plateau.sensor == "other"), "{found:#?}");
        assert!(
            found.remarks.iter().any(|text| text.contains("pair") && text.contains("is = \"cold junction\"")),
            "{:?}",
            found.remarks
        );
    }

    /// A row without its cold junction has no temperature, even where a value is stated.
    #[test]
    fn a_row_without_its_cold_junction_is_missing() {
        use lamp::sensor_law::{SensorLaw, ThermocoupleType};
        let law = SensorLaw::Thermocouple { kind: ThermocoupleType::K, cold_junction_c: Some(20.0) };
        let found = super::all_celsius(law, &[1.225e-3; 3], Some(&[20.0, f64::NAN]));
        assert!((found[0] - 50.0).abs() < 0.05 && found[1].is_nan() && found[2].is_nan(), "{found:?}");
    }
}

//! Sensor laws: what a board sensor puts out at a temperature, and back; how well it and its logger can tell one.

pub mod accuracy;
pub mod calibration;
pub mod doubt;
pub mod platinum;
pub mod telling;
pub mod thermistor;
pub mod thermocouple;

use std::fmt;

use lamp::sensor_law::{Divider, SensorLaw};

/// Why an output has no temperature, or a temperature no output.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum NoReading {
    /// The law is not stated at this temperature, degC.
    OutsideTemperatures {
        /// What was asked, degC.
        temperature_c: f64,
        /// Lowest temperature of the law, degC.
        low_c: f64,
        /// Highest temperature of the law, degC.
        high_c: f64,
    },
    /// The sensor cannot put this out.
    OutsideOutputs {
        /// What was read.
        output: f64,
        /// Lowest output of the law.
        low: f64,
        /// Highest output of the law.
        high: f64,
        /// Unit of the three.
        unit: &'static str,
    },
    /// Every temperature gives the same output.
    Flat,
    /// The constants of the law give no curve.
    NoSuchCurve,
    /// A thermocouple without the temperature of its cold junction.
    NoColdJunction,
}

impl fmt::Display for NoReading {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::OutsideTemperatures { temperature_c, low_c, high_c } => {
                write!(f, "{temperature_c:.1} degC lies outside this sensor's {low_c} to {high_c} degC")
            }
            Self::OutsideOutputs { output, low, high, unit } => {
                let (times, unit) = if *unit == "V" { (1e3, "mV") } else { (1.0, *unit) };
                let [output, low, high] =
                    [output, low, high].map(|value| (value * times * 100.0).round() / 100.0);
                write!(
                    f,
                    "{output} {unit} is nothing this sensor can put out ({low} to {high} {unit}): a wire is broken or \
                     shorted, or the sensor is another than the one named"
                )
            }
            Self::Flat => f.write_str("the sensor's slope is 0, so every temperature gives the same output"),
            Self::NoSuchCurve => f.write_str("the sensor's constants give no resistance at this temperature"),
            Self::NoColdJunction => f.write_str(
                "a thermocouple needs the temperature of its cold junction: a column of the log or a value",
            ),
        }
    }
}

/// What a sensor's output is counted in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum OutputUnit {
    /// V.
    Volt,
    /// Ohm.
    Ohm,
    /// degC.
    DegreesCelsius,
}

/// What the output of a sensor with this law is counted in.
#[must_use]
pub fn output_unit(law: SensorLaw) -> OutputUnit {
    match law {
        SensorLaw::Thermistor { divider: None, .. } | SensorLaw::Platinum { divider: None, .. } => {
            OutputUnit::Ohm
        }
        SensorLaw::DegreesCelsius => OutputUnit::DegreesCelsius,
        _ => OutputUnit::Volt,
    }
}

/// Output voltage of a linear-output sensor, V.
///
/// Equation: `v = at_0_degc_v + slope_v_per_k * temperature_c`, `temperature_c` in degC. It holds inside the sensor's
/// own range, which its datasheet states; nothing is cut off here.
///
/// Source: the definition of a linear-output temperature sensor. Worked example of the class with 500 mV at 0 degC and
/// 10 mV/K: 60 degC gives 1.1 V.
#[must_use]
pub fn linear_output_v(temperature_c: f64, at_0_degc_v: f64, slope_v_per_k: f64) -> f64 {
    slope_v_per_k.mul_add(temperature_c, at_0_degc_v)
}

/// Temperature at which a linear-output sensor puts out `output_v`, degC; the inverse of [`linear_output_v`].
///
/// `None` when the slope is 0, for then every temperature gives the same voltage.
#[must_use]
pub fn linear_output_temperature_c(output_v: f64, at_0_degc_v: f64, slope_v_per_k: f64) -> Option<f64> {
    (slope_v_per_k != 0.0).then(|| (output_v - at_0_degc_v) / slope_v_per_k)
}

/// What a sensor with this law puts out at `temperature_c` (degC), in its [`output_unit`]. `cold_junction_c` is the logged
/// temperature of a thermocouple's cold junction, degC; without it the law's own value is taken.
///
/// # Errors
/// Outside the law's range, and for a thermocouple whose cold junction nobody states.
pub fn output(law: SensorLaw, temperature_c: f64, cold_junction_c: Option<f64>) -> Result<f64, NoReading> {
    let through = |divider: Option<Divider>, ohm: f64| divider.map_or(ohm, |d| thermistor::divider_v(d, ohm));
    match law {
        SensorLaw::LinearOutput { at_0_degc_v, slope_v_per_k } => {
            Ok(linear_output_v(temperature_c, at_0_degc_v, slope_v_per_k))
        }
        SensorLaw::Thermistor { curve, divider } => {
            Ok(through(divider, thermistor::resistance_ohm(curve, temperature_c)?))
        }
        SensorLaw::Platinum { at_0_degc_ohm, lead_ohm, divider } => {
            Ok(through(divider, platinum::resistance_ohm(at_0_degc_ohm, temperature_c)? + lead_ohm))
        }
        SensorLaw::Thermocouple { kind, cold_junction_c: stated } => {
            let cold_c = cold_junction_c.or(stated).ok_or(NoReading::NoColdJunction)?;
            Ok(1e-3 * (thermocouple::emf_mv(kind, temperature_c)? - thermocouple::emf_mv(kind, cold_c)?))
        }
        SensorLaw::ForwardVoltage { reference_c, reference_v, slope_v_per_k } => {
            Ok(linear_output_v(temperature_c - reference_c, reference_v, slope_v_per_k))
        }
        SensorLaw::DegreesCelsius => Ok(temperature_c),
    }
}

/// The temperature, degC, that a sensor with this law shows by `output` (in its [`output_unit`]); the inverse of [`output`].
///
/// The forward voltage of an emitter: `T = T_ref + (v - v_ref) / slope`, at one small current throughout (the K-factor
/// method of JESD51-1 and JESD51-51, from memory).
///
/// # Errors
/// When the sensor cannot put this out, and for a thermocouple whose cold junction nobody states.
pub fn temperature_of(law: SensorLaw, output: f64, cold_junction_c: Option<f64>) -> Result<f64, NoReading> {
    let ohm = |divider: Option<Divider>| match divider {
        Some(divider) => thermistor::divider_sensor_ohm(divider, output),
        None => Ok(output),
    };
    let finite = |celsius: f64| {
        let anywhere = NoReading::OutsideOutputs { output, low: f64::MIN, high: f64::MAX, unit: "" };
        if celsius.is_finite() { Ok(celsius) } else { Err(anywhere) }
    };
    match law {
        SensorLaw::LinearOutput { at_0_degc_v, slope_v_per_k } => {
            finite(linear_output_temperature_c(output, at_0_degc_v, slope_v_per_k).ok_or(NoReading::Flat)?)
        }
        SensorLaw::Thermistor { curve, divider } => thermistor::temperature_c(curve, ohm(divider)?),
        SensorLaw::Platinum { at_0_degc_ohm, lead_ohm, divider } => {
            platinum::temperature_c(at_0_degc_ohm, ohm(divider)? - lead_ohm)
        }
        SensorLaw::Thermocouple { kind, cold_junction_c: stated } => {
            let cold_c = cold_junction_c.or(stated).ok_or(NoReading::NoColdJunction)?;
            thermocouple::temperature_c(kind, output, cold_c)
        }
        SensorLaw::ForwardVoltage { reference_c, reference_v, slope_v_per_k } => {
            let above =
                linear_output_temperature_c(output, reference_v, slope_v_per_k).ok_or(NoReading::Flat)?;
            finite(reference_c + above)
        }
        SensorLaw::DegreesCelsius => finite(output),
    }
}

/// What a sensor with this law puts out at `temperature_c` (degC), in V; `None` where it puts out no voltage there.
#[must_use]
pub fn output_v(law: SensorLaw, temperature_c: f64) -> Option<f64> {
    if output_unit(law) == OutputUnit::Volt { output(law, temperature_c, None).ok() } else { None }
}

/// The resistance of a sensor with this law at `temperature_c` (degC), ohm; `None` where its resistance is not what is logged.
#[must_use]
pub fn output_ohm(law: SensorLaw, temperature_c: f64) -> Option<f64> {
    if output_unit(law) == OutputUnit::Ohm { output(law, temperature_c, None).ok() } else { None }
}

/// The temperature, degC, that a sensor with this law shows by `output` (in its [`output_unit`]); `None` where there is none.
#[must_use]
pub fn temperature_c(law: SensorLaw, output: f64) -> Option<f64> {
    temperature_of(law, output, None).ok()
}

/// How fast the output grows with the temperature at `temperature_c` (degC), output's unit per K; by a central difference
/// over 20 mK, which is good to some 1e-6 of it for every law here.
///
/// # Errors
/// As [`output`].
pub fn sensitivity_per_k(
    law: SensorLaw,
    temperature_c: f64,
    cold_junction_c: Option<f64>,
) -> Result<f64, NoReading> {
    const HALF_K: f64 = 0.01;
    let at = |celsius| output(law, celsius, cold_junction_c);
    Ok((at(temperature_c + HALF_K)? - at(temperature_c - HALF_K)?) / (2.0 * HALF_K))
}

/// Where a function that rises from below 0 at `low` to above 0 at `high` passes 0, to rounding: bisection, with the secant's
/// guess wherever it shortens the bracket.
fn solve_rising(f: impl Fn(f64) -> f64, mut low: f64, mut high: f64) -> f64 {
    for _ in 0..200 {
        let (at_low, at_high) = (f(low), f(high));
        if at_low >= 0.0 {
            return low;
        }
        if at_high <= 0.0 {
            return high;
        }
        let secant = low - at_low * (high - low) / (at_high - at_low);
        // A little to either side of the secant's guess the bracket closes at once near the root.
        let nudge = 1e-6 * (high - low);
        for guess in [secant - nudge, secant + nudge, 0.5 * (low + high)] {
            if guess > low && guess < high {
                if f(guess) < 0.0 { low = guess } else { high = guess }
            }
        }
        if high - low <= 1e-13 * (1.0 + low.abs()) {
            break;
        }
    }
    0.5 * (low + high)
}

#[cfg(test)]
mod tests {
    use super::*;
    use lamp::sensor_law::{ThermistorCurve, ThermocoupleType};

    const CLASS: SensorLaw = SensorLaw::LinearOutput { at_0_degc_v: 0.5, slope_v_per_k: 0.010 };

    /// Source: the definition of the class (500 mV at 0 degC, 10 mV/K), `t = (v - 0.5) / 0.010`.
    const DEFINITION: [(f64, f64); 5] = [(0.1, -40.0), (0.5, 0.0), (0.75, 25.0), (1.1, 60.0), (1.75, 125.0)];

    #[test]
    fn linear_output_follows_the_definition_of_its_class() {
        for (volts, celsius) in DEFINITION {
            assert!((output_v(CLASS, celsius).unwrap() - volts).abs() < 1e-12, "{celsius} degC");
            let back = temperature_c(CLASS, volts).expect("a slope that is not 0");
            assert!((back - celsius).abs() < 1e-10, "{volts} V gave {back}");
        }
    }

    /// Source: definition of a 12-bit reading against a 3.3 V reference, `v = code * 3.3 / 4096`; code 1234.
    #[test]
    fn a_twelve_bit_reading_turns_into_the_defined_temperature() {
        let volts: f64 = 1234.0 * 3.3 / 4096.0;
        assert!((volts - 0.994_189_453_125).abs() < 1e-12);
        let celsius = temperature_c(CLASS, volts).expect("a slope that is not 0");
        assert!((celsius - 49.418_945_312_5).abs() < 1e-10);
    }

    #[test]
    fn a_flat_sensor_has_no_inverse() {
        assert_eq!(linear_output_temperature_c(0.7, 0.5, 0.0), None);
        let flat = SensorLaw::LinearOutput { at_0_degc_v: 0.5, slope_v_per_k: 0.0 };
        assert_eq!(temperature_of(flat, 0.7, None), Err(NoReading::Flat));
    }

    #[test]
    fn a_falling_output_is_as_good_as_a_rising_one() {
        let falling = SensorLaw::LinearOutput { at_0_degc_v: 2.0, slope_v_per_k: -0.005 };
        assert!((output_v(falling, 100.0).unwrap() - 1.5).abs() < 1e-12);
        assert!((temperature_c(falling, 1.5).expect("invertible") - 100.0).abs() < 1e-9);
    }

    /// Source: least squares through a K-factor calibration (25 to 100 degC), JESD51-1 from memory: -1.62300952381 mV/K,
    /// 2.78271142857 V at 0 degC; 2.65575 V is 78.2259294902 degC.
    #[test]
    fn a_forward_voltage_is_a_junction_thermometer() {
        let slope = -1.623_009_523_81e-3;
        let law = SensorLaw::ForwardVoltage {
            reference_c: 25.0,
            reference_v: 2.782_711_428_57 + 25.0 * slope,
            slope_v_per_k: slope,
        };
        assert!((temperature_c(law, 2.65575).unwrap() - 78.225_929_490_2).abs() < 1e-7);
    }

    /// Every law, both ways.
    #[test]
    fn every_law_comes_back() {
        let curve = ThermistorCurve::Beta { at_25_degc_ohm: 1e4, beta_k: 3435.0 };
        let divider = Divider {
            fixed_ohm: 4700.0,
            fixed_tolerance: 0.01,
            supply_v: 5.0,
            supply_tolerance: 0.02,
            side: lamp::sensor_law::DividerSide::Supply,
        };
        let laws = [
            CLASS,
            SensorLaw::Thermistor { curve, divider: None },
            SensorLaw::Thermistor { curve, divider: Some(divider) },
            SensorLaw::Platinum { at_0_degc_ohm: 1000.0, lead_ohm: 0.4, divider: None },
            SensorLaw::Platinum { at_0_degc_ohm: 1000.0, lead_ohm: 0.0, divider: Some(divider) },
            SensorLaw::Thermocouple { kind: ThermocoupleType::K, cold_junction_c: Some(22.5) },
            SensorLaw::ForwardVoltage { reference_c: 21.0, reference_v: 2.7, slope_v_per_k: -0.0016 },
            SensorLaw::DegreesCelsius,
        ];
        for law in laws {
            for celsius in [-40.0, 0.0, 25.0, 61.3, 150.0] {
                let back = temperature_of(law, output(law, celsius, None).unwrap(), None).unwrap();
                assert!((back - celsius).abs() < 1e-8, "{law:?} {celsius}: {back}");
            }
            for wild in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
                assert!(temperature_of(law, wild, None).is_err(), "{law:?} {wild}");
            }
        }
    }

    #[test]
    fn a_logged_cold_junction_goes_before_the_stated_one() {
        let law = SensorLaw::Thermocouple { kind: ThermocoupleType::K, cold_junction_c: None };
        assert_eq!(temperature_of(law, 0.001, None), Err(NoReading::NoColdJunction));
        let volts = output(law, 80.0, Some(31.0)).unwrap();
        let stated = SensorLaw::Thermocouple { kind: ThermocoupleType::K, cold_junction_c: Some(20.0) };
        assert!((temperature_of(stated, volts, Some(31.0)).unwrap() - 80.0).abs() < 1e-9);
        assert!((temperature_of(stated, volts, None).unwrap() - 80.0).abs() > 5.0);
    }
}

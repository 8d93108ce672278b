//! Thermistors of negative temperature coefficient, and the divider they are read in.
//!
//! Equations: `R = R25 exp(B (1/T - 1/298.15 K))`; or `1/T = a + b ln R + c (ln R)^3` with R in ohm, T in K. Both are fits that
//! hold between the temperatures for which their maker gives the constants: B some 25 to 85 degC, Steinhart-Hart through
//! three points a few millikelvin between them.
//!
//! Sources: the definition of B; J. S. Steinhart and S. R. Hart, Deep-Sea Research 15 (1968) 497.

use lamp::sensor_law::{Divider, DividerSide, ThermistorCurve};

use super::NoReading;

const ZERO_C_IN_K: f64 = 273.15;
const REFERENCE_K: f64 = 298.15;

/// Temperatures beyond which a thermistor's reading is taken for a broken or shorted wire, degC.
pub const RANGE_C: [f64; 2] = [-80.0, 300.0];

/// Resistance, ohm, at `temperature_c` (degC).
///
/// # Errors
/// Outside [`RANGE_C`], or where the constants give no resistance there.
pub fn resistance_ohm(curve: ThermistorCurve, temperature_c: f64) -> Result<f64, NoReading> {
    let [low_c, high_c] = RANGE_C;
    if !(low_c..=high_c).contains(&temperature_c) {
        return Err(NoReading::OutsideTemperatures { temperature_c, low_c, high_c });
    }
    let kelvin = temperature_c + ZERO_C_IN_K;
    let ohm = match curve {
        ThermistorCurve::Beta { at_25_degc_ohm, beta_k } => {
            at_25_degc_ohm * (beta_k * (1.0 / kelvin - 1.0 / REFERENCE_K)).exp()
        }
        ThermistorCurve::SteinhartHart { a, b, c } => log_resistance(a - 1.0 / kelvin, b, c).exp(),
    };
    if ohm.is_finite() && ohm > 0.0 { Ok(ohm) } else { Err(NoReading::NoSuchCurve) }
}

/// The real root x of `c x^3 + b x + d = 0` for b, c > 0, where it rises everywhere.
fn log_resistance(d: f64, b: f64, c: f64) -> f64 {
    if c <= 0.0 {
        return -d / b;
    }
    let (p, q) = (b / c, d / c);
    // Cardano in the hyperbolic form, which loses no digits by subtracting.
    let scale = (p / 3.0).sqrt();
    -2.0 * scale * (((1.5 * q / p) / scale).asinh() / 3.0).sinh()
}

/// Temperature, degC, at which the thermistor has `resistance_ohm`; the inverse of [`resistance_ohm`].
///
/// # Errors
/// When there is none within [`RANGE_C`].
pub fn temperature_c(curve: ThermistorCurve, resistance_ohm: f64) -> Result<f64, NoReading> {
    let logarithm = resistance_ohm.ln();
    let inverse_k = match curve {
        ThermistorCurve::Beta { at_25_degc_ohm, beta_k } => {
            1.0 / REFERENCE_K + (resistance_ohm / at_25_degc_ohm).ln() / beta_k
        }
        ThermistorCurve::SteinhartHart { a, b, c } => a + b * logarithm + c * logarithm.powi(3),
    };
    let celsius = 1.0 / inverse_k - ZERO_C_IN_K;
    let [low_c, high_c] = RANGE_C;
    if inverse_k.is_finite() && inverse_k > 0.0 && (low_c..=high_c).contains(&celsius) {
        return Ok(celsius);
    }
    let [high, low] = RANGE_C.map(|t| self::resistance_ohm(curve, t).unwrap_or(f64::NAN));
    Err(NoReading::OutsideOutputs { output: resistance_ohm, low, high, unit: "ohm" })
}

/// Voltage at the middle of a divider, V, with the sensor at `sensor_ohm`.
#[must_use]
pub fn divider_v(divider: Divider, sensor_ohm: f64) -> f64 {
    let part = sensor_ohm / (sensor_ohm + divider.fixed_ohm);
    divider.supply_v * if divider.side == DividerSide::Ground { part } else { 1.0 - part }
}

/// Resistance of the sensor, ohm, when the middle of its divider is at `volts`; the inverse of [`divider_v`].
///
/// # Errors
/// At and outside the ends of the supply.
pub fn divider_sensor_ohm(divider: Divider, volts: f64) -> Result<f64, NoReading> {
    if !(volts > 0.0 && volts < divider.supply_v) {
        return Err(NoReading::OutsideOutputs { output: volts, low: 0.0, high: divider.supply_v, unit: "V" });
    }
    let other = divider.supply_v - volts;
    Ok(divider.fixed_ohm * if divider.side == DividerSide::Ground { volts / other } else { other / volts })
}

#[cfg(test)]
mod tests {
    use super::*;

    const B3950: ThermistorCurve = ThermistorCurve::Beta { at_25_degc_ohm: 10e3, beta_k: 3950.0 };

    /// Source: the definition `1/T = 1/298.15 + ln(R/R25)/B`, R25 = 10 kohm, B = 3950 K, solved by Brent's method on R(T).
    #[test]
    fn the_b_equation_gives_its_values() {
        for (ohm, celsius) in
            [(32e3, 0.936_367_796_566), (10e3, 25.0), (3300.0, 52.228_654_668_6), (1100.0, 84.604_533_170_3)]
        {
            assert!((temperature_c(B3950, ohm).unwrap() - celsius).abs() < 1e-9, "{ohm} ohm");
            assert!((resistance_ohm(B3950, celsius).unwrap() / ohm - 1.0).abs() < 1e-12, "{celsius} degC");
        }
    }

    /// Source: printed calibration table of a 10 kohm thermistor in a laser temperature controller's manual (appendix A, a
    /// public copy): 19549 ohm at 10, 12262 at 20, 7908 at 30 degC; the constants are those through its points at 0, 25
    /// and 50 degC. Resistances are printed to 1 ohm (3 mK) and the manual's own fit is off by up to 0.9 mK.
    #[test]
    fn steinhart_and_hart_meet_a_printed_calibration() {
        let curve = ThermistorCurve::SteinhartHart {
            a: 1.104_159_124_81e-3,
            b: 2.389_179_467_15e-4,
            c: 6.931_626_525_99e-8,
        };
        for (ohm, celsius) in
            [(32128.0, 0.0), (19549.0, 10.0), (12262.0, 20.0), (9814.0, 25.0), (7908.0, 30.0), (3542.0, 50.0)]
        {
            let found = temperature_c(curve, ohm).unwrap();
            assert!((found - celsius).abs() < 4e-3, "{ohm} ohm: {found}");
            assert!(
                (resistance_ohm(curve, found).unwrap() / ohm - 1.0).abs() < 1e-11,
                "{ohm} ohm comes back"
            );
        }
    }

    /// Source: Ohm's law: 1.2 V of 3.3 V over 10 kohm to the supply are 5714.286 ohm, by B = 3950 K 38.1494 degC.
    #[test]
    fn a_divider_gives_its_resistance() {
        let divider = Divider {
            fixed_ohm: 10e3,
            fixed_tolerance: 0.0,
            supply_v: 3.3,
            supply_tolerance: 0.0,
            side: DividerSide::Ground,
        };
        let ohm = divider_sensor_ohm(divider, 1.2).unwrap();
        assert!((ohm - 5_714.285_714_29).abs() < 1e-6);
        assert!((temperature_c(B3950, ohm).unwrap() - 38.149_400_738_9).abs() < 1e-8);
        let other = Divider { side: DividerSide::Supply, ..divider };
        assert!((divider_sensor_ohm(other, 2.1).unwrap() - ohm).abs() < 1e-6);
        assert!((divider_v(other, ohm) - 2.1).abs() < 1e-12 && (divider_v(divider, ohm) - 1.2).abs() < 1e-12);
    }

    #[test]
    fn a_broken_or_shorted_wire_is_no_temperature() {
        for ohm in [0.0, 1e12, -5.0, f64::NAN] {
            assert!(temperature_c(B3950, ohm).is_err(), "{ohm}");
        }
        let divider = Divider {
            fixed_ohm: 1e4,
            fixed_tolerance: 0.0,
            supply_v: 3.3,
            supply_tolerance: 0.0,
            side: DividerSide::Ground,
        };
        for volts in [0.0, 3.3, 4.0, f64::NAN] {
            assert!(divider_sensor_ohm(divider, volts).is_err(), "{volts}");
        }
    }
}

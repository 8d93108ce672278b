//! Platinum resistors.
//!
//! Equation: `R = R0 (1 + A t + B t^2)` at and above 0 degC, `R = R0 (1 + A t + B t^2 + C (t - 100) t^3)` below; t in degC,
//! A = 3.9083e-3 1/K, B = -5.775e-7 1/K^2, C = -4.183e-12 1/K^4. Range: -200 to 850 degC.
//!
//! Source: IEC 60751:2008 (= IEC 60751:2022 in these values), 4.2.

use super::NoReading;

const A: f64 = 3.9083e-3;
const B: f64 = -5.775e-7;
const C: f64 = -4.183e-12;

/// Temperatures between which the equation is stated, degC.
pub const RANGE_C: [f64; 2] = [-200.0, 850.0];

fn ratio(t: f64) -> f64 {
    let below = if t < 0.0 { C * (t - 100.0) * t.powi(3) } else { 0.0 };
    1.0 + A * t + B * t * t + below
}

/// Resistance, ohm, of a resistor of `at_0_degc_ohm` (100 for a Pt100) at `temperature_c` (degC).
///
/// # Errors
/// Outside [`RANGE_C`].
pub fn resistance_ohm(at_0_degc_ohm: f64, temperature_c: f64) -> Result<f64, NoReading> {
    let [low_c, high_c] = RANGE_C;
    if !(low_c..=high_c).contains(&temperature_c) {
        return Err(NoReading::OutsideTemperatures { temperature_c, low_c, high_c });
    }
    Ok(at_0_degc_ohm * ratio(temperature_c))
}

/// Temperature, degC, at which a resistor of `at_0_degc_ohm` has `resistance_ohm`; the inverse of [`resistance_ohm`].
///
/// # Errors
/// When the answer lies outside [`RANGE_C`].
pub fn temperature_c(at_0_degc_ohm: f64, resistance_ohm: f64) -> Result<f64, NoReading> {
    let [low_c, high_c] = RANGE_C;
    let [low, high] = RANGE_C.map(|t| at_0_degc_ohm * ratio(t));
    if !(low..=high).contains(&resistance_ohm) {
        return Err(NoReading::OutsideOutputs { output: resistance_ohm, low, high, unit: "ohm" });
    }
    Ok(super::solve_rising(|t| at_0_degc_ohm * ratio(t) - resistance_ohm, low_c, high_c))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: IEC 60751:2008, table of the Pt100, printed to 0.01 ohm (read on public sensor-vendor reference pages).
    const TABLE_OHM: [f64; 31] = [
        80.31, 84.27, 88.22, 92.16, 96.09, 100.0, 103.9, 107.79, 111.67, 115.54, 119.4, 123.24, 127.08,
        130.9, 134.71, 138.51, 142.29, 146.07, 149.83, 153.58, 157.33, 161.05, 164.77, 168.48, 172.17,
        175.86, 179.53, 183.19, 186.84, 190.47, 194.1,
    ];

    #[test]
    fn a_pt100_has_the_table_of_iec_60751() {
        for (step, printed) in TABLE_OHM.iter().enumerate() {
            let celsius = -50.0 + 10.0 * step as f64;
            let found = resistance_ohm(100.0, celsius).unwrap();
            assert!((found - printed).abs() <= 0.005_01, "{celsius} degC: {found} ohm");
        }
    }

    /// Source: the equation, solved independently to 14 digits.
    #[test]
    fn a_pt1000_gives_its_temperature() {
        let rows = [
            (850.0, -38.156_513_578_4),
            (1077.9, 19.990_991_466_8),
            (1234.5, 60.542_112_456_1),
            (1460.0, 119.819_619_277),
        ];
        for (ohm, celsius) in rows {
            let found = temperature_c(1000.0, ohm).unwrap();
            assert!((found - celsius).abs() < 1e-8, "{ohm} ohm: {found}");
        }
    }

    #[test]
    fn a_broken_wire_is_no_temperature() {
        assert!(temperature_c(100.0, 1e6).unwrap_err().to_string().contains("390.48 ohm"));
        assert!(temperature_c(100.0, 0.0).is_err());
        assert!(resistance_ohm(100.0, f64::NAN).is_err());
    }
}

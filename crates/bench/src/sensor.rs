//! Sensor laws: what a board sensor puts out at a temperature, and back.

use lamp::as_built::SensorLaw;

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

/// What a sensor with this law puts out at `temperature_c` (degC), in V.
#[must_use]
pub fn output_v(law: SensorLaw, temperature_c: f64) -> f64 {
    match law {
        SensorLaw::LinearOutput { at_0_degc_v, slope_v_per_k } => {
            linear_output_v(temperature_c, at_0_degc_v, slope_v_per_k)
        }
    }
}

/// The temperature, degC, that a sensor with this law shows by `output_v` (V); `None` where the law has no inverse.
#[must_use]
pub fn temperature_c(law: SensorLaw, output_v: f64) -> Option<f64> {
    match law {
        SensorLaw::LinearOutput { at_0_degc_v, slope_v_per_k } => {
            linear_output_temperature_c(output_v, at_0_degc_v, slope_v_per_k)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const CLASS: SensorLaw = SensorLaw::LinearOutput { at_0_degc_v: 0.5, slope_v_per_k: 0.010 };

    /// Source: the definition of the class (500 mV at 0 degC, 10 mV/K), `t = (v - 0.5) / 0.010`.
    const DEFINITION: [(f64, f64); 5] = [(0.1, -40.0), (0.5, 0.0), (0.75, 25.0), (1.1, 60.0), (1.75, 125.0)];

    #[test]
    fn linear_output_follows_the_definition_of_its_class() {
        for (volts, celsius) in DEFINITION {
            assert!((output_v(CLASS, celsius) - volts).abs() < 1e-12, "{celsius} degC");
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
    }

    #[test]
    fn a_falling_output_is_as_good_as_a_rising_one() {
        let falling = SensorLaw::LinearOutput { at_0_degc_v: 2.0, slope_v_per_k: -0.005 };
        assert!((output_v(falling, 100.0) - 1.5).abs() < 1e-12);
        assert!((temperature_c(falling, 1.5).expect("invertible") - 100.0).abs() < 1e-9);
    }
}

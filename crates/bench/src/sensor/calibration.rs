//! Constants of a sensor from points that were measured: a thermistor's through three points, the forward voltage's slope from several.

use lamp::sensor_law::ThermistorCurve;
use nalgebra::{Matrix3, Vector3};

/// The Steinhart-Hart constants through three points (ohm, degC); `None` when two of them are the same or give no falling curve.
///
/// Equation: `1/T = a + b ln R + c (ln R)^3` at each, a linear system (J. S. Steinhart and S. R. Hart, Deep-Sea Research 15 (1968) 497).
#[must_use]
pub fn steinhart_hart_through(points: [(f64, f64); 3]) -> Option<ThermistorCurve> {
    let rows = points.map(|(ohm, _)| ohm.ln());
    let matrix = Matrix3::from_fn(|i, j| rows[i].powi([0, 1, 3][j]));
    let inverse_k = Vector3::from(points.map(|(_, celsius)| 1.0 / (celsius + 273.15)));
    let [a, b, c]: [f64; 3] = matrix.lu().solve(&inverse_k)?.into();
    ([a, b, c].iter().all(|x| x.is_finite()) && b > 0.0 && c >= 0.0)
        .then_some(ThermistorCurve::SteinhartHart { a, b, c })
}

/// A straight line of forward voltage over temperature at one small current.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct VoltageLine {
    /// Change with the temperature, V/K; negative.
    pub slope_v_per_k: f64,
    /// Its standard uncertainty, V/K.
    pub slope_standard_v_per_k: f64,
    /// Voltage at 0 degC, V.
    pub at_0_degc_v: f64,
    /// Deviation of the points from the line, V.
    pub residual_v: f64,
    points: f64,
    mean_c: f64,
    squares_k2: f64,
}

impl VoltageLine {
    /// Junction temperature, degC, for a voltage, V, and its standard uncertainty, K, from the points' deviation.
    ///
    /// Equation: `u = s / |slope| sqrt(1 + 1/n + (T - mean)^2 / Sxx)`.
    #[must_use]
    pub fn temperature_c(&self, volts: f64) -> (f64, f64) {
        let celsius = (volts - self.at_0_degc_v) / self.slope_v_per_k;
        let far = (celsius - self.mean_c).powi(2) / self.squares_k2;
        (celsius, self.residual_v / self.slope_v_per_k.abs() * (1.0 + 1.0 / self.points + far).sqrt())
    }
}

/// The line through points (degC, V) of an oven or a water bath, by least squares; at least three temperatures that differ.
///
/// Source: the K factor of JESD51-1 and JESD51-51 (from memory); ordinary regression.
#[must_use]
pub fn forward_voltage_line(points: &[(f64, f64)]) -> Option<VoltageLine> {
    let n = points.len() as f64;
    let mean_c = points.iter().map(|p| p.0).sum::<f64>() / n;
    let mean_v = points.iter().map(|p| p.1).sum::<f64>() / n;
    let squares_k2: f64 = points.iter().map(|p| (p.0 - mean_c).powi(2)).sum();
    let slope = points.iter().map(|p| (p.0 - mean_c) * (p.1 - mean_v)).sum::<f64>() / squares_k2;
    let at_0_degc_v = mean_v - slope * mean_c;
    let left: f64 = points.iter().map(|p| (p.1 - at_0_degc_v - slope * p.0).powi(2)).sum();
    let residual_v = (left / (n - 2.0)).sqrt();
    (points.len() > 2 && slope.is_finite() && slope != 0.0 && residual_v.is_finite()).then_some(VoltageLine {
        slope_v_per_k: slope,
        slope_standard_v_per_k: residual_v / squares_k2.sqrt(),
        at_0_degc_v,
        residual_v,
        points: n,
        mean_c,
        squares_k2,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: fit through three points of a printed calibration table (a laser temperature controller's manual, appendix A, a public
    /// copy), solved independently.
    #[test]
    fn steinhart_and_hart_go_through_three_points() {
        let points = [(32128.0, 0.0), (9814.0, 25.0), (3542.0, 50.0)];
        let Some(ThermistorCurve::SteinhartHart { a, b, c }) = steinhart_hart_through(points) else {
            panic!("no curve")
        };
        for (found, solved) in [(a, 1.104_159_124_81e-3), (b, 2.389_179_467_15e-4), (c, 6.931_626_525_99e-8)]
        {
            assert!((found / solved - 1.0).abs() < 1e-9, "{found} {solved}");
        }
        assert_eq!(steinhart_hart_through([(1e4, 25.0), (1e4, 25.0), (3e3, 50.0)]), None);
        assert_eq!(steinhart_hart_through([(1e3, 25.0), (1e4, 50.0), (1e5, 90.0)]), None);
    }

    /// Source: least squares line by a statistics library over a K-factor calibration; JESD51-1 from memory.
    #[test]
    fn a_forward_voltage_is_calibrated_by_its_line() {
        let points = [
            (25.0, 2.7421),
            (40.0, 2.71786),
            (55.0, 2.69345),
            (70.0, 2.66902),
            (85.0, 2.64481),
            (100.0, 2.6204),
        ];
        let line = forward_voltage_line(&points).unwrap();
        assert!((line.slope_v_per_k + 1.623_009_523_81e-3).abs() < 1e-13, "{line:?}");
        assert!((line.at_0_degc_v - 2.782_711_428_57).abs() < 1e-11, "{line:?}");
        assert!((line.residual_v - 6.259_088_629_83e-5).abs() < 1e-14, "{line:?}");
        assert!((line.slope_standard_v_per_k - 9.974_722_398_31e-7).abs() < 1e-16, "{line:?}");
        let (celsius, standard) = line.temperature_c(2.65575);
        assert!((celsius - 78.225_929_490_2).abs() < 1e-8 && (standard - 0.042_761_186_944_3).abs() < 1e-10);
        assert_eq!(forward_voltage_line(&points[..2]), None);
        assert_eq!(forward_voltage_line(&[(25.0, 2.7); 5]), None);
    }
}

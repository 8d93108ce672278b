//! A fan's curve of pressure against flow, at rated and at other voltages.

/// Pressure rise of a fan over its flow.
#[derive(Debug, Clone, PartialEq)]
pub struct FanCurve {
    /// Flow, m³/s, ascending, and static pressure, Pa.
    points: Vec<(f64, f64)>,
}

impl FanCurve {
    /// From points of flow (m³/s, ascending, the first usually 0) and pressure (Pa).
    ///
    /// # Errors
    /// A sentence when there are fewer than two points, a value is no number or below 0, flows do not ascend, or the last
    /// pressure is above the first (the curve must fall from start to end).
    pub fn new(points: Vec<(f64, f64)>) -> Result<Self, String> {
        if points.len() < 2 {
            return Err(
                "a fan curve needs two points at least: the pressure at no flow, and the flow at no pressure"
                    .into(),
            );
        }
        if let Some((q, p)) =
            points.iter().find(|(q, p)| !(q.is_finite() && p.is_finite() && *q >= 0.0 && *p >= 0.0))
        {
            return Err(format!("the fan curve has the point {q} m3/s, {p} Pa: both must be 0 or more"));
        }
        if let Some(pair) = points.windows(2).find(|w| w[1].0 <= w[0].0) {
            return Err(format!(
                "the fan curve's flows must ascend; {} m3/s follows {} m3/s",
                pair[1].0, pair[0].0
            ));
        }
        if points[points.len() - 1].1 >= points[0].1 {
            return Err("the fan curve must fall: its last pressure is not below its first".into());
        }
        Ok(Self { points })
    }

    /// Points: flow, m³/s, and pressure, Pa.
    #[must_use]
    pub fn points(&self) -> &[(f64, f64)] {
        &self.points
    }

    /// Pressure at a flow, Pa: straight lines between the points, the outer ones continued (negative beyond free delivery).
    #[must_use]
    pub fn pressure_pa(&self, flow_m3_per_s: f64) -> f64 {
        let after = self.points.partition_point(|p| p.0 <= flow_m3_per_s).clamp(1, self.points.len() - 1);
        let ((q0, p0), (q1, p1)) = (self.points[after - 1], self.points[after]);
        // The last piece may be level; beyond it the fan gives nothing more all the same.
        let beyond = flow_m3_per_s > self.points[self.points.len() - 1].0;
        let slope = (p1 - p0) / (q1 - q0);
        let slope =
            if beyond { slope.min(-self.points[0].1 / self.points[self.points.len() - 1].0) } else { slope };
        if beyond { p1 + slope * (flow_m3_per_s - q1) } else { p0 + slope * (flow_m3_per_s - q0) }
    }

    /// Largest flow of the curve, m³/s.
    #[must_use]
    pub fn free_flow_m3_per_s(&self) -> f64 {
        self.points[self.points.len() - 1].0
    }

    /// Largest pressure of the curve, Pa.
    #[must_use]
    pub fn highest_pressure_pa(&self) -> f64 {
        self.points.iter().fold(0.0, |m, p| f64::max(m, p.1))
    }

    /// At another speed: flow in proportion to it, pressure to its square (fan laws, ISO 5801; any handbook).
    #[must_use]
    pub fn at_speed_ratio(&self, ratio: f64) -> Self {
        Self { points: self.points.iter().map(|(q, p)| (q * ratio, p * ratio * ratio)).collect() }
    }

    /// Several alike side by side: flows add.
    #[must_use]
    pub fn side_by_side(&self, count: f64) -> Self {
        Self { points: self.points.iter().map(|(q, p)| (q * count, *p)).collect() }
    }
}

/// Where a fan's curve meets the pressure that a system asks, m³/s and Pa: the point of least flow past which the fan gives less
/// than is asked, found by halving. `system_pa` must not fall with the flow.
#[must_use]
pub fn operating_point(fan: &FanCurve, system_pa: impl Fn(f64) -> f64) -> (f64, f64) {
    let excess = |q: f64| fan.pressure_pa(q) - system_pa(q);
    let steps = 200;
    let end = fan.free_flow_m3_per_s() * 1.001;
    let at = |k: i32| end * f64::from(k) / f64::from(steps);
    let Some(first) = (1..=steps).find(|k| {
        let e = excess(at(*k));
        // Anything that is no number counts as too much asked.
        e.is_nan() || e <= 0.0
    }) else {
        return (end, system_pa(end));
    };
    let (mut low, mut high) = (at(first - 1), at(first));
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if excess(middle) > 0.0 { low = middle } else { high = middle }
    }
    (low, fan.pressure_pa(low))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Straight fan curve 45 Pa to 6 l/s, system 2500 Q + 8e5 Q²: 3.51281209488 l/s, 18.6539092884 Pa (root of the quadratic).
    #[test]
    fn operating_point_of_a_quadratic() {
        let fan = FanCurve::new(vec![(0.0, 45.0), (0.006, 0.0)]).unwrap();
        let (q, p) = operating_point(&fan, |q| 2500.0 * q + 8e5 * q * q);
        assert!(
            (q / 0.003_512_812_094_88 - 1.0).abs() < 1e-9 && (p / 18.653_909_288_4 - 1.0).abs() < 1e-9,
            "{q} {p}"
        );
    }

    /// With a system of the square of the flow alone, the operating point moves as the fan laws say: half speed, half flow,
    /// a quarter of the pressure. Two alike with four times the area: twice the flow at the same pressure.
    #[test]
    fn fan_laws_move_the_point() {
        let fan = FanCurve::new(vec![(0.0, 30.0), (0.003, 24.0), (0.004, 14.0), (0.006, 0.0)]).unwrap();
        let (q, p) = operating_point(&fan, |q| 1e6 * q * q);
        let (q2, p2) = operating_point(&fan.at_speed_ratio(0.5), |q| 1e6 * q * q);
        assert!((q2 / q - 0.5).abs() < 1e-9 && (p2 / p - 0.25).abs() < 1e-9);
        let (q3, p3) = operating_point(&fan.side_by_side(2.0), |q| 2.5e5 * q * q);
        assert!((q3 / q - 2.0).abs() < 1e-9 && (p3 / p - 1.0).abs() < 1e-9);
        assert!((fan.pressure_pa(0.0035) - 19.0).abs() < 1e-12);
    }

    #[test]
    fn a_blocked_fan_gives_nothing_and_a_free_one_all() {
        let fan = FanCurve::new(vec![(0.0, 30.0), (0.006, 0.0)]).unwrap();
        assert!(operating_point(&fan, |_| 1e9).0 < 1e-9);
        assert!((operating_point(&fan, |_| 0.0).0 - 0.006).abs() < 1e-8);
        assert!(operating_point(&fan, |_| f64::NAN).0.is_finite());
    }

    #[test]
    fn broken_curves_are_told() {
        for wrong in [
            vec![],
            vec![(0.0, 3.0)],
            vec![(0.0, 3.0), (0.0, 1.0)],
            vec![(0.0, 1.0), (1.0, 2.0)],
            vec![(0.0, f64::NAN), (1.0, 2.0)],
        ] {
            assert!(FanCurve::new(wrong).is_err());
        }
    }
}

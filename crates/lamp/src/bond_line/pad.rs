//! A pad that gives way under pressure, by the points its maker states.

/// How far a pad is compressed by a pressure.
#[derive(Debug, Clone, PartialEq)]
pub struct Compression {
    /// Pressure, Pa, and the part of its thickness by which the pad is thinner then; both ascending, the first from 0, 0.
    points: Vec<(f64, f64)>,
}

/// Why stated points are no compression curve.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoCurve {
    /// No point at all.
    Empty,
    /// Pressures or parts that do not ascend.
    NotAscending,
    /// A part that is 0.95 or more.
    NothingLeft,
}

impl Compression {
    /// A curve through 0, 0 and the stated points, straight between them.
    ///
    /// # Errors
    /// [`NoCurve`] for points that do not ascend in both values, or that leave nothing of the pad.
    pub fn new(stated: &[(f64, f64)]) -> Result<Self, NoCurve> {
        let mut points = vec![(0.0, 0.0)];
        points.extend(stated.iter().copied().filter(|p| *p != (0.0, 0.0)));
        if points.len() < 2 {
            return Err(NoCurve::Empty);
        }
        let ascending = |w: &[(f64, f64)]| w[1].0 > w[0].0 && w[1].1 > w[0].1;
        if !points.windows(2).all(ascending) {
            return Err(NoCurve::NotAscending);
        }
        if points.iter().any(|p| p.1 >= 0.95) {
            return Err(NoCurve::NothingLeft);
        }
        Ok(Self { points })
    }

    /// Highest stated pressure, Pa; beyond it the last piece is continued.
    #[must_use]
    pub fn stated_up_to_pa(&self) -> f64 {
        self.points.last().map_or(0.0, |p| p.0)
    }

    /// The piece that holds a value, of pressure or of part.
    fn piece(&self, before: impl Fn(&(f64, f64)) -> bool) -> [(f64, f64); 2] {
        let last = self.points.len() - 2;
        let at = self.points.iter().skip(1).position(|p| !before(p)).unwrap_or(last).min(last);
        [self.points[at], self.points[at + 1]]
    }

    /// Part by which the pad is thinner at a pressure, Pa; at most 0.95.
    #[must_use]
    pub fn part_at(&self, pressure_pa: f64) -> f64 {
        if pressure_pa <= 0.0 {
            return 0.0;
        }
        let [a, b] = self.piece(|p| p.0 < pressure_pa);
        (a.1 + (pressure_pa - a.0) * (b.1 - a.1) / (b.0 - a.0)).min(0.95)
    }

    /// Pressure at a part, Pa, and its slope there, Pa; 0 where the pad is not compressed: it pulls at nothing.
    #[must_use]
    pub fn pressure_at(&self, part: f64) -> (f64, f64) {
        if part <= 0.0 {
            return (0.0, 0.0);
        }
        let [a, b] = self.piece(|p| p.1 < part);
        let slope = (b.0 - a.0) / (b.1 - a.1);
        (a.0 + (part - a.1) * slope, slope)
    }

    /// Work per volume to compress by a part, J/m³: the area under the curve.
    #[must_use]
    pub fn work_at(&self, part: f64) -> f64 {
        if part <= 0.0 {
            return 0.0;
        }
        let mut work = 0.0;
        let mut from = (0.0, 0.0);
        for &to in self.points.iter().skip(1).take_while(|p| p.1 < part) {
            work += 0.5 * (from.0 + to.0) * (to.1 - from.1);
            from = to;
        }
        work + 0.5 * (from.0 + self.pressure_at(part).0) * (part - from.1)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pad_follows_its_points() {
        let pad = Compression::new(&[(100e3, 0.1), (300e3, 0.2), (500e3, 0.25)]).unwrap();
        for (pressure, part) in
            [(0.0, 0.0), (50e3, 0.05), (100e3, 0.1), (200e3, 0.15), (500e3, 0.25), (700e3, 0.3)]
        {
            assert!((pad.part_at(pressure) - part).abs() < 1e-12, "{pressure}");
            assert!((pad.pressure_at(part).0 - pressure).abs() < 1e-6, "{part}");
        }
        // Triangle to the first point, trapezium to the second.
        assert!((pad.work_at(0.2) - (0.5 * 100e3 * 0.1 + 200e3 * 0.1)).abs() < 1e-6);
        // The slope is that of its piece, and no pressure leaves less than a twentieth.
        assert!((pad.pressure_at(0.15).1 - 200e3 / 0.1).abs() < 1e-3);
        assert_eq!(pad.part_at(1e9), 0.95);
        // Work grows with pressure times the step.
        let (low, high) = (pad.work_at(0.22 - 1e-6), pad.work_at(0.22 + 1e-6));
        assert!(((high - low) / 2e-6 / pad.pressure_at(0.22).0 - 1.0).abs() < 1e-6);
        assert_eq!(pad.pressure_at(-0.1), (0.0, 0.0));
    }

    #[test]
    fn points_that_make_no_curve_are_refused() {
        assert_eq!(Compression::new(&[]), Err(NoCurve::Empty));
        assert_eq!(Compression::new(&[(1e5, 0.2), (2e5, 0.1)]), Err(NoCurve::NotAscending));
        assert_eq!(Compression::new(&[(1e5, 0.2), (1e5, 0.3)]), Err(NoCurve::NotAscending));
        assert_eq!(Compression::new(&[(1e5, 0.96)]), Err(NoCurve::NothingLeft));
    }
}

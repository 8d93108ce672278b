//! Routed arcs as chords.

/// Greatest distance between arc and chord, nm.
const SAGITTA_NM: f64 = 500.0;

/// Most chords of one arc.
const MOST_CHORDS: f64 = 1024.0;

/// A position in nm, not yet checked for range.
pub(crate) type Position = (i64, i64);

/// Centre of the shorter arc of `radius_nm` between two positions; the second value is false when the radius is too
/// small to reach and half the distance was taken instead.
pub(crate) fn centre_by_radius(
    from: Position,
    to: Position,
    radius_nm: i64,
    clockwise: bool,
) -> ((f64, f64), bool) {
    let (dx, dy) = ((to.0 - from.0) as f64, (to.1 - from.1) as f64);
    let middle = (from.0 as f64 + 0.5 * dx, from.1 as f64 + 0.5 * dy);
    let half = 0.5 * dx.hypot(dy);
    let radius = radius_nm.unsigned_abs() as f64;
    if half == 0.0 || radius < half {
        // A micrometre is what rounded digits may lack.
        return (middle, half == 0.0 || half - radius < 1000.0);
    }
    let height = (radius * radius - half * half).sqrt();
    let side = if clockwise { 1.0 } else { -1.0 };
    let centre = (middle.0 + side * height * dy / (2.0 * half), middle.1 - side * height * dx / (2.0 * half));
    (centre, true)
}

/// The chords' ends after `from`, the last being `to`; a whole circle when the two are the same.
pub(crate) fn chords(from: Position, to: Position, centre: (f64, f64), clockwise: bool) -> Vec<Position> {
    let (x0, y0) = (from.0 as f64 - centre.0, from.1 as f64 - centre.1);
    let (x1, y1) = (to.0 as f64 - centre.0, to.1 as f64 - centre.1);
    let radius = x0.hypot(y0);
    let mut sweep = y1.atan2(x1) - y0.atan2(x0);
    if clockwise {
        sweep = -sweep;
    }
    if from == to {
        sweep = std::f64::consts::TAU;
    } else if sweep < 0.0 {
        sweep += std::f64::consts::TAU;
    }
    if radius == 0.0 {
        return vec![to];
    }
    let step = 2.0 * (1.0 - (SAGITTA_NM / radius).min(1.0)).acos();
    let count = (sweep / step).ceil().clamp(1.0, MOST_CHORDS);
    let turn = if clockwise { -sweep } else { sweep };
    let mut points: Vec<Position> = (1..count as u32)
        .map(|k| {
            let (sin, cos) = (turn * f64::from(k) / count).sin_cos();
            let (x, y) = (centre.0 + x0 * cos - y0 * sin, centre.1 + x0 * sin + y0 * cos);
            (x.round() as i64, y.round() as i64)
        })
        .collect();
    points.push(to);
    points
}

#[cfg(test)]
mod tests {
    use super::{centre_by_radius, chords};

    #[test]
    fn quarter_circles_bulge_to_the_right_side() {
        // Clockwise from (0, 0) to (1 mm, 1 mm) with radius 1 mm: centre at (1, 0).
        let (centre, fits) = centre_by_radius((0, 0), (1_000_000, 1_000_000), 1_000_000, true);
        assert!(fits && (centre.0 - 1e6).abs() < 1e-6 && centre.1.abs() < 1e-6, "{centre:?}");
        let (centre, _) = centre_by_radius((0, 0), (1_000_000, 1_000_000), 1_000_000, false);
        assert!(centre.0.abs() < 1e-6 && (centre.1 - 1e6).abs() < 1e-6, "{centre:?}");
        let points = chords((0, 0), (1_000_000, 1_000_000), (1e6, 0.0), true);
        assert_eq!(points.last(), Some(&(1_000_000, 1_000_000)));
        assert!(points.iter().all(|p| ((p.0 as f64 - 1e6).hypot(p.1 as f64) - 1e6).abs() < 1.0));
        assert!(points.iter().all(|p| p.0 >= 0 && p.1 >= 0));
    }

    #[test]
    fn a_full_circle_returns_to_its_start() {
        let points = chords((0, 0), (0, 0), (2e6, 0.0), false);
        let farthest = points.iter().map(|p| p.0).max().unwrap();
        assert!((3_999_500..=4_000_000).contains(&farthest), "{farthest}");
        assert!(points.len() > 50);
    }

    #[test]
    fn a_radius_too_small_is_told() {
        let ((x, y), fits) = centre_by_radius((0, 0), (10_000_000, 0), 1_000_000, true);
        assert_eq!((x, y, fits), (5e6, 0.0, false));
        assert_eq!(chords((5, 5), (5, 5), (5.0, 5.0), true), [(5, 5)]);
    }
}

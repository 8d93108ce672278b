//! Arcs to short straight edges.

use std::f64::consts::{PI, TAU};

/// Largest distance between an arc and the edges that stand for it, nm.
const SAGITTA_NM: f64 = 300.0;

/// Points along an arc from `from` to `to` about `centre`, both ends included, all in nm. Where the two ends lie at
/// different radii, the radius changes evenly along the way. Equal ends make a full turn.
pub(super) fn points(from: [f64; 2], to: [f64; 2], centre: [f64; 2], clockwise: bool) -> Vec<[f64; 2]> {
    let polar = |p: [f64; 2]| {
        let (x, y) = (p[0] - centre[0], p[1] - centre[1]);
        (x.hypot(y), y.atan2(x))
    };
    let ((r0, a0), (r1, a1)) = (polar(from), polar(to));
    let mut sweep = (a1 - a0).rem_euclid(TAU);
    if from == to {
        sweep = TAU;
    }
    if clockwise {
        sweep -= TAU;
        if from == to {
            sweep = -TAU;
        }
    }
    let radius = r0.max(r1).max(1.0);
    let step = 2.0 * (1.0 - (SAGITTA_NM / radius).min(0.5)).acos();
    let count = ((sweep.abs() / step.max(1e-3)).ceil() as usize).clamp(1, 4096);
    let mut line = Vec::with_capacity(count + 1);
    line.push(from);
    for i in 1..count {
        let part = i as f64 / count as f64;
        let (sin, cos) = (a0 + sweep * part).sin_cos();
        let r = r0 + (r1 - r0) * part;
        line.push([centre[0] + r * cos, centre[1] + r * sin]);
    }
    line.push(to);
    line
}

/// The centre of a single-quadrant arc (G74): offsets come without sign; of the four candidates the one that makes an
/// arc of at most a quarter turn in the right direction with the best matching radii is meant.
pub(super) fn single_quadrant_centre(
    from: [f64; 2],
    to: [f64; 2],
    offset: [f64; 2],
    clockwise: bool,
) -> Option<[f64; 2]> {
    let (i, j) = (offset[0].abs(), offset[1].abs());
    [(1.0, 1.0), (1.0, -1.0), (-1.0, 1.0), (-1.0, -1.0)]
        .into_iter()
        .map(|(sx, sy)| [from[0] + sx * i, from[1] + sy * j])
        .filter(|centre| {
            let angle = |p: [f64; 2]| (p[1] - centre[1]).atan2(p[0] - centre[0]);
            let turn = if clockwise { angle(from) - angle(to) } else { angle(to) - angle(from) };
            turn.rem_euclid(TAU) <= PI / 2.0 + 1e-3
        })
        .map(|centre| (centre, mismatch(from, to, centre)))
        .min_by(|a, b| a.1.total_cmp(&b.1))
        .map(|(centre, _)| centre)
}

/// How far apart the radii at the two ends are, nm.
pub(super) fn mismatch(from: [f64; 2], to: [f64; 2], centre: [f64; 2]) -> f64 {
    let radius = |p: [f64; 2]| (p[0] - centre[0]).hypot(p[1] - centre[1]);
    (radius(from) - radius(to)).abs()
}

#[cfg(test)]
mod tests {
    use super::{points, single_quadrant_centre};

    #[test]
    fn a_quarter_keeps_its_ends_and_radius() {
        let line = points([1e6, 0.0], [0.0, 1e6], [0.0, 0.0], false);
        assert_eq!((line[0], line[line.len() - 1]), ([1e6, 0.0], [0.0, 1e6]));
        assert!(line.iter().all(|p| (p[0].hypot(p[1]) - 1e6).abs() < 1e-3));
        // The other way round takes three quarters.
        let long = points([1e6, 0.0], [0.0, 1e6], [0.0, 0.0], true);
        assert!(long.len() > 2 * line.len());
        assert!(long.iter().any(|p| p[1] < -0.99e6));
    }

    #[test]
    fn equal_ends_go_all_the_way_round() {
        let line = points([1e6, 0.0], [1e6, 0.0], [0.0, 0.0], true);
        assert!(line.iter().any(|p| p[0] < -0.99e6));
    }

    #[test]
    fn the_right_quadrant_is_found() {
        let centre = single_quadrant_centre([0.0, 1e6], [1e6, 0.0], [0.0, 1e6], true);
        assert_eq!(centre, Some([0.0, 0.0]));
        let other = single_quadrant_centre([0.0, 1e6], [1e6, 0.0], [1e6, 0.0], false);
        assert_eq!(other, Some([1e6, 1e6]));
    }
}

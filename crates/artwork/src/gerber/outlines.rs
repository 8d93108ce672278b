//! Contours of the standard apertures and of strokes, in nm about the origin.

use crate::shape::{Contour, Point};

/// A contour in nanometres, not yet rounded.
pub(super) type Line = Vec<[f64; 2]>;

pub(super) fn circle(diameter_nm: f64) -> Line {
    crate::shape::circle_nm(diameter_nm / 2.0)
}

pub(super) fn rectangle(width_nm: f64, height_nm: f64) -> Line {
    let (x, y) = (width_nm / 2.0, height_nm / 2.0);
    vec![[-x, -y], [x, -y], [x, y], [-x, y]]
}

/// A rectangle with half circles at its shorter ends.
pub(super) fn obround(width_nm: f64, height_nm: f64) -> Line {
    let diameter = width_nm.min(height_nm);
    let (dx, dy) = ((width_nm - diameter) / 2.0, (height_nm - diameter) / 2.0);
    circle(diameter).into_iter().map(|[x, y]| [x + dx.copysign(x), y + dy.copysign(y)]).collect()
}

/// A regular polygon with one corner on the positive x axis before it is turned.
pub(super) fn polygon(diameter_nm: f64, corners: u32, rotation_deg: f64) -> Line {
    (0..corners)
        .map(|i| {
            let angle = 360.0 * f64::from(i) / f64::from(corners) + rotation_deg;
            let (sin, cos) = crate::shape::sin_cos_deg(angle);
            [diameter_nm / 2.0 * cos, diameter_nm / 2.0 * sin]
        })
        .collect()
}

pub(super) fn placed(line: &[[f64; 2]], at: [f64; 2]) -> Contour {
    line.iter().map(|[x, y]| Point::rounded(x + at[0], y + at[1])).collect()
}

/// The track of a convex contour moved along a straight line: the hull of its two ends, which is the exact Minkowski
/// sum. Empty when it has no area.
pub(super) fn convex_track(line: &[[f64; 2]], from: [f64; 2], to: [f64; 2]) -> Contour {
    let mut points = placed(line, from);
    points.extend(placed(line, to));
    let hull = crate::shape::convex_hull(points);
    if hull.len() >= 3 { hull } else { Contour::new() }
}

/// The track of a disc along an arc given as points: one closed band where the bend is wider than the disc.
pub(super) fn round_track(arc: &[[f64; 2]], centre: [f64; 2], diameter_nm: f64) -> Vec<Contour> {
    let radius = arc.first().map_or(0.0, |p| (p[0] - centre[0]).hypot(p[1] - centre[1]));
    let half = diameter_nm / 2.0;
    if radius <= 1.05 * half || arc.len() < 3 {
        let disc = circle(diameter_nm);
        return arc.windows(2).map(|pair| convex_track(&disc, pair[0], pair[1])).collect();
    }
    let scaled = |p: &[f64; 2], by: f64| {
        let (x, y) = (p[0] - centre[0], p[1] - centre[1]);
        let r = x.hypot(y).max(1.0);
        [centre[0] + x * (r + by) / r, centre[1] + y * (r + by) / r]
    };
    // Pieces of at most 64 edges, so that no band meets itself; discs close the ends.
    let mut contours: Vec<Contour> = Vec::new();
    let mut begin = 0;
    while begin + 1 < arc.len() {
        let end = (begin + 64).min(arc.len() - 1);
        let piece = &arc[begin..=end];
        let outer = piece.iter().map(|p| scaled(p, half));
        let inner = piece.iter().rev().map(|p| scaled(p, -half));
        contours.push(outer.chain(inner).map(|[x, y]| Point::rounded(x, y)).collect());
        begin = end;
    }
    let disc = circle(diameter_nm);
    for end in [arc[0], arc[arc.len() - 1]] {
        contours.push(placed(&disc, end));
    }
    contours
}

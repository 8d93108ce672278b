//! Making simple shapes, and putting shapes elsewhere.

use std::f64::consts::PI;

use super::measure::doubled_area_nm2;
use super::{Area, Bounds, Contour, LIMIT_NM, Point, Polygon};

impl Point {
    /// A point from whole nanometres.
    #[must_use]
    pub const fn new(x_nm: i32, y_nm: i32) -> Self {
        Self { x_nm, y_nm }
    }

    /// The nearest point to coordinates in nanometres, cut to the limit; not-a-number becomes 0.
    #[must_use]
    pub fn rounded(x_nm: f64, y_nm: f64) -> Self {
        let limit = f64::from(LIMIT_NM);
        // The cast of not-a-number is 0 by the language's rules.
        let whole = |v: f64| v.round().clamp(-limit, limit) as i32;
        Self { x_nm: whole(x_nm), y_nm: whole(y_nm) }
    }
}

/// Number of corners of the polygon that stands for a circle: a multiple of 4, at least 48, sagitta at most 0.3 µm.
pub(crate) fn circle_corners(radius_nm: f64) -> usize {
    let by_sagitta = PI * (radius_nm.max(0.0) / (2.0 * 300.0)).sqrt();
    ((by_sagitta / 4.0).ceil() as usize * 4).clamp(48, 720)
}

/// Corners of a circle round the origin, counter-clockwise, in nm. The polygon has exactly the circle's area: its
/// corners lie a little outside, the middles of its edges a little inside.
pub(crate) fn circle_nm(radius_nm: f64) -> Vec<[f64; 2]> {
    let corners = circle_corners(radius_nm);
    let step = 2.0 * PI / corners as f64;
    let radius = radius_nm * (step / step.sin()).sqrt();
    // Half a step off the axes, so that flat sides, not corners, face up, down, left and right.
    (0..corners)
        .map(|i| {
            let (sin, cos) = ((i as f64 + 0.5) * step).sin_cos();
            [radius * cos, radius * sin]
        })
        .collect()
}

impl Area {
    /// An upright rectangle; empty when it has no width or no height.
    #[must_use]
    pub fn rectangle(bounds: Bounds) -> Self {
        let Bounds { min, max } = bounds;
        if max.x_nm <= min.x_nm || max.y_nm <= min.y_nm {
            return Self::default();
        }
        let outer = vec![min, Point::new(max.x_nm, min.y_nm), max, Point::new(min.x_nm, max.y_nm)];
        Self { polygons: vec![Polygon { outer, holes: Vec::new() }] }
    }

    /// A disc of this diameter (nm), as a polygon of the same area; empty for a diameter of 0 or less.
    #[must_use]
    pub fn disc(centre: Point, diameter_nm: f64) -> Self {
        if diameter_nm.is_nan() || diameter_nm <= 0.0 {
            return Self::default();
        }
        let outer = circle_nm(diameter_nm / 2.0)
            .into_iter()
            .map(|[x, y]| Point::rounded(f64::from(centre.x_nm) + x, f64::from(centre.y_nm) + y))
            .collect();
        Self { polygons: vec![Polygon { outer, holes: Vec::new() }] }
    }

    /// The track of a disc of this diameter (nm) moved along a line of points: a slot.
    #[must_use]
    pub fn track(path: &[Point], diameter_nm: f64) -> Self {
        let [first, ..] = path else { return Self::default() };
        let mut contours: Vec<Contour> = path
            .windows(2)
            .filter_map(|pair| {
                let ends = pair.iter().flat_map(|end| {
                    circle_nm(diameter_nm / 2.0)
                        .into_iter()
                        .map(|[x, y]| Point::rounded(f64::from(end.x_nm) + x, f64::from(end.y_nm) + y))
                });
                let hull = convex_hull(ends.collect());
                (hull.len() >= 3).then_some(hull)
            })
            .collect();
        if contours.len() <= 1 {
            return match contours.pop() {
                None => Self::disc(*first, diameter_nm),
                Some(outer) => Self { polygons: vec![Polygon { outer, holes: Vec::new() }] },
            };
        }
        Self::from_contours(&contours, super::Filling::NonZero)
    }

    /// The area with every point moved by a map of the plane (a rotation, shift or mirroring).
    #[must_use]
    pub fn mapped(&self, map: impl Fn(Point) -> Point) -> Self {
        let moved = |contour: &Contour, outer: bool| -> Contour {
            let mut points: Contour = contour.iter().copied().map(&map).collect();
            if (doubled_area_nm2(&points) > 0) != outer {
                points.reverse();
            }
            points
        };
        let polygons = self.polygons.iter().map(|polygon| Polygon {
            outer: moved(&polygon.outer, true),
            holes: polygon.holes.iter().map(|hole| moved(hole, false)).collect(),
        });
        Self { polygons: polygons.collect() }
    }

    /// The area shifted by nanometres.
    #[must_use]
    pub fn shifted(&self, dx_nm: i32, dy_nm: i32) -> Self {
        self.mapped(|p| {
            Point::rounded(f64::from(p.x_nm) + f64::from(dx_nm), f64::from(p.y_nm) + f64::from(dy_nm))
        })
    }

    /// The area turned counter-clockwise about a point, degrees.
    #[must_use]
    pub fn turned(&self, about: Point, degrees: f64) -> Self {
        let (sin, cos) = sin_cos_deg(degrees);
        let (cx, cy) = (f64::from(about.x_nm), f64::from(about.y_nm));
        self.mapped(|p| {
            let (x, y) = (f64::from(p.x_nm) - cx, f64::from(p.y_nm) - cy);
            Point::rounded(cx + x * cos - y * sin, cy + x * sin + y * cos)
        })
    }
}

/// Sine and cosine of an angle in degrees, exact at multiples of 90.
pub(crate) fn sin_cos_deg(degrees: f64) -> (f64, f64) {
    match degrees.rem_euclid(360.0) {
        0.0 => (0.0, 1.0),
        90.0 => (1.0, 0.0),
        180.0 => (0.0, -1.0),
        270.0 => (-1.0, 0.0),
        other => other.to_radians().sin_cos(),
    }
}

/// The convex hull of points, counter-clockwise, without points on its edges (Andrew's monotone chain).
pub(crate) fn convex_hull(mut points: Vec<Point>) -> Contour {
    points.sort_unstable();
    points.dedup();
    if points.len() < 3 {
        return points;
    }
    let mut hull: Contour = Vec::with_capacity(points.len() + 1);
    chain(&mut hull, points.iter().copied());
    hull.pop();
    let lower = hull.len();
    let mut upper = Vec::with_capacity(points.len() - lower + 2);
    chain(&mut upper, points.iter().rev().copied());
    upper.pop();
    hull.append(&mut upper);
    hull
}

fn chain(hull: &mut Contour, points: impl Iterator<Item = Point>) {
    for point in points {
        while let [.., a, b] = hull[..]
            && !turns_left(a, b, point)
        {
            hull.pop();
        }
        hull.push(point);
    }
}

fn turns_left(a: Point, b: Point, c: Point) -> bool {
    let by = |from: Point, to: Point| {
        (i128::from(to.x_nm) - i128::from(from.x_nm), i128::from(to.y_nm) - i128::from(from.y_nm))
    };
    let ((ux, uy), (vx, vy)) = (by(a, b), by(b, c));
    ux * vy - uy * vx > 0
}

#[cfg(test)]
mod tests {
    use super::super::{Area, Bounds, Filling, Point};
    use std::f64::consts::PI;

    fn rectangle(x0: i32, y0: i32, x1: i32, y1: i32) -> Area {
        Area::rectangle(Bounds { min: Point::new(x0, y0), max: Point::new(x1, y1) })
    }

    #[test]
    fn a_disc_has_the_area_of_the_circle() {
        // Exact: pi d²/4. Whole nanometres move each corner by at most 0.71 nm, the area by that times the girth.
        for diameter_mm in [0.1, 0.3, 3.2, 20.0] {
            let disc = Area::disc(Point::new(5, -7), diameter_mm * 1e6);
            let exact = PI * diameter_mm * diameter_mm / 4.0;
            let tolerance = PI * diameter_mm * 0.71e-6;
            assert!(
                (disc.area_mm2() - exact).abs() < tolerance,
                "{diameter_mm}: {}",
                disc.area_mm2() - exact
            );
        }
    }

    #[test]
    fn a_slot_is_a_rectangle_and_a_disc() {
        let slot = Area::track(&[Point::new(0, 0), Point::new(2_000_000, 0)], 1e6);
        let exact = 2.0 + PI / 4.0;
        assert!((slot.area_mm2() - exact).abs() < 2e-3 * PI / 4.0, "{}", slot.area_mm2());
    }

    #[test]
    fn booleans_of_rectangles_are_exact() {
        let (a, b) =
            (rectangle(0, 0, 4_000_000, 3_000_000), rectangle(1_000_000, 1_000_000, 6_000_000, 2_000_000));
        assert_eq!(a.union(&b).area_mm2(), 14.0);
        assert_eq!(a.intersect(&b).area_mm2(), 3.0);
        assert_eq!(a.difference(&b).area_mm2(), 9.0);
        assert_eq!(a.difference(&b).pieces(), 1);
        assert!(!a.difference(&b).contains(Point::new(2_000_000, 1_500_000)));
        assert!(a.contains(Point::new(2_000_000, 1_500_000)));
        let frame = Area::from_contours(
            &[
                a.polygons[0].outer.clone(),
                rectangle(1_000_000, 1_000_000, 2_000_000, 2_000_000).polygons[0].outer.clone(),
            ],
            Filling::EvenOdd,
        );
        assert_eq!((frame.area_mm2(), frame.pieces(), frame.polygons[0].holes.len()), (11.0, 1, 1));
        assert!(
            !frame.contains(Point::new(1_500_000, 1_500_000)) && frame.contains(Point::new(500_000, 500_000))
        );
    }

    #[test]
    fn turning_by_quarters_is_exact_and_keeps_orientation() {
        let a = rectangle(1, 2, 4_000_001, 3_000_002);
        let turned = a.turned(Point::new(1, 2), 90.0);
        assert_eq!(turned.bounds().unwrap().corners_mm(), [-2.999999, 2e-6, 1e-6, 4.000002]);
        assert_eq!(turned.area_mm2(), 12.0);
        let mirrored = a.mapped(|p| Point::new(-p.x_nm, p.y_nm));
        assert_eq!(mirrored.area_mm2(), 12.0);
    }
}

//! How large an area is, where it lies, and whether a point is in it.

use super::{Area, Bounds, Contour, Point};

/// Twice the signed area of a contour, nm²; positive when it runs counter-clockwise.
pub(crate) fn doubled_area_nm2(contour: &[Point]) -> i128 {
    let Some(first) = contour.first() else { return 0 };
    // Relative to the first point, so that products stay small.
    let relative =
        |p: &Point| (i64::from(p.x_nm) - i64::from(first.x_nm), i64::from(p.y_nm) - i64::from(first.y_nm));
    let mut sum = 0i128;
    for (a, b) in contour.iter().zip(contour.iter().cycle().skip(1)) {
        let ((ax, ay), (bx, by)) = (relative(a), relative(b));
        sum += i128::from(ax) * i128::from(by) - i128::from(ay) * i128::from(bx);
    }
    sum
}

/// The upright rectangle round some points; `None` for no points.
pub(crate) fn bounds_of<'a>(points: impl Iterator<Item = &'a Point>) -> Option<Bounds> {
    points.fold(None, |so_far, p| {
        Some(match so_far {
            None => Bounds { min: *p, max: *p },
            Some(Bounds { min, max }) => Bounds {
                min: Point { x_nm: min.x_nm.min(p.x_nm), y_nm: min.y_nm.min(p.y_nm) },
                max: Point { x_nm: max.x_nm.max(p.x_nm), y_nm: max.y_nm.max(p.y_nm) },
            },
        })
    })
}

/// Whether a ray to the right of the point crosses the contour an odd number of times.
fn crossed_oddly(contour: &[Point], at: Point) -> bool {
    let mut odd = false;
    for (a, b) in contour.iter().zip(contour.iter().cycle().skip(1)) {
        if (a.y_nm > at.y_nm) != (b.y_nm > at.y_nm) {
            let (ax, ay) = (i128::from(a.x_nm), i128::from(a.y_nm));
            let (bx, by) = (i128::from(b.x_nm), i128::from(b.y_nm));
            let (px, py) = (i128::from(at.x_nm), i128::from(at.y_nm));
            // px < ax + (py - ay) (bx - ax) / (by - ay), without the division.
            let left = (px - ax) * (by - ay);
            let right = (py - ay) * (bx - ax);
            if if by > ay { left < right } else { left > right } {
                odd = !odd;
            }
        }
    }
    odd
}

impl Area {
    /// All contours: outer ones and holes.
    pub fn contours(&self) -> impl Iterator<Item = &Contour> {
        self.polygons.iter().flat_map(|polygon| std::iter::once(&polygon.outer).chain(&polygon.holes))
    }

    pub(crate) fn points(&self) -> usize {
        self.contours().map(Vec::len).sum()
    }

    /// Whether there is nothing in it.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.polygons.is_empty()
    }

    /// Its size, mm².
    #[must_use]
    pub fn area_mm2(&self) -> f64 {
        let doubled: i128 = self.contours().map(|contour| doubled_area_nm2(contour)).sum();
        doubled as f64 * 0.5e-12
    }

    /// The upright rectangle round it; `None` when it is empty.
    #[must_use]
    pub fn bounds(&self) -> Option<Bounds> {
        bounds_of(self.polygons.iter().flat_map(|polygon| &polygon.outer))
    }

    /// The number of connected pieces.
    #[must_use]
    pub fn pieces(&self) -> usize {
        self.polygons.len()
    }

    /// Whether the point lies inside; points on an edge may fall on either side.
    #[must_use]
    pub fn contains(&self, at: Point) -> bool {
        self.polygons.iter().any(|polygon| {
            crossed_oddly(&polygon.outer, at) && !polygon.holes.iter().any(|hole| crossed_oddly(hole, at))
        })
    }
}

impl Bounds {
    /// Width, nm.
    #[must_use]
    pub fn width_nm(&self) -> i64 {
        i64::from(self.max.x_nm) - i64::from(self.min.x_nm)
    }

    /// Height, nm.
    #[must_use]
    pub fn height_nm(&self) -> i64 {
        i64::from(self.max.y_nm) - i64::from(self.min.y_nm)
    }

    /// Lower left x, y and upper right x, y, mm.
    #[must_use]
    pub fn corners_mm(&self) -> [f64; 4] {
        [self.min.x_nm, self.min.y_nm, self.max.x_nm, self.max.y_nm].map(|nm| f64::from(nm) / 1e6)
    }

    /// The smallest rectangle round both.
    #[must_use]
    pub fn joined(&self, other: &Self) -> Self {
        Self {
            min: Point { x_nm: self.min.x_nm.min(other.min.x_nm), y_nm: self.min.y_nm.min(other.min.y_nm) },
            max: Point { x_nm: self.max.x_nm.max(other.max.x_nm), y_nm: self.max.y_nm.max(other.max.y_nm) },
        }
    }
}

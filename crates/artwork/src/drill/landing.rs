//! How many holes land on copper: a fast inside test for many points.

use crate::shape::{Area, Point};

/// Horizontal bands the edges are sorted into.
const MOST_BANDS: usize = 1024;

/// Copper of one or several layers; polygons may overlap (winding numbers are counted, not crossings).
pub(crate) struct Landing {
    bottom_nm: i64,
    left_nm: i64,
    band_nm: i64,
    bands: Vec<Vec<(Point, Point)>>,
    width_nm: i64,
    height_nm: i64,
}

impl Landing {
    /// Sorts the edges; `None` when there is no copper.
    pub(crate) fn new(copper: &Area) -> Option<Self> {
        let contours = || copper.polygons.iter().flat_map(|p| std::iter::once(&p.outer).chain(&p.holes));
        let points = || contours().flatten();
        let (bottom, top) = (points().map(|p| p.y_nm).min()?, points().map(|p| p.y_nm).max()?);
        let (left, right) = (points().map(|p| p.x_nm).min()?, points().map(|p| p.x_nm).max()?);
        let (bottom_nm, height_nm) = (i64::from(bottom), i64::from(top) - i64::from(bottom));
        let count = points().count().isqrt().clamp(1, MOST_BANDS);
        let band_nm = height_nm / count as i64 + 1;
        let left_nm = i64::from(left);
        let mut landing = Self {
            bottom_nm,
            left_nm,
            band_nm,
            bands: vec![Vec::new(); count],
            width_nm: i64::from(right) - i64::from(left),
            height_nm,
        };
        for contour in contours() {
            let Some(&last) = contour.last() else { continue };
            let mut from = last;
            for &to in contour {
                landing.sort_in(from, to);
                from = to;
            }
        }
        Some(landing)
    }

    fn band(&self, y_nm: i32) -> Option<usize> {
        usize::try_from((i64::from(y_nm) - self.bottom_nm).div_euclid(self.band_nm)).ok()
    }

    fn sort_in(&mut self, from: Point, to: Point) {
        if from.y_nm == to.y_nm {
            return;
        }
        let (low, high) = (from.y_nm.min(to.y_nm), from.y_nm.max(to.y_nm));
        if let (Some(first), Some(last)) = (self.band(low), self.band(high)) {
            for band in self.bands.iter_mut().take(last + 1).skip(first) {
                band.push((from, to));
            }
        }
    }

    /// Whether the point is on copper.
    pub(crate) fn on_copper(&self, at: Point) -> bool {
        let Some(band) = self.band(at.y_nm).and_then(|b| self.bands.get(b)) else { return false };
        let mut winding = 0i32;
        for (from, to) in band {
            let upward = from.y_nm <= at.y_nm && at.y_nm < to.y_nm;
            let downward = to.y_nm <= at.y_nm && at.y_nm < from.y_nm;
            if !upward && !downward {
                continue;
            }
            let along = |a: i32, b: i32| i64::from(b) - i64::from(a);
            let side = along(from.x_nm, to.x_nm) * along(from.y_nm, at.y_nm)
                - along(from.x_nm, at.x_nm) * along(from.y_nm, to.y_nm);
            // The edge is to the right of the point when the point is to the left of an upward edge.
            if upward && side > 0 {
                winding -= 1;
            } else if downward && side < 0 {
                winding += 1;
            }
        }
        winding != 0
    }

    /// How many of eight points around a hole are on copper, `beyond_nm` outside its edge.
    pub(crate) fn ring(&self, at: Point, diameter_nm: i32, beyond_nm: f64) -> usize {
        let radius = f64::from(diameter_nm) * 0.5 + beyond_nm;
        (0..8)
            .filter(|k| {
                let (sin, cos) = (std::f64::consts::FRAC_PI_4 * f64::from(*k) + 0.2).sin_cos();
                let x_nm = (f64::from(at.x_nm) + radius * cos) as i32;
                let y_nm = (f64::from(at.y_nm) + radius * sin) as i32;
                self.on_copper(Point { x_nm, y_nm })
            })
            .count()
    }

    /// Whether a hole lands on copper: its middle, or at least half of what surrounds it (pads may be drawn hollow).
    pub(crate) fn lands(&self, at: Point, diameter_nm: i32) -> bool {
        self.on_copper(at) || self.ring(at, diameter_nm, 50_000.0) >= 4
    }

    /// Whether the point is inside the rectangle around all copper, which is all that can be asked of a hole without a pad.
    pub(crate) fn within(&self, at: Point) -> bool {
        let (dx, dy) = (i64::from(at.x_nm) - self.left_nm, i64::from(at.y_nm) - self.bottom_nm);
        (0..=self.width_nm).contains(&dx) && (0..=self.height_nm).contains(&dy)
    }

    /// Width and height of all copper, nm.
    pub(crate) fn extent_nm(&self) -> (i64, i64) {
        (self.width_nm, self.height_nm)
    }
}

#[cfg(test)]
mod tests {
    use super::Landing;
    use crate::shape::{Area, Point, Polygon};

    fn square(x: i32, y: i32, size: i32, hole: i32) -> Polygon {
        let at = |dx: i32, dy: i32| Point { x_nm: x + dx, y_nm: y + dy };
        let outer = vec![at(0, 0), at(size, 0), at(size, size), at(0, size)];
        let (a, b) = (size / 2 - hole, size / 2 + hole);
        let holes = if hole > 0 { vec![vec![at(a, a), at(a, b), at(b, b), at(b, a)]] } else { Vec::new() };
        Polygon { outer, holes }
    }

    #[test]
    fn overlapping_layers_count_as_copper() {
        let copper = Area { polygons: vec![square(0, 0, 100, 10), square(50, 50, 100, 0)] };
        let landing = Landing::new(&copper).unwrap();
        let on = |x_nm, y_nm| landing.on_copper(Point { x_nm, y_nm });
        assert!(on(20, 20) && on(75, 75) && on(120, 120) && on(0, 0));
        assert!(!on(-1, 50) && !on(120, 20) && !on(200, 200) && !on(45, 45));
    }

    #[test]
    fn a_hollow_pad_is_landed_on() {
        let copper = Area { polygons: vec![square(0, 0, 2_000_000, 300_000)] };
        let landing = Landing::new(&copper).unwrap();
        let middle = Point { x_nm: 1_000_000, y_nm: 1_000_000 };
        assert!(!landing.on_copper(middle));
        assert!(landing.lands(middle, 1_000_000));
        assert!(Landing::new(&Area::default()).is_none());
    }
}

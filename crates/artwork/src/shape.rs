//! Plane shapes in whole nanometres: points, contours, polygons and areas.

mod boolean;
mod measure;
mod placing;

pub use boolean::Filling;
pub(crate) use measure::{bounds_of, doubled_area_nm2};
pub(crate) use placing::{circle_nm, convex_hull, sin_cos_deg};

/// Coordinates are kept within this distance of the origin (one metre), so that polygon arithmetic cannot overflow.
pub const LIMIT_NM: i32 = 1_000_000_000;

/// A point, in nanometres; x to the right, y up, seen from the top of the board.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Default)]
pub struct Point {
    /// To the right, nm; within ±[`LIMIT_NM`].
    pub x_nm: i32,
    /// Up, nm; within ±[`LIMIT_NM`].
    pub y_nm: i32,
}

/// A closed line of straight edges; the last point joins the first and is not repeated.
pub type Contour = Vec<Point>;

/// A connected piece: one outer contour (counter-clockwise) and its holes (clockwise).
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Polygon {
    /// Counter-clockwise outer contour.
    pub outer: Contour,
    /// Clockwise contours of the holes.
    pub holes: Vec<Contour>,
}

/// A set of polygons that do not overlap one another: a layer's dark image, an outline, a hole pattern.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Area {
    /// The connected pieces.
    pub polygons: Vec<Polygon>,
}

/// An upright rectangle in nanometres.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Bounds {
    /// Lower left corner.
    pub min: Point,
    /// Upper right corner.
    pub max: Point,
}

//! Union, intersection and difference of areas.

use i_overlay::core::fill_rule::FillRule;
use i_overlay::core::overlay::{Overlay, ShapeType};
use i_overlay::core::overlay_rule::OverlayRule;
use i_overlay::i_float::int::point::IntPoint;

use super::{Area, Contour, LIMIT_NM, Point, Polygon};

/// Which places count as inside a set of contours.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Filling {
    /// Places that the contours go round at least once, on balance; for overlapping pieces drawn alike.
    NonZero,
    /// Places inside an odd number of contours; for outlines with cut-outs.
    EvenOdd,
}

impl Filling {
    fn rule(self) -> FillRule {
        match self {
            Self::NonZero => FillRule::NonZero,
            Self::EvenOdd => FillRule::EvenOdd,
        }
    }
}

fn raw(point: Point) -> IntPoint<i32> {
    IntPoint::new(point.x_nm.clamp(-LIMIT_NM, LIMIT_NM), point.y_nm.clamp(-LIMIT_NM, LIMIT_NM))
}

fn add<'a>(overlay: &mut Overlay<i32>, contours: impl Iterator<Item = &'a Contour>, kind: ShapeType) {
    for contour in contours.filter(|contour| contour.len() >= 3) {
        overlay.add_path_iter(contour.iter().copied().map(raw), kind);
    }
}

fn area(shapes: Vec<Vec<Vec<IntPoint<i32>>>>) -> Area {
    let contour = |raw: Vec<IntPoint<i32>>| -> Contour {
        raw.into_iter().map(|p| Point { x_nm: p.x, y_nm: p.y }).collect()
    };
    let polygons = shapes
        .into_iter()
        .filter_map(|shape| {
            let mut contours = shape.into_iter().map(contour);
            let outer = contours.next()?;
            Some(Polygon { outer, holes: contours.collect() })
        })
        .collect();
    Area { polygons }
}

impl Area {
    /// The area inside contours that may cross, overlap and touch. Coordinates beyond the limit are cut to it.
    #[must_use]
    pub fn from_contours(contours: &[Contour], filling: Filling) -> Self {
        let mut overlay = Overlay::<i32>::new(contours.iter().map(Vec::len).sum());
        add(&mut overlay, contours.iter(), ShapeType::Subject);
        area(overlay.overlay(OverlayRule::Subject, filling.rule()))
    }

    fn combined(&self, other: &Self, rule: OverlayRule) -> Self {
        let mut overlay = Overlay::<i32>::new(self.points() + other.points());
        add(&mut overlay, self.contours(), ShapeType::Subject);
        add(&mut overlay, other.contours(), ShapeType::Clip);
        area(overlay.overlay(rule, FillRule::NonZero))
    }

    /// Places in either.
    #[must_use]
    pub fn union(&self, other: &Self) -> Self {
        self.combined(other, OverlayRule::Union)
    }

    /// Places in both.
    #[must_use]
    pub fn intersect(&self, other: &Self) -> Self {
        self.combined(other, OverlayRule::Intersect)
    }

    /// Places in this one and not in the other.
    #[must_use]
    pub fn difference(&self, other: &Self) -> Self {
        self.combined(other, OverlayRule::Difference)
    }
}

//! Which copper an object drew: places of the object that no later object cleared again.

use std::collections::BTreeMap;

use super::islands::overlap;
use crate::gerber::{DrawnObject, ObjectKind};
use crate::shape::{Bounds, Contour, Point};

/// How far inside an edge a place is looked for, nm: past every rounding, and within any real copper.
const INSIDE_NM: f64 = 1_000.0;
/// Places tried along a region's edges, and along those of a flash or a stroke.
const PLACES: [usize; 2] = [48, 6];
/// Objects over more cells than this are kept in one list.
const MOST_CELLS: i64 = 256;
/// Side of the cells that objects are sorted into, nm.
const CELL_NM: i64 = 2_000_000;

/// Times round a point that contours run, counter-clockwise.
fn winding(contours: &[Contour], at: Point) -> i32 {
    let along = |a: i32, b: i32| i64::from(b) - i64::from(a);
    let mut turns = 0;
    for contour in contours {
        for (from, to) in contour.iter().zip(contour.iter().cycle().skip(1)) {
            if (from.y_nm <= at.y_nm) == (to.y_nm <= at.y_nm) {
                continue;
            }
            let side = along(from.x_nm, to.x_nm) * along(from.y_nm, at.y_nm)
                - along(from.x_nm, at.x_nm) * along(from.y_nm, to.y_nm);
            if from.y_nm <= at.y_nm && side > 0 {
                turns += 1;
            } else if to.y_nm <= at.y_nm && side < 0 {
                turns -= 1;
            }
        }
    }
    turns
}

/// Places just inside a set of contours, spread along their edges; at most so many.
pub(super) fn places_inside(contours: &[Contour], most: usize) -> Vec<Point> {
    let edges: usize = contours.iter().map(Vec::len).sum();
    let step = edges.div_ceil(most.max(1)).max(1);
    let pairs = contours.iter().flat_map(|contour| contour.iter().zip(contour.iter().cycle().skip(1)));
    pairs
        .step_by(step)
        .filter_map(|(from, to)| {
            let (dx, dy) =
                (f64::from(to.x_nm) - f64::from(from.x_nm), f64::from(to.y_nm) - f64::from(from.y_nm));
            let length = dx.hypot(dy);
            let share = INSIDE_NM / length.max(1.0);
            let middle = |a: i32, b: i32| (f64::from(a) + f64::from(b)) / 2.0;
            let at = Point::rounded(
                middle(from.x_nm, to.x_nm) - dy * share,
                middle(from.y_nm, to.y_nm) + dx * share,
            );
            (winding(contours, at) != 0).then_some(at)
        })
        .collect()
}

/// Objects sorted by place.
#[derive(Default)]
pub(super) struct ObjectCells<'a> {
    cells: BTreeMap<(i64, i64), Vec<usize>>,
    wide: Vec<usize>,
    objects: Vec<(usize, &'a DrawnObject, Bounds)>,
}

impl<'a> ObjectCells<'a> {
    /// Sorts in objects with their places in drawing order.
    pub(super) fn new(objects: impl Iterator<Item = (usize, &'a DrawnObject)>) -> Self {
        let mut sorted = Self::default();
        for (order, object) in objects {
            let Some(bounds) = object.bounds() else { continue };
            let index = sorted.objects.len();
            sorted.objects.push((order, object, bounds));
            let ([x0, y0], [x1, y1]) = (cell(bounds.min), cell(bounds.max));
            if (x1 - x0 + 1) * (y1 - y0 + 1) > MOST_CELLS {
                sorted.wide.push(index);
                continue;
            }
            for y in y0..=y1 {
                for x in x0..=x1 {
                    sorted.cells.entry((x, y)).or_default().push(index);
                }
            }
        }
        sorted
    }

    /// Whether a later object may reach into a rectangle.
    fn any_later(&self, order: usize, within: &Bounds) -> bool {
        let ([x0, y0], [x1, y1]) = (cell(within.min), cell(within.max));
        if (x1 - x0 + 1) * (y1 - y0 + 1) > MOST_CELLS {
            return !self.objects.is_empty();
        }
        let reaches = |&index: &usize| {
            let (later, _, bounds) = &self.objects[index];
            *later > order && overlap(bounds, within)
        };
        self.wide.iter().any(reaches)
            || (y0..=y1).any(|y| {
                (x0..=x1).any(|x| self.cells.get(&(x, y)).is_some_and(|cell| cell.iter().any(reaches)))
            })
    }

    /// Objects over a point, with their places in drawing order.
    pub(super) fn over(&self, at: Point) -> impl Iterator<Item = (usize, &'a DrawnObject)> {
        let [x, y] = cell(at);
        let here = self.cells.get(&(x, y)).map_or(&[][..], Vec::as_slice);
        here.iter().chain(&self.wide).filter_map(move |&index| {
            let (order, object, bounds) = self.objects[index];
            let inside = (bounds.min.x_nm..=bounds.max.x_nm).contains(&at.x_nm)
                && (bounds.min.y_nm..=bounds.max.y_nm).contains(&at.y_nm);
            (inside && winding(&object.contours, at) != 0).then_some((order, object))
        })
    }
}

fn cell(at: Point) -> [i64; 2] {
    [at.x_nm, at.y_nm].map(|nm| i64::from(nm).div_euclid(CELL_NM))
}

/// The clearing objects of a layer.
pub(super) fn clearing(objects: &[DrawnObject]) -> ObjectCells<'_> {
    ObjectCells::new(objects.iter().enumerate().filter(|(_, object)| !object.dark))
}

/// Places of a dark object that nothing drawn later cleared.
pub(super) fn standing(order: usize, object: &DrawnObject, clearing: &ObjectCells<'_>) -> Vec<Point> {
    // An object of one contour that nothing cuts is on one island: one place tells it.
    let whole = object.contours.len() == 1
        && object.bounds().is_none_or(|bounds| !clearing.any_later(order, &bounds));
    let mut places = Vec::new();
    if object.kind == ObjectKind::Flash && winding(&object.contours, object.at) != 0 {
        places.push(object.at);
    }
    if !whole || places.is_empty() {
        let most = if object.kind == ObjectKind::Region { PLACES[0] } else { PLACES[1] };
        places.extend(places_inside(&object.contours, most));
    }
    if whole {
        places.truncate(1);
    }
    places.retain(|&at| stands(order, at, clearing));
    places
}

/// Whether what an object drew at a point still stands.
pub(super) fn stands(order: usize, at: Point, clearing: &ObjectCells<'_>) -> bool {
    clearing.over(at).all(|(later, _)| later < order)
}

//! The islands of each copper layer, and finding them by place.

use super::edges::EdgeGrid;
use super::{Island, Nets, Overlap};
use crate::reading::{Artwork, Layer};
use crate::roles::Role;
use crate::shape::{Area, Bounds, Contour, Filling, Point, bounds_of};

/// A point this near to an island's edge is on it, nm: the diagonal of rounding to whole nanometres.
const ON_EDGE_NM: f64 = 0.75;

/// Where a layer's islands are.
#[derive(Debug, Clone)]
pub(super) struct LayerIslands {
    pub(super) role: Role,
    /// Number from the top, 1 being the top side.
    pub(super) number: u16,
    /// Index of the layer in the artwork.
    pub(super) drawn: usize,
    first: usize,
    count: usize,
    edges: EdgeGrid,
    /// Upright rectangles round the contours of each island.
    contours: Vec<Vec<Option<Bounds>>>,
}

/// Finds the islands of all copper layers, from the top down.
pub(super) fn collect(artwork: &Artwork, nets: &mut Nets) {
    let mut layers: Vec<(u16, usize, &Layer)> = Vec::new();
    let bottom = bottom_number(artwork);
    for (index, layer) in artwork.layers.iter().enumerate() {
        let number = match layer.role {
            Role::CopperTop => 1,
            Role::CopperInner(number) => number,
            Role::CopperBottom => bottom,
            _ => continue,
        };
        if layers.iter().all(|(_, _, other)| other.role != layer.role) {
            layers.push((number, index, layer));
        }
    }
    layers.sort_by_key(|(number, _, layer)| (layer.role == Role::CopperBottom, *number));
    for (number, drawn, layer) in layers {
        let first = nets.islands.len();
        for polygon in &layer.area.polygons {
            let area = Area { polygons: vec![polygon.clone()] };
            let Some(bounds) = area.bounds() else { continue };
            nets.islands.push(Island { layer: layer.role, area_mm2: area.area_mm2(), area, bounds, net: 0 });
        }
        let own = &nets.islands[first..];
        let edges = EdgeGrid::new(own.iter().map(|island| &island.area));
        let contours = own.iter().map(|island| island.area.contours().map(|c| bounds_of(c.iter())).collect());
        let contours = contours.collect();
        nets.layers.push(LayerIslands {
            role: layer.role,
            number,
            drawn,
            first,
            count: own.len(),
            edges,
            contours,
        });
    }
}

/// The bottom layer's number: as its file function says, else one below the lowest inner layer.
fn bottom_number(artwork: &Artwork) -> u16 {
    let told = artwork.layers.iter().filter(|layer| layer.role == Role::CopperBottom).find_map(|layer| {
        layer.attributes.fields(".FileFunction")?.get(1)?.trim().strip_prefix(['L', 'l'])?.parse().ok()
    });
    let inner = artwork.layers.iter().filter_map(|layer| match layer.role {
        Role::CopperInner(number) => Some(number.saturating_add(1)),
        _ => None,
    });
    told.into_iter().chain(inner).fold(2, u16::max)
}

impl LayerIslands {
    /// The island at a point.
    pub(super) fn at(&self, at: Point) -> Option<usize> {
        self.edges
            .owner_at(at)
            .or_else(|| self.edges.near(&[at], ON_EDGE_NM).first().map(|(owner, _)| *owner))
            .map(|owner| self.first + owner)
    }

    /// Islands within a distance of a line, nearest first, with their distances, nm.
    pub(super) fn near(&self, path: &[Point], within_nm: f64) -> Vec<(usize, f64)> {
        let mut found = self.edges.near(path, within_nm);
        found.iter_mut().for_each(|(owner, _)| *owner += self.first);
        found
    }

    /// All islands of the layer.
    pub(super) fn all(&self) -> std::ops::Range<usize> {
        self.first..self.first + self.count
    }

    /// Islands under a shape, the largest common area first.
    pub(super) fn under(&self, shape: &Area, islands: &[Island]) -> Vec<Overlap> {
        let Some(window) = shape.bounds() else { return Vec::new() };
        let mut found: Vec<Overlap> = self
            .all()
            .filter_map(|index| {
                let island = islands.get(index).filter(|island| overlap(&island.bounds, &window))?;
                // Cut to the window first: a pour may have a hundred thousand corners, a land four. Contours that do not
                // reach the window go round no place in it.
                let reaching =
                    |bounds: &Option<Bounds>| bounds.is_some_and(|bounds| overlap(&bounds, &window));
                let cut: Vec<Contour> = island
                    .area
                    .contours()
                    .zip(&self.contours[index - self.first])
                    .filter(|(_, bounds)| reaching(bounds))
                    .map(|(contour, _)| cut_to(contour, window))
                    .collect();
                let area_mm2 = Area::from_contours(&cut, Filling::NonZero).intersect(shape).area_mm2();
                (area_mm2 > 0.0).then_some(Overlap { island: index, area_mm2 })
            })
            .collect();
        found.sort_by(|a, b| b.area_mm2.total_cmp(&a.area_mm2).then(a.island.cmp(&b.island)));
        found
    }
}

pub(super) fn overlap(a: &Bounds, b: &Bounds) -> bool {
    a.min.x_nm <= b.max.x_nm
        && b.min.x_nm <= a.max.x_nm
        && a.min.y_nm <= b.max.y_nm
        && b.min.y_nm <= a.max.y_nm
}

/// A contour cut to a window, side by side (Sutherland and Hodgman, Commun. ACM 17 (1974) 32, from memory). Pieces stay
/// joined along the window's sides, which changes no winding number inside it.
fn cut_to(contour: &Contour, window: Bounds) -> Contour {
    // How far inside each side a point is, nm.
    let sides: [fn(Point, Bounds) -> i64; 4] = [
        |p, w| i64::from(p.x_nm) - i64::from(w.min.x_nm),
        |p, w| i64::from(w.max.x_nm) - i64::from(p.x_nm),
        |p, w| i64::from(p.y_nm) - i64::from(w.min.y_nm),
        |p, w| i64::from(w.max.y_nm) - i64::from(p.y_nm),
    ];
    let mut points = contour.clone();
    for inside in sides {
        let mut kept = Contour::with_capacity(points.len() + 4);
        let Some(&last) = points.last() else { break };
        let mut from = last;
        for &to in &points {
            let (a, b) = (inside(from, window), inside(to, window));
            if (a < 0) != (b < 0) {
                let share = a as f64 / (a - b) as f64;
                let between = |p: i32, q: i32| f64::from(p) + share * (f64::from(q) - f64::from(p));
                kept.push(Point::rounded(between(from.x_nm, to.x_nm), between(from.y_nm, to.y_nm)));
            }
            if b >= 0 {
                kept.push(to);
            }
            from = to;
        }
        points = kept;
    }
    points
}

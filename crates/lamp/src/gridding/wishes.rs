//! Which lines a variant wants: edges of board, base, lands and patches, and vias near the heat.

use artwork::shape::{Area, Point};

use super::Fineness;
use super::lines::{LineWish, lines};
use super::plan::Plan;
use crate::as_built::{LayerKind, Variant};
use crate::bond_line::Interface;

/// Distance from a land within which vias and pattern edges of inner layers are resolved, nm.
const NEAR_NM: f64 = 1.5e6;
/// Widest pitch of a board of usual size, nm.
const WIDEST_NM: f64 = 5e5;
/// Longest side of a board or base of usual size, nm.
const USUAL_NM: f64 = 1.2e8;

/// An upright rectangle, nm: low and high along x and y.
#[derive(Debug, Clone, Copy)]
struct Frame {
    x: (f64, f64),
    y: (f64, f64),
}

impl Frame {
    fn around(points: impl Iterator<Item = Point>) -> Option<Self> {
        points.fold(None, |frame: Option<Self>, p| {
            let (px, py) = (f64::from(p.x_nm), f64::from(p.y_nm));
            let f = frame.unwrap_or(Self { x: (px, px), y: (py, py) });
            Some(Self { x: (f.x.0.min(px), f.x.1.max(px)), y: (f.y.0.min(py), f.y.1.max(py)) })
        })
    }

    fn of(area: &Area) -> Option<Self> {
        Self::around(area.polygons.iter().flat_map(|p| p.outer.iter().copied()))
    }

    fn with(self, other: Self) -> Self {
        Self {
            x: (self.x.0.min(other.x.0), self.x.1.max(other.x.1)),
            y: (self.y.0.min(other.y.0), self.y.1.max(other.y.1)),
        }
    }

    fn is_within(&self, distance: f64, other: &Self) -> bool {
        let apart = |a: (f64, f64), b: (f64, f64)| (b.0 - a.1).max(a.0 - b.1);
        apart(self.x, other.x) <= distance && apart(self.y, other.y) <= distance
    }
}

/// The plan for a variant, or `None` when it has no outline.
pub(crate) fn plan(variant: &Variant, fine: Fineness, widening: f64) -> Option<Plan> {
    let board = Frame::of(&variant.outline)?;
    let base = variant.heatsink.as_ref().and_then(|h| Frame::of(&h.base));
    let whole = base.map_or(board, |b| b.with(board));
    let heated = heated_frames(variant);
    let near: Vec<Frame> = fine_frames(variant, &heated);
    let bonded = bonded_frames(variant);
    let longest = (whole.x.1 - whole.x.0).max(whole.y.1 - whole.y.0);
    // Plates far larger than any lamp's board are mostly far from the heat.
    let widest = widening * (WIDEST_NM + (longest - USUAL_NM).max(0.0) / 15.0);
    let axis = |of: fn(&Frame) -> (f64, f64)| {
        let ends = |f: &Frame| [of(f).0, of(f).1];
        let mut anchors: Vec<f64> = ends(&board).into();
        anchors.extend(base.iter().flat_map(ends));
        anchors.extend(heated.iter().flat_map(ends));
        anchors.extend(near.iter().flat_map(ends));
        anchors.extend(bonded.iter().flat_map(ends));
        let features: Vec<f64> = heated.iter().chain(&near).flat_map(ends).collect();
        let finest = (1e9 * fine.pitch_m * widening).clamp(1e3, widest);
        lines(&LineWish {
            extent: of(&whole),
            anchors,
            features,
            finest,
            widest,
            growth: fine.growth * widening,
        })
    };
    Some(Plan { x_nm: axis(|f| f.x), y_nm: axis(|f| f.y) })
}

/// Where heat enters: thermal lands and heat patches.
fn heated_frames(variant: &Variant) -> Vec<Frame> {
    let lands = variant.emitters.iter().map(|e| &e.thermal_land);
    lands.chain(variant.heat_patches.iter().map(|p| &p.area)).filter_map(Frame::of).collect()
}

/// Pedestals and places of the bond line with a value of their own.
fn bonded_frames(variant: &Variant) -> Vec<Frame> {
    let interface = variant.bond.as_ref().map(|bond| &bond.interface);
    let areas = |interface: &'_ Interface| -> Vec<Frame> {
        let regions = interface.regions.iter().map(|region| &region.area);
        interface.pedestals.iter().chain(regions).filter_map(Frame::of).collect()
    };
    interface.map(areas).unwrap_or_default()
}

/// Vias near the heat, and small shapes of inner patterned layers near it.
fn fine_frames(variant: &Variant, heated: &[Frame]) -> Vec<Frame> {
    let is_near = |f: &Frame| heated.iter().any(|h| f.is_within(NEAR_NM, h));
    let bores = variant.bores.iter().filter_map(|b| {
        let f = Frame::around(b.path.iter().copied())?;
        let r = 0.5e9 * b.diameter_m;
        Some(Frame { x: (f.x.0 - r, f.x.1 + r), y: (f.y.0 - r, f.y.1 + r) })
    });
    let inner = variant
        .layers
        .iter()
        .filter(|l| l.kind != LayerKind::Copper)
        .filter_map(|l| l.pattern.as_ref())
        .flat_map(|pattern| &pattern.polygons)
        .flat_map(|p| std::iter::once(&p.outer).chain(&p.holes))
        .filter_map(|contour| Frame::around(contour.iter().copied()));
    bores.chain(inner).filter(is_near).collect()
}

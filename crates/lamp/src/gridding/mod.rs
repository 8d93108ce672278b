//! From the lamp as built to cells, conductances, heated columns and cooled faces.

mod bores;
mod build;
mod copper;
mod factors;
mod footprints;
mod lines;
mod plan;
mod planes;
mod surfaces;
mod wishes;

pub(crate) use build::{Gridded, Interface, air_back, back_face};
pub(crate) use factors::Factors;
pub(crate) use footprints::Footprint;
pub(crate) use plan::Plan;
pub(crate) use planes::Plane;
pub(crate) use surfaces::{AirBack, Surface, SurfaceKind, SurfacePiece};

use crate::as_built::Variant;

/// How fine the grid is to be.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct GridChoice {
    /// Pitch at the edges of lands and heat patches, m; `None`: the finest of a fixed list that keeps to `cells_at_most`.
    pub finest_pitch_m: Option<f64>,
    /// Number of cells the choice of the pitch keeps to; `None`: 450,000 with artwork, so that a what-if takes a moment,
    /// and 1,100,000 without.
    pub cells_at_most: Option<usize>,
}

/// A grid's fineness: pitch at features, m, and by how much cells grow from one to the next, in plan and in depth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Fineness {
    pub pitch_m: f64,
    pub growth: f64,
    pub growth_in_depth: f64,
}

const fn fineness(pitch_m: f64, growth: f64, growth_in_depth: f64) -> Fineness {
    Fineness { pitch_m, growth, growth_in_depth }
}

/// Fineness tried, the best first.
const TRIED: [Fineness; 14] = [
    fineness(2.5e-5, 0.135, 0.18),
    fineness(5e-5, 0.10, 0.2),
    fineness(5e-5, 0.14, 0.3),
    fineness(7e-5, 0.16, 0.3),
    fineness(1e-4, 0.18, 0.4),
    fineness(1e-4, 0.25, 0.55),
    fineness(1.2e-4, 0.25, 0.55),
    fineness(1.5e-4, 0.25, 0.55),
    fineness(2e-4, 0.25, 0.55),
    fineness(2.5e-4, 0.25, 0.55),
    fineness(3e-4, 0.25, 0.55),
    fineness(4e-4, 0.25, 0.55),
    fineness(5e-4, 0.25, 0.55),
    fineness(7e-4, 0.25, 0.55),
];

/// Cells kept to with and without artwork.
const CELLS: [usize; 2] = [450_000, 1_100_000];

impl GridChoice {
    /// Plan and planes of the grid for a variant; `widening` > 1 gives the coarser second grid. `None` without an
    /// outline or layers.
    pub(crate) fn grid(&self, variant: &Variant, widening: f64) -> Option<(Plan, Vec<Plane>)> {
        let at = |fine: Fineness, widening: f64| -> Option<(Plan, Vec<Plane>)> {
            let plan = wishes::plan(variant, fine, widening)?;
            let planes = planes::planes(variant, fine, widening);
            (plan.columns() > 0 && !planes.is_empty()).then_some((plan, planes))
        };
        let drawn = variant.layers.iter().any(|layer| layer.pattern.is_some()) || !variant.bores.is_empty();
        let cells_at_most = self.cells_at_most.unwrap_or(CELLS[usize::from(!drawn)]);
        let finest = match self.finest_pitch_m {
            Some(pitch) => fineness(pitch.clamp(1e-5, 5e-3), 0.25, 0.55),
            None => {
                let fits = |fine: Fineness| {
                    at(fine, 1.0).is_some_and(|(plan, planes)| plan.columns() * planes.len() <= cells_at_most)
                };
                TRIED.into_iter().find(|fine| fits(*fine)).unwrap_or(TRIED[TRIED.len() - 1])
            }
        };
        at(finest, widening)
    }
}

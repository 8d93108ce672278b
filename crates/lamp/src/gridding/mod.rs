//! From the lamp as built to cells, conductances, heated columns and cooled faces.

mod bores;
mod build;
mod copper;
mod footprints;
mod lines;
mod plan;
mod planes;
mod surfaces;
mod wishes;

pub(crate) use build::{Gridded, back_face};
pub(crate) use footprints::Footprint;
pub(crate) use plan::Plan;
pub(crate) use planes::Plane;
pub(crate) use surfaces::{Surface, SurfaceKind};

use crate::as_built::Variant;

/// How fine the grid is to be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GridChoice {
    /// Pitch at the edges of lands and heat patches, m; `None`: the finest of a fixed list that keeps to `cells_at_most`.
    pub finest_pitch_m: Option<f64>,
    /// Number of cells the choice of the pitch keeps to.
    pub cells_at_most: usize,
}

impl Default for GridChoice {
    fn default() -> Self {
        Self { finest_pitch_m: None, cells_at_most: 450_000 }
    }
}

/// Pitches tried, m.
const PITCHES_M: [f64; 9] = [1e-4, 1.2e-4, 1.5e-4, 2e-4, 2.5e-4, 3e-4, 4e-4, 5e-4, 7e-4];

impl GridChoice {
    /// Plan and planes of the grid for a variant; `widening` > 1 gives the coarser second grid. `None` without an
    /// outline or layers.
    pub(crate) fn grid(&self, variant: &Variant, widening: f64) -> Option<(Plan, Vec<Plane>)> {
        let at = |finest_m: f64, widening: f64| -> Option<(Plan, Vec<Plane>)> {
            let plan = wishes::plan(variant, finest_m * widening, widening)?;
            let planes = planes::planes(variant, finest_m, widening);
            (plan.columns() > 0 && !planes.is_empty()).then_some((plan, planes))
        };
        let finest = match self.finest_pitch_m {
            Some(pitch) => pitch.clamp(1e-5, 5e-3),
            None => {
                let fits = |pitch: f64| {
                    at(pitch, 1.0)
                        .is_some_and(|(plan, planes)| plan.columns() * planes.len() <= self.cells_at_most)
                };
                PITCHES_M.into_iter().find(|p| fits(*p)).unwrap_or(PITCHES_M[PITCHES_M.len() - 1])
            }
        };
        at(finest, widening)
    }
}

//! How warm the copper that carries the current is.

use crate::findings::HotCopperFinding;
use crate::gridding::Gridded;

use super::{CopperHeat, CopperLoss, column_at};

/// Rise above the room, K, of a layer's copper at a place (mm); `None` off the board.
pub(super) fn rise_at_k(
    copper: &CopperLoss,
    gridded: &Gridded,
    rise_k: &[f64],
    layer: usize,
    at_mm: [f64; 2],
) -> Option<f64> {
    let plane = copper.wiring.plane(gridded, layer)?;
    let [x, y] = at_mm.map(|mm| 1e6 * mm);
    let column = column_at(gridded, plane, x, y)?;
    rise_k.get(plane * gridded.plan.columns() + column).copied()
}

/// The hottest place of all copper that carries current.
pub(super) fn hottest(
    copper: &CopperLoss,
    heat: &CopperHeat,
    gridded: &Gridded,
    (ambient_c, rise_k): (f64, &[f64]),
) -> Option<HotCopperFinding> {
    let cells =
        heat.islands.iter().enumerate().flat_map(|(island, cells)| cells.iter().map(move |c| (island, c.0)));
    let (island, cell) =
        cells.reduce(|best, next| if rise_k[next.1] > rise_k[best.1] { next } else { best })?;
    Some(HotCopperFinding {
        layer: copper.problem.layers[copper.solution.islands[island].layer].name.clone(),
        at_mm: gridded.plan.centre_mm(cell % gridded.plan.columns()),
        temperature_c: ambient_c + rise_k[cell],
    })
}

//! The current in a copper layer as a picture: density and loss from place to place.

use serde::Serialize;

use crate::gridding::Gridded;

use super::{CopperHeat, CopperLoss, column_at, loss_w};

/// Most picture points of a layer; more pixels than this are put together in squares.
const MOST_POINTS: usize = 1_000_000;

/// Current density and loss in a copper layer on square picture points; arrays x fastest, lowest y first.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CopperMap {
    /// Name of the layer.
    pub layer: String,
    /// Left edge of the first picture point, mm in artwork coordinates.
    pub x0_mm: f64,
    /// Lower edge of the first picture point, mm.
    pub y0_mm: f64,
    /// Size of a picture point, mm: the pixels in which the copper was solved, or whole squares of them.
    pub pitch_mm: f64,
    /// Picture points along x.
    pub nx: usize,
    /// Picture points along y.
    pub ny: usize,
    /// Size of the current density, A/mm²: of several pixels the largest. NaN where no copper is that carries current. Under
    /// the lands of emitters and supply pads the current runs in the land's metal, and little in the copper.
    pub density_a_per_mm2: Vec<f32>,
    /// Loss over the picture point's whole area, W/cm², at the copper's temperature: summed over all points times their area
    /// it is the layer's loss. NaN where no copper is that carries current.
    pub loss_w_per_cm2: Vec<f32>,
}

/// At which state the copper is looked at.
pub(crate) struct MapAt<'a> {
    pub gridded: &'a Gridded,
    pub heat: &'a CopperHeat,
    pub drive_a: f64,
    pub ambient_c: f64,
    pub rise_k: &'a [f64],
}

impl CopperLoss {
    /// Names of the copper layers that carry current, with their numbers in the problem.
    pub fn carrying_layers(&self) -> Vec<(usize, String)> {
        let carries = |layer: usize| self.solution.islands.iter().any(|island| island.layer == layer);
        let layers = self.problem.layers.iter().enumerate();
        layers
            .filter(|(index, _)| carries(*index))
            .map(|(index, layer)| (index, layer.name.clone()))
            .collect()
    }

    /// The picture of a layer; `None` where it carries no current.
    pub fn map(&self, layer: usize, at: &MapAt<'_>) -> Option<CopperMap> {
        let pitch_mm = self.solution.islands.first()?.pitch_mm;
        // All islands lie on one lattice: their corners are whole pixels apart.
        let islands = || self.solution.islands.iter().enumerate().filter(|(_, island)| island.layer == layer);
        let least = |axis: usize| islands().map(|(_, island)| island.corner_mm[axis]).reduce(f64::min);
        let (x0_mm, y0_mm) = (least(0)?, least(1)?);
        let first = |corner: f64, from: f64| ((corner - from) / pitch_mm).round() as usize;
        let (mut wide, mut tall) = (0, 0);
        for (_, island) in islands() {
            wide = wide.max(first(island.corner_mm[0], x0_mm) + island.nx);
            tall = tall.max(first(island.corner_mm[1], y0_mm) + island.ny);
        }
        let side = (((wide * tall) as f64 / MOST_POINTS as f64).sqrt().ceil() as usize).max(1);
        let (nx, ny) = (wide.div_ceil(side), tall.div_ceil(side));
        let mut density = vec![f32::NAN; nx * ny];
        let mut loss = vec![f64::NAN; nx * ny];
        let losses = at.heat.island_losses_w(at.drive_a, at.ambient_c, at.rise_k);
        let plane = self.wiring.plane(at.gridded, layer)?;
        for (number, island) in islands() {
            let mean = if island.loss_w > 0.0 { losses[number] / island.loss_w } else { 0.0 };
            // Where branches share a current: as the findings, by the root of the loss.
            let factor = at.heat.factor(number);
            let (i0, j0) = (first(island.corner_mm[0], x0_mm), first(island.corner_mm[1], y0_mm));
            for (pixel, share) in island.share.iter().enumerate() {
                if *share <= 0.0 || island.potential_v[pixel].is_nan() {
                    continue;
                }
                let point = (j0 + pixel / island.nx) / side * nx + (i0 + pixel % island.nx) / side;
                let [x, y] = island.middle_mm(pixel).map(|mm| 1e6 * mm);
                let column = column_at(at.gridded, plane, x, y);
                let cell = column.map(|column| plane * at.gridded.plan.columns() + column);
                // Copper over a hole or the board's edge is as warm as its island on the mean, as in the findings.
                let warm =
                    cell.map_or(mean, |cell| loss_w(factor, at.drive_a, at.ambient_c + at.rise_k[cell]));
                loss[point] = loss[point].max(0.0) + warm * island.pixel_loss_w[pixel];
                let here = island.density_a_per_mm2(pixel) * at.drive_a * factor.sqrt();
                density[point] = density[point].max(here as f32);
            }
        }
        let point_cm2 = (0.1 * pitch_mm * side as f64).powi(2);
        Some(CopperMap {
            layer: self.problem.layers[layer].name.clone(),
            x0_mm,
            y0_mm,
            pitch_mm: pitch_mm * side as f64,
            nx,
            ny,
            density_a_per_mm2: density,
            loss_w_per_cm2: loss.into_iter().map(|w| (w / point_cm2) as f32).collect(),
        })
    }
}

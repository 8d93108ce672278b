//! What is read of a field, as weights of its cells: solder points, sensors, places of the board.

use crate::gridding::{Footprint, Surface, SurfacePiece};
use crate::model::Model;
use crate::reading;
use crate::stage::Stage;

/// Reads a rise: cells with their weights, and what an emitter's own heat adds between a cell's middle and its face.
#[derive(Debug, Clone, Default)]
pub(crate) struct Weights {
    /// Cell and weight.
    pub cells: Vec<(usize, f64)>,
    /// K per watt of the emitter read; 0 for all else.
    pub own_k_per_w: f64,
}

/// The board's upper face: a cell's middle with the drop over its half, as [`Stage::top_face_k`] has it.
struct TopFace {
    /// Drop per watt through the half cell, K/W, by column.
    half_k_per_w: Vec<f64>,
    /// Conductance to the room, W/K, by column.
    out_w_per_k: Vec<f64>,
}

impl TopFace {
    fn new(stage: &Stage) -> Self {
        let gridded = &stage.gridded;
        let columns = gridded.plan.columns();
        let half = |c: usize| {
            let half = gridded.half_m2k_per_w(0, c);
            if half.is_finite() { half / gridded.areas_m2[c] } else { 0.0 }
        };
        let mut out_w_per_k = vec![0.0; columns];
        for (index, _) in gridded.surfaces.iter().enumerate().filter(|(_, s)| s.kind.is_upper()) {
            for (cell, g) in stage.to_room(index, 0.0).filter(|(cell, _)| *cell < columns) {
                out_w_per_k[cell] += g;
            }
        }
        Self { half_k_per_w: (0..columns).map(half).collect(), out_w_per_k }
    }

    fn of(&self, columns: &[(usize, f64)]) -> Weights {
        let with_drop =
            |(c, w): &(usize, f64)| (*c, w * (1.0 - self.half_k_per_w[*c] * self.out_w_per_k[*c]));
        Weights { cells: columns.iter().map(with_drop).collect(), own_k_per_w: 0.0 }
    }

    /// Mean over a footprint, whose own heat goes in at the face.
    fn mean(&self, footprint: &Footprint) -> Weights {
        let own = footprint.columns.iter().map(|(c, part)| part * part * self.half_k_per_w[*c]).sum();
        Weights { own_k_per_w: own, ..self.of(&footprint.columns) }
    }
}

/// Reads the mean over a face, at the middles of its cells.
pub(crate) fn face_mean(face: &Surface) -> Weights {
    let part = |p: &SurfacePiece| (p.cell, p.area_m2 / face.area_m2);
    Weights { cells: face.pieces.iter().map(part).collect(), own_k_per_w: 0.0 }
}

impl Model {
    /// Reads the solder point of each emitter.
    pub(crate) fn solder_weights(&self) -> Vec<Weights> {
        let top = TopFace::new(&self.fine);
        self.fine.gridded.emitters.iter().map(|f| top.mean(f)).collect()
    }

    /// Reads the place of each sensor; `None` off the board.
    pub(crate) fn sensor_weights(&self) -> Vec<Option<Weights>> {
        let top = TopFace::new(&self.fine);
        let gridded = &self.fine.gridded;
        let at = |sensor: &crate::as_built::Sensor| {
            let (x, y) = (1e-6 * f64::from(sensor.at.x_nm), 1e-6 * f64::from(sensor.at.y_nm));
            let columns = reading::weights(&gridded.plan, |c| gridded.is_present(0, c), x, y)?;
            Some(top.of(&columns))
        };
        self.lamp.sensors.iter().map(at).collect()
    }

    /// Reads the place of the board that is now the hottest.
    pub(crate) fn hottest_board_weights(&self) -> Option<Weights> {
        let rises = self.fine.top_face_k();
        let there = (0..rises.len()).filter(|c| rises[*c].is_finite());
        let hottest = there.max_by(|a, b| rises[*a].total_cmp(&rises[*b]))?;
        Some(TopFace::new(&self.fine).of(&[(hottest, 1.0)]))
    }
}

//! The lamp's cells as a system of the conduction solver.

use std::sync::atomic::AtomicBool;

use conduction::{Conductances, Grid, SolveError, SolveOptions, Solver};

use crate::gridding::Gridded;
use crate::model::ModelError;

/// Most iterations of one solve; a usual board needs a twentieth of it, a block with cells of very unequal size more.
const MOST_ITERATIONS: usize = 1000;

/// A gridded variant made ready for the solver.
pub(crate) struct Linear {
    solver: Solver,
}

fn problem(text: impl std::fmt::Display) -> ModelError {
    ModelError::Problem(text.to_string())
}

impl Linear {
    /// Makes a system from a grid's conductances and the conductances of its faces to the room, W/K.
    pub fn new(gridded: &Gridded, ground_w_per_k: &[f64]) -> Result<Self, ModelError> {
        let metres = |lines: &[f64]| lines.iter().map(|nm| nm * 1e-9).collect::<Vec<f64>>();
        let mut depth = vec![0.0];
        for plane in &gridded.planes {
            depth.push(depth[depth.len() - 1] + plane.thickness_m);
        }
        let grid =
            Grid::new(metres(&gridded.plan.x_nm), metres(&gridded.plan.y_nm), depth).map_err(problem)?;
        let conductances = Conductances::from_faces(
            &grid,
            gridded.gx.clone(),
            gridded.gy.clone(),
            gridded.gz.clone(),
            ground_w_per_k.to_vec(),
        )
        .map_err(problem)?;
        Ok(Self { solver: Solver::new(&conductances).map_err(problem)? })
    }

    /// Changes the conductances to the room.
    pub fn set_ground(&mut self, ground_w_per_k: &[f64]) -> Result<(), ModelError> {
        self.solver.set_ground(ground_w_per_k).map_err(problem)
    }

    /// Improves rises until the residual is small against the heat; returns the iterations it took.
    pub fn solve(
        &mut self,
        power_w: &[f64],
        rise_k: &mut Vec<f64>,
        relative_residual: f64,
        cancel: &AtomicBool,
    ) -> Result<usize, ModelError> {
        let options = SolveOptions {
            relative_residual,
            max_iterations: MOST_ITERATIONS,
            start: Some(rise_k.as_slice()),
            cancel: Some(cancel),
        };
        let solution = self.solver.solve(power_w, &options).map_err(|error| match error {
            SolveError::Cancelled => ModelError::Cancelled,
            SolveError::Floating { .. } => ModelError::Problem(
                "the heat has no way out: every face is adiabatic and there is no heatsink; give [faces] or [heatsink]".to_owned(),
            ),
            other => problem(other),
        })?;
        *rise_k = solution.rise_k;
        Ok(solution.iterations)
    }
}

//! Potential fields on a rectilinear grid: cells, faces, conductances and sources to a field and its balance.
//!
//! The method: conjugate gradients in double precision, preconditioned in single precision by a multigrid V-cycle that
//! coarsens across the layers only, smooths by columns solved exactly through the thickness in two colours, and treats
//! the thin, well-conducting sheet at the top by a two-dimensional correction before and after each cycle.

mod boxes;
mod columns;
mod conductances;
mod cycle;
mod direct;
mod error;
pub mod estimate;
mod field;
mod foil;
mod grid;
mod kernels;
mod layout;
mod level;
mod operator;
mod plane;
mod rows;
mod sheet;
mod solver;
mod sweeps;
mod team;

pub use conductances::{Conductances, Interface, face_to_ambient_w_per_k};
pub use error::{GridError, SolveError};
pub use field::Field;
pub use foil::{Foil, FoilField, FoilSheet, FoilSolver};
pub use grid::Grid;
pub use rows::on_threads;
pub use solver::{Balance, Solution, SolveOptions, Solver};

//! Steady current in thin sheets of any shape: only pixels that conduct are counted, each sheet on its own rectangle, with
//! links between sheets.
//!
//! Pixels are coloured like a chessboard. What one colour has follows exactly from the other, so conjugate gradients run
//! over the red ones alone (directions in single precision, their currents and the field in double). A multigrid V-cycle
//! over blocks of two by two is the preconditioner: its sweeps in two colours are those of the red pixels alone, too.
//! After Wesseling, "An introduction to multigrid methods" (1992), chapter 5.4, and Kwak, SIAM J. Numer. Anal. 36 (1999)
//! 1 (both from memory) for blocks about cells and the weights by which the pixels follow them.

mod coarsen;
mod finest;
mod floor;
mod graph;
mod pixels;
mod ready;
mod solve;
mod sparse;

pub use solve::{FoilField, FoilSolver};

/// A sheet of pixels, x fastest.
#[derive(Debug, Clone, Copy)]
pub struct FoilSheet<'a> {
    /// Place of its first pixel among the places that all sheets share, along x and y.
    pub first: [usize; 2],
    /// Pixels along x.
    pub nx: usize,
    /// Pixels along y.
    pub ny: usize,
    /// Whether its colours are the other way round: sheets that are linked had better differ.
    pub odd: bool,
    /// Conductance from each pixel to that at larger x, S; 0 in the last column.
    pub gx: &'a [f32],
    /// Conductance from each pixel to that at larger y, S; 0 in the last row.
    pub gy: &'a [f32],
}

/// Sheets and what joins them. A cell is counted through all sheets, one after the other.
#[derive(Debug, Clone, Default)]
pub struct Foil<'a> {
    /// The sheets.
    pub sheets: Vec<FoilSheet<'a>>,
    /// Conductances between cells at the same place of different sheets, S; above 0.
    pub links: Vec<(usize, usize, f32)>,
    /// Conductances to 0 V, S; above 0.
    pub ground: Vec<(usize, f32)>,
    /// Cells held at 0 V.
    pub held: Vec<usize>,
}

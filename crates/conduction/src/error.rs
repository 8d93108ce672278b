//! What can go wrong.

use std::fmt;

/// A grid that cannot be.
#[derive(Debug, Clone, PartialEq)]
pub enum GridError {
    /// Fewer than two lines on an axis.
    TooFewLines {
        /// `x`, `y` or `z`.
        axis: char,
    },
    /// Lines that do not ascend, or are not finite.
    NotAscending {
        /// `x`, `y` or `z`.
        axis: char,
        /// Index of the first line that does not lie above the one before.
        at: usize,
    },
    /// An array of the wrong length.
    WrongLength {
        /// What the array holds.
        what: &'static str,
        /// Its length.
        found: usize,
        /// The length it must have.
        wanted: usize,
    },
    /// A conductivity, conductance or resistance that is negative or not finite.
    OutOfRange {
        /// What is wrong.
        what: &'static str,
        /// Where, as an index of its array.
        at: usize,
    },
}

impl fmt::Display for GridError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::TooFewLines { axis } => write!(f, "the {axis} axis needs at least two grid lines"),
            Self::NotAscending { axis, at } => {
                write!(f, "grid line {at} of the {axis} axis does not lie above the one before")
            }
            Self::WrongLength { what, found, wanted } => {
                write!(f, "{what}: {found} values for {wanted} cells")
            }
            Self::OutOfRange { what, at } => write!(f, "{what} at {at} is negative or not a number"),
        }
    }
}

impl std::error::Error for GridError {}

/// A field that cannot be had.
#[derive(Debug, Clone, PartialEq)]
pub enum SolveError {
    /// The iteration did not reach its tolerance.
    NotConverged {
        /// Iterations done.
        iterations: usize,
        /// Residual over right side reached.
        relative_residual: f64,
    },
    /// Cells that heat goes into have no path to the reference potential.
    Floating {
        /// Number of cells without a path.
        cells: usize,
    },
    /// Somebody asked to stop.
    Cancelled,
    /// A source or start value is not a number.
    NotFinite,
    /// An array of the wrong length.
    WrongLength {
        /// What the array holds.
        what: &'static str,
        /// Its length.
        found: usize,
        /// The length it must have.
        wanted: usize,
    },
}

impl fmt::Display for SolveError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotConverged { iterations, relative_residual } => {
                write!(
                    f,
                    "no convergence after {iterations} iterations (relative residual {relative_residual:.1e})"
                )
            }
            Self::Floating { cells } => write!(f, "{cells} cells have no path to the reference potential"),
            Self::Cancelled => f.write_str("stopped on request"),
            Self::NotFinite => f.write_str("a source or start value is not a number"),
            Self::WrongLength { what, found, wanted } => {
                write!(f, "{what}: {found} values for {wanted} cells")
            }
        }
    }
}

impl std::error::Error for SolveError {}

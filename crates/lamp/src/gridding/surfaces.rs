//! Faces that give heat to the room.

use crate::as_built::Face;
use crate::cooling::natural_convection::Orientation;

/// Which face of the lamp.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum SurfaceKind {
    /// Emitter side of the board.
    BoardTop,
    /// Back of the board where no heatsink covers it.
    BoardBack,
    /// Front of the heatsink base beside the board.
    BaseFront,
    /// Back of the heatsink base.
    BaseBack,
}

impl SurfaceKind {
    /// The words for messages.
    pub fn words(self) -> &'static str {
        match self {
            Self::BoardTop => "the board's emitter side",
            Self::BoardBack => "the board's open back",
            Self::BaseFront => "the heatsink base beside the board",
            Self::BaseBack => "the heatsink base's back",
        }
    }
}

/// A piece of a face, on one cell.
#[derive(Debug, Clone, Copy)]
pub(crate) struct SurfacePiece {
    /// The cell behind it.
    pub cell: usize,
    /// Area, m².
    pub area_m2: f64,
    /// From the cell's middle to the face, half the cell and the mask on it, m²K/W.
    pub behind_m2k_per_w: f64,
}

/// A face of the lamp.
#[derive(Debug, Clone)]
pub(crate) struct Surface {
    pub kind: SurfaceKind,
    /// What it gives to the room.
    pub face: Face,
    pub orientation: Orientation,
    /// Height of an upright face, area over perimeter of a horizontal one, m.
    pub length_m: f64,
    pub pieces: Vec<SurfacePiece>,
    /// Sum of the pieces' areas, m².
    pub area_m2: f64,
}

impl Surface {
    pub fn new(
        kind: SurfaceKind,
        face: Face,
        orientation: Orientation,
        length_m: f64,
        pieces: Vec<SurfacePiece>,
    ) -> Self {
        let area_m2 = pieces.iter().map(|p| p.area_m2).sum();
        Self { kind, face, orientation, length_m, pieces, area_m2 }
    }
}

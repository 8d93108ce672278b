//! Faces that give heat to the room.

use crate::as_built::{Face, Facing};
use crate::cooling::air_side::AirSide;
use crate::cooling::natural_convection::Orientation;

use super::plan::Plan;

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
    /// Whether it lies on the upper faces of its cells.
    pub fn is_upper(self) -> bool {
        matches!(self, Self::BoardTop | Self::BaseFront)
    }

    /// Where it looks in a lamp whose emitter side looks there.
    pub fn looks(self, facing: Facing) -> Orientation {
        match (facing, self.is_upper()) {
            (Facing::Sideways, _) => Orientation::Sideways,
            (Facing::Up, true) | (Facing::Down, false) => Orientation::Up,
            (Facing::Up, false) | (Facing::Down, true) => Orientation::Down,
        }
    }

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

/// Lengths that natural convection from a plate goes by.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Extent {
    /// Height when it stands upright, m.
    pub upright_m: f64,
    /// Area over perimeter when it lies level, m.
    pub level_m: f64,
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
    /// Its lengths for natural convection.
    pub extent: Extent,
    pub pieces: Vec<SurfacePiece>,
    /// Fins, fan and vents that cool it; they stand instead of `face`.
    pub air: Option<AirBack>,
    /// Sum of the pieces' areas, m².
    pub area_m2: f64,
    /// Factor on every film of it; 1 as the relations say.
    pub film_factor: f64,
}

impl Surface {
    pub fn new(
        kind: SurfaceKind,
        face: Face,
        facing: Facing,
        extent: Extent,
        pieces: Vec<SurfacePiece>,
    ) -> Self {
        let area_m2 = pieces.iter().map(|p| p.area_m2).sum();
        let orientation = kind.looks(facing);
        Self { kind, face, orientation, extent, pieces, air: None, area_m2, film_factor: 1.0 }
    }

    /// Turns it with the lamp.
    pub fn turn(&mut self, facing: Facing) {
        self.orientation = self.kind.looks(facing);
    }

    /// Characteristic length of the plate as it looks now, m.
    pub fn length_m(&self) -> f64 {
        match self.orientation {
            Orientation::Sideways => self.extent.upright_m,
            Orientation::Up | Orientation::Down => self.extent.level_m,
        }
    }
}

/// The base's back as the air sees it: strips of pieces along the channels.
#[derive(Debug, Clone)]
pub(crate) struct AirBack {
    pub side: AirSide,
    /// Where the pieces of a strip begin and end along the channels, m; the same for all strips.
    pub spans_m: Vec<(f64, f64)>,
    pub strips: Vec<AirStrip>,
}

/// Pieces one after another along the channels.
#[derive(Debug, Clone)]
pub(crate) struct AirStrip {
    /// Index of the piece on each span; `None` where there is none.
    pub pieces: Vec<Option<usize>>,
    /// Width across the channels, m.
    pub width_m: f64,
}

impl AirBack {
    /// Cuts a back's pieces into strips on a plan.
    pub fn new(side: &AirSide, plan: &Plan, pieces: &[SurfacePiece]) -> Self {
        let (nx, columns) = (plan.nx(), plan.columns());
        let mut piece_at = vec![None; columns];
        for (p, piece) in pieces.iter().enumerate() {
            piece_at[piece.cell % columns] = Some(p);
        }
        let (along, across) = if side.along_y { (&plan.y_nm, &plan.x_nm) } else { (&plan.x_nm, &plan.y_nm) };
        let (n_along, n_across) = (along.len().saturating_sub(1), across.len().saturating_sub(1));
        let column = |a: usize, c: usize| if side.along_y { a * nx + c } else { c * nx + a };
        let held = |a: usize| (0..n_across).any(|c| piece_at[column(a, c)].is_some());
        let rows: Vec<usize> = (0..n_along).filter(|a| held(*a)).collect();
        let begin = rows.first().map_or(0.0, |a| along[*a]);
        let spans_m =
            rows.iter().map(|a| (1e-9 * (along[*a] - begin), 1e-9 * (along[a + 1] - begin))).collect();
        let strips = (0..n_across)
            .map(|c| AirStrip {
                pieces: rows.iter().map(|a| piece_at[column(*a, c)]).collect(),
                width_m: 1e-9 * (across[c + 1] - across[c]),
            })
            .filter(|strip: &AirStrip| strip.pieces.iter().any(Option::is_some))
            .collect();
        Self { side: side.clone(), spans_m, strips }
    }
}

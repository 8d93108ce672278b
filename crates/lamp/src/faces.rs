//! Films on the lamp's faces, found from the temperatures of those faces.

use crate::as_built::Face;
use crate::cooling::ZERO_C_IN_K;
use crate::cooling::natural_convection::natural_convection;
use crate::cooling::radiation::h_radiation;
use crate::gridding::{Surface, SurfaceKind};

/// The films on one face.
#[derive(Debug, Clone)]
pub(crate) struct Films {
    /// Convection (or a given film), the same over the whole face, W/m²/K.
    pub convection_w_per_m2_k: f64,
    /// Radiation, per piece of the face, W/m²/K; empty where there is none.
    pub radiation_w_per_m2_k: Vec<f64>,
    /// Rayleigh number, and whether it and the air are outside the stated ranges; `None` for a given film.
    pub natural: Option<(f64, bool)>,
}

impl Films {
    /// Before anything is known about the temperatures.
    pub fn guess(surface: &Surface, rise_k: f64, ambient_c: f64) -> Self {
        films(surface, ambient_c, rise_k, |_| rise_k)
    }

    /// From the rises of the cells, K, and the films so far.
    pub fn next(&self, surface: &Surface, rise_k: &[f64], ambient_c: f64) -> Self {
        let face_rise = |p: usize| {
            let piece = &surface.pieces[p];
            let behind = piece.behind_m2k_per_w;
            let cell = rise_k.get(piece.cell).copied().unwrap_or(0.0);
            // A bored-out cell's middle is not connected to its face (infinite resistance behind it).
            if behind.is_finite() { cell / (1.0 + self.film(p) * behind) } else { 0.0 }
        };
        let weighted: f64 =
            surface.pieces.iter().enumerate().map(|(p, piece)| piece.area_m2 * face_rise(p)).sum();
        films(surface, ambient_c, weighted / surface.area_m2, face_rise)
    }

    /// Convection and radiation together on a piece, W/m²/K.
    pub fn film(&self, piece: usize) -> f64 {
        self.convection_w_per_m2_k + self.radiation_w_per_m2_k.get(piece).copied().unwrap_or(0.0)
    }

    /// Conductance of a piece from its cell's middle to the room, W/K.
    pub fn conductance(&self, surface: &Surface, piece: usize) -> f64 {
        let film = self.film(piece);
        let of = &surface.pieces[piece];
        if film > 0.0 { of.area_m2 / (of.behind_m2k_per_w + 1.0 / film) } else { 0.0 }
    }

    /// Heat out by convection and by radiation at these cell rises, W.
    pub fn heat_w(&self, surface: &Surface, rise_k: &[f64]) -> (f64, f64) {
        let (mut convection, mut radiation) = (0.0, 0.0);
        for (p, piece) in surface.pieces.iter().enumerate() {
            let heat = self.conductance(surface, p) * rise_k.get(piece.cell).copied().unwrap_or(0.0);
            let film = self.film(p);
            if film > 0.0 {
                convection += heat * self.convection_w_per_m2_k / film;
                radiation += heat * (film - self.convection_w_per_m2_k) / film;
            }
        }
        (convection, radiation)
    }

    /// What must be said about the range of the natural convection used.
    pub fn remark(&self, surface: &Surface) -> Option<String> {
        let (rayleigh, outside) = self.natural?;
        let (low, high) = surface.orientation.stated_rayleigh_range();
        (outside && surface.area_m2 > 0.0).then(|| {
            format!(
                "natural convection from {} ({}): Rayleigh number {rayleigh:.2e} or its air temperature lies outside the \
                 range for which the relation is stated ({low:.0e} to {high:.0e}, air -23 to 227 degC); it was used all the same",
                surface.kind.words(),
                surface.orientation.words()
            )
        })
    }
}

fn films(surface: &Surface, ambient_c: f64, mean_rise_k: f64, face_rise: impl Fn(usize) -> f64) -> Films {
    let ambient_k = ambient_c + ZERO_C_IN_K;
    match surface.face {
        Face::Adiabatic => {
            Films { convection_w_per_m2_k: 0.0, radiation_w_per_m2_k: Vec::new(), natural: None }
        }
        Face::Film { h_w_per_m2_k } => {
            Films { convection_w_per_m2_k: h_w_per_m2_k, radiation_w_per_m2_k: Vec::new(), natural: None }
        }
        Face::Open { emissivity } => {
            let natural =
                natural_convection(surface.orientation, surface.length_m, ambient_k + mean_rise_k, ambient_k);
            let radiation = |p| h_radiation(emissivity, ambient_k + face_rise(p).max(-ambient_k), ambient_k);
            Films {
                convection_w_per_m2_k: natural.h_w_per_m2_k,
                radiation_w_per_m2_k: (0..surface.pieces.len()).map(radiation).collect(),
                natural: Some((natural.rayleigh, !(natural.in_stated_range && natural.air_in_range))),
            }
        }
    }
}

/// Whether a face's heat counts as the heatsink's.
pub(crate) fn is_heatsink_back(surface: &Surface) -> bool {
    surface.kind == SurfaceKind::BaseBack
}

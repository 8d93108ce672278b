//! Films on the lamp's faces, found from the temperatures of those faces.

use crate::as_built::Face;
use crate::cooling::ZERO_C_IN_K;
use crate::cooling::air_side::{AirState, passage};
use crate::cooling::natural_convection::natural_convection;
use crate::cooling::radiation::h_radiation;
use crate::gridding::{AirBack, Surface, SurfaceKind};

/// The films on one face.
#[derive(Debug, Clone)]
pub(crate) struct Films {
    /// Convection (or a given film), the same over the whole face, W/m²/K.
    pub convection_w_per_m2_k: f64,
    /// Convection that differs from place to place, per piece, W/m²/K, besides `convection_w_per_m2_k`; empty where there is none.
    pub local_w_per_m2_k: Vec<f64>,
    /// Radiation, per piece of the face, W/m²/K; empty where there is none.
    pub radiation_w_per_m2_k: Vec<f64>,
    /// Rayleigh number, and whether it and the air are outside the stated ranges; `None` for a given film.
    pub natural: Option<(f64, bool)>,
    /// Fan, housing and natural convection behind fins.
    pub air: Option<AirState>,
}

impl Films {
    /// The same everywhere, by convection or given.
    fn even(convection_w_per_m2_k: f64) -> Self {
        Self {
            convection_w_per_m2_k,
            local_w_per_m2_k: Vec::new(),
            radiation_w_per_m2_k: Vec::new(),
            natural: None,
            air: None,
        }
    }

    /// Before anything is known about the temperatures.
    pub fn guess(surface: &Surface, rise_k: f64, ambient_c: f64) -> Self {
        Self::at(surface, ambient_c, rise_k, |_| rise_k)
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
        let mean_k = weighted / surface.area_m2;
        Self::at(surface, ambient_c, mean_k, face_rise)
    }

    /// At a face's mean rise and the rise of each piece, K.
    fn at(surface: &Surface, ambient_c: f64, mean_k: f64, face_rise: impl Fn(usize) -> f64) -> Self {
        let mut films = match &surface.air {
            Some(back) => air_films(back, surface, ambient_c, mean_k, face_rise),
            None => films(surface, ambient_c, mean_k, face_rise),
        };
        films.scale(surface.film_factor);
        films
    }

    fn scale(&mut self, factor: f64) {
        if factor != 1.0 {
            self.convection_w_per_m2_k *= factor;
            let pieces = self.local_w_per_m2_k.iter_mut().chain(&mut self.radiation_w_per_m2_k);
            pieces.for_each(|h| *h *= factor);
        }
    }

    /// Convection and radiation together on a piece, W/m²/K.
    pub fn film(&self, piece: usize) -> f64 {
        self.convection(piece) + self.radiation_w_per_m2_k.get(piece).copied().unwrap_or(0.0)
    }

    /// Convection on a piece, W/m²/K.
    fn convection(&self, piece: usize) -> f64 {
        self.convection_w_per_m2_k + self.local_w_per_m2_k.get(piece).copied().unwrap_or(0.0)
    }

    /// Conductance of a piece from its cell's middle to the room, W/K.
    pub fn conductance(&self, surface: &Surface, piece: usize) -> f64 {
        self.conductance_with(surface, piece, 1.0)
    }

    /// The same with a factor on the film.
    pub fn conductance_with(&self, surface: &Surface, piece: usize, factor: f64) -> f64 {
        let film = factor * self.film(piece);
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
                let convected = self.convection(p);
                convection += heat * convected / film;
                radiation += heat * (film - convected) / film;
            }
        }
        (convection, radiation)
    }

    /// What must be said about the air side.
    pub fn air_remarks(&self) -> &[String] {
        self.air.as_ref().map_or(&[], |state| &state.remarks)
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
        Face::Adiabatic => Films::even(0.0),
        Face::Film { h_w_per_m2_k } => Films::even(h_w_per_m2_k),
        Face::Open { emissivity } => {
            let natural = natural_convection(
                surface.orientation,
                surface.length_m(),
                ambient_k + mean_rise_k,
                ambient_k,
            );
            let radiation = |p| h_radiation(emissivity, ambient_k + face_rise(p).max(-ambient_k), ambient_k);
            Films {
                radiation_w_per_m2_k: (0..surface.pieces.len()).map(radiation).collect(),
                natural: Some((natural.rayleigh, !(natural.in_stated_range && natural.air_in_range))),
                ..Films::even(natural.h_w_per_m2_k)
            }
        }
    }
}

/// Films behind fins from the mean rise of the back, K: strip by strip along the channels.
fn air_films(
    back: &AirBack,
    surface: &Surface,
    ambient_c: f64,
    mean_rise_k: f64,
    face_rise: impl Fn(usize) -> f64,
) -> Films {
    let ambient_k = ambient_c + ZERO_C_IN_K;
    let state = back.side.state(surface.orientation, mean_rise_k, ambient_k);
    let way = passage(&back.side, &state, &back.spans_m);
    let mut local = vec![0.0; surface.pieces.len()];
    for strip in &back.strips {
        let rises: Vec<f64> = strip.pieces.iter().map(|p| p.map_or(0.0, &face_rise)).collect();
        let (found, _) = way.films(strip.width_m, &rises);
        for (piece, film) in strip.pieces.iter().zip(found) {
            if let Some(place) = piece.and_then(|p| local.get_mut(p)) {
                *place = film;
            }
        }
    }
    let inside = state.inlet_rise_k;
    let radiation = |p: usize| {
        let rise = face_rise(p).max(-ambient_k);
        // Against the air's own surroundings: in a housing its walls are as warm as the air inside.
        let flux =
            state.radiating_area * h_radiation(1.0, ambient_k + rise, ambient_k + inside) * (rise - inside);
        if rise > 1e-3 { (flux / rise).max(0.0) } else { 0.0 }
    };
    Films {
        local_w_per_m2_k: local,
        radiation_w_per_m2_k: (0..surface.pieces.len()).map(radiation).collect(),
        air: Some(state),
        ..Films::even(0.0)
    }
}

/// Whether a face's heat counts as the heatsink's.
pub(crate) fn is_heatsink_back(surface: &Surface) -> bool {
    surface.kind == SurfaceKind::BaseBack
}

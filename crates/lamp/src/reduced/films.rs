//! How the films of a face follow its mean rise and the room, relative to a reference: a table made once.

use crate::faces::Films;
use crate::gridding::Surface;

/// Rises at which films are tabled, K; between them their logarithm goes straight over the rise's.
const RISES_K: [f64; 10] = [0.5, 2.0, 5.0, 10.0, 20.0, 35.0, 60.0, 100.0, 160.0, 260.0];
/// Rooms at which they are tabled, degC, besides the reference's.
const ROOMS_C: [f64; 5] = [-40.0, 0.0, 40.0, 80.0, 120.0];

/// The logarithm of a face's mean film over that of its reference.
pub(super) struct FilmLaw {
    rooms_c: Vec<f64>,
    /// For each room, for each rise.
    ln_film: Vec<Vec<f64>>,
    ln_reference: f64,
}

impl FilmLaw {
    /// Of a face whose reference films hold at a mean rise, K, and room, degC.
    pub fn new(surface: &Surface, rise_k: f64, ambient_c: f64) -> Self {
        let mut rooms_c: Vec<f64> = ROOMS_C.into_iter().filter(|c| (c - ambient_c).abs() > 5.0).collect();
        rooms_c.push(ambient_c);
        rooms_c.sort_by(f64::total_cmp);
        // What a fit does to the films is not the law's.
        let plain = Surface { film_factor: 1.0, ..surface.clone() };
        let mean = |room_c: f64, rise_k: f64| {
            let films = Films::guess(&plain, rise_k, room_c);
            let sum: f64 = plain.pieces.iter().enumerate().map(|(p, of)| of.area_m2 * films.film(p)).sum();
            (sum / plain.area_m2).max(1e-12).ln()
        };
        let ln_film =
            rooms_c.iter().map(|room| RISES_K.iter().map(|rise| mean(*room, *rise)).collect()).collect();
        let mut law = Self { rooms_c, ln_film, ln_reference: 0.0 };
        law.ln_reference = law.ln_at(rise_k, ambient_c);
        law
    }

    /// Logarithm of the film at a mean rise, K, and room, degC, over the reference's.
    pub fn ln_factor(&self, rise_k: f64, ambient_c: f64) -> f64 {
        self.ln_at(rise_k, ambient_c) - self.ln_reference
    }

    fn ln_at(&self, rise_k: f64, ambient_c: f64) -> f64 {
        let ln_rise = rise_k.max(RISES_K[0]).ln();
        let row = |row: &Vec<f64>| {
            let (at, part) = between(&RISES_K.map(f64::ln), ln_rise);
            row[at] + part * (row[at + 1] - row[at])
        };
        let (at, part) = between(&self.rooms_c, ambient_c);
        let low = row(&self.ln_film[at]);
        low + part * (row(&self.ln_film[at + 1]) - low)
    }
}

/// The place left of `x` and how far on the way to the next it lies; beyond the ends, straight on for half a step at most.
fn between(points: &[f64], x: f64) -> (usize, f64) {
    let at = points.partition_point(|p| *p <= x).clamp(1, points.len() - 1) - 1;
    (at, ((x - points[at]) / (points[at + 1] - points[at])).clamp(-0.5, 1.5))
}

//! A thin sheet for the yardstick: slits from both sides in turn, round holes between them, current from one end to the other.

use std::io::Error;
use std::path::Path;

use conduction::{Foil, FoilSheet};

use crate::matrix;

/// Pixels along each side.
const SIDE: usize = 2000;
/// Conductance of a square, S: 35 um of copper.
const SQUARE_S: f32 = 2030.0;
/// Pixels from a slit to the next, and across one.
const SLITS: [usize; 2] = [180, 3];
/// Pixels that a slit leaves open.
const OPEN: usize = 400;
/// Pixels from a hole to the next, and its radius.
const HOLES: [usize; 2] = [60, 9];
/// Current that goes in at the first column's pixels together, A.
pub const CURRENT_A: f64 = 10.0;

/// The sheet's sides and which pixels have copper.
pub struct Sheet {
    copper: Vec<bool>,
    gx: Vec<f32>,
    gy: Vec<f32>,
}

fn has_copper(i: usize, j: usize) -> bool {
    let (slit, within) = (i / SLITS[0], i % SLITS[0]);
    let open = if slit % 2 == 0 { j >= SIDE - OPEN } else { j < OPEN };
    if slit > 0 && within < SLITS[1] && !open {
        return false;
    }
    let off = |at: usize| (at % HOLES[0]) as f64 - 0.5 * HOLES[0] as f64 + 0.5;
    off(i).hypot(off(j)) > HOLES[1] as f64
}

impl Sheet {
    pub fn new() -> Self {
        let copper: Vec<bool> = (0..SIDE * SIDE).map(|c| has_copper(c % SIDE, c / SIDE)).collect();
        let side = |step: usize| -> Vec<f32> {
            (0..SIDE * SIDE)
                .map(|c| {
                    let last = if step == 1 { c % SIDE + 1 == SIDE } else { c + step >= SIDE * SIDE };
                    if !last && copper[c] && copper[c + step] { SQUARE_S } else { 0.0 }
                })
                .collect()
        };
        let (gx, gy) = (side(1), side(SIDE));
        Self { copper, gx, gy }
    }

    pub fn pixels(&self) -> usize {
        self.copper.iter().filter(|copper| **copper).count()
    }

    pub fn foil(&self) -> Foil<'_> {
        let sheet = FoilSheet { first: [0, 0], nx: SIDE, ny: SIDE, odd: false, gx: &self.gx, gy: &self.gy };
        let ground = self.end(SIDE - 1).map(|cell| (cell, SQUARE_S)).collect();
        Foil { sheets: vec![sheet], ground, ..Foil::default() }
    }

    pub fn sources(&self) -> Vec<(usize, f64)> {
        let count = self.end(0).count() as f64;
        self.end(0).map(|cell| (cell, CURRENT_A / count)).collect()
    }

    fn end(&self, column: usize) -> impl Iterator<Item = usize> + '_ {
        (0..SIDE).map(move |j| j * SIDE + column).filter(|cell| self.copper[*cell])
    }

    /// Writes it for the comparators.
    pub fn write(&self, path: &Path) -> Result<(), Error> {
        let mut number = vec![i32::MAX; SIDE * SIDE];
        let mut cells = Vec::new();
        for cell in (0..SIDE * SIDE).filter(|cell| self.copper[*cell]) {
            number[cell] = cells.len() as i32;
            cells.push(cell);
        }
        let mut system =
            matrix::System { starts: vec![0], right: vec![0.0; cells.len()], ..Default::default() };
        for &c in &cells {
            let sides = [
                (c.wrapping_sub(SIDE), if c >= SIDE { self.gy[c - SIDE] } else { 0.0 }),
                (c.wrapping_sub(1), if c > 0 { self.gx[c - 1] } else { 0.0 }),
                (c + 1, self.gx[c]),
                (c + SIDE, self.gy[c]),
            ];
            let to_ground = if c % SIDE == SIDE - 1 { f64::from(SQUARE_S) } else { 0.0 };
            let diagonal = to_ground + sides.iter().map(|(_, g)| f64::from(*g)).sum::<f64>();
            let there = sides.iter().filter(|(_, g)| *g > 0.0);
            let mut entries: Vec<(i32, f64)> = there.map(|(to, g)| (number[*to], -f64::from(*g))).collect();
            entries.push((number[c], diagonal));
            entries.sort_by_key(|entry| entry.0);
            system.end_row(&entries);
        }
        for (cell, ampere) in self.sources() {
            system.right[number[cell] as usize] += ampere;
        }
        system.write(path)
    }
}

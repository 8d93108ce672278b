//! The gap over the board on an even raster, for views.

use serde::Serialize;

use super::{BondKind, BondLine};
use crate::as_built::Variant;

/// What is between board and base at a place.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum GapState {
    /// The film at its least thickness.
    Contact,
    /// A wider gap, filled.
    Filled,
    /// A gap that the film does not fill: air in it.
    Air,
    /// No film: beside a pedestal, or a place told to have no contact.
    Untouched,
}

/// Gaps wider than the film's least thickness by less than this count as contact, m: no film is more even.
const AS_GOOD_M: f64 = 2e-6;

/// The gap on an even raster.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct GapMap {
    /// Left edge of the first picture point, mm in artwork coordinates.
    pub x0_mm: f64,
    /// Lower edge of the first picture point, mm.
    pub y0_mm: f64,
    /// Size of a picture point, mm; a gap holds at its middle.
    pub pitch_mm: f64,
    /// Picture points along x.
    pub nx: usize,
    /// Picture points along y.
    pub ny: usize,
    /// Gap, µm, row by row from the lower left; NaN where no film is between board and base.
    pub gap_um: Vec<f32>,
    /// Widest gap that the film fills, µm.
    pub fills_to_um: f64,
}

impl BondLine {
    /// What is between board and base at a gap of the film.
    pub(super) fn state(&self, gap_m: f64) -> GapState {
        let pad = self.bond.as_ref().is_some_and(|b| b.interface.kind == BondKind::Pad);
        let fills_to = self.fills_to_m();
        if gap_m > fills_to + AS_GOOD_M && self.laid.is_some() {
            GapState::Air
        } else if gap_m > self.even_gap_m + AS_GOOD_M && !pad {
            GapState::Filled
        } else {
            GapState::Contact
        }
    }

    /// The gap over a variant's board; `None` where no thickness is given, nothing is under the board, or nothing in lamp.toml
    /// makes one place other than the next.
    pub fn map(&self, variant: &Variant, pitch_m: f64) -> Option<GapMap> {
        if self.is_even() && variant.flatness.is_even() {
            return None;
        }
        let base = &variant.heatsink.as_ref()?.base;
        let bond = self.bond.as_ref()?;
        bond.thickness_m?;
        let bounds = variant.outline.bounds()?;
        let (wide, high) = (bounds.width_nm() as f64, bounds.height_nm() as f64);
        let pitch = (1e9 * pitch_m).max(wide.max(high) / 1000.0).max(1.0);
        let [nx, ny] = [wide, high].map(|side| (side / pitch - 1e-6).ceil().max(1.0) as usize);
        let (x0, y0) = (f64::from(bounds.min.x_nm), f64::from(bounds.min.y_nm));
        // Cells of the raster as columns of a grid tell what is where.
        let lines =
            |from: f64, count: usize| -> Vec<f64> { (0..=count).map(|k| from + k as f64 * pitch).collect() };
        let (xs, ys) = (lines(x0, nx), lines(y0, ny));
        let cover = |area: &artwork::shape::Area| artwork::coverage::coverage(area, &xs, &ys);
        let (board, base) = (cover(&variant.outline), cover(base));
        let parts = super::Parts::new(self, &xs, &ys);
        let no_film: Vec<bool> = (0..nx * ny)
            .map(|column| {
                let open = self.regions.iter().zip(&parts.regions);
                let open: f64 = open
                    .filter(|(r, _)| r.resistance_m2k_per_w.is_none())
                    .map(|(_, parts)| parts[column])
                    .sum();
                open + parts.beside[column] > 0.5
            })
            .collect();
        let gap = |column: usize| {
            if board[column] < 0.5 || base[column] < 0.5 || no_film[column] {
                return f32::NAN;
            }
            let (x, y) = (x0 + (column % nx) as f64 * pitch, y0 + (column / nx) as f64 * pitch);
            // A tenth of a micrometre is more than any face has.
            ((1e7 * self.gap_m(x + 0.5 * pitch, y + 0.5 * pitch)).round() / 10.0) as f32
        };
        Some(GapMap {
            x0_mm: 1e-6 * x0,
            y0_mm: 1e-6 * y0,
            pitch_mm: 1e-6 * pitch,
            nx,
            ny,
            gap_um: (0..nx * ny).map(gap).collect(),
            fills_to_um: 1e6 * self.fills_to_m(),
        })
    }
}

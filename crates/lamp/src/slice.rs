//! Looking at the field: depths worth a look, and even rasters of temperatures.

use serde::Serialize;

use crate::as_built::{LayerKind, Variant};
use crate::gridding::{Gridded, Plan};
use crate::reading;
use crate::stage::Stage;

/// A depth worth looking at.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Depth {
    /// What is there, in plain words.
    pub name: String,
    /// Below the emitter side's face, mm.
    pub depth_mm: f64,
}

/// Temperatures on an even raster.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Slice {
    /// Left edge of the first picture point, mm in artwork coordinates.
    pub x0_mm: f64,
    /// Lower edge of the first picture point, mm.
    pub y0_mm: f64,
    /// Size of a picture point, mm; a temperature holds at its middle.
    pub pitch_mm: f64,
    /// Picture points along x.
    pub nx: usize,
    /// Picture points along y.
    pub ny: usize,
    /// Temperatures, degC, row by row from the lower left; NaN where nothing is.
    pub temperature_c: Vec<f32>,
}

impl Slice {
    pub(crate) fn sample(plan: &Plan, rises_k: &[f64], ambient_c: f64, pitch_m: f64) -> Self {
        let ends =
            |lines: &[f64]| (lines.first().copied().unwrap_or(0.0), lines.last().copied().unwrap_or(0.0));
        let ((x0, x1), (y0, y1)) = (ends(&plan.x_nm), ends(&plan.y_nm));
        let wanted = if pitch_m.is_finite() && pitch_m > 0.0 { 1e9 * pitch_m } else { 2.5e5 };
        // No raster needs more than some four million points.
        let pitch = wanted.max((x1 - x0).max(y1 - y0) / 2000.0).max(1.0);
        let count = |from: f64, to: f64| ((to - from) / pitch - 1e-6).ceil().max(0.0) as usize;
        let (nx, ny) = if rises_k.is_empty() { (0, 0) } else { (count(x0, x1), count(y0, y1)) };
        let at = |from: f64, k: usize| 1e-6 * (from + (k as f64 + 0.5) * pitch);
        let value = |i: usize, j: usize| {
            let rise = reading::at(plan, rises_k, at(x0, i).min(1e-6 * x1), at(y0, j).min(1e-6 * y1));
            rise.map_or(f32::NAN, |r| (ambient_c + r) as f32)
        };
        let temperature_c =
            (0..ny).flat_map(|j| (0..nx).map(move |i| (i, j))).map(|(i, j)| value(i, j)).collect();
        Self { x0_mm: 1e-6 * x0, y0_mm: 1e-6 * y0, pitch_mm: 1e-6 * pitch, nx, ny, temperature_c }
    }
}

/// A depth and where its temperatures are found in the grid.
#[derive(Debug, Clone)]
pub(crate) struct Place {
    pub depth: Depth,
    of: Of,
}

#[derive(Debug, Clone, Copy)]
enum Of {
    Upper(usize),
    Middle(usize),
    Lower(usize),
}

impl Place {
    /// Rises of each column at this depth, K; NaN where nothing is.
    pub fn rises_k(&self, stage: &Stage) -> Vec<f64> {
        match self.of {
            Of::Upper(plane) => stage.upper_face_k(plane),
            Of::Middle(plane) => stage.middle_k(plane),
            Of::Lower(plane) => stage.lower_face_k(plane),
        }
    }
}

/// The depths of a variant, from the emitter side down.
pub(crate) fn places(gridded: &Gridded, variant: &Variant) -> Vec<Place> {
    let planes = &gridded.planes;
    let top_mm = |plane: usize| 1e3 * planes.iter().take(plane).map(|p| p.thickness_m).sum::<f64>();
    let place = |name: String, of: Of| {
        let depth_mm = match of {
            Of::Upper(p) => top_mm(p),
            Of::Middle(p) => 0.5 * (top_mm(p) + top_mm(p + 1)),
            Of::Lower(p) => top_mm(p + 1),
        };
        Place { depth: Depth { name, depth_mm }, of }
    };
    let mut all = vec![place("emitter side".into(), Of::Upper(0))];
    for (index, layer) in variant.layers.iter().enumerate() {
        let of_layer: Vec<usize> = (0..planes.len()).filter(|p| planes[*p].layer == Some(index)).collect();
        let (Some(first), Some(last)) = (of_layer.first(), of_layer.last()) else { continue };
        if index > 0 && layer.kind == LayerKind::Core {
            all.push(place(format!("front of the {}", layer.name), Of::Upper(*first)));
        }
        if layer.kind != LayerKind::Copper && layer.thickness_m > 3e-4 && last > first {
            let middle = top_mm(*first) + 0.5e3 * layer.thickness_m;
            let nearest = of_layer.iter().copied().min_by(|a, b| {
                let off = |p: usize| (0.5 * (top_mm(p) + top_mm(p + 1)) - middle).abs();
                off(*a).total_cmp(&off(*b))
            });
            all.extend(nearest.map(|p| place(format!("inside the {}", layer.name), Of::Middle(p))));
        }
    }
    let board = gridded.board_planes();
    if board > 0 {
        all.push(place("back of the board".into(), Of::Lower(board - 1)));
    }
    if planes.len() > board {
        all.push(place("front of the heatsink base".into(), Of::Upper(board)));
        all.push(place("back of the heatsink base".into(), Of::Lower(planes.len() - 1)));
    }
    all
}

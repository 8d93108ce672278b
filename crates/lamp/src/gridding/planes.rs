//! Planes of cells from the emitter side downwards.

use super::Fineness;
use crate::as_built::{LayerKind, Variant};

/// One plane of cells.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Plane {
    /// Layer of the board by index; `None` for the heatsink base.
    pub layer: Option<usize>,
    /// Thickness, m.
    pub thickness_m: f64,
}

/// Planes for a variant of this fineness; `widening` > 1 makes them fewer, for the second grid.
///
/// Copper is one cell thick: its own temperature drop is a hundredth of a kelvin. Insulation between copper and core
/// is thin and gets two cells or more. Thicker layers begin and end with cells of about the in-plane pitch, where heat spreads
/// or gathers, and grow inwards.
pub(crate) fn planes(variant: &Variant, fine: Fineness, widening: f64) -> Vec<Plane> {
    let (finest_m, growth) = (fine.pitch_m, fine.growth_in_depth);
    let mut all = Vec::new();
    let below_heat =
        |index: usize| index == 0 || variant.layers.iter().take(index).all(|l| l.thickness_m < 3e-4);
    for (index, layer) in variant.layers.iter().enumerate() {
        let sizes = match layer.kind {
            LayerKind::Copper => even(layer.thickness_m, copper_cells(layer.thickness_m)),
            LayerKind::Dielectric | LayerKind::Core | LayerKind::Plain => {
                let first = if below_heat(index) { 1.0 } else { 2.0 };
                let last =
                    if index + 1 == variant.layers.len() && variant.heatsink.is_none() { 4.0 } else { 2.0 };
                graded(
                    layer.thickness_m,
                    first * finest_m * widening,
                    last * finest_m * widening,
                    1.0 + growth * widening,
                )
            }
        };
        all.extend(sizes.into_iter().map(|thickness_m| Plane { layer: Some(index), thickness_m }));
    }
    if let Some(heatsink) = &variant.heatsink {
        let first = if all.is_empty() { 1.0 } else { 3.0 };
        let sizes =
            graded(heatsink.thickness_m, first * finest_m * widening, f64::INFINITY, 1.0 + growth * widening);
        all.extend(sizes.into_iter().map(|thickness_m| Plane { layer: None, thickness_m }));
    }
    all
}

/// Heavy copper gets more cells, half a millimetre or more as many as any other layer of its thickness would need.
fn copper_cells(thickness_m: f64) -> usize {
    if thickness_m <= 1.5e-4 { 1 } else { ((thickness_m / 1e-4).ceil() as usize).clamp(2, 10) }
}

fn even(thickness_m: f64, cells: usize) -> Vec<f64> {
    vec![thickness_m / cells as f64; cells]
}

/// Most planes of one layer.
const MOST_PLANES: usize = 120;

/// Cells that begin with about `first`, end with about `last` and grow inwards by `ratio`; at least two.
fn graded(thickness_m: f64, first: f64, last: f64, ratio: f64) -> Vec<f64> {
    let (mut upper, mut lower): (Vec<f64>, Vec<f64>) = (Vec::new(), Vec::new());
    // A block as thick as it is wide lets the heat spread long before its back.
    let (mut from_top, mut from_back) = (first, last.max(thickness_m / 40.0));
    let mut rest = thickness_m;
    // The smaller of the two waiting cells goes first, until what is left is less than half of it.
    while rest > 0.5 * from_top.min(from_back) && upper.len() + lower.len() < MOST_PLANES {
        let size = from_top.min(from_back);
        rest -= size;
        if from_top <= from_back {
            upper.push(size);
            from_top *= ratio;
        } else {
            lower.push(size);
            from_back *= ratio;
        }
    }
    lower.reverse();
    upper.extend(lower);
    if upper.len() < 2 {
        return even(thickness_m, 2);
    }
    let sum: f64 = upper.iter().sum();
    upper.iter().map(|size| size * thickness_m / sum).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn graded_cells_fill_the_layer() {
        for (t, first, last) in [(1e-4, 1e-4, 2e-4), (1.5e-3, 1e-4, 2e-4), (0.5, 1e-4, f64::INFINITY)] {
            let cells = graded(t, first, last, 1.55);
            assert!(cells.len() >= 2 && cells.len() < 30, "{cells:?}");
            assert!((cells.iter().sum::<f64>() - t).abs() < 1e-12 * t.max(1e-3));
            for pair in cells.windows(2) {
                assert!((pair[1] / pair[0]).max(pair[0] / pair[1]) < 2.5, "{cells:?}");
            }
        }
    }
}

//! Temperatures of a copper layer, one for all or from place to place.

use super::copper::annealed_ohm_m;

/// Temperature of a copper layer.
#[derive(Debug, Clone, PartialEq)]
pub enum Temperature {
    /// The same everywhere, °C.
    Uniform(f64),
    /// From place to place.
    Map(TemperatureMap),
}

/// Temperatures at the crossings of lines, linear in between, level beyond the outermost.
#[derive(Debug, Clone, PartialEq)]
pub struct TemperatureMap {
    x_mm: Vec<f64>,
    y_mm: Vec<f64>,
    values_c: Vec<f64>,
}

impl TemperatureMap {
    /// A map from its lines (strictly ascending, at least one each way, mm) and values (°C, x fastest). `None` unless
    /// there is a value for each crossing and all is finite.
    #[must_use]
    pub fn new(x_mm: Vec<f64>, y_mm: Vec<f64>, values_c: Vec<f64>) -> Option<Self> {
        let ascends = |lines: &[f64]| {
            !lines.is_empty()
                && lines.iter().all(|v| v.is_finite())
                && lines.windows(2).all(|pair| pair[0] < pair[1])
        };
        let sound = ascends(&x_mm)
            && ascends(&y_mm)
            && values_c.len() == x_mm.len() * y_mm.len()
            && values_c.iter().all(|v| v.is_finite());
        sound.then_some(Self { x_mm, y_mm, values_c })
    }
}

/// The line before a place (or the first), and the weight of the next.
fn weight(lines: &[f64], at: f64) -> (usize, usize, f64) {
    let after = lines.partition_point(|line| *line <= at).min(lines.len() - 1);
    let before = after.saturating_sub(1);
    let span = lines[after] - lines[before];
    let share = if span > 0.0 { ((at - lines[before]) / span).clamp(0.0, 1.0) } else { 0.0 };
    (before, after, share)
}

impl Temperature {
    /// Whether every temperature is a number.
    pub(super) fn is_finite(&self) -> bool {
        match self {
            Self::Uniform(c) => c.is_finite(),
            Self::Map(_) => true,
        }
    }

    /// Resistivities, Ω·m, at the crossings of places along x and y (mm), x fastest; a single one where it is uniform.
    pub(super) fn resistivities_ohm_m(&self, x_mm: &[f64], y_mm: &[f64]) -> Vec<f64> {
        let map = match self {
            Self::Uniform(c) => return vec![annealed_ohm_m(*c).value],
            Self::Map(map) => map,
        };
        let across: Vec<_> = x_mm.iter().map(|x| weight(&map.x_mm, *x)).collect();
        let stride = map.x_mm.len();
        let mut all = Vec::with_capacity(x_mm.len() * y_mm.len());
        for y in y_mm {
            let (low, high, up) = weight(&map.y_mm, *y);
            let row: Vec<f64> = (0..stride)
                .map(|i| {
                    let (a, b) = (map.values_c[low * stride + i], map.values_c[high * stride + i]);
                    annealed_ohm_m(a + up * (b - a)).value
                })
                .collect();
            // Resistivity is linear in temperature, so it may be interpolated itself.
            all.extend(
                across.iter().map(|(left, right, share)| row[*left] + share * (row[*right] - row[*left])),
            );
        }
        all
    }
}

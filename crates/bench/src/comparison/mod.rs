//! Board variants side by side: at equal current, at equal heat, by their thermal resistance.
//!
//! Differences carry the doubt of both rises in squares (JCGM 100:2008, 5.1.2). What is the same in both (the sensor's own class when
//! the same sensor was used) must not be in the rises' uncertainties: it drops out. Half widths are 1.96 times the standard
//! uncertainty.

mod order;
mod price;
mod telling;
#[cfg(test)]
mod tests;

pub use order::{Order, order_effects};
pub use price::{Bought, Prices, bought};
pub use telling::sentences;

use crate::plateau::repeats::{Together, together};

/// Currents within this part of each other are one.
const SAME_CURRENT: f64 = 0.02;

/// A plateau's outcome, as it enters the comparison.
#[derive(Debug, Clone, PartialEq)]
pub struct Measured {
    /// Variant.
    pub variant: String,
    /// When it was begun, h after any fixed time, where known.
    pub begun_h: Option<f64>,
    /// Drive current, A.
    pub current_a: f64,
    /// Rise above ambient, K.
    pub rise_k: f64,
    /// Its standard uncertainty, K.
    pub rise_standard_k: f64,
    /// Heat, W, from the measured voltage less the light, or from the emitter sheet.
    pub heat_w: Option<f64>,
    /// Its standard uncertainty, W.
    pub heat_standard_w: f64,
}

/// Two numbers' difference, or one number, with its doubt.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WithDoubt {
    /// The number.
    pub value: f64,
    /// Half its 95 % interval.
    pub half_95: f64,
}

impl WithDoubt {
    /// Whether the interval leaves no doubt about the sign.
    #[must_use]
    pub fn is_clear(&self) -> bool {
        self.value.abs() > self.half_95
    }
}

/// A variant at one current, repeats taken together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AtCurrent {
    /// Drive current, A.
    pub current_a: f64,
    /// Rise, K.
    pub rise: Together,
    /// Heat, W.
    pub heat_w: Option<f64>,
    /// Standard uncertainty of the heat, W.
    pub heat_standard_w: f64,
}

impl AtCurrent {
    /// Thermal resistance from board to ambient, K/W of heat.
    #[must_use]
    pub fn resistance_k_per_w(&self) -> Option<WithDoubt> {
        let heat = self.heat_w.filter(|heat| *heat > 0.0)?;
        let value = self.rise.value / heat;
        let of_heat = 1.96 * self.heat_standard_w / heat * value;
        Some(WithDoubt { value, half_95: (self.rise.half_95 / heat).hypot(of_heat) })
    }
}

/// A variant.
#[derive(Debug, Clone, PartialEq)]
pub struct VariantRises {
    /// Its name.
    pub variant: String,
    /// By current, ascending.
    pub at: Vec<AtCurrent>,
}

/// Two variants at equal current or equal heat.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Difference {
    /// Drive current, A (of the first variant, when heat is equal).
    pub current_a: f64,
    /// Heat of both, W, when that is equal.
    pub heat_w: Option<f64>,
    /// Rise of the first, K.
    pub first_k: f64,
    /// Rise of the second, K.
    pub second_k: f64,
    /// First less second, K: what the second buys.
    pub difference: WithDoubt,
}

/// A pair of variants.
#[derive(Debug, Clone, PartialEq)]
pub struct Pair {
    /// The variant compared with: the cheaper board, or the one named first.
    pub first: String,
    /// The other: the dearer board.
    pub second: String,
    /// At equal current, ascending.
    pub at_equal_current: Vec<Difference>,
    /// At equal heat, ascending.
    pub at_equal_heat: Vec<Difference>,
    /// Smallest current from which on every difference exceeds its interval, A.
    pub clear_from_a: Option<f64>,
}

/// Plateaus by variant (in the order of their first mention) and current, repeats taken together.
#[must_use]
pub fn by_variant(measured: &[Measured]) -> Vec<VariantRises> {
    let mut names: Vec<&str> = Vec::new();
    for one in measured {
        if !names.contains(&one.variant.as_str()) {
            names.push(&one.variant);
        }
    }
    names
        .into_iter()
        .map(|name| {
            let mut own: Vec<&Measured> =
                measured.iter().filter(|one| one.variant == name && one.current_a.is_finite()).collect();
            own.sort_by(|a, b| a.current_a.total_cmp(&b.current_a));
            let groups = own.chunk_by(|a, b| same(a.current_a, b.current_a));
            VariantRises { variant: name.to_owned(), at: groups.filter_map(at_current).collect() }
        })
        .collect()
}

fn same(a: f64, b: f64) -> bool {
    (a - b).abs() <= SAME_CURRENT * a.abs().max(b.abs())
}

fn at_current(group: &[&Measured]) -> Option<AtCurrent> {
    let rises: Vec<(f64, f64)> = group.iter().map(|one| (one.rise_k, one.rise_standard_k)).collect();
    let heats: Vec<&&Measured> = group.iter().filter(|one| one.heat_w.is_some()).collect();
    let n = heats.len() as f64;
    Some(AtCurrent {
        current_a: group.iter().map(|one| one.current_a).sum::<f64>() / group.len() as f64,
        rise: together(&rises)?,
        heat_w: (!heats.is_empty()).then(|| heats.iter().filter_map(|one| one.heat_w).sum::<f64>() / n),
        // What is wrong with the heat is the same in all repeats: the voltmeter, the sheet.
        heat_standard_w: if heats.is_empty() {
            0.0
        } else {
            heats.iter().map(|one| one.heat_standard_w).sum::<f64>() / n
        },
    })
}

/// Two variants compared.
#[must_use]
pub fn pair(first: &VariantRises, second: &VariantRises) -> Pair {
    let mut at_equal_current = Vec::new();
    for a in &first.at {
        let nearest = second.at.iter().filter(|b| same(a.current_a, b.current_a));
        let Some(b) = nearest
            .min_by(|x, y| (x.current_a - a.current_a).abs().total_cmp(&(y.current_a - a.current_a).abs()))
        else {
            continue;
        };
        let value = a.rise.value - b.rise.value;
        let half_95 = a.rise.half_95.hypot(b.rise.half_95);
        at_equal_current.push(Difference {
            current_a: a.current_a,
            heat_w: None,
            first_k: a.rise.value,
            second_k: b.rise.value,
            difference: WithDoubt { value, half_95 },
        });
    }
    let at_equal_heat = first.at.iter().filter_map(|a| equal_heat(a, second)).collect();
    let clear_from_a = at_equal_current
        .iter()
        .rev()
        .take_while(|at| {
            at.difference.is_clear() && at.difference.value.signum() == last_sign(&at_equal_current)
        })
        .last()
        .map(|at| at.current_a);
    Pair {
        first: first.variant.clone(),
        second: second.variant.clone(),
        at_equal_current,
        at_equal_heat,
        clear_from_a,
    }
}

fn last_sign(all: &[Difference]) -> f64 {
    all.last().map_or(0.0, |at| at.difference.value.signum())
}

/// The second variant's rise at the heat of the first: on the straight line between its two neighbours in heat. Outside its heats, and
/// from a single one, in proportion to the heat, when the heats differ by less than a fifth.
fn equal_heat(a: &AtCurrent, second: &VariantRises) -> Option<Difference> {
    let heat = a.heat_w.filter(|heat| *heat > 0.0)?;
    let with_heat: Vec<(f64, &AtCurrent)> =
        second.at.iter().filter_map(|b| Some((b.heat_w.filter(|heat| *heat > 0.0)?, b))).collect();
    let below = with_heat.iter().filter(|(h, _)| *h <= heat).max_by(|x, y| x.0.total_cmp(&y.0));
    let above = with_heat.iter().filter(|(h, _)| *h >= heat).min_by(|x, y| x.0.total_cmp(&y.0));
    let (second_k, half, slope, heat_b) = match (below, above) {
        (Some((low, b)), Some((high, c))) if high > low => {
            let part = (heat - low) / (high - low);
            let value = (1.0 - part) * b.rise.value + part * c.rise.value;
            let half = ((1.0 - part) * b.rise.half_95).hypot(part * c.rise.half_95);
            let standard = (1.0 - part) * b.heat_standard_w + part * c.heat_standard_w;
            (value, half, (c.rise.value - b.rise.value) / (high - low), standard)
        }
        _ => {
            let (h, b) = with_heat.iter().min_by(|x, y| (x.0 - heat).abs().total_cmp(&(y.0 - heat).abs()))?;
            if (h / heat - 1.0).abs() > 0.2 {
                return None;
            }
            (b.rise.value * heat / h, b.rise.half_95 * heat / h, b.rise.value / h, b.heat_standard_w)
        }
    };
    // An error in either heat shifts the point along the second variant's line.
    let of_heat = 1.96 * slope * a.heat_standard_w.hypot(heat_b);
    Some(Difference {
        current_a: a.current_a,
        heat_w: Some(heat),
        first_k: a.rise.value,
        second_k,
        difference: WithDoubt {
            value: a.rise.value - second_k,
            half_95: a.rise.half_95.hypot(half).hypot(of_heat),
        },
    })
}

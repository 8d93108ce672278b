//! Variants side by side, from the plateaus of all runs.

use serde::Serialize;

use super::PlateauFinding;
use crate::comparison::{Difference, Measured, by_variant, order_effects, pair, sentences};

/// Two variants by one sensor; the JSON is this, field for field.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ComparisonFinding {
    /// Sensor.
    pub sensor: String,
    /// The variant compared with: that which stands first in lamp.toml.
    pub first: String,
    /// The other.
    pub second: String,
    /// What was found, the answer first.
    pub sentences: Vec<String>,
    /// Smallest current from which on every difference exceeds its doubt, A.
    pub clear_from_a: Option<f64>,
    /// At equal current, ascending.
    pub at_equal_current: Vec<DifferenceFinding>,
    /// At equal heat, ascending.
    pub at_equal_heat: Vec<DifferenceFinding>,
}

/// A difference.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DifferenceFinding {
    /// Drive current, A (of the first, where heat is equal).
    pub drive_current_a: f64,
    /// Heat of both, W, where that is equal.
    pub heat_w: Option<f64>,
    /// Rise of the first, K.
    pub first_rise_k: f64,
    /// Rise of the second, K.
    pub second_rise_k: f64,
    /// First less second, K.
    pub difference_k: f64,
    /// Half its 95 % interval, K.
    pub difference_doubt_k: f64,
}

impl DifferenceFinding {
    fn of(difference: &Difference) -> Self {
        Self {
            drive_current_a: difference.current_a,
            heat_w: difference.heat_w,
            first_rise_k: difference.first_k,
            second_rise_k: difference.second_k,
            difference_k: difference.difference.value,
            difference_doubt_k: difference.difference.half_95,
        }
    }
}

/// Every pair of the variants that were measured by the same sensor. `variants` is their order in lamp.toml.
#[must_use]
pub fn compare(plateaus: &[PlateauFinding], variants: &[String]) -> Vec<ComparisonFinding> {
    let mut sensors: Vec<&str> = Vec::new();
    for plateau in plateaus {
        if !sensors.contains(&plateau.sensor.as_str()) {
            sensors.push(&plateau.sensor);
        }
    }
    let mut found = Vec::new();
    for sensor in sensors {
        let mut measured: Vec<Measured> =
            plateaus.iter().filter(|plateau| plateau.sensor == sensor).filter_map(entry).collect();
        let place = |one: &Measured| variants.iter().position(|name| *name == one.variant);
        measured.sort_by_key(place);
        let rises = by_variant(&measured);
        for (k, first) in rises.iter().enumerate() {
            for second in &rises[k + 1..] {
                let pair = pair(first, second);
                let order = order_effects(&measured, &first.variant, &second.variant);
                found.push(ComparisonFinding {
                    sensor: sensor.to_owned(),
                    first: first.variant.clone(),
                    second: second.variant.clone(),
                    sentences: sentences(&pair, &order, None),
                    clear_from_a: pair.clear_from_a,
                    at_equal_current: pair.at_equal_current.iter().map(DifferenceFinding::of).collect(),
                    at_equal_heat: pair.at_equal_heat.iter().map(DifferenceFinding::of).collect(),
                });
            }
        }
    }
    found
}

/// A plateau as it enters the comparison; `None` without variant, current or settled rise.
fn entry(plateau: &PlateauFinding) -> Option<Measured> {
    Some(Measured {
        variant: plateau.variant.clone()?,
        begun_h: plateau.begun_h,
        current_a: plateau.drive_current_a?,
        rise_k: plateau.rise_k?,
        // Half widths are 1.96 times this; a lopsided interval counts by its wider side.
        rise_standard_k: plateau.rise_standard_k?.max(plateau.rise_doubt_k()? / 1.96),
        heat_w: plateau.heat_w,
        // What both boards share, the sheet's light above all, is the same error in both and drops out.
        heat_standard_w: plateau.heat_own_standard_w,
    })
}

//! Variants side by side, from the plateaus of all runs.

use serde::Serialize;

use super::{OffFinding, PlateauFinding};
use crate::comparison::{
    Bought, Difference, Measured, Pair, Prices, bought, by_variant, order_effects, pair, sentences,
};

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
    /// What the dearer board's price buys, where both prices are stated.
    pub price: Option<PriceFinding>,
}

/// What the dearer board's price buys, in the currency of the prices.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PriceFinding {
    /// Price of the first.
    pub first_price: f64,
    /// Price of the second.
    pub second_price: f64,
    /// Price of a kelvin at the highest current held with both; `None` where the difference is not clear, or the cheaper board the
    /// cooler one.
    pub price_per_k: Option<f64>,
    /// Lower end of its 95 % interval.
    pub price_per_k_low: Option<f64>,
    /// Upper end.
    pub price_per_k_high: Option<f64>,
    /// Whether the first passed the board limit at a current that was used.
    pub first_passed_limit: bool,
    /// Whether the second did.
    pub second_passed_limit: bool,
}

impl PriceFinding {
    fn of(pair: &Pair, prices: Prices) -> Self {
        let Prices { price: [first_price, second_price], passed_limit } = prices;
        let [price_per_k, price_per_k_low, price_per_k_high] = match bought(pair, first_price, second_price) {
            Bought::Kelvins { price_per_k, price_per_k_low, price_per_k_high, .. } => {
                [price_per_k, price_per_k_low, price_per_k_high].map(Some)
            }
            _ => [None; 3],
        };
        let [first_passed_limit, second_passed_limit] = passed_limit;
        Self {
            first_price,
            second_price,
            price_per_k,
            price_per_k_low,
            price_per_k_high,
            first_passed_limit,
            second_passed_limit,
        }
    }
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

/// Every pair of the variants that were measured by the same sensor. `variants` are their names in the order of lamp.toml, with the
/// price of a board where it is stated.
///
/// Each board may carry a sensor of its own. What it and the room's thermometer may differ by, as the lamp shows while it is off, is the limit of
/// that error, anything within alike (standard uncertainty: the limit over the root of 3, JCGM 100:2008, 4.3.7).
#[must_use]
pub fn compare(
    plateaus: &[PlateauFinding],
    lamp_off: &[OffFinding],
    variants: &[(String, Option<f64>)],
) -> Vec<ComparisonFinding> {
    let mut sensors: Vec<&str> = Vec::new();
    for plateau in plateaus {
        if !sensors.contains(&plateau.sensor.as_str()) {
            sensors.push(&plateau.sensor);
        }
    }
    let mut found = Vec::new();
    for sensor in sensors {
        let own = plateaus.iter().filter(|plateau| plateau.sensor == sensor);
        let mut measured: Vec<Measured> = own.clone().filter_map(|one| entry(one, lamp_off)).collect();
        let place = |one: &Measured| variants.iter().position(|(name, _)| *name == one.variant);
        measured.sort_by_key(place);
        let rises = by_variant(&measured);
        for (k, first) in rises.iter().enumerate() {
            for second in &rises[k + 1..] {
                let pair = pair(first, second);
                let of_both = own.clone().filter(|one| {
                    one.variant.as_ref().is_some_and(|name| [&first.variant, &second.variant].contains(&name))
                });
                let order = order_effects(&measured, &first.variant, &second.variant);
                let price = |name: &str| variants.iter().find(|(other, _)| other == name)?.1;
                let passed = |name: &str| {
                    own.clone().any(|one| one.above_board_limit && one.variant.as_deref() == Some(name))
                };
                let prices = price(&first.variant).zip(price(&second.variant)).map(|(a, b)| Prices {
                    price: [a, b],
                    passed_limit: [passed(&first.variant), passed(&second.variant)],
                });
                found.push(ComparisonFinding {
                    sensor: sensor.to_owned(),
                    first: first.variant.clone(),
                    second: second.variant.clone(),
                    sentences: [sentences(&pair, &order, prices), vec![sensors_words(of_both, lamp_off)]]
                        .concat(),
                    clear_from_a: pair.clear_from_a,
                    at_equal_current: pair.at_equal_current.iter().map(DifferenceFinding::of).collect(),
                    at_equal_heat: pair.at_equal_heat.iter().map(DifferenceFinding::of).collect(),
                    price: prices.map(|prices| PriceFinding::of(&pair, prices)),
                });
            }
        }
    }
    found
}

/// A plateau as it enters the comparison; `None` without variant, current or settled rise.
fn entry(plateau: &PlateauFinding, lamp_off: &[OffFinding]) -> Option<Measured> {
    let off_k = off_k(plateau, lamp_off).unwrap_or(0.0);
    Some(Measured {
        variant: plateau.variant.clone()?,
        begun_h: plateau.begun_h,
        current_a: plateau.drive_current_a?,
        rise_k: plateau.rise_k?,
        // Half widths are 1.96 times this; a lopsided interval counts by its wider side.
        rise_standard_k: plateau
            .rise_standard_k?
            .max(plateau.rise_doubt_k()? / 1.96)
            .hypot(off_k / 3f64.sqrt()),
        heat_w: plateau.heat_w,
        // What both boards share, the sheet's light above all, is the same error in both and drops out.
        heat_standard_w: plateau.heat_own_standard_w,
    })
}

/// How far sensor and room thermometer of a plateau's run may differ, as shown with the lamp off, K.
fn off_k(plateau: &PlateauFinding, lamp_off: &[OffFinding]) -> Option<f64> {
    let off = lamp_off.iter().find(|off| off.run == plateau.run && off.sensor == plateau.sensor)?;
    Some(off.error_limit_k)
}

/// What the sensors may have to do with the difference.
fn sensors_words<'a>(plateaus: impl Iterator<Item = &'a PlateauFinding>, lamp_off: &[OffFinding]) -> String {
    let known: Option<Vec<f64>> = plateaus.map(|plateau| off_k(plateau, lamp_off)).collect();
    match known {
        Some(known) => format!(
            "With the lamp off it showed that sensor and room thermometer differ by {:.1} K at most; the difference's doubt holds that much of each board",
            known.into_iter().fold(0.0, f64::max)
        ),
        None => "Nothing tells how far the sensors of both boards differ, and the difference's doubt does not hold it: begin each run with \
                 the lamp off and cold for five minutes"
            .to_owned(),
    }
}

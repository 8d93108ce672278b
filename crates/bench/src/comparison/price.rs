//! What the dearer board's price buys, as far as the bench sees it.

use super::telling::kelvin;
use super::{Pair, WithDoubt};

/// What the boards of a pair cost, and which of them passed the board limit at a current that was used, the first of the pair first.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Prices {
    /// Prices in one currency, above 0.
    pub price: [f64; 2],
    /// Whether a plateau settled above the board limit.
    pub passed_limit: [bool; 2],
}

/// Answer of the bench to a pair's prices.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Bought {
    /// Both boards cost the same.
    EqualPrices,
    /// No current was held with both.
    NotCompared,
    /// At the highest common current the interval of the kelvins reaches 0: no price per kelvin can be told.
    CannotBeTold {
        /// That current, A.
        current_a: f64,
        /// By how much the dearer board is cooler, K.
        cooler: WithDoubt,
    },
    /// There the cheaper board is clearly the cooler one: the price buys warmth.
    CheaperIsCooler {
        /// That current, A.
        current_a: f64,
        /// By how much the cheaper board is cooler, K, more than 0.
        cooler: WithDoubt,
    },
    /// There the dearer board is clearly cooler.
    Kelvins {
        /// That current, A.
        current_a: f64,
        /// By how much, K.
        cooler: WithDoubt,
        /// Price difference for each kelvin.
        price_per_k: f64,
        /// Lower end of its 95 % interval.
        price_per_k_low: f64,
        /// Upper end of its 95 % interval.
        price_per_k_high: f64,
    },
}

/// What the dearer board buys at the highest current held with both. Prices are above 0, in one currency; the interval of the price per
/// kelvin is the price difference over the ends of the kelvins' 95 % interval, since a quotient falls steadily with its divisor.
#[must_use]
pub fn bought(pair: &Pair, first_price: f64, second_price: f64) -> Bought {
    let Some(top) = pair.at_equal_current.last() else { return Bought::NotCompared };
    let price = (second_price - first_price).abs();
    if price == 0.0 {
        return Bought::EqualPrices;
    }
    let current_a = top.current_a;
    let sign = (second_price - first_price).signum();
    let cooler = WithDoubt { value: sign * top.difference.value, ..top.difference };
    if !cooler.is_clear() {
        return Bought::CannotBeTold { current_a, cooler };
    }
    if cooler.value < 0.0 {
        return Bought::CheaperIsCooler { current_a, cooler: WithDoubt { value: -cooler.value, ..cooler } };
    }
    Bought::Kelvins {
        current_a,
        cooler,
        price_per_k: price / cooler.value,
        price_per_k_low: price / (cooler.value + cooler.half_95),
        price_per_k_high: price / (cooler.value - cooler.half_95),
    }
}

/// Whether the dearer board pays within the currents used, in sentences; none where nothing was held with both.
pub(super) fn words(pair: &Pair, prices: Option<Prices>) -> Vec<String> {
    let Some(Prices { price: [first, second], passed_limit }) = prices else {
        return vec![
            "Whether the dearer board pays is not said: no prices are stated (board_price of both variants in lamp.toml)".to_owned(),
        ];
    };
    let (cheaper, dearer, passed) = if second >= first {
        (&pair.first, &pair.second, passed_limit)
    } else {
        (&pair.second, &pair.first, [passed_limit[1], passed_limit[0]])
    };
    let more = (second - first).abs();
    let mut said = match bought(pair, first, second) {
        Bought::NotCompared => return Vec::new(),
        Bought::EqualPrices => return vec!["Both boards cost the same".to_owned()],
        Bought::CannotBeTold { current_a, cooler } => vec![format!(
            "{dearer} costs {more:.2} more and buys nothing that this test sees: up to {current_a:.3} A, the highest current held with \
             both, it is cooler by {}, so no price for a kelvin can be told",
            kelvin(cooler)
        )],
        Bought::CheaperIsCooler { current_a, cooler } => vec![format!(
            "{dearer} costs {more:.2} more and does not pay: at {current_a:.3} A {cheaper} is the cooler one, by {}",
            kelvin(cooler)
        )],
        Bought::Kelvins { current_a, cooler, price_per_k, price_per_k_low, price_per_k_high } => {
            let nothing = pair.clear_from_a.and_then(|from| {
                let below = pair.at_equal_current.iter().any(|at| at.current_a < from);
                below.then(|| format!("; below {from:.3} A it buys nothing that this test sees"))
            });
            vec![format!(
                "{dearer} costs {more:.2} more: at {current_a:.3} A that buys {}, {price_per_k:.2} for a kelvin ({price_per_k_low:.2} to \
                 {price_per_k_high:.2}){}",
                kelvin(cooler),
                nothing.unwrap_or_default()
            )]
        }
    };
    said.extend(match passed {
        [true, false] => {
            Some(format!("Within the currents used {cheaper} passed the board limit and {dearer} kept it"))
        }
        [false, true] => {
            Some(format!("Within the currents used {dearer} passed the board limit and {cheaper} kept it"))
        }
        [true, true] => Some("Both passed the board limit within the currents used".to_owned()),
        [false, false] => None,
    });
    said
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::comparison::Difference;

    fn pair_with(differences: &[(f64, f64, f64)]) -> Pair {
        let at = |&(current_a, value, half_95): &(f64, f64, f64)| Difference {
            current_a,
            heat_w: None,
            first_k: 40.0,
            second_k: 40.0 - value,
            difference: WithDoubt { value, half_95 },
        };
        Pair {
            first: "plain".to_owned(),
            second: "core".to_owned(),
            at_equal_current: differences.iter().map(at).collect(),
            at_equal_heat: Vec::new(),
            clear_from_a: None,
        }
    }

    /// Source: by hand; 12 - 2 = 10 for 4 ± 1 K: 10/4 = 2.5, 10/5 = 2 to 10/3 = 3.333 for a kelvin.
    #[test]
    fn price_of_a_kelvin_by_hand() {
        let pair = pair_with(&[(0.35, 0.2, 0.5), (0.7, 4.0, 1.0)]);
        let Bought::Kelvins { current_a, cooler, price_per_k, price_per_k_low, price_per_k_high } =
            bought(&pair, 2.0, 12.0)
        else {
            panic!("{:?}", bought(&pair, 2.0, 12.0))
        };
        assert_eq!((current_a, cooler.value, cooler.half_95), (0.7, 4.0, 1.0));
        assert!((price_per_k - 2.5).abs() < 1e-12);
        assert!((price_per_k_low - 2.0).abs() < 1e-12);
        assert!((price_per_k_high - 10.0 / 3.0).abs() < 1e-12);
    }

    /// Source: by hand; with the prices the other way round the same 4 K are the cheaper board's.
    #[test]
    fn the_cheaper_board_may_be_the_cooler_one() {
        let cooler = WithDoubt { value: 4.0, half_95: 1.0 };
        let found = bought(&pair_with(&[(0.7, 4.0, 1.0)]), 12.0, 2.0);
        assert_eq!(found, Bought::CheaperIsCooler { current_a: 0.7, cooler });
        // The first is the dearer and the cooler one.
        let found = bought(&pair_with(&[(0.7, -4.0, 1.0)]), 12.0, 2.0);
        assert!(matches!(found, Bought::Kelvins { price_per_k, .. } if (price_per_k - 2.5).abs() < 1e-12));
    }

    #[test]
    fn without_a_clear_difference_or_price_no_price_of_a_kelvin() {
        let cooler = WithDoubt { value: 1.0, half_95: 1.0 };
        let found = bought(&pair_with(&[(0.7, 1.0, 1.0)]), 2.0, 12.0);
        assert_eq!(found, Bought::CannotBeTold { current_a: 0.7, cooler });
        assert_eq!(bought(&pair_with(&[(0.7, 4.0, 1.0)]), 5.0, 5.0), Bought::EqualPrices);
        assert_eq!(bought(&pair_with(&[]), 2.0, 12.0), Bought::NotCompared);
    }

    /// Source: by hand, as above; the words of each case.
    #[test]
    fn whether_the_dearer_board_pays_is_said() {
        let mut pair = pair_with(&[(0.35, 0.2, 0.5), (0.7, 4.0, 1.0)]);
        pair.clear_from_a = Some(0.7);
        let at =
            |price: [f64; 2], passed_limit: [bool; 2]| words(&pair, Some(Prices { price, passed_limit }));
        let said = at([2.0, 12.0], [true, false]);
        assert_eq!(
            said[0],
            "core costs 10.00 more: at 0.700 A that buys 4.0 ± 1.0 K, 2.50 for a kelvin (2.00 to 3.33); below 0.700 A it buys nothing \
             that this test sees"
        );
        assert_eq!(said[1], "Within the currents used plain passed the board limit and core kept it");
        // Dearer and warmer; the limit is told by the right names.
        let said = at([12.0, 2.0], [true, false]);
        assert!(said[0].starts_with(
            "plain costs 10.00 more and does not pay: at 0.700 A core is the cooler one, by 4.0"
        ));
        assert_eq!(said[1], "Within the currents used plain passed the board limit and core kept it");
        assert_eq!(at([2.0, 12.0], [true, true])[1], "Both passed the board limit within the currents used");
        assert_eq!(at([2.0, 12.0], [false, false]).len(), 1);
        assert_eq!(at([5.0, 5.0], [false, true]), ["Both boards cost the same"]);
        assert!(words(&pair, None)[0].contains("board_price of both variants"));
        let open = pair_with(&[(0.7, 0.3, 0.8)]);
        let said = words(&open, Some(Prices { price: [2.0, 12.0], passed_limit: [false; 2] }));
        assert!(
            said[0].contains("buys nothing that this test sees: up to 0.700 A")
                && said[0].contains("0.3 ± 0.8 K"),
            "{said:?}"
        );
        assert!(
            words(&pair_with(&[]), Some(Prices { price: [2.0, 12.0], passed_limit: [false; 2] })).is_empty()
        );
    }
}

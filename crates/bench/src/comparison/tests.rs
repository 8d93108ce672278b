//! Comparisons by hand and with made-up truths.

use super::*;
use crate::approach::testing::Random;

fn one(
    variant: &str,
    current_a: f64,
    rise_k: f64,
    standard: f64,
    heat_w: Option<f64>,
    begun_h: f64,
) -> Measured {
    Measured {
        variant: variant.to_owned(),
        begun_h: Some(begun_h),
        current_a,
        rise_k,
        rise_standard_k: standard,
        heat_w,
        heat_standard_w: 0.0,
    }
}

fn pair_of(measured: &[Measured]) -> Pair {
    let all = by_variant(measured);
    pair(&all[0], &all[1])
}

/// A plateau in between that tells nothing takes nothing from those below it.
#[test]
fn an_unclear_current_between_clear_ones_is_named() {
    let measured = [
        one("plain", 0.35, 10.0, 0.05, None, 0.0),
        one("plain", 0.7, 22.0, 5.0, None, 1.0),
        one("plain", 1.05, 35.0, 0.05, None, 2.0),
        one("core", 0.35, 9.5, 0.05, None, 3.0),
        one("core", 0.7, 19.0, 0.05, None, 4.0),
        one("core", 1.05, 29.0, 0.05, None, 5.0),
    ];
    let found = pair_of(&measured);
    assert_eq!(found.clear_from_a, Some(1.05));
    let said = sentences(&found, &order_effects(&measured, "plain", "core"), None);
    assert!(
        said[0].starts_with("At 1.050 A the core board runs cooler than plain by 6.0 ± 0.2 K"),
        "{said:?}"
    );
    assert!(said[1].starts_with("At 0.700 A the difference is not clear"), "{said:?}");
}

/// Source: by hand; 1.96 (0.3^2 + 0.4^2)^(1/2) = 0.98.
#[test]
fn differences_at_equal_current_by_hand() {
    let measured = [
        one("plain", 0.35, 10.0, 0.3, None, 0.0),
        one("plain", 0.7, 22.0, 0.3, None, 1.0),
        one("plain", 1.05, 35.0, 0.3, None, 2.0),
        one("core", 0.351, 9.5, 0.4, None, 3.0),
        one("core", 0.7, 19.0, 0.4, None, 4.0),
        one("core", 1.049, 29.0, 0.4, None, 5.0),
        one("core", 1.4, 41.0, 0.4, None, 6.0),
    ];
    let found = pair_of(&measured);
    assert_eq!(found.at_equal_current.len(), 3);
    let at = found.at_equal_current[2];
    assert!(
        (at.difference.value - 6.0).abs() < 1e-12 && (at.difference.half_95 - 0.98).abs() < 1e-4,
        "{at:?}"
    );
    assert_eq!(found.clear_from_a, Some(0.7));
    assert!(found.at_equal_heat.is_empty());
    let order = order_effects(&measured, "plain", "core");
    assert!(order.one_after_the_other && order.drift_per_h.is_none());
    let said = sentences(&found, &order, Some(Prices { price: [4.0, 10.0], passed_limit: [false; 2] }));
    assert!(
        said[0].contains("From 0.700 A on the core board runs cooler than plain: by 6.0 ± 1.0 K at"),
        "{said:?}"
    );
    assert!(said[1].contains("Below 0.700 A the difference"), "{said:?}");
    // 6 more for 6.0 ± 0.98 K.
    assert!(
        said[2].contains("core costs 6.00 more") && said[2].contains("1.00 for a kelvin (0.86 to 1.20)"),
        "{said:?}"
    );
    assert!(said[3].contains("nothing was repeated"), "{said:?}");
    assert!(sentences(&found, &order, None)[2].contains("no prices are stated"));
}

/// Source: by hand: the second board has 10 K at 10 W and 26 K at 20 W, so at 15 W 18 K; halves of its intervals in squares. Its slope
/// is 1.6 K/W, so 0.5 W of doubt in each heat is 1.96 x 1.6 x 0.707 K.
#[test]
fn equal_heat_lies_on_the_line_between() {
    let mut measured = vec![
        one("a", 1.0, 20.0, 0.2, Some(15.0), 0.0),
        one("b", 0.8, 10.0, 0.2, Some(10.0), 1.0),
        one("b", 1.2, 26.0, 0.2, Some(20.0), 2.0),
    ];
    let at = pair_of(&measured).at_equal_heat[0];
    let half = 1.96 * 0.2 * (1.0f64 + 0.5).sqrt();
    assert!((at.second_k - 18.0).abs() < 1e-12 && (at.difference.half_95 - half).abs() < 1e-4, "{at:?}");
    measured.iter_mut().for_each(|m| m.heat_standard_w = 0.5);
    let at = pair_of(&measured).at_equal_heat[0];
    assert!((at.difference.half_95 - half.hypot(1.96 * 1.6 * 0.5f64.sqrt())).abs() < 1e-4, "{at:?}");
    // Resistance: 20 K / 15 W; 1.96 (0.2/15) and 1.96 x 0.5/15 x 4/3 in squares.
    let resistance = by_variant(&measured)[0].at[0].resistance_k_per_w().unwrap();
    assert!((resistance.value - 4.0 / 3.0).abs() < 1e-12);
    assert!((resistance.half_95 - (1.96 * 0.2 / 15.0f64).hypot(1.96 * 0.5 / 15.0 * 4.0 / 3.0)).abs() < 1e-5);
}

/// Source: a drift of 1 % an hour that was put in.
#[test]
fn a_drift_is_found_from_repeats_and_told() {
    let at = |variant: &str, current: f64, rise: f64, h: f64| {
        one(variant, current, rise * (1.0 + 0.01 * (h - 4.0)), 0.02, None, h)
    };
    let measured = [
        at("a", 0.7, 20.0, 0.0),
        at("a", 1.0, 30.0, 1.0),
        at("b", 0.7, 19.8, 3.0),
        at("b", 1.0, 29.7, 4.0),
        at("a", 0.7, 20.0, 8.0),
    ];
    let order = order_effects(&measured, "a", "b");
    let drift = order.drift_per_h.unwrap();
    assert!((drift.value - 0.01).abs() < 1e-4 && drift.is_clear(), "{order:?}");
    assert!(!order.one_after_the_other && (order.apart_h.unwrap() - 0.5).abs() < 1e-12);
    let said = sentences(&pair_of(&measured), &order, None);
    assert!(said.iter().any(|s| s.contains("drifted: +1.00")), "{said:?}");
}

/// Of 95 % intervals of made-up differences 95 % hold the truth, within four standard deviations (0.7 % each).
#[test]
fn intervals_of_differences_hold_the_truth() {
    let mut random = Random::new(11);
    let held = (0..1000)
        .filter(|_| {
            let truth = [random.between(5.0, 40.0), random.between(5.0, 40.0)];
            let standard = [random.log_between(0.05, 1.0), random.log_between(0.05, 1.0)];
            let measured: Vec<Measured> = (0..2)
                .map(|i| {
                    one(
                        ["a", "b"][i],
                        1.0,
                        truth[i] + standard[i] * random.normal(),
                        standard[i],
                        None,
                        i as f64,
                    )
                })
                .collect();
            let found = pair_of(&measured).at_equal_current[0].difference;
            (found.value - (truth[0] - truth[1])).abs() <= found.half_95
        })
        .count();
    assert!((922..=978).contains(&held), "{held}");
}

#[test]
fn what_cannot_be_compared_is_told() {
    let measured = [one("a", 0.5, 10.0, 0.1, None, 0.0), one("b", 0.9, 20.0, 0.1, None, 1.0)];
    let found = pair_of(&measured);
    assert!(
        sentences(&found, &order_effects(&measured, "a", "b"), None)[0]
            .contains("no current was held with both")
    );
    assert!(by_variant(&[one("a", f64::NAN, 1.0, 0.1, None, 0.0)])[0].at.is_empty());
}

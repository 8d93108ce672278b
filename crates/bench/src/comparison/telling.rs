//! The comparison in sentences, the answer first.

use super::price::{self, Prices};
use super::{Order, Pair, WithDoubt};

/// What was found about a pair, for the maker, the answer first: which board is cooler, by how much and from which current on that is
/// sure; whether the dearer board pays; what the order of the test may have done.
#[must_use]
pub fn sentences(pair: &Pair, order: &Order, prices: Option<Prices>) -> Vec<String> {
    let mut said = Vec::new();
    let (first, second) = (&pair.first, &pair.second);
    let Some(top) = pair.at_equal_current.last() else {
        said.push(format!(
            "{first} and {second} cannot be compared at equal current: no current was held with both (within 2 %); repeat one of them"
        ));
        return said;
    };
    said.push(answer(pair, top.current_a, top.difference));
    let lowest = pair.at_equal_current.first().map(|at| at.current_a);
    match pair.clear_from_a {
        Some(from) if Some(from) == lowest => {
            said.push(
                "The difference is larger than its doubt at every current that was held with both".to_owned(),
            );
        }
        Some(from) => said.push(below_words(pair, from)),
        None => {
            said.push("Hold longer, repeat plateaus, or go to higher currents to tell them apart".to_owned())
        }
    }
    said.extend(price::words(pair, prices));
    if let Some(at) = pair.at_equal_heat.last() {
        said.push(equal_heat_words(pair, at.heat_w.unwrap_or(f64::NAN), at.difference));
    }
    said.extend(order_words(pair, order, top.first_k, top.difference));
    said
}

/// What the currents below `from_a` tell: nothing, or some of them nothing.
fn below_words(pair: &Pair, from_a: f64) -> String {
    let below: Vec<_> = pair.at_equal_current.iter().filter(|at| at.current_a < from_a).collect();
    let open: Vec<String> = below
        .iter()
        .filter(|at| !at.difference.is_clear())
        .map(|at| format!("{:.3} A", at.current_a))
        .collect();
    if open.len() == below.len() {
        return format!("Below {from_a:.3} A the difference is smaller than its doubt and cannot be told");
    }
    let at = if open.is_empty() { "a lower current".to_owned() } else { open.join(" and ") };
    format!("At {at} the difference is not clear, or the other way round: hold longer or repeat that plateau")
}

/// At equal heat what is left is the board's own doing.
fn equal_heat_words(pair: &Pair, heat_w: f64, difference: WithDoubt) -> String {
    let (cooler, warmer, by) = cooler_and_warmer(pair, difference);
    if difference.is_clear() {
        format!("At equal heat, {heat_w:.1} W, the {cooler} board lies {} below {warmer}", kelvin(by))
    } else {
        format!(
            "At equal heat, {heat_w:.1} W, they cannot be told apart: the difference is {}",
            kelvin(difference)
        )
    }
}

fn cooler_and_warmer(pair: &Pair, difference: WithDoubt) -> (&str, &str, WithDoubt) {
    if difference.value >= 0.0 {
        (&pair.second, &pair.first, difference)
    } else {
        (&pair.first, &pair.second, WithDoubt { value: -difference.value, ..difference })
    }
}

/// The doubt is rounded up, and never nothing.
pub(super) fn kelvin(number: WithDoubt) -> String {
    format!("{:.1} ± {:.1} K", number.value, ((number.half_95 * 10.0 - 1e-9).ceil() / 10.0).max(0.1))
}

fn answer(pair: &Pair, current_a: f64, difference: WithDoubt) -> String {
    let (cooler, warmer, by) = cooler_and_warmer(pair, difference);
    match pair.clear_from_a {
        Some(from_a) if from_a < current_a => format!(
            "From {from_a:.3} A on the {cooler} board runs cooler than {warmer}: by {} at {current_a:.3} A",
            kelvin(by)
        ),
        Some(_) => {
            format!("At {current_a:.3} A the {cooler} board runs cooler than {warmer} by {}", kelvin(by))
        }
        None => format!(
            "{} and {} cannot be told apart: at {current_a:.3} A the difference is {}",
            pair.first,
            pair.second,
            kelvin(difference)
        ),
    }
}

fn order_words(pair: &Pair, order: &Order, rise_k: f64, difference: WithDoubt) -> Vec<String> {
    let mut said = Vec::new();
    if let Some(drift) = order.drift_per_h {
        let clear = if drift.is_clear() { "drifted" } else { "shows no drift beyond its doubt" };
        said.push(format!(
            "Repeats of the same plateau tell that the set-up {clear}: {:+.2} ± {:.2} % of the rise an hour",
            100.0 * drift.value,
            100.0 * drift.half_95
        ));
    }
    if let (Some(shift), Some(apart)) = (order.shift, order.apart_h) {
        let most = rise_k * (shift.value.abs() + shift.half_95);
        let weight = if most > difference.value.abs() {
            "as much as the difference itself: measure the first board again"
        } else {
            "less than the difference"
        };
        said.push(format!(
            "The two boards were measured {:.1} h apart on average; drift may have put up to {most:.1} K between them, {weight}",
            apart.abs()
        ));
    } else if order.one_after_the_other {
        said.push(format!(
            "{} and {} were measured one after the other and nothing was repeated: whatever drifted meanwhile is in the difference; repeat one \
             plateau of the first board at the end",
            pair.first, pair.second
        ));
    }
    said
}

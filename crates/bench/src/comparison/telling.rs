//! The comparison in sentences, the answer first.

use super::{Order, Pair, WithDoubt};

/// What was found about a pair, for the maker: which board is cooler, from which current on that is sure, whether it pays, what the order
/// of the test may have done. `worth_k` is the difference that the dearer board must make to be worth its price.
#[must_use]
pub fn sentences(pair: &Pair, order: &Order, worth_k: f64) -> Vec<String> {
    let mut said = Vec::new();
    let (first, second) = (&pair.first, &pair.second);
    let Some(top) = pair.at_equal_current.last() else {
        said.push(format!(
            "{first} and {second} cannot be compared at equal current: no current was held with both (within 2 %); repeat one of them"
        ));
        return said;
    };
    said.push(answer(pair, top.current_a, top.difference));
    said.push(match pair.clear_from_a {
        Some(from) if Some(from) == pair.at_equal_current.first().map(|at| at.current_a) => {
            format!("the difference is larger than its doubt at every current held, from {from:.3} A on")
        }
        Some(from) => format!("the difference is larger than its doubt from {from:.3} A on; below, it cannot be told"),
        None => "at no current from which on all higher ones agree is the difference larger than its doubt: hold longer, repeat \
                 plateaus, or go to higher currents"
            .to_owned(),
    });
    said.push(pays(pair, top.current_a, top.difference, worth_k));
    if let Some(at) = pair.at_equal_heat.last() {
        said.push(format!(
            "at equal heat ({:.1} W) {second} lies {} below {first}",
            at.heat_w.unwrap_or(f64::NAN),
            kelvin(at.difference)
        ));
    }
    said.extend(order_words(pair, order, top.first_k, top.difference));
    said
}

fn kelvin(number: WithDoubt) -> String {
    format!("{:.1} +- {:.1} K", number.value, number.half_95)
}

fn answer(pair: &Pair, current_a: f64, difference: WithDoubt) -> String {
    let (cooler, warmer, by) = if difference.value >= 0.0 {
        (&pair.second, &pair.first, difference)
    } else {
        (&pair.first, &pair.second, WithDoubt { value: -difference.value, ..difference })
    };
    if difference.is_clear() {
        format!("at {current_a:.3} A {cooler} runs {} cooler than {warmer}", kelvin(by))
    } else {
        format!(
            "at {current_a:.3} A {} and {} cannot be told apart: the difference is {}",
            pair.first,
            pair.second,
            kelvin(difference)
        )
    }
}

fn pays(pair: &Pair, current_a: f64, difference: WithDoubt, worth_k: f64) -> String {
    let second = &pair.second;
    let (low, high) = (difference.value - difference.half_95, difference.value + difference.half_95);
    if low >= worth_k {
        format!(
            "{second} pays: at {current_a:.3} A it takes off at least {low:.1} K, and {worth_k} K are asked of it"
        )
    } else if high < worth_k {
        format!(
            "{second} does not pay within the currents used: at {current_a:.3} A it takes off {high:.1} K at most, and {worth_k} K are asked"
        )
    } else {
        format!(
            "whether {second} pays is open: at {current_a:.3} A it takes off {low:.1} to {high:.1} K, and {worth_k} K are asked; repeat the highest plateau with both"
        )
    }
}

fn order_words(pair: &Pair, order: &Order, rise_k: f64, difference: WithDoubt) -> Vec<String> {
    let mut said = Vec::new();
    if let Some(drift) = order.drift_per_h {
        let clear = if drift.is_clear() { "drifted" } else { "shows no drift beyond its doubt" };
        said.push(format!(
            "repeats of the same plateau tell that the set-up {clear}: {:+.2} +- {:.2} % of the rise an hour",
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
            "the two boards were measured {:.1} h apart on average; drift may have put up to {most:.1} K between them, {weight}",
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

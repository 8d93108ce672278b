//! What a change buys.

use lamp::uncertain::Value;
use serde::Serialize;

use super::{Built, Work};

/// A change and what it does to the hottest junction at the nominal current.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Change {
    /// What is changed.
    pub what: String,
    /// By how much the hottest junction becomes cooler, K.
    pub saves_k: f64,
}

/// Changes of values that a maker can make: value, logarithm of the factor, words.
const OF_VALUES: [(Value, f64, &str); 7] = [
    (
        Value::BondLine,
        -std::f64::consts::LN_2,
        "a bond line of half the resistance (thinner, flatter, or a better interface)",
    ),
    (Value::Cooling, 0.405_465_108_108_164_4, "cooling that is half as good again (more fin area, more air)"),
    (
        Value::DielectricConductivity,
        std::f64::consts::LN_2,
        "a dielectric that conducts twice as well, or is half as thick",
    ),
    (Value::CopperThickness, std::f64::consts::LN_2, "copper twice as thick"),
    (
        Value::ViaBarrel,
        std::f64::consts::LN_2,
        "twice the copper in the thermal vias (thicker barrels, or twice as many)",
    ),
    (
        Value::LaminateConductivity,
        std::f64::consts::LN_2,
        "a laminate of half the thickness, or that conducts twice as well",
    ),
    (
        Value::JunctionResistance,
        -0.223_143_551_314_209_7,
        "emitters with a fifth less resistance to their solder point",
    ),
];
/// Part of the drive current that is left off as a change.
const LESS_CURRENT: f64 = 0.1;

/// All changes, the best first; at the nominal current and the lamp's room.
pub(super) fn changes(work: &Work<'_>) -> Vec<Change> {
    let (drive_a, room_c) = (work.lamp.nominal_current_a, work.lamp.ambient_c);
    let hottest =
        |built: &Built<'_>, drive_a: f64| built.state(drive_a, room_c).ok().map(|s| s.hottest_junction_c());
    let Some(now_c) = hottest(work.likeliest, drive_a) else { return Vec::new() };
    let mut found = Vec::new();
    let reduced = work.likeliest.reduced;
    for (value, by, words) in OF_VALUES {
        if !value.is_of(work.variant) {
            continue;
        }
        let mut own = lamp::uncertain::Departures::for_variant(
            &reduced.uncertain,
            work.likeliest.departures,
            work.asked.variant,
        );
        own.set(value, own.of(value) + by);
        let state = reduced.variants[work.asked.variant].reduced.state(&own, drive_a, room_c);
        if let Ok(state) = state {
            found.push(Change { what: words.to_owned(), saves_k: now_c - state.hottest_junction_c() });
        }
    }
    if let Some(less_c) = hottest(work.likeliest, (1.0 - LESS_CURRENT) * drive_a) {
        found.push(Change { what: "10 % less drive current".to_owned(), saves_k: now_c - less_c });
    }
    for (other, variant) in
        work.lamp.variants.iter().enumerate().filter(|(other, _)| *other != work.asked.variant)
    {
        let built = Built { variant: other, ..*work.likeliest };
        if let Some(other_c) = hottest(&built, drive_a) {
            found.push(Change {
                what: format!("the board \"{}\" instead", variant.name),
                saves_k: now_c - other_c,
            });
        }
    }
    found.sort_by(|a, b| b.saves_k.total_cmp(&a.saves_k));
    found
}

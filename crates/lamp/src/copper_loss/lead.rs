//! The supply's leads: their drop and loss, cold and as warm as their own loss makes them.

use crate::circuit::Lead;
use crate::cooling::natural_cylinder::h_horizontal_cylinder_churchill_chu;
use crate::cooling::radiation::h_radiation;
use crate::copper_current::copper::Conductor;

/// Emissivity of a wire's insulation: of plastics and rubber, 0.9 and more (from memory).
const INSULATION_EMISSIVITY: f64 = 0.9;
/// Most rise that is looked for, K: no insulation stands it.
const MOST_RISE_K: f64 = 400.0;
/// Zero of the Celsius scale, K.
const ZERO_C_K: f64 = 273.15;

/// Both leads of a supply.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Leads {
    pub drop_v: f64,
    pub loss_w: f64,
    pub temperature_c: f64,
}

/// Both leads as warm as the room: at the first moment.
pub(crate) fn cold(lead: Option<Lead>, current_a: f64, room_c: f64) -> Option<Leads> {
    at(&conductor(lead?), current_a, room_c)
}

/// Both leads settled, each a wire on its own in still air: its loss per length, I² rho(T) / A, goes by natural convection and
/// radiation from a cylinder as thick as its copper. Insulation makes a thin wire's surface larger and the wire cooler than
/// this; wires side by side or in a tube are hotter.
pub(crate) fn settled(lead: Option<Lead>, current_a: f64, room_c: f64) -> Option<Leads> {
    let wire = conductor(lead?);
    let round_m = (4.0 * std::f64::consts::PI * 1e-6 * wire.section_mm2).sqrt();
    let room_k = room_c + ZERO_C_K;
    let over_w_per_m = |rise_k: f64| -> Option<f64> {
        let h = h_horizontal_cylinder_churchill_chu(round_m / std::f64::consts::PI, room_k + rise_k, room_k)
            .0
            + h_radiation(INSULATION_EMISSIVITY, room_k + rise_k, room_k);
        let ohm_per_m = wire.carrying(current_a, room_c + rise_k)?.ohm_per_m;
        Some(h * round_m * rise_k - ohm_per_m * current_a * current_a)
    };
    let (mut low, mut high) = (0.0, MOST_RISE_K);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if over_w_per_m(middle)? < 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    at(&wire, current_a, room_c + 0.5 * (low + high))
}

fn conductor(lead: Lead) -> Conductor {
    Conductor { length_m: lead.length_m, section_mm2: 1e6 * lead.section_m2 }
}

fn at(wire: &Conductor, current_a: f64, temperature_c: f64) -> Option<Leads> {
    let one = wire.carrying(current_a, temperature_c)?;
    Some(Leads { drop_v: 2.0 * one.drop_v, loss_w: 2.0 * one.loss_w, temperature_c })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lead(section_mm2: f64) -> Option<Lead> {
        Some(Lead { length_m: 1.0, section_m2: 1e-6 * section_mm2 })
    }

    /// A wire of 1.5 mm² insulated for 70 degC may carry some 22 A in a room of 30 degC, one of 2.5 mm² some 30 A (IEC
    /// 60364-5-52, single conductors in free air, from memory). Insulation cools a thin wire, here it has none: the same rise
    /// comes with less current, by the root of the surfaces' ratio at most (3.0 mm to 1.38 mm of diameter).
    #[test]
    fn a_bare_wire_gets_as_warm_with_a_little_less_than_an_insulated_one_may_carry() {
        for (section_mm2, rated_a) in [(1.5, 22.0), (2.5, 30.0)] {
            let at_rated = settled(lead(section_mm2), rated_a, 30.0).unwrap().temperature_c;
            let at_less = settled(lead(section_mm2), 0.7 * rated_a, 30.0).unwrap().temperature_c;
            assert!(at_rated > 70.0 && at_less < 70.0, "{at_less} {at_rated}");
        }
    }

    #[test]
    fn without_current_leads_are_as_warm_as_the_room() {
        let none = settled(lead(0.5), 0.0, 25.0).unwrap();
        assert!((none.temperature_c - 25.0).abs() < 1e-9 && none.drop_v == 0.0);
        let cold = cold(lead(0.5), 2.0, 25.0).unwrap();
        let warm = settled(lead(0.5), 2.0, 25.0).unwrap();
        // rho rises by 0.00393 of its value at 20 degC for each kelvin, IEC 60028.
        let more = (1.0 + 0.00393 * (warm.temperature_c - 20.0)) / (1.0 + 0.00393 * 5.0);
        assert!(warm.temperature_c > 27.0 && (warm.drop_v / cold.drop_v / more - 1.0).abs() < 1e-9);
        // Far too thin a wire is told as that, not sought for ever.
        assert!(settled(lead(0.01), 20.0, 25.0).unwrap().temperature_c > 400.0);
        assert_eq!(settled(None, 1.0, 25.0), None);
    }
}

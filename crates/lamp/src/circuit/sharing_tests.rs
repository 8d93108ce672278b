//! Sharing against closed forms, a bisection with the sheet's own curves, and Kirchhoff's laws.

use proptest::prelude::*;

use super::boards::{white, wired};
use super::sharing::{Conditions, Currents, Drive, SharingError, share, shares};
use super::tests::any_circuit;
use super::{Circuit, Part, spreads};
use crate::as_built::{DrivePer, PlacedEmitter};
use crate::emitter_physics::forward_v;

const PER_STRING: DrivePer = DrivePer::String;

/// Two strings of two between one pair of pads.
const TWO_STRINGS: [(usize, usize); 4] = [(0, 2), (2, 1), (0, 3), (3, 1)];

fn drive(per: DrivePer, current_a: f64) -> Drive {
    Drive { per, current_a }
}

#[track_caller]
fn near(found: f64, wanted: f64, within: f64) {
    assert!((found - wanted).abs() <= within, "{found} is not {wanted} within {within}");
}

/// Emitters of a voltage table.
fn with_table(mut emitters: Vec<PlacedEmitter>, table: &[(f64, f64)]) -> Vec<PlacedEmitter> {
    for emitter in &mut emitters {
        emitter.sheet.forward_v_by_current = table.to_vec();
    }
    emitters
}

/// Linear emitters, `V = 3 V + R I`: `I_1 - I_2 = (dV_2 - dV_1) / R` with the strings' offsets dV and resistances R, by hand.
#[test]
fn two_linear_strings_by_hand() {
    let (circuit, emitters) = wired(&TWO_STRINGS, &[(0, 1)]);
    // The table's own slope, 1e-8 V for each e-fold, stands in for none.
    let emitters = with_table(emitters, &[(0.1, 3.0), (1.0, 3.0 + 2.3e-8)]);
    let mut at = Conditions::by_sheet(&circuit, &emitters);
    at.emitter_ohm = vec![0.2, 0.3, 0.2, 0.3];
    at.offset_v = vec![0.05, 0.0, -0.02, -0.01];
    let found = share(&circuit, &emitters, drive(PER_STRING, 0.7), &at).unwrap();
    // Offsets 0.05 V and -0.03 V over 0.5 ohm: 0.16 A between the strings, which have 1.4 A together.
    near(found.string_a[0], 0.7 - 0.08, 1e-6);
    near(found.string_a[1], 0.7 + 0.08, 1e-6);
    near(found.supply_a[0], 1.4, 1e-12);
    assert_eq!(found.emitter_a[0], found.emitter_a[1]);
    // Unequal resistances, no offsets: as the conductances.
    at.offset_v = vec![0.0; 4];
    at.emitter_ohm = vec![0.3, 0.3, 0.1, 0.1];
    let found = share(&circuit, &emitters, drive(DrivePer::Lamp, 1.4), &at).unwrap();
    near(found.string_a[0] / found.string_a[1], 0.2 / 0.6, 1e-6);
}

/// `V = a + b ln I`: `I_1 / I_2 = exp((dV_2 - dV_1) / (n b))`, and at the edges of the tolerance t the low string lies
/// `tanh(t / b)` above the mean, by hand.
#[test]
fn two_logarithmic_strings_by_hand() {
    let (circuit, emitters) = wired(&TWO_STRINGS, &[(0, 1)]);
    let b = 0.1;
    let mut emitters = with_table(emitters, &[(0.1, 3.0), (1.0, 3.0 + b * 10f64.ln())]);
    let mut at = Conditions::by_sheet(&circuit, &emitters);
    at.offset_v = vec![0.03, 0.01, 0.0, -0.02];
    let found = share(&circuit, &emitters, drive(PER_STRING, 0.5), &at).unwrap();
    near(found.string_a[0] / found.string_a[1], (-0.06 / (2.0 * b)).exp(), 1e-8);
    at.offset_v = vec![0.0; 4];
    for emitter in &mut emitters {
        emitter.sheet.forward_v_tolerance_v = 0.05;
    }
    let spread = spreads(&circuit, &emitters, drive(PER_STRING, 0.5), &at).unwrap();
    assert_eq!((spread.len(), spread[0].branches.len()), (1, 2));
    near(spread[0].imbalance_percent, 0.0, 1e-9);
    near(spread[0].worst_imbalance_percent, 100.0 * (0.05f64 / b).tanh(), 1e-6);
    near(spread[0].worst_emitter_a, 0.5 * (1.0 + (0.05f64 / b).tanh()), 1e-8);
}

/// Supplies joined at one driver share by their leads as well: `V = a + b ln I + R I` with equal emitters and only one lead
/// of resistance: `b ln(I_1 / I_2) = -R I_1`, whose ratio is checked, by hand.
#[test]
fn supplies_joined_at_a_driver_share_by_their_leads() {
    let (circuit, emitters) = wired(&[(0, 1), (2, 3)], &[(0, 1), (2, 3)]);
    let b = 0.1;
    let emitters = with_table(emitters, &[(0.1, 3.0), (1.0, 3.0 + b * 10f64.ln())]);
    let mut at = Conditions::by_sheet(&circuit, &emitters);
    let even = share(&circuit, &emitters, drive(DrivePer::Lamp, 1.0), &at).unwrap();
    near(even.supply_a[0], 0.5, 1e-10);
    near(even.supply_a[1], 0.5, 1e-10);
    at.supply_ohm = vec![0.4, 0.0];
    let found = share(&circuit, &emitters, drive(DrivePer::Lamp, 1.0), &at).unwrap();
    near(found.supply_a[0] + found.supply_a[1], 1.0, 1e-12);
    near(b * (found.supply_a[0] / found.supply_a[1]).ln(), -0.4 * found.supply_a[0], 1e-8);
    // Each string driven alone: leads change nothing.
    let found = share(&circuit, &emitters, drive(PER_STRING, 1.0), &at).unwrap();
    near(found.supply_a[0], 1.0, 1e-12);
    // The supplies are a group of branches then; the one without resistance takes more.
    let joined = share(&circuit, &emitters, drive(DrivePer::Lamp, 1.0), &at).unwrap();
    let spread = spreads(&circuit, &emitters, drive(DrivePer::Lamp, 1.0), &at).unwrap();
    near(spread[0].imbalance_percent, 100.0 * (joined.supply_a[1] / 0.5 - 1.0), 1e-9);
    assert!(spread[0].imbalance_percent > 10.0 && spread[0].worst_branch == 1);
}

/// The sheet's curve at unequal temperatures and offsets: the division at which the strings' voltages, summed from
/// [`forward_v`], are equal, found by bisection.
#[test]
fn two_strings_of_the_sheet_meet_a_bisection() {
    let (circuit, emitters) = wired(&TWO_STRINGS, &[(0, 1)]);
    let mut at = Conditions::by_sheet(&circuit, &emitters);
    at.junction_c = vec![95.0, 90.0, 60.0, 70.0];
    at.offset_v = vec![0.02, -0.01, 0.03, 0.0];
    at.emitter_ohm = vec![0.01, 0.02, 0.03, 0.0];
    for total_a in [0.02, 0.3, 1.4, 3.9, 6.0] {
        let found = share(&circuit, &emitters, drive(PER_STRING, total_a / 2.0), &at).unwrap();
        let string_v = |own: [usize; 2], a: f64| -> f64 {
            let one = |e: usize| forward_v(&emitters[e].sheet, a, at.junction_c[e]) + at.offset_v[e];
            own.into_iter().map(|e| one(e) + at.emitter_ohm[e] * a).sum()
        };
        let (mut low, mut high) = (0.0, total_a);
        for _ in 0..200 {
            let a = (low + high) / 2.0;
            if string_v([0, 1], a) < string_v([2, 3], total_a - a) { low = a } else { high = a }
        }
        near(found.string_a[0], low, 1e-7 * total_a);
        near(found.emitter_v[0], forward_v(&emitters[0].sheet, low, 95.0) + 0.02, 1e-7);
    }
}

/// A bridge of equal emitters: half the current in each arm, next to none across; with one arm lower, Kirchhoff's second law.
#[test]
fn a_bridge_of_equal_emitters_carries_nothing_across() {
    let (circuit, emitters) = wired(&[(0, 2), (2, 1), (0, 3), (3, 1), (2, 3)], &[(0, 1)]);
    let mut at = Conditions::by_sheet(&circuit, &emitters);
    let found = share(&circuit, &emitters, drive(PER_STRING, 1.0), &at).unwrap();
    for arm in 0..4 {
        near(found.emitter_a[arm], 0.5, 1e-7);
    }
    assert!(found.emitter_a[4] < 1e-7, "{found:?}");
    // A high arm after the middle of one string and before that of the other sends current across.
    at.offset_v = vec![0.0, 3.0, 3.0, 0.0, 0.0];
    let found = share(&circuit, &emitters, drive(PER_STRING, 1.0), &at).unwrap();
    near(found.emitter_v[2], found.emitter_v[0] + found.emitter_v[4], 1e-7);
    near(found.emitter_a[0], found.emitter_a[1] + found.emitter_a[4], 1e-9);
    assert!(found.emitter_a[4] > 0.1, "{found:?}");
}

#[test]
fn shares_of_equal_emitters_are_exact() {
    let (circuit, emitters) = wired(&[(0, 2), (2, 3), (3, 1), (3, 1)], &[(0, 1)]);
    let per_string = shares(&circuit, &emitters, drive(PER_STRING, 0.7)).unwrap();
    assert_eq!(per_string, [Some(1.0), Some(1.0), Some(0.5), Some(0.5)]);
    // Two strings and a supply of its own, the lamp's current; one emitter hangs on nothing.
    let edges = [(0, 2), (2, 1), (0, 3), (3, 1), (4, 6), (6, 5), (7, 8)];
    let (circuit, emitters) = wired(&edges, &[(0, 1), (4, 5)]);
    let per_lamp = shares(&circuit, &emitters, drive(DrivePer::Lamp, 0.9)).unwrap();
    assert_eq!(per_lamp[..6], [Some(0.333333333); 6]);
    assert_eq!(per_lamp[6], None);
}

#[test]
fn what_cannot_be_shared_is_told() {
    let (circuit, emitters) = wired(&TWO_STRINGS, &[(0, 1)]);
    let at = Conditions::by_sheet(&circuit, &emitters);
    let falling = with_table(emitters.clone(), &[(0.1, 3.0), (1.0, 2.9)]);
    let told = share(&circuit, &falling, drive(PER_STRING, 0.5), &at).unwrap_err();
    assert_eq!(told, SharingError::VoltageFalls { sheet: white().name });
    assert!(share(&circuit, &emitters, drive(PER_STRING, f64::NAN), &at).is_err());
    assert!(share(&circuit, &emitters[1..], drive(PER_STRING, 0.5), &at).is_err());
    let cold = Conditions { junction_c: vec![-300.0; 4], ..at.clone() };
    assert!(share(&circuit, &emitters, drive(PER_STRING, 0.5), &cold).is_err());
    let nothing = share(&circuit, &emitters, drive(PER_STRING, 0.0), &at).unwrap();
    assert_eq!(nothing.emitter_a, [0.0; 4]);
    // A table of one row shares evenly.
    let single = with_table(emitters, &[(0.7, 3.0)]);
    let found = share(&circuit, &single, drive(PER_STRING, 0.5), &at).unwrap();
    near(found.string_a[0], 0.5, 1e-9);
}

/// The voltage over a part, V, from its emitters' currents; checks that branches side by side agree, that a series has one
/// current, and counts the current through.
fn voltage_and_current(part: &Part, of: &Currents, at: &Conditions) -> Result<(f64, f64), TestCaseError> {
    match part {
        Part::Emitter(e) => Ok((of.emitter_v[*e] + at.emitter_ohm[*e] * of.emitter_a[*e], of.emitter_a[*e])),
        Part::Series(parts) => {
            let all =
                parts.iter().map(|part| voltage_and_current(part, of, at)).collect::<Result<Vec<_>, _>>()?;
            let current = all[0].1;
            prop_assert!(all.iter().all(|(_, a)| (a - current).abs() < 1e-9), "{:?}", all);
            Ok((all.iter().map(|(v, _)| v).sum(), current))
        }
        Part::Parallel(parts) => {
            let all =
                parts.iter().map(|part| voltage_and_current(part, of, at)).collect::<Result<Vec<_>, _>>()?;
            prop_assert!(all.iter().all(|(v, _)| (v - all[0].0).abs() < 1e-7), "{:?}", all);
            Ok((all[0].0, all.iter().map(|(_, a)| a).sum()))
        }
        Part::Mesh(_) => Err(TestCaseError::fail("no mesh was made")),
    }
}

fn conditions(circuit: &Circuit, emitters: &[PlacedEmitter], seeds: &[(f64, f64, f64)]) -> Conditions {
    let mut at = Conditions::by_sheet(circuit, emitters);
    for (index, seed) in (0..emitters.len()).zip(seeds.iter().cycle()) {
        (at.junction_c[index], at.offset_v[index], at.emitter_ohm[index]) = *seed;
    }
    at
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, failure_persistence: None, ..ProptestConfig::default() })]

    /// Kirchhoff's laws in random circuits; the voltages are those of the sheet by [`forward_v`].
    #[test]
    fn random_circuits_keep_kirchhoffs_laws(
        (part, edges) in any_circuit(),
        seeds in prop::collection::vec((-40.0..150.0f64, -0.4..0.4f64, 0.0..0.5f64), 1..9),
        total_a in 0.001..20.0f64,
    ) {
        let (circuit, emitters) = wired(&edges, &[(0, 1)]);
        let at = conditions(&circuit, &emitters, &seeds);
        let found = share(&circuit, &emitters, drive(DrivePer::Lamp, total_a), &at).unwrap();
        let (_, through) = voltage_and_current(&part, &found, &at)?;
        prop_assert!((through - total_a).abs() < 1e-9 * total_a.max(1.0));
        for (index, emitter) in emitters.iter().enumerate() {
            let v = forward_v(&emitter.sheet, found.emitter_a[index], at.junction_c[index]) + at.offset_v[index];
            // Above 0 V and a nanoampere the two are the same.
            if found.emitter_a[index] > 1e-9 && v > at.offset_v[index] {
                prop_assert!((found.emitter_v[index] - v).abs() < 1e-9, "{} {}", found.emitter_v[index], v);
            }
        }
    }

    /// Any wiring that lights at all has currents, meshes included: what enters a node leaves it.
    #[test]
    fn any_wiring_has_currents(
        edges in prop::collection::vec((0usize..6, 0usize..6), 1..14),
        seeds in prop::collection::vec((-40.0..150.0f64, -0.4..0.4f64, 0.0..0.5f64), 1..9),
    ) {
        let (circuit, emitters) = wired(&edges, &[(0, 1)]);
        let at = conditions(&circuit, &emitters, &seeds);
        let found = share(&circuit, &emitters, drive(DrivePer::Lamp, 1.0), &at).unwrap();
        let mut left = vec![0.0; circuit.nodes.len()];
        for (current, pair) in found.emitter_a.iter().zip(&circuit.emitter_nodes) {
            let [anode, cathode] = pair.unwrap();
            left[anode] -= current;
            left[cathode] += current;
        }
        if circuit.strings.is_empty() {
            prop_assert!(found.emitter_a.iter().all(|a| *a == 0.0));
        } else {
            let [plus, minus] = circuit.supplies[0].nodes;
            left[plus] += 1.0;
            left[minus] -= 1.0;
            prop_assert!(left.iter().all(|a| a.abs() < 1e-9), "{:?}", left);
        }
    }
}

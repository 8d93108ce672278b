//! Shared currents with their thermal feedback against hand solutions and a bisection that knows nothing of the solver.

use super::*;
use crate::circuit::boards::wired;
use crate::emitter::{Radiation, ResistanceBasis};
use crate::findings::RunState;
use crate::findings::SharingFinding;

/// One emitter in each of two branches. Forward voltage `A_V + B_V ln(I / 1 A) + S (T - 25 degC)`, no light: all power is heat.
const A_V: f64 = 3.0;
const B_V: f64 = 0.1;
const S_V_PER_K: f64 = -0.003;
const ROOM_C: f64 = 25.0;

struct Case {
    parallel: Parallel,
    coupled: Vec<CoupledEmitter>,
    response: Response,
    ways: Ways,
    offset_v: Vec<f64>,
}

/// Branches of one emitter each, with their own resistance to the room (K/W), series resistance (ohm) and offset (V).
fn case(branches: &[(f64, f64, f64)]) -> Case {
    let n = branches.len();
    let (circuit, mut emitters) = wired(&vec![(0, 1); n], &[(0, 1)]);
    for emitter in &mut emitters {
        let sheet = &mut emitter.sheet;
        sheet.forward_v_by_current = vec![(0.01, A_V + B_V * 0.01f64.ln()), (1.0, A_V)];
        sheet.voltage_reference_c = 25.0;
        sheet.forward_v_per_k = S_V_PER_K;
        sheet.flux_lm = 0.0;
        sheet.radiation = Radiation::EfficacyOfRadiation { lm_per_w: 300.0 };
        sheet.resistance_basis = ResistanceBasis::Real;
        sheet.junction_to_solder_k_per_w = 2.0;
        sheet.junction_limit_c = 450.0;
        sheet.forward_v_tolerance_v = 0.0;
    }
    let coupled: Vec<_> = emitters.iter().map(|e| CoupledEmitter::new(&e.sheet, 1.0)).collect();
    let mut k_per_w = vec![0.0; n * n];
    for (index, (own, _, _)) in branches.iter().enumerate() {
        k_per_w[index * n + index] = own - 2.0;
    }
    Case {
        response: Response { k_per_w, rise_k: vec![0.0; n], at_heat_w: vec![0.0; n] },
        ways: Ways {
            emitter_ohm: branches.iter().map(|(_, ohm, _)| *ohm).collect(),
            trunks: Vec::new(),
            lead_ohm: vec![0.0],
        },
        offset_v: branches.iter().map(|(_, _, offset)| *offset).collect(),
        parallel: Parallel { circuit, emitters, per: DrivePer::Lamp, copper: BranchCopper::default() },
        coupled,
    }
}

impl Case {
    fn task(&self, drive_a: f64) -> Task<'_> {
        Task {
            emitters: &self.coupled,
            response: &self.response,
            drive_a,
            ambient_c: ROOM_C,
            ways: &self.ways,
            offset_v: &self.offset_v,
        }
    }

    #[track_caller]
    fn steady(&self, drive_a: f64) -> (Settled, f64) {
        match self.parallel.settle(&self.task(drive_a)) {
            Outcome::Steady(settled, feedback) => (settled, feedback),
            other => panic!("{other:?}"),
        }
    }
}

/// A branch alone, by hand: `T = 25 + R I (V0 + S (T - 25))` is straight in T, so `T - 25 = R I V0 / (1 - R I S)` with
/// `V0 = A_V + B_V ln I + offset`. Rise, K, and voltage with its series resistance, V.
fn by_hand((k_per_w, ohm, offset_v): (f64, f64, f64), current_a: f64) -> (f64, f64) {
    let v0 = A_V + B_V * current_a.ln() + offset_v;
    let rise_k = k_per_w * current_a * v0 / (1.0 - k_per_w * current_a * S_V_PER_K);
    (rise_k, v0 + S_V_PER_K * rise_k + ohm * current_a)
}

/// Current of the first of two branches, A, by bisection on the difference of their voltages around one crossing.
fn bisected_a(two: [(f64, f64, f64); 2], whole_a: f64, (mut low, mut high): (f64, f64)) -> f64 {
    let difference = |a: f64| by_hand(two[0], a).1 - by_hand(two[1], whole_a - a).1;
    assert!(difference(low) * difference(high) < 0.0, "one crossing lies between");
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if difference(low) * difference(middle) > 0.0 { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}

#[test]
fn two_branches_with_feedback_meet_a_bisection() {
    for two in [
        [(20.0, 0.2, 0.0), (30.0, 0.2, 0.0)],
        [(25.0, 0.05, -0.03), (15.0, 0.3, 0.02)],
        [(40.0, 0.4, 0.05), (40.0, 0.4, -0.05)],
    ] {
        for whole_a in [0.1, 0.4, 0.8] {
            let case = case(&two);
            let (settled, feedback) = case.steady(whole_a);
            assert!(feedback > 0.0 && feedback < 1.0, "{feedback}");
            let hand_a = bisected_a(two, whole_a, (1e-6 * whole_a, (1.0 - 1e-6) * whole_a));
            let off_a = settled.current_a[0] - hand_a;
            // The network's residual is 1e-9 V over a slope of 0.1 ohm and more.
            assert!(off_a.abs() < 1e-7, "{two:?} {whole_a}: {off_a}");
            for (branch, current_a) in [(0, hand_a), (1, whole_a - hand_a)] {
                let off_k = settled.junction_c[branch] - ROOM_C - by_hand(two[branch], current_a).0;
                assert!(off_k.abs() < 1e-4, "{two:?} {whole_a}: {off_k} K");
            }
        }
    }
}

/// The feedback of two equal branches in closed form. A difference of 1 K either way moves the currents by `-S / (B / I + ohm)`
/// each way, heats change by `V + B` per ampere, temperatures by `R / (1 - R I S)` per watt.
fn equal_feedback(k_per_w: f64, ohm: f64, branch_a: f64) -> f64 {
    let v = by_hand((k_per_w, 0.0, 0.0), branch_a).1;
    let a_per_k = -S_V_PER_K / (B_V / branch_a + ohm);
    k_per_w / (1.0 - k_per_w * branch_a * S_V_PER_K) * (v + B_V) * a_per_k
}

#[test]
fn feedback_of_equal_branches_is_its_closed_form() {
    for (k_per_w, ohm, whole_a) in [(20.0, 0.2, 0.5), (30.0, 0.0, 0.3), (10.0, 0.05, 1.4)] {
        let (settled, feedback) = case(&[(k_per_w, ohm, 0.0), (k_per_w, ohm, 0.0)]).steady(whole_a);
        let hand = equal_feedback(k_per_w, ohm, 0.5 * whole_a);
        assert!((feedback / hand - 1.0).abs() < 1e-4, "{feedback} {hand}");
        // Equal branches share equally, to the solver's residual.
        assert!((settled.current_a[0] - settled.current_a[1]).abs() < 1e-8, "{settled:?}");
        assert!((settled.junction_c[0] - settled.junction_c[1]).abs() < 1e-6, "{settled:?}");
    }
}

/// A small difference of voltage grows to `1 / (1 - feedback)` of what it is without feedback. That is by hand `offset / (2 (B / I
/// + ohm))`, the offset less what the lower voltage itself cools its emitter: `(1 + S R I / (1 - R I S))` of it.
#[test]
fn small_differences_grow_as_the_feedback_says() {
    let (k_per_w, ohm, whole_a, offset_v) = (30.0, 0.3, 0.6, 1e-4);
    let (settled, feedback) = case(&[(k_per_w, ohm, -offset_v), (k_per_w, ohm, 0.0)]).steady(whole_a);
    let branch_a = 0.5 * whole_a;
    let cooled = S_V_PER_K * k_per_w * branch_a / (1.0 - k_per_w * branch_a * S_V_PER_K);
    let without_a = offset_v * (1.0 + cooled) / (2.0 * (B_V / branch_a + ohm));
    let grown = (settled.current_a[0] - settled.current_a[1]) / 2.0 / without_a;
    assert!(feedback > 0.3, "{feedback}");
    assert!((grown * (1.0 - feedback) - 1.0).abs() < 5e-4, "{grown} {feedback}");
}

#[test]
fn swapped_branches_swap_their_currents() {
    let four = [(20.0, 0.2, 0.0), (30.0, 0.1, 0.01), (25.0, 0.3, -0.02), (15.0, 0.2, 0.0)];
    let (settled, _) = case(&four).steady(1.2);
    for order in [[1, 0, 2, 3], [3, 2, 1, 0], [2, 3, 0, 1]] {
        let (swapped, _) = case(&order.map(|branch| four[branch])).steady(1.2);
        for (place, branch) in order.into_iter().enumerate() {
            assert!((swapped.current_a[place] - settled.current_a[branch]).abs() < 1e-8, "{order:?}");
            assert!((swapped.junction_c[place] - settled.junction_c[branch]).abs() < 1e-5, "{order:?}");
        }
    }
}

/// Equal branches run away in their share from the current at which the closed form of the feedback passes 1.
#[test]
fn hogging_begins_where_the_feedback_passes_one() {
    let (k_per_w, ohm) = (40.0, 0.05);
    let case = case(&[(k_per_w, ohm, 0.0), (k_per_w, ohm, 0.0)]);
    let (mut low, mut high) = (0.01, 1.0);
    assert!(equal_feedback(k_per_w, ohm, low) < 1.0 && equal_feedback(k_per_w, ohm, high) > 1.0);
    for _ in 0..100 {
        let middle = 0.5 * (low + high);
        if equal_feedback(k_per_w, ohm, middle) < 1.0 { low = middle } else { high = middle }
    }
    let (found_a, share) = case.parallel.runaway_current_a(&case.task(0.0), 2.0).expect("it runs away");
    assert!(share, "the share runs away, not the heat");
    // The search stops at a ten-thousandth.
    assert!((found_a / (2.0 * low) - 1.0).abs() < 5e-4, "{found_a} {}", 2.0 * low);
    let Outcome::Hogs(hogging) = case.parallel.settle(&case.task(1.05 * found_a)) else { panic!("it hogs") };
    assert!(hogging.feedback > 1.0 && (hogging.drift_a[0] + hogging.drift_a[1]).abs() < 1e-9);
}

fn told(case: &Case, drive_a: f64) -> SharingFinding {
    let task = case.task(drive_a);
    match case.parallel.settle(&task) {
        Outcome::Steady(settled, feedback) => {
            finding(&case.parallel, &task, &Became::Settled(&settled, feedback))
        }
        Outcome::Hogs(hogging) => finding(&case.parallel, &task, &Became::RanAway(&hogging)),
        Outcome::Heat => panic!("the heat runs away"),
    }
}

/// The branch that is cooled worse takes over, and is named.
#[test]
fn the_hogging_branch_is_the_hotter_one() {
    for (two, hotter) in [([40.0, 44.0], "string A 2"), ([44.0, 40.0], "string A 1")] {
        let found = told(&case(&two.map(|k_per_w| (k_per_w, 0.02, 0.0))), 1.2);
        assert_eq!(found.state, RunState::Runaway);
        assert!(found.may_run_away() && found.feedback > 1.0);
        let group = &found.groups[0];
        assert_eq!(group.runs_away.as_deref(), Some(hotter));
        assert_eq!((group.imbalance_percent, group.branches[0].current_a), (None, None));
        assert!(group.cold_imbalance_percent.abs() < 1e-6, "cold they are equal");
    }
}

/// The worst case of a tolerance t: cold `tanh(t / B)` above the mean in closed form (without resistance), warm by bisection.
#[test]
fn worst_case_of_the_tolerance_cold_and_warm() {
    let (k_per_w, t, whole_a) = (12.0, 0.02, 0.5);
    let mut case = case(&[(k_per_w, 0.0, 0.0), (k_per_w, 0.0, 0.0)]);
    for emitter in &mut case.parallel.emitters {
        emitter.sheet.forward_v_tolerance_v = t;
    }
    let found = told(&case, whole_a);
    let worst = found.groups[0].worst.as_ref().expect("a tolerance is given");
    assert!((worst.cold_imbalance_percent - 100.0 * (t / B_V).tanh()).abs() < 1e-6, "{worst:?}");
    let two = [(k_per_w, 0.0, -t), (k_per_w, 0.0, t)];
    let hand_a = bisected_a(two, whole_a, (0.25, 0.499));
    assert!((worst.current_a.unwrap() - hand_a).abs() < 1e-7, "{worst:?} {hand_a}");
    let hand_c = ROOM_C + by_hand(two[0], hand_a).0;
    assert!((worst.hottest_junction_c.unwrap() - hand_c).abs() < 1e-4, "{worst:?} {hand_c}");
    assert!(worst.imbalance_percent.unwrap() > worst.cold_imbalance_percent, "feedback adds to it");
    assert!(!found.may_run_away() && worst.emitter_a == worst.current_a.unwrap());
    // As their sheets say, the two are equal.
    assert!(found.groups[0].imbalance_percent.unwrap().abs() < 1e-6);
}

/// Where even an equal division has no state, the heat runs away: 3 V of which the light takes nothing, 1000 K/W.
#[test]
fn heat_that_runs_away_is_told_apart_from_the_share() {
    let case = case(&[(1000.0, 5.0, 0.0), (1000.0, 5.0, 0.0)]);
    assert_eq!(case.parallel.settle(&case.task(2.0)), Outcome::Heat);
}

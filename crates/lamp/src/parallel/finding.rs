//! What is said about branches that share a current.

use super::{Hogging, Outcome, Parallel, Task};
use crate::as_built::DrivePer;
use crate::circuit::Part;
use crate::circuit::sharing::through;
use crate::findings::{
    RunState, SharingBranchFinding, SharingFinding, SharingGroupFinding, SharingWorstFinding,
};
use crate::operating_point::Settled;

/// Cases of the voltage tolerance that are settled at most.
const MOST_CASES: usize = 64;

/// Branches side by side with their names.
struct Group {
    names: Vec<String>,
    branches: Vec<Part>,
}

/// What has become of the branches as their sheets say.
pub(crate) enum Became<'a> {
    Settled(&'a Settled, f64),
    RanAway(&'a Hogging),
}

/// The finding of a run. `task` is that of the settled state, emitters as their sheets say.
pub(crate) fn finding(parallel: &Parallel, task: &Task<'_>, became: &Became<'_>) -> SharingFinding {
    let groups = groups(parallel);
    let mut remarks = Vec::new();
    let cold_a = cold_a(parallel, task);
    let cases: usize = groups.iter().map(|group| group.branches.len()).sum();
    if has_tolerance(parallel) && cases > MOST_CASES {
        remarks.push(format!(
            "of {cases} branches that might be the lowest in voltage, the {MOST_CASES} that come first were looked at"
        ));
    }
    let mut left = MOST_CASES;
    let findings = groups.iter().map(|group| {
        let worst = worst(parallel, task, group, &mut left);
        one(parallel, group, became, &cold_a, worst)
    });
    let (state, feedback) = match became {
        Became::Settled(_, feedback) => (RunState::Steady, *feedback),
        Became::RanAway(hogging) => (RunState::Runaway, hogging.feedback),
    };
    SharingFinding { state, feedback, groups: findings.collect(), remarks }
}

/// The groups of branches: the supplies where one driver feeds all, and those within each supply, the outermost first.
fn groups(parallel: &Parallel) -> Vec<Group> {
    let circuit = &parallel.circuit;
    let reference = |emitter: usize| parallel.emitters[emitter].reference.clone();
    let lit: Vec<_> =
        circuit.supplies.iter().filter_map(|s| Some((&s.pads.name, s.root.as_ref()?))).collect();
    let mut all = Vec::new();
    if parallel.per == DrivePer::Lamp && lit.len() > 1 {
        all.push(Group {
            names: lit.iter().map(|(name, _)| format!("supply {name}")).collect(),
            branches: lit.iter().map(|(_, root)| (*root).clone()).collect(),
        });
    }
    for group in &circuit.parallel_groups {
        let name = |part: &Part| {
            let string = circuit.strings.iter().find(|s| s.supply == group.supply && s.part == *part);
            string.map_or_else(|| part.words(&reference), |string| format!("string {}", string.name))
        };
        all.push(Group {
            names: group.branches.iter().map(name).collect(),
            branches: group.branches.clone(),
        });
    }
    all
}

fn has_tolerance(parallel: &Parallel) -> bool {
    parallel.emitters.iter().any(|emitter| emitter.sheet.forward_v_tolerance_v > 0.0)
}

/// Currents with everything at the room's temperature, A.
fn cold_a(parallel: &Parallel, task: &Task<'_>) -> Vec<f64> {
    let ways = parallel.ways_at(task.ambient_c);
    let cold = Task { ways: &ways, ..*task };
    let found = parallel.currents(&cold, &vec![task.ambient_c; parallel.emitters.len()]);
    found.map_or_else(|| vec![0.0; parallel.emitters.len()], |found| found.emitter_a)
}

fn branch_currents_a(group: &Group, emitter_a: &[f64]) -> Vec<f64> {
    group.branches.iter().map(|part| through(part, emitter_a)).collect()
}

/// How far a branch's current lies above the mean, %.
fn above_mean_percent(branch_a: &[f64], branch: usize) -> f64 {
    let mean = branch_a.iter().sum::<f64>() / branch_a.len().max(1) as f64;
    let own = branch_a.get(branch).copied().unwrap_or(0.0);
    if mean > 0.0 { 100.0 * (own / mean - 1.0) } else { 0.0 }
}

fn most(branch_a: &[f64]) -> usize {
    (0..branch_a.len()).reduce(|a, b| if branch_a[b] > branch_a[a] { b } else { a }).unwrap_or(0)
}

fn one(
    parallel: &Parallel,
    group: &Group,
    became: &Became<'_>,
    cold_a: &[f64],
    worst: Option<SharingWorstFinding>,
) -> SharingGroupFinding {
    let cold = branch_currents_a(group, cold_a);
    let settled = match became {
        Became::Settled(settled, _) => Some(*settled),
        Became::RanAway(_) => None,
    };
    let warm = settled.map(|settled| branch_currents_a(group, &settled.current_a));
    let runs_away = match became {
        Became::RanAway(hogging) => {
            let drift = branch_currents_a(group, &hogging.drift_a);
            let first = most(&drift);
            (drift.get(first).is_some_and(|a| *a > 0.0)).then(|| group.names[first].clone())
        }
        Became::Settled(..) => None,
    };
    let branches = group.branches.iter().zip(&group.names).enumerate().map(|(index, (part, name))| {
        let own = part.emitters();
        let hottest =
            settled.and_then(|s| own.iter().filter_map(|e| s.junction_c.get(*e)).copied().reduce(f64::max));
        SharingBranchFinding {
            name: name.clone(),
            emitters: own.iter().map(|e| parallel.emitters[*e].reference.clone()).collect(),
            cold_a: cold[index],
            current_a: warm.as_ref().map(|warm| warm[index]),
            hottest_junction_c: hottest,
        }
    });
    SharingGroupFinding {
        branches: branches.collect(),
        cold_imbalance_percent: above_mean_percent(&cold, most(&cold)),
        imbalance_percent: warm.map(|warm| above_mean_percent(&warm, most(&warm))),
        runs_away,
        worst,
    }
}

/// The worst case of the tolerance for a group.
fn worst(
    parallel: &Parallel,
    task: &Task<'_>,
    group: &Group,
    left: &mut usize,
) -> Option<SharingWorstFinding> {
    let tolerance_v = |emitter: usize| parallel.emitters[emitter].sheet.forward_v_tolerance_v;
    if !group.branches.iter().flat_map(Part::emitters).any(|emitter| tolerance_v(emitter) > 0.0) {
        return None;
    }
    let over = |found: &SharingWorstFinding| found.emitter_a / found.emitter_limit_a;
    let mut worst: Option<SharingWorstFinding> = None;
    for low in 0..group.branches.len().min(*left) {
        *left -= 1;
        let mut offset_v = vec![0.0; parallel.emitters.len()];
        for (index, branch) in group.branches.iter().enumerate() {
            let sign = if index == low { -1.0 } else { 1.0 };
            branch.emitters().into_iter().for_each(|e| offset_v[e] = sign * tolerance_v(e));
        }
        let Some(found) = case(parallel, &Task { offset_v: &offset_v, ..*task }, group, low) else {
            continue;
        };
        let worse = |than: &SharingWorstFinding| {
            (found.runs_away, over(&found)) > (than.runs_away, over(than) * (1.0 + 1e-9))
        };
        if worst.as_ref().is_none_or(worse) {
            worst = Some(found);
        }
    }
    worst
}

/// One case; `None` where the lamp has no steady state even with the division of equal junctions.
fn case(parallel: &Parallel, task: &Task<'_>, group: &Group, low: usize) -> Option<SharingWorstFinding> {
    let own = group.branches[low].emitters();
    let cold = branch_currents_a(group, &cold_a(parallel, task));
    let outcome = parallel.settle(task);
    let (state, feedback, runs_away) = match &outcome {
        Outcome::Steady(settled, feedback) => (settled, *feedback, false),
        Outcome::Hogs(hogging) => (&hogging.equal, hogging.feedback, true),
        Outcome::Heat => return None,
    };
    let branch_a = branch_currents_a(group, &state.current_a);
    // What takes ever more can have all of the current.
    let whole =
        if runs_away && branch_a[low] > 0.0 { branch_a.iter().sum::<f64>() / branch_a[low] } else { 1.0 };
    let limit_a = |e: usize| parallel.emitters[e].sheet.current_limit_a;
    let current_a = |e: usize| whole * state.current_a[e];
    let part = |e: usize| current_a(e) / limit_a(e);
    let nearest = own.iter().copied().reduce(|a, b| if part(b) > part(a) { b } else { a })?;
    let margin_k = |e: usize| parallel.emitters[e].sheet.junction_limit_c - state.junction_c[e];
    let hottest = own.iter().copied().reduce(|a, b| if margin_k(b) < margin_k(a) { b } else { a })?;
    let hottest = (!runs_away).then_some(hottest);
    Some(SharingWorstFinding {
        branch: group.names[low].clone(),
        cold_a: cold[low],
        cold_imbalance_percent: above_mean_percent(&cold, low),
        current_a: (!runs_away).then(|| branch_a[low]),
        imbalance_percent: (!runs_away).then(|| above_mean_percent(&branch_a, low)),
        feedback,
        runs_away,
        emitter: parallel.emitters[nearest].reference.clone(),
        emitter_a: current_a(nearest),
        emitter_limit_a: limit_a(nearest),
        hottest_emitter: hottest.map(|e| parallel.emitters[e].reference.clone()),
        hottest_junction_c: hottest.map(|e| state.junction_c[e]),
        junction_limit_c: hottest.map(|e| parallel.emitters[e].sheet.junction_limit_c),
    })
}

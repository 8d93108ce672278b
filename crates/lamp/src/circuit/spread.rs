//! How unevenly branches side by side share their current, as their sheets say and at the edge of the voltage tolerance.

use super::part::Part;
use super::sharing::{Conditions, Drive, SharingError, share, through};
use super::{Circuit, ParallelGroup};
use crate::as_built::{DrivePer, PlacedEmitter};

/// The sharing of a group of branches.
#[derive(Debug, Clone, PartialEq)]
pub struct GroupSpread {
    /// The branches.
    pub branches: Vec<Part>,
    /// Current of each branch, A.
    pub branch_a: Vec<f64>,
    /// How far the largest branch current lies above their mean, %.
    pub imbalance_percent: f64,
    /// The same for the worst case: one branch's emitters at the low edge of their voltage tolerance, all others' at the high.
    pub worst_imbalance_percent: f64,
    /// The branch that takes most in the worst case.
    pub worst_branch: usize,
    /// The largest current of an emitter in the worst case, A.
    pub worst_emitter_a: f64,
}

/// The sharing of every group of branches side by side: those of the circuit and, where the drive is the lamp's, the supplies.
/// `at` tells temperatures and resistances; its voltage offsets are the middle of the tolerance.
///
/// # Errors
/// As [`share`].
pub fn spreads(
    circuit: &Circuit,
    emitters: &[PlacedEmitter],
    drive: Drive,
    at: &Conditions,
) -> Result<Vec<GroupSpread>, SharingError> {
    let mut groups: Vec<Vec<Part>> = Vec::new();
    let roots: Vec<Part> = circuit.supplies.iter().filter_map(|supply| supply.root.clone()).collect();
    if drive.per == DrivePer::Lamp && roots.len() > 1 {
        groups.push(roots);
    }
    groups.extend(circuit.parallel_groups.iter().map(|ParallelGroup { branches, .. }| branches.clone()));
    if groups.is_empty() {
        return Ok(Vec::new());
    }
    let middle = share(circuit, emitters, drive, at)?;
    groups
        .into_iter()
        .map(|branches| one(circuit, emitters, drive, at, branches, &middle.emitter_a))
        .collect()
}

fn one(
    circuit: &Circuit,
    emitters: &[PlacedEmitter],
    drive: Drive,
    at: &Conditions,
    branches: Vec<Part>,
    emitter_a: &[f64],
) -> Result<GroupSpread, SharingError> {
    let branch_a: Vec<f64> = branches.iter().map(|part| through(part, emitter_a)).collect();
    let largest_a = |branch: &Part, of: &[f64]| {
        branch.emitters().into_iter().filter_map(|e| of.get(e)).copied().fold(0.0, f64::max)
    };
    let most = (0..branches.len()).max_by(|a, b| branch_a[*a].total_cmp(&branch_a[*b])).unwrap_or(0);
    let mut found = GroupSpread {
        imbalance_percent: above_mean_percent(&branch_a, most),
        worst_imbalance_percent: above_mean_percent(&branch_a, most),
        worst_branch: most,
        worst_emitter_a: branches.iter().map(|branch| largest_a(branch, emitter_a)).fold(0.0, f64::max),
        branch_a,
        branches: Vec::new(),
    };
    let tolerance_v = |emitter: usize| emitters[emitter].sheet.forward_v_tolerance_v;
    let spread = branches.iter().flat_map(Part::emitters).any(|emitter| tolerance_v(emitter) > 0.0);
    for low in 0..if spread { branches.len() } else { 0 } {
        let mut case = at.clone();
        for (index, branch) in branches.iter().enumerate() {
            let sign = if index == low { -1.0 } else { 1.0 };
            for emitter in branch.emitters() {
                case.offset_v[emitter] += sign * tolerance_v(emitter);
            }
        }
        let currents = share(circuit, emitters, drive, &case)?.emitter_a;
        let branch_a: Vec<f64> = branches.iter().map(|part| through(part, &currents)).collect();
        let above = above_mean_percent(&branch_a, low);
        if above > found.worst_imbalance_percent {
            found.worst_imbalance_percent = above;
            found.worst_branch = low;
        }
        found.worst_emitter_a = found.worst_emitter_a.max(largest_a(&branches[low], &currents));
    }
    found.branches = branches;
    Ok(found)
}

fn above_mean_percent(branch_a: &[f64], branch: usize) -> f64 {
    let mean = branch_a.iter().sum::<f64>() / branch_a.len().max(1) as f64;
    let own = branch_a.get(branch).copied().unwrap_or(0.0);
    if mean > 0.0 { 100.0 * (own / mean - 1.0) } else { 0.0 }
}

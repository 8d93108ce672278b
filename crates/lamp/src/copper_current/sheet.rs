//! Steady current in copper sheets of true shape.
//!
//! Each island is cut into square pixels; a side between two pixels conducts as far as copper crosses it, so that nothing is
//! assumed about the shape and gaps to other islands never conduct. Each island has its own rectangle; islands that plated
//! holes join are solved together, and only pixels with copper are counted. Not in it: the resistance of solder and of
//! leads, and the copper of a drilled hole, over which the sheet is taken as drawn.

use std::sync::atomic::AtomicBool;

use artwork::shape::Bounds;
use conduction::{FoilSolver, SolveOptions};
use rayon::prelude::*;

use super::assembly::{Assembly, Group, Groups};
pub use super::outcome::{
    BarrelCurrent, ContactState, GroupBalance, HOT_SQUARE_MM, HotPlace, IslandCurrent, SheetSolution,
};
use super::outcome::{GroupField, island_currents};
pub use super::problem::{Barrel, Contact, ContactKind, CopperLayer, SheetError, SheetProblem};
use super::raster::Lattice;
pub use super::temperature::{Temperature, TemperatureMap};

/// How a sheet problem is solved.
#[derive(Debug, Clone, Copy)]
pub struct SheetOptions<'a> {
    /// Side of a pixel, m; grown where `most_cells` asks for it.
    pub pitch_m: f64,
    /// Most pixels of all groups together.
    pub most_cells: usize,
    /// Residual over right side at which the solver stops; the loss is then nearer still, by its square.
    pub relative_residual: f64,
    /// Looked at between iterations.
    pub cancel: Option<&'a AtomicBool>,
}

impl Default for SheetOptions<'_> {
    fn default() -> Self {
        Self { pitch_m: 50e-6, most_cells: 12_000_000, relative_residual: 1e-6, cancel: None }
    }
}

/// Most iterations: a sheet usually needs eight to fifteen.
const MOST_ITERATIONS: usize = 200;

/// Smallest pixel, m: below it whole nanometres show.
const LEAST_PITCH_M: f64 = 1e-6;

/// Solves the steady current in all copper with contacts.
///
/// Copper without contacts is left out. A group of islands needs a contact held at 0 V, or currents that sum to 0; then its
/// first contact is at 0 V.
pub fn solve(problem: &SheetProblem, options: &SheetOptions<'_>) -> Result<SheetSolution, SheetError> {
    problem.check()?;
    if !(options.pitch_m >= LEAST_PITCH_M && options.pitch_m.is_finite()) {
        let what = "pitch of the copper's pixels".to_owned();
        return Err(SheetError::OutOfRange { what, found: options.pitch_m, allowed: "0.001 mm and more" });
    }
    let groups = Groups::of(problem)?;
    for group in &groups.groups {
        check_balance(problem, group)?;
    }
    let lattice = lattice(&groups, options);
    let pitch_m = lattice.pitch_nm * 1e-9;
    let mut solution = SheetSolution {
        pitch_m,
        pitch_grown: pitch_m > options.pitch_m * (1.0 + 1e-12),
        cells: 0,
        islands: Vec::new(),
        contacts: vec![ContactState::default(); problem.contacts.len()],
        barrels: Vec::new(),
        groups: Vec::new(),
        loss_w: 0.0,
        remarks: Vec::new(),
    };
    if solution.pitch_grown {
        solution.remarks.push(format!(
            "copper pixels of {:.3} mm instead of {:.3} mm, to stay below {} pixels",
            pitch_m * 1e3,
            options.pitch_m * 1e3,
            options.most_cells
        ));
    }
    // Groups side by side; threads that have none left help with what still runs.
    let solved: Vec<Result<Solved, SheetError>> = (0..groups.groups.len())
        .into_par_iter()
        .with_max_len(1)
        .map(|index| solve_group(problem, &groups, index, &lattice, options))
        .collect();
    for (group, solved) in groups.groups.iter().zip(solved) {
        let solved = solved?;
        solution.remarks.extend(solved.remarks);
        solved
            .contacts
            .into_iter()
            .zip(&group.contacts)
            .for_each(|(state, &index)| solution.contacts[index] = state);
        solution.islands.extend(solved.islands);
        solution.barrels.extend(solved.barrels);
        solution.cells += solved.cells;
        solution.groups.push(solved.balance);
    }
    solution.loss_w = solution.groups.iter().map(|group| group.loss_w).sum();
    let hidden: usize = solution.islands.iter().map(|island| island.unresolved_pixels).sum();
    if hidden > 0 {
        solution.remarks.push(format!(
            "{hidden} of {} pixels of {:.3} mm hold gaps or necks narrower than a pixel",
            solution.islands.iter().map(|island| island.share.len()).sum::<usize>(),
            pitch_m * 1e3
        ));
    }
    Ok(solution)
}

/// Currents must sum to 0 where nothing is held at 0 V.
fn check_balance(problem: &SheetProblem, group: &Group) -> Result<(), SheetError> {
    let (mut sum, mut magnitude) = (0.0f64, 0.0f64);
    for &index in &group.contacts {
        match problem.contacts[index].kind {
            ContactKind::Held => return Ok(()),
            ContactKind::Spread { current_a } | ContactKind::Land { current_a } => {
                sum += current_a;
                magnitude += current_a.abs();
            }
        }
    }
    if sum.abs() <= 1e-9 * magnitude {
        return Ok(());
    }
    let contact = problem.contacts[group.contacts[0]].name.clone();
    Err(SheetError::Unbalanced { contact, left_a: sum })
}

/// The pixels: of the pitch asked for, or as much larger as the number of pixels asks.
fn lattice(groups: &Groups<'_>, options: &SheetOptions<'_>) -> Lattice {
    let carrying = groups.groups.iter().flat_map(|group| &group.islands);
    let all: Option<Bounds> =
        carrying.map(|island| groups.islands[*island].bounds).reduce(|a, b| a.joined(&b));
    let (x0_nm, y0_nm) = all.map_or((0.0, 0.0), |b| (f64::from(b.min.x_nm), f64::from(b.min.y_nm)));
    let mut lattice = Lattice { x0_nm, y0_nm, pitch_nm: options.pitch_m * 1e9 };
    let cells = |lattice: &Lattice| -> usize {
        let islands = groups.groups.iter().flat_map(|group| &group.islands);
        islands.map(|island| lattice.window(&groups.islands[*island].bounds).cells()).sum()
    };
    for _ in 0..60 {
        let now = cells(&lattice);
        if now <= options.most_cells.max(1) {
            break;
        }
        lattice.pitch_nm *= (now as f64 / options.most_cells.max(1) as f64).sqrt().clamp(1.01, 1e3);
    }
    lattice
}

/// What a group adds to the solution.
struct Solved {
    remarks: Vec<String>,
    contacts: Vec<ContactState>,
    islands: Vec<IslandCurrent>,
    barrels: Vec<BarrelCurrent>,
    cells: usize,
    balance: GroupBalance,
}

fn solve_group(
    problem: &SheetProblem,
    groups: &Groups<'_>,
    index: usize,
    lattice: &Lattice,
    options: &SheetOptions<'_>,
) -> Result<Solved, SheetError> {
    let group = &groups.groups[index];
    let mut remarks = Vec::new();
    let assembly = Assembly::new(problem, groups, group, lattice)?;
    for &barrel in &assembly.lost_barrels {
        let Some(at) = problem.barrels[barrel].at() else { continue };
        remarks.push(format!(
            "the plated hole at {:.3}, {:.3} mm is left out: its layers have no common pixel at a pitch of {:.3} mm",
            f64::from(at.x_nm) * 1e-6,
            f64::from(at.y_nm) * 1e-6,
            lattice.pitch_nm * 1e-6
        ));
    }
    let mut sources: Vec<(usize, f64)> = Vec::new();
    for (parts, &index) in assembly.contacts.iter().zip(&group.contacts) {
        if let ContactKind::Spread { current_a } | ContactKind::Land { current_a } =
            problem.contacts[index].kind
        {
            sources.extend(parts.iter().map(|(cell, part)| (*cell, part * current_a)));
        }
    }
    let failed =
        |cause| SheetError::Solver { contact: problem.contacts[group.contacts[0]].name.clone(), cause };
    let foil = assembly.foil(problem);
    let how = SolveOptions {
        relative_residual: options.relative_residual,
        cancel: options.cancel,
        max_iterations: MOST_ITERATIONS,
        ..SolveOptions::default()
    };
    let mut solver = FoilSolver::new(&foil).map_err(SheetError::Grid)?;
    let found = solver.solve(&sources, &how).map_err(failed)?;
    drop(solver);
    drop(foil);
    let (potential_v, iterations, relative_residual) =
        (found.potential_v, found.iterations, found.relative_residual);
    let mut field = GroupField { assembly: &assembly, problem, group, potential_v };
    field.shift();
    let (contacts, balance) = field.contacts(iterations, relative_residual);
    let barrels = field.barrels();
    let GroupField { potential_v, .. } = field;
    let cells = assembly.cells;
    let islands = island_currents(assembly, &potential_v, problem, groups, lattice, index);
    let loss_w = islands.iter().map(|island| island.loss_w).sum::<f64>()
        + barrels.iter().map(|barrel| barrel.loss_w).sum::<f64>();
    Ok(Solved { remarks, contacts, islands, barrels, cells, balance: GroupBalance { loss_w, ..balance } })
}

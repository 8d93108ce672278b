//! What the copper of a variant costs: the drive current through it, as heat and as voltage.
//!
//! The sheets are solved once, for a drive of 1 A and copper of 20 degC. Loss goes with the square of the current and, place
//! by place, with the resistivity at the copper's temperature; that the current shifts a little towards cooler copper is left
//! out (it lowers the loss by less than a thousandth for 20 K across an island).

mod branches;
mod finding;
mod lead;
mod map;
mod supplies;
mod warmth;
mod wiring;

use crate::as_built::Variant;
use crate::copper_current::copper::annealed_ohm_m;
use crate::copper_current::necks::{self, Neck, NeckOptions};
use crate::copper_current::sheet::{SheetOptions, SheetProblem, SheetSolution, solve};
use crate::gridding::Gridded;
pub(crate) use branches::{BranchCopper, Ways};
pub(crate) use finding::{At, Parted, finding};
pub use map::CopperMap;
pub(crate) use map::MapAt;
use wiring::Wiring;

/// Temperature at which the sheets are solved, degC.
const COLD_C: f64 = 20.0;
/// Side of the copper's pixels, m. From twice this, losses of the demo lamp move by a third of a percent; a board's copper is
/// known to ten in thickness. A tenth of the time of a prediction.
const PIXEL_M: f64 = 5e-5;

/// The current in a variant's copper at a drive of 1 A, all copper at 20 degC.
#[derive(Debug, Clone)]
pub(crate) struct CopperLoss {
    pub wiring: Wiring,
    pub problem: SheetProblem,
    pub solution: SheetSolution,
    pub necks: Vec<Neck>,
    /// What keeps copper from being counted.
    pub remarks: Vec<String>,
}

impl CopperLoss {
    /// Solves the copper of a variant whose strings are traced; `None` without. Copper that cannot be solved is told.
    pub fn of(variant: &Variant) -> Option<Self> {
        let circuit = variant.circuit.as_ref()?;
        // A circuit of other emitters than these says nothing about them.
        if circuit.emitter_nodes.len() != variant.emitters.len() {
            return None;
        }
        let (wiring, problem, mut remarks) = Wiring::of(variant, circuit)?;
        let solution = match solve(&problem, &options()) {
            Ok(solution) => solution,
            Err(error) => {
                remarks.push(format!("the loss in the copper is left out: {error}"));
                SheetSolution {
                    pitch_m: 0.0,
                    pitch_grown: false,
                    cells: 0,
                    islands: Vec::new(),
                    contacts: Vec::new(),
                    barrels: Vec::new(),
                    groups: Vec::new(),
                    loss_w: 0.0,
                    remarks: Vec::new(),
                }
            }
        };
        remarks.extend(solution.remarks.iter().cloned());
        let options = NeckOptions { outline: Some(&variant.outline), ..NeckOptions::default() };
        let necks = necks::find(&problem, &solution, &options);
        Some(Self { wiring, problem, solution, necks, remarks })
    }

    /// The loss at 1 A and 20 degC on a thermal grid.
    pub fn on_grid(&self, gridded: &Gridded) -> CopperHeat {
        let mut heat = CopperHeat::default();
        for island in &self.solution.islands {
            let Some(plane) = self.wiring.plane(gridded, island.layer) else {
                heat.islands.push(Vec::new());
                continue;
            };
            let mut cells = std::collections::BTreeMap::new();
            for (pixel, loss_w) in island.pixel_loss_w.iter().enumerate().filter(|(_, w)| **w > 0.0) {
                let middle = |corner: f64, i: usize| 1e6 * (corner + (i as f64 + 0.5) * island.pitch_mm);
                let x = middle(island.corner_mm[0], pixel % island.nx);
                let y = middle(island.corner_mm[1], pixel / island.nx);
                if let Some(column) = column_at(gridded, plane, x, y) {
                    *cells.entry(plane * gridded.plan.columns() + column).or_insert(0.0) += loss_w;
                }
            }
            // What lies over a hole or the board's edge heats the copper beside it.
            let sum: f64 = cells.values().sum();
            let whole = if sum > 0.0 { island.loss_w / sum } else { 0.0 };
            heat.islands.push(cells.into_iter().map(|(cell, w)| (cell, w * whole)).collect());
        }
        for barrel in &self.solution.barrels {
            let Some(plane) = self.wiring.plane(gridded, 0) else { continue };
            let at = self.problem.barrels[barrel.barrel].at();
            let column = at.and_then(|at| column_at(gridded, plane, f64::from(at.x_nm), f64::from(at.y_nm)));
            // One beside the board heats nothing, and keeps its place in the list.
            heat.barrels.push(
                column.map_or((0, 0.0), |column| (plane * gridded.plan.columns() + column, barrel.loss_w)),
            );
        }
        heat
    }
}

fn options() -> SheetOptions<'static> {
    SheetOptions { pitch_m: PIXEL_M, ..SheetOptions::default() }
}

/// The column that holds a place (nm), where the board has one.
fn column_at(gridded: &Gridded, plane: usize, x: f64, y: f64) -> Option<usize> {
    let along = |lines: &[f64], at: f64| {
        let after = lines.partition_point(|line| *line <= at);
        (after > 0 && after < lines.len()).then(|| after - 1)
    };
    let column = along(&gridded.plan.y_nm, y)? * gridded.plan.nx() + along(&gridded.plan.x_nm, x)?;
    gridded.is_present(plane, column).then_some(column)
}

/// The loss at a drive of 1 A and 20 degC in the cells of a grid, W: of each island, and of plated holes.
#[derive(Debug, Clone, Default)]
pub(crate) struct CopperHeat {
    pub islands: Vec<Vec<(usize, f64)>>,
    pub barrels: Vec<(usize, f64)>,
    /// What the loss of each island and plated hole is multiplied by where currents are not at their nominal shares; empty: 1.
    pub island_factor: Vec<f64>,
    pub barrel_factor: Vec<f64>,
    /// Logarithm of what all copper resists more than it was solved with; 0 as made.
    pub ln_resistance: f64,
}

impl CopperHeat {
    /// Every cell with its loss at 1 A and 20 degC.
    pub fn cells(&self) -> impl Iterator<Item = (usize, f64)> + '_ {
        let all = self.ln_resistance.exp();
        let of = move |factors: &[f64], index: usize| all * factors.get(index).copied().unwrap_or(1.0);
        let islands = self.islands.iter().enumerate().flat_map(move |(index, cells)| {
            let factor = of(&self.island_factor, index);
            cells.iter().map(move |(cell, w)| (*cell, w * factor))
        });
        let barrels = self.barrels.iter().enumerate();
        islands.chain(barrels.map(move |(index, (cell, w))| (*cell, w * of(&self.barrel_factor, index))))
    }

    /// What an island's loss is multiplied by.
    pub fn factor(&self, island: usize) -> f64 {
        self.ln_resistance.exp() * self.island_factor.get(island).copied().unwrap_or(1.0)
    }

    /// Loss of each island, W, at a drive current (A) and the rises (K) above a room (degC).
    pub fn island_losses_w(&self, drive_a: f64, ambient_c: f64, rise_k: &[f64]) -> Vec<f64> {
        let one = |(island, cells): (usize, &Vec<(usize, f64)>)| -> f64 {
            let factor = self.factor(island);
            cells.iter().map(|(cell, w)| loss_w(w * factor, drive_a, ambient_c + rise_k[*cell])).sum()
        };
        self.islands.iter().enumerate().map(one).collect()
    }

    /// Loss of all plated holes, W, likewise.
    pub fn barrels_w(&self, drive_a: f64, ambient_c: f64, rise_k: &[f64]) -> f64 {
        let one = |(barrel, (cell, w)): (usize, &(usize, f64))| {
            let factor = self.ln_resistance.exp() * self.barrel_factor.get(barrel).copied().unwrap_or(1.0);
            loss_w(w * factor, drive_a, ambient_c + rise_k[*cell])
        };
        0.0 + self.barrels.iter().enumerate().map(one).sum::<f64>()
    }
}

/// Loss at a drive current and temperature from that at 1 A and 20 degC: I² rho(T) / rho(20 degC).
pub(crate) fn loss_w(unit_w: f64, drive_a: f64, temperature_c: f64) -> f64 {
    unit_w * drive_a * drive_a * annealed_ohm_m(temperature_c).value / annealed_ohm_m(COLD_C).value
}

//! One variant on its grid, warm between runs: change current, room, bond or cooling and run again.

use std::fmt;
use std::sync::atomic::AtomicBool;

use crate::as_built::{Bond, Cooling, Facing, HeatPatch, Lamp, Variant};
use crate::bond_line::{BondLine, BondWhatIf, GapMap};
use crate::copper_loss::{CopperLoss, MapAt};
use crate::findings::{Run, RunawayOf};
use crate::gridding::{Factors, Gridded};
use crate::operating_point::{CoupledEmitter, Response, Settled, runaway_current_a, settle};
use crate::parallel::{Outcome, Parallel, Task};
use crate::read_out::sensor_rise_k;
use crate::reading;
use crate::runs::{self, RunParts};
use crate::slice::{Place, places};
use crate::stage::{FILM_TOLERANCE, RELATIVE_RESIDUAL, Stage};
use crate::uncertain::{Departures, Value};

pub use crate::copper_loss::CopperMap;
pub use crate::gridding::GridChoice;
pub use crate::slice::{Depth, Slice};

/// The second grid's pitch over the first's.
const WIDENING: f64 = 1.6;
/// Rise, K, at which the films of open faces are first taken.
const FIRST_RISE_K: f64 = 30.0;
/// Relative residual good enough for the response matrix: it steers the operating point and does not enter its result.
const RESPONSE_RESIDUAL: f64 = 1e-4;
/// Most that a start is shifted by when the heatsink changes, K.
const FORESEEN_K: f64 = 50.0;
/// Residual of the field in the first pass, and from then on the part of the last change that it is held to.
const LOOSE_RESIDUAL: f64 = 1e-3;
const RESIDUAL_A_CHANGE: f64 = 0.02;
/// Change of an emitter's heat, relative to the largest, at which the operating point counts as settled.
const HEAT_TOLERANCE: f64 = 1e-5;
/// Passes between field and operating point before giving up.
const PASSES: usize = 60;

/// Why there is no result.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ModelError {
    /// It was cancelled.
    Cancelled,
    /// What stands against it, in a sentence.
    Problem(String),
}

impl fmt::Display for ModelError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Cancelled => f.write_str("cancelled"),
            Self::Problem(text) => f.write_str(text),
        }
    }
}

impl std::error::Error for ModelError {}

/// One variant on its grid, warm between runs.
pub struct Model {
    pub(crate) lamp: Lamp,
    pub(crate) variant: Variant,
    pub(crate) emitters: Vec<CoupledEmitter>,
    pub(crate) patches_w: Vec<f64>,
    pub(crate) fine: Stage,
    coarse: Stage,
    /// The current in the copper, where the strings are traced.
    copper: Option<CopperLoss>,
    /// Branches that share a current by their voltages.
    pub(crate) parallel: Option<Parallel>,
    pub(crate) bond_line: BondLine,
    bond_what_if: BondWhatIf,
    /// Bond lines found before, by what was asked; all of the same bond.
    bond_lines: Vec<(BondWhatIf, BondLine)>,
    /// The coarse grid still has an earlier bond line; it is needed for a first answer and for the response matrix only.
    coarse_bond_is_old: bool,
    response: Option<Response>,
    /// The response was found for another bond or cooling, or for films that were only guessed.
    response_is_stale: bool,
    /// Error of the hottest rises that comes from the grid, relative to them.
    relative_grid_error: Option<f64>,
    fine_has_run: bool,
    pub(crate) ambient_c: f64,
    /// Drive current of the last run, A; `None` before it and where it had no steady state.
    pub(crate) drive_a: Option<f64>,
    places: Vec<Place>,
}

impl Model {
    /// Puts a variant on its grid and on a coarser one; with more than one thread, on both at once.
    ///
    /// # Errors
    /// When the variant cannot be put on a grid: no outline, no layers, a land or patch off the board, values out of range, or
    /// nothing that carries the heat away.
    pub fn new(
        lamp: &Lamp,
        variant: &Variant,
        choice: &GridChoice,
        threads: usize,
    ) -> Result<Self, ModelError> {
        check(variant)?;
        let copper = CopperLoss::of(variant);
        let bond_line = BondLine::of(variant, BondWhatIf::default());
        let stage = |widening: f64| -> Result<Stage, ModelError> {
            let gridded = gridded(lamp, variant, (choice, widening), &bond_line)?;
            let heat = copper.as_ref().map(|copper| copper.on_grid(&gridded)).unwrap_or_default();
            let mut stage = Stage::new(gridded, FIRST_RISE_K, lamp.ambient_c)?;
            stage.copper = heat;
            Ok(stage)
        };
        let (fine, coarse) = if threads > 1 {
            std::thread::scope(|scope| {
                let coarse = scope.spawn(|| stage(WIDENING));
                let fine = stage(1.0);
                let gone = |_| ModelError::Problem("a calculating thread broke off".to_owned());
                (fine, coarse.join().map_err(gone).and_then(|made| made))
            })
        } else {
            (stage(1.0), stage(WIDENING))
        };
        let (fine, coarse) = (fine?, coarse?);
        let emitters =
            variant.emitters.iter().map(|e| CoupledEmitter::new(&e.sheet, e.current_share)).collect();
        Ok(Self {
            // What belongs to the other variants is not needed here.
            lamp: Lamp { variants: Vec::new(), ..lamp.clone() },
            patches_w: variant.heat_patches.iter().map(|p| p.heat_w).collect(),
            places: places(&fine.gridded, variant),
            variant: variant.clone(),
            parallel: Parallel::of(lamp, variant, copper.as_ref()),
            emitters,
            fine,
            coarse,
            copper,
            bond_line,
            bond_what_if: BondWhatIf::default(),
            bond_lines: Vec::new(),
            coarse_bond_is_old: false,
            response: None,
            response_is_stale: true,
            relative_grid_error: None,
            fine_has_run: false,
            ambient_c: lamp.ambient_c,
            drive_a: None,
        })
    }

    /// Number of grid cells.
    #[must_use]
    pub fn cells(&self) -> usize {
        self.fine.gridded.gx.len()
    }

    /// The steady state at a drive current (A) and room temperature; a run without a steady state is a
    /// result, not an error. `seconds` of the run is left 0.
    ///
    /// # Errors
    /// When cancelled, for a current or temperature out of range, or when the solver does not converge.
    pub fn run(&mut self, current_a: f64, ambient_c: f64, cancel: &AtomicBool) -> Result<Run, ModelError> {
        if !(current_a.is_finite() && current_a >= 0.0) {
            return Err(ModelError::Problem(format!("drive current {current_a} A: must be 0 A or more")));
        }
        if !(-100.0..=300.0).contains(&ambient_c) {
            return Err(ModelError::Problem(format!("ambient {ambient_c} degC: must be -100 to 300 degC")));
        }
        self.ambient_c = ambient_c;
        self.drive_a = None;
        let before = self.fine.iterations;
        let mut settled = self.settle_both(current_a, ambient_c, cancel)?;
        if settled.is_none() && self.response_is_stale && !self.emitters.is_empty() {
            self.find_response(ambient_c, cancel)?;
            settled = self.settle_both(current_a, ambient_c, cancel)?;
        }
        self.drive_a = settled.is_some().then_some(current_a);
        let parts = RunParts {
            lamp: &self.lamp,
            variant: &self.variant,
            emitters: &self.emitters,
            stage: &self.fine,
            copper: self.copper.as_ref(),
            parallel: self.parallel.as_ref().filter(|_| current_a > 0.0),
            response: self.response.as_ref(),
            bond_line: &self.bond_line,
            settled: settled.as_ref(),
            current_a,
            ambient_c,
            iterations: self.fine.iterations - before,
            relative_grid_error: self.relative_grid_error.unwrap_or(0.0),
        };
        Ok(runs::run(&parts))
    }

    /// Settles the operating point on the fine grid, starting from the coarse one the first time.
    fn settle_both(
        &mut self,
        current_a: f64,
        ambient_c: f64,
        cancel: &AtomicBool,
    ) -> Result<Option<Settled>, ModelError> {
        if self.response.is_none() {
            self.find_response(ambient_c, cancel)?;
        }
        let first = self.relative_grid_error.is_none();
        if first {
            self.renew_coarse_bond()?;
        }
        let Some(response) = self.response.as_mut() else { return Ok(None) };
        let operating = Operating {
            emitters: &self.emitters,
            parallel: self.parallel.as_ref().filter(|_| current_a > 0.0),
            patches_w: &self.patches_w,
            current_a,
            ambient_c,
            cancel,
        };
        if first {
            if operating.settle_on(&mut self.coarse, response, true)?.is_none() {
                return Ok(None);
            }
            self.fine.start_from(&self.coarse);
        }
        let settled = operating.settle_on(&mut self.fine, response, first || self.fine_has_run)?;
        if settled.is_some() {
            self.fine_has_run = true;
            if first {
                self.relative_grid_error = Some(self.grid_error());
            }
        }
        Ok(settled)
    }

    /// Error of the rises from the two grids, relative to the largest rise: their largest difference at solder points, patches and
    /// sensors, extrapolated as if the error fell only in proportion to the pitch. Where it falls with the square,
    /// as without artwork, this is two and a half times too cautious.
    fn grid_error(&self) -> f64 {
        let (fine, coarse) = (self.probes(&self.fine), self.probes(&self.coarse));
        let largest = fine.iter().fold(0.0f64, |m, v| m.max(v.abs()));
        let heat_ratio =
            if self.coarse.heat_w() > 0.0 { self.fine.heat_w() / self.coarse.heat_w() } else { 1.0 };
        let apart = fine.iter().zip(&coarse).map(|(f, c)| (f - c * heat_ratio).abs()).fold(0.0f64, f64::max);
        if largest > 0.0 { apart / (WIDENING - 1.0) / largest } else { 0.0 }
    }

    fn probes(&self, stage: &Stage) -> Vec<f64> {
        let top = stage.top_face_k();
        let lands = stage.gridded.emitters.iter().chain(&stage.gridded.heat_patches);
        let mut all: Vec<f64> = lands.map(|f| f.mean(|c| top[c])).collect();
        all.extend(self.lamp.sensors.iter().map(|s| sensor_rise_k(stage, s, &top).unwrap_or(0.0)));
        all
    }

    /// Finds the response matrix on the coarse grid, one emitter at a time.
    fn find_response(&mut self, ambient_c: f64, cancel: &AtomicBool) -> Result<(), ModelError> {
        self.renew_coarse_bond()?;
        if self.fine_has_run {
            let means = self.fine.surface_means_k();
            self.coarse.guess_films(&means, ambient_c)?;
        }
        let (n, patches) = (self.emitters.len(), self.patches_w.len());
        let mut columns = Vec::with_capacity(n);
        for emitter in 0..n {
            let mut heat = vec![0.0; n];
            heat[emitter] = 1.0;
            self.coarse.set_heat(&heat, &vec![0.0; patches], (0.0, ambient_c));
            self.coarse.solve(Some(RESPONSE_RESIDUAL), cancel)?;
            columns.push(self.coarse.solder_rises_k());
        }
        self.coarse.set_heat(&vec![0.0; n], &self.patches_w, (0.0, ambient_c));
        self.coarse.solve(Some(RESPONSE_RESIDUAL), cancel)?;
        let k_per_w = (0..n * n).map(|k| columns[k % n][k / n]).collect();
        let rise_k = self.coarse.solder_rises_k();
        let mut response = Response { k_per_w, rise_k, at_heat_w: vec![0.0; n] };
        if self.fine_has_run {
            response.rescale(&self.fine.solder_rises_k(), self.fine.emitter_heats_w());
        }
        self.response_is_stale = !self.fine_has_run;
        self.response = Some(response);
        Ok(())
    }

    /// Changes bond and heatsink cooling; the grid stays. `None` leaves either as it is.
    ///
    /// # Errors
    /// When a value is out of range or there is no heatsink to change.
    pub fn adjust(&mut self, bond: Option<&Bond>, cooling: Option<Cooling>) -> Result<(), ModelError> {
        if let Some(bond) = bond {
            let r = bond.resistance_m2k_per_w;
            if !(r.is_finite() && r >= 0.0) {
                return Err(ModelError::Problem(format!("bond resistance {r} m2K/W: must be 0 or more")));
            }
            if self.variant.heatsink.is_none() {
                return Err(ModelError::Problem("there is no heatsink and so no bond to change".into()));
            }
            if self.variant.bond.as_ref() != Some(bond) {
                self.variant.bond = Some(bond.clone());
                self.bond_lines.clear();
                self.lay_bond()?;
            }
        }
        if let Some(cooling) = cooling {
            check_cooling("the heatsink", &cooling)?;
            let Some(heatsink) = self.variant.heatsink.as_mut() else {
                return Err(ModelError::Problem("there is no heatsink to change".into()));
            };
            if heatsink.cooling != cooling {
                for stage in [&mut self.fine, &mut self.coarse] {
                    let heat_w = stage.energy_balance().heatsink_w;
                    let before = stage.back_k_per_w().unwrap_or(0.0);
                    let rise_k = stage.back().map_or(0.0, |back| back.0);
                    stage.set_cooling(&cooling, rise_k, self.ambient_c)?;
                    // Nearly all heat leaves here, so that all that is before it follows.
                    let more_k = (stage.back_k_per_w().unwrap_or(before) - before) * heat_w;
                    // Far from the state before, there may be no state at all, and nothing is foreseen.
                    stage.add_rise(more_k.clamp(-FORESEEN_K, FORESEEN_K));
                }
                heatsink.cooling = cooling;
                self.response_is_stale = true;
            }
        }
        Ok(())
    }

    /// Turns the lamp so that its emitter side looks elsewhere; the grid stays.
    ///
    /// # Errors
    /// When the films that follow are none.
    pub fn turn(&mut self, facing: Facing) -> Result<(), ModelError> {
        if facing != self.lamp.facing {
            for stage in [&mut self.fine, &mut self.coarse] {
                stage.turn(facing, self.ambient_c)?;
            }
            self.lamp.facing = facing;
            self.response_is_stale = true;
        }
        Ok(())
    }

    /// How the heatsink is cooled; `None` without one.
    #[must_use]
    pub fn cooling(&self) -> Option<&Cooling> {
        self.variant.heatsink.as_ref().map(|heatsink| &heatsink.cooling)
    }

    /// Where the emitter side looks.
    #[must_use]
    pub fn facing(&self) -> Facing {
        self.lamp.facing
    }

    /// Lets the values that are not known exactly depart from what the variant says; the grid stays. Sensors and room are not
    /// touched: their departures belong to what is read.
    ///
    /// # Errors
    /// When the conductances that follow are none.
    pub fn depart(&mut self, departures: &Departures) -> Result<(), ModelError> {
        let factors = Factors::of(&self.variant, departures);
        let cooling = departures.factor(Value::Cooling);
        for stage in [&mut self.fine, &mut self.coarse] {
            stage.take_factors(&factors, cooling, &self.bond_line, self.ambient_c)?;
            // Thinner copper resists more, its plating with it.
            stage.copper.ln_resistance = -departures.of(Value::CopperThickness);
        }
        let shares = self.variant.emitters.iter().map(|e| e.current_share);
        self.emitters = shares
            .zip(&self.variant.emitters)
            .map(|(share, placed)| CoupledEmitter::new(&placed.sheet, share).departing(departures))
            .collect();
        self.response_is_stale = true;
        Ok(())
    }

    /// Asks what the bond line would be with less against it, or more; the grid stays.
    ///
    /// # Errors
    /// When there is no bond line, or no emitter of this index.
    pub fn what_if(&mut self, what_if: BondWhatIf) -> Result<(), ModelError> {
        if what_if == self.bond_what_if {
            return Ok(());
        }
        if self.variant.bond.is_none() {
            return Err(ModelError::Problem("there is no bond line, and so no contact to change".into()));
        }
        if what_if.no_contact_under.is_some_and(|index| index >= self.emitters.len()) {
            return Err(ModelError::Problem(
                "there is no such emitter under which contact could be missing".into(),
            ));
        }
        self.bond_what_if = what_if;
        self.lay_bond()
    }

    /// Finds the bond line anew and puts it on both grids.
    fn lay_bond(&mut self) -> Result<(), ModelError> {
        let known = self.bond_lines.iter().find(|(asked, _)| *asked == self.bond_what_if);
        self.bond_line = match known {
            Some((_, line)) => line.clone(),
            None => {
                let line = BondLine::of(&self.variant, self.bond_what_if);
                self.bond_lines.push((self.bond_what_if, line.clone()));
                line
            }
        };
        self.fine.set_bond(&self.bond_line)?;
        self.coarse_bond_is_old = true;
        self.response_is_stale = true;
        Ok(())
    }

    fn renew_coarse_bond(&mut self) -> Result<(), ModelError> {
        if self.coarse_bond_is_old {
            self.coarse.set_bond(&self.bond_line)?;
            self.coarse_bond_is_old = false;
        }
        Ok(())
    }

    /// The gap between board and heatsink base on an even raster; `None` without a film of given thickness.
    #[must_use]
    pub fn gap_map(&self, pitch_m: f64) -> Option<GapMap> {
        self.bond_line.map(&self.variant, pitch_m)
    }

    /// Smallest drive current at which no steady state exists, A, searched up to `up_to_a`, and what runs away there.
    ///
    /// Decided with the response matrix of the last state's films: the open faces' gain from being hotter is left out, on the
    /// safe side. A state with a junction above 500 degC or without light is none.
    ///
    /// # Errors
    /// When cancelled or the solver does not converge.
    pub fn runaway_current(
        &mut self,
        ambient_c: f64,
        up_to_a: f64,
        cancel: &AtomicBool,
    ) -> Result<Option<(f64, RunawayOf)>, ModelError> {
        if self.emitters.is_empty() {
            return Ok(None);
        }
        if self.response_is_stale || self.response.is_none() {
            self.find_response(ambient_c, cancel)?;
        }
        let Some(response) = &self.response else { return Ok(None) };
        let Some(parallel) = &self.parallel else {
            let found = runaway_current_a(&self.emitters, response, ambient_c, up_to_a);
            return Ok(found.map(|current_a| (current_a, RunawayOf::Heat)));
        };
        let task = Task {
            emitters: &self.emitters,
            response,
            drive_a: up_to_a,
            ambient_c,
            ways: &parallel.ways(&self.fine.copper, &self.fine.rise_k, ambient_c),
            offset_v: &vec![0.0; self.emitters.len()],
        };
        let of = |share| if share { RunawayOf::Sharing } else { RunawayOf::Heat };
        Ok(parallel.runaway_current_a(&task, up_to_a).map(|(current_a, share)| (current_a, of(share))))
    }

    /// Depths worth looking at, from the emitter side down.
    #[must_use]
    pub fn depths(&self) -> Vec<Depth> {
        self.places.iter().map(|p| p.depth.clone()).collect()
    }

    /// Temperatures of the last run at a depth (index into [`Model::depths`]) on an even raster; the room's where nothing has run.
    /// An unknown depth gives an empty slice.
    #[must_use]
    pub fn slice(&self, depth: usize, pitch_m: f64) -> Slice {
        let values = self.places.get(depth).map(|p| p.rises_k(&self.fine)).unwrap_or_default();
        Slice::sample(&self.fine.gridded.plan, &values, self.ambient_c, pitch_m)
    }

    /// Copper layers that carry current, from the emitter side down; none where the strings are not traced.
    #[must_use]
    pub fn copper_layers(&self) -> Vec<String> {
        let layers = self.copper.iter().flat_map(CopperLoss::carrying_layers);
        layers.map(|(_, name)| name).collect()
    }

    /// Current density and loss of the last run in a copper layer (index into [`Model::copper_layers`]); `None` for an unknown
    /// layer and where the last run has no steady state.
    #[must_use]
    pub fn copper_map(&self, layer: usize) -> Option<CopperMap> {
        let copper = self.copper.as_ref()?;
        let (layer, _) = copper.carrying_layers().into_iter().nth(layer)?;
        let at = MapAt {
            gridded: &self.fine.gridded,
            heat: &self.fine.copper,
            drive_a: self.drive_a?,
            ambient_c: self.ambient_c,
            rise_k: &self.fine.rise_k,
        };
        copper.map(layer, &at)
    }

    /// Temperature of the last run at a place, degC; `None` where nothing is.
    #[must_use]
    pub fn temperature_c(&self, x_mm: f64, y_mm: f64, depth: usize) -> Option<f64> {
        let values = self.places.get(depth)?.rises_k(&self.fine);
        Some(self.ambient_c + reading::at(&self.fine.gridded.plan, &values, x_mm, y_mm)?)
    }
}

/// What stays the same while an operating point is sought.
struct Operating<'a> {
    emitters: &'a [CoupledEmitter],
    parallel: Option<&'a Parallel>,
    patches_w: &'a [f64],
    current_a: f64,
    ambient_c: f64,
    cancel: &'a AtomicBool,
}

impl Operating<'_> {
    /// The operating point for a response. Branches that share a current tell the copper what they carry.
    fn find(&self, stage: &mut Stage, response: &Response) -> Option<Settled> {
        let Some(parallel) = self.parallel else {
            return settle(self.emitters, response, self.current_a, self.ambient_c);
        };
        let ways = parallel.ways(&stage.copper, &stage.rise_k, self.ambient_c);
        let task = Task {
            emitters: self.emitters,
            response,
            drive_a: self.current_a,
            ambient_c: self.ambient_c,
            ways: &ways,
            offset_v: &vec![0.0; self.emitters.len()],
        };
        let Outcome::Steady(settled, _) = parallel.settle(&task) else { return None };
        parallel.copper.scale(&mut stage.copper, &settled.current_a, self.current_a);
        Some(settled)
    }

    /// Solves field, films and emitters in turn until none moves; `warm` when the stage's rises are near the answer.
    fn settle_on(
        &self,
        stage: &mut Stage,
        response: &mut Response,
        warm: bool,
    ) -> Result<Option<Settled>, ModelError> {
        let Some(mut settled) = self.find(stage, response) else { return Ok(None) };
        // While heat and films still move, the field need not be better than they are.
        let mut residual = LOOSE_RESIDUAL;
        for pass in 0..PASSES {
            stage.set_heat(&settled.heat_w, self.patches_w, (self.current_a, self.ambient_c));
            if pass == 0 && warm {
                stage.renew_films(self.ambient_c)?;
            }
            stage.solve(Some(residual), self.cancel)?;
            response.rescale(&stage.solder_rises_k(), &settled.heat_w);
            let Some(next) = self.find(stage, response) else { return Ok(None) };
            let largest = next.heat_w.iter().fold(1e-12f64, |m, q| m.max(*q));
            let moved =
                next.heat_w.iter().zip(&settled.heat_w).fold(0.0f64, |m, (a, b)| m.max((a - b).abs()))
                    / largest;
            let films_moved = stage.renew_films(self.ambient_c)?;
            if moved <= HEAT_TOLERANCE && films_moved <= FILM_TOLERANCE && residual <= RELATIVE_RESIDUAL {
                return Ok(Some(next));
            }
            residual = (RESIDUAL_A_CHANGE * moved.max(films_moved)).clamp(RELATIVE_RESIDUAL, LOOSE_RESIDUAL);
            settled = next;
        }
        Err(ModelError::Problem(format!(
            "the operating point at {} A did not settle within {PASSES} passes",
            self.current_a
        )))
    }
}

fn gridded(
    lamp: &Lamp,
    variant: &Variant,
    (choice, widening): (&GridChoice, f64),
    bond_line: &BondLine,
) -> Result<Gridded, ModelError> {
    let problem = |text: String| Err(ModelError::Problem(text));
    let Some((plan, planes)) = choice.grid(variant, widening) else {
        return problem(format!("variant {}: it has no outline or no layers", variant.name));
    };
    let gridded = Gridded::new(lamp, variant, plan, planes, bond_line);
    for (emitter, footprint) in variant.emitters.iter().zip(&gridded.emitters) {
        if footprint.columns.is_empty() {
            return problem(format!(
                "emitter {}: none of its thermal land lies on copper of the board",
                emitter.reference
            ));
        }
    }
    for (HeatPatch { name, .. }, footprint) in variant.heat_patches.iter().zip(&gridded.heat_patches) {
        if footprint.columns.is_empty() {
            return problem(format!("heat patch {name}: none of it lies on the board"));
        }
    }
    Ok(gridded)
}

/// Values that would make the equations meaningless.
fn check(variant: &Variant) -> Result<(), ModelError> {
    let positive = |what: String, value: f64| {
        if value.is_finite() && value > 0.0 {
            Ok(())
        } else {
            Err(ModelError::Problem(format!(
                "variant {}: {what} is {value}; must be more than 0",
                variant.name
            )))
        }
    };
    for layer in &variant.layers {
        positive(format!("thickness of layer {} (m)", layer.name), layer.thickness_m)?;
        let m = &layer.material;
        for k in [m.kx_w_per_m_k, m.ky_w_per_m_k, m.kz_w_per_m_k] {
            positive(format!("conductivity of layer {} (W/m/K)", layer.name), k)?;
        }
    }
    if let Some(heatsink) = &variant.heatsink {
        positive("thickness of the heatsink base (m)".into(), heatsink.thickness_m)?;
        positive("conductivity of the heatsink base (W/m/K)".into(), heatsink.material.kz_w_per_m_k)?;
        check_cooling(&format!("variant {}", variant.name), &heatsink.cooling)?;
    }
    if variant.heat_patches.iter().any(|p| !(p.heat_w.is_finite() && p.heat_w >= 0.0)) {
        return Err(ModelError::Problem(format!("variant {}: a heat patch has less than 0 W", variant.name)));
    }
    Ok(())
}

/// A cooling whose value is no cooling.
fn check_cooling(whose: &str, cooling: &Cooling) -> Result<(), ModelError> {
    let value = match cooling {
        Cooling::Resistance { k_per_w } => *k_per_w,
        Cooling::Film { h_w_per_m2_k } => *h_w_per_m2_k,
        Cooling::Air(side) => side.back_m2(),
    };
    if value.is_finite() && value > 0.0 {
        Ok(())
    } else {
        Err(ModelError::Problem(format!("{whose}: cooling of the heatsink is {value}; must be more than 0")))
    }
}

//! A variant on one grid with its solver: heats in, rises out, faces solved with the temperature.

use std::sync::atomic::AtomicBool;

use crate::as_built::{Cooling, Facing};
use crate::bond_line::BondLine;
use crate::cooling::air_side::{AirSide, AirState};
use crate::cooling::natural_convection::Orientation;
use crate::copper_loss::{CopperHeat, loss_w};
use crate::faces::{Films, is_heatsink_back};
use crate::findings::EnergyBalance;
use crate::gridding::{Factors, Footprint, Gridded, Plan, Surface, SurfaceKind, air_back, back_face};
use crate::linear::Linear;
use crate::model::ModelError;

/// Relative residual of the linear solver. The emitters' rises are then right to about a hundred-thousandth, a thousandth
/// of a kelvin: far below the grid's error.
pub(crate) const RELATIVE_RESIDUAL: f64 = 1e-5;
/// Change of the heat through the faces, relative to the whole heat, at which the films count as settled.
pub(crate) const FILM_TOLERANCE: f64 = 1e-4;

/// A variant on one grid.
pub(crate) struct Stage {
    pub gridded: Gridded,
    linear: Linear,
    films: Vec<Films>,
    /// Rise of each cell above ambient, K.
    pub rise_k: Vec<f64>,
    /// Heat into each cell, W.
    power_w: Vec<f64>,
    /// Heat of each emitter, W.
    emitters_w: Vec<f64>,
    /// Loss in the copper at a drive of 1 A.
    pub copper: CopperHeat,
    /// Sum of `power_w`.
    heat_w: f64,
    /// Solver iterations since the stage was made.
    pub iterations: usize,
}

impl Stage {
    /// A stage whose faces are first taken to be `rise_k` above `ambient_c`.
    pub fn new(gridded: Gridded, rise_k: f64, ambient_c: f64) -> Result<Self, ModelError> {
        let films: Vec<Films> = gridded.surfaces.iter().map(|s| Films::guess(s, rise_k, ambient_c)).collect();
        let cells = gridded.gx.len();
        let ground = ground(&gridded, &films);
        let linear = Linear::new(&gridded, &ground)?;
        Ok(Self {
            linear,
            films,
            rise_k: vec![0.0; cells],
            power_w: vec![0.0; cells],
            emitters_w: Vec::new(),
            copper: CopperHeat::default(),
            heat_w: 0.0,
            iterations: 0,
            gridded,
        })
    }

    /// Takes over films for faces at these mean rises, K, in the order of the surfaces.
    pub fn guess_films(&mut self, mean_rise_k: &[f64], ambient_c: f64) -> Result<(), ModelError> {
        let pairs = self.gridded.surfaces.iter().zip(mean_rise_k);
        self.films = pairs.map(|(s, rise)| Films::guess(s, *rise, ambient_c)).collect();
        self.take_films()
    }

    fn take_films(&mut self) -> Result<(), ModelError> {
        self.linear.set_ground(&ground(&self.gridded, &self.films))
    }

    /// Mean rise of the cells behind each surface, K.
    pub fn surface_means_k(&self) -> Vec<f64> {
        self.gridded.surfaces.iter().map(|s| self.surface_mean_k(s)).collect()
    }

    /// Mean rise of the cells behind a surface, K.
    pub fn surface_mean_k(&self, surface: &Surface) -> f64 {
        let sum: f64 = surface.pieces.iter().map(|p| p.area_m2 * self.rise_k[p.cell]).sum();
        sum / surface.area_m2
    }

    /// Changes the bond line.
    pub fn set_bond(&mut self, bond_line: &BondLine) -> Result<(), ModelError> {
        if let Some(plane) = self.gridded.plane_above_bond() {
            let plan = &self.gridded.plan;
            let factor = self.gridded.factors().bond;
            let bond = bond_line.resistances_m2k_per_w(&plan.x_nm, &plan.y_nm, factor);
            self.gridded.conduct_below(plane, &bond);
            self.linear = Linear::new(&self.gridded, &ground(&self.gridded, &self.films))?;
        }
        Ok(())
    }

    /// Takes over factors on what the cells conduct and on the films of the cooled faces, those first at mean rises as now.
    pub fn take_factors(
        &mut self,
        factors: &Factors,
        cooling: f64,
        bond_line: &BondLine,
        ambient_c: f64,
    ) -> Result<(), ModelError> {
        let means = self.surface_means_k();
        let plan = &self.gridded.plan;
        let bond = bond_line.resistances_m2k_per_w(&plan.x_nm, &plan.y_nm, factors.bond);
        self.gridded.take_factors(factors, &bond);
        let has_back = self.gridded.surfaces.iter().any(is_heatsink_back);
        for surface in self.gridded.surfaces.iter_mut().filter(|s| !has_back || is_heatsink_back(s)) {
            surface.film_factor = cooling;
        }
        let pairs = self.gridded.surfaces.iter().zip(&means);
        self.films = pairs.map(|(s, rise)| Films::guess(s, rise.max(1.0), ambient_c)).collect();
        self.linear = Linear::new(&self.gridded, &ground(&self.gridded, &self.films))?;
        Ok(())
    }

    /// Changes the cooling of the heatsink's back, whose film is first taken for a back at `rise_k` above `ambient_c`.
    pub fn set_cooling(&mut self, cooling: &Cooling, rise_k: f64, ambient_c: f64) -> Result<(), ModelError> {
        let plan = &self.gridded.plan;
        for (surface, films) in self.gridded.surfaces.iter_mut().zip(&mut self.films) {
            if is_heatsink_back(surface) {
                surface.face = back_face(cooling, surface.area_m2);
                surface.air = air_back(cooling, plan, surface);
                *films = Films::guess(surface, rise_k, ambient_c);
            }
        }
        self.take_films()
    }

    /// Turns the lamp; the films are first taken at mean rises as now.
    pub fn turn(&mut self, facing: Facing, ambient_c: f64) -> Result<(), ModelError> {
        let means = self.surface_means_k();
        self.gridded.surfaces.iter_mut().for_each(|surface| surface.turn(facing));
        self.guess_films(&means, ambient_c)
    }

    /// From the heatsink's back to the room at the films as they are, K/W; `None` without a heatsink.
    pub fn back_k_per_w(&self) -> Option<f64> {
        let backs = self.gridded.surfaces.iter().zip(&self.films).filter(|(s, _)| is_heatsink_back(s));
        let w_per_k: f64 = backs
            .flat_map(|(s, f)| s.pieces.iter().enumerate().map(move |(p, piece)| piece.area_m2 * f.film(p)))
            .sum();
        (w_per_k > 0.0).then(|| 1.0 / w_per_k)
    }

    /// Mean rise of the heatsink's back and the heat through it by convection and radiation: K, W, W; `None` without one.
    pub fn back(&self) -> Option<(f64, f64, f64)> {
        let (surface, films) =
            self.gridded.surfaces.iter().zip(&self.films).find(|(s, _)| is_heatsink_back(s))?;
        let (convection, radiation) = films.heat_w(surface, &self.rise_k);
        let film = |p: usize| films.film(p);
        // The face lies below the cell's middle by the drop of its half cell.
        let face = |(p, piece): (usize, &crate::gridding::SurfacePiece)| {
            let behind = piece.behind_m2k_per_w;
            if behind.is_finite() {
                piece.area_m2 * self.rise_k[piece.cell] / (1.0 + film(p) * behind)
            } else {
                0.0
            }
        };
        let mean = surface.pieces.iter().enumerate().map(face).sum::<f64>() / surface.area_m2;
        Some((mean, convection, radiation))
    }

    /// The air behind the heatsink's fins as last found, with what it is and where the back looks.
    pub fn air(&self) -> Option<(&AirSide, &AirState, Orientation)> {
        let backs = self.gridded.surfaces.iter().zip(&self.films);
        backs.filter_map(|(s, f)| Some((&s.air.as_ref()?.side, f.air.as_ref()?, s.orientation))).next()
    }

    /// Heat by each outer face, by convection and by radiation, W.
    pub fn ways_out(&self) -> Vec<(SurfaceKind, f64, f64)> {
        let heat = |(s, f): (&Surface, &Films)| {
            let (convection, radiation) = f.heat_w(s, &self.rise_k);
            (s.kind, convection, radiation)
        };
        self.gridded.surfaces.iter().zip(&self.films).map(heat).collect()
    }

    /// Adds the same rise everywhere, K: a start for cooling that has become better or worse.
    pub fn add_rise(&mut self, more_k: f64) {
        let columns = self.gridded.plan.columns();
        for (cell, rise) in self.rise_k.iter_mut().enumerate() {
            if self.gridded.is_present(cell / columns, cell % columns) {
                *rise += more_k;
            }
        }
    }

    /// Heats of the emitters and patches, W, and of the copper at a drive current (A) and room (degC) with the rises as they
    /// are; these are then scaled to the new sum as a start.
    pub fn set_heat(&mut self, emitters_w: &[f64], patches_w: &[f64], (drive_a, ambient_c): (f64, f64)) {
        let before = self.heat_w;
        self.power_w.fill(0.0);
        let mut copper_w = 0.0;
        if drive_a > 0.0 {
            for (cell, unit_w) in self.copper.cells() {
                let loss_w = loss_w(unit_w, drive_a, ambient_c + self.rise_k[cell]);
                self.power_w[cell] += loss_w;
                copper_w += loss_w;
            }
        }
        let footprints = self.gridded.emitters.iter().chain(&self.gridded.heat_patches);
        for (footprint, heat) in footprints.zip(emitters_w.iter().chain(patches_w)) {
            for &(column, part) in &footprint.columns {
                self.power_w[column] += heat * part;
            }
        }
        self.emitters_w = emitters_w.to_vec();
        self.heat_w = emitters_w.iter().chain(patches_w).sum::<f64>() + copper_w;
        let scale = if before > 0.0 { self.heat_w / before } else { 0.0 };
        self.rise_k.iter_mut().for_each(|r| *r *= scale);
    }

    /// Heat in, W.
    pub fn heat_w(&self) -> f64 {
        self.heat_w
    }

    /// Heat of each emitter, W.
    pub fn emitter_heats_w(&self) -> &[f64] {
        &self.emitters_w
    }

    /// Takes the rises of another grid of the same variant as a start.
    pub fn start_from(&mut self, other: &Self) {
        let (to, from) = (&self.gridded, &other.gridded);
        let columns = nearest(&to.plan, &from.plan);
        let planes = nearest_planes(to, from);
        let from_columns = from.plan.columns();
        let mut cell = 0;
        for plane in &planes {
            for column in &columns {
                self.rise_k[cell] = other.rise_k[plane * from_columns + column];
                cell += 1;
            }
        }
        self.heat_w = other.heat_w;
    }

    /// Solves with the films as they are.
    pub fn solve(&mut self, relative_residual: Option<f64>, cancel: &AtomicBool) -> Result<(), ModelError> {
        if self.heat_w <= 0.0 {
            self.rise_k.iter_mut().for_each(|r| *r = 0.0);
            return Ok(());
        }
        let wanted = relative_residual.unwrap_or(RELATIVE_RESIDUAL);
        self.iterations += self.linear.solve(&self.power_w, &mut self.rise_k, wanted, cancel)?;
        self.close_balance();
        Ok(())
    }

    /// The field that answers to heats into the cells, W, of either sign, with the films as they are: K.
    pub fn answer(
        &mut self,
        power_w: &[f64],
        residual: f64,
        cancel: &AtomicBool,
    ) -> Result<Vec<f64>, ModelError> {
        let mut rise_k = vec![0.0; power_w.len()];
        self.iterations += self.linear.solve(power_w, &mut rise_k, residual, cancel)?;
        Ok(rise_k)
    }

    /// Conductances of a surface's cells to the room, W/K, with the logarithm of a factor on its films.
    pub fn to_room(&self, surface: usize, ln_factor: f64) -> impl Iterator<Item = (usize, f64)> + '_ {
        let factor = ln_factor.exp();
        let pair = self.gridded.surfaces.get(surface).zip(self.films.get(surface));
        pair.into_iter().flat_map(move |(s, f)| {
            s.pieces.iter().enumerate().map(move |(p, piece)| (piece.cell, f.conductance_with(s, p, factor)))
        })
    }

    /// Adds the same small rise everywhere so that exactly the heat that comes in goes out: what the solver's
    /// residual leaves over is a part in 10⁶ or less of it.
    fn close_balance(&mut self) {
        let ground = ground(&self.gridded, &self.films);
        let out: f64 = ground.iter().zip(&self.rise_k).map(|(g, r)| g * r).sum();
        let sum: f64 = ground.iter().sum();
        if sum > 0.0 {
            self.add_rise((self.heat_w - out) / sum);
        }
    }

    /// Finds the films anew from the rises; answers how much the heat through the faces changes, relative to all heat.
    pub fn renew_films(&mut self, ambient_c: f64) -> Result<f64, ModelError> {
        let mut change = 0.0;
        let mut next = Vec::with_capacity(self.films.len());
        for (surface, films) in self.gridded.surfaces.iter().zip(&self.films) {
            let renewed = films.next(surface, &self.rise_k, ambient_c);
            let (c0, r0) = films.heat_w(surface, &self.rise_k);
            let (c1, r1) = renewed.heat_w(surface, &self.rise_k);
            change += (c1 + r1 - c0 - r0).abs();
            next.push(renewed);
        }
        let relative = if self.heat_w > 0.0 { change / self.heat_w } else { 0.0 };
        if relative > FILM_TOLERANCE {
            self.films = next;
            self.take_films()?;
        }
        Ok(relative)
    }

    /// Mean rise of each emitter's solder point at the copper's face, K.
    pub fn solder_rises_k(&self) -> Vec<f64> {
        let top = self.top_face_k();
        self.gridded.emitters.iter().map(|f| f.mean(|c| top[c])).collect()
    }

    /// Rise of each column's emitter side, K; NaN without board.
    pub fn top_face_k(&self) -> Vec<f64> {
        self.upper_face_k(0)
    }

    /// Heat out of a plane's outer face, W per column: of the surfaces that lie on `upper` or lower faces.
    fn outflow_w(&self, plane: usize, upper: bool) -> Vec<f64> {
        let columns = self.gridded.plan.columns();
        let mut out = vec![0.0; columns];
        for (surface, films) in self.gridded.surfaces.iter().zip(&self.films) {
            if surface.kind.is_upper() != upper {
                continue;
            }
            for (p, piece) in surface.pieces.iter().enumerate().filter(|(_, p)| p.cell / columns == plane) {
                out[piece.cell % columns] += films.conductance(surface, p) * self.rise_k[piece.cell];
            }
        }
        out
    }

    /// Rises at the middle of a plane's cells, K; NaN where there is none.
    pub fn middle_k(&self, plane: usize) -> Vec<f64> {
        let columns = self.gridded.plan.columns();
        let value = |c: usize| {
            if self.gridded.is_present(plane, c) { self.rise_k[plane * columns + c] } else { f64::NAN }
        };
        (0..columns).map(value).collect()
    }

    /// Rises at the upper face of a plane's cells, K; NaN where there is none.
    pub fn upper_face_k(&self, plane: usize) -> Vec<f64> {
        let columns = self.gridded.plan.columns();
        let out = self.outflow_w(plane, true);
        let mut face = self.middle_k(plane);
        for (c, rise) in face.iter_mut().enumerate().filter(|(_, r)| r.is_finite()) {
            let mut inflow = -out[c];
            if plane == 0 {
                inflow += self.power_w[c];
            } else {
                let above = (plane - 1) * columns + c;
                inflow += self.gridded.gz[above] * (self.rise_k[above] - self.rise_k[above + columns]);
            }
            *rise += half_drop(&self.gridded, plane, c, inflow);
        }
        face
    }

    /// Rises at the lower face of a plane's cells, K; NaN where there is none.
    pub fn lower_face_k(&self, plane: usize) -> Vec<f64> {
        let columns = self.gridded.plan.columns();
        let out = self.outflow_w(plane, false);
        let last = plane + 1 >= self.gridded.planes.len();
        let mut face = self.middle_k(plane);
        for (c, rise) in face.iter_mut().enumerate().filter(|(_, r)| r.is_finite()) {
            let cell = plane * columns + c;
            let below = if last {
                0.0
            } else {
                self.gridded.gz[cell] * (self.rise_k[cell] - self.rise_k[cell + columns])
            };
            *rise -= half_drop(&self.gridded, plane, c, below + out[c]);
        }
        face
    }

    /// Where the heat goes.
    pub fn energy_balance(&self) -> EnergyBalance {
        let mut balance = EnergyBalance {
            in_w: self.heat_w,
            heatsink_w: 0.0,
            convection_w: 0.0,
            radiation_w: 0.0,
            relative_error: 0.0,
        };
        for (surface, films) in self.gridded.surfaces.iter().zip(&self.films) {
            let (convection, radiation) = films.heat_w(surface, &self.rise_k);
            if is_heatsink_back(surface) {
                balance.heatsink_w += convection + radiation;
            } else {
                balance.convection_w += convection;
                balance.radiation_w += radiation;
            }
        }
        let out = balance.heatsink_w + balance.convection_w + balance.radiation_w;
        if self.heat_w > 0.0 {
            balance.relative_error = (self.heat_w - out) / self.heat_w;
        }
        balance
    }

    /// What must be said about the films used.
    pub fn film_remarks(&self) -> Vec<String> {
        let pairs = || self.gridded.surfaces.iter().zip(&self.films);
        pairs()
            .filter_map(|(s, f)| f.remark(s))
            .chain(pairs().flat_map(|(_, f)| f.air_remarks().iter().cloned()))
            .collect()
    }

    /// Footprint of an emitter.
    pub fn emitter(&self, index: usize) -> Option<&Footprint> {
        self.gridded.emitters.get(index)
    }
}

/// Drop over half a cell for a heat flow, K.
fn half_drop(gridded: &Gridded, plane: usize, column: usize, flow_w: f64) -> f64 {
    let half = gridded.half_m2k_per_w(plane, column);
    if half.is_finite() { flow_w / gridded.areas_m2[column] * half } else { 0.0 }
}

/// Conductance of each cell to the room, W/K.
fn ground(gridded: &Gridded, films: &[Films]) -> Vec<f64> {
    let mut ground = vec![0.0; gridded.gx.len()];
    for (surface, films) in gridded.surfaces.iter().zip(films) {
        for (p, piece) in surface.pieces.iter().enumerate() {
            ground[piece.cell] += films.conductance(surface, p);
        }
    }
    ground
}

/// For each column of a plan the column of another that holds its middle.
fn nearest(to: &Plan, from: &Plan) -> Vec<usize> {
    let axis = |to: &[f64], from: &[f64]| -> Vec<usize> {
        let last = from.len().saturating_sub(2);
        to.windows(2)
            .map(|w| from.partition_point(|l| *l <= 0.5 * (w[0] + w[1])).saturating_sub(1).min(last))
            .collect()
    };
    let (x, y) = (axis(&to.x_nm, &from.x_nm), axis(&to.y_nm, &from.y_nm));
    y.iter().flat_map(|j| x.iter().map(move |i| j * from.nx() + i)).collect()
}

/// For each plane of a grid the plane of another, in the same layer, that lies nearest.
fn nearest_planes(to: &Gridded, from: &Gridded) -> Vec<usize> {
    let middles = |g: &Gridded| -> Vec<f64> {
        let mut depth = 0.0;
        g.planes
            .iter()
            .map(|p| {
                depth += p.thickness_m;
                depth - 0.5 * p.thickness_m
            })
            .collect()
    };
    let (here, there) = (middles(to), middles(from));
    let distance = |p: usize, q: usize| {
        let other_layer = to.planes[p].layer != from.planes[q].layer;
        (here[p] - there[q]).abs() + if other_layer { 1e3 } else { 0.0 }
    };
    (0..here.len())
        .map(|p| (0..there.len()).min_by(|a, b| distance(p, *a).total_cmp(&distance(p, *b))).unwrap_or(0))
        .collect()
}

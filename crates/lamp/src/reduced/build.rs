//! From a settled model to its reduced variant.

use std::sync::atomic::AtomicBool;

use nalgebra::{DMatrix, DVector, SymmetricEigen};

use super::films::FilmLaw;
use super::projection::{Curve, Fields};
use super::{Reading, Reduced, ReducedFace};
use crate::as_built::{Face, LayerKind, Variant};
use crate::bond_line::Resistances;
use crate::copper_current::copper::ANNEALED_COEFFICIENT_PER_K;
use crate::faces::is_heatsink_back;
use crate::gridding::{Factors, Gridded, Surface};
use crate::model::{Model, ModelError};
use crate::read_out::{Weights, face_mean};
use crate::stage::Stage;
use crate::uncertain::Value;

/// Logarithm of the largest factor, and its inverse of the least, that a reduced variant follows.
const REACH: f64 = 1.6;
/// Points of the interpolation over that reach: it is then right to some hundred-thousandths of what changes.
const POINTS: usize = 9;
/// Departure that shows the first change of the field with a value.
const SMALL: f64 = 0.3;
/// Directions that hold less than this part of the largest one's energy are left out.
const LEAST_ENERGY: f64 = 1e-12;
/// Relative residual of the fields.
const RESIDUAL: f64 = 1e-5;

/// What conducts differently, one after the other.
enum Axis {
    /// Layers of a kind along themselves.
    Along(LayerKind),
    /// A value whose factor changes the way from plane to plane.
    Through(Value),
}

impl Model {
    /// Reduces the variant about the state of the last run.
    ///
    /// # Errors
    /// When there is no steady state yet, when cancelled, or when the solver does not converge.
    pub fn reduce(&mut self, cancel: &AtomicBool) -> Result<Reduced, ModelError> {
        let Some(_) = self.drive_a else {
            return Err(ModelError::Problem("nothing to reduce: there is no steady state".to_owned()));
        };
        let observed = self.readings();
        let fields = self.fields(&observed, cancel)?;
        Ok(self.project(&fields, observed))
    }

    /// What is read, as weights of cells.
    fn readings(&self) -> Observations {
        Observations {
            solder: self.solder_weights(),
            sensor: self.sensor_weights(),
            board: self.hottest_board_weights(),
        }
    }

    /// The fields, K.
    fn fields(&mut self, observed: &Observations, cancel: &AtomicBool) -> Result<Fields, ModelError> {
        let stage = &self.fine;
        let cells = stage.rise_k.len();
        let settled = stage.rise_k.clone();
        let mut sources: Vec<Vec<f64>> = Vec::new();
        let placed = |weights: &[(usize, f64)]| {
            let mut source = vec![0.0; cells];
            weights.iter().for_each(|(cell, w)| source[*cell] += w);
            source
        };
        sources.extend(stage.gridded.emitters.iter().map(|f| placed(&f.columns)));
        sources.extend(observed.sensor.iter().flatten().map(|w| placed(&w.cells)));
        sources.extend(observed.board.iter().map(|w| placed(&w.cells)));
        sources.push(placed(&self.patches_in()));
        sources.push(placed(&stage.copper.cells().collect::<Vec<_>>()));
        for axis in axes(&self.variant) {
            sources.push(axis.source(&self.variant, &stage.gridded, self, &settled));
        }
        for surface in 0..stage.gridded.surfaces.len() {
            let of =
                stage.to_room(surface, 0.0).map(|(cell, g)| (cell, g * settled[cell])).collect::<Vec<_>>();
            sources.push(placed(&of));
        }
        sources.retain(|s| s.iter().any(|w| *w != 0.0));
        let mut fields = vec![settled];
        for source in &sources {
            fields.push(self.fine.answer(source, RESIDUAL, cancel)?);
        }
        Ok(Fields::new(&fields))
    }

    fn patches_in(&self) -> Vec<(usize, f64)> {
        let patches = self.fine.gridded.heat_patches.iter().zip(&self.patches_w);
        patches.flat_map(|(f, w)| f.columns.iter().map(move |(c, part)| (*c, part * w))).collect()
    }

    fn project(&self, fields: &Fields, observed: Observations) -> Reduced {
        let stage = &self.fine;
        let gridded = &stage.gridded;
        let lines = (&gridded.plan.x_nm, &gridded.plan.y_nm);
        let as_made = gridded.factors().clone();
        let bond = |factor: f64| self.bond_line.resistances_m2k_per_w(lines.0, lines.1, factor);
        let plain_bond = bond(as_made.bond);
        let conduction = fields.along(gridded)
            + fields.through(gridded, |plane| Some(gridded.below_with(&as_made, plane, &plain_bond)));
        let along =
            |kind: LayerKind| fields.following(gridded, |plane| is_of(&self.variant, gridded, plane, kind));
        let through = |value: Value| {
            value.is_of(&self.variant).then(|| {
                Curve::new(REACH, POINTS, |x| {
                    fields.through(gridded, |plane| changed_below(self, gridded, plane, value, x))
                })
            })
        };
        let insulation =
            [Value::DielectricConductivity, Value::LaminateConductivity].into_iter().find_map(through);
        let mut reduced = Reduced {
            values: Value::ALL.into_iter().filter(|v| v.is_of(&self.variant)).collect(),
            emitters: self.emitters.clone(),
            parallel: self.parallel.clone().map(|parallel| {
                let ways = parallel.ways(&stage.copper, &stage.rise_k, self.ambient_c);
                (parallel, ways)
            }),
            conduction,
            along_insulation: along(LayerKind::Dielectric),
            along_copper: along(LayerKind::Copper),
            insulation,
            barrel: through(Value::ViaBarrel),
            bond: through(Value::BondLine),
            faces: (0..gridded.surfaces.len()).map(|s| face(stage, fields, s, self.ambient_c)).collect(),
            emitter_in: gridded.emitters.iter().map(|f| fields.read(f.columns.iter().copied())).collect(),
            patches_in: fields.read(self.patches_in()),
            copper_in: fields.read(stage.copper.cells()),
            copper_by_rise: fields.to_room(stage.copper.cells()),
            copper_per_k: ANNEALED_COEFFICIENT_PER_K,
            solder: observed.solder.into_iter().map(|w| reading(w, fields)).collect(),
            sensor: observed.sensor.into_iter().map(|w| w.map(|w| reading(w, fields))).collect(),
            board: observed.board.map(|w| reading(w, fields)),
        };
        reduced.seen_from(&well_apart(&reduced));
        reduced
    }
}

struct Observations {
    solder: Vec<Weights>,
    sensor: Vec<Option<Weights>>,
    board: Option<Weights>,
}

fn reading(weights: Weights, fields: &Fields) -> Reading {
    Reading { weights: fields.read(weights.cells), own_k_per_w: weights.own_k_per_w }
}

fn is_of(variant: &Variant, gridded: &Gridded, plane: usize, kind: LayerKind) -> bool {
    gridded.planes[plane].layer.and_then(|l| variant.layers.get(l)).is_some_and(|l| l.kind == kind)
}

/// What a departure of one value changes in the conductances from a plane to the next below, W/K; `None` where it changes none.
fn changed_below(model: &Model, gridded: &Gridded, plane: usize, value: Value, x: f64) -> Option<Vec<f64>> {
    let variant = &model.variant;
    let touches = match value {
        Value::BondLine => gridded.plane_above_bond() == Some(plane),
        _ => [plane, plane + 1].iter().any(|p| is_of(variant, gridded, *p, LayerKind::Dielectric)),
    };
    if !touches {
        return None;
    }
    let as_made = gridded.factors();
    let mut factors = as_made.clone();
    match value {
        Value::BondLine => factors.bond *= x.exp(),
        Value::ViaBarrel => factors.barrel *= x.exp(),
        _ => scale_insulation(&mut factors, variant, x),
    }
    let lines = (&gridded.plan.x_nm, &gridded.plan.y_nm);
    // An uneven bond line takes a while to spread over the grid, and matters in its own plane alone.
    let is_bonds = gridded.plane_above_bond() == Some(plane);
    let bond = |factors: &Factors| {
        if is_bonds {
            model.bond_line.resistances_m2k_per_w(lines.0, lines.1, factors.bond)
        } else {
            Resistances::Even(0.0)
        }
    };
    let before = gridded.below_with(as_made, plane, &bond(as_made));
    let after = gridded.below_with(&factors, plane, &bond(&factors));
    Some(after.iter().zip(&before).map(|(a, b)| a - b).collect())
}

fn scale_insulation(factors: &mut Factors, variant: &Variant, x: f64) {
    for (index, layer) in variant.layers.iter().enumerate().filter(|(_, l)| l.kind == LayerKind::Dielectric) {
        debug_assert!(layer.thickness_m > 0.0);
        factors.conductivity[index] *= x.exp();
    }
}

/// What conducts differently in a variant when its values depart.
fn axes(variant: &Variant) -> Vec<Axis> {
    let mut axes = Vec::new();
    for kind in [LayerKind::Dielectric, LayerKind::Copper] {
        if variant.layers.iter().any(|l| l.kind == kind) {
            axes.push(Axis::Along(kind));
        }
    }
    let through =
        [Value::DielectricConductivity, Value::LaminateConductivity, Value::ViaBarrel, Value::BondLine];
    axes.extend(through.into_iter().filter(|v| v.is_of(variant)).map(Axis::Through));
    axes
}

impl Axis {
    /// The heat that the change of this axis sets free in each cell of a field, W.
    fn source(&self, variant: &Variant, gridded: &Gridded, model: &Model, rise_k: &[f64]) -> Vec<f64> {
        let columns = gridded.plan.columns();
        let mut source = vec![0.0; rise_k.len()];
        let mut between = |a: usize, b: usize, g: f64| {
            let flow = g * (rise_k[a] - rise_k[b]);
            source[a] -= flow;
            source[b] += flow;
        };
        for plane in 0..gridded.planes.len() {
            match self {
                Self::Along(kind) if is_of(variant, gridded, plane, *kind) => {
                    gridded.following(plane).for_each(|(a, b, g)| between(a, b, g));
                }
                Self::Along(_) => {}
                Self::Through(value) if plane + 1 < gridded.planes.len() => {
                    let [up, down] = [SMALL, -SMALL].map(|x| changed_below(model, gridded, plane, *value, x));
                    for (column, (up, down)) in
                        up.unwrap_or_default().into_iter().zip(down.unwrap_or_default()).enumerate()
                    {
                        let cell = plane * columns + column;
                        between(cell, cell + columns, (up - down) / (2.0 * SMALL));
                    }
                }
                Self::Through(_) => {}
            }
        }
        source
    }
}

fn face(stage: &Stage, fields: &Fields, surface: usize, ambient_c: f64) -> ReducedFace {
    let of: &Surface = &stage.gridded.surfaces[surface];
    let has_back = stage.gridded.surfaces.iter().any(is_heatsink_back);
    let mean = fields.read(face_mean(of).cells);
    let reference_k = stage.surface_mean_k(of);
    let is_given = of.air.is_none() && !matches!(of.face, Face::Open { .. });
    ReducedFace {
        to_room: Curve::new(REACH, POINTS, |ln| fields.to_room(stage.to_room(surface, ln))),
        law: (!is_given).then(|| FilmLaw::new(of, reference_k, ambient_c)),
        mean,
        is_cooled: !has_back || is_heatsink_back(of),
        is_back: is_heatsink_back(of),
        reference_k,
    }
}

/// A change of fields after which they are apart: in the inner product of the whole conduction they are then orthonormal.
fn well_apart(reduced: &Reduced) -> DMatrix<f64> {
    let mut whole = reduced.conduction.clone();
    for face in &reduced.faces {
        face.to_room.add_to(&mut whole, 0.0);
    }
    let size: DVector<f64> = whole.diagonal().map(|d| if d > 0.0 { 1.0 / d.sqrt() } else { 0.0 });
    let scaled = DMatrix::from_fn(whole.nrows(), whole.ncols(), |i, j| size[i] * whole[(i, j)] * size[j]);
    let eigen = SymmetricEigen::new(scaled);
    let largest = eigen.eigenvalues.max();
    let mut kept: Vec<usize> =
        (0..eigen.eigenvalues.len()).filter(|k| eigen.eigenvalues[*k] > LEAST_ENERGY * largest).collect();
    kept.sort_by(|a, b| eigen.eigenvalues[*b].total_cmp(&eigen.eigenvalues[*a]));
    DMatrix::from_fn(whole.nrows(), kept.len(), |i, k| {
        size[i] * eigen.eigenvectors[(i, kept[k])] / eigen.eigenvalues[kept[k]].sqrt()
    })
}

impl Reduced {
    /// Takes combinations of the fields in place of the fields.
    fn seen_from(&mut self, by: &DMatrix<f64>) {
        let matrix = |m: &DMatrix<f64>| by.tr_mul(&(m * by));
        let vector = |v: &DVector<f64>| by.tr_mul(v);
        for m in [
            &mut self.conduction,
            &mut self.along_insulation,
            &mut self.along_copper,
            &mut self.copper_by_rise,
        ] {
            *m = matrix(m);
        }
        for curve in [&mut self.insulation, &mut self.barrel, &mut self.bond] {
            *curve = curve.take().map(|c| c.transformed(by));
        }
        for v in self.emitter_in.iter_mut().chain([&mut self.patches_in, &mut self.copper_in]) {
            *v = vector(v);
        }
        let readings = self.solder.iter_mut().chain(self.sensor.iter_mut().flatten()).chain(&mut self.board);
        for reading in readings {
            reading.weights = vector(&reading.weights);
        }
        let faces = std::mem::take(&mut self.faces);
        self.faces = faces
            .into_iter()
            .map(|f| ReducedFace { to_room: f.to_room.transformed(by), mean: vector(&f.mean), ..f })
            .collect();
    }
}

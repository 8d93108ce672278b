//! How much every temperature changes with every conductivity, interface, film and power: by one more solution for each
//! temperature that is asked for.
//!
//! With `G T = q` and a temperature `t = w^T T`, the field `A` of `G A = w` (G is its own transpose) gives
//! `dt/dp = -A^T (dG/dp) T + A^T dq/dp` for all p at once: the adjoint method (Strang, Computational Science and Engineering,
//! section 8.7). What answers back, the emitters' heat to their junctions and the films to their faces' rises, is closed by a small
//! dense system between solder points and faces. Radiation's change from place to place is left out: films answer to the
//! mean rise of their face.

use std::sync::atomic::AtomicBool;

use nalgebra::{DMatrix, DVector};

use crate::emitter_physics::heat_w_per_k;
use crate::faces::Films;
use crate::gridding::{Gridded, Interface};
use crate::model::{Model, ModelError};
use crate::read_out::{Weights, face_mean};
use crate::stage::Stage;

/// Relative residual of the adjoint fields.
const RESIDUAL: f64 = 1e-9;
/// Change of a face's mean rise by which its films' answer is found, K.
const STEP_K: f64 = 0.5;

/// What a temperature changes with.
#[derive(Debug, Clone, PartialEq)]
pub enum Cause {
    /// All that a layer's substance conducts, by the layer's name; a core's pedestals through the dielectric are the core's. The base
    /// plate is `heatsink base`.
    Conductivity(String),
    /// Resistance of the bond line, or the contact below a layer, by the layer's name.
    Interface(String),
    /// All films of a face, in words.
    Film(String),
    /// Heat of an emitter at given current and junction temperature, by reference.
    Power(String),
}

/// Changes of the observed temperatures with one cause.
#[derive(Debug, Clone, PartialEq)]
pub struct Sensitivity {
    /// The cause.
    pub cause: Cause,
    /// Change of each emitter's solder point for a relative change of the cause by e (logarithm 1), K: one hundredth of it for 1 %.
    pub solder_k: Vec<f64>,
    /// Of each junction, likewise.
    pub junction_k: Vec<f64>,
    /// Of each sensor, likewise; NaN off the board.
    pub sensor_k: Vec<f64>,
}

impl Model {
    /// Sensitivities about the state of the last run.
    ///
    /// # Errors
    /// When there is no steady state, when cancelled, or when the solver does not converge.
    pub fn sensitivities(&mut self, cancel: &AtomicBool) -> Result<Vec<Sensitivity>, ModelError> {
        let Some(drive_a) = self.drive_a else {
            return Err(ModelError::Problem(
                "there is no steady state whose sensitivities could be found".into(),
            ));
        };
        let (solder, sensor) = (self.solder_weights(), self.sensor_weights());
        let faces = self.fine.gridded.surfaces.len();
        let mut observed: Vec<Weights> = solder.clone();
        observed.extend(sensor.iter().map(|w| w.clone().unwrap_or_default()));
        observed.extend(self.fine.gridded.surfaces.iter().map(face_mean));
        let adjoint = adjoints(&mut self.fine, &observed, RESIDUAL, cancel)?;
        let partial = Partial { stage: &self.fine, adjoint: &adjoint };
        let slopes = self.heat_slopes(drive_a);
        let answer = self.answers_back(&partial, &slopes, &solder);
        let references: Vec<String> = self.variant.emitters.iter().map(|e| e.reference.clone()).collect();
        let close = |cause: Cause, direct: DVector<f64>, own_k: Vec<f64>| {
            let all = answer.clone().solve(&direct).unwrap_or(direct);
            let n = solder.len();
            let solder_k: Vec<f64> = all.rows(0, n).iter().copied().collect();
            let junction = |k: usize| {
                let (slope, package) = (slopes[k], self.emitters[k].package_k_per_w);
                (solder_k[k] + own_k[k]) / (1.0 - package * slope)
            };
            Sensitivity {
                junction_k: (0..n).map(junction).collect(),
                sensor_k: (0..sensor.len())
                    .map(|s| if sensor[s].is_some() { all[n + s] } else { f64::NAN })
                    .collect(),
                solder_k,
                cause,
            }
        };
        let n = solder.len();
        let mut found: Vec<Sensitivity> = self
            .conduction_causes()
            .into_iter()
            .map(|(cause, change)| close(cause, partial.of_conduction(&change), vec![0.0; n]))
            .collect();
        for s in 0..faces {
            let words = self.fine.gridded.surfaces[s].kind.words().to_owned();
            found.push(close(Cause::Film(words), partial.of_film(s), vec![0.0; n]));
        }
        let heats = self.fine.emitter_heats_w().to_vec();
        for (e, reference) in references.into_iter().enumerate() {
            let mut direct = partial.of_emitter(e, &solder) * heats[e];
            let package_k = self.emitters[e].package_k_per_w * heats[e];
            // The junction lies above the solder point by the package's drop, which drives the heat further.
            direct += partial.of_emitter(e, &solder)
                * (slopes[e] * package_k / (1.0 - self.emitters[e].package_k_per_w * slopes[e]));
            let mut own_k = vec![0.0; n];
            own_k[e] = package_k;
            found.push(close(Cause::Power(reference), direct, own_k));
        }
        Ok(found)
    }

    /// Change of each emitter's heat with its junction temperature, W/K.
    fn heat_slopes(&self, drive_a: f64) -> Vec<f64> {
        let heats = self.fine.emitter_heats_w();
        let rises = self.fine.solder_rises_k();
        let slope = |(k, e): (usize, &crate::operating_point::CoupledEmitter)| {
            let junction_c = self.ambient_c + rises[k] + e.package_k_per_w * heats[k];
            heat_w_per_k(&e.sheet, e.share * drive_a, junction_c)
        };
        self.emitters.iter().enumerate().map(slope).collect()
    }

    /// One less what comes back from heats and films to solder points, sensors and faces, ready to solve.
    fn answers_back(
        &self,
        partial: &Partial<'_>,
        slopes: &[f64],
        solder: &[Weights],
    ) -> nalgebra::LU<f64, nalgebra::Dyn, nalgebra::Dyn> {
        let count = partial.adjoint.len();
        let mut matrix = DMatrix::identity(count, count);
        for (e, slope) in slopes.iter().enumerate() {
            let heat_per_solder_k = slope / (1.0 - self.emitters[e].package_k_per_w * slope);
            let answer = partial.of_emitter(e, solder) * heat_per_solder_k;
            matrix.column_mut(e).axpy(-1.0, &answer, 1.0);
        }
        let faces = self.fine.gridded.surfaces.len();
        for s in 0..faces {
            let by_rise = ln_film_per_k(&self.fine, s, self.ambient_c);
            if by_rise != 0.0 {
                let answer = partial.of_film(s) * by_rise;
                matrix.column_mut(count - faces + s).axpy(-1.0, &answer, 1.0);
            }
        }
        matrix.lu()
    }

    /// Every layer and interface with what a relative change of it does to the conductances.
    fn conduction_causes(&self) -> Vec<(Cause, Change)> {
        let gridded = &self.fine.gridded;
        let name = |layer: Option<usize>| {
            layer
                .and_then(|l| self.variant.layers.get(l))
                .map_or("heatsink base", |l| l.name.as_str())
                .to_owned()
        };
        let mut layers: Vec<Option<usize>> = gridded.planes.iter().map(|p| p.layer).collect();
        layers.dedup();
        let mut causes: Vec<(Cause, Change)> =
            layers.into_iter().map(|l| (Cause::Conductivity(name(l)), Change::Layer(l))).collect();
        for (plane, interface) in gridded.interfaces.iter().enumerate() {
            match interface {
                Interface::Bond => causes.push((Cause::Interface("bond line".into()), Change::Below(plane))),
                Interface::Contact(r) if *r > 0.0 => {
                    causes.push((Cause::Interface(name(gridded.planes[plane].layer)), Change::Below(plane)));
                }
                Interface::Contact(_) => {}
            }
        }
        causes
    }
}

/// Which conductances change.
enum Change {
    /// A layer's, or the base's, in every direction.
    Layer(Option<usize>),
    /// The resistance of the interface below a plane.
    Below(usize),
}

/// Fields that answer to a pull at each observed temperature.
fn adjoints(
    stage: &mut Stage,
    observed: &[Weights],
    residual: f64,
    cancel: &AtomicBool,
) -> Result<Vec<Vec<f64>>, ModelError> {
    let cells = stage.rise_k.len();
    let mut fields = Vec::with_capacity(observed.len());
    for weights in observed {
        let mut source = vec![0.0; cells];
        weights.cells.iter().for_each(|(cell, w)| source[*cell] += w);
        fields.push(if weights.cells.is_empty() {
            source
        } else {
            stage.answer(&source, residual, cancel)?
        });
    }
    Ok(fields)
}

/// Change of the logarithm of a face's film with its mean rise, 1/K.
fn ln_film_per_k(stage: &Stage, surface: usize, ambient_c: f64) -> f64 {
    let of = &stage.gridded.surfaces[surface];
    let mean_k = stage.surface_mean_k(of);
    let film = |rise_k: f64| -> f64 {
        let films = Films::guess(of, rise_k, ambient_c);
        of.pieces.iter().enumerate().map(|(p, piece)| piece.area_m2 * films.film(p)).sum()
    };
    let (low, high) = (film((mean_k - STEP_K).max(1e-3)), film(mean_k + STEP_K));
    if low > 0.0 && high > 0.0 { (high / low).ln() / (2.0 * STEP_K) } else { 0.0 }
}

/// Changes of the observed temperatures with heats and films held.
struct Partial<'a> {
    stage: &'a Stage,
    adjoint: &'a [Vec<f64>],
}

impl Partial<'_> {
    /// For a relative change of conductances.
    fn of_conduction(&self, change: &Change) -> DVector<f64> {
        let mut sum = DVector::zeros(self.adjoint.len());
        let gridded = &self.stage.gridded;
        let rise_k = &self.stage.rise_k;
        for_each_change(gridded, change, |a, b, g| {
            let flow = g * (rise_k[a] - rise_k[b]);
            for (s, field) in sum.iter_mut().zip(self.adjoint) {
                *s -= flow * (field[a] - field[b]);
            }
        });
        if let Change::Layer(layer) = change {
            self.behind_faces(*layer, &mut sum);
        }
        sum
    }

    /// Adds what a layer's half cells behind the open faces do: they are in series with the films.
    fn behind_faces(&self, layer: Option<usize>, sum: &mut DVector<f64>) {
        let gridded = &self.stage.gridded;
        let columns = gridded.plan.columns();
        let share = if layer.is_some() { &gridded.board_share } else { &gridded.base_share };
        for (s, surface) in gridded.surfaces.iter().enumerate() {
            for (piece, (cell, to_room)) in surface.pieces.iter().zip(self.stage.to_room(s, 0.0)) {
                let (plane, column) = (cell / columns, cell % columns);
                let part = part_of_half(gridded, layer, plane, column);
                if part <= 0.0 || to_room <= 0.0 {
                    continue;
                }
                let half = gridded.half_m2k_per_w(plane, column) * part * share[column];
                let flow = to_room * to_room / piece.area_m2 * half * self.stage.rise_k[cell];
                for (s, field) in sum.iter_mut().zip(self.adjoint) {
                    *s -= flow * field[cell];
                }
            }
        }
    }

    /// For a relative change of a face's film.
    fn of_film(&self, surface: usize) -> DVector<f64> {
        let step = 1e-4;
        let (up, down) = (self.stage.to_room(surface, step), self.stage.to_room(surface, -step));
        let mut sum = DVector::zeros(self.adjoint.len());
        for ((cell, up), (_, down)) in up.zip(down) {
            let flow = (up - down) / (2.0 * step) * self.stage.rise_k[cell];
            for (s, field) in sum.iter_mut().zip(self.adjoint) {
                *s -= flow * field[cell];
            }
        }
        sum
    }

    /// For a watt more of an emitter's heat.
    fn of_emitter(&self, emitter: usize, solder: &[Weights]) -> DVector<f64> {
        let Some(footprint) = self.stage.emitter(emitter) else { return DVector::zeros(self.adjoint.len()) };
        let mut sum = DVector::from_iterator(
            self.adjoint.len(),
            self.adjoint.iter().map(|field| footprint.mean(|column| field[column])),
        );
        sum[emitter] += solder[emitter].own_k_per_w;
        sum
    }
}

/// Part of a cell's half resistance that changes with a layer's substance: all of it in the layer, but for pedestals of the core.
fn part_of_half(gridded: &Gridded, layer: Option<usize>, plane: usize, column: usize) -> f64 {
    if gridded.planes[plane].layer == layer {
        gridded.half_follows(plane, column)
    } else if gridded.stands_in(plane, layer) {
        1.0 - gridded.half_follows(plane, column)
    } else {
        0.0
    }
}

/// Every face whose conductance changes, with its change for a logarithm of 1, W/K.
fn for_each_change(gridded: &Gridded, change: &Change, mut each: impl FnMut(usize, usize, f64)) {
    let columns = gridded.plan.columns();
    for plane in 0..gridded.planes.len() {
        if let Change::Layer(layer) = change {
            if gridded.planes[plane].layer == *layer {
                gridded.following(plane).for_each(|(a, b, g)| each(a, b, g));
            } else if gridded.stands_in(plane, *layer) {
                let all = gridded.along(plane).zip(gridded.following(plane));
                all.for_each(|((a, b, g), (_, _, own))| each(a, b, g - own));
            }
        }
        for column in 0..columns {
            let cell = plane * columns + column;
            let through = gridded.gz[cell];
            if through <= 0.0 || plane + 1 >= gridded.planes.len() {
                continue;
            }
            let whole = gridded.areas_m2[column] / through;
            let half = |at: usize| gridded.half_m2k_per_w(at, column);
            let part = match change {
                Change::Layer(layer) => {
                    let own = |at: usize| half(at) * part_of_half(gridded, *layer, at, column);
                    (own(plane) + own(plane + 1)) / whole
                }
                Change::Below(at) if *at == plane => -(whole - half(plane) - half(plane + 1)) / whole,
                Change::Below(_) => 0.0,
            };
            if part != 0.0 {
                each(cell, cell + columns, part * through);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::as_built::{Lamp, Variant};
    use crate::bond_line::{BondLine, BondWhatIf};
    use crate::gridding::GridChoice;
    use crate::project::{MemoryFolder, read};

    const SKETCH: &str = r#"
        [lamp]
        name = "sketch"
        [drive]
        currents = ["0.7 A"]
        [[emitters]]
        sheet = "white-3.5mm"
        refs = ["D1", "D2"]
        at = [["6 mm", "8 mm"], ["13 mm", "7 mm"]]
        [[sensor]]
        at = ["10 mm", "3 mm"]
        [bond]
        thickness = "80 um"
        conductivity = "1.5 W/m/K"
        [heatsink]
        base = ["30 mm", "24 mm"]
        base_thickness = "3 mm"
        resistance = "2 K/W"
        [faces]
        top = "9 W/m2/K"
        bottom = "7 W/m2/K"
        [variant.only]
        outline = ["20 mm", "15 mm"]
        [variant.only.board]
        kind = "layers"
        [[variant.only.layer]]
        name = "copper"
        thickness = "70 um"
        material = "copper"
        [[variant.only.layer]]
        name = "glue"
        thickness = "120 um"
        kx = "0.8 W/m/K"
        ky = "0.6 W/m/K"
        kz = "0.4 W/m/K"
        resistance_below = "2e-5 m2K/W"
        [[variant.only.layer]]
        name = "plate"
        thickness = "1 mm"
        material = "aluminium 5052"
    "#;

    fn sketch() -> Lamp {
        let reading = read(&MemoryFolder::new([("lamp.toml".to_owned(), SKETCH.as_bytes().to_vec())]));
        assert!(!reading.has_errors(), "{:#?}", reading.remarks);
        reading.lamp.unwrap()
    }

    fn stage(lamp: &Lamp, variant: &Variant) -> Stage {
        let choice = GridChoice { finest_pitch_m: Some(5e-4), cells_at_most: None };
        let (plan, planes) = choice.grid(&lamp.variants[0], 1.0).unwrap();
        let bond_line = BondLine::of(variant, BondWhatIf::default());
        Stage::new(Gridded::new(lamp, variant, plan, planes, &bond_line), 30.0, 25.0).unwrap()
    }

    const HEATS_W: [f64; 2] = [1.3, 2.1];

    /// Rises of the observed places at fixed heats, solved to the last digits.
    fn rises_k(lamp: &Lamp, variant: &Variant, observed: &[Weights]) -> Vec<f64> {
        let mut stage = stage(lamp, variant);
        let field = field(&mut stage);
        observed.iter().map(|w| w.cells.iter().map(|(cell, weight)| weight * field[*cell]).sum()).collect()
    }

    fn field(stage: &mut Stage) -> Vec<f64> {
        stage.set_heat(&HEATS_W, &[], (0.0, 25.0));
        let mut power = vec![0.0; stage.rise_k.len()];
        for (e, heat) in HEATS_W.iter().enumerate() {
            for (column, part) in stage.emitter(e).unwrap().columns.clone() {
                power[column] += part * heat;
            }
        }
        stage.answer(&power, 1e-12, &AtomicBool::new(false)).unwrap()
    }

    /// Every layer's conductivity, every interface, each film and power, against central differences of whole solutions. The
    /// difference of a step of a thousandth leaves its third derivative, a few millionths.
    #[test]
    fn one_adjoint_field_gives_what_differences_of_whole_solutions_give() {
        let lamp = sketch();
        let variant = &lamp.variants[0];
        let mut at = stage(&lamp, variant);
        at.rise_k = field(&mut at);
        let columns = |e: usize| at.gridded.emitters[e].columns.clone();
        let observed = [
            Weights { cells: columns(0), own_k_per_w: 0.0 },
            Weights { cells: columns(1), own_k_per_w: 0.0 },
            Weights { cells: vec![(at.rise_k.len() / 3, 1.0)], own_k_per_w: 0.0 },
        ];
        let adjoint = adjoints(&mut at, &observed, 1e-12, &AtomicBool::new(false)).unwrap();
        let partial = Partial { stage: &at, adjoint: &adjoint };
        let step = 1e-3f64;
        let check = |what: &str, found: DVector<f64>, vary: &dyn Fn(&mut Variant, f64)| {
            let moved = |x: f64| {
                let mut variant = variant.clone();
                vary(&mut variant, x.exp());
                rises_k(&lamp, &variant, &observed)
            };
            let (up, down) = (moved(step), moved(-step));
            let scale = found.amax();
            assert!(scale > 1e-4, "{what} changes nothing: {found}");
            for (k, found) in found.iter().enumerate() {
                let difference = (up[k] - down[k]) / (2.0 * step);
                assert!((found - difference).abs() <= 1e-5 * scale, "{what}, {k}: {found} {difference}");
            }
        };
        for layer in 0..3 {
            check("layer", partial.of_conduction(&Change::Layer(Some(layer))), &|variant, factor| {
                let m = &mut variant.layers[layer].material;
                for k in [&mut m.kx_w_per_m_k, &mut m.ky_w_per_m_k, &mut m.kz_w_per_m_k] {
                    *k *= factor;
                }
            });
        }
        check("base", partial.of_conduction(&Change::Layer(None)), &|variant, factor| {
            let m = &mut variant.heatsink.as_mut().unwrap().material;
            for k in [&mut m.kx_w_per_m_k, &mut m.ky_w_per_m_k, &mut m.kz_w_per_m_k] {
                *k *= factor;
            }
        });
        let below_glue =
            at.gridded.interfaces.iter().position(|i| matches!(i, Interface::Contact(r) if *r > 0.0));
        check("contact", partial.of_conduction(&Change::Below(below_glue.unwrap())), &|variant, factor| {
            variant.layers[1].resistance_below_m2k_per_w *= factor;
        });
        let bond = at.gridded.plane_above_bond().unwrap();
        check("bond line", partial.of_conduction(&Change::Below(bond)), &|variant, factor| {
            let bond = variant.bond.as_mut().unwrap();
            bond.resistance_m2k_per_w *= factor;
            bond.thickness_m = bond.thickness_m.map(|t| t * factor);
        });
        let film = |face: &mut crate::as_built::Face, factor: f64| {
            if let crate::as_built::Face::Film { h_w_per_m2_k } = face {
                *h_w_per_m2_k *= factor;
            }
        };
        check("film on the emitter side", partial.of_film(0) + partial.of_film(1), &|variant, factor| {
            film(&mut variant.top_face, factor);
        });
        check("cooling", partial.of_film(2), &|variant, factor| {
            variant.heatsink.as_mut().unwrap().cooling =
                crate::as_built::Cooling::Resistance { k_per_w: 2.0 / factor };
        });
        // Power: heats in proportion, and source and probe exchanged.
        let by_power = [0, 1].map(|e| {
            let no_own = [Weights::default(), Weights::default()];
            partial.of_emitter(e, &no_own)
        });
        for (k, rise) in rises_k(&lamp, variant, &observed).iter().enumerate() {
            let sum = HEATS_W[0] * by_power[0][k] + HEATS_W[1] * by_power[1][k];
            assert!((sum - rise).abs() < 1e-9 * rise, "{sum} {rise}");
        }
        assert!((by_power[0][1] / by_power[1][0] - 1.0).abs() < 1e-9);
    }

    /// What conducts in a copper core's pedestal is the core's and not the dielectric's: both against central differences of whole
    /// solutions. Sideways, what passes from a pedestal into the dielectric is counted as the dielectric's alone, which is off by
    /// the ratio of both conductivities (2 to 390).
    #[test]
    fn a_pedestal_changes_with_the_core_and_not_with_the_dielectric() {
        let board = "[variant.only.board]\nkind = \"copper core\"\ncore_thickness = \"1 mm\"\n\
                     dielectric_conductivity = \"2 W/m/K\"\ndielectric_thickness = \"100 um\"\n";
        let text = SKETCH.split("[variant.only.board]").next().unwrap().to_owned() + board;
        let reading = read(&MemoryFolder::new([("lamp.toml".to_owned(), text.into_bytes())]));
        assert!(!reading.has_errors(), "{:#?}", reading.remarks);
        let lamp = reading.lamp.unwrap();
        let variant = &lamp.variants[0];
        assert!(variant.layers[1].pattern.is_some(), "no pedestals");
        let mut at = stage(&lamp, variant);
        at.rise_k = field(&mut at);
        let of = |e: usize| Weights { cells: at.gridded.emitters[e].columns.clone(), own_k_per_w: 0.0 };
        let observed = [of(0), of(1)];
        let adjoint = adjoints(&mut at, &observed, 1e-12, &AtomicBool::new(false)).unwrap();
        let partial = Partial { stage: &at, adjoint: &adjoint };
        let moved = |layer: usize, x: f64| {
            let mut variant = variant.clone();
            let m = &mut variant.layers[layer].material;
            for k in [&mut m.kx_w_per_m_k, &mut m.ky_w_per_m_k, &mut m.kz_w_per_m_k] {
                *k *= x.exp();
            }
            if layer == 2 {
                variant.layers[1].gap_conductivity_w_per_m_k *= x.exp();
            }
            rises_k(&lamp, &variant, &observed)
        };
        for layer in [1, 2] {
            let found = partial.of_conduction(&Change::Layer(Some(layer)));
            let (up, down) = (moved(layer, 1e-3), moved(layer, -1e-3));
            for (k, found) in found.iter().enumerate() {
                let difference = (up[k] - down[k]) / 2e-3;
                assert!((found / difference - 1.0).abs() < 2.0 / 390.0, "{layer}, {k}: {found} {difference}");
            }
        }
    }
}

//! From a traced circuit to a sheet problem: layers, barrels, and the currents at lands and supply pads.

use artwork::nets::Nets;
use artwork::roles::Role;
use artwork::shape::{Area, Point};

use crate::as_built::{LandRole, LayerKind, Lining, PlacedEmitter, Variant};
use crate::circuit::Circuit;
use crate::copper_current::sheet::{Barrel, Contact, ContactKind, CopperLayer, SheetProblem, Temperature};
use crate::gridding::Gridded;

use super::COLD_C;

/// A supply pad without a mask opening is taken as a disc of this size, nm (a wire's end; common practice, no source).
const WIRE_NM: f64 = 2e6;
/// Currents at a node that do not sum to 0 by more than this part are a contradiction.
const CONTRADICTION: f64 = 1e-6;

/// Which island and which contact is what.
#[derive(Debug, Clone, Default)]
pub(crate) struct Wiring {
    /// The variant's layer of each copper layer of the problem.
    layers: Vec<usize>,
    /// Island of the nets, by layer and polygon of the problem.
    pub islands: Vec<Vec<usize>>,
    /// Contacts of each emitter's anode and cathode lands.
    pub lands: Vec<[Vec<usize>; 2]>,
    /// Contacts of each supply's + and - pad.
    pub pads: Vec<[Option<usize>; 2]>,
    /// Net of each barrel of the problem.
    pub barrel_nets: Vec<usize>,
}

impl Wiring {
    /// The problem at a drive of 1 A; `None` where no copper carries current.
    pub fn of(variant: &Variant, circuit: &Circuit) -> Option<(Self, SheetProblem, Vec<String>)> {
        let mut remarks = Vec::new();
        let nets = &*circuit.nets;
        let roles = layers(variant);
        let mut wiring = Self {
            layers: roles.iter().map(|(_, layer)| *layer).collect(),
            islands: vec![Vec::new(); roles.len()],
            lands: vec![<[Vec<usize>; 2]>::default(); variant.emitters.len()],
            pads: vec![[None; 2]; circuit.supplies.len()],
            barrel_nets: Vec::new(),
        };
        let mut problem = SheetProblem::default();
        let mut carrying = vec![false; nets.nets.len()];
        for node in 0..circuit.nodes.len() {
            wiring.add_node(variant, circuit, node, &roles, &mut problem, &mut carrying, &mut remarks);
        }
        if problem.contacts.is_empty() {
            return None;
        }
        let mut top_m = 0.0;
        let mut depths = Vec::new();
        for layer in &variant.layers {
            depths.push(top_m + 0.5 * layer.thickness_m);
            top_m += layer.thickness_m;
        }
        for (number, (role, layer)) in roles.iter().enumerate() {
            let mut polygons = Vec::new();
            for (index, island) in nets.islands.iter().enumerate() {
                if island.layer == *role && carrying[island.net] {
                    for polygon in &island.area.polygons {
                        wiring.islands[number].push(index);
                        polygons.push(polygon.clone());
                    }
                }
            }
            problem.layers.push(CopperLayer {
                name: variant.layers[*layer].name.clone(),
                copper: Area { polygons },
                thickness_m: variant.layers[*layer].thickness_m,
                depth_m: depths[*layer],
                temperature: Temperature::Uniform(COLD_C),
            });
        }
        if roles.len() > 1 {
            (wiring.barrel_nets, problem.barrels) =
                barrels(variant, nets, &carrying, roles.len()).into_iter().unzip();
        }
        Some((wiring, problem, remarks))
    }

    /// Contacts of a node's lands and supply pads.
    #[allow(clippy::too_many_arguments)] // what a problem is made of
    fn add_node(
        &mut self,
        variant: &Variant,
        circuit: &Circuit,
        node: usize,
        roles: &[(Role, usize)],
        problem: &mut SheetProblem,
        carrying: &mut [bool],
        remarks: &mut Vec<String>,
    ) {
        let label = &circuit.nodes[node].label;
        let [net] = circuit.nodes[node].nets[..] else {
            remarks.push(format!("the copper of {label} is left out: packages join several nets there"));
            return;
        };
        let layer_of =
            |island: usize| roles.iter().position(|(role, _)| *role == circuit.nets.islands[island].layer);
        let mut found: Vec<(Contact, Place)> = Vec::new();
        let mut sum_a = 0.0;
        for land in circuit.nodes[node].contacts.iter().filter(|land| circuit.lit[land.emitter]) {
            let emitter: &PlacedEmitter = &variant.emitters[land.emitter];
            let alike = circuit.nodes[node]
                .contacts
                .iter()
                .filter(|other| other.emitter == land.emitter && other.role == land.role)
                .map(|other| other.area.area_mm2())
                .sum::<f64>();
            // Current leaves the copper at an anode.
            let sign = if land.role == LandRole::Anode { -1.0 } else { 1.0 };
            let current_a = sign * emitter.current_share * land.area.area_mm2() / alike;
            let Some(layer) = layer_of(land.island) else { continue };
            sum_a += current_a;
            found.push((
                Contact {
                    name: format!("{} of {}", words(land.role), emitter.reference),
                    layer,
                    area: land.area.clone(),
                    kind: ContactKind::Land { current_a },
                },
                Place::Land(land.emitter, usize::from(land.role != LandRole::Anode)),
            ));
        }
        if found.is_empty() {
            return;
        }
        let fed = circuit.supplies.iter().enumerate().find_map(|(index, supply)| {
            let side = supply.nodes.iter().position(|n| *n == node)?;
            (supply.same_as.is_none() && supply.root.is_some()).then_some((index, side))
        });
        if let Some((index, side)) = fed {
            let pads = &circuit.supplies[index].pads;
            let pad = if side == 0 { &pads.plus } else { &pads.minus };
            let layer = pad.island.and_then(layer_of);
            let (Some(at), Some(layer)) = (pad.at, layer) else {
                remarks.push(format!(
                    "the copper of {label} is left out: where supply {} meets it is not told",
                    pads.name
                ));
                return;
            };
            found.push((
                Contact {
                    name: format!("pad {} of supply {}", pad.told, pads.name),
                    layer,
                    area: pad_area(variant, at),
                    kind: ContactKind::Land { current_a: -sum_a },
                },
                Place::Pad(index, side),
            ));
        } else if sum_a.abs() > CONTRADICTION * found.len() as f64 {
            remarks.push(format!(
                "the copper of {label} is left out: the current shares given put {sum_a:.3} A more in than out for each ampere of drive"
            ));
            return;
        } else if let Some((Contact { kind: ContactKind::Land { current_a }, .. }, _)) = found.first_mut() {
            // Shares are rounded to a billionth.
            *current_a -= sum_a;
        }
        carrying[net] = true;
        for (contact, place) in found {
            let number = problem.contacts.len();
            match place {
                Place::Land(emitter, side) => self.lands[emitter][side].push(number),
                Place::Pad(supply, side) => self.pads[supply][side] = Some(number),
            }
            problem.contacts.push(contact);
        }
    }

    /// The first plane of cells of a copper layer of the problem.
    pub fn plane(&self, gridded: &Gridded, layer: usize) -> Option<usize> {
        let wanted = *self.layers.get(layer)?;
        gridded.planes.iter().position(|plane| plane.layer == Some(wanted))
    }
}

enum Place {
    Land(usize, usize),
    Pad(usize, usize),
}

fn words(role: LandRole) -> &'static str {
    if role == LandRole::Anode { "anode" } else { "cathode" }
}

/// Copper layers that can carry current: the outermost two, as the artwork names them.
fn layers(variant: &Variant) -> Vec<(Role, usize)> {
    let copper: Vec<usize> = variant
        .layers
        .iter()
        .enumerate()
        .filter(|(_, layer)| layer.kind == LayerKind::Copper && layer.pattern.is_some())
        .map(|(index, _)| index)
        .collect();
    match copper[..] {
        [] => Vec::new(),
        [only] => vec![(Role::CopperTop, only)],
        [top, .., bottom] => vec![(Role::CopperTop, top), (Role::CopperBottom, bottom)],
    }
}

fn barrels(variant: &Variant, nets: &Nets, carrying: &[bool], layers: usize) -> Vec<(usize, Barrel)> {
    let plating_m = variant.bores.iter().find_map(|bore| match bore.lining {
        Lining::Plated { barrel_m, .. } => Some(barrel_m),
        Lining::Unplated => None,
    });
    let Some(plating_m) = plating_m else { return Vec::new() };
    let holes =
        nets.holes.iter().filter(|hole| carrying[hole.net] && hole.diameter_nm > 0 && !hole.path.is_empty());
    holes
        .map(|hole| {
            let drilled_m = 1e-9 * f64::from(hole.diameter_nm);
            let barrel = Barrel {
                path: hole.path.clone(),
                drilled_m,
                plating_m: plating_m.min(0.5 * drilled_m),
                from_layer: 0,
                to_layer: layers - 1,
                temperature_c: COLD_C,
            };
            (hole.net, barrel)
        })
        .collect()
}

/// Where a wire meets the board: the mask opening there, else a disc.
fn pad_area(variant: &Variant, at: Point) -> Area {
    let openings = variant.mask_top.iter().flat_map(|mask| &mask.openings.polygons);
    openings
        .map(|polygon| Area { polygons: vec![polygon.clone()] })
        .find(|area| area.contains(at))
        .unwrap_or_else(|| Area::disc(at, WIRE_NM))
}

//! The copper of each net as resistances on the emitters' ways, for currents that are still sought.
//!
//! A net is a tree: copper that its whole current takes (the trunk), then a way of its own to each land. Two solutions of the
//! sheets tell the two apart, one at nominal shares and one at others: the drop from the trunk's beginning to a land is `a I_whole +
//! b I_land`. The resistances give the solved loss at the nominal shares exactly, and at others as far as the net is such a tree.

use crate::as_built::LandRole;
use crate::circuit::Circuit;
use crate::copper_current::sheet::{ContactKind, ContactState, solve};

use super::wiring::Wiring;
use super::{CopperHeat, CopperLoss, loss_w, options};

/// A net's copper at 20 degC.
#[derive(Debug, Clone, Default)]
struct NetCopper {
    /// Its islands and plated holes: indices into the solution's.
    islands: Vec<usize>,
    barrels: Vec<usize>,
    /// Resistance to each emitter's land, ohm; >= 0.
    lands: Vec<(usize, f64)>,
    /// Resistance that the whole current takes, ohm; >= 0.
    trunk_ohm: f64,
    /// The supplies whose pad is on it.
    supplies: Vec<usize>,
    /// Emitters whose current makes up the whole one.
    whole: Vec<usize>,
    /// Loss at the nominal shares of 1 A, W.
    unit_w: f64,
}

impl NetCopper {
    fn loss_w(&self, emitter_a: &[f64]) -> f64 {
        let of = |emitter: &usize| emitter_a.get(*emitter).copied().unwrap_or(0.0);
        let whole: f64 = self.whole.iter().map(of).sum();
        self.lands.iter().map(|(e, ohm)| ohm * of(e) * of(e)).sum::<f64>() + self.trunk_ohm * whole * whole
    }
}

/// The copper of all nets that carry current.
#[derive(Debug, Clone, Default)]
pub(crate) struct BranchCopper {
    nets: Vec<NetCopper>,
    islands: usize,
    barrels: usize,
}

/// Resistances at the copper's temperatures, ohm.
#[derive(Debug, Clone, Default, PartialEq)]
pub(crate) struct Ways {
    /// In series with each emitter.
    pub emitter_ohm: Vec<f64>,
    /// Copper that takes the current of these supplies together.
    pub trunks: Vec<(f64, Vec<usize>)>,
    /// Both leads of each supply.
    pub lead_ohm: Vec<f64>,
}

impl Ways {
    /// The same with copper that resists more by a factor; leads stay.
    pub fn with_copper(&self, factor: f64) -> Self {
        Self {
            emitter_ohm: self.emitter_ohm.iter().map(|ohm| factor * ohm).collect(),
            trunks: self.trunks.iter().map(|(ohm, supplies)| (factor * ohm, supplies.clone())).collect(),
            lead_ohm: self.lead_ohm.clone(),
        }
    }

    /// In series with each supply alone: its leads, and its own trunks.
    pub fn supply_ohm(&self) -> Vec<f64> {
        let own = |supply: usize| -> f64 {
            self.trunks.iter().filter(|(_, supplies)| *supplies == [supply]).map(|(ohm, _)| ohm).sum()
        };
        self.lead_ohm.iter().enumerate().map(|(supply, lead)| lead + own(supply)).collect()
    }

    /// Drop in the trunks of a supply, V.
    pub fn trunk_v(&self, supply: usize, supply_a: &[f64]) -> f64 {
        let mine = self.trunks.iter().filter(|(_, supplies)| supplies.contains(&supply));
        mine.map(|(ohm, all)| ohm * all.iter().filter_map(|s| supply_a.get(*s)).sum::<f64>()).sum()
    }
}

impl BranchCopper {
    /// The copper as solved; nothing where it was left out.
    ///
    /// `share` are the nominal shares, `other` others that keep Kirchhoff's first law.
    pub fn of(circuit: &Circuit, copper: Option<&CopperLoss>, share: &[f64], other: &[f64]) -> Self {
        let Some(copper) = copper.filter(|copper| !copper.solution.contacts.is_empty()) else {
            return Self::default();
        };
        let other = at_shares(circuit, copper, share, other);
        let nets = (0..circuit.nodes.len())
            .filter_map(|node| net_copper(circuit, copper, other.as_ref(), node, share));
        Self {
            nets: nets.collect(),
            islands: copper.solution.islands.len(),
            barrels: copper.solution.barrels.len(),
        }
    }

    /// The resistances with copper at these rises (K) above a room (degC), leads at the room's temperature.
    pub fn ways(&self, circuit: &Circuit, heat: &CopperHeat, rise_k: &[f64], ambient_c: f64) -> Ways {
        let hot = |net: &NetCopper| {
            let islands = net.islands.iter().filter_map(|i| heat.islands.get(*i)).flatten();
            let barrels = net.barrels.iter().filter_map(|b| heat.barrels.get(*b));
            let (mut unit, mut warm) = (0.0, 0.0);
            for (cell, w) in islands.chain(barrels) {
                unit += w;
                warm += loss_w(*w, 1.0, ambient_c + rise_k[*cell]);
            }
            let warmth = if unit > 0.0 { warm / unit } else { loss_w(1.0, 1.0, ambient_c) };
            heat.ln_resistance.exp() * warmth
        };
        self.ways_with(circuit, ambient_c, hot)
    }

    /// The resistances with all at one temperature, degC.
    pub fn ways_at(&self, circuit: &Circuit, ambient_c: f64) -> Ways {
        self.ways_with(circuit, ambient_c, |_| loss_w(1.0, 1.0, ambient_c))
    }

    fn ways_with(&self, circuit: &Circuit, ambient_c: f64, hot: impl Fn(&NetCopper) -> f64) -> Ways {
        let lead = |supply: &crate::circuit::Supply| {
            super::lead::cold(supply.pads.lead, 1.0, ambient_c).map_or(0.0, |leads| leads.drop_v)
        };
        let mut ways = Ways {
            emitter_ohm: vec![0.0; circuit.lit.len()],
            trunks: Vec::new(),
            lead_ohm: circuit.supplies.iter().map(lead).collect(),
        };
        for net in &self.nets {
            let factor = hot(net);
            for (emitter, ohm) in &net.lands {
                ways.emitter_ohm[*emitter] += factor * ohm;
            }
            if net.trunk_ohm > 0.0 && !net.supplies.is_empty() {
                ways.trunks.push((factor * net.trunk_ohm, net.supplies.clone()));
            }
        }
        ways
    }

    /// Gives each island and plated hole its loss at these currents (A), over that at the nominal shares of the drive (A).
    pub fn scale(&self, heat: &mut CopperHeat, emitter_a: &[f64], drive_a: f64) {
        heat.island_factor = vec![1.0; self.islands];
        heat.barrel_factor = vec![1.0; self.barrels];
        for net in &self.nets {
            let nominal_w = net.unit_w * drive_a * drive_a;
            if nominal_w > 0.0 {
                let factor = net.loss_w(emitter_a) / nominal_w;
                net.islands.iter().for_each(|island| heat.island_factor[*island] = factor);
                net.barrels.iter().for_each(|barrel| heat.barrel_factor[*barrel] = factor);
            }
        }
    }
}

/// An emitter's land on a net.
struct Land {
    emitter: usize,
    /// 1 where its current comes into the copper, -1 where it leaves.
    sign: f64,
    voltage_v: f64,
    current_a: f64,
}

/// The contacts' states at other shares; `None` where they are not found.
fn at_shares(
    circuit: &Circuit,
    copper: &CopperLoss,
    share: &[f64],
    other: &[f64],
) -> Option<Vec<ContactState>> {
    if share.iter().zip(&circuit.lit).any(|(share, lit)| *lit && *share <= 0.0) {
        return None;
    }
    let mut problem = copper.problem.clone();
    let mut sums_a = vec![0.0; circuit.nodes.len()];
    let mut firsts = vec![None; circuit.nodes.len()];
    for (emitter, sides) in copper.wiring.lands.iter().enumerate() {
        let Some(nodes) = circuit.emitter_nodes[emitter] else { continue };
        for (contacts, node) in sides.iter().zip(nodes) {
            for contact in contacts {
                if let ContactKind::Land { current_a } = &mut problem.contacts[*contact].kind {
                    *current_a *= other[emitter] / share[emitter];
                    sums_a[node] += *current_a;
                    firsts[node] = firsts[node].or(Some(*contact));
                }
            }
        }
    }
    for (supply, sides) in circuit.supplies.iter().zip(&copper.wiring.pads) {
        for (pad, node) in sides.iter().zip(supply.nodes) {
            if let Some(ContactKind::Land { current_a }) = pad.map(|pad| &mut problem.contacts[pad].kind) {
                *current_a = -std::mem::take(&mut sums_a[node]);
            }
        }
    }
    for (first, left_a) in firsts.into_iter().zip(sums_a) {
        // What the search for the currents leaves over.
        if let Some(ContactKind::Land { current_a }) = first.map(|first| &mut problem.contacts[first].kind) {
            *current_a -= left_a;
        }
    }
    Some(solve(&problem, &options()).ok()?.contacts)
}

/// What a land's drop is made of: of the whole current and of its own, ohm each, from its drops (V) at two divisions.
fn parted_ohm((whole_a, land_a, drop_v): (f64, f64, f64), other: Option<(f64, f64, f64)>) -> (f64, f64) {
    /// Divisions nearer to one another than this tell nothing.
    const ALIKE: f64 = 1e-3;
    let alone = (drop_v.max(0.0) / whole_a, 0.0);
    let Some((other_whole_a, other_land_a, other_v)) = other else { return alone };
    let apart = whole_a * other_land_a - land_a * other_whole_a;
    if apart.abs() < ALIKE * whole_a * other_land_a.abs() {
        return alone;
    }
    let own = ((whole_a * other_v - other_whole_a * drop_v) / apart).clamp(0.0, alone.0 * whole_a / land_a);
    ((drop_v - own * land_a).max(0.0) / whole_a, own)
}

fn net_copper(
    circuit: &Circuit,
    copper: &CopperLoss,
    other: Option<&Vec<ContactState>>,
    node: usize,
    share: &[f64],
) -> Option<NetCopper> {
    let [net] = circuit.nodes[node].nets[..] else { return None };
    let (wiring, solution) = (&copper.wiring, &copper.solution);
    let at_node = lands(circuit, wiring, &solution.contacts, node);
    let other = other.map(|contacts| (contacts, lands(circuit, wiring, contacts, node)));
    let lands = at_node;
    let on_net = |layer: usize, polygon: usize| {
        let island = wiring.islands.get(layer).and_then(|all| all.get(polygon));
        island.is_some_and(|island| circuit.nets.islands[*island].net == net)
    };
    let numbered = |keep: &dyn Fn(usize) -> bool, count: usize| -> Vec<usize> {
        (0..count).filter(|index| keep(*index)).collect()
    };
    let islands =
        numbered(&|i| on_net(solution.islands[i].layer, solution.islands[i].polygon), solution.islands.len());
    let barrels = numbered(
        &|b| wiring.barrel_nets.get(solution.barrels[b].barrel) == Some(&net),
        solution.barrels.len(),
    );
    let unit_w: f64 = islands.iter().map(|i| solution.islands[*i].loss_w).sum::<f64>()
        + barrels.iter().map(|b| solution.barrels[*b].loss_w).sum::<f64>();
    if lands.is_empty() || unit_w <= 0.0 {
        return None;
    }
    let supplies: Vec<(usize, usize)> = circuit
        .supplies
        .iter()
        .enumerate()
        .filter(|(_, supply)| supply.root.is_some())
        .filter_map(|(index, supply)| Some((index, supply.nodes.iter().position(|n| *n == node)?)))
        .collect();
    let pad = supplies.iter().find_map(|(supply, side)| wiring.pads[*supply][*side]);
    let (mut found, common) =
        (NetCopper { islands, barrels, unit_w, ..NetCopper::default() }, Common::of(&lands, pad.is_some()));
    let whole_a = |lands: &[Land]| common.many(lands).map(|land| land.current_a).sum::<f64>();
    let first_v = |lands: &[Land], contacts: &[ContactState]| match (common, pad) {
        (Common::Pad(_), Some(pad)) => contacts.get(pad).map(|state| state.voltage_v),
        _ => common.few(lands).map(|land| land.voltage_v).reduce(|a, b| {
            // Where several lands feed several, the drop is counted from the least of it.
            if common.sign() < 0.0 { a.min(b) } else { a.max(b) }
        }),
    };
    let from_v = first_v(&lands, &solution.contacts)?;
    let drop = |land: &Land, from_v: f64| common.sign() * (land.voltage_v - from_v);
    let mut ways: Vec<(usize, f64, f64, f64)> = Vec::new();
    for land in common.many(&lands) {
        let same = |other: &&Land| other.emitter == land.emitter && other.sign == land.sign;
        let otherwise = other.as_ref().and_then(|(contacts, lands)| {
            let land = lands.iter().find(same)?;
            Some((whole_a(lands), land.current_a, drop(land, first_v(lands, contacts)?)))
        });
        let (of_whole, own) = parted_ohm((whole_a(&lands), land.current_a, drop(land, from_v)), otherwise);
        ways.push((land.emitter, of_whole, own, land.current_a));
    }
    let trunk_ohm = ways.iter().map(|way| way.1).reduce(f64::min).unwrap_or(0.0);
    // What a land has more of than the trunk goes with its own current here.
    let own = |way: &(usize, f64, f64, f64)| way.2 + (way.1 - trunk_ohm) * whole_a(&lands) / way.3;
    found.lands = ways.iter().map(|way| (way.0, own(way))).collect();
    found.whole = ways.iter().map(|way| way.0).collect();
    match (common, &common.few(&lands).collect::<Vec<_>>()[..]) {
        (Common::Pad(_), _) => {
            found.trunk_ohm = trunk_ohm;
            found.supplies = supplies.iter().map(|(index, _)| *index).collect();
        }
        // The trunk is in series with the one.
        (_, [one]) => found.lands.push((one.emitter, trunk_ohm)),
        // No emitter's whole current: it is in series with those after it.
        _ => {
            let part = |way: &(usize, f64, f64, f64)| trunk_ohm * whole_a(&lands) / way.3;
            found.lands.iter_mut().zip(&ways).for_each(|(land, way)| land.1 += part(way));
        }
    }
    // Means over lands do not give the loss quite; the solved loss counts.
    let by_star_w = found.loss_w(share);
    if by_star_w > 0.0 {
        let factor = unit_w / by_star_w;
        found.lands.iter_mut().for_each(|(_, ohm)| *ohm *= factor);
        found.trunk_ohm *= factor;
    } else {
        let squares: f64 = lands.iter().map(|land| land.current_a * land.current_a).sum();
        found.lands.iter_mut().for_each(|(_, ohm)| *ohm = unit_w / squares);
    }
    Some(found)
}

/// Where the whole current of a net is, and on which side it is parted: 1 where currents come from many, -1 where they go to many.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Common {
    /// At a supply's pad.
    Pad(f64),
    /// At lands.
    Lands(f64),
}

impl Common {
    fn of(lands: &[Land], pad: bool) -> Self {
        let count = |sign: f64| lands.iter().filter(|land| land.sign == sign).count();
        let many = if count(1.0) > count(-1.0) { 1.0 } else { -1.0 };
        if pad { Self::Pad(many) } else { Self::Lands(many) }
    }

    fn sign(self) -> f64 {
        match self {
            Self::Pad(sign) | Self::Lands(sign) => sign,
        }
    }

    fn many(self, lands: &[Land]) -> impl Iterator<Item = &Land> {
        lands.iter().filter(move |land| land.sign == self.sign())
    }

    fn few(self, lands: &[Land]) -> impl Iterator<Item = &Land> {
        lands.iter().filter(move |land| land.sign != self.sign())
    }
}

/// The lands of lit emitters on a node, several of one kind as one.
fn lands(circuit: &Circuit, wiring: &Wiring, states: &[ContactState], node: usize) -> Vec<Land> {
    let mut found = Vec::new();
    for (emitter, lit) in circuit.lit.iter().enumerate() {
        let Some(pair) = circuit.emitter_nodes[emitter].filter(|_| *lit) else { continue };
        for (side, role) in [LandRole::Anode, LandRole::Cathode].into_iter().enumerate() {
            let sign = if role == LandRole::Anode { -1.0 } else { 1.0 };
            let contacts = &wiring.lands[emitter][side];
            let states = contacts.iter().filter_map(|c| states.get(*c));
            let (mut weighted, mut current_a) = (0.0, 0.0);
            for state in states {
                weighted += state.voltage_v * state.current_a;
                current_a += state.current_a;
            }
            if pair[side] == node && sign * current_a > 0.0 {
                found.push(Land {
                    emitter,
                    sign,
                    voltage_v: weighted / current_a,
                    current_a: current_a.abs(),
                });
            }
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::parted_ohm;

    /// Drops by hand: 10 mohm that the whole current takes, 30 mohm of a land's own, at two divisions.
    #[test]
    fn two_divisions_tell_the_trunk_from_a_lands_own_way() {
        let drop_v = |whole_a: f64, land_a: f64| 0.01 * whole_a + 0.03 * land_a;
        let at = |whole_a: f64, land_a: f64| (whole_a, land_a, drop_v(whole_a, land_a));
        for other in [at(1.0, 0.4), at(1.2, 0.5), at(0.8, 0.6)] {
            let (of_whole, own) = parted_ohm(at(1.0, 0.5), Some(other));
            assert!((of_whole - 0.01).abs() < 1e-12 && (own - 0.03).abs() < 1e-12, "{of_whole} {own}");
        }
        // Divisions alike tell nothing: all is the trunk's, and never less than nothing.
        let (of_whole, own) = parted_ohm(at(1.0, 0.5), Some(at(2.0, 1.0)));
        assert!((of_whole - 0.025).abs() < 1e-12 && own == 0.0);
        assert_eq!(parted_ohm((1.0, 0.5, 0.01), Some((1.0, 0.6, 0.005))).1, 0.0);
    }
}

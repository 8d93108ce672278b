//! What is said about the copper of a run.

use crate::as_built::{PlacedEmitter, Variant};
use crate::circuit::{Circuit, EmitterString};
use crate::copper_current::copper::{RULE_LABEL, TraceKind, trace_rise_k, trace_width_mm};
use crate::emitter_physics::forward_v;
use crate::findings::{CopperFinding, IslandFinding, NeckFinding, StringFinding};
use crate::gridding::Gridded;
use crate::parallel::{Parallel, Task};

use super::{CopperHeat, CopperLoss, lead, loss_w, supplies, warmth};

/// Rise, K, for which the width of the trace-width rule is told.
const RULE_RISE_K: f64 = 20.0;

/// At which drive, and how warm.
pub(crate) struct At<'a> {
    pub drive_a: f64,
    pub ambient_c: f64,
    pub rise_k: &'a [f64],
    pub junction_c: &'a [f64],
    /// Current of each emitter, A.
    pub emitter_a: &'a [f64],
    /// Electrical power of the emitters, W.
    pub emitters_w: f64,
    pub gridded: &'a Gridded,
    /// Coldest room in which the lamp is switched on, degC.
    pub coldest_c: f64,
    /// Where branches share a current.
    pub parted: Option<Parted<'a>>,
}

/// Branches that share a current, settled.
pub(crate) struct Parted<'a> {
    pub parallel: &'a Parallel,
    pub task: Task<'a>,
    /// Temperature of the room, degC.
    pub room_c: f64,
}

/// What a supply and its strings are like in one state.
pub(super) struct PartedState {
    /// Drop in the copper in series with each emitter, V.
    pub emitter_drop_v: Vec<f64>,
    /// What each supply's driver gives, V.
    pub supply_v: Vec<f64>,
    /// Of it the copper that all its strings take together, V.
    pub trunk_v: Vec<f64>,
}

impl Parted<'_> {
    /// The state settled, or at the first moment in a room of `cold_c` (degC); `edge` of the voltage tolerance added, -1 to 1.
    /// `None` where no currents are found.
    pub(super) fn state(&self, junction_c: &[f64], cold_c: Option<f64>, edge: f64) -> Option<PartedState> {
        let Self { parallel, task, room_c } = self;
        let cold = cold_c.map(|room_c| (vec![room_c; junction_c.len()], parallel.ways_at(room_c)));
        let (junction_c, ways) = match &cold {
            Some((junction_c, ways)) => (&junction_c[..], ways),
            None => (junction_c, task.ways),
        };
        let offset_v: Vec<f64> =
            parallel.emitters.iter().map(|e| edge * e.sheet.forward_v_tolerance_v).collect();
        let task = Task { ways, offset_v: &offset_v, ..*task };
        let found = parallel.currents(&task, junction_c)?;
        let all = 0..parallel.circuit.supplies.len();
        // Shares are sought with leads as warm as the room; what their own warmth adds, once settled, comes on top.
        let warmer_v = |s: usize| -> f64 {
            let (lead, current_a) = (parallel.circuit.supplies[s].pads.lead, found.supply_a[s]);
            let warm = lead::settled(lead, current_a, *room_c).filter(|_| cold_c.is_none());
            warm.map_or(0.0, |leads| leads.drop_v - ways.lead_ohm[s] * current_a)
        };
        Some(PartedState {
            emitter_drop_v: ways.emitter_ohm.iter().zip(&found.emitter_a).map(|(r, a)| r * a).collect(),
            supply_v: all
                .clone()
                .map(|s| parallel.supply_v(&task, &found, junction_c, s) + warmer_v(s))
                .collect(),
            trunk_v: all.map(|s| ways.trunk_v(s, &found.supply_a)).collect(),
        })
    }
}

/// The finding of a run from the copper at 1 A and 20 degC.
pub(crate) fn finding(
    variant: &Variant,
    copper: &CopperLoss,
    heat: &CopperHeat,
    at: &At<'_>,
) -> Option<CopperFinding> {
    let circuit = variant.circuit.as_ref()?;
    let losses = heat.island_losses_w(at.drive_a, at.ambient_c, at.rise_k);
    let barrels_w = heat.barrels_w(at.drive_a, at.ambient_c, at.rise_k);
    let loss: f64 = losses.iter().sum::<f64>() + barrels_w;
    let warm = at.parted.as_ref().and_then(|parted| parted.state(at.junction_c, None, 0.0));
    let cold = at.parted.as_ref().and_then(|parted| parted.state(at.junction_c, Some(at.ambient_c), 0.0));
    let mut strings: Vec<StringFinding> = circuit
        .strings
        .iter()
        .map(|string| {
            let mut found = string_finding(variant, circuit, copper, &losses, string, at);
            if let (Some(warm), Some(cold)) = (&warm, &cold) {
                share_string(&mut found, string, warm, cold);
                found.copper_loss_w = Some(shared_loss_w(string, warm, at, found.current_a));
            }
            found
        })
        .collect();
    let mut leads_w = 0.0;
    for (index, supply) in circuit.supplies.iter().enumerate() {
        let current_a = supply_current_a(variant, circuit, index, at);
        if let Some(leads) = lead::settled(supply.pads.lead, current_a, at.ambient_c) {
            leads_w += leads.loss_w;
        }
    }
    let all_w = at.emitters_w + loss + leads_w;
    let part = |w: f64| if all_w > 0.0 { w / all_w } else { 0.0 };
    for string in &mut strings {
        string.copper_loss_w =
            string.copper_drop_v.map(|drop_v| drop_v * string.current_a).or(string.copper_loss_w);
        string.copper_part_of_electrical = string.copper_loss_w.map(part);
    }
    let supplies = supplies::findings(variant, circuit, copper, &losses, &strings, at);
    let nets = &*circuit.nets;
    let mut islands: Vec<IslandFinding> = copper
        .solution
        .islands
        .iter()
        .zip(&losses)
        .enumerate()
        .map(|(number, (island, loss_w))| {
            // Currents go with the root of the loss, which is exact where an island carries one current.
            let flow = heat.factor(number).sqrt();
            let index = copper.wiring.islands[island.layer].get(island.polygon).copied();
            let hot = if island.loss_w > 0.0 { loss_w / island.loss_w } else { 0.0 };
            let group = copper.solution.groups.get(island.group);
            IslandFinding {
                net: index.map_or_else(String::new, |i| nets.label(nets.islands[i].net)),
                layer: copper.problem.layers[island.layer].name.clone(),
                area_mm2: index.map_or(0.0, |i| nets.islands[i].area_mm2),
                current_a: group.map_or(0.0, |group| group.in_a * at.drive_a * flow),
                loss_w: *loss_w,
                part_of_electrical: part(*loss_w),
                hottest_at_mm: island.hottest.map(|place| place.at_mm),
                hottest_w_per_cm2: island.hottest.map(|place| place.loss_w_per_cm2 * hot),
            }
        })
        .collect();
    islands.sort_by(|a, b| b.loss_w.total_cmp(&a.loss_w));
    let necks = copper
        .necks
        .iter()
        .map(|neck| {
            let island = &copper.solution.islands[neck.island];
            let hot = if island.loss_w > 0.0 { losses[neck.island] / island.loss_w } else { 0.0 };
            let flow = heat.factor(neck.island).sqrt();
            // A section across a bend counts up to a hundredth too much; no more flows than comes into its copper.
            let most_a = copper.solution.groups.get(island.group).map_or(neck.current_a, |group| group.in_a);
            let current_a = neck.current_a.min(most_a) * at.drive_a * flow;
            let thickness_um = 1e6 * island.thickness_m;
            let rule = trace_rise_k(TraceKind::External, current_a, neck.width_mm, thickness_um);
            let asked = trace_width_mm(TraceKind::External, current_a, RULE_RISE_K, thickness_um);
            let rise_k = warmth::rise_at_k(copper, at.gridded, at.rise_k, island.layer, neck.position_mm);
            NeckFinding {
                layer: copper.problem.layers[island.layer].name.clone(),
                at_mm: neck.position_mm,
                width_mm: neck.width_mm,
                length_mm: neck.length_mm,
                current_a,
                density_a_per_mm2: neck.density_a_per_mm2 * at.drive_a * flow,
                loss_w: neck.loss_w * hot,
                temperature_c: rise_k.map(|rise_k| at.ambient_c + rise_k),
                rise_k,
                ipc_2221_rise_k: rule.value,
                ipc_2221_in_range: rule.in_range,
                ipc_2221_width_mm: asked.value,
                ipc_2221_width_in_range: asked.in_range,
                free_width_mm: neck.free_width_mm,
                widening_saves_w: neck.widening_saves_w * hot,
            }
        })
        .collect();
    Some(CopperFinding {
        loss_w: loss,
        barrels_w,
        leads_w,
        part_of_electrical: part(loss),
        hottest: warmth::hottest(copper, heat, at.gridded, (at.ambient_c, at.rise_k)),
        drivers_w: supplies.iter().map(|supply| Some(supply.current_a * supply.driver_v?)).sum(),
        strings,
        supplies,
        islands,
        necks,
        ipc_2221_is: RULE_LABEL,
        pixel_mm: 1e3 * copper.solution.pitch_m,
        remarks: copper.remarks.clone(),
    })
}

/// The part of the drive current that flows through a string.
fn string_share(string: &EmitterString, emitters: &[PlacedEmitter]) -> f64 {
    string.part.entrance().into_iter().filter_map(|e| emitters.get(e)).map(|e| e.current_share).sum()
}

/// Current of a string, A.
fn string_current_a(variant: &Variant, string: &EmitterString, at: &At<'_>) -> f64 {
    if at.parted.is_none() {
        return string_share(string, &variant.emitters) * at.drive_a;
    }
    string.part.entrance().into_iter().filter_map(|e| at.emitter_a.get(e)).sum()
}

/// Current of a supply, A: what its strings take together.
pub(super) fn supply_current_a(variant: &Variant, circuit: &Circuit, supply: usize, at: &At<'_>) -> f64 {
    let strings = circuit.strings.iter().filter(|string| string.supply == supply);
    strings.map(|string| string_current_a(variant, string, at)).sum()
}

/// Puts the voltages of a shared current into a string's finding.
fn share_string(found: &mut StringFinding, string: &EmitterString, warm: &PartedState, cold: &PartedState) {
    let (supply, plain) = (string.supply, string.part.is_chain());
    let in_series: f64 = string.emitters.iter().filter_map(|e| warm.emitter_drop_v.get(*e)).sum();
    found.copper_drop_v = plain.then(|| in_series + warm.trunk_v.get(supply).copied().unwrap_or(0.0));
    found.driver_v = match (found.forward_v, found.copper_drop_v) {
        (Some(forward_v), Some(copper_v)) => Some(forward_v + copper_v + found.lead_drop_v.unwrap_or(0.0)),
        _ => warm.supply_v.get(supply).copied(),
    };
    found.driver_cold_v = cold.supply_v.get(supply).copied();
}

/// Loss in the copper of a string of any shape whose branches share a current, W: on each emitter's own way, and its part
/// of what all strings of the supply take together.
fn shared_loss_w(string: &EmitterString, warm: &PartedState, at: &At<'_>, current_a: f64) -> f64 {
    let own = |e: &usize| Some(warm.emitter_drop_v.get(*e)? * at.emitter_a.get(*e)?);
    let trunk_v = warm.trunk_v.get(string.supply).copied().unwrap_or(0.0);
    string.emitters.iter().filter_map(own).sum::<f64>() + trunk_v * current_a
}

/// Loss in the copper of a string of any shape whose currents are given by shares, W. By Tellegen's theorem it is what its
/// contacts and its part of the supply's pads put into the copper: their currents times their voltages. Each island's is
/// scaled as the loss of all is.
fn branching_loss_w(copper: &CopperLoss, losses: &[f64], string: &EmitterString, share: f64) -> Option<f64> {
    if copper.solution.contacts.is_empty() {
        return None;
    }
    let state = |contact: &usize| copper.solution.contacts.get(*contact);
    let mut unit_w = 0.0;
    for emitter in &string.emitters {
        for contact in copper.wiring.lands.get(*emitter)?.iter().flatten() {
            let state = state(contact)?;
            unit_w += state.current_a * state.voltage_v;
        }
    }
    let [plus, minus] = copper.wiring.pads[string.supply];
    unit_w += share * (state(&plus?)?.voltage_v - state(&minus?)?.voltage_v);
    let unit_loss_w: f64 = copper.solution.islands.iter().map(|i| i.loss_w).sum();
    (unit_loss_w > 0.0).then(|| unit_w * losses.iter().sum::<f64>() / unit_loss_w)
}

fn string_finding(
    variant: &Variant,
    circuit: &Circuit,
    copper: &CopperLoss,
    losses: &[f64],
    string: &EmitterString,
    at: &At<'_>,
) -> StringFinding {
    let current_a = string_current_a(variant, string, at);
    let supply = &circuit.supplies[string.supply];
    let supply_a = supply_current_a(variant, circuit, string.supply, at);
    let copper_drop = copper_drop_v(copper, losses, string, at.drive_a);
    let lead_drop_v = lead::settled(supply.pads.lead, supply_a, at.ambient_c).map(|l| l.drop_v);
    let cold_lead_v = lead::cold(supply.pads.lead, supply_a, at.ambient_c).map_or(0.0, |l| l.drop_v);
    let sum = |junction: &dyn Fn(usize) -> f64| -> f64 {
        string
            .emitters
            .iter()
            .map(|e| {
                let emitter = &variant.emitters[*e];
                let current_a = at.emitter_a.get(*e).copied().unwrap_or(0.0);
                forward_v(&emitter.sheet, current_a, junction(*e))
            })
            .sum()
    };
    let forward = sum(&|e| at.junction_c.get(e).copied().unwrap_or(at.ambient_c));
    let cold = sum(&|_| at.ambient_c);
    let plain = string.part.is_chain();
    let more = copper_drop.map(|drop| drop.0).unwrap_or(0.0) + lead_drop_v.unwrap_or(0.0);
    let more_cold =
        copper_drop.map(|drop| drop.1).unwrap_or(0.0) * loss_w(1.0, 1.0, at.ambient_c) + cold_lead_v;
    StringFinding {
        name: string.name.clone(),
        emitters: string.emitters.iter().map(|e| variant.emitters[*e].reference.clone()).collect(),
        current_a,
        copper_drop_v: copper_drop.map(|drop| drop.0),
        copper_loss_w: if plain {
            None
        } else {
            branching_loss_w(copper, losses, string, string_share(string, &variant.emitters))
        },
        copper_part_of_electrical: None,
        lead_drop_v,
        forward_v: plain.then_some(forward),
        driver_v: plain.then_some(forward + more),
        driver_cold_v: plain.then_some(cold + more_cold),
    }
}

/// Drop in the copper of a string whose emitters are one behind the other, V: warm, and at 20 degC. Between two emitters it is
/// the difference of the mean voltages of their lands; each island's is scaled as its loss is.
pub(super) fn copper_drop_v(
    copper: &CopperLoss,
    losses: &[f64],
    string: &EmitterString,
    drive_a: f64,
) -> Option<(f64, f64)> {
    if !string.part.is_chain() || copper.solution.contacts.is_empty() {
        return None;
    }
    let [plus, minus] = copper.wiring.pads[string.supply];
    let voltage = |contacts: &[usize]| -> Option<f64> {
        let all = contacts.iter().map(|c| copper.solution.contacts.get(*c));
        let (mut weighted, mut current) = (0.0, 0.0);
        for state in all {
            let state = state?;
            weighted += state.voltage_v * state.current_a;
            current += state.current_a;
        }
        (current != 0.0).then(|| weighted / current)
    };
    let mut before = vec![plus?];
    let mut cold = 0.0;
    for emitter in &string.emitters {
        let [anode, cathode] = &copper.wiring.lands[*emitter];
        cold += voltage(&before)? - voltage(anode)?;
        before.clone_from(cathode);
    }
    cold += voltage(&before)? - voltage(&[minus?])?;
    let (unit, warm): (f64, f64) =
        (copper.solution.islands.iter().map(|i| i.loss_w).sum(), losses.iter().sum());
    let factor = if unit > 0.0 && drive_a > 0.0 { warm / (unit * drive_a * drive_a) } else { 1.0 };
    Some((cold * drive_a * factor, cold * drive_a))
}

//! What is said about the copper of a run.

use crate::as_built::{PlacedEmitter, Variant};
use crate::circuit::{Circuit, EmitterString};
use crate::copper_current::copper::{Conductor, TraceKind, trace_rise_k};
use crate::emitter_physics::forward_v;
use crate::findings::{CopperFinding, IslandFinding, NeckFinding, StringFinding};

use super::{CopperHeat, CopperLoss, loss_w};

/// At which drive, and how warm.
pub(crate) struct At<'a> {
    pub drive_a: f64,
    pub ambient_c: f64,
    pub rise_k: &'a [f64],
    pub junction_c: &'a [f64],
    /// Electrical power of the emitters, W.
    pub emitters_w: f64,
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
    let barrels_w: f64 = 0.0
        + heat
            .barrels
            .iter()
            .map(|(cell, w)| loss_w(*w, at.drive_a, at.ambient_c + at.rise_k[*cell]))
            .sum::<f64>();
    let loss: f64 = losses.iter().sum::<f64>() + barrels_w;
    let strings: Vec<StringFinding> = circuit
        .strings
        .iter()
        .map(|string| string_finding(variant, circuit, copper, &losses, string, at))
        .collect();
    let mut leads_w = 0.0;
    for (index, supply) in circuit.supplies.iter().enumerate() {
        let current_a = supply_current_a(variant, circuit, index, at.drive_a);
        if let Some(lead) = lead(supply.pads.lead, current_a, at.ambient_c) {
            leads_w += lead.1;
        }
    }
    let nets = &*circuit.nets;
    let mut islands: Vec<IslandFinding> = copper
        .solution
        .islands
        .iter()
        .zip(&losses)
        .map(|(island, loss_w)| {
            let index = copper.wiring.islands[island.layer].get(island.polygon).copied();
            let hot = if island.loss_w > 0.0 { loss_w / island.loss_w } else { 0.0 };
            let group = copper.solution.groups.get(island.group);
            IslandFinding {
                net: index.map_or_else(String::new, |i| nets.label(nets.islands[i].net)),
                layer: copper.problem.layers[island.layer].name.clone(),
                area_mm2: index.map_or(0.0, |i| nets.islands[i].area_mm2),
                current_a: group.map_or(0.0, |group| group.in_a * at.drive_a),
                loss_w: *loss_w,
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
            let current_a = neck.current_a * at.drive_a;
            let rule = trace_rise_k(TraceKind::External, current_a, neck.width_mm, 1e6 * island.thickness_m);
            NeckFinding {
                layer: copper.problem.layers[island.layer].name.clone(),
                at_mm: neck.position_mm,
                width_mm: neck.width_mm,
                length_mm: neck.length_mm,
                current_a,
                density_a_per_mm2: neck.density_a_per_mm2 * at.drive_a,
                loss_w: neck.loss_w * hot,
                ipc_2221_rise_k: rule.value,
                ipc_2221_in_range: rule.in_range,
                free_width_mm: neck.free_width_mm,
                widening_saves_w: neck.widening_saves_w * hot,
            }
        })
        .collect();
    let all_w = at.emitters_w + loss + leads_w;
    Some(CopperFinding {
        loss_w: loss,
        barrels_w,
        leads_w,
        part_of_electrical: if all_w > 0.0 { loss / all_w } else { 0.0 },
        strings,
        islands,
        necks,
        pixel_mm: 1e3 * copper.solution.pitch_m,
        remarks: copper.remarks.clone(),
    })
}

/// The part of the drive current that flows through a string.
fn string_share(string: &EmitterString, emitters: &[PlacedEmitter]) -> f64 {
    string.part.entrance().into_iter().filter_map(|e| emitters.get(e)).map(|e| e.current_share).sum()
}

/// Current of a supply, A: what its strings take together.
fn supply_current_a(variant: &Variant, circuit: &Circuit, supply: usize, drive_a: f64) -> f64 {
    let strings = circuit.strings.iter().filter(|string| string.supply == supply);
    strings.map(|string| string_share(string, &variant.emitters) * drive_a).sum()
}

/// Drop and loss of both leads, V and W.
fn lead(lead: Option<crate::circuit::Lead>, current_a: f64, ambient_c: f64) -> Option<(f64, f64)> {
    let lead = lead?;
    let one = Conductor { length_m: lead.length_m, section_mm2: 1e6 * lead.section_m2 };
    let loss = one.carrying(current_a, ambient_c)?;
    Some((2.0 * loss.drop_v, 2.0 * loss.loss_w))
}

fn string_finding(
    variant: &Variant,
    circuit: &Circuit,
    copper: &CopperLoss,
    losses: &[f64],
    string: &EmitterString,
    at: &At<'_>,
) -> StringFinding {
    let share = string_share(string, &variant.emitters);
    let current_a = share * at.drive_a;
    let supply = &circuit.supplies[string.supply];
    let supply_a = supply_current_a(variant, circuit, string.supply, at.drive_a);
    let copper_drop = copper_drop_v(copper, losses, string, at.drive_a);
    let lead_drop_v = lead(supply.pads.lead, supply_a, at.ambient_c).map(|lead| lead.0);
    let sum = |junction: &dyn Fn(usize) -> f64| -> f64 {
        string
            .emitters
            .iter()
            .map(|e| {
                let emitter = &variant.emitters[*e];
                forward_v(&emitter.sheet, emitter.current_share * at.drive_a, junction(*e))
            })
            .sum()
    };
    let forward = sum(&|e| at.junction_c.get(e).copied().unwrap_or(at.ambient_c));
    let cold = sum(&|_| at.ambient_c);
    let plain = string.part.is_chain();
    let more = copper_drop.map(|drop| drop.0).unwrap_or(0.0) + lead_drop_v.unwrap_or(0.0);
    let more_cold = copper_drop.map(|drop| drop.1).unwrap_or(0.0) * loss_w(1.0, 1.0, at.ambient_c)
        + lead_drop_v.unwrap_or(0.0);
    StringFinding {
        name: string.name.clone(),
        emitters: string.emitters.iter().map(|e| variant.emitters[*e].reference.clone()).collect(),
        current_a,
        copper_drop_v: copper_drop.map(|drop| drop.0),
        lead_drop_v,
        forward_v: plain.then_some(forward),
        driver_v: plain.then_some(forward + more),
        driver_cold_v: plain.then_some(cold + more_cold),
    }
}

/// Drop in the copper of a string whose emitters are one behind the other, V: warm, and at 20 degC. Between two emitters it is
/// the difference of the mean voltages of their lands; each island's is scaled as its loss is.
fn copper_drop_v(
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

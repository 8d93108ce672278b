//! What each supply's driver must give: settled, at a cold start, and at the edges of the voltage tolerance.

use crate::as_built::Variant;
use crate::circuit::{Circuit, EmitterString};
use crate::emitter_physics::forward_v;
use crate::findings::{StringFinding, SupplyFinding};

use super::finding::{At, copper_drop_v, supply_current_a};
use super::{CopperLoss, lead, loss_w};

/// The findings of the supplies that light something.
pub(super) fn findings(
    variant: &Variant,
    circuit: &Circuit,
    copper: &CopperLoss,
    losses: &[f64],
    strings: &[StringFinding],
    at: &At<'_>,
) -> Vec<SupplyFinding> {
    let needs = Needs { variant, circuit, copper, losses, strings, at };
    let settled = [-1.0, 0.0, 1.0].map(|edge| needs.all_v(None, edge));
    let cold = [0.0, 1.0].map(|edge| needs.all_v(Some(at.coldest_c), edge));
    let lit = circuit.supplies.iter().enumerate().filter(|(_, supply)| supply.root.is_some());
    lit.map(|(index, supply)| {
        let current_a = supply_current_a(variant, circuit, index, at);
        let of = |all: &[Option<f64>]| all.get(index).copied().flatten();
        let [driver_low_v, driver_v, driver_high_v] = [0, 1, 2].map(|edge| of(&settled[edge]));
        let [cold_v, cold_high_v] = [0, 1].map(|edge| of(&cold[edge]));
        let (least, most) = (supply.pads.voltage_least_v, supply.pads.voltage_most_v);
        let leads = lead::settled(supply.pads.lead, current_a, at.ambient_c);
        let less = |a: Option<f64>, b: Option<f64>| Some(a? - b?);
        SupplyFinding {
            name: supply.pads.name.clone(),
            current_a,
            lead_loss_w: leads.map(|leads| leads.loss_w),
            lead_c: leads.map(|leads| leads.temperature_c),
            driver_v,
            driver_low_v,
            driver_high_v,
            cold_c: at.coldest_c,
            cold_v,
            cold_high_v,
            voltage_least_v: least,
            voltage_most_v: most,
            headroom_v: less(most, driver_high_v),
            cold_headroom_v: less(most, cold_high_v),
            least_headroom_v: less(driver_low_v, least),
        }
    })
    .collect()
}

struct Needs<'a> {
    variant: &'a Variant,
    circuit: &'a Circuit,
    copper: &'a CopperLoss,
    losses: &'a [f64],
    strings: &'a [StringFinding],
    at: &'a At<'a>,
}

impl Needs<'_> {
    /// Voltage of each supply, V: settled or in a cold room (degC), `edge` of the tolerance added. Junctions stay those of
    /// emitters as their sheets say.
    fn all_v(&self, cold_c: Option<f64>, edge: f64) -> Vec<Option<f64>> {
        if let Some(parted) = &self.at.parted {
            // The strings say the same but for what the search for the currents leaves over; the power adds up by theirs.
            if cold_c.is_some() || edge != 0.0 {
                let state = parted.state(self.at.junction_c, cold_c, edge);
                return state.map_or_else(Vec::new, |state| state.supply_v.into_iter().map(Some).collect());
            }
        }
        (0..self.circuit.supplies.len()).map(|supply| self.mean_v(supply, cold_c, edge)).collect()
    }

    /// The strings' voltages by their currents: one voltage where Kirchhoff's laws hold, and their power where shares given by
    /// hand contradict them.
    fn mean_v(&self, supply: usize, cold_c: Option<f64>, edge: f64) -> Option<f64> {
        let (mut power_w, mut current_a, mut volts) = (0.0, 0.0, Vec::new());
        for (string, found) in self.circuit.strings.iter().zip(self.strings) {
            if string.supply != supply {
                continue;
            }
            let v = self.string_v(string, found, cold_c, edge)?;
            volts.push(v);
            power_w += v * found.current_a;
            current_a += found.current_a;
        }
        match volts[..] {
            [alone] => Some(alone),
            _ => (current_a > 0.0).then_some(power_w / current_a),
        }
    }

    fn string_v(
        &self,
        string: &EmitterString,
        found: &StringFinding,
        cold_c: Option<f64>,
        edge: f64,
    ) -> Option<f64> {
        let sheet = |emitter: &usize| &self.variant.emitters[*emitter].sheet;
        let tolerance_v: f64 = string.emitters.iter().map(|e| sheet(e).forward_v_tolerance_v).sum();
        let Some(cold_c) = cold_c else { return Some(found.driver_v? + edge * tolerance_v) };
        if !string.part.is_chain() {
            return None;
        }
        let current_a = |emitter: &usize| self.at.emitter_a.get(*emitter).copied().unwrap_or(0.0);
        let forward: f64 = string.emitters.iter().map(|e| forward_v(sheet(e), current_a(e), cold_c)).sum();
        let copper = copper_drop_v(self.copper, self.losses, string, self.at.drive_a);
        let supply = &self.circuit.supplies[string.supply];
        let supply_a = supply_current_a(self.variant, self.circuit, string.supply, self.at);
        let lead_v = lead::cold(supply.pads.lead, supply_a, cold_c).map_or(0.0, |leads| leads.drop_v);
        let copper_v = copper.map_or(0.0, |(_, at_20_degc)| at_20_degc * loss_w(1.0, 1.0, cold_c));
        Some(forward + edge * tolerance_v + copper_v + lead_v)
    }
}

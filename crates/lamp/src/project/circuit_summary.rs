//! The traced circuit as understood, for `check`.

use artwork::shape::Point;
use serde::Serialize;

use crate::as_built::PlacedEmitter;
use crate::circuit::sharing::{Conditions, Drive};
use crate::circuit::{Circuit, GroupSpread, Lead, Part, SupplyPad, spreads};

/// The circuit of a variant.
#[derive(Debug, Clone, Serialize)]
pub struct CircuitSummary {
    /// The supplies.
    pub supplies: Vec<SupplySummary>,
    /// The strings, supply by supply.
    pub strings: Vec<StringSummary>,
    /// Branches side by side, which share a current.
    pub parallel_groups: Vec<GroupSummary>,
    /// References of emitters that are part of no string.
    pub unlit: Vec<String>,
}

/// A supply.
#[derive(Debug, Clone, Serialize)]
pub struct SupplySummary {
    /// Name.
    pub name: String,
    /// Where current goes in.
    pub plus: PadSummary,
    /// Where it comes out.
    pub minus: PadSummary,
    /// Each of its two leads, where given.
    pub lead: Option<LeadSummary>,
}

/// A supply pad.
#[derive(Debug, Clone, Serialize)]
pub struct PadSummary {
    /// As it was told.
    pub pad: String,
    /// Its net.
    pub net: String,
    /// Place, mm; `null` where only a net is told.
    pub at_mm: Option<[f64; 2]>,
}

/// A lead.
#[derive(Debug, Clone, Serialize)]
pub struct LeadSummary {
    /// Length, mm.
    pub length_mm: f64,
    /// Copper cross-section, mm².
    pub section_mm2: f64,
}

/// A string.
#[derive(Debug, Clone, Serialize)]
pub struct StringSummary {
    /// Name.
    pub name: String,
    /// Name of its supply.
    pub supply: String,
    /// References from + to -.
    pub refs: Vec<String>,
    /// How they hang together: `D1, (D2 | D3)`, branches side by side in brackets.
    pub layout: String,
}

/// Branches side by side.
#[derive(Debug, Clone, Serialize)]
pub struct GroupSummary {
    /// How each branch hangs together.
    pub branches: Vec<String>,
    /// How far the largest branch current lies above their mean, %, emitters as their sheets say.
    pub imbalance_percent: f64,
    /// The same with one branch at the low edge of the voltage tolerance and the others at the high one.
    pub worst_imbalance_percent: f64,
    /// The largest emitter current in that case at the nominal drive, A.
    pub worst_emitter_a: f64,
}

fn mm(at: Point) -> [f64; 2] {
    [f64::from(at.x_nm) / 1e6, f64::from(at.y_nm) / 1e6]
}

impl CircuitSummary {
    pub(super) fn of(circuit: &Circuit, emitters: &[PlacedEmitter], drive: Drive) -> Self {
        let name = |index: usize| emitters.get(index).map_or_else(String::new, |e| e.reference.clone());
        let words = |part: &Part| part.words(&name);
        let pad = |pad: &SupplyPad| PadSummary {
            pad: pad.told.clone(),
            net: circuit.nets.label(pad.net),
            at_mm: pad.at.map(mm),
        };
        let lead =
            |lead: &Lead| LeadSummary { length_mm: lead.length_m * 1e3, section_mm2: lead.section_m2 * 1e6 };
        let group = |group: &GroupSpread| GroupSummary {
            branches: group.branches.iter().map(words).collect(),
            imbalance_percent: group.imbalance_percent,
            worst_imbalance_percent: group.worst_imbalance_percent,
            worst_emitter_a: group.worst_emitter_a,
        };
        // Why currents are not found has been told with the shares.
        let spreads = spreads(circuit, emitters, drive, &Conditions::by_sheet(circuit, emitters));
        Self {
            supplies: circuit
                .supplies
                .iter()
                .map(|supply| SupplySummary {
                    name: supply.pads.name.clone(),
                    plus: pad(&supply.pads.plus),
                    minus: pad(&supply.pads.minus),
                    lead: supply.pads.lead.as_ref().map(lead),
                })
                .collect(),
            strings: circuit
                .strings
                .iter()
                .map(|string| StringSummary {
                    name: string.name.clone(),
                    supply: circuit.supplies[string.supply].pads.name.clone(),
                    refs: string.emitters.iter().map(|index| name(*index)).collect(),
                    layout: words(&string.part),
                })
                .collect(),
            parallel_groups: spreads.unwrap_or_default().iter().map(group).collect(),
            unlit: (0..emitters.len())
                .filter(|index| !circuit.lit.get(*index).is_some_and(|lit| *lit))
                .map(name)
                .collect(),
        }
    }
}

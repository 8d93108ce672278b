//! The lamp's circuit: from copper nets, emitter lands and supply pads to strings.
//!
//! Nodes are nets, or several that an emitter's lands of one kind join; edges are emitters, from the node of the anode land
//! to that of the cathode land. A string is one of the branches side by side between the two pads of a supply. Other parts,
//! such as resistors and links, are not followed: what they would join is told as a gap.

mod curve;
mod dense;
mod lands;
mod network;
mod pads;
mod part;
mod reduction;
pub mod sharing;
mod spread;
mod telling;

#[cfg(test)]
pub(crate) mod boards;
#[cfg(test)]
mod sharing_tests;
#[cfg(test)]
mod tests;

use std::collections::BTreeMap;
use std::sync::Arc;

use artwork::nets::Nets;
use artwork::roles::Role;
use artwork::shape::{Area, Point};

use crate::as_built::{LandRole, PlacedEmitter};
use lands::Footing;
pub use pads::{PadPlace, SupplyPad};
pub use part::{MeshPart, Part};
use reduction::between;
pub use spread::{GroupSpread, spreads};

/// The traced circuit of a variant.
#[derive(Debug, Clone)]
pub struct Circuit {
    /// The supplies, in the order of the project text.
    pub supplies: Vec<Supply>,
    /// The strings, supply by supply.
    pub strings: Vec<EmitterString>,
    /// Branches side by side anywhere in a supply's circuit, strings among them, the outermost first.
    pub parallel_groups: Vec<ParallelGroup>,
    /// Where copper joins emitters and supply pads.
    pub nodes: Vec<Node>,
    /// Nodes of each emitter's anode and cathode; `None` where its lands do not tell them.
    pub emitter_nodes: Vec<Option<[usize; 2]>>,
    /// Whether each emitter is part of a string.
    pub lit: Vec<bool>,
    /// Copper of the board, to which nodes and contacts refer.
    pub nets: Arc<Nets>,
    /// Faults of the circuit and what is worth knowing of it.
    pub remarks: Vec<CircuitRemark>,
}

/// Where a supply meets the board, as given.
#[derive(Debug, Clone)]
pub struct SupplyPads {
    /// Name.
    pub name: String,
    /// Where the current goes in.
    pub plus: SupplyPad,
    /// Where it comes out.
    pub minus: SupplyPad,
    /// The two leads, where given.
    pub lead: Option<Lead>,
    /// Least voltage that its driver can give, V, where stated.
    pub voltage_least_v: Option<f64>,
    /// Most voltage that its driver can give, V, where stated.
    pub voltage_most_v: Option<f64>,
}

/// A copper lead between driver and board; a supply has two alike.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lead {
    /// Length of one lead, m; >= 0.
    pub length_m: f64,
    /// Copper cross-section, m²; > 0.
    pub section_m2: f64,
}

/// A supply of the circuit.
#[derive(Debug, Clone)]
pub struct Supply {
    /// Its pads and leads.
    pub pads: SupplyPads,
    /// Nodes of its + and - pad.
    pub nodes: [usize; 2],
    /// What lies between them; `None` where no current can flow, or where an earlier supply has the same nodes.
    pub root: Option<Part>,
    /// An earlier supply on the same nodes, which stands for this one too.
    pub same_as: Option<usize>,
}

/// One of the branches between a supply's pads.
#[derive(Debug, Clone, PartialEq)]
pub struct EmitterString {
    /// The supply's name, with a number where it has several strings.
    pub name: String,
    /// The supply: an index into [`Circuit::supplies`].
    pub supply: usize,
    /// Its emitters from + to -: indices into the variant's emitters.
    pub emitters: Vec<usize>,
    /// How they hang together.
    pub part: Part,
}

/// Branches side by side.
#[derive(Debug, Clone, PartialEq)]
pub struct ParallelGroup {
    /// The supply: an index into [`Circuit::supplies`].
    pub supply: usize,
    /// The branches, two or more.
    pub branches: Vec<Part>,
}

/// Copper of one potential (but for its own resistance).
#[derive(Debug, Clone)]
pub struct Node {
    /// Its nets: one, or several that lands of one package join.
    pub nets: Vec<usize>,
    /// In words, such as `net "A1"`.
    pub label: String,
    /// Lands on it through which emitter current flows.
    pub contacts: Vec<Contact>,
}

/// An electrical land on copper.
#[derive(Debug, Clone)]
pub struct Contact {
    /// The emitter's index in the variant.
    pub emitter: usize,
    /// Anode or cathode.
    pub role: LandRole,
    /// The island: an index into [`Nets::islands`].
    pub island: usize,
    /// The land.
    pub area: Area,
}

/// What a remark is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Fault {
    /// Anode and cathode, two nets under a land, or both supply pads on one net.
    Short,
    /// A land on no copper.
    NoCopper,
    /// A gap in a string, or a net that ends.
    Open,
    /// An emitter whose anode looks to -.
    Reversed,
    /// A supply pad on a net of no emitter.
    WrongNet,
    /// A supply whose + and - are exchanged.
    Exchanged,
    /// Something that could not be followed.
    NotFollowed,
    /// What a thermal land is on; no fault.
    ThermalLand,
    /// Worth knowing.
    Worth,
}

/// Something about the circuit.
#[derive(Debug, Clone, PartialEq)]
pub struct CircuitRemark {
    /// What kind of thing.
    pub fault: Fault,
    /// Where, when it has a place.
    pub at: Option<Point>,
    /// In words, place in mm included.
    pub text: String,
}

impl CircuitRemark {
    /// `warning` for faults, `note` for the rest.
    #[must_use]
    pub fn severity(&self) -> &'static str {
        if matches!(self.fault, Fault::ThermalLand | Fault::Worth) { "note" } else { "warning" }
    }
}

impl Circuit {
    /// Traces the circuit of emitters that stand on a copper layer.
    #[must_use]
    pub fn trace(
        nets: Arc<Nets>,
        layer: Role,
        emitters: &[PlacedEmitter],
        supplies: Vec<SupplyPads>,
    ) -> Self {
        let mut remarks = Vec::new();
        let footings = lands::footings(&nets, layer, emitters, &mut remarks);
        let (node_of, mut nodes) = nodes(&nets, &footings, &supplies);
        let of = |net: usize| node_of.get(&net).copied();
        let mut emitter_nodes = Vec::new();
        for footing in &footings {
            let pair =
                footing.net(LandRole::Anode).and_then(of).zip(footing.net(LandRole::Cathode).and_then(of));
            emitter_nodes.push(pair.map(|(anode, cathode)| [anode, cathode]));
        }
        for contact in footings.iter().flat_map(|footing| &footing.contacts) {
            if let Some(node) = of(nets.islands[contact.island].net) {
                nodes[node].contacts.push(contact.clone());
            }
        }
        let mut circuit = Self {
            supplies: Vec::new(),
            strings: Vec::new(),
            parallel_groups: Vec::new(),
            nodes,
            lit: vec![false; emitters.len()],
            emitter_nodes,
            nets,
            remarks,
        };
        for index in 0..circuit.nodes.len() {
            circuit.nodes[index].label = telling::node_words(&circuit, index, emitters);
        }
        lands::say_shorts(&mut circuit, emitters);
        lands::say_thermal(&mut circuit, &footings, emitters);
        let mut traced = Vec::new();
        for pads in supplies {
            let pair = [of(pads.plus.net), of(pads.minus.net)];
            if let [Some(plus), Some(minus)] = pair {
                traced.push(circuit.add(pads, [plus, minus]));
            }
        }
        telling::say_supplies(&mut circuit, emitters, &traced);
        circuit
    }

    fn add(&mut self, pads: SupplyPads, nodes: [usize; 2]) -> reduction::Between {
        let supply = self.supplies.len();
        let same_as = self.supplies.iter().position(|other| other.nodes == nodes);
        let edge = |pair: &Option<[usize; 2]>| {
            let [anode, cathode] = (*pair)?;
            (anode != cathode).then_some(reduction::Edge { anode, cathode })
        };
        let edges: Vec<Option<reduction::Edge>> = self.emitter_nodes.iter().map(edge).collect();
        let mut found = if same_as.is_none() {
            between(&edges, nodes[0], nodes[1])
        } else {
            reduction::Between::default()
        };
        let root = found.root.take();
        if let Some(root) = &root {
            let branches = root.branches();
            for (index, part) in branches.iter().enumerate() {
                let name = if branches.len() > 1 {
                    format!("{} {}", pads.name, index + 1)
                } else {
                    pads.name.clone()
                };
                let emitters = part.emitters();
                self.strings.push(EmitterString { name, supply, emitters, part: part.clone() });
            }
            let mut groups = Vec::new();
            root.groups(&mut groups);
            self.parallel_groups
                .extend(groups.into_iter().map(|parts| ParallelGroup { supply, branches: parts.to_vec() }));
            for emitter in root.emitters() {
                self.lit[emitter] = true;
            }
        }
        self.supplies.push(Supply { pads, nodes, root, same_as });
        found
    }
}

/// Nodes: the nets of electrical lands and supply pads, those joined that one package joins.
fn nodes(nets: &Nets, footings: &[Footing], supplies: &[SupplyPads]) -> (BTreeMap<usize, usize>, Vec<Node>) {
    let mut joined: BTreeMap<usize, usize> = BTreeMap::new();
    fn first(joined: &BTreeMap<usize, usize>, mut net: usize) -> usize {
        while let Some(&before) = joined.get(&net).filter(|before| **before != net) {
            net = before;
        }
        net
    }
    let on_nets = |footing: &Footing, role: LandRole| -> Vec<usize> {
        footing.contacts.iter().filter(|c| c.role == role).map(|c| nets.islands[c.island].net).collect()
    };
    for footing in footings {
        for role in [LandRole::Anode, LandRole::Cathode] {
            let own = on_nets(footing, role);
            for &net in &own {
                joined.entry(net).or_insert(net);
                let (a, b) = (first(&joined, own[0]), first(&joined, net));
                joined.insert(a.max(b), a.min(b));
            }
        }
    }
    for net in supplies.iter().flat_map(|supply| [supply.plus.net, supply.minus.net]) {
        joined.entry(net).or_insert(net);
    }
    let mut node_of = BTreeMap::new();
    let mut nodes: Vec<Node> = Vec::new();
    for &net in joined.keys() {
        // The first of a group comes before its others.
        let head = first(&joined, net);
        let node = *node_of.get(&head).unwrap_or(&nodes.len());
        if node == nodes.len() {
            nodes.push(Node { nets: Vec::new(), label: String::new(), contacts: Vec::new() });
        }
        nodes[node].nets.push(net);
        node_of.insert(net, node);
    }
    (node_of, nodes)
}

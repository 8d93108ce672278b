//! On which copper the lands of each emitter stand.

use artwork::nets::{Nets, Overlap};
use artwork::roles::Role;
use artwork::shape::{Area, Point};

use super::telling::{NAMES, at_words, listed};
use super::{Circuit, CircuitRemark, Contact, Fault};
use crate::as_built::{LandRole, PlacedEmitter, PlacedLand};

/// Part of a land over a second net that solder would join; less is rounding, or a land drawn a little larger than its pad.
const BRIDGED: f64 = 0.05;

/// Where an emitter's lands stand.
pub(super) struct Footing {
    /// Electrical lands on copper.
    pub contacts: Vec<Contact>,
    /// Nets under its thermal lands, and where.
    pub thermal: Vec<(usize, Point)>,
    /// First net of the anode and of the cathode.
    nets: [Option<usize>; 2],
}

impl Footing {
    /// The net of its first anode or cathode land.
    pub fn net(&self, role: LandRole) -> Option<usize> {
        match role {
            LandRole::Anode => self.nets[0],
            LandRole::Cathode => self.nets[1],
            LandRole::Thermal => None,
        }
    }
}

pub(super) fn role_word(role: LandRole) -> &'static str {
    match role {
        LandRole::Thermal => "thermal",
        LandRole::Anode => "anode",
        LandRole::Cathode => "cathode",
    }
}

/// The middle of an area's upright rectangle.
pub(super) fn middle(area: &Area) -> Point {
    area.bounds().map_or_else(Point::default, |b| {
        let mean = |a: i32, b: i32| (f64::from(a) + f64::from(b)) / 2.0;
        Point::rounded(mean(b.min.x_nm, b.max.x_nm), mean(b.min.y_nm, b.max.y_nm))
    })
}

/// Finds the copper under all lands.
pub(super) fn footings(
    nets: &Nets,
    layer: Role,
    emitters: &[PlacedEmitter],
    remarks: &mut Vec<CircuitRemark>,
) -> Vec<Footing> {
    let mut found = Vec::new();
    for (index, emitter) in emitters.iter().enumerate() {
        let mut footing = Footing { contacts: Vec::new(), thermal: Vec::new(), nets: [None, None] };
        for land in &emitter.lands {
            let under = nets.islands_under(layer, &land.area);
            say_land(nets, emitter, land, &under, remarks);
            let Some(most) = under.first() else { continue };
            let net = nets.islands[most.island].net;
            if land.role == LandRole::Thermal {
                footing.thermal.push((net, middle(&land.area)));
                continue;
            }
            footing.nets[usize::from(land.role == LandRole::Cathode)].get_or_insert(net);
            footing.contacts.push(Contact {
                emitter: index,
                role: land.role,
                island: most.island,
                area: land.area.clone(),
            });
        }
        found.push(footing);
    }
    let untold: Vec<&str> = emitters
        .iter()
        .filter(|emitter| {
            let has = |role| emitter.lands.iter().any(|land| land.role == role);
            !has(LandRole::Anode) || !has(LandRole::Cathode)
        })
        .map(|emitter| emitter.reference.as_str())
        .collect();
    if !untold.is_empty() {
        let text = format!(
            "{}: the emitter sheet has no anode and cathode land, so the strings cannot be traced through {}",
            listed(&untold, NAMES),
            if untold.len() == 1 { "it" } else { "them" }
        );
        remarks.push(CircuitRemark { fault: Fault::NotFollowed, at: None, text });
    }
    found
}

fn say_land(
    nets: &Nets,
    emitter: &PlacedEmitter,
    land: &PlacedLand,
    under: &[Overlap],
    remarks: &mut Vec<CircuitRemark>,
) {
    let at = middle(&land.area);
    let whose = format!("{}'s {} land at {}", emitter.reference, role_word(land.role), at_words(at));
    let Some(most) = under.first() else {
        let text = format!("{whose} stands on no copper");
        remarks.push(CircuitRemark { fault: Fault::NoCopper, at: Some(at), text });
        return;
    };
    let net = nets.islands[most.island].net;
    let second = under.iter().find(|other| {
        nets.islands[other.island].net != net && other.area_mm2 > BRIDGED * land.area.area_mm2()
    });
    if let Some(second) = second {
        let text = format!(
            "short: {whose} lies on two nets, {:.3} mm2 of it on \"{}\" and {:.3} mm2 on \"{}\"; its solder would join them",
            most.area_mm2,
            nets.label(net),
            second.area_mm2,
            nets.label(nets.islands[second.island].net)
        );
        remarks.push(CircuitRemark { fault: Fault::Short, at: Some(at), text });
    }
}

/// Emitters whose anode and cathode are one node.
pub(super) fn say_shorts(circuit: &mut Circuit, emitters: &[PlacedEmitter]) {
    for (index, pair) in circuit.emitter_nodes.iter().enumerate() {
        let Some([anode, cathode]) = *pair else { continue };
        if anode != cathode {
            continue;
        }
        let contacts = || circuit.nodes[anode].contacts.iter().filter(|contact| contact.emitter == index);
        let island = |role| contacts().find(|contact| contact.role == role).map(|contact| contact.island);
        let how = if island(LandRole::Anode) == island(LandRole::Cathode) {
            "are on one piece of copper"
        } else {
            "are joined"
        };
        let at = contacts().next().map(|contact| middle(&contact.area));
        let text = format!(
            "short: anode and cathode land of {} at {} {how}, {}",
            emitters[index].reference,
            at_words(emitters[index].at),
            circuit.nodes[anode].label
        );
        circuit.remarks.push(CircuitRemark { fault: Fault::Short, at, text });
    }
}

/// Thermal lands on nets that carry current; one on a net of its own is as it should be.
pub(super) fn say_thermal(circuit: &mut Circuit, footings: &[Footing], emitters: &[PlacedEmitter]) {
    let mut told: [(Vec<&str>, Option<Point>); 3] = Default::default();
    for (index, footing) in footings.iter().enumerate() {
        let node = |net: usize| circuit.nodes.iter().position(|node| node.nets.contains(&net));
        for &(net, at) in &footing.thermal {
            let Some(node) = node(net) else { continue };
            let kind = match circuit.emitter_nodes[index] {
                Some([anode, _]) if anode == node => 0,
                Some([_, cathode]) if cathode == node => 1,
                _ => 2,
            };
            if told[kind].0.last() != Some(&emitters[index].reference.as_str()) {
                told[kind].0.push(&emitters[index].reference);
            }
            told[kind].1.get_or_insert(at);
        }
    }
    let words = ["its own anode", "its own cathode", "other emitters"];
    let mut remarks = Vec::new();
    for ((references, at), words) in told.into_iter().zip(words) {
        if references.is_empty() {
            continue;
        }
        let text = format!(
            "thermal land of {}: joined to the net of {words}; right where the package insulates it or the sheet allows it",
            listed(&references, NAMES)
        );
        remarks.push(CircuitRemark { fault: Fault::ThermalLand, at, text });
    }
    circuit.remarks.append(&mut remarks);
}

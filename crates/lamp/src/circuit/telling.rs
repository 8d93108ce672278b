//! What there is to say about supplies, gaps and emitters that stand the wrong way round.

use std::collections::{BTreeMap, BTreeSet};

use artwork::nets::NamedBy;
use artwork::shape::Point;

use super::lands::{middle, role_word};
use super::reduction::Between;
use super::{Circuit, CircuitRemark, Contact, Fault, SupplyPad};
use crate::as_built::PlacedEmitter;

/// Names that a remark lists.
pub(super) const NAMES: usize = 12;
/// Gaps that are written out.
const TOLD: usize = 20;

/// `12.000, 30.500 mm`.
pub(super) fn at_words(at: Point) -> String {
    format!("{:.3}, {:.3} mm", f64::from(at.x_nm) / 1e6, f64::from(at.y_nm) / 1e6)
}

/// Names with commas; after so many, how many more.
pub(super) fn listed(names: &[impl AsRef<str>], most: usize) -> String {
    let mut words: Vec<&str> = names.iter().take(most).map(AsRef::as_ref).collect();
    let more = format!("and {} more", names.len().saturating_sub(most));
    if names.len() > most {
        words.push(&more);
    }
    words.join(", ")
}

/// `net "A1"`, or `net 3 (cathode of D1, anode of D2)`.
pub(super) fn node_words(circuit: &Circuit, node: usize, emitters: &[PlacedEmitter]) -> String {
    const CONTACTS: usize = 4;
    let node = &circuit.nodes[node];
    let words = |net: &usize| -> String {
        let named = circuit.nets.nets.get(*net).is_some_and(|net| net.named_by != NamedBy::Number);
        let label = circuit.nets.label(*net);
        if named { format!("net \"{label}\"") } else { label }
    };
    let name = node.nets.iter().map(words).collect::<Vec<_>>().join(" = ");
    let pads = node.nets.iter().filter_map(|net| circuit.nets.nets.get(*net)).any(|net| !net.pads.is_empty());
    if name.contains('"') || pads || node.contacts.is_empty() {
        return name;
    }
    let contact = |c: &Contact| format!("{} of {}", role_word(c.role), emitters[c.emitter].reference);
    let contacts: Vec<String> = node.contacts.iter().map(contact).collect();
    format!("{name} ({})", listed(&contacts, CONTACTS))
}

/// Says what is wrong with supplies, and why emitters stay dark.
pub(super) fn say_supplies(circuit: &mut Circuit, emitters: &[PlacedEmitter], traced: &[Between]) {
    let mut remarks = Vec::new();
    let mut reversed = BTreeSet::new();
    let mut exchanged = BTreeSet::new();
    for (index, between) in traced.iter().enumerate() {
        let supply = &circuit.supplies[index];
        let [plus, minus] = supply.nodes;
        let name = &supply.pads.name;
        let pad = |pad: &SupplyPad| match pad.at {
            Some(at) if !pad.told.ends_with("mm") => format!("{} at {}", pad.told, at_words(at)),
            _ => pad.told.clone(),
        };
        let (at, words) = (supply.pads.plus.at, [pad(&supply.pads.plus), pad(&supply.pads.minus)]);
        let mut say = |fault, at, text| remarks.push(CircuitRemark { fault, at, text });
        if plus == minus {
            let text = format!(
                "short: + pad ({}) and - pad ({}) of supply {name} are on one net, {}",
                words[0], words[1], circuit.nodes[plus].label
            );
            say(Fault::Short, at, text);
            continue;
        }
        if let Some(other) = supply.same_as {
            let other = &circuit.supplies[other].pads.name;
            let text = format!("supply {name} is on the same nets as supply {other}, which stands for both");
            say(Fault::Worth, at, text);
            continue;
        }
        if between.too_meshed {
            let text = format!("supply {name}: its emitters are meshed or nested too deep to be followed");
            say(Fault::NotFollowed, at, text);
        }
        if between.exchanged {
            let text = format!(
                "supply {name}: + and - look exchanged: from {} to {} every emitter stands the wrong way round",
                words[0], words[1]
            );
            say(Fault::Exchanged, at, text);
            exchanged.extend(between.reversed.iter().copied());
        }
        reversed.extend(between.reversed.iter().copied());
        for (node, pad, words, sign) in
            [(plus, &supply.pads.plus, &words[0], '+'), (minus, &supply.pads.minus, &words[1], '-')]
        {
            let bare = circuit.nodes[node].contacts.is_empty();
            if bare {
                let text = format!(
                    "supply {name}: its {sign} pad ({words}) is on {}, and no emitter's land is on that net",
                    circuit.nodes[node].label
                );
                say(Fault::WrongNet, pad.at, text);
            }
        }
        let twice = supply.root.as_ref().and_then(|root| {
            let before = circuit.supplies[..index].iter().filter_map(|s| s.root.as_ref());
            let before: BTreeSet<usize> = before.flat_map(super::Part::emitters).collect();
            root.emitters().into_iter().find(|emitter| before.contains(emitter))
        });
        if let Some(emitter) = twice {
            let text = format!(
                "{} lies between the pads of supply {name} and between those of another supply",
                emitters[emitter].reference
            );
            say(Fault::Worth, Some(emitters[emitter].at), text);
        }
    }
    let mut dark = Dark { circuit, emitters, reversed, remarks };
    if !circuit.supplies.is_empty() {
        dark.say(&exchanged);
    }
    let mut remarks = dark.remarks;
    circuit.remarks.append(&mut remarks);
}

/// Emitters that no current reaches.
struct Dark<'a> {
    circuit: &'a Circuit,
    emitters: &'a [PlacedEmitter],
    reversed: BTreeSet<usize>,
    remarks: Vec<CircuitRemark>,
}

/// Dark emitters that hang together by nets of their own.
struct Group {
    emitters: Vec<usize>,
    /// Nodes where they hang on a supply pad or on a lit emitter.
    held: Vec<usize>,
    /// Nodes where they end.
    loose: Vec<usize>,
}

impl Dark<'_> {
    fn say(&mut self, exchanged: &BTreeSet<usize>) {
        let mut told = 0;
        let groups = self.groups();
        let mut paired = BTreeSet::new();
        for (index, group) in groups.iter().enumerate() {
            if paired.contains(&index) || group.emitters.iter().any(|emitter| exchanged.contains(emitter)) {
                continue;
            }
            told += 1;
            if told > TOLD {
                continue;
            }
            let against: Vec<usize> =
                group.emitters.iter().copied().filter(|emitter| self.reversed.contains(emitter)).collect();
            if !against.is_empty() {
                self.say_reversed(group, &against);
                continue;
            }
            let partner = self.partner(&groups, index, &paired);
            paired.extend(partner);
            self.say_gap(group, partner.map(|partner| &groups[partner]));
        }
        if told > TOLD {
            let text = format!("{} more groups of emitters carry no current", told - TOLD);
            self.remarks.push(CircuitRemark { fault: Fault::Open, at: None, text });
        }
    }

    fn groups(&self) -> Vec<Group> {
        let circuit = self.circuit;
        let mut held: BTreeSet<usize> = circuit.supplies.iter().flat_map(|supply| supply.nodes).collect();
        let mut at: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        let mut dark = Vec::new();
        for (emitter, pair) in circuit.emitter_nodes.iter().enumerate() {
            let Some(pair) = pair.filter(|[anode, cathode]| anode != cathode) else { continue };
            if circuit.lit[emitter] {
                held.extend(pair);
                continue;
            }
            dark.push(emitter);
            for node in pair {
                at.entry(node).or_default().push(emitter);
            }
        }
        let mut seen = BTreeSet::new();
        let mut groups = Vec::new();
        for start in dark {
            if !seen.insert(start) {
                continue;
            }
            let (mut own, mut nodes, mut open) = (vec![start], BTreeSet::new(), vec![start]);
            while let Some(emitter) = open.pop() {
                for node in circuit.emitter_nodes[emitter].into_iter().flatten() {
                    nodes.insert(node);
                    if held.contains(&node) {
                        continue;
                    }
                    for &next in at.get(&node).into_iter().flatten() {
                        if seen.insert(next) {
                            own.push(next);
                            open.push(next);
                        }
                    }
                }
            }
            own.sort_unstable();
            let (held, own_nodes): (Vec<usize>, Vec<usize>) =
                nodes.into_iter().partition(|node| held.contains(node));
            let ends = |node: &usize| at.get(node).is_some_and(|here| here.len() == 1);
            let loose = own_nodes.into_iter().filter(ends).collect();
            groups.push(Group { emitters: own, held, loose });
        }
        groups
    }

    /// A group at the other pad of a supply, which is the other side of the gap.
    fn partner(&self, groups: &[Group], index: usize, paired: &BTreeSet<usize>) -> Option<usize> {
        let group = groups.get(index).filter(|group| !group.loose.is_empty())?;
        let holds = |group: &Group, node: usize| group.held.contains(&node);
        let supply = self.circuit.supplies.iter().find(|supply| {
            let [plus, minus] = supply.nodes;
            holds(group, plus) != holds(group, minus)
        })?;
        let [plus, minus] = supply.nodes;
        let other = if holds(group, plus) { minus } else { plus };
        (index + 1..groups.len()).find(|candidate| {
            let theirs = &groups[*candidate];
            let reversed = theirs.emitters.iter().any(|emitter| self.reversed.contains(emitter));
            !paired.contains(candidate) && !theirs.loose.is_empty() && !reversed && holds(theirs, other)
        })
    }

    fn names(&self, emitters: &[usize]) -> String {
        let names: Vec<&str> =
            emitters.iter().map(|index| self.emitters[*index].reference.as_str()).collect();
        listed(&names, NAMES)
    }

    fn say_reversed(&mut self, group: &Group, against: &[usize]) {
        let others: Vec<usize> =
            group.emitters.iter().copied().filter(|emitter| !against.contains(emitter)).collect();
        let first = &self.emitters[against[0]];
        let (verb, own) =
            if against.len() == 1 { ("stands", "its anode looks") } else { ("stand", "their anodes look") };
        let mut text = format!(
            "{} at {} {verb} the wrong way round: {own} towards the - pad",
            self.names(against),
            at_words(first.at)
        );
        if !others.is_empty() {
            text += &format!("; no current reaches {} in series with it", self.names(&others));
        }
        self.remarks.push(CircuitRemark { fault: Fault::Reversed, at: Some(first.at), text });
    }

    /// A loose end in words, with its place: `net "A2" (cathode land of D2 at 12.000, 30.000 mm)`.
    fn end_words(&self, node: usize) -> (String, Option<Point>) {
        let node = &self.circuit.nodes[node];
        let Some(contact) = node.contacts.first() else { return (node.label.clone(), None) };
        let at = middle(&contact.area);
        let land =
            format!("{} land of {}", role_word(contact.role), self.emitters[contact.emitter].reference);
        (format!("{} ({land} at {})", node.label, at_words(at)), Some(at))
    }

    /// Pads of other parts on a node.
    fn others_on(&self, node: usize) -> Vec<(String, String)> {
        let own: BTreeSet<&str> = self.emitters.iter().map(|emitter| emitter.reference.as_str()).collect();
        let nets = &self.circuit.nets;
        let of = |net: &usize| nets.nets.get(*net).map_or(&[][..], |net| &net.pads);
        let pads = self.circuit.nodes[node].nets.iter().flat_map(of).filter_map(|pad| nets.pads.get(*pad));
        pads.filter(|pad| !own.contains(pad.reference.as_str()))
            .map(|pad| (pad.reference.clone(), pad.label()))
            .collect()
    }

    fn say_gap(&mut self, group: &Group, partner: Option<&Group>) {
        let carry = |count: usize| if count == 1 { "carries" } else { "carry" };
        let mut dark = group.emitters.clone();
        let (text, at) = match (partner, group.loose.first()) {
            (Some(partner), Some(&here)) => {
                let there = partner.loose.first().copied().unwrap_or(here);
                dark.extend(&partner.emitters);
                dark.sort_unstable();
                let ((from, at), (to, _)) = (self.end_words(here), self.end_words(there));
                let (near, far) = (self.others_on(here), self.others_on(there));
                let between = near.iter().find(|(part, _)| far.iter().any(|(other, _)| other == part));
                let between = between.map_or_else(String::new, |(part, _)| {
                    format!("; {part} stands between, and what it is is not known here")
                });
                (
                    format!(
                        "gap: nothing joins {from} and {to}{between}; {} {} no current",
                        self.names(&dark),
                        carry(dark.len())
                    ),
                    at,
                )
            }
            (_, Some(&here)) => {
                let (end, at) = self.end_words(here);
                let others = self.others_on(here);
                let goes_on = if others.is_empty() {
                    "goes on to no other emitter and to no supply pad".to_owned()
                } else {
                    let labels: Vec<&str> = others.iter().map(|(_, label)| label.as_str()).collect();
                    format!("goes on to {} only, which is not followed", listed(&labels, NAMES))
                };
                (format!("open: {end} {goes_on}; {} {} no current", self.names(&dark), carry(dark.len())), at)
            }
            _ => {
                let at = group.emitters.first().map(|emitter| self.emitters[*emitter].at);
                let place = at.map(at_words).unwrap_or_default();
                (
                    format!(
                        "open: {} {} no current: no way leads through from a + pad to a - pad (the first is at {place})",
                        self.names(&dark),
                        carry(dark.len())
                    ),
                    at,
                )
            }
        };
        self.remarks.push(CircuitRemark { fault: Fault::Open, at, text });
    }
}

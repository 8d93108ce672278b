//! What nets are called, and in which order they are listed.

use std::collections::BTreeMap;

use super::joining::Groups;
use super::signs::{Standing, by_group, read_netlists, read_objects};
use super::telling::{say_differences, say_opens, say_shorts};
use super::{NamedBy, Net, Nets};
use crate::reading::Artwork;

/// Makes nets of the groups of islands and names them.
pub(super) fn name(artwork: &Artwork, mut groups: Groups, nets: &mut Nets) {
    let mut remarks = Vec::new();
    let drawn = read_objects(artwork, nets);
    let tested = read_netlists(artwork, nets, &mut remarks);
    let first: Vec<usize> = (0..nets.islands.len()).map(|island| groups.first(island)).collect();
    let (artwork_names, netlist_names) = (by_group(&drawn, &first), by_group(&tested, &first));
    for (signs, standing) in [(&drawn, &artwork_names), (&tested, &netlist_names)] {
        say_shorts(signs, standing, &mut remarks);
        say_opens(signs, standing, &mut remarks);
    }
    say_differences(&artwork_names, &netlist_names, &tested, &mut remarks);
    number_and_order(&first, &artwork_names, &netlist_names, nets);
    nets.remarks.append(&mut remarks);
}

/// Makes the list of nets: named ones by name, then the others, the largest first.
fn number_and_order(
    first: &[usize],
    artwork: &BTreeMap<usize, Standing<'_>>,
    netlist: &BTreeMap<usize, Standing<'_>>,
    nets: &mut Nets,
) {
    let mut members: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for (island, &group) in first.iter().enumerate() {
        members.entry(group).or_default().push(island);
    }
    let mut list: Vec<Net> = members
        .into_iter()
        .map(|(group, islands)| {
            let of = |source: &BTreeMap<usize, Standing<'_>>| -> Vec<String> {
                source
                    .get(&group)
                    .map_or_else(Vec::new, |s| s.in_order().iter().map(|&n| n.to_owned()).collect())
            };
            let (mut names, tested) = (of(artwork), of(netlist));
            let named_by = match (names.is_empty(), tested.is_empty()) {
                (false, _) => NamedBy::Artwork,
                (true, false) => NamedBy::Netlist,
                (true, true) => NamedBy::Number,
            };
            for name in tested {
                if !names.contains(&name) {
                    names.push(name);
                }
            }
            let mut names = names.into_iter();
            Net {
                name: names.next().unwrap_or_default(),
                named_by,
                other_names: names.collect(),
                area_mm2: islands.iter().map(|&island| nets.islands[island].area_mm2).sum(),
                islands,
                holes: Vec::new(),
                pads: Vec::new(),
            }
        })
        .collect();
    list.sort_by(|a, b| {
        let numbered = |net: &Net| net.named_by == NamedBy::Number;
        numbered(a)
            .cmp(&numbered(b))
            .then_with(|| if numbered(a) { b.area_mm2.total_cmp(&a.area_mm2) } else { a.name.cmp(&b.name) })
            .then(a.islands.cmp(&b.islands))
    });
    let numbered = list.iter_mut().filter(|net| net.named_by == NamedBy::Number);
    for (index, net) in numbered.enumerate() {
        net.name = format!("net {}", index + 1);
    }
    for (index, net) in list.iter().enumerate() {
        for &island in &net.islands {
            nets.islands[island].net = index;
        }
    }
    for (index, hole) in nets.holes.iter_mut().enumerate() {
        if let Some(&island) = hole.islands.first() {
            hole.net = nets.islands[island].net;
            list[hole.net].holes.push(index);
        }
    }
    nets.pads.sort_by_cached_key(|pad| (natural(&pad.reference), natural(&pad.pin), pad.island));
    for (index, pad) in nets.pads.iter().enumerate() {
        list[nets.islands[pad.island].net].pads.push(index);
    }
    nets.nets = list;
}

/// A key that puts D2 before D10.
fn natural(text: &str) -> (String, u64, String) {
    let letters = text.trim_end_matches(|c: char| c.is_ascii_digit());
    let number = text[letters.len()..].parse().unwrap_or(0);
    (letters.to_owned(), number, text.to_owned())
}

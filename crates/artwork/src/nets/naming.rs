//! What nets are called, and what names tell of shorts and opens.

use std::collections::{BTreeMap, BTreeSet};

use super::drawn::{ObjectCells, clearing, places_inside, standing, stands};
use super::joining::Groups;
use super::{NamedBy, Net, Nets, Pad, place, points};
use crate::gerber::DrawnObject;
use crate::reading::Artwork;
use crate::remark::{Remark, Severity};
use crate::roles::Role;
use crate::shape::Point;

/// Places of one name that a remark lists.
const PLACES_TOLD: usize = 4;
/// Remarks on shorts, on opens and on differing names that are written out.
const TOLD: usize = 50;

/// A name on an island.
struct Sign<'a> {
    name: &'a str,
    island: usize,
    at: Point,
    layer: Role,
    file: &'a str,
    line: u32,
}

impl Sign<'_> {
    /// Where it stands, in words.
    fn place(&self) -> String {
        place(self.at, self.layer)
    }
}

/// What one source says.
#[derive(Default)]
struct Signs<'a> {
    list: Vec<Sign<'a>>,
    /// Names that one object carries together: a declared tie.
    ties: BTreeSet<(&'a str, &'a str)>,
}

/// The names that stand on one net.
struct Standing<'a> {
    /// Signs by name.
    by_name: BTreeMap<&'a str, Vec<usize>>,
}

impl Standing<'_> {
    /// Names by how often they stand there, the most frequent first, then the one drawn first.
    fn in_order(&self) -> Vec<&str> {
        let mut names: Vec<(&str, &Vec<usize>)> =
            self.by_name.iter().map(|(name, signs)| (*name, signs)).collect();
        names.sort_by_key(|(_, signs)| (std::cmp::Reverse(signs.len()), signs.first().copied()));
        names.into_iter().map(|(name, _)| name).collect()
    }
}

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

/// The names of each group of islands.
fn by_group<'a>(signs: &Signs<'a>, first: &[usize]) -> BTreeMap<usize, Standing<'a>> {
    let mut standing: BTreeMap<usize, Standing<'a>> = BTreeMap::new();
    for (index, sign) in signs.list.iter().enumerate() {
        let entry = standing.entry(first[sign.island]).or_insert(Standing { by_name: BTreeMap::new() });
        entry.by_name.entry(sign.name).or_default().push(index);
    }
    standing
}

/// Names of an object's net that mean a net: neither empty nor the reserved `N/C` (Gerber layer format specification,
/// the .N attribute).
fn net_names(object: &DrawnObject) -> impl Iterator<Item = &str> {
    let fields = object.object_attributes.fields(".N").unwrap_or_default();
    fields.iter().map(|name| name.trim()).filter(|name| !name.is_empty() && *name != "N/C")
}

/// Reads the attributes of what drew the copper: signs, and pads into `nets`.
fn read_objects<'a>(artwork: &'a Artwork, nets: &mut Nets) -> Signs<'a> {
    let mut signs = Signs::default();
    let mut pads: BTreeMap<(String, String, usize), Pad> = BTreeMap::new();
    for layer in &nets.layers {
        let Some(drawn) = artwork.layers.get(layer.drawn) else { continue };
        let telling = |object: &DrawnObject| {
            object.dark && (net_names(object).next().is_some() || object.component().is_some())
        };
        if !drawn.objects.iter().any(telling) {
            continue;
        }
        let cleared = clearing(&drawn.objects);
        let mut named = BTreeSet::new();
        let sign = |signs: &mut Signs<'a>, object: &'a DrawnObject, island: usize, at| {
            for name in net_names(object) {
                let (layer, file, line) = (layer.role, drawn.file.as_str(), object.line);
                signs.list.push(Sign { name, island, at, layer, file, line });
            }
        };
        for (order, object) in drawn.objects.iter().enumerate().filter(|(_, object)| telling(object)) {
            let names: Vec<&str> = net_names(object).collect();
            for pair in names.windows(2) {
                signs.ties.insert((pair[0], pair[1]));
            }
            let mut islands = BTreeSet::new();
            for at in standing(order, object, &cleared) {
                let Some(island) = layer.at(at).filter(|island| islands.insert(*island)) else { continue };
                sign(&mut signs, object, island, at);
                if !names.is_empty() {
                    named.insert(island);
                }
                if let Some(pad) = pad(object, at, island) {
                    let key = (pad.reference.clone(), pad.pin.clone(), island);
                    pads.entry(key).or_insert(pad);
                }
            }
        }
        // Pieces that none of those places hit, such as a pour cut into many: what was drawn over a place of theirs?
        let telling = drawn.objects.iter().enumerate().filter(|(_, object)| telling(object));
        let over = ObjectCells::new(telling);
        for index in layer.all().filter(|index| !named.contains(index)) {
            let Some(polygon) = nets.islands.get(index).and_then(|island| island.area.polygons.first())
            else {
                continue;
            };
            for at in places_inside(std::slice::from_ref(&polygon.outer), 8) {
                if layer.at(at) != Some(index) {
                    continue;
                }
                let last =
                    over.over(at).filter(|(order, _)| stands(*order, at, &cleared)).max_by_key(|o| o.0);
                if let Some((_, object)) = last {
                    sign(&mut signs, object, index, at);
                    break;
                }
            }
        }
    }
    // A component alone says nothing where its pins are told.
    let pinned: BTreeSet<(String, usize)> = pads
        .values()
        .filter(|pad| !pad.pin.is_empty())
        .map(|pad| (pad.reference.clone(), pad.island))
        .collect();
    nets.pads = pads
        .into_values()
        .filter(|pad| !pad.pin.is_empty() || !pinned.contains(&(pad.reference.clone(), pad.island)))
        .collect();
    signs
}

/// The component's pad that an object is part of.
fn pad(object: &DrawnObject, at: Point, island: usize) -> Option<Pad> {
    let reference = object.component()?.to_owned();
    let fields = object.object_attributes.fields(".P").unwrap_or_default();
    let field = |index: usize| fields.get(index).cloned().unwrap_or_default();
    Some(Pad { reference, pin: field(1), function: field(2), at, island, from_netlist: false })
}

/// Reads the test points: signs, and pads into `nets` that the artwork does not tell.
fn read_netlists<'a>(artwork: &'a Artwork, nets: &mut Nets, remarks: &mut Vec<Remark>) -> Signs<'a> {
    let mut signs = Signs::default();
    for netlist in &artwork.netlists {
        if nets.islands.is_empty() {
            break;
        }
        let mut known: BTreeSet<(String, String)> =
            nets.pads.iter().map(|pad| (pad.reference.clone(), pad.pin.clone())).collect();
        for landed in points::landed(netlist, nets, remarks) {
            let point = landed.point;
            if !point.net.is_empty() {
                signs.list.push(Sign {
                    name: point.net.as_str(),
                    island: landed.island,
                    at: point.at,
                    layer: nets.islands[landed.island].layer,
                    file: netlist.file.as_str(),
                    line: point.line,
                });
            }
            let key = (point.reference.clone(), point.pin.clone());
            if !point.reference.is_empty() && !point.is_via() && known.insert(key) {
                nets.pads.push(Pad {
                    reference: point.reference.clone(),
                    pin: point.pin.clone(),
                    function: String::new(),
                    at: point.at,
                    island: landed.island,
                    from_netlist: true,
                });
            }
        }
    }
    signs
}

/// Two names on one net that no object ties.
fn say_shorts(signs: &Signs<'_>, standing: &BTreeMap<usize, Standing<'_>>, remarks: &mut Vec<Remark>) {
    let mut told = 0;
    for net in standing.values() {
        let names = net.in_order();
        let Some((&kept, others)) = names.split_first() else { continue };
        let tied = tied_to(kept, &signs.ties);
        for &other in others.iter().filter(|other| !tied.contains(*other)) {
            told += 1;
            let all =
                |name: &str| net.by_name.get(name).into_iter().flatten().map(|&index| &signs.list[index]);
            // Signs on one island, where there are such; else a plated hole joins them.
            let mut islands: BTreeMap<usize, &Sign<'_>> = BTreeMap::new();
            for sign in all(kept) {
                islands.entry(sign.island).or_insert(sign);
            }
            let shared = all(other).find_map(|sign| Some((*islands.get(&sign.island)?, sign)));
            let how = if shared.is_some() { "are one piece of copper" } else { "are joined by plated holes" };
            let pair = shared.or_else(|| Some((all(kept).next()?, all(other).next()?)));
            if let (Some((a, b)), true) = (pair, told <= TOLD) {
                let text = format!(
                    "short: nets \"{kept}\" (at {}) and \"{other}\" (at {}) {how}",
                    a.place(),
                    b.place()
                );
                remarks.push(Remark::at(Severity::Warning, b.file, b.line, text));
            }
        }
    }
    if told > TOLD {
        remarks.push(Remark::about(Severity::Warning, "", format!("{} more shorts", told - TOLD)));
    }
}

/// All names that objects tie to a name, in one step or several.
fn tied_to<'a>(name: &'a str, ties: &BTreeSet<(&'a str, &'a str)>) -> BTreeSet<&'a str> {
    let mut found = BTreeSet::from([name]);
    loop {
        let before = found.len();
        for (a, b) in ties {
            if found.contains(a) || found.contains(b) {
                found.extend([a, b]);
            }
        }
        if found.len() == before {
            return found;
        }
    }
}

/// One name on several nets.
fn say_opens(signs: &Signs<'_>, standing: &BTreeMap<usize, Standing<'_>>, remarks: &mut Vec<Remark>) {
    let mut places: BTreeMap<&str, Vec<&Sign<'_>>> = BTreeMap::new();
    for net in standing.values() {
        for (name, own) in &net.by_name {
            places.entry(name).or_default().extend(own.first().map(|&index| &signs.list[index]));
        }
    }
    let open: Vec<_> = places.into_iter().filter(|(_, places)| places.len() > 1).collect();
    for (name, places) in open.iter().take(TOLD) {
        let mut words: Vec<String> =
            places.iter().take(PLACES_TOLD).map(|sign| format!("at {}", sign.place())).collect();
        if places.len() > PLACES_TOLD {
            words.push(format!("and {} more", places.len() - PLACES_TOLD));
        }
        let text = format!(
            "open: net \"{name}\" is {} pieces that nothing read here joins: {}",
            places.len(),
            words.join("; ")
        );
        if let Some(first) = places.first() {
            remarks.push(Remark::at(Severity::Warning, first.file, first.line, text));
        }
    }
    if open.len() > TOLD {
        remarks.push(Remark::about(Severity::Warning, "", format!("{} more opens", open.len() - TOLD)));
    }
}

/// Nets that the artwork and a netlist call differently.
fn say_differences(
    artwork: &BTreeMap<usize, Standing<'_>>,
    netlist: &BTreeMap<usize, Standing<'_>>,
    tested: &Signs<'_>,
    remarks: &mut Vec<Remark>,
) {
    let mut told = 0;
    for (group, tested_names) in netlist {
        let Some(own) = artwork.get(group) else { continue };
        if tested_names.by_name.keys().any(|name| own.by_name.contains_key(name)) {
            continue;
        }
        let (own, theirs) = (own.in_order(), tested_names.in_order());
        let sign = theirs.first().and_then(|name| tested_names.by_name.get(*name)?.first());
        if let (Some(own), Some(theirs), Some(sign)) =
            (own.first(), theirs.first(), sign.map(|&index| &tested.list[index]))
        {
            told += 1;
            if told <= TOLD {
                let text = format!("net \"{theirs}\" is called \"{own}\" in the artwork, which counts");
                remarks.push(Remark::at(Severity::Note, sign.file, sign.line, text));
            }
        }
    }
    if told > TOLD {
        let text = format!("{} more nets have two names", told - TOLD);
        remarks.push(Remark::about(Severity::Note, "", text));
    }
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

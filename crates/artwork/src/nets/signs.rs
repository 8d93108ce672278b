//! Names that stand on islands: from the objects that drew the copper, and from test points.

use std::collections::{BTreeMap, BTreeSet};

use super::drawn::{ObjectCells, clearing, places_inside, standing, stands};
use super::{Nets, Pad, place, points};
use crate::gerber::DrawnObject;
use crate::reading::Artwork;
use crate::remark::Remark;
use crate::roles::Role;
use crate::shape::Point;

/// A name on an island.
pub(super) struct Sign<'a> {
    pub(super) name: &'a str,
    pub(super) island: usize,
    pub(super) at: Point,
    pub(super) layer: Role,
    pub(super) file: &'a str,
    pub(super) line: u32,
}

impl Sign<'_> {
    /// Where it stands, in words.
    pub(super) fn place(&self) -> String {
        place(self.at, self.layer)
    }
}

/// What one source says.
#[derive(Default)]
pub(super) struct Signs<'a> {
    pub(super) list: Vec<Sign<'a>>,
    /// Names that one object carries together: a declared tie.
    pub(super) ties: BTreeSet<(&'a str, &'a str)>,
}

/// The names that stand on one net.
pub(super) struct Standing<'a> {
    /// Signs by name.
    pub(super) by_name: BTreeMap<&'a str, Vec<usize>>,
}

impl Standing<'_> {
    /// Names by how often they stand there, the most frequent first, then the one drawn first.
    pub(super) fn in_order(&self) -> Vec<&str> {
        let mut names: Vec<(&str, &Vec<usize>)> =
            self.by_name.iter().map(|(name, signs)| (*name, signs)).collect();
        names.sort_by_key(|(_, signs)| (std::cmp::Reverse(signs.len()), signs.first().copied()));
        names.into_iter().map(|(name, _)| name).collect()
    }
}

/// The names of each group of islands.
pub(super) fn by_group<'a>(signs: &Signs<'a>, first: &[usize]) -> BTreeMap<usize, Standing<'a>> {
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
pub(super) fn read_objects<'a>(artwork: &'a Artwork, nets: &mut Nets) -> Signs<'a> {
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
pub(super) fn read_netlists<'a>(
    artwork: &'a Artwork,
    nets: &mut Nets,
    remarks: &mut Vec<Remark>,
) -> Signs<'a> {
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

//! All fabrication files of a board together: what each is for, and what the board is.

use std::collections::BTreeMap;
use std::sync::{Arc, OnceLock};

use crate::centroid::{self, Placement};
use crate::drill::{self, DrillFile};
use crate::gerber::{self, Attributes, DrawnObject, GerberLayer, LengthUnit};
use crate::netlist::{self, Netlist};
use crate::nets::Nets;
use crate::outline::{self, Outline};
use crate::remark::{Remark, Severity};
use crate::roles::{Role, RoleSource, role_by_attribute, role_by_name};
use crate::shape::Area;
pub use crate::summary::ArtworkSummary;

/// A Gerber layer with its role.
#[derive(Debug, Clone)]
pub struct Layer {
    /// File name as given.
    pub file: String,
    /// What it is for.
    pub role: Role,
    /// How that was decided.
    pub role_source: RoleSource,
    /// Length unit of the file.
    pub unit: LengthUnit,
    /// Whether the unit was assumed.
    pub unit_assumed: bool,
    /// The exact dark image, nm. A reversed image has been turned round within the board's outline.
    pub area: Area,
    /// File attributes.
    pub attributes: Arc<Attributes>,
    /// Objects in drawing order, with their attributes.
    pub objects: Vec<DrawnObject>,
}

/// A board's fabrication files.
#[derive(Debug, Clone, Default)]
pub struct Artwork {
    /// Gerber layers in the order of the files.
    pub layers: Vec<Layer>,
    /// Drill files in the order of the files.
    pub drills: Vec<DrillFile>,
    /// The board, where a profile layer tells it.
    pub outline: Option<Outline>,
    /// Placed parts.
    pub placements: Vec<Placement>,
    /// Netlists in the order of the files.
    pub netlists: Vec<Netlist>,
    /// Remarks, file by file.
    pub remarks: Vec<Remark>,
    nets: OnceLock<Nets>,
}

impl Artwork {
    /// The layer of a role.
    #[must_use]
    pub fn layer(&self, role: Role) -> Option<&Layer> {
        self.layers.iter().find(|layer| layer.role == role)
    }

    /// The copper nets: found at the first call, and kept. Their remarks are their own.
    #[must_use]
    pub fn nets(&self) -> &Nets {
        self.nets.get_or_init(|| Nets::of(self))
    }

    /// What was understood, for printing.
    #[must_use]
    pub fn summary(&self) -> ArtworkSummary {
        ArtworkSummary::of(self)
    }
}

/// Whether the bytes look like a drill file.
fn looks_like_drill(bytes: &[u8]) -> bool {
    let head = String::from_utf8_lossy(&bytes[..bytes.len().min(20_000)]).to_ascii_uppercase();
    let mut lines = head.split(['\r', '\n']).map(str::trim);
    let tool = |line: &str| {
        line.strip_prefix('T').is_some_and(|rest| rest.starts_with(|c: char| c.is_ascii_digit()))
    };
    head.contains("M48")
        || (lines.any(tool)
            && (head.contains("M30") || head.contains("M00") || head.contains("M72") || head.contains("M71")))
}

/// What a file holds, by its bytes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Content {
    Gerber,
    Drill,
    Centroid,
    Netlist,
    Unknown,
}

fn content(bytes: &[u8], by_name: Option<Role>) -> Content {
    match by_name {
        Some(Role::Centroid) => Content::Centroid,
        Some(Role::Netlist) if netlist::looks_like_netlist(bytes) => Content::Netlist,
        _ if gerber::looks_like_gerber(bytes) => Content::Gerber,
        _ if looks_like_drill(bytes) => Content::Drill,
        Some(Role::Drill(_)) => Content::Drill,
        Some(role) if role != Role::Netlist && role != Role::Other => Content::Gerber,
        None if netlist::looks_like_netlist(bytes) => Content::Netlist,
        None if centroid::looks_like(bytes) => Content::Centroid,
        _ => Content::Unknown,
    }
}

/// Reads a board's fabrication files: names with their bytes, and roles that the user gives. All files share one origin.
#[must_use]
pub fn read_artwork(files: &[(String, Vec<u8>)], given: &BTreeMap<String, Role>) -> Artwork {
    let mut artwork = Artwork::default();
    let mut profile = None;
    let (mut drills, mut netlists) = (Vec::new(), Vec::new());
    for (file, bytes) in files {
        let role = given.get(file).copied().or_else(|| role_by_name(file));
        match content(bytes, role) {
            Content::Gerber => read_gerber(&mut artwork, file, bytes, given, &mut profile),
            Content::Drill => drills.push((file, bytes)),
            Content::Netlist => netlists.push((file, bytes)),
            Content::Centroid => {
                let centroid = centroid::read(file, bytes);
                artwork.remarks.extend(centroid.remarks);
                artwork.placements.extend(centroid.placements);
            }
            Content::Unknown => artwork.remarks.push(Remark::about(
                Severity::Note,
                file.as_str(),
                match role {
                    Some(Role::Netlist) => {
                        "is called a netlist and has no records of the bare-board test form (IPC-D-356); it is left out"
                    }
                    _ => {
                        "is neither a Gerber layer nor a drill file nor a netlist nor a centroid table; it is left out"
                    }
                },
            )),
        }
    }
    let copper =
        artwork.layers.iter().filter(|layer| layer.role.is_copper()).map(|layer| layer.area.polygons.clone());
    let copper = Area { polygons: copper.flatten().collect() };
    let copper = (!copper.is_empty()).then_some(&copper);
    for (file, bytes) in drills {
        let drill = drill::read(file, bytes, copper);
        artwork.remarks.extend(drill.remarks.iter().cloned());
        artwork.drills.push(drill);
    }
    for (file, bytes) in netlists {
        let netlist = netlist::read(file, bytes, copper);
        artwork.remarks.extend(netlist.remarks.iter().cloned());
        artwork.netlists.push(netlist);
    }
    find_outline(&mut artwork, profile.as_ref());
    turn_reversed(&mut artwork);
    say_twins(&mut artwork);
    let order: BTreeMap<&str, usize> =
        files.iter().enumerate().map(|(i, (file, _))| (file.as_str(), i)).collect();
    artwork.remarks.sort_by_key(|remark| (order.get(remark.file.as_str()).copied(), remark.line));
    artwork
}

fn read_gerber(
    artwork: &mut Artwork,
    file: &str,
    bytes: &[u8],
    given: &BTreeMap<String, Role>,
    profile: &mut Option<GerberLayer>,
) {
    let mut gerber = gerber::read(file, bytes);
    let by_attribute = gerber.attributes.fields(".FileFunction").and_then(role_by_attribute);
    let decided = given
        .get(file)
        .map(|role| (*role, RoleSource::Given))
        .or_else(|| by_attribute.map(|role| (role, RoleSource::Attribute)))
        .or_else(|| role_by_name(file).map(|role| (role, RoleSource::Name)));
    let (mut role, role_source) = decided.unwrap_or((Role::Other, RoleSource::Content));
    artwork.remarks.append(&mut gerber.remarks);
    match (decided, role) {
        (None, _) => artwork.remarks.push(Remark::about(
            Severity::Warning,
            file,
            "what this layer is for is told neither by an attribute nor by its name; it is not part of the board",
        )),
        (Some(_), Role::Drill(plated)) => {
            artwork.drills.push(holes_drawn(file, &gerber, plated));
            role = Role::Other;
        }
        _ if role_source == RoleSource::Name => artwork.remarks.push(Remark::about(
            Severity::Note,
            file,
            format!("taken for {role} by its name"),
        )),
        _ => {}
    }
    if role == Role::Profile && profile.is_none() {
        *profile = Some(gerber.clone());
    }
    if gerber.image_negative {
        artwork.remarks.push(Remark::about(Severity::Note, file, REVERSED));
    }
    artwork.layers.push(Layer {
        file: file.to_owned(),
        role,
        role_source,
        unit: gerber.unit,
        unit_assumed: gerber.unit_assumed,
        area: gerber.area,
        attributes: Arc::new(gerber.attributes),
        objects: gerber.objects,
    });
}

const REVERSED: &str = "the reversed image is turned round within the board's outline";

/// Holes given as a Gerber layer, which the format allows: flashes are holes, strokes are slots.
fn holes_drawn(file: &str, gerber: &GerberLayer, plated: Option<bool>) -> DrillFile {
    let width = |object: &DrawnObject| object.bounds().map_or(0, |b| b.width_nm().min(b.height_nm()) as i32);
    let mut drawn = DrillFile {
        unit: match gerber.unit {
            LengthUnit::Inch => drill::Unit::Inch,
            LengthUnit::Millimetre => drill::Unit::Millimetre,
        },
        ..drill::read(file, b"M48\nMETRIC\n%\nM30\n", None)
    };
    drawn.remarks.clear();
    drawn.attributes = gerber.attributes.list.iter().map(|a| (a.name.clone(), a.fields.clone())).collect();
    let number = |diameter_nm: i32, slot: bool, tools: &mut Vec<drill::Tool>| {
        let at = tools.iter().position(|tool| tool.diameter_nm == diameter_nm).unwrap_or_else(|| {
            let number = tools.len() as u32 + 1;
            tools.push(drill::Tool { number, diameter_nm, hits: 0, slots: 0, plated });
            tools.len() - 1
        });
        if slot {
            tools[at].slots += 1
        } else {
            tools[at].hits += 1
        }
        tools[at].number
    };
    for object in
        gerber.objects.iter().filter(|object| object.kind == gerber::ObjectKind::Flash && object.dark)
    {
        let diameter_nm = width(object);
        let tool = number(diameter_nm, false, &mut drawn.tools);
        drawn.hits.push(drill::Hit { tool, at: object.at, diameter_nm, plated, line: object.line });
    }
    for stroke in gerber.strokes.iter().filter(|stroke| stroke.dark) {
        let diameter_nm = stroke.width_nm.round() as i32;
        let tool = number(diameter_nm, true, &mut drawn.tools);
        drawn.slots.push(drill::Slot {
            tool,
            path: stroke.points.clone(),
            diameter_nm,
            plated,
            line: stroke.line,
        });
    }
    drawn
}

fn find_outline(artwork: &mut Artwork, profile: Option<&GerberLayer>) {
    artwork.outline = match profile {
        Some(layer) => outline::from_profile(layer, &mut artwork.remarks),
        None => {
            let bounds = artwork.layers.iter().filter(|l| l.role.is_copper()).filter_map(|l| l.area.bounds());
            match bounds.reduce(|a, b| a.joined(&b)) {
                Some(bounds) => {
                    outline::rectangle(bounds, "", "there is no profile layer", &mut artwork.remarks)
                }
                None => None,
            }
        }
    };
}

/// Turns reversed images round within the outline.
fn turn_reversed(artwork: &mut Artwork) {
    let Some(outline) = &artwork.outline else { return };
    for layer in &mut artwork.layers {
        let reversed =
            artwork.remarks.iter().any(|remark| remark.file == layer.file && remark.text == REVERSED);
        if reversed {
            layer.area = outline.area.difference(&layer.area);
        }
    }
}

/// Two layers of one role: the first is used.
fn say_twins(artwork: &mut Artwork) {
    let mut twins = Vec::new();
    for (index, layer) in artwork.layers.iter().enumerate() {
        let first = artwork.layers.iter().take(index).find(|other| other.role == layer.role);
        if let (Some(first), false) = (first, layer.role == Role::Other) {
            let text = format!(
                "is a second {} beside {}, which is used; give roles where that is wrong",
                layer.role, first.file
            );
            twins.push(Remark::about(Severity::Warning, layer.file.as_str(), text));
        }
    }
    artwork.remarks.append(&mut twins);
}

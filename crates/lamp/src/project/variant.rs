//! One variant: artwork or rectangle, stack, holes, mask, emitters, heat patches, cooling.

use std::collections::BTreeMap;

use artwork::centroid::Side;
use artwork::reading::Artwork;
use artwork::roles::Role;
use artwork::shape::{Area, Bounds, Point};

use super::Common;
use super::air_side;
use super::artwork_files;
use super::bond;
use super::common;
use super::document::Section;
use super::emitters::{self, Board, Place, Sheets};
use super::folder::Folder;
use super::screws;
use super::stack::{self, Copper, Sides};
use super::summary::VariantSummary;
use super::supplies;
use crate::as_built::{Bore, HeatPatch, Lining, Mask, PlacedEmitter, StackLayer, Variant};
use crate::bond_line::Flatness;
use crate::circuit::Circuit;
use crate::findings::FindingRemark;

/// Places by reference, from the centroid file.
pub(super) type Places = BTreeMap<String, Place>;

/// What became of a variant's text.
pub(super) struct Outcome {
    pub variant: Option<Variant>,
    pub summary: VariantSummary,
    pub remarks: Vec<FindingRemark>,
    pub places: Places,
}

/// Board, copper, mask and holes before the stack is made.
struct Drawn {
    outline: Area,
    copper: [Copper; 2],
    mask_openings: [Option<Area>; 2],
    bores: Vec<(Vec<Point>, f64, bool)>,
}

pub(super) fn read(
    name: &str,
    section: &Section<'_>,
    common: &Common<'_>,
    folder: &dyn Folder,
    sheets: &mut Sheets,
) -> Outcome {
    let title = section.text("title").unwrap_or_else(|| name.to_owned());
    let mut outcome = Outcome {
        variant: None,
        summary: VariantSummary {
            variant: name.to_owned(),
            title: title.clone(),
            ..VariantSummary::default()
        },
        remarks: Vec::new(),
        places: Places::new(),
    };
    let Some(board) = section.section("board") else {
        section
            .document
            .error(section.at, format!("the variant has no [variant.{name}.board] with its kind"));
        return outcome;
    };
    let Some(kind) = board.choice("kind") else { return outcome };
    let sides = stack::sides(kind);
    let artwork = artwork_files::read(section, folder);
    if let Some((path, artwork)) = &artwork {
        outcome.remarks = artwork_files::remarks(path, &artwork.remarks);
        outcome.remarks.extend(artwork_files::remarks(path, &artwork.nets().remarks));
        outcome.summary.artwork = Some(artwork.summary());
        outcome.places = places(artwork);
    }
    let drawn = match &artwork {
        Some((path, artwork)) => from_artwork(section, path, artwork, sides),
        None => sketched(section, sides),
    };
    let Some(drawn) = drawn else { return outcome };
    let copper_top = match &drawn.copper[0] {
        Copper::Drawn(area) => Some(area),
        _ => None,
    };
    let placing = Board {
        outline: &drawn.outline,
        copper: copper_top,
        places: artwork.as_ref().map(|_| &outcome.places),
        places_file: "the centroid file",
    };
    let own = section.sections("emitters");
    let tables = if own.is_empty() { &common.emitters } else { &own };
    let mut emitters: Vec<PlacedEmitter> =
        tables.iter().flat_map(|table| emitters::read(table, folder, sheets, &placing)).collect();
    say_twins(section, &emitters);
    let circuit = supplies::trace(section, common, artwork.as_ref(), &mut emitters, &mut outcome.remarks);
    say_currents(name, common, &emitters);
    let heat_patches =
        section.sections("heat").iter().filter_map(|heat| patch(heat, &drawn.outline)).collect();
    let thermal_lands =
        emitters.iter().fold(Area::default(), |sum, emitter| sum.union(&emitter.thermal_land));
    let layers = stack::layers(
        &board,
        &section.sections("layer"),
        &common.substances,
        drawn.copper.clone(),
        (&drawn.outline, &thermal_lands),
    );
    let electric = (artwork.as_ref().map(|a| &a.1), circuit.as_ref());
    let variant =
        assemble(name, title, section, common, &board, drawn, layers, emitters, heat_patches, electric)
            .map(|variant| Variant { circuit: circuit.clone(), ..variant });
    if let Some(variant) = &variant {
        say_metal_core_holes(section, sides, variant);
        outcome.summary.say(variant, supplies::drive(common));
    }
    outcome.variant = variant;
    outcome
}

#[allow(clippy::too_many_arguments)] // each is a finished part; a struct of them would be the variant itself
fn assemble(
    name: &str,
    title: String,
    section: &Section<'_>,
    common: &Common<'_>,
    board: &Section<'_>,
    drawn: Drawn,
    layers: Vec<StackLayer>,
    emitters: Vec<PlacedEmitter>,
    heat_patches: Vec<HeatPatch>,
    electric: (Option<&Artwork>, Option<&Circuit>),
) -> Option<Variant> {
    let bounds = drawn.outline.bounds()?;
    let middle = Point::rounded(
        (f64::from(bounds.min.x_nm) + f64::from(bounds.max.x_nm)) / 2.0,
        (f64::from(bounds.min.y_nm) + f64::from(bounds.max.y_nm)) / 2.0,
    );
    let off = |key: &'static str| section.raw(key).is_some_and(|value| !value.get_ref().is_table());
    let (no_heatsink, no_bond) = (off("heatsink"), off("bond"));
    for key in ["heatsink", "bond"] {
        if off(key) {
            section.choice(key);
        }
    }
    let own = section.section("heatsink");
    let heatsink = match own.as_ref().or(common.heatsink.as_ref()) {
        Some(table) if !no_heatsink => {
            let air = air_side::Tables::of(section).or(&common.air);
            Some(common::heatsink(table, &air, &common.substances, middle)?)
        }
        _ => None,
    };
    let own = section.section("bond");
    let bond = match own.as_ref().or(common.bond.as_ref()) {
        Some(table) if !no_bond && heatsink.is_some() => Some(bond::bond(table, &drawn.outline)?),
        _ => None,
    };
    let own = section.section("faces");
    let (top_face, bottom_face) = common::faces(own.as_ref().or(common.faces.as_ref()));
    let mask_thickness = board.value_or_default("mask");
    let mask_k = common.substances.by_name("solder mask").map_or(0.22, |mask| mask.kz_w_per_m_k);
    let mask = |openings: Option<Area>| {
        openings.filter(|_| mask_thickness > 0.0).map(|openings| Mask {
            openings,
            thickness_m: mask_thickness,
            conductivity_w_per_m_k: mask_k,
        })
    };
    let barrel_m = board.value_or_default("via_barrel");
    let fill = if board.has("via_fill") {
        common.substances.named(board, "via_fill")
    } else {
        common.substances.by_name(board.default_text("via_fill"))
    };
    let fill_w_per_m_k = fill?.kz_w_per_m_k;
    let bores: Vec<Bore> = drawn
        .bores
        .into_iter()
        .map(|(path, diameter_m, plated)| Bore {
            path,
            diameter_m,
            lining: if plated {
                Lining::Plated { barrel_m: barrel_m.min(diameter_m / 2.0), fill_w_per_m_k }
            } else {
                Lining::Unplated
            },
        })
        .collect();
    let own = section.section("screws");
    let screw_table = own.as_ref().or(common.screws.as_ref()).filter(|_| heatsink.is_some());
    let placing = screws::Placing {
        outline: &drawn.outline,
        bores: &bores,
        artwork: electric.0,
        base: heatsink.as_ref().map(|h| &h.base),
    };
    let screws = screw_table.map_or_else(Vec::new, |table| screws::read(table, &placing));
    if let Some(table) = screw_table {
        screws::say_heads(table, &screws, electric);
    }
    let own = section.section("flatness");
    let longest = |area: &Area| area.bounds().map_or(0.0, |b| 1e-9 * b.width_nm().max(b.height_nm()) as f64);
    let flatness = match own.as_ref().or(common.flatness.as_ref()) {
        Some(table) if heatsink.is_some() => {
            let sides = [longest(&drawn.outline), heatsink.as_ref().map_or(0.0, |h| longest(&h.base))];
            bond::flatness(table, (&bores, &screws), sides, bond.as_ref())
        }
        _ => Flatness::default(),
    };
    if let Some(bond) = &bond {
        bond::say_clamp(section, bond, &screws);
    }
    let [openings_top, openings_bottom] = drawn.mask_openings;
    if layers.is_empty() {
        return None;
    }
    Some(Variant {
        name: name.to_owned(),
        title,
        board_price: section.value("board_price"),
        outline: drawn.outline,
        layers,
        bores,
        mask_top: mask(openings_top),
        mask_bottom: mask(openings_bottom),
        emitters,
        circuit: None,
        heat_patches,
        bond,
        screws,
        flatness,
        heatsink,
        top_face,
        bottom_face,
    })
}

fn places(artwork: &Artwork) -> Places {
    artwork
        .placements
        .iter()
        .map(|placement| {
            let on_top = placement.side != Side::Bottom;
            (
                placement.reference.clone(),
                Place { at: placement.at, rotation_deg: placement.rotation_deg, on_top },
            )
        })
        .collect()
}

/// Board, copper, mask and holes from fabrication files.
fn from_artwork(section: &Section<'_>, path: &str, artwork: &Artwork, sides: Sides) -> Option<Drawn> {
    for key in ["outline", "copper"] {
        if section.has(key) {
            section.error(
                key,
                format!("\"{key}\" belongs to a lamp without artwork; this variant has artwork = \"{path}\""),
            );
        }
    }
    let area =
        |role: Role| artwork.layers.iter().find(|layer| layer.role == role).map(|layer| layer.area.clone());
    let files: Vec<String> =
        artwork.layers.iter().map(|layer| format!("{} ({})", layer.file, layer.role)).collect();
    let seen = if files.is_empty() { "no Gerber layer".to_owned() } else { files.join(", ") };
    let missing = |what: &str| {
        section.error("artwork", format!("the artwork in \"{path}\" has no {what}; seen were {seen}; a file's role can be given by \"roles\""));
    };
    let outline =
        artwork.outline.as_ref().map(|outline| outline.area.clone()).filter(|area| !area.is_empty());
    if outline.is_none() {
        missing("board outline (profile)");
    }
    let top = area(Role::CopperTop);
    if top.is_none() && sides.drawn {
        missing("top copper");
    }
    let bottom = area(Role::CopperBottom);
    if bottom.is_none() && sides.bottom_copper {
        missing("bottom copper");
    }
    if bottom.as_ref().is_some_and(|area| !area.is_empty()) && sides.metal_core {
        section.error(
            "artwork",
            "the artwork has bottom copper, and a metal core has none: the board cannot be made so",
        );
    }
    if artwork.layers.iter().any(|layer| matches!(layer.role, Role::CopperInner(_)) && !layer.area.is_empty())
    {
        section.error(
            "artwork",
            "the artwork has inner copper layers; boards of one and two layers are covered",
        );
    }
    let outline = outline?;
    let copper = |drawn: Option<Area>| match drawn {
        Some(area) => {
            let outside = area.difference(&outline).area_mm2();
            if outside > 0.05 * area.area_mm2().max(1.0) {
                section.warn("artwork", format!("{outside:.1} mm2 of copper lie outside the board's outline and are left out; do all files share one origin?"));
            }
            Copper::Drawn(area.intersect(&outline))
        }
        None => Copper::None,
    };
    let mut bores = Vec::new();
    for drill in &artwork.drills {
        let plated = |own: Option<bool>| own.unwrap_or(!sides.metal_core);
        bores.extend(
            drill
                .hits
                .iter()
                .map(|hit| (vec![hit.at], f64::from(hit.diameter_nm) * 1e-9, plated(hit.plated))),
        );
        bores.extend(
            drill
                .slots
                .iter()
                .map(|slot| (slot.path.clone(), f64::from(slot.diameter_nm) * 1e-9, plated(slot.plated))),
        );
    }
    let drilled = bores.len();
    bores.retain(|(path, diameter, _)| *diameter > 0.0 && path.iter().any(|p| outline.contains(*p)));
    if drilled > bores.len() {
        section.warn(
            "artwork",
            format!(
                "{} of {drilled} holes lie outside the board or have no diameter; they are left out",
                drilled - bores.len()
            ),
        );
    }
    Some(Drawn {
        copper: [copper(top), if sides.bottom_copper { copper(bottom) } else { Copper::None }],
        mask_openings: [area(Role::MaskTop), area(Role::MaskBottom).filter(|_| sides.bottom_copper)],
        outline,
        bores,
    })
}

/// Board and copper of a lamp without artwork.
fn sketched(section: &Section<'_>, sides: Sides) -> Option<Drawn> {
    if section.has("artwork") {
        return None;
    }
    let Some([width, height]) = section.pair("outline") else {
        if !section.has("outline") {
            section.document.error(section.at, "the variant needs \"artwork\" (a folder of fabrication files) or \"outline\" (a board rectangle, such as [\"60 mm\", \"40 mm\"])");
        }
        return None;
    };
    let bounds = Bounds { min: Point::new(0, 0), max: Point::rounded(width * 1e9, height * 1e9) };
    let [top, bottom] = copper_words(section);
    let bottom = if sides.bottom_copper { bottom } else { Copper::None };
    Some(Drawn {
        outline: Area::rectangle(bounds),
        copper: if sides.drawn { [top, bottom] } else { [Copper::None, Copper::None] },
        mask_openings: [None, None],
        bores: Vec::new(),
    })
}

fn copper_words(section: &Section<'_>) -> [Copper; 2] {
    let word = |text: Option<&str>, at: usize| match text {
        Some("full") => Copper::Full,
        Some("none") => Copper::None,
        _ => {
            section.document.error(
                at,
                "copper: \"full\" or \"none\" is allowed, or { top = \"full\", bottom = \"none\" }",
            );
            Copper::Full
        }
    };
    let Some(value) = section.raw("copper") else { return [Copper::Full, Copper::Full] };
    match value.get_ref().as_table() {
        None => {
            let both = word(value.get_ref().as_str(), value.span().start);
            [both.clone(), both]
        }
        Some(table) => {
            let mut sides = [Copper::Full, Copper::Full];
            for (name, value) in table {
                let index = match name.get_ref().as_ref() {
                    "top" => 0,
                    "bottom" => 1,
                    other => {
                        section.document.error(
                            name.span().start,
                            format!("copper: unknown side \"{other}\"; \"top\" and \"bottom\" are allowed"),
                        );
                        continue;
                    }
                };
                sides[index] = word(value.get_ref().as_str(), value.span().start);
            }
            sides
        }
    }
}

fn patch(section: &Section<'_>, outline: &Area) -> Option<HeatPatch> {
    let name = section.text_or_default("name");
    let (at, size, heat_w) = (section.pair("at"), section.pair("size"), section.value("power"));
    let ([x, y], [width, height], heat_w) = (at?, size?, heat_w?);
    let bounds = Bounds {
        min: Point::rounded((x - width / 2.0) * 1e9, (y - height / 2.0) * 1e9),
        max: Point::rounded((x + width / 2.0) * 1e9, (y + height / 2.0) * 1e9),
    };
    let area = Area::rectangle(bounds);
    if area.is_empty() || area.difference(outline).area_mm2() > 1e-6 {
        section.error(
            "at",
            format!(
                "the heat patch \"{name}\" reaches beyond the board; its centre and size must keep it inside"
            ),
        );
        return None;
    }
    Some(HeatPatch { name, area, heat_w })
}

fn say_twins(section: &Section<'_>, emitters: &[PlacedEmitter]) {
    for (index, emitter) in emitters.iter().enumerate() {
        if emitters.iter().take(index).any(|other| other.reference == emitter.reference) {
            section.document.error(section.at, format!("{} is placed twice", emitter.reference));
        }
    }
}

/// Currents above a sheet's limit; predict fails on them, check warns.
fn say_currents(name: &str, common: &Common<'_>, emitters: &[PlacedEmitter]) {
    let Some(drive) = &common.drive else { return };
    let highest = drive
        .values("currents")
        .unwrap_or_default()
        .into_iter()
        .chain(drive.value("nominal"))
        .fold(0.0, f64::max);
    let over = emitters
        .iter()
        .find(|emitter| highest * emitter.current_share > emitter.sheet.current_limit_a * (1.0 + 1e-9));
    if let Some(emitter) = over {
        let text = format!(
            "variant \"{}\": {} A go through {}, whose sheet \"{}\" allows {} A",
            name,
            highest * emitter.current_share,
            emitter.reference,
            emitter.sheet.name,
            emitter.sheet.current_limit_a
        );
        drive.warn("currents", text);
    }
}

fn say_metal_core_holes(section: &Section<'_>, sides: Sides, variant: &Variant) {
    if !sides.metal_core {
        return;
    }
    let plated: Vec<&Bore> = variant.bores.iter().filter(|bore| bore.lining != Lining::Unplated).collect();
    if let Some(first) = plated.first() {
        let at = first.path.first().copied().unwrap_or_default();
        let text = format!(
            "{} plated {} through the metal core, the first at {:.3}, {:.3} mm: its copper would touch the metal; a metal core takes unplated holes only",
            plated.len(),
            if plated.len() == 1 { "hole goes" } else { "holes go" },
            f64::from(at.x_nm) / 1e6,
            f64::from(at.y_nm) / 1e6
        );
        section.error("artwork", text);
    }
}

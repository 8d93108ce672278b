//! The screws that hold the board down: where they are, and what lies under their heads.

use artwork::reading::Artwork;
use artwork::roles::Role;
use artwork::shape::{Area, Point};

use super::bond::{ALIKE_M, diameters, none_of, unplated};
use super::document::Section;
use crate::as_built::Bore;
use crate::bond_line::Screw;
use crate::circuit::Circuit;

/// Diameter of a pan head over that of its clearance hole: 5.6 mm for 3.2 mm (ISO 7045 and ISO 273, from memory).
const HEAD_OVER_HOLE: f64 = 1.75;

/// What the screws are placed by.
pub(super) struct Placing<'a> {
    pub outline: &'a Area,
    pub bores: &'a [Bore],
    pub artwork: Option<&'a Artwork>,
    /// The heatsink's base.
    pub base: Option<&'a Area>,
}

/// Reads [screws].
pub(super) fn read(section: &Section<'_>, placing: &Placing<'_>) -> Vec<Screw> {
    let is_metal = section.choice_or_default("material") == "metal";
    let (head, force_n) = (section.value("head"), section.value("force"));
    let ways = ["hole", "tool", "at"].map(|name| section.has(name));
    if ways.iter().filter(|given| **given).count() != 1 {
        section.document.error(
            section.at,
            "[screws] takes one of \"hole\" (diameter of their unplated holes, such as \"3.2 mm\"), \"tool\" (of the drill file, such as \"T3\") or \"at\" (places, such as [[\"4 mm\", \"4 mm\"]])",
        );
        return Vec::new();
    }
    let places = by_diameter(section, placing)
        .or_else(|| by_tool(section, placing))
        .or_else(|| by_place(section, placing));
    let places = places.unwrap_or_default();
    for (at, _) in &places {
        if placing.base.is_some_and(|base| !base.contains(*at)) {
            let (x, y) = mm(*at);
            let text = format!(
                "the screw at {x:.2}, {y:.2} mm stands beside the heatsink base and so has nothing to hold to there"
            );
            section.warn(
                if ways[2] {
                    "at"
                } else if ways[1] {
                    "tool"
                } else {
                    "hole"
                },
                text,
            );
        }
    }
    places
        .into_iter()
        .map(|(at, hole_m)| Screw { at, is_metal, head_m: head.unwrap_or(HEAD_OVER_HOLE * hole_m), force_n })
        .collect()
}

fn by_diameter(section: &Section<'_>, placing: &Placing<'_>) -> Option<Vec<(Point, f64)>> {
    let wanted = section.value("hole")?;
    let found: Vec<_> = unplated(placing.bores).filter(|(_, d)| (d - wanted).abs() <= ALIKE_M).collect();
    if found.is_empty() {
        let text = match placing.artwork {
            Some(_) => format!("{} {}", none_of(wanted), diameters(placing.bores)),
            None => "a lamp without artwork has no holes; give the screws' places with \"at\"".to_owned(),
        };
        section.error("hole", text);
    }
    Some(found)
}

fn by_tool(section: &Section<'_>, placing: &Placing<'_>) -> Option<Vec<(Point, f64)>> {
    let text = section.text("tool")?;
    let Some(artwork) = placing.artwork else {
        section
            .error("tool", "a lamp without artwork has no drill file; give the screws' places with \"at\"");
        return Some(Vec::new());
    };
    let number = text.trim().trim_start_matches(['T', 't']).parse::<u32>().ok();
    let drilled = |number: u32| -> Vec<(Point, f64)> {
        let hits = artwork.drills.iter().flat_map(|drill| &drill.hits).filter(|hit| hit.tool == number);
        let on_board = |at: &Point| unplated(placing.bores).find(|(p, _)| p == at);
        hits.filter_map(|hit| on_board(&hit.at)).collect()
    };
    let found = number.map(drilled).unwrap_or_default();
    if found.is_empty() {
        let tools: Vec<String> = artwork
            .drills
            .iter()
            .flat_map(|drill| {
                drill.tools.iter().map(move |tool| format!("T{} of {}", tool.number, drill.file))
            })
            .collect();
        section.error(
            "tool",
            format!(
                "\"{text}\" drills no unplated hole of the board; tools are {}; {}",
                tools.join(", "),
                diameters(placing.bores)
            ),
        );
    }
    Some(found)
}

fn by_place(section: &Section<'_>, placing: &Placing<'_>) -> Option<Vec<(Point, f64)>> {
    let mut found = Vec::new();
    for [x, y] in section.pairs("at")? {
        let at = Point::rounded(x * 1e9, y * 1e9);
        // In its own hole, the place counts as on the board.
        let hole = unplated(placing.bores).find(|(p, d)| {
            let (dx, dy) = (f64::from(p.x_nm - at.x_nm), f64::from(p.y_nm - at.y_nm));
            dx.hypot(dy) < 0.5e9 * d
        });
        if hole.is_none() && !placing.outline.contains(at) {
            let (x, y) = mm(at);
            section.error(
                "at",
                format!(
                    "the screw at {x:.2}, {y:.2} mm is not on the board; places are those of the artwork"
                ),
            );
            continue;
        }
        found.push((hole.map_or(at, |h| h.0), hole.map_or(0.0, |h| h.1)));
    }
    Some(found)
}

/// Says which metal heads lie over copper that carries current, or may do so.
pub(super) fn say_heads(
    section: &Section<'_>,
    screws: &[Screw],
    (artwork, circuit): (Option<&Artwork>, Option<&Circuit>),
) {
    let Some(artwork) = artwork else { return };
    let nets = artwork.nets();
    let live = |net: usize| circuit.is_none_or(|c| c.nodes.iter().any(|node| node.nets.contains(&net)));
    for screw in screws.iter().filter(|s| s.is_metal && s.head_m > 0.0) {
        let head = Area::disc(screw.at, 1e9 * screw.head_m);
        let mut under: Vec<String> = Vec::new();
        for overlap in nets.islands_under(Role::CopperTop, &head) {
            let net = nets.islands[overlap.island].net;
            let label = nets.label(net);
            if live(net) && !under.contains(&label) {
                under.push(label);
            }
        }
        if under.is_empty() {
            continue;
        }
        let (x, y) = mm(screw.at);
        let place = format!(
            "the metal screw at {x:.2}, {y:.2} mm has a head of {:.1} mm, which lies over",
            1e3 * screw.head_m
        );
        let mend = "the mask is no insulation against a screw: take a nylon screw or an insulating washer, a smaller head, or keep copper away from it";
        let (severity, text) = match circuit {
            Some(_) => {
                ("warning", format!("{place} copper that carries current: {}; {mend}", under.join(", ")))
            }
            None => (
                "note",
                format!(
                    "{place} copper of {}; whether it carries current is known with [[supply]] pads only; {mend}",
                    under.join(", ")
                ),
            ),
        };
        section.document.say(severity, section.at, text);
    }
}

fn mm(at: Point) -> (f64, f64) {
    (f64::from(at.x_nm) / 1e6, f64::from(at.y_nm) / 1e6)
}

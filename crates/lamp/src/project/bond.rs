//! The bond line as written: film, pad, pedestals, regions, burrs and bow.

use artwork::shape::{Area, Bounds, Point};

use super::document::Section;
use crate::as_built::{Bond, Bore, Lining};
use crate::bond_line::{
    BondKind, BondRegion, Bow, BowAlong, Compression, Flatness, Interface, NoCurve, Screw, Tolerance,
    film_resistance_m2k_per_w,
};

/// Bond lines thicker than this are told; a gap pad is 0.5 to 3 mm, grease 20 to 100 µm (common practice, no source).
const THICK_BOND_M: f64 = 3e-3;
/// Bow deeper than this part of its span is told: boards are usually allowed 0.75 % (IPC-6012, from memory).
const USUAL_BOW: f64 = 0.0075;
/// How far a hole's diameter may lie beside the one asked for, m.
pub(super) const ALIKE_M: f64 = 0.05e-3;

/// The bond line of a board that lies within `outline`.
pub(super) fn bond(section: &Section<'_>, outline: &Area) -> Option<Bond> {
    let (thickness, conductivity, resistance) =
        (section.value("thickness"), section.value("conductivity"), section.value("resistance"));
    if let Some(thick) = thickness.filter(|t| *t > THICK_BOND_M) {
        section.warn("thickness", format!("a bond line of {} mm is unusually thick", thick * 1e3));
    }
    let interface = interface(section, thickness, resistance.is_some(), outline);
    match (thickness, conductivity, resistance) {
        (Some(thickness_m), Some(k), None) => Some(Bond {
            thickness_m: Some(thickness_m),
            conductivity_w_per_m_k: Some(k),
            resistance_m2k_per_w: film_resistance_m2k_per_w(thickness_m, k),
            interface: interface?,
        }),
        (None, None, Some(resistance_m2k_per_w)) => Some(Bond {
            thickness_m: None,
            conductivity_w_per_m_k: None,
            resistance_m2k_per_w,
            interface: interface?,
        }),
        _ => {
            // Where the right keys are there, what is wrong with a value has been told.
            let has = ["thickness", "conductivity", "resistance"].map(|name| section.has(name));
            if has != [true, true, false] && has != [false, false, true] {
                section.document.error(
                    section.at,
                    "[bond] takes either \"thickness\" and \"conductivity\", such as \"50 um\" and \"3 W/m/K\", or \"resistance\" alone",
                );
            }
            None
        }
    }
}

fn interface(
    section: &Section<'_>,
    thickness: Option<f64>,
    by_resistance: bool,
    outline: &Area,
) -> Option<Interface> {
    let kind = match section.choice_or_default("kind") {
        "pad" => BondKind::Pad,
        "tape" => BondKind::Tape,
        "adhesive" => BondKind::Adhesive,
        _ => BondKind::Grease,
    };
    let pedestals: Vec<Option<Area>> =
        section.sections("pedestal").iter().map(|p| rectangle(p, outline, "the pedestal")).collect();
    let regions: Vec<Option<BondRegion>> =
        section.sections("region").iter().map(|r| region(r, outline)).collect();
    let recess_m = section.value_or_default("recess");
    if section.has("recess") && pedestals.is_empty() {
        section.error("recess", "\"recess\" says how far the base stands back beside its pedestals; there is no [[bond.pedestal]]");
    }
    if by_resistance {
        for name in ["thickness_tolerance", "conductivity_tolerance", "fills_to", "compression", "pressure"] {
            if section.has(name) {
                let text =
                    format!("\"{name}\" needs \"thickness\" and \"conductivity\" instead of \"resistance\"");
                section.error(name, text);
            }
        }
    }
    let fills_to_m = section.value("fills_to");
    if let (Some(fills), Some(thickness)) = (fills_to_m, thickness)
        && fills < thickness
    {
        section.error(
                "fills_to",
                format!(
                    "fills_to = {:.0} um is less than the bond line's own thickness of {:.0} um; it is the widest gap that is still filled",
                    1e6 * fills,
                    1e6 * thickness
                ),
            );
    }
    let tolerance = Tolerance {
        thickness: thickness_tolerance(section, thickness),
        conductivity: section
            .value("resistance_tolerance")
            .filter(|_| by_resistance)
            .map_or_else(|| section.value_or_default("conductivity_tolerance"), |r| r / (1.0 + r)),
    };
    if section.has("resistance_tolerance") && !by_resistance {
        section.error(
            "resistance_tolerance",
            "\"resistance_tolerance\" belongs to \"resistance\"; with thickness and conductivity give \"thickness_tolerance\" and \"conductivity_tolerance\"",
        );
    }
    let compression = compression(section, kind);
    let pressure_pa = section.value("pressure");
    if pressure_pa.is_some() && compression.is_none() && !section.has("compression") {
        section.error(
            "pressure",
            "\"pressure\" tells how far a pad gives way: it needs kind = \"pad\" and \"compression\", such as [[\"100 kPa\", 0.1], [\"300 kPa\", 0.2]]",
        );
    }
    Some(Interface {
        kind,
        tolerance,
        fills_to_m,
        compression,
        pressure_pa,
        pedestals: pedestals.into_iter().collect::<Option<_>>()?,
        recess_m,
        regions: regions.into_iter().collect::<Option<_>>()?,
    })
}

/// The part of its thickness by which a film may be thicker or thinner.
fn thickness_tolerance(section: &Section<'_>, thickness: Option<f64>) -> f64 {
    let (Some(off), Some(thickness)) = (section.value("thickness_tolerance"), thickness) else { return 0.0 };
    if off >= thickness {
        section.error(
            "thickness_tolerance",
            format!(
                "thickness_tolerance = {:.0} um: allowed is less than the thickness itself, {:.0} um",
                1e6 * off,
                1e6 * thickness
            ),
        );
        return 0.0;
    }
    off / thickness
}

fn compression(section: &Section<'_>, kind: BondKind) -> Option<Compression> {
    let points = section.curve("compression")?;
    if kind != BondKind::Pad {
        section.error("compression", "\"compression\" belongs to a pad; write kind = \"pad\"");
        return None;
    }
    match Compression::new(&points) {
        Ok(curve) => Some(curve),
        Err(why) => {
            let why = match why {
                NoCurve::Empty => "at least one point besides 0 is needed",
                NoCurve::NotAscending => {
                    "a pad gives way more the more it is pressed: both values must ascend, from above 0"
                }
                NoCurve::NothingLeft => {
                    "the second values are parts of the free thickness and must stay below 0.95"
                }
            };
            section.error(
                "compression",
                format!("compression: {why}; such as [[\"100 kPa\", 0.1], [\"300 kPa\", 0.2]]"),
            );
            None
        }
    }
}

/// A rectangle that lies, at least in part, under the board.
fn rectangle(section: &Section<'_>, outline: &Area, what: &str) -> Option<Area> {
    let (at, size) = (section.pair("at"), section.pair("size"));
    let ([x, y], [width, height]) = (at?, size?);
    let bounds = Bounds {
        min: Point::rounded((x - width / 2.0) * 1e9, (y - height / 2.0) * 1e9),
        max: Point::rounded((x + width / 2.0) * 1e9, (y + height / 2.0) * 1e9),
    };
    let area = Area::rectangle(bounds);
    if area.intersect(outline).is_empty() {
        let [x0, y0, x1, y1] = outline.bounds().map(|b| b.corners_mm()).unwrap_or_default();
        section.error(
            "at",
            format!(
                "{what} lies beside the board, which reaches from {x0}, {y0} to {x1}, {y1} mm; at is its middle in artwork coordinates"
            ),
        );
        return None;
    }
    Some(area)
}

fn region(section: &Section<'_>, outline: &Area) -> Option<BondRegion> {
    let area = rectangle(section, outline, "the region");
    let touches = section.flag_or_default("contact");
    let (thickness, conductivity, resistance) =
        (section.value("thickness"), section.value("conductivity"), section.value("resistance"));
    let own = match (thickness, conductivity, resistance) {
        (Some(thickness), Some(k), None) => Some(film_resistance_m2k_per_w(thickness, k)),
        (None, None, Some(resistance)) => Some(resistance),
        (None, None, None) => None,
        _ => {
            section.document.error(
                section.at,
                "[[bond.region]] takes either \"thickness\" and \"conductivity\", or \"resistance\" alone, or contact = false",
            );
            return None;
        }
    };
    if own.is_some() != touches {
        section.document.error(
            section.at,
            "[[bond.region]] needs a value of its own (\"thickness\" and \"conductivity\", or \"resistance\"), or contact = false for air, not both",
        );
        return None;
    }
    Some(BondRegion { area: area?, resistance_m2k_per_w: own })
}

/// Burrs and bow. `holes`: the board's holes; `longest_m`: longer sides of board and base.
pub(super) fn flatness(
    section: &Section<'_>,
    (bores, screws): (&[Bore], &[Screw]),
    [board_m, base_m]: [f64; 2],
    bond: Option<&Bond>,
) -> Flatness {
    let along = match section.choice_or_default("along") {
        "x" => BowAlong::X,
        "y" => BowAlong::Y,
        _ => BowAlong::Both,
    };
    let bow = |depth: &'static str, span: &'static str, longest_m: f64| {
        let given = section.value(span);
        if given.is_some() && !section.has(depth) {
            section.error(span, format!("\"{span}\" is the span of \"{depth}\", which is missing"));
        }
        let bow = Bow { depth_m: section.value_or_default(depth), span_m: given.unwrap_or(longest_m), along };
        if bow.depth_m.abs() > USUAL_BOW * bow.span_m {
            let text = format!(
                "{depth} = {} mm over {:.1} mm is {:.1} %: boards are usually allowed 0.75 % (IPC-6012, from memory)",
                1e3 * bow.depth_m,
                1e3 * bow.span_m,
                100.0 * bow.depth_m.abs() / bow.span_m
            );
            section.warn(depth, text);
        }
        bow
    };
    let board = bow("board_bow", "board_span", board_m);
    let heatsink = bow("heatsink_bow", "heatsink_span", base_m);
    let burr_m = section.value_or_default("burr");
    let burrs = if burr_m > 0.0 { burred(section, bores, screws) } else { Vec::new() };
    if section.has("burr_hole") && burr_m <= 0.0 {
        section.error(
            "burr_hole",
            "\"burr_hole\" says which holes have a burr of the height \"burr\", which is missing or 0",
        );
    }
    let flatness = Flatness { burr_m, burrs, board, heatsink };
    let film = bond.is_some_and(|b| b.thickness_m.is_some_and(|t| t > 0.0));
    if !flatness.is_even() && bond.is_some() && !film {
        section.document.error(
            section.at,
            "burrs and bow change the thickness of the bond line: [bond] needs \"thickness\" and \"conductivity\" instead of \"resistance\"",
        );
    }
    flatness
}

/// Holes with a burr: those of a diameter, or all that are not plated, and the screws'.
fn burred(section: &Section<'_>, bores: &[Bore], screws: &[Screw]) -> Vec<Point> {
    let wanted = section.value("burr_hole");
    let mut holes: Vec<Point> = unplated(bores)
        .filter(|(_, diameter_m)| wanted.is_none_or(|w| (w - diameter_m).abs() <= ALIKE_M))
        .map(|(at, _)| at)
        .collect();
    if wanted.is_none() {
        for screw in screws {
            if !holes.contains(&screw.at) {
                holes.push(screw.at);
            }
        }
    }
    if holes.is_empty() {
        let text = match wanted {
            Some(diameter) => format!("{} {}", none_of(diameter), diameters(bores)),
            None => "there is no hole that could have a burr: the board has no unplated hole and no screw"
                .to_owned(),
        };
        section.error(if wanted.is_some() { "burr_hole" } else { "burr" }, text);
    }
    holes
}

/// Middles and diameters (m) of the holes that are not plated, slots left out.
pub(super) fn unplated(bores: &[Bore]) -> impl Iterator<Item = (Point, f64)> + '_ {
    bores
        .iter()
        .filter(|bore| bore.lining == Lining::Unplated && bore.path.len() == 1)
        .filter_map(|bore| Some((*bore.path.first()?, bore.diameter_m)))
}

pub(super) fn none_of(diameter_m: f64) -> String {
    format!("no unplated hole of {} mm (within {} mm) is on the board;", mm(diameter_m), mm(ALIKE_M))
}

/// The unplated holes by diameter, in words.
pub(super) fn diameters(bores: &[Bore]) -> String {
    let mut found: Vec<(f64, usize)> = Vec::new();
    for (_, diameter) in unplated(bores) {
        match found.iter_mut().find(|(d, _)| (*d - diameter).abs() < 1e-9) {
            Some((_, count)) => *count += 1,
            None => found.push((diameter, 1)),
        }
    }
    found.sort_by(|a, b| a.0.total_cmp(&b.0));
    if found.is_empty() {
        return "it has no unplated hole".to_owned();
    }
    let each: Vec<String> = found.iter().map(|(d, count)| format!("{count} of {} mm", mm(*d))).collect();
    format!("its unplated holes are {}", each.join(", "))
}

/// Millimetres without a tail of digits.
fn mm(metres: f64) -> f64 {
    (metres * 1e6).round() / 1e3
}

/// A pad whose compression is stated needs to be told what presses it.
pub(super) fn say_clamp(variant: &Section<'_>, bond: &Bond, screws: &[Screw]) {
    let interface = &bond.interface;
    let by_force = screws.iter().any(|s| s.force_n.is_some_and(|f| f > 0.0));
    if interface.compression.is_some() && interface.pressure_pa.is_none() && !by_force {
        variant.document.error(
            variant.at,
            "the pad has \"compression\" and nothing that presses it: give \"pressure\" in [bond], such as \"100 kPa\", or \"force\" in [screws], such as \"80 N\"",
        );
    }
}

//! Tables that hold for all variants and may differ for one: drive, limits, heatsink, faces.

use artwork::shape::{Area, Bounds, Point};

use super::air_side;
use super::document::Section;
use super::materials::Substances;
use crate::as_built::{Cooling, Face, Heatsink};
use crate::material::Material;

/// The heatsink under a board whose middle is given.
pub(super) fn heatsink(
    section: &Section<'_>,
    air: &air_side::Tables<'_>,
    substances: &Substances,
    board_middle: Point,
) -> Option<Heatsink> {
    let base = section.pair("base");
    let thickness_m = section.value("base_thickness");
    let material = substances.named(section, "material").or_else(|| {
        if section.has("material") { None } else { Material::known(section.default_text("material")) }
    });
    let offset = section.pair_or_default("offset");
    let joined = air_side::joined(section, air, base, thickness_m, material.as_ref());
    let (stated, fins) = if joined.is_some() {
        (None, joined)
    } else {
        let stated = air_side::stated(section, base, thickness_m, material.as_ref());
        (stated, air_side::fins(section, air, base, material.as_ref()))
    };
    let cooling = match (stated, section.value("h"), fins) {
        (Some(cooling), None, None) => cooling,
        (None, Some(h_w_per_m2_k), None) => Some(Cooling::Film { h_w_per_m2_k }),
        (None, None, Some(side)) => side.map(|side| Cooling::Air(Box::new(side))),
        (None, None, None) => {
            if !section.has("h") {
                section.document.error(
                    section.at,
                    "[heatsink] needs \"resistance\" (base's back to room, such as \"1.2 K/W\"), \"h\" (such as \"900 W/m2/K\") or \"fins\" with \
                     their dimensions",
                );
            }
            None
        }
        _ => {
            let key = if section.has("h") { "h" } else { "fins" };
            section.error(key, "give either \"resistance\" (or a maker's table), \"h\" or \"fins\" for the heatsink, only one of them");
            None
        }
    };
    let front_emissivity = if section.has("finish") && !section.has("emissivity") {
        air_side::emissivity(section)
    } else {
        section.value_or_default("emissivity")
    };
    let ([width, height], [dx, dy]) = (base?, offset);
    let (cx, cy) = (f64::from(board_middle.x_nm) + dx * 1e9, f64::from(board_middle.y_nm) + dy * 1e9);
    let bounds = Bounds {
        min: Point::rounded(cx - width * 5e8, cy - height * 5e8),
        max: Point::rounded(cx + width * 5e8, cy + height * 5e8),
    };
    Some(Heatsink {
        base: Area::rectangle(bounds),
        thickness_m: thickness_m?,
        material: material?,
        cooling: cooling?,
        front_emissivity,
    })
}

/// Top and bottom face.
pub(super) fn faces(section: Option<&Section<'_>>) -> (Face, Face) {
    let open = Face::Open { emissivity: section.map_or(0.9, |s| s.value_or_default("emissivity")) };
    let face = |name: &'static str| section.map_or(open, |section| face_word(section, name, open));
    (face("top"), face("bottom"))
}

fn face_word(section: &Section<'_>, name: &'static str, open: Face) -> Face {
    match section.text(name) {
        None => open,
        Some(text) => match text.trim() {
            "open" => open,
            "adiabatic" => Face::Adiabatic,
            value => match super::quantity::Quantity::Film.read(value) {
                Ok(0.0) => Face::Adiabatic,
                Ok(h_w_per_m2_k) if h_w_per_m2_k > 0.0 && h_w_per_m2_k <= 1e12 => Face::Film { h_w_per_m2_k },
                Ok(h) => {
                    section.error(name, format!("{name} = \"{h} W/m2/K\": allowed is 0 to 1e12 W/m2/K"));
                    open
                }
                Err(text) => {
                    section.error(
                        name,
                        format!("{name}: \"open\", \"adiabatic\" or a coefficient is allowed; {text}"),
                    );
                    open
                }
            },
        },
    }
}

//! The board's layers from its kind.

use artwork::shape::Area;

use super::document::Section;
use super::materials::{Substances, given};
use crate::as_built::{LayerKind, StackLayer};
use crate::material::Material;

/// Conductivity of what lies between copper: mask or resin, W/m/K; from memory.
const GAP_W_PER_M_K: f64 = 0.25;

/// Copper of one side.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Copper {
    /// Everywhere.
    Full,
    /// Nowhere.
    None,
    /// As the artwork draws it.
    Drawn(Area),
}

impl Copper {
    fn pattern(self) -> Option<Area> {
        match self {
            Self::Full => None,
            Self::None => Some(Area::default()),
            Self::Drawn(area) => Some(area),
        }
    }
}

/// What a board's kind asks of its artwork.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Sides {
    pub bottom_copper: bool,
    pub metal_core: bool,
    pub drawn: bool,
}

/// Which sides of copper the kind has.
pub(super) fn sides(kind: &str) -> Sides {
    Sides {
        bottom_copper: kind == "fr4 two-layer",
        metal_core: matches!(kind, "aluminium core" | "copper core"),
        drawn: kind != "layers",
    }
}

fn layer(name: &str, kind: LayerKind, thickness_m: f64, material: Material) -> StackLayer {
    StackLayer {
        name: name.to_owned(),
        kind,
        thickness_m,
        material,
        pattern: None,
        gap_conductivity_w_per_m_k: GAP_W_PER_M_K,
        resistance_below_m2k_per_w: 0.0,
    }
}

fn copper(
    section: &Section<'_>,
    side: &'static str,
    name: &str,
    pattern: Copper,
    substances: &Substances,
) -> Option<StackLayer> {
    let material = substances.by_name("copper")?;
    if pattern == Copper::None {
        return None;
    }
    let thickness = section.value_or_default(side);
    Some(StackLayer { pattern: pattern.pattern(), ..layer(name, LayerKind::Copper, thickness, material) })
}

/// Layers from the emitter side down. `thermal_lands` and `outline` serve the copper core's pedestals.
pub(super) fn layers(
    board: &Section<'_>,
    list: &[Section<'_>],
    substances: &Substances,
    [top, bottom]: [Copper; 2],
    (outline, thermal_lands): (&Area, &Area),
) -> Vec<StackLayer> {
    let Some(kind) = board.choice("kind") else { return Vec::new() };
    if kind != "layers" && !list.is_empty() {
        board.error("kind", format!("[[layer]] lists belong to kind = \"layers\"; the kind is \"{kind}\""));
    }
    let top = copper(board, "copper_top", "top copper", top, substances);
    match kind {
        "fr4 one-layer" | "fr4 two-layer" => {
            let material = substance(board, "laminate", substances);
            let laminate = material
                .map(|m| layer("laminate", LayerKind::Dielectric, board.value_or_default("thickness"), m));
            let below = (kind == "fr4 two-layer")
                .then(|| copper(board, "copper_bottom", "bottom copper", bottom, substances));
            top.into_iter().chain(laminate).chain(below.flatten()).collect()
        }
        "aluminium core" | "copper core" => {
            let copper_core = kind == "copper core";
            let core = if board.has("core") {
                substances.named(board, "core")
            } else {
                substances.by_name(if copper_core { "copper, pure" } else { "aluminium 5052" })
            };
            let core =
                core.map(|m| layer("core", LayerKind::Core, board.value_or_default("core_thickness"), m));
            let mut dielectric = dielectric(board, substances).map(|m| {
                layer("dielectric", LayerKind::Dielectric, board.value_or_default("dielectric_thickness"), m)
            });
            if let (Some(dielectric), Some(core)) = (&mut dielectric, &core)
                && copper_core
                && board.flag_or_default("pedestal")
                && !thermal_lands.is_empty()
            {
                // Under thermal lands the core stands up through the dielectric.
                dielectric.pattern = Some(outline.difference(thermal_lands));
                dielectric.gap_conductivity_w_per_m_k = core.material.kz_w_per_m_k;
            }
            top.into_iter().chain(dielectric).chain(core).collect()
        }
        _ => {
            if list.is_empty() {
                board.error("kind", "kind = \"layers\" needs at least one [[variant.NAME.layer]] with name, thickness and material");
            }
            list.iter().filter_map(|section| plain(section, substances)).collect()
        }
    }
}

/// A substance by key, or by the key's default.
fn substance(section: &Section<'_>, key: &'static str, substances: &Substances) -> Option<Material> {
    if section.has(key) {
        substances.named(section, key)
    } else {
        substances.by_name(section.default_text(key))
    }
}

fn dielectric(board: &Section<'_>, substances: &Substances) -> Option<Material> {
    match (board.has("dielectric"), board.value("dielectric_conductivity")) {
        (false, Some(k)) => Some(Material::isotropic("dielectric", k, "given in lamp.toml")),
        (true, None) => substances.named(board, "dielectric"),
        (true, Some(_)) => {
            board.error("dielectric", "give either \"dielectric\" or \"dielectric_conductivity\", not both");
            None
        }
        (false, None) => {
            if !board.has("dielectric_conductivity") {
                board.document.error(
                    board.at,
                    "a metal core needs \"dielectric_conductivity\" (such as \"2 W/m/K\") or \"dielectric\" (from the materials table)",
                );
            }
            None
        }
    }
}

fn plain(section: &Section<'_>, substances: &Substances) -> Option<StackLayer> {
    let name = section.text_or_default("name");
    let resistance_below_m2k_per_w = section.value_or_default("resistance_below");
    let typed = given(section, &name, "given in lamp.toml".to_owned());
    let material = match (section.has("material"), typed) {
        (true, None) => substances.named(section, "material"),
        (false, Some(material)) => Some(material),
        (true, Some(_)) => {
            section.error("material", "give either \"material\" or conductivities, not both");
            None
        }
        (false, None) => {
            if ["conductivity", "kx", "ky", "kz"].iter().all(|key| !section.has(key)) {
                section
                    .document
                    .error(section.at, "the layer needs \"material\" or \"conductivity\" (or kx, ky and kz)");
            }
            None
        }
    };
    let thickness = section.value("thickness")?;
    Some(StackLayer { resistance_below_m2k_per_w, ..layer(&name, LayerKind::Plain, thickness, material?) })
}

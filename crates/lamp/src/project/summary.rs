//! What was understood of a lamp folder, for `check`.

use artwork::reading::{ArtworkSummary, read_artwork};
use serde::Serialize;

use super::circuit_summary::CircuitSummary;
use crate::as_built::{Bond, Cooling, DrivePer, Face, Heatsink, Lamp, LayerKind, Lining, Variant};
use crate::circuit::sharing::Drive;

/// What was understood of a lamp.
#[derive(Debug, Clone, Default, Serialize)]
pub struct CheckSummary {
    /// Name of the lamp.
    pub lamp: String,
    /// Room temperature, degC.
    pub ambient_c: f64,
    /// What drive currents are for: `string` or `lamp`.
    pub drive_per: &'static str,
    /// Drive currents, A, each string's or the lamp's.
    pub currents_a: Vec<f64>,
    /// Nominal drive current, A, each string's or the lamp's.
    pub nominal_current_a: f64,
    /// Names and places of the sensors.
    pub sensors: Vec<SensorSummary>,
    /// Per variant.
    pub variants: Vec<VariantSummary>,
}

/// A sensor as understood.
#[derive(Debug, Clone, Serialize)]
pub struct SensorSummary {
    /// Name.
    pub name: String,
    /// What it sits on: "board" or "heatsink".
    pub on: &'static str,
    /// Place, mm.
    pub at_mm: [f64; 2],
}

/// What was understood of a variant.
#[derive(Debug, Clone, Default, Serialize)]
pub struct VariantSummary {
    /// Short name.
    pub variant: String,
    /// One line for headings.
    pub title: String,
    /// Whether it was understood; if not, a remark says why, and what follows stands empty but for the files.
    pub is_understood: bool,
    /// Its fabrication files; `null` for a lamp without artwork.
    pub artwork: Option<ArtworkSummary>,
    /// Area of the board, cut-outs taken off, mm².
    pub outline_area_mm2: f64,
    /// Layers from the emitter side down.
    pub layers: Vec<LayerSummary>,
    /// Emitters as placed.
    pub emitters: Vec<EmitterSummary>,
    /// The traced strings; `null` without supply pads or artwork.
    pub circuit: Option<CircuitSummary>,
    /// Heat patches.
    pub heat_patches: Vec<HeatPatchSummary>,
    /// Number of plated holes and slots.
    pub plated_bores: usize,
    /// Number of unplated holes and slots.
    pub unplated_bores: usize,
    /// Bond line, where there is one.
    pub bond: Option<BondSummary>,
    /// Heatsink, where there is one.
    pub heatsink: Option<HeatsinkSummary>,
    /// What the emitter side gives to the room, in words.
    pub top_face: String,
    /// What the back gives to the room where no heatsink covers it, in words.
    pub bottom_face: String,
}

/// A layer as understood.
#[derive(Debug, Clone, Serialize)]
pub struct LayerSummary {
    /// Name.
    pub name: String,
    /// `copper`, `dielectric`, `core` or `plain`.
    pub kind: &'static str,
    /// Thickness, µm.
    pub thickness_um: f64,
    /// Substance.
    pub material: String,
    /// Conductivity along x, W/m/K.
    pub kx_w_per_m_k: f64,
    /// Conductivity along y, W/m/K.
    pub ky_w_per_m_k: f64,
    /// Conductivity through the thickness, W/m/K.
    pub kz_w_per_m_k: f64,
    /// Where the conductivities come from.
    pub source: String,
    /// Area of the substance, mm².
    pub area_mm2: f64,
}

/// An emitter as understood.
#[derive(Debug, Clone, Serialize)]
pub struct EmitterSummary {
    /// Reference.
    #[serde(rename = "ref")]
    pub reference: String,
    /// Sheet.
    pub sheet: String,
    /// Centre, mm.
    pub at_mm: [f64; 2],
    /// Counter-clockwise rotation, degrees.
    pub rotation_deg: f64,
    /// Copper under the thermal land, mm².
    pub thermal_land_mm2: f64,
    /// Its part of the drive current.
    pub current_share: f64,
}

/// A heat patch as understood.
#[derive(Debug, Clone, Serialize)]
pub struct HeatPatchSummary {
    /// Name.
    pub name: String,
    /// Heat, W.
    pub heat_w: f64,
    /// Area, mm².
    pub area_mm2: f64,
}

/// The bond line as understood.
#[derive(Debug, Clone, Serialize)]
pub struct BondSummary {
    /// Thickness, µm, where given.
    pub thickness_um: Option<f64>,
    /// Conductivity, W/m/K, where given.
    pub conductivity_w_per_m_k: Option<f64>,
    /// Resistance times area, m²K/W.
    pub resistance_m2k_per_w: f64,
    /// `grease`, `pad`, `tape` or `adhesive`.
    pub kind: &'static str,
    /// Rectangles where the base touches the board; 0: it touches everywhere.
    pub pedestals: usize,
    /// Places with a value of their own.
    pub regions: usize,
    /// Places of the screws, mm.
    pub screws: Vec<[f64; 2]>,
    /// `metal` or `nylon`; `None` without screws.
    pub screw_material: Option<&'static str>,
    /// Height of the burrs, µm.
    pub burr_um: f64,
    /// Holes with a burr.
    pub burrs: usize,
    /// Bow of the board, µm.
    pub board_bow_um: f64,
    /// Bow of the heatsink's face, µm.
    pub heatsink_bow_um: f64,
}

/// The heatsink as understood.
#[derive(Debug, Clone, Serialize)]
pub struct HeatsinkSummary {
    /// Base plate, mm: x, y, thickness.
    pub base_mm: [f64; 3],
    /// Substance of the base.
    pub material: String,
    /// Base's back to room, K/W, where given so.
    pub resistance_k_per_w: Option<f64>,
    /// Coefficient over the base's back, W/m²/K, where given so.
    pub h_w_per_m2_k: Option<f64>,
    /// Fins, fan, vents and housing in words, where given so.
    pub air_side: Option<String>,
}

fn mm(nm: i32) -> f64 {
    f64::from(nm) / 1e6
}

impl CheckSummary {
    pub(super) fn say_lamp(&mut self, lamp: &Lamp) {
        self.ambient_c = lamp.ambient_c;
        self.drive_per = match lamp.drive_per {
            DrivePer::String => "string",
            DrivePer::Lamp => "lamp",
        };
        self.currents_a = lamp.currents_a.clone();
        self.nominal_current_a = lamp.nominal_current_a;
        self.sensors = lamp
            .sensors
            .iter()
            .map(|sensor| SensorSummary {
                name: sensor.name.clone(),
                on: sensor.on.word(),
                at_mm: [mm(sensor.at.x_nm), mm(sensor.at.y_nm)],
            })
            .collect();
    }
}

impl VariantSummary {
    pub(super) fn say(&mut self, variant: &Variant, drive: Drive) {
        self.is_understood = true;
        let circuit = variant.circuit.as_ref();
        self.circuit = circuit.map(|circuit| CircuitSummary::of(circuit, &variant.emitters, drive));
        self.outline_area_mm2 = variant.outline.area_mm2();
        self.layers = variant
            .layers
            .iter()
            .map(|layer| LayerSummary {
                name: layer.name.clone(),
                kind: match layer.kind {
                    LayerKind::Copper => "copper",
                    LayerKind::Dielectric => "dielectric",
                    LayerKind::Core => "core",
                    LayerKind::Plain => "plain",
                },
                thickness_um: layer.thickness_m * 1e6,
                material: layer.material.name.clone(),
                kx_w_per_m_k: layer.material.kx_w_per_m_k,
                ky_w_per_m_k: layer.material.ky_w_per_m_k,
                kz_w_per_m_k: layer.material.kz_w_per_m_k,
                source: layer.material.source.clone(),
                area_mm2: layer.pattern.as_ref().unwrap_or(&variant.outline).area_mm2(),
            })
            .collect();
        self.emitters = variant
            .emitters
            .iter()
            .map(|emitter| EmitterSummary {
                reference: emitter.reference.clone(),
                sheet: emitter.sheet.name.clone(),
                at_mm: [mm(emitter.at.x_nm), mm(emitter.at.y_nm)],
                rotation_deg: emitter.rotation_deg,
                thermal_land_mm2: emitter.thermal_land.area_mm2(),
                current_share: emitter.current_share,
            })
            .collect();
        self.heat_patches = variant
            .heat_patches
            .iter()
            .map(|patch| HeatPatchSummary {
                name: patch.name.clone(),
                heat_w: patch.heat_w,
                area_mm2: patch.area.area_mm2(),
            })
            .collect();
        self.unplated_bores = variant.bores.iter().filter(|bore| bore.lining == Lining::Unplated).count();
        self.plated_bores = variant.bores.len() - self.unplated_bores;
        self.bond = variant.bond.as_ref().map(|b| bond(b, variant));
        self.heatsink = variant.heatsink.as_ref().map(heatsink);
        self.top_face = face(variant.top_face);
        self.bottom_face = face(variant.bottom_face);
    }
}

fn bond(bond: &Bond, variant: &Variant) -> BondSummary {
    let flatness = &variant.flatness;
    BondSummary {
        thickness_um: bond.thickness_m.map(|t| t * 1e6),
        conductivity_w_per_m_k: bond.conductivity_w_per_m_k,
        resistance_m2k_per_w: bond.resistance_m2k_per_w,
        kind: bond.interface.kind.word(),
        pedestals: bond.interface.pedestals.len(),
        regions: bond.interface.regions.len(),
        screws: variant.screws.iter().map(|s| [mm(s.at.x_nm), mm(s.at.y_nm)]).collect(),
        screw_material: variant.screws.first().map(|s| if s.is_metal { "metal" } else { "nylon" }),
        burr_um: 1e6 * flatness.burr_m,
        burrs: flatness.burrs.len(),
        board_bow_um: 1e6 * flatness.board.depth_m,
        heatsink_bow_um: 1e6 * flatness.heatsink.depth_m,
    }
}

fn heatsink(heatsink: &Heatsink) -> HeatsinkSummary {
    let (width, height) = heatsink.base.bounds().map_or((0, 0), |b| (b.width_nm(), b.height_nm()));
    HeatsinkSummary {
        base_mm: [width as f64 / 1e6, height as f64 / 1e6, heatsink.thickness_m * 1e3],
        material: heatsink.material.name.clone(),
        resistance_k_per_w: match heatsink.cooling {
            Cooling::Resistance { k_per_w } => Some(k_per_w),
            _ => None,
        },
        h_w_per_m2_k: match heatsink.cooling {
            Cooling::Film { h_w_per_m2_k } => Some(h_w_per_m2_k),
            _ => None,
        },
        air_side: match &heatsink.cooling {
            Cooling::Air(side) => Some(side.words()),
            _ => None,
        },
    }
}

fn face(face: Face) -> String {
    match face {
        Face::Adiabatic => "adiabatic".to_owned(),
        Face::Film { h_w_per_m2_k } => format!("{h_w_per_m2_k} W/m2/K"),
        Face::Open { emissivity } => {
            format!("open: natural convection, and radiation with emissivity {emissivity}")
        }
    }
}

/// Reads fabrication files alone, without a lamp.
#[must_use]
pub fn check_artwork(files: &[(String, Vec<u8>)]) -> ArtworkSummary {
    read_artwork(files, &std::collections::BTreeMap::new()).summary()
}

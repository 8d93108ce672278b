//! A variant as it is drawn: plain shapes in millimetres, for views.

use artwork::shape::{Area, Point};
use serde::Serialize;

use crate::as_built::{Lamp, LandRole, LayerKind, Lining, Variant};

/// A closed line of points, mm; the last joins the first.
pub type Ring = Vec<[f64; 2]>;

/// Everything a view draws of a variant. Areas are rings to be filled even-odd.
#[derive(Debug, Clone, Serialize)]
pub struct Drawing {
    /// Board, cut-outs included.
    pub outline_mm: Vec<Ring>,
    /// Copper layers from the emitter side down; a layer that is everywhere copper has the outline.
    pub copper: Vec<CopperDrawing>,
    /// Openings of the emitter side's mask; `null` without mask.
    pub mask_openings_mm: Option<Vec<Ring>>,
    /// Holes and slots.
    pub bores: Vec<BoreDrawing>,
    /// Emitters.
    pub emitters: Vec<EmitterDrawing>,
    /// Heat patches.
    pub heat_patches: Vec<PatchDrawing>,
    /// Sensors.
    pub sensors: Vec<SensorDrawing>,
    /// Screws that hold the board down.
    pub screws: Vec<ScrewDrawing>,
    /// Heatsink base; `null` without heatsink.
    pub heatsink_base_mm: Option<Vec<Ring>>,
}

/// Copper of a layer.
#[derive(Debug, Clone, Serialize)]
pub struct CopperDrawing {
    /// Name of the layer.
    pub name: String,
    /// Its copper.
    pub rings_mm: Vec<Ring>,
}

/// A hole or slot.
#[derive(Debug, Clone, Serialize)]
pub struct BoreDrawing {
    /// Centre line: one point for a hole.
    pub path_mm: Ring,
    /// Diameter, mm.
    pub diameter_mm: f64,
    /// Whether it is plated.
    pub plated: bool,
}

/// An emitter.
#[derive(Debug, Clone, Serialize)]
pub struct EmitterDrawing {
    /// Reference.
    #[serde(rename = "ref")]
    pub reference: String,
    /// Centre, mm.
    pub at_mm: [f64; 2],
    /// Corners of the body, mm.
    pub body_mm: Ring,
    /// Lands.
    pub lands: Vec<LandDrawing>,
}

/// A land.
#[derive(Debug, Clone, Serialize)]
pub struct LandDrawing {
    /// `thermal`, `anode` or `cathode`.
    pub role: &'static str,
    /// Its shape.
    pub rings_mm: Vec<Ring>,
}

/// A heat patch.
#[derive(Debug, Clone, Serialize)]
pub struct PatchDrawing {
    /// Name.
    pub name: String,
    /// Its shape.
    pub rings_mm: Vec<Ring>,
}

/// A sensor.
#[derive(Debug, Clone, Serialize)]
pub struct SensorDrawing {
    /// Name.
    pub name: String,
    /// What it sits on: "board" or "heatsink".
    pub on: &'static str,
    /// Place, mm.
    pub at_mm: [f64; 2],
}

/// A screw.
#[derive(Debug, Clone, Serialize)]
pub struct ScrewDrawing {
    /// Place, mm.
    pub at_mm: [f64; 2],
    /// Diameter of its head, mm; 0 where nothing tells it.
    pub head_mm: f64,
}

/// Rounded to a tenth of a micrometre, which no view can show.
fn mm(nm: f64) -> f64 {
    (nm / 100.0).round() / 1e4
}

fn point(p: &Point) -> [f64; 2] {
    [mm(f64::from(p.x_nm)), mm(f64::from(p.y_nm))]
}

fn rings(area: &Area) -> Vec<Ring> {
    area.contours().map(|contour| contour.iter().map(point).collect()).collect()
}

/// The drawing of a variant, with the lamp's sensors.
#[must_use]
pub fn drawing(lamp: &Lamp, variant: &Variant) -> Drawing {
    let copper = variant.layers.iter().filter(|layer| layer.kind == LayerKind::Copper);
    Drawing {
        outline_mm: rings(&variant.outline),
        copper: copper
            .map(|layer| CopperDrawing {
                name: layer.name.clone(),
                rings_mm: rings(layer.pattern.as_ref().unwrap_or(&variant.outline)),
            })
            .collect(),
        mask_openings_mm: variant.mask_top.as_ref().map(|mask| rings(&mask.openings)),
        bores: variant
            .bores
            .iter()
            .map(|bore| BoreDrawing {
                path_mm: bore.path.iter().map(point).collect(),
                diameter_mm: bore.diameter_m * 1e3,
                plated: bore.lining != Lining::Unplated,
            })
            .collect(),
        emitters: variant
            .emitters
            .iter()
            .map(|emitter| {
                let (sin, cos) = emitter.rotation_deg.to_radians().sin_cos();
                let [w, h] = emitter.sheet.body_m.map(|size| size * 0.5e9);
                let corner = |x: f64, y: f64| {
                    [
                        mm(f64::from(emitter.at.x_nm) + x * cos - y * sin),
                        mm(f64::from(emitter.at.y_nm) + x * sin + y * cos),
                    ]
                };
                EmitterDrawing {
                    reference: emitter.reference.clone(),
                    at_mm: point(&emitter.at),
                    body_mm: vec![corner(-w, -h), corner(w, -h), corner(w, h), corner(-w, h)],
                    lands: emitter
                        .lands
                        .iter()
                        .map(|land| LandDrawing {
                            role: match land.role {
                                LandRole::Thermal => "thermal",
                                LandRole::Anode => "anode",
                                LandRole::Cathode => "cathode",
                            },
                            rings_mm: rings(&land.area),
                        })
                        .collect(),
                }
            })
            .collect(),
        heat_patches: variant
            .heat_patches
            .iter()
            .map(|patch| PatchDrawing { name: patch.name.clone(), rings_mm: rings(&patch.area) })
            .collect(),
        sensors: lamp
            .sensors
            .iter()
            .map(|sensor| SensorDrawing {
                name: sensor.name.clone(),
                on: sensor.on.word(),
                at_mm: point(&sensor.at),
            })
            .collect(),
        screws: variant
            .screws
            .iter()
            .map(|screw| ScrewDrawing { at_mm: point(&screw.at), head_mm: 1e3 * screw.head_m })
            .collect(),
        heatsink_base_mm: variant.heatsink.as_ref().map(|heatsink| rings(&heatsink.base)),
    }
}

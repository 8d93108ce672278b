//! What was understood of a board's fabrication files, for printing; units are in the names.

use serde::Serialize;

use crate::drill::{DrillFile, FormatSource};
use crate::nets::{Net, Nets};
use crate::reading::Artwork;
use crate::shape::Area;

/// What was understood of a board's files.
#[derive(Debug, Clone, Default, Serialize)]
pub struct ArtworkSummary {
    /// Gerber layers.
    pub layers: Vec<LayerSummary>,
    /// Drill files.
    pub drills: Vec<DrillSummary>,
    /// The board; `null` when nothing tells it.
    pub outline: Option<OutlineSummary>,
    /// Number of parts placed by centroid files.
    pub placements: usize,
    /// Copper nets: named ones in order of name, then numbered ones, the largest first.
    pub nets: Vec<NetSummary>,
    /// Remarks on the files, then on the nets.
    pub remarks: Vec<RemarkSummary>,
}

/// A Gerber layer.
#[derive(Debug, Clone, Serialize)]
pub struct LayerSummary {
    /// File.
    pub file: String,
    /// What it is for, such as `copper top`.
    pub role: String,
    /// How that was decided, in words.
    pub role_source: &'static str,
    /// Unit of the file: `mm` or `in`.
    pub unit: &'static str,
    /// Whether the unit was assumed.
    pub unit_assumed: bool,
    /// Dark area, mm².
    pub area_mm2: f64,
    /// Upright rectangle round it, mm: x min, y min, x max, y max; `null` when it is empty.
    pub bbox_mm: Option<[f64; 4]>,
    /// Connected pieces.
    pub pieces: usize,
}

/// A drill file.
#[derive(Debug, Clone, Serialize)]
pub struct DrillSummary {
    /// File.
    pub file: String,
    /// Unit of the file: `mm` or `in`.
    pub unit: &'static str,
    /// How the digits of its coordinates became known, in words.
    pub digits: &'static str,
    /// Tools in the order of their definition.
    pub tools: Vec<ToolSummary>,
}

/// A drill.
#[derive(Debug, Clone, Serialize)]
pub struct ToolSummary {
    /// Number in the file.
    pub number: u32,
    /// Diameter, mm.
    pub diameter_mm: f64,
    /// Holes.
    pub hits: usize,
    /// Slots.
    pub slots: usize,
    /// Whether they are plated; `null` when nothing tells it.
    pub plated: Option<bool>,
}

/// The board.
#[derive(Debug, Clone, Serialize)]
pub struct OutlineSummary {
    /// File that tells it; empty when it was taken from the copper's extent.
    pub file: String,
    /// Area less cut-outs, mm².
    pub area_mm2: f64,
    /// Upright rectangle round it, mm: x min, y min, x max, y max.
    pub bbox_mm: Option<[f64; 4]>,
    /// Boards: pieces that do not touch.
    pub pieces: usize,
    /// Cut-outs.
    pub cut_outs: usize,
}

/// A copper net.
#[derive(Debug, Clone, Serialize)]
pub struct NetSummary {
    /// Name, or `net 3`.
    pub name: String,
    /// Where the name comes from: `artwork`, `netlist` or `number`.
    pub named_by: &'static str,
    /// Connected pieces of copper, over all layers.
    pub islands: usize,
    /// Plated holes and slots that touch it.
    pub holes: usize,
    /// Copper of all layers, mm².
    pub area_mm2: f64,
    /// Pads on it.
    pub pads: Vec<PadSummary>,
}

/// A pad.
#[derive(Debug, Clone, Serialize)]
pub struct PadSummary {
    /// Component reference.
    #[serde(rename = "ref")]
    pub reference: String,
    /// Pin; empty where only the component is told.
    pub pin: String,
}

/// A remark.
#[derive(Debug, Clone, Serialize)]
pub struct RemarkSummary {
    /// `note`, `warning` or `error`.
    pub severity: &'static str,
    /// File; empty when it is about no single file.
    pub file: String,
    /// Line, from 1; `null` when it is about the file as a whole.
    pub line: Option<u32>,
    /// What was found, what is allowed, what was done.
    pub text: String,
}

fn bbox_mm(area: &Area) -> Option<[f64; 4]> {
    area.bounds().map(|bounds| bounds.corners_mm())
}

fn drill(file: &DrillFile) -> DrillSummary {
    DrillSummary {
        file: file.file.clone(),
        unit: file.unit.symbol(),
        digits: match file.format_source {
            FormatSource::DecimalPoints => "written with decimal points",
            FormatSource::Declared => "declared",
            FormatSource::Deduced => "found by how many holes land on copper",
            FormatSource::Assumed => "assumed",
        },
        tools: file
            .tools
            .iter()
            .map(|tool| ToolSummary {
                number: tool.number,
                diameter_mm: f64::from(tool.diameter_nm) / 1e6,
                hits: tool.hits,
                slots: tool.slots,
                plated: tool.plated,
            })
            .collect(),
    }
}

fn nets(nets: &Nets) -> Vec<NetSummary> {
    let pads = |net: &Net| -> Vec<PadSummary> {
        let pads = net.pads.iter().filter_map(|&pad| nets.pads.get(pad));
        pads.map(|pad| PadSummary { reference: pad.reference.clone(), pin: pad.pin.clone() }).collect()
    };
    let summary = |net: &Net| NetSummary {
        name: net.name.clone(),
        named_by: net.named_by.word(),
        islands: net.islands.len(),
        holes: net.holes.len(),
        area_mm2: net.area_mm2,
        pads: pads(net),
    };
    nets.nets.iter().map(summary).collect()
}

impl ArtworkSummary {
    pub(crate) fn of(artwork: &Artwork) -> Self {
        Self {
            layers: artwork
                .layers
                .iter()
                .map(|layer| LayerSummary {
                    file: layer.file.clone(),
                    role: layer.role.name(),
                    role_source: layer.role_source.words(),
                    unit: layer.unit.symbol(),
                    unit_assumed: layer.unit_assumed,
                    area_mm2: layer.area.area_mm2(),
                    bbox_mm: bbox_mm(&layer.area),
                    pieces: layer.area.pieces(),
                })
                .collect(),
            drills: artwork.drills.iter().map(drill).collect(),
            outline: artwork.outline.as_ref().map(|outline| OutlineSummary {
                file: outline.file.clone(),
                area_mm2: outline.area.area_mm2(),
                bbox_mm: bbox_mm(&outline.area),
                pieces: outline.area.pieces(),
                cut_outs: outline.area.polygons.iter().map(|polygon| polygon.holes.len()).sum(),
            }),
            placements: artwork.placements.len(),
            nets: nets(artwork.nets()),
            remarks: artwork
                .remarks
                .iter()
                .chain(&artwork.nets().remarks)
                .map(|remark| RemarkSummary {
                    severity: remark.severity.word(),
                    file: remark.file.clone(),
                    line: remark.line,
                    text: remark.text.clone(),
                })
                .collect(),
        }
    }
}

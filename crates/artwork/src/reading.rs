//! All fabrication files of a board together. (interim)

use std::collections::BTreeMap;

use serde::Serialize;

use crate::centroid::{self, Placement};
use crate::drill::{self, DrillFile};
use crate::gerber::{self, GerberLayer};
use crate::remark::{Remark, Severity};
use crate::roles::{Role, role_by_attribute, role_by_name};
use crate::shape::{Area, Contour, Filling, Point};

/// A Gerber layer with its role.
#[derive(Debug, Clone)]
pub struct Layer {
    /// File.
    pub file: String,
    /// What it is for.
    pub role: Role,
    /// Its dark image.
    pub area: Area,
    /// The layer as read.
    pub gerber: GerberLayer,
}

/// The board's outline.
#[derive(Debug, Clone)]
pub struct Outline {
    /// Board less cut-outs.
    pub area: Area,
}

/// A board's fabrication files.
#[derive(Debug, Clone, Default)]
pub struct Artwork {
    /// Gerber layers.
    pub layers: Vec<Layer>,
    /// Drill files.
    pub drills: Vec<DrillFile>,
    /// Outline.
    pub outline: Option<Outline>,
    /// Places.
    pub placements: Vec<Placement>,
    /// Remarks.
    pub remarks: Vec<Remark>,
}

/// Summary.
#[derive(Debug, Clone, Default, Serialize)]
pub struct ArtworkSummary {
    /// Layers.
    pub layers: Vec<String>,
}

impl Artwork {
    /// Summary.
    #[must_use]
    pub fn summary(&self) -> ArtworkSummary {
        ArtworkSummary { layers: self.layers.iter().map(|l| format!("{} {}", l.file, l.role)).collect() }
    }
}

/// Reads them.
#[must_use]
pub fn read_artwork(files: &[(String, Vec<u8>)], overrides: &BTreeMap<String, Role>) -> Artwork {
    let mut artwork = Artwork::default();
    let mut drills = Vec::new();
    for (file, bytes) in files {
        let by_name = overrides.get(file).copied().or_else(|| role_by_name(file));
        if gerber::looks_like_gerber(bytes) {
            let gerber = gerber::read(file, bytes);
            let role = overrides
                .get(file)
                .copied()
                .or_else(|| gerber.attributes.fields(".FileFunction").and_then(role_by_attribute))
                .or(by_name)
                .unwrap_or(Role::Other);
            artwork.remarks.extend(gerber.remarks.iter().cloned());
            artwork.layers.push(Layer { file: file.clone(), role, area: gerber.area.clone(), gerber });
        } else if matches!(by_name, Some(Role::Centroid)) || file.ends_with(".csv") {
            let centroid = centroid::read(file, bytes);
            artwork.remarks.extend(centroid.remarks);
            artwork.placements.extend(centroid.placements);
        } else if matches!(by_name, Some(Role::Drill(_))) {
            drills.push((file, bytes));
        }
    }
    let copper =
        artwork.layers.iter().filter(|l| l.role.is_copper()).fold(Area::default(), |a, l| a.union(&l.area));
    for (file, bytes) in drills {
        let drill = drill::read(file, bytes, Some(&copper));
        artwork.remarks.extend(drill.remarks.iter().cloned());
        artwork.drills.push(drill);
    }
    artwork.outline = artwork
        .layers
        .iter()
        .find(|l| l.role == Role::Profile)
        .map(|l| outline(&l.gerber, &mut artwork.remarks));
    artwork
}

fn outline(layer: &GerberLayer, remarks: &mut Vec<Remark>) -> Outline {
    let mut loops: Vec<Contour> = layer.region_contours.clone();
    let mut pieces: Vec<Vec<Point>> = layer.strokes.iter().map(|s| s.points.clone()).collect();
    while let Some(mut line) = pieces.pop() {
        while line.first() != line.last() {
            let end = line.last().copied();
            let Some(next) =
                pieces.iter().position(|p| p.first().copied() == end || p.last().copied() == end)
            else {
                break;
            };
            let mut piece = pieces.swap_remove(next);
            if piece.first().copied() != end {
                piece.reverse();
            }
            line.extend(piece.into_iter().skip(1));
        }
        if line.len() > 3 && line.first() == line.last() {
            loops.push(line);
        } else {
            remarks.push(Remark::about(
                Severity::Warning,
                &*layer.file,
                "an open line of the profile is left out",
            ));
        }
    }
    Outline { area: Area::from_contours(&loops, Filling::EvenOdd) }
}

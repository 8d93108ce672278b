//! Emitters: sheet, place, lands, and the copper that is really under them.

use std::collections::BTreeMap;

use artwork::shape::{Area, Bounds, Point};

use super::document::Section;
use super::folder::Folder;
use super::sheet;
use crate::as_built::{LandRole, PlacedEmitter, PlacedLand};
use crate::emitter::EmitterSheet;
use crate::findings::FindingRemark;

/// Part of a land that copper must cover before it is worth a word; lands and copper are drawn alike but for rounding.
const COVERED: f64 = 0.98;

/// A place on the board.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Place {
    pub at: Point,
    pub rotation_deg: f64,
    pub on_top: bool,
}

/// What emitters are placed on.
pub(super) struct Board<'a> {
    pub outline: &'a Area,
    /// Copper of the emitter side; `None`: everywhere.
    pub copper: Option<&'a Area>,
    /// Places from the centroid file; `None` when there is no artwork.
    pub places: Option<&'a BTreeMap<String, Place>>,
    /// File with the places, for messages.
    pub places_file: &'a str,
}

/// Sheets read so far, by name.
#[derive(Debug, Default)]
pub(super) struct Sheets {
    pub known: BTreeMap<String, Option<EmitterSheet>>,
    pub remarks: Vec<FindingRemark>,
}

impl Sheets {
    fn find(&mut self, folder: &dyn Folder, section: &Section<'_>) -> Option<EmitterSheet> {
        let name = section.text("sheet")?;
        if let Some(known) = self.known.get(&name) {
            return known.clone();
        }
        let found =
            if name.is_empty() || name.contains(['/', '\\', '.']) && !name.replace("mm", "").contains('.') {
                Err(format!("\"{name}\" is no sheet name: give the file name in emitters/ without .toml"))
            } else {
                sheet::find(folder, &name)
            };
        let sheet = match found {
            Ok((sheet, mut remarks)) => {
                self.remarks.append(&mut remarks);
                sheet
            }
            Err(text) => {
                section.error("sheet", text);
                None
            }
        };
        self.known.insert(name, sheet.clone());
        sheet
    }
}

/// The emitters of one `[[emitters]]` table.
pub(super) fn read(
    section: &Section<'_>,
    folder: &dyn Folder,
    sheets: &mut Sheets,
    board: &Board<'_>,
) -> Vec<PlacedEmitter> {
    let mut sheet = sheets.find(folder, section);
    if let (Some(sheet), Some(tolerance_v)) = (&mut sheet, section.value("voltage_tolerance")) {
        sheet.forward_v_tolerance_v = tolerance_v;
    }
    let references = section.texts("refs");
    let at = section.pairs("at");
    let rotations = section.values("rotation").unwrap_or_default();
    let share = section.value_or_default("share");
    if let Some(at) = &at
        && at.len() != references.len()
    {
        section.error("at", format!("{} places are given for {} references", at.len(), references.len()));
        return Vec::new();
    }
    if rotations.len() > 1 && rotations.len() != references.len() {
        section.error(
            "rotation",
            format!("{} rotations are given for {} references", rotations.len(), references.len()),
        );
    }
    let mut placed = Vec::new();
    for (index, (reference, line)) in references.iter().enumerate() {
        let given = rotations.get(index).or_else(|| rotations.first()).copied();
        let place = match &at {
            Some(at) => at.get(index).map(|[x, y]| Place {
                at: Point::rounded(x * 1e9, y * 1e9),
                rotation_deg: given.unwrap_or(0.0),
                on_top: true,
            }),
            None => by_centroid(section, board, reference, *line)
                .map(|place| Place { rotation_deg: given.unwrap_or(place.rotation_deg), ..place }),
        };
        let (Some(place), Some(sheet)) = (place, &sheet) else { continue };
        if !place.on_top {
            section.document.error(*line, format!("{reference} is placed on the bottom side; emitters on the side of the heatsink are not covered"));
            continue;
        }
        placed.extend(put(section, board, sheet, reference, *line, place, share));
    }
    placed
}

fn by_centroid(section: &Section<'_>, board: &Board<'_>, reference: &str, line: usize) -> Option<Place> {
    let Some(places) = board.places else {
        section.document.error(
            line,
            format!("{reference} has no place: a lamp without artwork needs \"at\", such as at = [[\"18 mm\", \"15 mm\"]]"),
        );
        return None;
    };
    let place = places.get(reference).copied();
    if place.is_none() {
        let text = if places.is_empty() {
            format!("{reference} has no place: the artwork has no centroid file, and \"at\" is not given")
        } else {
            let known: Vec<&str> = places.keys().map(String::as_str).take(30).collect();
            format!("{reference} is not in {}; it has {}", board.places_file, known.join(", "))
        };
        section.document.error(line, text);
    }
    place
}

/// Puts a package on the board and finds its copper.
fn put(
    section: &Section<'_>,
    board: &Board<'_>,
    sheet: &EmitterSheet,
    reference: &str,
    line: usize,
    place: Place,
    share: f64,
) -> Option<PlacedEmitter> {
    let lands: Vec<PlacedLand> = sheet
        .lands
        .iter()
        .map(|land| {
            let corner = |sign: f64| {
                Point::rounded(
                    (land.at_m[0] + sign * land.size_m[0] / 2.0) * 1e9,
                    (land.at_m[1] + sign * land.size_m[1] / 2.0) * 1e9,
                )
            };
            let area = Area::rectangle(Bounds { min: corner(-1.0), max: corner(1.0) });
            let area =
                area.turned(Point::default(), place.rotation_deg).shifted(place.at.x_nm, place.at.y_nm);
            PlacedLand { role: land.role, area }
        })
        .collect();
    let thermal = |wanted: bool| {
        lands
            .iter()
            .filter(|land| (land.role == LandRole::Thermal) == wanted)
            .fold(Area::default(), |sum, land| sum.union(&land.area))
    };
    let mut drawn = thermal(true);
    if drawn.is_empty() {
        drawn = thermal(false);
    }
    let all = drawn.union(&thermal(false));
    let (x, y) = (f64::from(place.at.x_nm) / 1e6, f64::from(place.at.y_nm) / 1e6);
    let off_board = all.difference(board.outline).area_mm2();
    if off_board > 1e-4 {
        let text = format!(
            "{reference} at {x:.3}, {y:.3} mm stands off the board: {off_board:.2} mm2 of its lands lie outside the outline or in a cut-out"
        );
        section.document.error(line, text);
        return None;
    }
    let on_copper = match board.copper {
        None => drawn.clone(),
        Some(copper) => drawn.intersect(copper),
    };
    let part = on_copper.area_mm2() / drawn.area_mm2().max(1e-12);
    let land_without_copper =
        |area: &Area| board.copper.is_some_and(|copper| area.intersect(copper).is_empty());
    if part < 1e-3 {
        section.document.error(line, format!("{reference} at {x:.3}, {y:.3} mm: its thermal land stands on no copper; check its place and rotation"));
        return None;
    }
    for land in lands.iter().filter(|land| land.role != LandRole::Thermal && land_without_copper(&land.area))
    {
        let name = if land.role == LandRole::Anode { "anode" } else { "cathode" };
        section.document.error(line, format!("{reference} at {x:.3}, {y:.3} mm: its {name} land stands on no copper; check its place and rotation"));
    }
    if part < COVERED {
        section.document.warn(
            line,
            format!(
                "{reference}: copper covers {:.0} % of its thermal land; heat goes through that part only",
                100.0 * part
            ),
        );
    }
    Some(PlacedEmitter {
        reference: reference.to_owned(),
        sheet: sheet.clone(),
        at: place.at,
        rotation_deg: place.rotation_deg,
        thermal_land: on_copper,
        lands,
        current_share: share,
        share_given: section.has("share"),
    })
}

//! The graphics state, and what each block does to it.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::aperture::{Aperture, Turn};
use super::attribute::{self, Statement};
use super::blocks::Block;
use super::image;
use super::macros::Macro;
use super::number::{Format, LengthUnit};
use super::object::{Attributes, DrawnObject};
use super::word::{self, Word};
use super::{GerberLayer, Stroke};
use crate::gathering::{Gathering, quoted};
use crate::remark::Severity;
use crate::shape::{Contour, Point};

/// Contour points that one file may make in all; far above any real board.
const MOST_POINTS: usize = 24_000_000;

/// How coordinates are joined.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Interpolation {
    Linear,
    Clockwise,
    CounterClockwise,
}

/// What objects are collected for.
#[derive(Debug)]
pub(super) enum Purpose {
    Image,
    Block { number: u32, line: u32 },
    Repeat { columns: u32, rows: u32, step_nm: [f64; 2] },
}

/// A list of objects being drawn.
#[derive(Debug)]
pub(super) struct Sheet {
    pub purpose: Purpose,
    pub objects: Vec<DrawnObject>,
    pub strokes: Vec<Stroke>,
}

/// The contours of a region statement under way.
#[derive(Debug, Default)]
pub(super) struct Region {
    pub contours: Vec<Vec<[f64; 2]>>,
    pub current: Vec<[f64; 2]>,
    pub line: u32,
}

/// Whole-image statements of old files, applied at the end.
#[derive(Debug, Clone, Copy)]
pub(super) struct WholeImage {
    pub swap_axes: bool,
    pub mirror: [bool; 2],
    pub scale: [f64; 2],
    pub offset_nm: [f64; 2],
    pub rotation_deg: f64,
}

impl Default for WholeImage {
    fn default() -> Self {
        Self { swap_axes: false, mirror: [false; 2], scale: [1.0; 2], offset_nm: [0.0; 2], rotation_deg: 0.0 }
    }
}

/// Reader of one file.
pub(super) struct Machine {
    pub told: Gathering,
    once: BTreeSet<&'static str>,
    pub unit: Option<LengthUnit>,
    pub format: Option<Format>,
    pub apertures: BTreeMap<u32, Aperture>,
    pub macros: BTreeMap<String, Macro>,
    pub open_macro: Option<String>,
    pub current: Option<u32>,
    pub position: [f64; 2],
    pub interpolation: Interpolation,
    pub single_quadrant: Option<bool>,
    pub region: Option<Region>,
    pub dark: bool,
    pub turn: Turn,
    pub sheets: Vec<Sheet>,
    pub file_attributes: Attributes,
    pub aperture_attributes: Arc<Attributes>,
    pub object_attributes: Arc<Attributes>,
    last_operation: Option<u32>,
    pub negative: bool,
    pub whole: WholeImage,
    pub points: usize,
    ended: bool,
    blocks: usize,
    pub region_contours: Vec<Contour>,
}

impl Machine {
    pub fn new(file: &str) -> Self {
        Self {
            told: Gathering::new(file),
            once: BTreeSet::new(),
            unit: None,
            format: None,
            apertures: BTreeMap::new(),
            macros: BTreeMap::new(),
            open_macro: None,
            current: None,
            position: [0.0; 2],
            interpolation: Interpolation::Linear,
            single_quadrant: None,
            region: None,
            dark: true,
            turn: Turn::default(),
            sheets: vec![Sheet { purpose: Purpose::Image, objects: Vec::new(), strokes: Vec::new() }],
            file_attributes: Attributes::default(),
            aperture_attributes: Arc::default(),
            object_attributes: Arc::default(),
            last_operation: None,
            negative: false,
            whole: WholeImage::default(),
            points: 0,
            ended: false,
            blocks: 0,
            region_contours: Vec::new(),
        }
    }

    /// Tells something the first time it is met.
    pub fn once(&mut self, severity: Severity, line: u32, text: &'static str) {
        if self.once.insert(text) {
            self.told.at(severity, line, text);
        }
    }

    /// Nanometres in a file unit; an undeclared unit is assumed to be the inch, as old files mean it.
    pub fn unit_nm(&mut self, line: u32) -> f64 {
        if self.unit.is_none() {
            self.once(
                Severity::Warning,
                line,
                "no unit (MO) was given before the first length; inches are assumed, as in old files",
            );
        }
        self.unit.unwrap_or(LengthUnit::Inch).nm()
    }

    pub fn take(&mut self, block: &Block) {
        self.blocks += 1;
        if self.ended {
            if !block.text.trim().is_empty() {
                self.once(
                    Severity::Warning,
                    block.line,
                    "something stands behind the end of the file (M02); it is not read",
                );
            }
            return;
        }
        if block.unclosed && !block.text.trim().is_empty() {
            let text =
                format!("the '*' after {} is missing; it is read as if it were there", quoted(&block.text));
            self.told.warn(block.line, text);
        }
        if block.extended {
            self.extended(block);
        } else {
            self.open_macro = None;
            self.plain(block);
        }
    }

    fn plain(&mut self, block: &Block) {
        if let Some(comment) = word::comment(&block.text) {
            if let Some(statement) = attribute::in_comment(comment) {
                self.attribute(statement);
            }
            return;
        }
        let (words, strange) = word::words(&block.text);
        if !strange.is_empty() {
            // Old files leave out the `%` round a statement now and then.
            if words.is_empty() || self.reads_as_statement(&block.text) {
                self.extended(block);
                return;
            }
            let text = format!(
                "{} holds {}, which is no code; it is passed over",
                quoted(&block.text),
                quoted(&strange)
            );
            self.told.error(block.line, text);
        }
        self.act(&words, block);
    }

    fn reads_as_statement(&self, text: &str) -> bool {
        let head: String = text.trim_start().chars().take(2).collect();
        matches!(
            head.as_str(),
            "FS" | "MO"
                | "AD"
                | "AM"
                | "LP"
                | "LM"
                | "LR"
                | "LS"
                | "IP"
                | "IN"
                | "LN"
                | "OF"
                | "SR"
                | "TF"
                | "TA"
                | "TO"
                | "TD"
        )
    }

    fn attribute(&mut self, statement: Statement) {
        match statement {
            Statement::File(attribute) => self.file_attributes.set(attribute),
            Statement::Aperture(attribute) => Arc::make_mut(&mut self.aperture_attributes).set(attribute),
            Statement::Object(attribute) => Arc::make_mut(&mut self.object_attributes).set(attribute),
            Statement::Delete(None) => {
                self.aperture_attributes = Arc::default();
                self.object_attributes = Arc::default();
            }
            Statement::Delete(Some(name)) => {
                Arc::make_mut(&mut self.aperture_attributes).remove(&name);
                Arc::make_mut(&mut self.object_attributes).remove(&name);
            }
        }
    }

    pub fn attribute_text(&mut self, text: &str, line: u32) {
        match attribute::read(text) {
            Some(statement) => self.attribute(statement),
            None => self.told.warn(line, format!("{} is no attribute; it is passed over", quoted(text))),
        }
    }

    /// Does what the words of a block say: G codes first, then coordinates with their operation.
    fn act(&mut self, words: &[Word], block: &Block) {
        let line = block.line;
        let mut operation = None;
        let mut select = None;
        let mut coordinates: [Option<&str>; 4] = [None; 4];
        for word in words {
            match word.letter {
                'G' => self.mode(&word.number, line),
                'D' => match word.number.parse::<u32>() {
                    Ok(code @ 1..=3) => operation = Some(code),
                    Ok(code) if code >= 10 => select = Some(code),
                    _ => self.told.error(
                        line,
                        format!(
                            "D{} is no D code: 1 to 3 and 10 upwards are; it is passed over",
                            word.number
                        ),
                    ),
                },
                'M' => match word.number.parse::<u32>() {
                    Ok(0 | 2 | 30) => self.ended = true,
                    Ok(1) => {}
                    _ => {
                        self.told.error(line, format!("M{} is no known code; it is passed over", word.number))
                    }
                },
                'X' => coordinates[0] = Some(&word.number),
                'Y' => coordinates[1] = Some(&word.number),
                'I' => coordinates[2] = Some(&word.number),
                'J' => coordinates[3] = Some(&word.number),
                _ => {}
            }
        }
        if let Some(code) = select {
            self.select(code, line);
        }
        let moves = coordinates.iter().any(Option::is_some);
        if operation.is_none() && !moves {
            return;
        }
        let operation = match operation {
            Some(code) => code,
            None => {
                self.once(
                    Severity::Note,
                    line,
                    "coordinates without an operation code repeat the last one, as old files mean it",
                );
                self.last_operation.unwrap_or(1)
            }
        };
        self.last_operation = Some(operation);
        let Some((target, offset)) = self.coordinates(coordinates, line) else { return };
        self.operate(operation, target, offset, line);
    }

    fn select(&mut self, code: u32, line: u32) {
        if !self.apertures.contains_key(&code) {
            self.told.error(
                line,
                format!("aperture D{code} is used and was not defined; what it draws is missing"),
            );
        }
        self.current = Some(code);
    }

    /// A G code.
    fn mode(&mut self, number: &str, line: u32) {
        let deprecated = "a deprecated G code (G54, G55, G70, G71, G90 or G91) was met; it is obeyed";
        match number.parse::<u32>() {
            Ok(1) => self.interpolation = Interpolation::Linear,
            Ok(2) => self.interpolation = Interpolation::Clockwise,
            Ok(3) => self.interpolation = Interpolation::CounterClockwise,
            Ok(10..=12) => {
                self.interpolation = Interpolation::Linear;
                self.once(
                    Severity::Error,
                    line,
                    "coordinates scaled by G10, G11 or G12 are read without scaling",
                );
            }
            Ok(36) => self.open_region(line),
            Ok(37) => self.close_region(line),
            Ok(0 | 54 | 55) => self.once(Severity::Note, line, deprecated),
            Ok(70) => self.set_unit(LengthUnit::Inch, line, true),
            Ok(71) => self.set_unit(LengthUnit::Millimetre, line, true),
            Ok(74) => self.single_quadrant = Some(true),
            Ok(75) => self.single_quadrant = Some(false),
            Ok(code @ (90 | 91)) => {
                self.once(Severity::Note, line, deprecated);
                self.format.get_or_insert_default().incremental = code == 91;
            }
            _ => self.told.error(line, format!("G{number} is no known code; it is passed over")),
        }
    }

    pub fn set_unit(&mut self, unit: LengthUnit, line: u32, deprecated: bool) {
        if let Some(before) = self.unit
            && before != unit
        {
            if deprecated {
                let text = format!(
                    "the unit changes to {} within the file; it is obeyed from here on",
                    unit.symbol()
                );
                self.told.warn(line, text);
            } else {
                self.told.warn(
                    line,
                    format!("the unit was {} before and is {} from here on", before.symbol(), unit.symbol()),
                );
            }
        }
        self.unit = Some(unit);
    }

    /// Target and centre offset in nm. `None` when a number cannot be read; told.
    fn coordinates(&mut self, texts: [Option<&str>; 4], line: u32) -> Option<([f64; 2], Option<[f64; 2]>)> {
        if self.format.is_none() && texts.iter().flatten().any(|t| !t.contains('.')) {
            self.once(
                Severity::Warning,
                line,
                "no coordinate format (FS) was given; 2 digits before and 4 behind the point are assumed, leading zeros omitted",
            );
        }
        let format = self.format.unwrap_or_default();
        let unit_nm = self.unit_nm(line);
        let mut values = [None; 4];
        for (index, text) in texts.iter().enumerate() {
            let Some(text) = text else { continue };
            match format.value(text, index % 2 == 0) {
                Some(value) => values[index] = Some(value * unit_nm),
                None => {
                    let letter = ['X', 'Y', 'I', 'J'][index];
                    let told = format!(
                        "{letter}{text} is no coordinate (up to 18 digits with a sign); the operation is left out"
                    );
                    self.told.error(line, told);
                    return None;
                }
            }
        }
        let mut target = self.position;
        for axis in 0..2 {
            if let Some(value) = values[axis] {
                target[axis] = if format.incremental { target[axis] + value } else { value };
            }
        }
        if target.iter().any(|v| v.abs() > f64::from(crate::shape::LIMIT_NM)) {
            self.told.error(
                line,
                "a coordinate lies more than one metre from the origin; the operation is left out",
            );
            return None;
        }
        let offset = (values[2].is_some() || values[3].is_some())
            .then(|| [values[2].unwrap_or(0.0), values[3].unwrap_or(0.0)]);
        Some((target, offset))
    }

    /// Counts points against the limit; `false` when the file has used it up.
    pub fn afford(&mut self, points: usize, line: u32) -> bool {
        self.points = self.points.saturating_add(points);
        let fits = self.points <= MOST_POINTS;
        if !fits {
            self.once(
                Severity::Error,
                line,
                "the drawing is larger than any board (24 million points); the rest is missing",
            );
        }
        fits
    }

    pub fn sheet(&mut self) -> &mut Sheet {
        if self.sheets.is_empty() {
            self.sheets.push(Sheet { purpose: Purpose::Image, objects: Vec::new(), strokes: Vec::new() });
        }
        let last = self.sheets.len() - 1;
        &mut self.sheets[last]
    }

    pub fn finish(mut self, file: &str) -> GerberLayer {
        let end = 0;
        if self.region.is_some() {
            self.told.about(
                Severity::Warning,
                "a region is not closed (G37) at the end of the file; it is closed here",
            );
            self.close_region(end);
        }
        while self.sheets.len() > 1 {
            let kind = if matches!(self.sheet().purpose, Purpose::Block { .. }) {
                "block aperture (AB)"
            } else {
                "step and repeat (SR)"
            };
            self.told.about(
                Severity::Warning,
                format!("a {kind} is not closed at the end of the file; it is closed here"),
            );
            self.close_sheet(end);
        }
        if self.blocks == 0 {
            self.told
                .about(Severity::Error, "the file is empty: no Gerber block (text up to a '*') was found");
        } else if !self.ended {
            self.told.about(Severity::Warning, "the file does not end with M02; it may be cut short");
        }
        if self.negative {
            self.told
                .about(Severity::Warning, "the image is reversed (IPNEG): what is drawn is free of copper");
        }
        let sheet = self.sheets.pop();
        let (mut objects, mut strokes) =
            sheet.map(|sheet| (sheet.objects, sheet.strokes)).unwrap_or_default();
        self.whole.apply(&mut objects, &mut strokes, &mut self.region_contours);
        GerberLayer {
            file: file.to_owned(),
            unit: self.unit.unwrap_or(LengthUnit::Inch),
            unit_assumed: self.unit.is_none(),
            attributes: self.file_attributes,
            image_negative: self.negative,
            area: image::dark_image(&objects),
            objects,
            strokes,
            region_contours: self.region_contours,
            remarks: self.told.finish(),
        }
    }
}

impl WholeImage {
    fn is_plain(&self) -> bool {
        let Self { swap_axes, mirror, scale, offset_nm, rotation_deg } = self;
        !swap_axes
            && *mirror == [false; 2]
            && *scale == [1.0; 2]
            && *offset_nm == [0.0; 2]
            && *rotation_deg == 0.0
    }

    fn point(&self, p: Point) -> Point {
        let mut at = [f64::from(p.x_nm), f64::from(p.y_nm)];
        if self.swap_axes {
            at.swap(0, 1);
        }
        for (axis, value) in at.iter_mut().enumerate() {
            let sign = if self.mirror[axis] { -1.0 } else { 1.0 };
            *value = *value * self.scale[axis] * sign + self.offset_nm[axis];
        }
        let (sin, cos) = crate::shape::sin_cos_deg(self.rotation_deg);
        Point::rounded(at[0] * cos - at[1] * sin, at[0] * sin + at[1] * cos)
    }

    fn apply(&self, objects: &mut [DrawnObject], strokes: &mut [Stroke], regions: &mut [Contour]) {
        if self.is_plain() {
            return;
        }
        let reversed =
            self.swap_axes ^ self.mirror[0] ^ self.mirror[1] ^ (self.scale[0] * self.scale[1] < 0.0);
        for object in objects {
            object.at = self.point(object.at);
            for contour in &mut object.contours {
                contour.iter_mut().for_each(|p| *p = self.point(*p));
                if reversed {
                    contour.reverse();
                }
            }
        }
        for contour in regions {
            contour.iter_mut().for_each(|p| *p = self.point(*p));
        }
        for stroke in strokes {
            stroke.points.iter_mut().for_each(|p| *p = self.point(*p));
        }
    }
}

//! Flashes, strokes, arcs, regions, blocks and repeats.

use std::sync::Arc;

use super::aperture::{Aperture, Turn};
use super::machine::{Interpolation, Machine, Purpose, Region, Sheet};
use super::object::{DrawnObject, ObjectKind};
use super::{Stroke, arc, outlines};
use crate::remark::Severity;
use crate::shape::{Area, Contour, Filling, Point};

/// Largest difference between an arc's two radii that is rounding and not worth a word, nm.
const ROUNDING_NM: f64 = 5_000.0;

impl Machine {
    /// D01, D02 or D03 at a target.
    pub fn operate(&mut self, operation: u32, target: [f64; 2], offset: Option<[f64; 2]>, line: u32) {
        match operation {
            2 => {
                self.end_contour();
                self.position = target;
            }
            1 => {
                let path = self.path(target, offset, line);
                if self.region.is_some() {
                    self.extend_contour(&path);
                } else {
                    self.stroke(&path, line);
                }
                self.position = target;
            }
            _ => {
                self.position = target;
                if self.region.is_some() {
                    self.told.error(
                        line,
                        "a flash (D03) stands inside a region, where only D01 and D02 may; it is left out",
                    );
                } else {
                    self.flash(target, line);
                }
            }
        }
    }

    /// The points from the current position to the target, both included.
    fn path(&mut self, target: [f64; 2], offset: Option<[f64; 2]>, line: u32) -> Vec<[f64; 2]> {
        let from = self.position;
        if self.interpolation == Interpolation::Linear {
            return vec![from, target];
        }
        let Some(offset) = offset else {
            self.once(Severity::Warning, line, "an arc has no centre (I, J); a straight line is drawn");
            return vec![from, target];
        };
        let clockwise = self.interpolation == Interpolation::Clockwise;
        let Some((centre, single)) = self.arc_centre(target, offset, clockwise) else {
            self.told.error(
                line,
                "no centre makes an arc of at most a quarter turn here; a straight line is drawn",
            );
            return vec![from, target];
        };
        if self.single_quadrant.is_none() {
            self.once(
                Severity::Warning,
                line,
                "an arc stands before G74 or G75; whether it is a quarter turn is judged by its radii",
            );
        }
        let mismatch = arc::mismatch(from, target, centre);
        if mismatch > ROUNDING_NM {
            let text = format!(
                "the two ends of an arc differ in radius by {:.4} mm; it is drawn as a spiral",
                mismatch / 1e6
            );
            self.told.warn(line, text);
        }
        if single && from == target {
            return vec![from, target];
        }
        arc::points(from, target, centre, clockwise)
    }

    /// The centre meant, and whether it was read as a single-quadrant arc.
    fn arc_centre(&self, target: [f64; 2], offset: [f64; 2], clockwise: bool) -> Option<([f64; 2], bool)> {
        let from = self.position;
        let multi = [from[0] + offset[0], from[1] + offset[1]];
        let single =
            || arc::single_quadrant_centre(from, target, offset, clockwise).map(|centre| (centre, true));
        match self.single_quadrant {
            Some(false) => Some((multi, false)),
            Some(true) => single(),
            None if arc::mismatch(from, target, multi) <= ROUNDING_NM => Some((multi, false)),
            None => single().or(Some((multi, false))),
        }
    }

    fn aperture(&mut self, line: u32) -> Option<Aperture> {
        let Some(code) = self.current else {
            self.once(
                Severity::Error,
                line,
                "something is drawn before an aperture is chosen (D10 or higher); it is missing",
            );
            return None;
        };
        self.apertures.get(&code).cloned()
    }

    fn put(&mut self, kind: ObjectKind, line: u32, at: Point, contours: Vec<Contour>, aperture: &Aperture) {
        if !self.afford(contours.iter().map(Vec::len).sum::<usize>() + 1, line) {
            return;
        }
        let object = DrawnObject {
            kind,
            line,
            dark: self.dark,
            at,
            contours,
            aperture_attributes: Arc::clone(&aperture.attributes),
            object_attributes: Arc::clone(&self.object_attributes),
        };
        self.sheet().objects.push(object);
    }

    fn flash(&mut self, at: [f64; 2], line: u32) {
        let Some(aperture) = self.aperture(line) else { return };
        if let Some(objects) = &aperture.block {
            self.flash_block(objects, at, line);
            return;
        }
        let turn = self.turn;
        let contours = aperture.area.contours().map(|contour| turn.contour(contour, at)).collect();
        self.put(ObjectKind::Flash, line, Point::rounded(at[0], at[1]), contours, &aperture);
    }

    /// A flash of a block puts all its objects; a clear flash reverses their polarity.
    fn flash_block(&mut self, objects: &[DrawnObject], at: [f64; 2], line: u32) {
        let (turn, dark) = (self.turn, self.dark);
        for object in objects {
            let points: usize = object.contours.iter().map(Vec::len).sum();
            if !self.afford(points + 1, line) {
                return;
            }
            let [x, y] = turn.point([f64::from(object.at.x_nm), f64::from(object.at.y_nm)]);
            let placed = DrawnObject {
                dark: object.dark == dark,
                at: Point::rounded(x + at[0], y + at[1]),
                contours: object.contours.iter().map(|contour| turn.contour(contour, at)).collect(),
                ..object.clone()
            };
            self.sheet().objects.push(placed);
        }
    }

    fn stroke(&mut self, path: &[[f64; 2]], line: u32) {
        let Some(aperture) = self.aperture(line) else { return };
        if aperture.block.is_some() {
            self.told.error(line, "a block aperture can only be flashed; the stroke is left out");
            return;
        }
        let turn = self.turn;
        let width_nm = aperture.width_nm * turn.scale.abs();
        let dark = self.dark;
        let points: Vec<Point> = path.iter().map(|p| Point::rounded(p[0], p[1])).collect();
        let at = points.last().copied().unwrap_or_default();
        if !self.afford(points.len(), line) {
            return;
        }
        self.sheet().strokes.push(Stroke { points, width_nm, line, dark });
        let contours = self.stroke_contours(&aperture, path, turn, line);
        let kind = if path.len() > 2 { ObjectKind::Arc } else { ObjectKind::Stroke };
        self.put(kind, line, at, contours, &aperture);
    }

    fn stroke_contours(
        &mut self,
        aperture: &Aperture,
        path: &[[f64; 2]],
        turn: Turn,
        line: u32,
    ) -> Vec<Contour> {
        if aperture.round_nm.is_none() && path.len() > 2 {
            self.once(
                Severity::Warning,
                line,
                "an arc is drawn with an aperture that is not round; its track is drawn as it is",
            );
        }
        let Some(outline) = &aperture.convex else { return Vec::new() };
        let turned: Vec<[f64; 2]> = outline.iter().map(|p| turn.point(*p)).collect();
        if aperture.area.is_empty() {
            // No width in at least one direction: a rectangle of no height still leaves a track across it.
            let tracks = path.windows(2).map(|pair| outlines::convex_track(&turned, pair[0], pair[1]));
            return tracks.filter(|contour| !contour.is_empty()).collect();
        }
        if let (Some(diameter), true) = (aperture.round_nm, path.len() > 2)
            && let Some(centre) = circle_through(path)
        {
            return outlines::round_track(path, centre, diameter * turn.scale.abs())
                .into_iter()
                .map(counter_clockwise)
                .collect();
        }
        path.windows(2)
            .map(|pair| outlines::convex_track(&turned, pair[0], pair[1]))
            .filter(|c| c.len() >= 3)
            .collect()
    }

    pub fn open_region(&mut self, line: u32) {
        if self.region.is_some() {
            self.told.warn(line, "a region begins (G36) inside a region; the first one is closed here");
            self.close_region(line);
        }
        self.region = Some(Region { line, ..Region::default() });
    }

    fn extend_contour(&mut self, path: &[[f64; 2]]) {
        let Some(region) = &mut self.region else { return };
        let skip = usize::from(!region.current.is_empty());
        region.current.extend(path.iter().skip(skip));
    }

    fn end_contour(&mut self) {
        if let Some(region) = &mut self.region
            && !region.current.is_empty()
        {
            region.contours.push(std::mem::take(&mut region.current));
        }
    }

    pub fn close_region(&mut self, line: u32) {
        self.end_contour();
        let Some(region) = self.region.take() else {
            self.told.warn(line, "a region ends (G37) that did not begin (G36); nothing is drawn");
            return;
        };
        let mut contours = Vec::new();
        for drawn in region.contours {
            let closed = drawn.first() == drawn.last();
            if !closed {
                self.once(
                    Severity::Warning,
                    region.line,
                    "the contour of a region does not end where it began; it is closed by a straight line",
                );
            }
            let points: Contour = drawn.iter().map(|p| Point::rounded(p[0], p[1])).collect();
            if points.len() < 3 {
                self.told.warn(region.line, "a region's contour has fewer than three points and no area");
                continue;
            }
            self.region_contours.push(points.clone());
            // Alone first: a contour may touch itself along a cut, or cross itself.
            contours.extend(Area::from_contours(&[points], Filling::NonZero).contours().cloned());
        }
        let at = contours.first().and_then(|c| c.first()).copied().unwrap_or_default();
        let aperture = Aperture { attributes: Arc::clone(&self.aperture_attributes), ..Aperture::default() };
        self.put(ObjectKind::Region, region.line, at, contours, &aperture);
    }

    pub fn close_sheet(&mut self, line: u32) {
        if self.sheets.len() < 2 {
            return;
        }
        let Some(sheet) = self.sheets.pop() else { return };
        match sheet.purpose {
            Purpose::Image => self.sheets.push(sheet),
            Purpose::Block { number, line } => {
                let attributes = Arc::clone(&self.aperture_attributes);
                let block = Aperture { block: Some(sheet.objects), attributes, ..Aperture::default() };
                if self.apertures.insert(number, block).is_some() {
                    self.told.note(
                        line,
                        format!("aperture D{number} is defined again; the new one holds from here on"),
                    );
                }
            }
            Purpose::Repeat { columns, rows, step_nm } => self.repeat(&sheet, columns, rows, step_nm, line),
        }
    }

    fn repeat(&mut self, sheet: &Sheet, columns: u32, rows: u32, step_nm: [f64; 2], line: u32) {
        let turn = Turn::default();
        for column in 0..columns {
            for row in 0..rows {
                let by = [step_nm[0] * f64::from(column), step_nm[1] * f64::from(row)];
                for object in &sheet.objects {
                    if !self.afford(object.contours.iter().map(Vec::len).sum::<usize>() + 1, line) {
                        return;
                    }
                    let placed = DrawnObject {
                        at: shifted(object.at, by),
                        contours: object.contours.iter().map(|contour| turn.contour(contour, by)).collect(),
                        ..object.clone()
                    };
                    self.sheet().objects.push(placed);
                }
                for stroke in &sheet.strokes {
                    if !self.afford(stroke.points.len(), line) {
                        return;
                    }
                    let points = stroke.points.iter().map(|p| shifted(*p, by)).collect();
                    self.sheet().strokes.push(Stroke { points, ..stroke.clone() });
                }
            }
        }
    }
}

fn shifted(p: Point, by: [f64; 2]) -> Point {
    Point::rounded(f64::from(p.x_nm) + by[0], f64::from(p.y_nm) + by[1])
}

fn counter_clockwise(mut contour: Contour) -> Contour {
    if crate::shape::doubled_area_nm2(&contour) < 0 {
        contour.reverse();
    }
    contour
}

/// The centre of the circle through the first, middle and third-quarter points of an arc's edges.
fn circle_through(path: &[[f64; 2]]) -> Option<[f64; 2]> {
    let (a, b, c) = (path.first()?, path.get(path.len() / 3)?, path.get(2 * path.len() / 3)?);
    let (bx, by, cx, cy) = (b[0] - a[0], b[1] - a[1], c[0] - a[0], c[1] - a[1]);
    let doubled = 2.0 * (bx * cy - by * cx);
    if doubled.abs() < 1e-3 {
        return None;
    }
    let (b2, c2) = (bx * bx + by * by, cx * cx + cy * cy);
    Some([a[0] + (cy * b2 - by * c2) / doubled, a[1] + (bx * c2 - cx * b2) / doubled])
}

//! Aperture macros: primitives with expressions to an area about the origin.
//!
//! Primitive codes and their parameters follow the Gerber layer format specification, revision 2022.02, section 4.5.

use super::expression::{self, Variables};
use super::outlines::{self, Line};
use crate::shape::{Area, Contour, Filling, Point, sin_cos_deg};

/// A macro as written: statements in order.
#[derive(Debug, Clone, Default)]
pub(super) struct Macro {
    pub statements: Vec<Statement>,
}

/// One statement of a macro.
#[derive(Debug, Clone)]
pub(super) struct Statement {
    pub text: String,
    pub line: u32,
}

/// Corners of an outline primitive beyond this are refused.
const MOST_CORNERS: f64 = 20_000.0;

struct Drawing<'a> {
    variables: Variables,
    unit_nm: f64,
    area: Area,
    /// Dark pieces since the last cut, united in one go.
    pending: Vec<Contour>,
    trouble: &'a mut Vec<(u32, String)>,
}

/// Draws a macro with its parameters. What cannot be read is told in `trouble` and left out.
pub(super) fn draw(
    drawn: &Macro,
    parameters: &[f64],
    unit_nm: f64,
    trouble: &mut Vec<(u32, String)>,
) -> Area {
    let variables = (1u32..).zip(parameters.iter().copied()).collect();
    let mut drawing = Drawing { variables, unit_nm, area: Area::default(), pending: Vec::new(), trouble };
    for statement in &drawn.statements {
        if let Err(text) = drawing.take(&statement.text) {
            let told = format!("macro statement '{}' is left out: {text}", statement.text.trim());
            drawing.trouble.push((statement.line, told));
        }
    }
    drawing.unite();
    drawing.area
}

impl Drawing<'_> {
    fn take(&mut self, text: &str) -> Result<(), String> {
        let text = text.trim();
        if let Some(definition) = text.strip_prefix('$') {
            let (name, value) = definition.split_once('=').ok_or("a variable needs '=', such as $3=$1x2")?;
            let number: u32 =
                name.trim().parse().map_err(|_| "a variable is named by a number, such as $3")?;
            let value = expression::value(value, &self.variables)?;
            self.variables.insert(number, value);
            return Ok(());
        }
        if text.starts_with('0') && !text.starts_with("0,") && text.len() > 1
            || text == "0"
            || text.is_empty()
        {
            return Ok(());
        }
        let (code, rest) = text.split_once(',').unwrap_or((text, ""));
        let code = expression::value(code, &self.variables)?;
        if code == 0.0 {
            return Ok(());
        }
        let fields: Result<Vec<f64>, String> = if rest.trim().is_empty() {
            Ok(Vec::new())
        } else {
            rest.split(',').map(|field| expression::value(field, &self.variables)).collect()
        };
        self.primitive(code, &fields?)
    }

    fn primitive(&mut self, code: f64, f: &[f64]) -> Result<(), String> {
        let least = |count: usize| -> Result<(), String> {
            if f.len() >= count {
                Ok(())
            } else {
                Err(format!("{count} values are needed, {} were read", f.len()))
            }
        };
        let angle = |at: usize| f.get(at).copied().unwrap_or(0.0);
        match code as i64 {
            1 => {
                least(4)?;
                self.add(
                    f[0],
                    moved(outlines::circle(f[1].abs() * self.unit_nm), self.nm(f[2], f[3])),
                    angle(4),
                );
            }
            2 | 20 => {
                least(6)?;
                let (from, to) = (self.nm(f[2], f[3]), self.nm(f[4], f[5]));
                self.add(f[0], bar(from, to, f[1] * self.unit_nm), angle(6));
            }
            21 => {
                least(5)?;
                let line = outlines::rectangle(f[1] * self.unit_nm, f[2] * self.unit_nm);
                self.add(f[0], moved(line, self.nm(f[3], f[4])), angle(5));
            }
            22 => {
                least(5)?;
                let line = outlines::rectangle(f[1] * self.unit_nm, f[2] * self.unit_nm);
                self.add(f[0], moved(line, self.nm(f[3] + f[1] / 2.0, f[4] + f[2] / 2.0)), angle(5));
            }
            4 => self.outline(f)?,
            5 => {
                least(5)?;
                if !(3.0..=360.0).contains(&f[1]) {
                    return Err(format!("a polygon has 3 to 12 corners, not {}", f[1]));
                }
                let line = outlines::polygon(f[4].abs() * self.unit_nm, f[1] as u32, 0.0);
                self.add(f[0], moved(line, self.nm(f[2], f[3])), angle(5));
            }
            6 => {
                least(8)?;
                self.rings(f);
            }
            7 => {
                least(5)?;
                self.thermal(f);
            }
            other => return Err(format!("primitive {other} is not one of 1, 2, 4, 5, 6, 7, 20, 21, 22")),
        }
        Ok(())
    }

    fn nm(&self, x: f64, y: f64) -> [f64; 2] {
        [x * self.unit_nm, y * self.unit_nm]
    }

    /// Primitive 4: exposure, edges, corners with the first one repeated, rotation.
    fn outline(&mut self, f: &[f64]) -> Result<(), String> {
        let edges = f.get(1).copied().unwrap_or(0.0);
        if !(2.0..=MOST_CORNERS).contains(&edges) {
            return Err(format!("an outline has 3 to {MOST_CORNERS} edges, not {edges}"));
        }
        let wanted = 2 * (edges as usize + 1);
        let corners = f.get(2..2 + wanted).ok_or_else(|| {
            format!("{edges} edges need {wanted} coordinates, {} were read", f.len().saturating_sub(2))
        })?;
        let line: Line = corners.chunks_exact(2).map(|c| self.nm(c[0], c[1])).collect();
        let rotation = f.get(2 + wanted).copied().unwrap_or(0.0);
        let contour = turned(&line, rotation);
        // It may cross itself; resolved alone before it meets the others.
        let area = Area::from_contours(&[contour], Filling::NonZero);
        self.put(f[0] != 0.0, area.contours().cloned().collect());
        Ok(())
    }

    /// Primitive 6: concentric rings and a cross.
    fn rings(&mut self, f: &[f64]) {
        let centre = self.nm(f[0], f[1]);
        let rotation = f.get(8).copied().unwrap_or(0.0);
        let (thickness, gap) = (f[3].max(0.0), f[4].max(0.0));
        let mut diameter = f[2];
        let mut area = Area::default();
        for _ in 0..(f[5].clamp(0.0, 100.0) as usize) {
            if diameter <= 0.0 || thickness + gap <= 0.0 {
                break;
            }
            let disc = |d: f64| {
                let line = moved(outlines::circle(d.max(0.0) * self.unit_nm), centre);
                Area::from_contours(&[turned(&line, rotation)], Filling::NonZero)
            };
            area = area.union(&disc(diameter).difference(&disc(diameter - 2.0 * thickness)));
            diameter -= 2.0 * (thickness + gap);
        }
        for (width, height) in [(f[7], f[6]), (f[6], f[7])] {
            let line = outlines::rectangle(width * self.unit_nm, height * self.unit_nm);
            let bar = Area::from_contours(&[turned(&moved(line, centre), rotation)], Filling::NonZero);
            area = area.union(&bar);
        }
        self.put(true, area.contours().cloned().collect());
    }

    /// Primitive 7: a ring cut by a cross of gaps.
    fn thermal(&mut self, f: &[f64]) {
        let centre = self.nm(f[0], f[1]);
        let rotation = f.get(5).copied().unwrap_or(0.0);
        let solid =
            |line: Line| Area::from_contours(&[turned(&moved(line, centre), rotation)], Filling::NonZero);
        let (outer, inner, gap) = (f[2] * self.unit_nm, f[3] * self.unit_nm, f[4] * self.unit_nm);
        let mut area = solid(outlines::circle(outer));
        for cut in [
            outlines::circle(inner.max(0.0)),
            outlines::rectangle(1.1 * outer, gap),
            outlines::rectangle(gap, 1.1 * outer),
        ] {
            area = area.difference(&solid(cut));
        }
        self.put(true, area.contours().cloned().collect());
    }

    fn add(&mut self, exposure: f64, line: Line, rotation: f64) {
        let mut contour = turned(&line, rotation);
        if crate::shape::doubled_area_nm2(&contour) < 0 {
            contour.reverse();
        }
        self.put(exposure != 0.0, vec![contour]);
    }

    fn put(&mut self, dark: bool, mut contours: Vec<Contour>) {
        if dark {
            self.pending.append(&mut contours);
        } else {
            self.unite();
            self.area = self.area.difference(&Area::from_contours(&contours, Filling::NonZero));
        }
    }

    fn unite(&mut self) {
        if !self.pending.is_empty() {
            self.pending.extend(self.area.contours().cloned());
            self.area = Area::from_contours(&self.pending, Filling::NonZero);
            self.pending.clear();
        }
    }
}

fn moved(line: Line, by: [f64; 2]) -> Line {
    line.into_iter().map(|[x, y]| [x + by[0], y + by[1]]).collect()
}

/// Turned about the macro's origin, as every primitive is.
fn turned(line: &[[f64; 2]], degrees: f64) -> Contour {
    let (sin, cos) = sin_cos_deg(degrees);
    line.iter().map(|[x, y]| Point::rounded(x * cos - y * sin, x * sin + y * cos)).collect()
}

/// A bar with square ends flush with its two points.
fn bar(from: [f64; 2], to: [f64; 2], width_nm: f64) -> Line {
    let (dx, dy) = (to[0] - from[0], to[1] - from[1]);
    let length = dx.hypot(dy);
    if length == 0.0 {
        return Vec::new();
    }
    let (nx, ny) = (-dy / length * width_nm / 2.0, dx / length * width_nm / 2.0);
    vec![
        [from[0] - nx, from[1] - ny],
        [to[0] - nx, to[1] - ny],
        [to[0] + nx, to[1] + ny],
        [from[0] + nx, from[1] + ny],
    ]
}

#[cfg(test)]
mod tests {
    use super::{Area, Macro, Statement, draw};
    use std::f64::consts::PI;

    fn area_mm2(text: &str, parameters: &[f64]) -> f64 {
        drawn(text, parameters).area_mm2()
    }

    fn drawn(text: &str, parameters: &[f64]) -> Area {
        let statements = text.split('*').map(|s| Statement { text: s.to_owned(), line: 1 }).collect();
        let mut trouble = Vec::new();
        let area = draw(&Macro { statements }, parameters, 1e6, &mut trouble);
        assert_eq!(trouble, [], "{text}");
        area
    }

    fn near(found: f64, exact: f64) {
        // Whole nanometres on shapes of millimetres, and polygons for circles where they are cut.
        assert!((found - exact).abs() < 2e-3 * exact, "{found} is not {exact}");
    }

    #[test]
    fn each_primitive_has_its_area() {
        near(area_mm2("1,1,2,0.5,0.5*", &[]), PI);
        near(area_mm2("20,1,0.5,0,0,3,4,30*", &[]), 2.5);
        near(area_mm2("2,1,0.5,0,0,3,4,0*", &[]), 2.5);
        near(area_mm2("21,1,2,3,7,7,45*", &[]), 6.0);
        near(area_mm2("22,1,2,3,7,7,0*", &[]), 6.0);
        near(area_mm2("4,1,3,0,0,2,0,0,2,0,0,10*", &[]), 2.0);
        // A regular hexagon on a circle of diameter 2: 3 sqrt(3) / 2.
        near(area_mm2("5,1,6,0,0,2,15*", &[]), 1.5 * 3f64.sqrt());
        // Two rings: outer 4 thick 0.5 gap 0.5; no cross area beyond 0.1 x 0.1 at the middle of a 1 mm hole.
        near(area_mm2("6,0,0,4,0.5,0.5,2,0.1,0.1,0*", &[]), PI * (4.0 - 2.25) + PI * (1.0 - 0.25) + 0.01);
        // No ring, and a cross of two bars 4 long and 0.2 wide.
        near(area_mm2("6,0,0,2,0.5,0.5,0,0.2,4,0*", &[]), 2.0 * 4.0 * 0.2 - 0.04);
        // A ring 4/2 cut by gaps of 0.2: each of four cuts is about 1 mm long.
        let cut = |r: f64| (r * r - 0.01f64).sqrt() * 0.1 + r * r * (0.1 / r).asin();
        near(area_mm2("7,0,0,4,2,0.2,45*", &[]), PI * 3.0 - 4.0 * (cut(2.0) - cut(1.0)));
    }

    /// A quarter turn about the macro's origin takes x, y to -y, x (section 4.5.1.3).
    #[test]
    fn each_primitive_lies_where_it_should() {
        // Of a triangle, and of a ring of diameter 2 whose gaps of 0.2 take its outermost points.
        let (height, cut) = (0.75f64.sqrt(), 0.99f64.sqrt());
        for (text, corners) in [
            ("1,1,2,3,0,90", [-1.0, 2.0, 1.0, 4.0]),
            ("20,1,2,0,0,3,0,90", [-1.0, 0.0, 1.0, 3.0]),
            ("21,1,2,4,3,0,90", [-2.0, 2.0, 2.0, 4.0]),
            ("22,1,2,4,3,1,90", [-5.0, 3.0, -1.0, 5.0]),
            ("4,1,3,0,0,2,0,0,1,0,0,90", [-1.0, 0.0, 0.0, 2.0]),
            ("5,1,3,1,0,2,90", [-height, 0.5, height, 2.0]),
            ("6,2,0,2,0.5,0.5,1,0.2,4,90", [-2.0, 0.0, 2.0, 4.0]),
            ("7,2,0,2,1,0.2,90", [-cut, 2.0 - cut, cut, 2.0 + cut]),
        ] {
            let found = drawn(text, &[]).bounds().unwrap().corners_mm();
            for (found_mm, exact_mm) in found.iter().zip(corners) {
                assert!((found_mm - exact_mm).abs() < 1e-3, "{text}: {found:?} is not {corners:?}");
            }
        }
    }

    #[test]
    fn variables_exposure_and_comments() {
        near(
            area_mm2("0 a comment, 1,2*$3=$1x2*21,1,$3,$2,0,0,0*1,0,$1/2,0,0*", &[2.0, 3.0]),
            12.0 - PI / 4.0,
        );
        // What is drawn after a cut covers it again.
        near(area_mm2("21,1,2,2,0,0,0*1,0,1,0,0*21,1,1,1,0,0,0*", &[]), 4.0);
    }

    #[test]
    fn what_cannot_be_read_is_told_and_the_rest_is_kept() {
        let statements = ["9,1,2", "1,1", "21,1,2,2,0,0,0"]
            .into_iter()
            .map(|s| Statement { text: s.to_owned(), line: 7 })
            .collect();
        let mut trouble = Vec::new();
        let area = draw(&Macro { statements }, &[], 1e6, &mut trouble);
        assert_eq!((area.area_mm2(), trouble.len(), trouble[0].0), (4.0, 2, 7));
    }
}

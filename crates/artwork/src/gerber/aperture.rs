//! Apertures: what a flash leaves and what a stroke is drawn with.

use std::sync::Arc;

use super::object::{Attributes, DrawnObject};
use super::outlines::{self, Line};
use crate::shape::{Area, Contour, Filling};

/// An aperture, about the origin, before mirroring, rotation and scaling.
#[derive(Debug, Clone, Default)]
pub(super) struct Aperture {
    /// What a flash leaves.
    pub area: Area,
    /// The outline that strokes are drawn with, where it is convex (all standard ones).
    pub convex: Option<Line>,
    /// Diameter of a round one, nm.
    pub round_nm: Option<f64>,
    /// Largest extent, nm: the width that a stroke is said to have.
    pub width_nm: f64,
    /// Objects of a block aperture.
    pub block: Option<Vec<DrawnObject>>,
    /// Aperture attributes as they stood when it was defined.
    pub attributes: Arc<Attributes>,
}

fn area(line: Line) -> Area {
    Area::from_contours(&[outlines::placed(&line, [0.0, 0.0])], Filling::NonZero)
}

/// A standard aperture from its letter and its modifiers in file units. An error says what is allowed.
pub(super) fn standard(
    letter: &str,
    values: &[f64],
    unit_nm: f64,
) -> Result<(Aperture, Vec<String>), String> {
    let mut told = Vec::new();
    let size = |at: usize| values.get(at).map(|v| v * unit_nm);
    let least = |count: usize, form: &str| {
        if values.len() < count {
            Err(format!("aperture {letter} is {form}; {} values were read", values.len()))
        } else {
            Ok(())
        }
    };
    if values.iter().any(|v| !v.is_finite() || v.abs() * unit_nm > 1e9) {
        return Err("a size is beyond one metre".to_owned());
    }
    let (line, round_nm, holes) = match letter {
        "C" => {
            least(1, "C,diameter[Xhole]")?;
            let diameter = size(0).unwrap_or(0.0).abs();
            (outlines::circle(diameter), Some(diameter), 1)
        }
        "R" | "O" => {
            least(1, "R,widthXheight[Xhole]")?;
            let width = size(0).unwrap_or(0.0).abs();
            let height = size(1).map_or(width, f64::abs);
            if values.len() == 1 {
                told.push(format!("aperture {letter} has one size; its height is taken as its width"));
            }
            let line = if letter == "R" {
                outlines::rectangle(width, height)
            } else {
                outlines::obround(width, height)
            };
            (line, None, 2)
        }
        "P" => {
            least(2, "P,diameterXcorners[Xrotation[Xhole]]")?;
            if !(3.0..=360.0).contains(&values[1]) {
                return Err(format!("a polygon has 3 to 12 corners, not {}", values[1]));
            }
            let rotation = values.get(2).copied().unwrap_or(0.0);
            (outlines::polygon(size(0).unwrap_or(0.0).abs(), values[1] as u32, rotation), None, 3)
        }
        other => return Err(format!("'{other}' is neither C, R, O, P nor a macro defined before")),
    };
    let mut solid = area(line.clone());
    if let Some(hole) = size(holes).filter(|hole| *hole > 0.0) {
        let cut = match size(holes + 1).filter(|height| *height > 0.0) {
            None => area(outlines::circle(hole)),
            Some(height) => {
                told.push("a rectangular hole in an aperture is deprecated; it is cut".to_owned());
                area(outlines::rectangle(hole, height))
            }
        };
        solid = solid.difference(&cut);
    }
    let width_nm = width(&line);
    Ok((Aperture { area: solid, convex: Some(line), round_nm, width_nm, ..Aperture::default() }, told))
}

/// An aperture from a macro's area; strokes with it use its convex hull.
pub(super) fn from_area(area: Area) -> Aperture {
    let points = area.contours().flatten().copied().collect();
    let hull: Line =
        crate::shape::convex_hull(points).iter().map(|p| [f64::from(p.x_nm), f64::from(p.y_nm)]).collect();
    let width_nm = width(&hull);
    Aperture { area, convex: Some(hull), width_nm, ..Aperture::default() }
}

fn width(line: &[[f64; 2]]) -> f64 {
    let extent = |axis: usize| {
        let values = line.iter().map(|p| p[axis]);
        values.clone().fold(f64::NEG_INFINITY, f64::max) - values.fold(f64::INFINITY, f64::min)
    };
    if line.is_empty() { 0.0 } else { extent(0).min(extent(1)).max(0.0) }
}

/// How an aperture is turned before it is used (LM, LR, LS).
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Turn {
    pub mirror_x: bool,
    pub mirror_y: bool,
    pub rotation_deg: f64,
    pub scale: f64,
}

impl Default for Turn {
    fn default() -> Self {
        Self { mirror_x: false, mirror_y: false, rotation_deg: 0.0, scale: 1.0 }
    }
}

impl Turn {
    /// Mirrors, then scales and rotates, as section 4.9 of the format specification orders it.
    pub fn point(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        let (sin, cos) = crate::shape::sin_cos_deg(self.rotation_deg);
        let x = if self.mirror_x { -x } else { x } * self.scale;
        let y = if self.mirror_y { -y } else { y } * self.scale;
        [x * cos - y * sin, x * sin + y * cos]
    }

    /// A contour turned and put at a place, its direction kept.
    pub fn contour(&self, contour: &Contour, at: [f64; 2]) -> Contour {
        let mut placed: Contour = contour
            .iter()
            .map(|p| {
                let [x, y] = self.point([f64::from(p.x_nm), f64::from(p.y_nm)]);
                crate::shape::Point::rounded(x + at[0], y + at[1])
            })
            .collect();
        if self.mirror_x != self.mirror_y {
            placed.reverse();
        }
        placed
    }
}

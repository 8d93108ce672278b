//! The board's outline with its cut-outs, from the profile layer.

use crate::gerber::GerberLayer;
use crate::remark::{Remark, Severity};
use crate::shape::{Area, Bounds, Contour, Filling, Point, bounds_of, doubled_area_nm2};

/// Ends closer than this meet: rounding of the file, not worth a word, nm.
const MEET_NM: f64 = 2_000.0;
/// Gaps up to this are bridged and told, nm.
const BRIDGE_NM: f64 = 300_000.0;
/// Lines beyond this many are not joined: no board's edge has so many.
const MOST_LINES: usize = 20_000;

/// A board seen from above.
#[derive(Debug, Clone)]
pub struct Outline {
    /// Board less cut-outs.
    pub area: Area,
    /// File it comes from.
    pub file: String,
}

fn distance_nm(a: Point, b: Point) -> f64 {
    (f64::from(a.x_nm) - f64::from(b.x_nm)).hypot(f64::from(a.y_nm) - f64::from(b.y_nm))
}

fn mm(p: Point) -> String {
    format!("{:.3}, {:.3} mm", f64::from(p.x_nm) / 1e6, f64::from(p.y_nm) / 1e6)
}

/// Lines that were not closed, and gaps that were bridged.
#[derive(Default)]
struct Told {
    bridged: Vec<(Point, f64)>,
    open: Vec<(Point, Point)>,
}

/// Joins lines end to end into loops.
fn joined(mut lines: Vec<Vec<Point>>, told: &mut Told) -> Vec<Contour> {
    let mut loops = Vec::new();
    while let Some(mut line) = lines.pop() {
        while let (Some(&begin), Some(&end)) = (line.first(), line.last()) {
            let own = if line.len() > 2 { distance_nm(end, begin) } else { f64::INFINITY };
            let next = lines
                .iter()
                .enumerate()
                .flat_map(|(index, other)| {
                    let ends = [(other.first(), false), (other.last(), true)];
                    ends.map(|(p, reversed)| {
                        (p.map_or(f64::INFINITY, |p| distance_nm(end, *p)), index, reversed)
                    })
                })
                .min_by(|a, b| a.0.total_cmp(&b.0));
            let gap = next.map_or(f64::INFINITY, |next| next.0);
            if own <= gap && own <= BRIDGE_NM {
                if own > MEET_NM {
                    told.bridged.push((end, own));
                }
                loops.push(std::mem::take(&mut line));
                break;
            }
            match next {
                Some((gap, index, reversed)) if gap <= BRIDGE_NM => {
                    if gap > MEET_NM {
                        told.bridged.push((end, gap));
                    }
                    let mut other = lines.swap_remove(index);
                    if reversed {
                        other.reverse();
                    }
                    line.extend(other.into_iter().skip(usize::from(gap <= MEET_NM)));
                }
                _ => {
                    told.open.push((begin, end));
                    break;
                }
            }
        }
    }
    loops
}

/// Lines that stand twice: drawn again, in either direction.
fn without_twins(lines: Vec<Vec<Point>>) -> Vec<Vec<Point>> {
    let mut seen = std::collections::BTreeSet::new();
    lines
        .into_iter()
        .filter(|line| {
            let forward = line.clone();
            let backward: Vec<Point> = line.iter().rev().copied().collect();
            seen.insert(forward.min(backward))
        })
        .collect()
}

/// Loops that stand twice would cancel one another: two count as one when place and size agree to a thousandth.
fn without_twin_loops(loops: Vec<Contour>) -> Vec<Contour> {
    let mut kept: Vec<(Bounds, f64, Contour)> = Vec::new();
    for contour in loops {
        let Some(bounds) = bounds_of(contour.iter()) else { continue };
        let size = doubled_area_nm2(&contour).unsigned_abs() as f64;
        let near = |a: i32, b: i32| (f64::from(a) - f64::from(b)).abs() < BRIDGE_NM;
        let twin = kept.iter().any(|(other, other_size, _)| {
            near(bounds.min.x_nm, other.min.x_nm)
                && near(bounds.min.y_nm, other.min.y_nm)
                && near(bounds.max.x_nm, other.max.x_nm)
                && near(bounds.max.y_nm, other.max.y_nm)
                && (size - other_size).abs() <= 2e-2 * size.max(*other_size)
        });
        if !twin && size > 0.0 {
            kept.push((bounds, size, contour));
        }
    }
    kept.into_iter().map(|(_, _, contour)| contour).collect()
}

/// Reads the profile layer: the middles of its strokes, or its regions, joined into loops. The outermost are the board,
/// those inside are cut-outs.
pub(crate) fn from_profile(layer: &GerberLayer, remarks: &mut Vec<Remark>) -> Option<Outline> {
    let file = layer.file.as_str();
    let dark = layer.strokes.iter().filter(|stroke| stroke.dark && stroke.points.len() >= 2);
    let mut lines: Vec<Vec<Point>> = dark
        .map(|stroke| stroke.points.clone())
        .filter(|points| points.windows(2).any(|p| p[0] != p[1]))
        .collect();
    if lines.len() > MOST_LINES {
        remarks.push(Remark::about(
            Severity::Error,
            file,
            format!("the profile has {} lines; the first {MOST_LINES} are joined", lines.len()),
        ));
        lines.truncate(MOST_LINES);
    }
    // The last line is taken first; the drawing's own order joins fastest.
    lines = without_twins(lines);
    lines.reverse();
    let mut told = Told::default();
    let mut loops = joined(lines, &mut told);
    loops.extend(layer.region_contours.iter().cloned());
    let area = Area::from_contours(&without_twin_loops(loops), Filling::EvenOdd);
    for (at, gap) in told.bridged.iter().take(20) {
        let text = format!("a gap of {:.3} mm in the profile at {} is bridged", gap / 1e6, mm(*at));
        remarks.push(Remark::about(Severity::Note, file, text));
    }
    if let Some((begin, end)) = told.open.first() {
        let text = format!(
            "{} open {} in the profile {} left out, the first from {} to {} (gaps up to 0.3 mm are bridged)",
            told.open.len(),
            if told.open.len() == 1 { "line" } else { "lines" },
            if told.open.len() == 1 { "is" } else { "are" },
            mm(*begin),
            mm(*end)
        );
        remarks.push(Remark::about(Severity::Warning, file, text));
    }
    if !area.is_empty() {
        return Some(Outline { area, file: file.to_owned() });
    }
    let bounds =
        bounds_of(layer.strokes.iter().flat_map(|stroke| &stroke.points)).or_else(|| layer.area.bounds())?;
    rectangle(bounds, file, "no line of the profile closes", remarks)
}

/// The rectangle round what is there, for want of a profile.
pub(crate) fn rectangle(bounds: Bounds, file: &str, why: &str, remarks: &mut Vec<Remark>) -> Option<Outline> {
    let area = Area::rectangle(bounds);
    if area.is_empty() {
        return None;
    }
    let [x0, y0, x1, y1] = bounds.corners_mm();
    let text = format!("{why}; the rectangle {x0:.3}, {y0:.3} to {x1:.3}, {y1:.3} mm is taken for the board");
    remarks.push(Remark::about(Severity::Warning, file, text));
    Some(Outline { area, file: file.to_owned() })
}

#[cfg(test)]
mod tests {
    use super::from_profile;
    use crate::gerber;
    use crate::remark::Severity;

    fn outline(body: &str) -> (f64, usize, Vec<crate::remark::Remark>) {
        let text = format!("%FSLAX36Y36*%%MOMM*%%ADD10C,0.1*%D10*G75*G01*{body}M02*");
        let layer = gerber::read("edge.gbr", text.as_bytes());
        assert_eq!(layer.remarks, []);
        let mut remarks = Vec::new();
        let outline = from_profile(&layer, &mut remarks).unwrap();
        (outline.area.area_mm2(), outline.area.pieces(), remarks)
    }

    const MM: &str = "000000";

    fn line(points: &[[i32; 2]]) -> String {
        let mut text = String::new();
        for (index, [x, y]) in points.iter().enumerate() {
            text += &format!("X{x}{MM}Y{y}{MM}D0{}*", if index == 0 { 2 } else { 1 });
        }
        text
    }

    #[test]
    fn loose_lines_in_any_order_and_direction_close_and_inner_loops_are_cut_out() {
        let body = line(&[[0, 0], [20, 0]])
            + &line(&[[0, 10], [0, 0]])
            + &line(&[[0, 10], [20, 10]])
            + &line(&[[20, 10], [20, 0]])
            + &line(&[[5, 5], [7, 5], [7, 7], [5, 7], [5, 5]]);
        let (area, pieces, remarks) = outline(&body);
        assert_eq!((area, pieces, remarks.len()), (200.0 - 4.0, 1, 0));
    }

    #[test]
    fn a_loop_drawn_twice_is_one_board() {
        let loop_ = line(&[[0, 0], [20, 0], [20, 10], [0, 10], [0, 0]]);
        let back = line(&[[0, 0], [0, 10], [20, 10], [20, 0], [0, 0]]);
        assert_eq!(outline(&(loop_.clone() + &loop_)).0, 200.0);
        assert_eq!(outline(&(loop_ + &back)).0, 200.0);
    }

    #[test]
    fn small_gaps_are_bridged_and_told_large_ones_are_not() {
        let gap = "X0Y0D02*X20000000Y0D01*X20000000Y10000000D01*X0Y10000000D01*X0Y250000D01*";
        let (area, _, remarks) = outline(gap);
        assert_eq!(area, 200.0);
        assert!(remarks[0].severity == Severity::Note && remarks[0].text.contains("0.250 mm"), "{remarks:?}");
        let wide = "X0Y0D02*X20000000Y0D01*X20000000Y10000000D01*X0Y10000000D01*X0Y350000D01*";
        let (area, _, remarks) = outline(wide);
        assert_eq!(area, 200.0, "the rectangle round it");
        assert!(remarks.iter().all(|remark| remark.severity == Severity::Warning), "{remarks:?}");
    }

    #[test]
    fn a_board_drawn_as_a_region_counts() {
        assert_eq!(outline(&format!("G36*{}G37*", line(&[[0, 0], [3, 0], [3, 4], [0, 0]]))).0, 6.0);
    }
}

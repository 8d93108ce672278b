//! A foil made ready: checked, numbered, its links sorted by colour, its levels made.

use rayon::prelude::*;

use super::Foil;
use super::coarsen::{Joined, coarser, coded, neighbours, weights};
use super::floor::Floor;
use super::graph::{Graph, Level, NONE};
use super::pixels::{HELD, Pixels};
use super::sparse::Sparse;
use crate::error::GridError;

/// Cells that one task checks.
const PIECE: usize = 16_384;
/// Blocks below which the coarsest level is solved directly.
const FEW: usize = 64;
/// Part of a level's blocks above which the next one is made anew, with the sheets merged.
const HARDLY_FEWER: f64 = 0.6;

pub(super) fn check(foil: &Foil<'_>) -> Result<(), GridError> {
    let mut cells = 0;
    for sheet in &foil.sheets {
        let wanted = sheet.nx * sheet.ny;
        for (what, g) in [("conductances along x", sheet.gx), ("conductances along y", sheet.gy)] {
            if g.len() != wanted {
                return Err(GridError::WrongLength { what, found: g.len(), wanted });
            }
            // Whole pieces at a time, for speed; only the first piece with a fault is looked at one by one.
            let sound = |g: &f32| (0.0..f32::INFINITY).contains(g);
            let whole = |piece: &[f32]| piece.iter().fold(true, |whole, g| whole & sound(g));
            if let Some(piece) = g.par_chunks(PIECE).position_first(|piece| !whole(piece)) {
                let at = piece * PIECE + g[piece * PIECE..].iter().take_while(|g| sound(g)).count();
                return Err(GridError::OutOfRange { what, at });
            }
        }
        let beyond = (0..sheet.ny).find(|j| sheet.nx > 0 && sheet.gx[(j + 1) * sheet.nx - 1] > 0.0);
        if let Some(j) = beyond {
            return Err(GridError::OutOfRange { what: "conductance beyond the last column", at: j });
        }
        if let Some(at) = sheet.gy[wanted - sheet.nx.min(wanted)..].iter().position(|g| *g > 0.0) {
            return Err(GridError::OutOfRange { what: "conductance beyond the last row", at });
        }
        cells += wanted;
    }
    let outside = |cell: usize, g: f32| cell >= cells || !(g > 0.0 && g.is_finite());
    if let Some(at) = foil.links.iter().position(|(a, b, g)| outside(*a, *g) || outside(*b, *g) || a == b) {
        return Err(GridError::OutOfRange { what: "link", at });
    }
    if let Some(at) = foil.ground.iter().position(|(cell, g)| outside(*cell, *g)) {
        return Err(GridError::OutOfRange { what: "ground", at });
    }
    if let Some(at) = foil.held.iter().position(|cell| *cell >= cells) {
        return Err(GridError::OutOfRange { what: "held cell", at });
    }
    Ok(())
}

/// Conductances of coded pixels to 0 V, those to held neighbours included.
pub(super) fn ground(foil: &Foil<'_>, pixels: &Pixels<'_>) -> Vec<(u32, f32)> {
    let mut ground: Vec<(u32, f32)> =
        foil.ground.iter().map(|(cell, g)| (pixels.number[*cell], *g)).filter(|g| g.0 < HELD).collect();
    for &cell in &foil.held {
        let sheet = pixels.base.partition_point(|base| *base <= cell) - 1;
        for (to, g) in pixels.sides(sheet, cell) {
            if g > 0.0 && pixels.number[to] < HELD {
                ground.push((pixels.number[to], g));
            }
        }
    }
    for &(a, b, g) in &foil.links {
        let (a, b) = (pixels.number[a], pixels.number[b]);
        if a == HELD && b < HELD {
            ground.push((b, g));
        } else if b == HELD && a < HELD {
            ground.push((a, g));
        }
    }
    ground
}

/// Links between coded pixels, and as red to black with points between those of one colour.
pub(super) struct Linked {
    coded: Vec<(u32, u32, f32)>,
    pub links: Vec<(u32, u32, f32)>,
    /// Red and black points.
    pub points: [usize; 2],
    /// Red points and the black pixels at their ends, coded.
    between: Vec<(u32, [u32; 2])>,
}

impl Linked {
    pub fn new(foil: &Foil<'_>, pixels: &Pixels<'_>, counts: [usize; 2]) -> Self {
        let mut all = Self { coded: Vec::new(), links: Vec::new(), points: [0, 0], between: Vec::new() };
        for &(a, b, g) in &foil.links {
            let (a, b) = (pixels.number[a], pixels.number[b]);
            if a >= HELD || b >= HELD {
                continue;
            }
            all.coded.push((a, b, g));
            match (a & 1, b & 1) {
                (0, 1) => all.links.push((a >> 1, b >> 1, g)),
                (1, 0) => all.links.push((b >> 1, a >> 1, g)),
                (0, _) => {
                    let point = (counts[1] + all.points[1]) as u32;
                    all.points[1] += 1;
                    all.links.extend([(a >> 1, point, 2.0 * g), (b >> 1, point, 2.0 * g)]);
                }
                _ => {
                    let point = (counts[0] + all.points[0]) as u32;
                    all.points[0] += 1;
                    all.links.extend([(point, a >> 1, 2.0 * g), (point, b >> 1, 2.0 * g)]);
                    all.between.push((coded(point as usize, false), [a, b]));
                }
            }
        }
        all
    }
}

/// The first level of blocks, and how red pixels follow them.
pub(super) fn first_blocks(
    pixels: &Pixels<'_>,
    linked: &Linked,
    ground: &[(u32, f32)],
    reds: usize,
) -> (Graph, Sparse) {
    let (blocks, codes, parts) = pixels.blocks();
    let code = |v: u32| codes[(v & 1) as usize].get((v >> 1) as usize).copied().unwrap_or(NONE);
    let links = linked.coded.iter().map(|(a, b, g)| (code(*a), code(*b), *g)).collect();
    let mut joined = Joined::new(blocks, links);
    for (v, g) in ground {
        let block = joined.decode(code(*v));
        joined.graph.ground[block as usize] += g;
    }
    let first_black = joined.first_black as usize;
    let decode = {
        let first_black = joined.first_black;
        move |code: u32| match code {
            NONE => NONE,
            code if code & 1 == 0 => code >> 1,
            code => first_black + (code >> 1),
        }
    };
    let up = |v: u32| decode(code(v));
    let graph = joined.finish(|row, out| {
        let part = if row < first_black { parts[0].get(row) } else { parts[1].get(row - first_black) };
        match part {
            Some(part) if part.even => pixels.even_neighbours(part, &up, out),
            Some(part) => {
                for v in part.cells.iter().filter(|v| **v != NONE) {
                    neighbours(pixels, *v, &up, out);
                }
            }
            None => {}
        }
    });
    let even = |v: u32| {
        let code = code(v);
        code != NONE && parts[(code & 1) as usize][(code >> 1) as usize].even
    };
    let weights = Sparse::build(reds, |row, out| {
        let v = coded(row, false);
        if even(v) { pixels.even_weights(v, &up, out) } else { weights(pixels, v, &linked.between, &up, out) }
    });
    (graph, weights)
}

/// All coarser levels, down to one that is solved directly.
pub(super) fn levels(graph: Graph, odd: &[bool]) -> (Vec<Level>, Floor) {
    let mut levels = vec![Level::new(graph)];
    let mut merged = false;
    while let Some(last) = levels.last_mut() {
        let count = last.graph.place.len();
        if count <= FEW || last.graph.rows.entries() == 0 {
            break;
        }
        let odd: &[bool] = if merged { &[false] } else { odd };
        let mut next = coarser(last, odd, merged);
        if !merged && next.place.len() as f64 > HARDLY_FEWER * count as f64 {
            merged = true;
            next = coarser(last, odd, merged);
        }
        levels.push(Level::new(next));
    }
    let floor = levels.last().map(|level| Floor::new(&level.graph)).unwrap_or_default();
    (levels, floor)
}

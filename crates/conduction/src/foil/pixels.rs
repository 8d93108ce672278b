//! Which pixels carry copper, numbered by colour like a chessboard, sheet by sheet and row by row; and their blocks.

use std::ops::Range;

use rayon::prelude::*;

use super::coarsen::{Blocks, Faces, Towards, coded};
use super::graph::{NONE, Place};
use super::{Foil, FoilSheet};

/// The number of a pixel that is held at 0 V.
pub(super) const HELD: u32 = NONE - 1;

/// Pixels that one task cuts into blocks, about.
const PIECE: usize = 65_536;

/// Pixels by number and back.
pub(super) struct Pixels<'a> {
    pub sheets: &'a [FoilSheet<'a>],
    /// First cell of each sheet.
    pub base: Vec<usize>,
    /// Coded number of each cell; `NONE` for bare ones.
    pub number: Vec<u32>,
    /// Cells of the red and of the black pixels.
    pub cell: [Vec<u32>; 2],
    /// First red and black pixel of each sheet.
    first: Vec<[usize; 2]>,
}

/// A pixel's four sides: the cells there (only where copper crosses) and the conductances; west, east, south, north.
pub(super) type Sides = [(usize, f32); 4];

impl<'a> Pixels<'a> {
    pub fn new(foil: &'a Foil<'a>) -> Self {
        let mut base = Vec::with_capacity(foil.sheets.len());
        let mut cells = 0;
        for sheet in &foil.sheets {
            base.push(cells);
            cells += sheet.nx * sheet.ny;
        }
        let mut number = vec![NONE; cells];
        foil.held.iter().for_each(|cell| number[*cell] = HELD);
        let linked = foil.links.iter().flat_map(|link| [link.0, link.1]);
        let mut alone: Vec<usize> = linked.chain(foil.ground.iter().map(|g| g.0)).collect();
        alone.sort_unstable();
        let mut cell: [Vec<u32>; 2] = Default::default();
        let mut first = Vec::new();
        for (sheet, &base) in foil.sheets.iter().zip(&base) {
            first.push([cell[0].len(), cell[1].len()]);
            let (nx, gx, gy) = (sheet.nx, sheet.gx, sheet.gy);
            for j in 0..sheet.ny {
                let row = j * nx;
                let mut before = 0.0;
                for i in 0..nx {
                    let c = row + i;
                    let below = if j > 0 { gy[c - nx] } else { 0.0 };
                    let sum = gx[c] + before + gy[c] + below;
                    before = gx[c];
                    let there = sum > 0.0 || (!alone.is_empty() && alone.binary_search(&(base + c)).is_ok());
                    if there && number[base + c] != HELD {
                        let black = (sheet.first[0] + i + sheet.first[1] + j + usize::from(sheet.odd)) & 1;
                        number[base + c] = coded(cell[black].len(), black == 1);
                        cell[black].push((base + c) as u32);
                    }
                }
            }
        }
        Self { sheets: &foil.sheets, base, number, cell, first }
    }

    /// The sheet of a coded pixel.
    #[inline]
    pub fn sheet_of(&self, v: u32) -> usize {
        let (black, index) = ((v & 1) as usize, (v >> 1) as usize);
        if self.sheets.len() == 1 {
            return 0;
        }
        self.first.partition_point(|first| first[black] <= index) - 1
    }

    #[inline]
    pub fn cell_of(&self, v: u32) -> usize {
        self.cell[(v & 1) as usize][(v >> 1) as usize] as usize
    }

    /// Sides of a cell of a sheet.
    #[inline]
    pub fn sides(&self, sheet: usize, cell: usize) -> Sides {
        let FoilSheet { nx, gx, gy, .. } = self.sheets[sheet];
        let c = cell - self.base[sheet];
        // The last column leads nowhere to larger x, so a first column finds 0 before it.
        let west = if c > 0 { gx[c - 1] } else { 0.0 };
        let south = if c >= nx { gy[c - nx] } else { 0.0 };
        [(cell.wrapping_sub(1), west), (cell + 1, gx[c]), (cell.wrapping_sub(nx), south), (cell + nx, gy[c])]
    }

    /// Place of a cell of a sheet.
    #[inline]
    fn at(&self, sheet: usize, cell: usize) -> [u32; 2] {
        let FoilSheet { first, nx, .. } = self.sheets[sheet];
        let (c, nx) = ((cell - self.base[sheet]) as u32, nx as u32);
        [first[0] as u32 + c % nx, first[1] as u32 + c / nx]
    }

    /// Whether no pixel beside a block is held.
    #[inline]
    fn around(&self, sheet: usize, c: usize) -> bool {
        self.beside(self.base[sheet] + c, self.sheets[sheet].nx).iter().all(|cell| self.number[*cell] < HELD)
    }

    /// Cells beside a block, two at each side: west, east, south, north.
    #[inline]
    fn beside(&self, corner: usize, nx: usize) -> [usize; 8] {
        [
            corner - 1,
            corner + nx - 1,
            corner + 2,
            corner + nx + 2,
            corner - nx,
            corner - nx + 1,
            corner + 2 * nx,
            corner + 2 * nx + 1,
        ]
    }

    /// Conductances of an even block to its neighbours.
    #[inline]
    pub fn even_neighbours(&self, part: &Part, up: &impl Fn(u32) -> u32, out: &mut Vec<(u32, f32)>) {
        let (sheet, corner) = (part.sheet as usize, part.corner as usize);
        let sheet = (self.base[sheet], &self.sheets[sheet]);
        let half = 0.5 * sheet.1.gx[corner - sheet.0];
        for pair in self.beside(corner, sheet.1.nx).chunks_exact(2) {
            let (a, b) = (up(self.number[pair[0]]), up(self.number[pair[1]]));
            if a == b {
                out.push((a, 2.0 * half));
            } else {
                out.extend([(a, half), (b, half)]);
            }
        }
    }

    /// Weights of an even block's red pixels, each with its own.
    #[inline]
    pub fn even_weights(&self, v: u32, up: &impl Fn(u32) -> u32, out: &mut Vec<(u32, f32)>) {
        let (sheet, cell) = (self.sheet_of(v), self.cell_of(v));
        let ([i, j], nx) = (self.at(sheet, cell), self.sheets[sheet].nx);
        let across = if i & 1 == 0 { cell - 1 } else { cell + 1 };
        let along = if j & 1 == 0 { cell - nx } else { cell + nx };
        out.extend([(up(v), 0.5), (up(self.number[across]), 0.25), (up(self.number[along]), 0.25)]);
    }

    /// The blocks of two by two, the coded block of each pixel, and the cells of each block by colour, four at most.
    /// Even copper far from any edge is marked: all is known there beforehand.
    pub fn blocks(&self) -> (Blocks, [Vec<u32>; 2], [Vec<Part>; 2]) {
        // Rows of blocks side by side; each counts its own blocks from 0 until all are put one after the other.
        let rows_of = |(index, sheet): (usize, &FoilSheet<'_>)| {
            let (first, last) = (sheet.first[1] / 2, (sheet.first[1] + sheet.ny).div_ceil(2));
            let each = (PIECE / sheet.nx.max(1)).max(1);
            (first..last).step_by(each).map(move |j| (index, j..(j + each).min(last)))
        };
        let strips: Vec<(usize, Range<usize>)> = self.sheets.iter().enumerate().flat_map(rows_of).collect();
        let strips: Vec<Strip> =
            strips.into_par_iter().map(|(sheet, rows)| self.strip_of_blocks(sheet, rows)).collect();
        let mut all = Strip::default();
        let pixels = [self.cell[0].len(), self.cell[1].len()];
        for black in [0, 1] {
            let blocks = strips.iter().map(|strip| strip.blocks[black].len()).sum();
            all.blocks[black].reserve_exact(blocks);
            all.parts[black].reserve_exact(blocks);
            all.up[black].reserve_exact(pixels[black]);
        }
        for strip in strips {
            let before = [all.blocks[0].len() as u32, all.blocks[1].len() as u32];
            for black in [0, 1] {
                all.up[black].extend(strip.up[black].iter().map(|c| c + (before[(c & 1) as usize] << 1)));
                all.blocks[black].extend(&strip.blocks[black]);
                all.parts[black].extend(&strip.parts[black]);
            }
        }
        let [red, black] = all.blocks;
        (Blocks { red, black }, all.up, all.parts)
    }

    /// Blocks of some rows of blocks of a sheet; the codes count from the first block of each colour in them.
    fn strip_of_blocks(&self, index: usize, rows: Range<usize>) -> Strip {
        let sheet = &self.sheets[index];
        let [i0, j0] = sheet.first;
        let numbers_of = |rows: &Range<usize>| {
            let (from, to) = ((2 * rows.start).max(j0) - j0, (2 * rows.end).min(j0 + sheet.ny) - j0);
            let base = self.base[index];
            self.number[base + from * sheet.nx..base + to * sheet.nx].iter().copied().filter(|v| *v < HELD)
        };
        // The pixels of these rows follow one another in each colour.
        let mut first = [None; 2];
        let mut count = [0; 2];
        for v in numbers_of(&rows) {
            first[(v & 1) as usize].get_or_insert(v >> 1);
            count[(v & 1) as usize] += 1;
        }
        let first = first.map(Option::unwrap_or_default);
        let mut strip = Strip { up: count.map(|count| vec![NONE; count]), ..Strip::default() };
        for j in rows {
            for i in i0 / 2..(i0 + sheet.nx).div_ceil(2) {
                // A block may begin a pixel before its sheet.
                let inside_x = [2 * i >= i0, 2 * i + 1 < i0 + sheet.nx];
                let inside_y = [2 * j >= j0, 2 * j + 1 < j0 + sheet.ny];
                let there: [bool; 4] = std::array::from_fn(|k| inside_x[k & 1] && inside_y[k >> 1]);
                let corner = (2 * j * sheet.nx + 2 * i).wrapping_sub(j0 * sheet.nx + i0);
                let c = [0, 1, sheet.nx, sheet.nx + 1].map(|step: usize| corner.wrapping_add(step));
                let mut numbers = [NONE; 4];
                for k in 0..4 {
                    if there[k] && self.number[self.base[index] + c[k]] < HELD {
                        numbers[k] = self.number[self.base[index] + c[k]];
                    }
                }
                if numbers == [NONE; 4] {
                    continue;
                }
                let open = |k: usize, g: &[f32]| there[k] && g[c[k]] > 0.0;
                let joins = [
                    (0, 1, open(0, sheet.gx)),
                    (2, 3, open(2, sheet.gx)),
                    (0, 2, open(0, sheet.gy)),
                    (1, 3, open(1, sheet.gy)),
                ];
                let mut name = [0, 1, 2, 3];
                for (a, b, open) in joins {
                    if open && numbers[a] != NONE && numbers[b] != NONE && name[a] != name[b] {
                        let (low, high) = (name[a].min(name[b]), name[a].max(name[b]));
                        name.iter_mut().filter(|n| **n == high).for_each(|n| *n = low);
                    }
                }
                let black = (i + j + usize::from(sheet.odd)) & 1;
                let inner = [i, j]
                    .iter()
                    .zip(sheet.first)
                    .zip([sheet.nx, sheet.ny])
                    .all(|((at, first), count)| 2 * at >= first + 2 && 2 * at + 3 < first + count);
                let even = inner && is_even(sheet, c[0]) && self.around(index, c[0]);
                for piece in 0..4 {
                    let mut cells = [NONE; 4];
                    let own = (0..4).filter(|k| name[*k] == piece && numbers[*k] != NONE);
                    let code = coded(strip.blocks[black].len(), black == 1);
                    let mut any = false;
                    for k in own {
                        let v = numbers[k];
                        cells[k] = v;
                        let colour = (v & 1) as usize;
                        strip.up[colour][((v >> 1) - first[colour]) as usize] = code;
                        any = true;
                    }
                    if any {
                        strip.blocks[black].push(Place { i: i as u32, j: j as u32, sheet: index as u32 });
                        strip.parts[black].push(Part {
                            cells,
                            even,
                            corner: self.base[index].wrapping_add(c[0]) as u32,
                            sheet: index as u32,
                        });
                    }
                }
            }
        }
        strip
    }
}

/// Blocks of some rows, by colour.
#[derive(Default)]
struct Strip {
    blocks: [Vec<Place>; 2],
    up: [Vec<u32>; 2],
    parts: [Vec<Part>; 2],
}

/// The coded pixels of a block.
#[derive(Debug, Clone, Copy)]
pub(super) struct Part {
    pub cells: [u32; 4],
    /// Whether all of its own sides and those just beyond are alike.
    pub even: bool,
    /// Its first cell and its sheet.
    corner: u32,
    sheet: u32,
}

/// Whether all sides of a block and the sides just beyond it are alike.
fn is_even(sheet: &FoilSheet<'_>, c: usize) -> bool {
    let (nx, gx, gy) = (sheet.nx, sheet.gx, sheet.gy);
    let g = gx[c];
    let mut alike = g > 0.0;
    for row in [c, c + nx] {
        alike &= gx[row - 2..row + 3].iter().all(|other| *other == g);
    }
    for row in [c - 2 * nx, c - nx, c, c + nx, c + 2 * nx] {
        alike &= gy[row] == g && gy[row + 1] == g;
    }
    alike
}

impl Faces for Pixels<'_> {
    fn faces(&self, v: u32, see: &mut impl FnMut(Towards)) {
        let (sheet, cell) = (self.sheet_of(v), self.cell_of(v));
        let at = self.at(sheet, cell);
        for (k, (to, g)) in self.sides(sheet, cell).into_iter().enumerate() {
            if g > 0.0 && self.number[to] < HELD {
                let axis = k / 2;
                see(Towards { to: self.number[to], g, axis, outward: (at[axis] & 1) as usize == k % 2 });
            }
        }
    }

    #[inline]
    fn inward(&self, v: u32, axis: usize) -> f32 {
        let (sheet, cell) = (self.sheet_of(v), self.cell_of(v));
        let at = self.at(sheet, cell);
        // An even pixel's other half lies at larger x or y.
        let (to, g) = self.sides(sheet, cell)[2 * axis + 1 - (at[axis] & 1) as usize];
        if g > 0.0 && self.number[to] < HELD { g } else { 0.0 }
    }
}

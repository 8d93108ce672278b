//! How cells lie in memory: [y][even or odd x][z][half x], so that one colour of a row is contiguous in x and a column
//! is a stack of equally long lines.

use rayon::prelude::*;

/// Rows that one task takes.
const ROWS_A_TASK: usize = 16;

/// Sizes and strides of a level.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Layout {
    pub nx: usize,
    pub ny: usize,
    pub nz: usize,
    /// Length of a line: half the cells in x, padded; at least one pad cell at its end stays 0.
    pub n: usize,
    /// Cells of a row with its pads.
    pub row: usize,
    /// Begin of row 0: a row of zeros and some more lie before it.
    pub begin: usize,
    /// Length of an array.
    pub length: usize,
}

/// Room before the first row, so that looking one to the left is always inside.
const MARGIN: usize = 64;

impl Layout {
    pub fn new(nx: usize, ny: usize, nz: usize) -> Self {
        let n = (nx.div_ceil(2) + 1).next_multiple_of(16);
        let row = 2 * nz * n;
        Self { nx, ny, nz, n, row, begin: row + MARGIN, length: row * (ny + 2) + 2 * MARGIN }
    }

    /// Begin of the line of half `h` (0 even, 1 odd x) of row `y` at layer `k`.
    #[inline(always)]
    pub fn line(&self, y: usize, h: usize, k: usize) -> usize {
        self.begin + ((2 * y + h) * self.nz + k) * self.n
    }

    /// Place of a cell.
    #[inline(always)]
    pub fn at(&self, x: usize, y: usize, k: usize) -> usize {
        self.line(y, x & 1, k) + (x >> 1)
    }

    /// Cells of half `h` in a row.
    #[inline(always)]
    pub fn count(&self, h: usize) -> usize {
        (self.nx + 1 - h) / 2
    }

    pub fn zeros<T: Copy + Default>(&self) -> Vec<T> {
        vec![T::default(); self.length]
    }

    /// Range of all rows.
    pub fn rows(&self) -> std::ops::Range<usize> {
        self.begin..self.begin + self.row * self.ny
    }

    /// Brings values from natural order (x fastest, then y, then z) into this one.
    pub fn take<T: Copy + Send>(&self, natural: &[f64], into: &mut [T], convert: impl Fn(f64) -> T + Sync) {
        into[self.rows()].par_chunks_mut(self.row).enumerate().with_min_len(ROWS_A_TASK).for_each(
            |(y, row)| {
                for (k, h, line) in self.lines_of_row() {
                    let begin = (k * self.ny + y) * self.nx;
                    let from = natural[begin..begin + self.nx].iter().skip(h).step_by(2);
                    row[line].iter_mut().zip(from).for_each(|(to, value)| *to = convert(*value));
                }
            },
        );
    }

    /// Brings values back into natural order.
    pub fn give(&self, from: &[f64], natural: &mut [f64]) {
        natural.par_chunks_mut(self.nx * self.ny).enumerate().for_each(|(k, layer)| {
            for (y, line) in layer.chunks_mut(self.nx).enumerate() {
                for h in 0..2 {
                    let at = self.line(y, h, k);
                    let to = line.iter_mut().skip(h).step_by(2);
                    to.zip(&from[at..at + self.n]).for_each(|(to, value)| *to = *value);
                }
            }
        });
    }

    /// Layer, half and place of the lines of a row.
    #[inline(always)]
    pub fn lines_of_row(&self) -> impl Iterator<Item = (usize, usize, std::ops::Range<usize>)> + use<> {
        let (n, nz) = (self.n, self.nz);
        (0..nz).flat_map(move |k| (0..2).map(move |h| (k, h, (h * nz + k) * n..(h * nz + k + 1) * n)))
    }
}

//! How cells lie in memory: [y][even or odd x][z][half x], so that one colour of a row is contiguous in x and a column
//! is a stack of equally long lines.

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
    pub fn take<T: Copy>(&self, natural: &[f64], into: &mut [T], convert: impl Fn(f64) -> T) {
        for k in 0..self.nz {
            for y in 0..self.ny {
                let begin = (k * self.ny + y) * self.nx;
                let line = &natural[begin..begin + self.nx];
                for h in 0..2 {
                    let to = self.line(y, h, k);
                    for (target, value) in
                        into[to..to + self.n].iter_mut().zip(line.iter().skip(h).step_by(2))
                    {
                        *target = convert(*value);
                    }
                }
            }
        }
    }

    /// Brings values back into natural order.
    pub fn give(&self, from: &[f64], natural: &mut [f64]) {
        for k in 0..self.nz {
            for y in 0..self.ny {
                let begin = (k * self.ny + y) * self.nx;
                let line = &mut natural[begin..begin + self.nx];
                for h in 0..2 {
                    let at = self.line(y, h, k);
                    for (target, value) in line.iter_mut().skip(h).step_by(2).zip(&from[at..at + self.n]) {
                        *target = *value;
                    }
                }
            }
        }
    }
}

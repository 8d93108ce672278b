//! An island on square pixels: how much of each pixel is copper, and how much of each side between two pixels is open.
//!
//! The conductance between two pixels is that of the open part of their common side: exact for copper with straight edges
//! along the grid wherever they lie, and of second order for oblique and curved edges (Ng, Min and Gibou, J. Comput. Phys. 228
//! (2009) 8807, from memory). Averages over the pixel would let current cross a gap; this does not, as long as
//! gaps are wider than a pixel, and other islands are not on the raster at all.

use artwork::coverage::coverage_by_rows;
use artwork::shape::{Bounds, Point, Polygon};

/// Share below which a pixel counts as bare.
const BARE: f64 = 1e-9;

/// Open part of a side below which it counts as closed: slivers carry nothing and hold the solver up.
const CLOSED: f32 = 1e-3;

/// Share from which a pixel counts as whole.
const WHOLE: f32 = 1.0 - 1e-6;

/// What sums of open parts may lose to rounding; a whole side is exactly 1, so that even copper is seen to be even.
const ROUNDING: f64 = 1e-6;

/// Square pixels from a corner; the same for all islands and layers.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Lattice {
    pub x0_nm: f64,
    pub y0_nm: f64,
    pub pitch_nm: f64,
}

/// A rectangle of pixels.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Window {
    pub i0: usize,
    pub j0: usize,
    pub nx: usize,
    pub ny: usize,
}

impl Lattice {
    /// The pixels that a box touches.
    pub fn window(&self, bounds: &Bounds) -> Window {
        let first =
            |at: i32, origin: f64| ((f64::from(at) - origin) / self.pitch_nm).floor().max(0.0) as usize;
        let past = |at: i32, origin: f64| ((f64::from(at) - origin) / self.pitch_nm).ceil().max(0.0) as usize;
        let (i0, j0) = (first(bounds.min.x_nm, self.x0_nm), first(bounds.min.y_nm, self.y0_nm));
        let (i1, j1) = (past(bounds.max.x_nm, self.x0_nm), past(bounds.max.y_nm, self.y0_nm));
        Window { i0, j0, nx: i1.max(i0 + 1) - i0, ny: j1.max(j0 + 1) - j0 }
    }

    /// Grid lines of a window, nm.
    pub fn lines_nm(&self, window: &Window) -> (Vec<f64>, Vec<f64>) {
        let lines = |origin: f64, first: usize, count: usize| {
            (first..=first + count).map(|i| origin + self.pitch_nm * i as f64).collect()
        };
        (lines(self.x0_nm, window.i0, window.nx), lines(self.y0_nm, window.j0, window.ny))
    }

    /// Middles of a window's pixels, mm.
    pub fn middles_mm(&self, window: &Window) -> (Vec<f64>, Vec<f64>) {
        let middles = |origin: f64, first: usize, count: usize| {
            (first..first + count).map(|i| (origin + self.pitch_nm * (i as f64 + 0.5)) * 1e-6).collect()
        };
        (middles(self.x0_nm, window.i0, window.nx), middles(self.y0_nm, window.j0, window.ny))
    }
}

impl Window {
    pub fn cells(&self) -> usize {
        self.nx * self.ny
    }
}

/// An island on its pixels; arrays x fastest, lowest y first.
#[derive(Debug, Clone)]
pub(super) struct Raster {
    pub window: Window,
    /// Copper's share of each pixel.
    pub share: Vec<f32>,
    /// Open part of the side to the pixel at larger x; 0 in the last column.
    pub open_x: Vec<f32>,
    /// Open part of the side to the pixel at larger y; 0 in the last row.
    pub open_y: Vec<f32>,
    /// Pixels whose border the copper's edge crosses four times and more: a gap or neck narrower than a pixel is in them.
    pub unresolved: usize,
}

impl Raster {
    pub fn new(polygon: &Polygon, bounds: &Bounds, lattice: &Lattice) -> Self {
        let window = lattice.window(bounds);
        let (x, y) = lattice.lines_nm(&window);
        let (nx, ny) = (window.nx, window.ny);
        let mut crossings = Crossings::new(lattice.pitch_nm, [x[0], y[0]], [nx, ny]);
        for contour in std::iter::once(&polygon.outer).chain(&polygon.holes) {
            let Some(mut from) = contour.last().copied() else { continue };
            for &to in contour {
                crossings.add_edge(from, to);
                from = to;
            }
        }
        let mut share: Vec<f32> = Vec::with_capacity(nx * ny);
        coverage_by_rows(std::iter::once(polygon), &x, &y, |_, row| {
            share.extend(row.iter().map(|share| if *share > BARE { *share as f32 } else { 0.0 }));
        });
        let mut open_x = Vec::with_capacity(nx * ny);
        let mut open_y = Vec::with_capacity(nx * ny);
        let mut unresolved = 0;
        // Along a line of constant x the open parts sum upwards, along one of constant y to the right.
        let (mut sums_x, mut sums_y) = (vec![0.0; nx], vec![0.0; nx]);
        let mut counts = vec![0u32; nx];
        let nothing = vec![0.0; nx];
        for j in 0..ny {
            crossings.x[j].iter().for_each(|(i, change)| sums_x[*i as usize] += change);
            crossings.sum_along(j, &mut sums_y);
            let here = &share[j * nx..(j + 1) * nx];
            let above = if j + 1 < ny { &share[(j + 1) * nx..(j + 2) * nx] } else { &nothing };
            let beyond = here[1..].iter().chain(&nothing[..1]);
            let parts = here.iter().zip(beyond).zip(&sums_x);
            open_x.extend(parts.map(|((here, beyond), sum)| part(*here, *beyond, *sum)));
            let parts = here.iter().zip(above).zip(&sums_y);
            open_y.extend(parts.map(|((here, above), sum)| part(*here, *above, *sum)));
            for i in &crossings.seen[j] {
                let i = *i as usize;
                counts[i] += 1;
                // Edges along the grid touch the border of pixels that are whole or bare.
                unresolved += usize::from(counts[i] == 4 && here[i] > 0.0 && here[i] < WHOLE);
            }
            crossings.seen[j].iter().for_each(|i| counts[*i as usize] = 0);
        }
        Self { window, share, open_x, open_y, unresolved }
    }

    /// Whether a pixel has copper.
    pub fn has_copper(&self, c: usize) -> bool {
        self.share[c] > 0.0
    }
}

/// Open part of a side between two pixels of which copper has a share, of which rounding may have left too much or too
/// little.
#[inline]
fn part(share: f32, other: f32, open: f64) -> f32 {
    let open = if open > 1.0 - ROUNDING { 1.0 } else { open as f32 };
    if share > 0.0 && other > 0.0 && open >= CLOSED { open } else { 0.0 }
}

/// Where a polygon's edges cross the lines between pixels, row by row.
struct Crossings {
    pitch: f64,
    x0: f64,
    y0: f64,
    nx: usize,
    ny: usize,
    /// Columns, and by how much the open part of the side at larger x changes there and in all rows above.
    x: Vec<Vec<(u32, f64)>>,
    /// Columns, and by how much that of the side at larger y changes there and in all columns beyond.
    y: Vec<Vec<(u32, f64)>>,
    /// A column for each time that an edge crosses a pixel's border.
    seen: Vec<Vec<u32>>,
}

impl Crossings {
    fn new(pitch: f64, [x0, y0]: [f64; 2], [nx, ny]: [usize; 2]) -> Self {
        let none = || vec![Vec::new(); ny];
        Self { pitch, x0, y0, nx, ny, x: none(), y: none(), seen: vec![Vec::new(); ny] }
    }

    /// Adds where an edge crosses the lines between pixels. Copper lies to an edge's left: above one that goes to larger
    /// x. An end on a line counts for the side of larger x or y, so that the next edge does not count again.
    fn add_edge(&mut self, from: Point, to: Point) {
        let pitch = self.pitch;
        let [x1, y1, x2, y2] = [from.x_nm, from.y_nm, to.x_nm, to.y_nm].map(f64::from);
        let (u1, v1) = ((x1 - self.x0) / pitch, (y1 - self.y0) / pitch);
        let (u2, v2) = ((x2 - self.x0) / pitch, (y2 - self.y0) / pitch);
        let (nx, ny) = (self.nx, self.ny);
        let sign = if u2 > u1 { 1.0 } else { -1.0 };
        for line in lines_between(u1, u2, nx) {
            let v = (v1 + (v2 - v1) * (line as f64 - u1) / (u2 - u1)).clamp(0.0, ny as f64);
            let row = (v as usize).min(ny - 1);
            let above = 1.0 - (v - row as f64);
            let column = line as u32 - 1;
            self.x[row].push((column, sign * above));
            if row + 1 < ny {
                self.x[row + 1].push((column, sign * (1.0 - above)));
            }
            self.seen[row].push(column);
            if line < nx {
                self.seen[row].push(column + 1);
            }
        }
        // And at larger x of one that goes down.
        let sign = if v2 < v1 { 1.0 } else { -1.0 };
        for line in lines_between(v1, v2, ny) {
            let u = (u1 + (u2 - u1) * (line as f64 - v1) / (v2 - v1)).clamp(0.0, nx as f64);
            let column = (u as usize).min(nx - 1);
            let beyond = 1.0 - (u - column as f64);
            let row = line - 1;
            self.y[row].push((column as u32, sign * beyond));
            if column + 1 < nx {
                self.y[row].push((column as u32 + 1, sign * (1.0 - beyond)));
            }
            self.seen[row].push(column as u32);
            if line < ny {
                self.seen[line].push(column as u32);
            }
        }
    }

    /// The open parts of a row's sides at larger y.
    fn sum_along(&mut self, row: usize, sums: &mut [f64]) {
        let changes = &mut self.y[row];
        changes.sort_by_key(|change| change.0);
        let (mut sum, mut from) = (0.0, 0);
        for &(column, change) in changes.iter() {
            sums[from..column as usize].fill(sum);
            from = column as usize;
            sum += change;
        }
        sums[from..].fill(sum);
    }
}

/// Whole numbers from 1 to `most` that a way from `a` to `b` passes; the upper end counts, the lower does not.
fn lines_between(a: f64, b: f64, most: usize) -> std::ops::RangeInclusive<usize> {
    let (low, high) = if a < b { (a, b) } else { (b, a) };
    if low >= high {
        return std::ops::RangeInclusive::new(1, 0);
    }
    let first = (low.floor() + 1.0).max(1.0) as usize;
    first..=(high.floor().min(most as f64).max(0.0) as usize)
}

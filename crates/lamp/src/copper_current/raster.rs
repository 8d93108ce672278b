//! An island on square pixels: how much of each pixel is copper, and how much of each side between two pixels is open.
//!
//! The conductance between two pixels is that of the open part of their common side: exact for copper with straight edges
//! along the grid wherever they lie, and of second order for oblique and curved edges (Ng, Min and Gibou, J. Comput. Phys. 228
//! (2009) 8807, from memory). Averages over the pixel would let current cross a gap; this does not, as long as
//! gaps are wider than a pixel, and other islands are not on the raster at all.

use artwork::coverage::coverage;
use artwork::shape::{Area, Bounds, Point, Polygon};

/// Share below which a pixel counts as bare.
const BARE: f64 = 1e-9;

/// Open part of a side below which it counts as closed: slivers carry nothing and hold the solver up.
const CLOSED: f64 = 1e-3;

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
    pub share: Vec<f64>,
    /// Open part of the side to the pixel at larger x; 0 in the last column.
    pub open_x: Vec<f64>,
    /// Open part of the side to the pixel at larger y; 0 in the last row.
    pub open_y: Vec<f64>,
    /// Pixels whose border the copper's edge crosses four times and more: a gap or neck narrower than a pixel is in them.
    pub unresolved: usize,
}

impl Raster {
    pub fn new(polygon: &Polygon, bounds: &Bounds, lattice: &Lattice) -> Self {
        let window = lattice.window(bounds);
        let (x, y) = lattice.lines_nm(&window);
        let (nx, ny) = (window.nx, window.ny);
        let share = coverage(&Area { polygons: vec![polygon.clone()] }, &x, &y);
        let mut sides = Sides::new(lattice.pitch_nm, [x[0], y[0]], [nx, ny]);
        for contour in std::iter::once(&polygon.outer).chain(&polygon.holes) {
            let Some(mut from) = contour.last().copied() else { continue };
            for &to in contour {
                sides.add_edge(from, to);
                from = to;
            }
        }
        let Sides { mut open_x, mut open_y, crossings, .. } = sides;
        // Sums upwards along each line of constant x, and to the right along each of constant y.
        for j in 1..ny {
            let (before, here) = open_x.split_at_mut(j * nx);
            here[..nx].iter_mut().zip(&before[(j - 1) * nx..]).for_each(|(here, below)| *here += below);
        }
        for row in open_y.chunks_mut(nx) {
            let mut sum = 0.0;
            for value in row {
                sum += *value;
                *value = sum;
            }
        }
        let bare = |c: usize| share[c] <= BARE;
        for j in 0..ny {
            for i in 0..nx {
                let c = j * nx + i;
                let closed_x = i + 1 == nx || bare(c) || bare(c + 1);
                open_x[c] = if closed_x { 0.0 } else { sound(open_x[c]) };
                let closed_y = j + 1 == ny || bare(c) || bare(c + nx);
                open_y[c] = if closed_y { 0.0 } else { sound(open_y[c]) };
            }
        }
        // Edges along the grid touch the border of pixels that are whole or bare.
        let partly = |share: f64| share > BARE && share < 1.0 - BARE;
        let unresolved =
            crossings.iter().zip(&share).filter(|(count, share)| **count > 3 && partly(**share)).count();
        Self { window, share, open_x, open_y, unresolved }
    }

    /// Whether a pixel has copper.
    pub fn has_copper(&self, c: usize) -> bool {
        self.share[c] > BARE
    }
}

/// An open part, of which rounding may have left too much or too little.
fn sound(part: f64) -> f64 {
    if part < CLOSED { 0.0 } else { part.min(1.0) }
}

/// Differences of the open parts along the grid lines, until they are summed up.
struct Sides {
    pitch: f64,
    x0: f64,
    y0: f64,
    nx: usize,
    ny: usize,
    open_x: Vec<f64>,
    open_y: Vec<f64>,
    crossings: Vec<u8>,
}

impl Sides {
    fn new(pitch: f64, [x0, y0]: [f64; 2], [nx, ny]: [usize; 2]) -> Self {
        let zeros = || vec![0.0; nx * ny];
        Self { pitch, x0, y0, nx, ny, open_x: zeros(), open_y: zeros(), crossings: vec![0; nx * ny] }
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
            let c = row * nx + line - 1;
            self.open_x[c] += sign * above;
            if row + 1 < ny {
                self.open_x[c + nx] += sign * (1.0 - above);
            }
            self.count(c);
            if line < nx {
                self.count(c + 1);
            }
        }
        // And at larger x of one that goes down.
        let sign = if v2 < v1 { 1.0 } else { -1.0 };
        for line in lines_between(v1, v2, ny) {
            let u = (u1 + (u2 - u1) * (line as f64 - v1) / (v2 - v1)).clamp(0.0, nx as f64);
            let column = (u as usize).min(nx - 1);
            let beyond = 1.0 - (u - column as f64);
            let c = (line - 1) * nx + column;
            self.open_y[c] += sign * beyond;
            if column + 1 < nx {
                self.open_y[c + 1] += sign * (1.0 - beyond);
            }
            self.count(c);
            if line < ny {
                self.count(c + nx);
            }
        }
    }

    fn count(&mut self, c: usize) {
        self.crossings[c] = self.crossings[c].saturating_add(1);
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

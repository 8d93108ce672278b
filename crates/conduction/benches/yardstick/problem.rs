//! The yardstick: a layered board of 80 x 50 mm with six heated pads, its copper drawn on a 0.1 mm raster and averaged to
//! three grids. Everything about it is invented. A is an aluminium core, B is FR4 with vias under the pads.

use conduction::{Conductances, Grid};

const WIDTH: usize = 800;
const HEIGHT: usize = 500;
const RASTER_M: f64 = 1e-4;
const COPPER: &[u8] = include_bytes!("copper.pbm");
/// Mounting holes, mm, of radius 1.6 mm.
const HOLES: [[f64; 2]; 6] = [[4.0, 4.0], [76.0, 4.0], [4.0, 46.0], [76.0, 46.0], [29.5, 25.0], [50.5, 25.0]];
/// Lower left corners of the pads of 3.5 mm, in pixels.
pub const PADS: [[usize; 2]; 6] = [[180, 150], [385, 150], [585, 150], [180, 310], [385, 310], [585, 310]];
pub const PAD: usize = 35;
const POWER_W: f64 = 60.0;
const H_TOP: f64 = 10.0;
const H_BOTTOM: f64 = 900.0;
/// Copper, dielectric or laminate, core or laminate, grease, heatsink: thickness, m.
const THICKNESS_M: [f64; 5] = [70e-6, 100e-6, 1.5e-3, 50e-6, 6e-3];

/// Which board.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Variant {
    A,
    B,
}

/// Which grid.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Size {
    S,
    M,
    L,
}

impl Size {
    fn cells(self) -> (usize, usize, [usize; 5]) {
        match self {
            Self::S => (160, 100, [1, 2, 3, 1, 5]),
            Self::M => (400, 250, [1, 3, 5, 2, 9]),
            Self::L => (800, 500, [2, 3, 6, 2, 11]),
        }
    }
}

/// A grid with its sources.
pub struct Problem {
    pub grid: Grid,
    pub conductances: Conductances,
    pub power_w: Vec<f64>,
}

/// Rows of pixels, true for copper.
fn copper() -> Vec<bool> {
    // Two text lines and the size line end at the third line feed.
    let mut feeds = COPPER.iter().enumerate().filter(|(_, b)| **b == b'\n').map(|(i, _)| i);
    let begin = feeds.nth(2).expect("three lines of heading") + 1;
    (0..WIDTH * HEIGHT)
        .map(|pixel| {
            let (x, y) = (pixel % WIDTH, pixel / WIDTH);
            COPPER[begin + y * WIDTH / 8 + x / 8] >> (7 - x % 8) & 1 == 1
        })
        .collect()
}

fn raster(inside: impl Fn(f64, f64) -> bool) -> Vec<bool> {
    (0..WIDTH * HEIGHT).map(|p| inside((p % WIDTH) as f64 + 0.5, (p / WIDTH) as f64 + 0.5)).collect()
}

fn holes() -> Vec<bool> {
    raster(|x, y| HOLES.iter().any(|[hx, hy]| (x - 10.0 * hx).hypot(y - 10.0 * hy) < 16.0))
}

/// Vias of 0.3 mm, square, four by four at 0.8 mm under each pad.
fn vias() -> Vec<bool> {
    let mut raster = vec![false; WIDTH * HEIGHT];
    for [px, py] in PADS {
        for index in 0..16 {
            let (x, y) = (px + 4 + 8 * (index % 4), py + 4 + 8 * (index / 4));
            for dy in 0..3 {
                raster[(y + dy) * WIDTH + x..][..3].fill(true);
            }
        }
    }
    raster
}

fn averaged(raster: &[bool], nx: usize, ny: usize) -> Vec<f64> {
    let f = WIDTH / nx;
    let mut sums = vec![0.0; nx * ny];
    for (pixel, _) in raster.iter().enumerate().filter(|(_, on)| **on) {
        sums[pixel / WIDTH / f * nx + pixel % WIDTH / f] += 1.0;
    }
    sums.iter_mut().for_each(|sum| *sum /= (f * f) as f64);
    sums
}

/// Conductivities of a cell: in plane and through, W/m/K.
fn conductivity(layer: usize, variant: Variant, copper: f64, hole: f64, via: f64) -> (f64, f64) {
    let (air, solid) = (0.026, 1.0 - hole);
    match (layer, variant) {
        (0, _) => {
            let k = copper * 390.0 + (1.0 - copper - hole) * 0.25 + hole * air;
            (k, k)
        }
        (1 | 2, Variant::B) => {
            let plane = (0.8 * (1.0 + via) / (1.0 - via).max(1e-9)).min(390.0) * solid + hole * air;
            (plane, (via * 390.0 + (1.0 - via) * 0.3) * solid + hole * air)
        }
        (1 | 2, Variant::A) => {
            let k = if layer == 1 { 2.0 } else { 138.0 };
            (k * solid + hole * air, k * solid + hole * air)
        }
        (3, _) => (3.0, 3.0),
        _ => (201.0, 201.0),
    }
}

/// Builds the yardstick.
pub fn build(size: Size, variant: Variant) -> Problem {
    let (nx, ny, counts) = size.cells();
    let (copper, hole, via) =
        (averaged(&copper(), nx, ny), averaged(&holes(), nx, ny), averaged(&vias(), nx, ny));
    let mut z = vec![0.0];
    let mut layers = Vec::new();
    for (layer, (thickness, count)) in THICKNESS_M.iter().zip(counts).enumerate() {
        for _ in 0..count {
            z.push(z[z.len() - 1] + thickness / count as f64);
            layers.push(layer);
        }
    }
    let pitch = RASTER_M * (WIDTH / nx) as f64;
    let lines = |n: usize| (0..=n).map(|i| i as f64 * pitch).collect::<Vec<f64>>();
    let grid = Grid::new(lines(nx), lines(ny), z).expect("ascending lines");
    let mut plane = vec![0.0; grid.cells()];
    let mut through = vec![0.0; grid.cells()];
    for (k, layer) in layers.iter().enumerate() {
        for column in 0..nx * ny {
            let c = k * nx * ny + column;
            (plane[c], through[c]) = conductivity(*layer, variant, copper[column], hole[column], via[column]);
        }
    }
    let mut conductances =
        Conductances::from_cells(&grid, &plane, &plane, &through, &[]).expect("conductivities in range");
    conductances.add_top_film(&grid, &through, &[H_TOP]).expect("a film");
    conductances.add_bottom_film(&grid, &through, &[H_BOTTOM]).expect("a film");
    let f = WIDTH / nx;
    let mut power_w = vec![0.0; grid.cells()];
    for pad in PADS {
        let columns = pad_columns(pad, f, nx);
        for column in &columns {
            power_w[*column] += POWER_W / 6.0 / columns.len() as f64;
        }
    }
    Problem { grid, conductances, power_w }
}

fn pad_columns([x, y]: [usize; 2], f: usize, nx: usize) -> Vec<usize> {
    // Half-way cases go to the even neighbour, as in the first build of this yardstick.
    let round = |v: usize| (v as f64 / f as f64).round_ties_even() as usize;
    let (x, y, w) = (round(x), round(y), round(PAD));
    (y..y + w).flat_map(|j| (x..x + w).map(move |i| j * nx + i)).collect()
}

/// Mean rise of the top cells of each pad.
pub fn pad_rises_k(problem: &Problem, rise_k: &[f64]) -> Vec<f64> {
    let nx = problem.grid.nx();
    PADS.iter()
        .map(|pad| {
            let columns = pad_columns(*pad, WIDTH / nx, nx);
            columns.iter().map(|column| rise_k[*column]).sum::<f64>() / columns.len() as f64
        })
        .collect()
}

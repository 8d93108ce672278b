//! A level of the multigrid: conductances in single precision, pivots of its columns, and its coarser neighbour.

use crate::layout::Layout;

/// Conductances to the reference in one layer of cells: [y][half][x].
#[derive(Debug, Clone)]
pub(crate) struct GroundPlane<T> {
    pub k: usize,
    pub g: Vec<T>,
}

/// A level.
#[derive(Debug, Clone)]
pub(crate) struct Level {
    pub layout: Layout,
    pub gx: Vec<f32>,
    pub gy: Vec<f32>,
    pub gz: Vec<f32>,
    pub ground: Vec<GroundPlane<f32>>,
    /// Inverse pivots of the columns' tridiagonal systems; 0 for absent cells.
    pub inverse: Vec<f32>,
    pub b: Vec<f32>,
    pub x: Vec<f32>,
}

impl Level {
    pub fn new(
        layout: Layout,
        gx: Vec<f32>,
        gy: Vec<f32>,
        gz: Vec<f32>,
        ground: Vec<GroundPlane<f32>>,
    ) -> Self {
        let mut level = Self {
            layout,
            gx,
            gy,
            gz,
            ground,
            inverse: layout.zeros(),
            b: layout.zeros(),
            x: layout.zeros(),
        };
        level.find_pivots();
        level
    }

    /// Conductance of a cell's faces and its ground: the diagonal of the matrix.
    pub fn diagonal(&self, x: usize, y: usize, k: usize) -> f64 {
        let l = &self.layout;
        let a = l.at(x, y, k);
        let mut sum = f64::from(self.gx[a]) + f64::from(self.gy[a]) + f64::from(self.gz[a]);
        if x > 0 {
            sum += f64::from(self.gx[l.at(x - 1, y, k)]);
        }
        if y > 0 {
            sum += f64::from(self.gy[a - l.row]);
        }
        if k > 0 {
            sum += f64::from(self.gz[a - l.n]);
        }
        sum + self.ground_at(x, y, k)
    }

    pub fn ground_at(&self, x: usize, y: usize, k: usize) -> f64 {
        let at = (2 * y + (x & 1)) * self.layout.n + (x >> 1);
        self.ground.iter().filter(|plane| plane.k == k).map(|plane| f64::from(plane.g[at])).sum()
    }

    /// Pivots in double precision, stored inverted in single.
    pub fn find_pivots(&mut self) {
        let l = self.layout;
        let mut pivot = vec![0.0f64; l.n];
        for y in 0..l.ny {
            for h in 0..2 {
                for k in 0..l.nz {
                    let a = l.line(y, h, k);
                    #[allow(clippy::needless_range_loop)] // also the place in the level's arrays
                    for i in 0..l.count(h) {
                        let mut d = self.diagonal(2 * i + h, y, k);
                        if k > 0 {
                            let g = f64::from(self.gz[a + i - l.n]);
                            d -= g * g * pivot[i];
                        }
                        pivot[i] = if d > 0.0 { 1.0 / d } else { 0.0 };
                        self.inverse[a + i] = pivot[i] as f32;
                    }
                }
            }
        }
    }

    /// The next coarser level: two by two columns become one.
    pub fn coarser(&self) -> Self {
        let f = &self.layout;
        let c = Layout::new(f.nx.div_ceil(2), f.ny.div_ceil(2), f.nz);
        let (mut gx, mut gy, mut gz) = (c.zeros::<f32>(), c.zeros::<f32>(), c.zeros::<f32>());
        for y in 0..f.ny {
            for k in 0..f.nz {
                for x in 0..f.nx {
                    let (from, to) = (f.at(x, y, k), c.at(x / 2, y / 2, k));
                    gz[to] += self.gz[from];
                    if x & 1 == 1 && x + 1 < f.nx {
                        let behind = (x + 2 < f.nx).then(|| self.gx[f.at(x + 1, y, k)]);
                        gx[to] += coarse_conductance(self.gx[f.at(x - 1, y, k)], self.gx[from], behind);
                    }
                    if y & 1 == 1 && y + 1 < f.ny {
                        let behind = (y + 2 < f.ny).then(|| self.gy[from + f.row]);
                        gy[to] += coarse_conductance(self.gy[from - f.row], self.gy[from], behind);
                    }
                }
            }
        }
        Self::new(c, gx, gy, gz, coarser_ground(f, &c, &self.ground))
    }
}

/// Part of the series value in a coarse lateral conductance; the rest is half the face. Half the face alone is what
/// constant interpolation asks for and lets thin gaps in copper vanish on coarse levels; the series alone is too weak for
/// it. In between, the yardstick needs the fewest iterations (11 and 18 at 2 million cells).
const SERIES_SHARE: f32 = 0.6;

/// A coarse lateral conductance from the three fine faces between two coarse cells' middles.
fn coarse_conductance(before: f32, face: f32, behind: Option<f32>) -> f32 {
    if face <= 0.0 {
        return 0.0;
    }
    let half = |g: f32| if g > 0.0 { 0.5 / g } else { f32::INFINITY };
    // Division by infinity is 0: a gap on either side leaves no series path.
    let series = 1.0 / (half(before) + 1.0 / face + behind.map_or(0.0, half));
    SERIES_SHARE * series + (1.0 - SERIES_SHARE) * 0.5 * face
}

pub(crate) fn coarser_ground(f: &Layout, c: &Layout, ground: &[GroundPlane<f32>]) -> Vec<GroundPlane<f32>> {
    ground
        .iter()
        .map(|plane| {
            let mut g = vec![0.0; c.ny * 2 * c.n];
            for y in 0..f.ny {
                for x in 0..f.nx {
                    let from = (2 * y + (x & 1)) * f.n + (x >> 1);
                    let (cx, cy) = (x / 2, y / 2);
                    g[(2 * cy + (cx & 1)) * c.n + (cx >> 1)] += plane.g[from];
                }
            }
            GroundPlane { k: plane.k, g }
        })
        .collect()
}

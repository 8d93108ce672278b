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
    #[allow(clippy::needless_range_loop)] // a stencil over many arrays reads best by index
    pub fn find_pivots(&mut self) {
        let l = self.layout;
        let n = l.n;
        let mut pivot = vec![0.0f64; n];
        let mut diagonal = vec![0.0f64; n];
        for y in 0..l.ny {
            for h in 0..2 {
                for k in 0..l.nz {
                    let (a, b) = (l.line(y, h, k), l.line(y, 1 - h, k));
                    // The face to the left belongs to the other half: one place before for even cells, at the same for odd.
                    let left = b + h - 1;
                    let (gx, gl) = (&self.gx[a..a + n], &self.gx[left..left + n]);
                    let (gy, gd) = (&self.gy[a..a + n], &self.gy[a - l.row..a - l.row + n]);
                    let gz = &self.gz[a..a + n];
                    for i in 0..n {
                        diagonal[i] = f64::from(gx[i])
                            + f64::from(gl[i])
                            + f64::from(gy[i])
                            + f64::from(gd[i])
                            + f64::from(gz[i]);
                    }
                    if let Some(plane) = self.ground.iter().find(|plane| plane.k == k) {
                        let g = &plane.g[(2 * y + h) * n..(2 * y + h + 1) * n];
                        diagonal.iter_mut().zip(g).for_each(|(d, g)| *d += f64::from(*g));
                    }
                    if k > 0 {
                        let above = &self.gz[a - n..a];
                        for i in 0..n {
                            let g = f64::from(above[i]);
                            diagonal[i] += g - g * g * pivot[i];
                        }
                    }
                    let inverse = &mut self.inverse[a..a + n];
                    for i in 0..n {
                        pivot[i] = if diagonal[i] > 0.0 { 1.0 / diagonal[i] } else { 0.0 };
                        inverse[i] = pivot[i] as f32;
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

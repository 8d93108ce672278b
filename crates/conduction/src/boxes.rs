//! Two-dimensional multigrid with operator-dependent interpolation and exact coarse operators (nine points), for the
//! sheet correction. After Alcouffe, Brandt, Dendy and Painter, SIAM J. Sci. Stat. Comput. 2 (1981) 430.

/// One level: conductances to the right, up and both diagonals, and the diagonal of the matrix.
#[derive(Debug, Clone, Default)]
pub(crate) struct Plane {
    pub nx: usize,
    pub ny: usize,
    stride: usize,
    pub centre: Vec<f32>,
    inverse: Vec<f32>,
    pub east: Vec<f32>,
    pub north: Vec<f32>,
    north_east: Vec<f32>,
    north_west: Vec<f32>,
    pub x: Vec<f32>,
    pub b: Vec<f32>,
    /// Interpolation weights from the four coarse corners.
    weights: Vec<[f32; 4]>,
}

impl Plane {
    pub fn new(nx: usize, ny: usize) -> Self {
        let stride = nx + 2;
        let zeros = vec![0.0; stride * (ny + 2)];
        Self {
            nx,
            ny,
            stride,
            centre: zeros.clone(),
            inverse: Vec::new(),
            east: zeros.clone(),
            north: zeros.clone(),
            north_east: zeros.clone(),
            north_west: zeros.clone(),
            x: zeros.clone(),
            b: zeros,
            weights: Vec::new(),
        }
    }

    #[inline(always)]
    pub fn at(&self, i: usize, j: usize) -> usize {
        (j + 1) * self.stride + i + 1
    }

    fn find_inverse(&mut self) {
        self.inverse = self.centre.iter().map(|c| if *c > 0.0 { 1.0 / c } else { 0.0 }).collect();
    }

    fn find_weights(&mut self) {
        let s = self.stride;
        let mut weights = vec![[0.0f32; 4]; self.centre.len()];
        let over =
            |sum: f32, d: f32| if d > 1e-12 * sum.abs().max(f32::MIN_POSITIVE) { sum / d } else { 0.0 };
        for j in 0..self.ny {
            for i in 0..self.nx {
                let a = self.at(i, j);
                match (i & 1, j & 1) {
                    (0, 0) => weights[a][0] = 1.0,
                    (1, 0) => {
                        let d = self.centre[a] - self.north[a] - self.north[a - s];
                        weights[a][0] =
                            over(self.east[a - 1] + self.north_east[a - s - 1] + self.north_west[a], d);
                        weights[a][1] =
                            over(self.east[a] + self.north_east[a] + self.north_west[a - s + 1], d);
                        if i + 1 >= self.nx {
                            weights[a][1] = 0.0;
                        }
                    }
                    (0, 1) => {
                        let d = self.centre[a] - self.east[a] - self.east[a - 1];
                        weights[a][0] = over(
                            self.north[a - s] + self.north_east[a - s - 1] + self.north_west[a - s + 1],
                            d,
                        );
                        weights[a][2] = over(self.north[a] + self.north_east[a] + self.north_west[a], d);
                        if j + 1 >= self.ny {
                            weights[a][2] = 0.0;
                        }
                    }
                    _ => {}
                }
            }
        }
        for j in (1..self.ny).step_by(2) {
            for i in (1..self.nx).step_by(2) {
                let a = self.at(i, j);
                let ic = self.inverse[a];
                let (left, right, down, up) =
                    (weights[a - 1], weights[a + 1], weights[a - s], weights[a + s]);
                let (gl, gr, gd, gu) =
                    (self.east[a - 1] * ic, self.east[a] * ic, self.north[a - s] * ic, self.north[a] * ic);
                let w = &mut weights[a];
                w[0] = self.north_east[a - s - 1] * ic + gl * left[0] + gd * down[0];
                w[1] = self.north_west[a - s + 1] * ic + gr * right[0] + gd * down[1];
                w[2] = self.north_west[a] * ic + gl * left[2] + gu * up[0];
                w[3] = self.north_east[a] * ic + gr * right[2] + gu * up[1];
                if i + 1 >= self.nx {
                    (w[1], w[3]) = (0.0, 0.0);
                }
                if j + 1 >= self.ny {
                    (w[2], w[3]) = (0.0, 0.0);
                }
            }
        }
        self.weights = weights;
    }

    /// The exact coarse operator.
    fn coarser(&self) -> Self {
        let s = self.stride;
        let mut coarse = Self::new(self.nx.div_ceil(2), self.ny.div_ceil(2));
        for j in 0..self.ny {
            for i in 0..self.nx {
                let a = self.at(i, j);
                let around = [
                    (0isize, 0isize, a, self.centre[a]),
                    (1, 0, a + 1, -self.east[a]),
                    (-1, 0, a - 1, -self.east[a - 1]),
                    (0, 1, a + s, -self.north[a]),
                    (0, -1, a - s, -self.north[a - s]),
                    (1, 1, a + s + 1, -self.north_east[a]),
                    (-1, -1, a - s - 1, -self.north_east[a - s - 1]),
                    (-1, 1, a + s - 1, -self.north_west[a]),
                    (1, -1, a - s + 1, -self.north_west[a - s + 1]),
                ];
                for (di, dj, q, value) in around {
                    let (Some(i2), Some(j2)) = (i.checked_add_signed(di), j.checked_add_signed(dj)) else {
                        continue;
                    };
                    if value != 0.0 && i2 < self.nx && j2 < self.ny {
                        coarse.gather(
                            (i / 2, j / 2, self.weights[a]),
                            (i2 / 2, j2 / 2, self.weights[q]),
                            value,
                        );
                    }
                }
            }
        }
        coarse
    }

    /// Adds one fine entry, seen through both points' weights.
    fn gather(
        &mut self,
        (i, j, from): (usize, usize, [f32; 4]),
        (i2, j2, to): (usize, usize, [f32; 4]),
        value: f32,
    ) {
        for (m, wa) in from.into_iter().enumerate().filter(|(_, w)| *w != 0.0) {
            let (p, q) = (i + (m & 1), j + (m >> 1));
            for (k, wq) in to.into_iter().enumerate().filter(|(_, w)| *w != 0.0) {
                let (ox, oy) = ((i2 + (k & 1)) as isize - p as isize, (j2 + (k >> 1)) as isize - q as isize);
                let t = wa * value * wq;
                let o = self.at(p, q);
                match (ox, oy) {
                    (0, 0) => self.centre[o] += t,
                    (1, 0) => self.east[o] -= t,
                    (0, 1) => self.north[o] -= t,
                    (1, 1) => self.north_east[o] -= t,
                    (-1, 1) => self.north_west[o] -= t,
                    _ => {} // the other half follows from symmetry
                }
            }
        }
    }

    #[allow(clippy::needless_range_loop)] // a stencil over many arrays reads best by index
    /// One sweep of Gauss-Seidel, forwards or backwards.
    fn relax(&mut self, backwards: bool, t: &mut [f32]) {
        let s = self.stride;
        for row in 0..self.ny {
            let j = if backwards { self.ny - 1 - row } else { row };
            let a = self.at(0, j);
            let n = self.nx;
            let t = &mut t[..n];
            {
                let x = &self.x;
                let (b, nn, ns) = (&self.b[a..a + n], &self.north[a..a + n], &self.north[a - s..a - s + n]);
                let (ne, nes) = (&self.north_east[a..a + n], &self.north_east[a - s - 1..a - s - 1 + n]);
                let (nw, nws) = (&self.north_west[a..a + n], &self.north_west[a - s + 1..a - s + 1 + n]);
                let (up, down) = (&x[a + s..a + s + n], &x[a - s..a - s + n]);
                let (upr, downl) = (&x[a + s + 1..a + s + 1 + n], &x[a - s - 1..a - s - 1 + n]);
                let (upl, downr) = (&x[a + s - 1..a + s - 1 + n], &x[a - s + 1..a - s + 1 + n]);
                for i in 0..n {
                    t[i] = b[i]
                        + nn[i] * up[i]
                        + ns[i] * down[i]
                        + ne[i] * upr[i]
                        + nes[i] * downl[i]
                        + nw[i] * upl[i]
                        + nws[i] * downr[i];
                }
            }
            let (e, inverse) = (&self.east[a - 1..a + n], &self.inverse[a..a + n]);
            if backwards {
                let mut v = 0.0;
                for i in (0..n).rev() {
                    v = (t[i] + e[i + 1] * v + e[i] * self.x[a + i - 1]) * inverse[i];
                    self.x[a + i] = v;
                }
            } else {
                let mut v = 0.0;
                for i in 0..n {
                    v = (t[i] + e[i + 1] * self.x[a + i + 1] + e[i] * v) * inverse[i];
                    self.x[a + i] = v;
                }
            }
        }
    }

    #[allow(clippy::needless_range_loop)] // as above
    /// Residual of the present field, weighted into the coarse right side.
    fn restrict(&self, coarse: &mut Self, r: &mut [f32]) {
        let s = self.stride;
        coarse.b.fill(0.0);
        let n = self.nx;
        for j in 0..self.ny {
            let a = self.at(0, j);
            let r = &mut r[..n];
            for i in 0..n {
                let c = a + i;
                let x = &self.x;
                r[i] = self.b[c] - self.centre[c] * x[c]
                    + self.east[c] * x[c + 1]
                    + self.east[c - 1] * x[c - 1]
                    + self.north[c] * x[c + s]
                    + self.north[c - s] * x[c - s]
                    + self.north_east[c] * x[c + s + 1]
                    + self.north_east[c - s - 1] * x[c - s - 1]
                    + self.north_west[c] * x[c + s - 1]
                    + self.north_west[c - s + 1] * x[c - s + 1];
            }
            let c0 = coarse.at(0, j / 2);
            let c1 = c0 + coarse.stride;
            for i in 0..n {
                let w = &self.weights[a + i];
                let half = i / 2;
                coarse.b[c0 + half] += w[0] * r[i];
                if i & 1 == 1 {
                    coarse.b[c0 + half + 1] += w[1] * r[i];
                }
                if j & 1 == 1 {
                    coarse.b[c1 + half] += w[2] * r[i];
                    if i & 1 == 1 {
                        coarse.b[c1 + half + 1] += w[3] * r[i];
                    }
                }
            }
        }
    }

    fn prolong(&mut self, coarse: &Self) {
        for j in 0..self.ny {
            let a = self.at(0, j);
            let c0 = coarse.at(0, j / 2);
            let c1 = c0 + coarse.stride;
            for i in 0..self.nx {
                let w = &self.weights[a + i];
                let half = i / 2;
                let mut v = w[0] * coarse.x[c0 + half];
                if i & 1 == 1 {
                    v += w[1] * coarse.x[c0 + half + 1];
                }
                if j & 1 == 1 {
                    v += w[2] * coarse.x[c1 + half];
                    if i & 1 == 1 {
                        v += w[3] * coarse.x[c1 + half + 1];
                    }
                }
                self.x[a + i] += v;
            }
        }
    }
}

/// All levels.
#[derive(Debug, Clone)]
pub(crate) struct Boxes {
    pub planes: Vec<Plane>,
    work: Vec<f32>,
}

/// Below this many points the coarsest plane is relaxed until nothing moves.
const FEW: usize = 12;
const COARSEST_SWEEPS: usize = 20;

impl Boxes {
    /// Levels below a finest plane whose matrix is filled in.
    pub fn new(finest: Plane) -> Self {
        let work = vec![0.0; finest.nx + 2];
        let mut planes = vec![finest];
        loop {
            let last = planes.len() - 1;
            planes[last].find_inverse();
            if planes[last].nx * planes[last].ny <= FEW {
                break;
            }
            planes[last].find_weights();
            let coarse = planes[last].coarser();
            planes.push(coarse);
        }
        Self { planes, work }
    }

    /// One symmetric V-cycle from a zero field.
    pub fn cycle(&mut self) {
        let last = self.planes.len() - 1;
        for level in 0..=last {
            self.planes[level].x.fill(0.0);
            if level == last {
                for _ in 0..COARSEST_SWEEPS {
                    self.planes[level].relax(false, &mut self.work);
                    self.planes[level].relax(true, &mut self.work);
                }
            } else {
                self.planes[level].relax(false, &mut self.work);
                let (fine, coarse) = self.planes.split_at_mut(level + 1);
                fine[level].restrict(&mut coarse[0], &mut self.work);
            }
        }
        for level in (0..last).rev() {
            let (fine, coarse) = self.planes.split_at_mut(level + 1);
            fine[level].prolong(&coarse[0]);
            fine[level].relax(true, &mut self.work);
        }
    }

    pub fn bytes(&self) -> usize {
        self.planes.iter().map(|p| p.centre.len() * 8 * 4 + p.weights.len() * 16).sum()
    }
}

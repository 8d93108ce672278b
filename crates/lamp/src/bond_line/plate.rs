//! The board as a thin elastic plate on the film: where screws, burrs and bow leave it lying.
//!
//! Kirchhoff's plate: the bending energy of the deflection `v = w - f` from the plate's own unstressed shape `f` is
//!
//! `E = D/2 int v_xx² + v_yy² + 2 n v_xx v_yy + 2 (1 - n) v_xy²`, with `D = E t³ / 12 / (1 - n²)`
//!
//! (Timoshenko and Woinowsky-Krieger, Theory of Plates and Shells, 2nd ed., article 23, from memory), `w` the gap under the plate. The
//! plate settles where `E` plus the energy of what holds it is least: screws hold it at a gap or pull with a force, burrs
//! let it no lower than their height, a hard film no lower than its least thickness, a pad pushes back by its curve. That
//! is a convex problem; Newton's method with halved steps finds its one solution. Elements: bicubic, with `w`, its slopes and
//! its twist at each corner (Bogner, Fox and Schmit 1965), which bend without kinks.

use super::band::Band;
use super::pad::Compression;

/// Stiffness of what holds the plate hard, over the plate's own from one line of the mesh to the next.
const HARD: f64 = 1e5;
/// Pull of a film that sticks to both faces, over the plate's own stiffness against bending from end to end: it settles how a plate
/// lies that nothing else holds, and bends none.
const STICKING: f64 = 1e-3;
/// Newton steps before the best so far is taken.
const STEPS: usize = 80;
/// A step below this ends the search, m.
const SETTLED_M: f64 = 1e-10;

/// What holds a plate at a place, m from the mesh's lower left corner.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Holds {
    /// The gap is this, m.
    At(f64),
    /// The gap is no less than this, m.
    NotBelow(f64),
    /// A force pulls down, N.
    Pull(f64),
}

/// What lies between plate and base.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Bed<'a> {
    /// A film that is squeezed out down to a thickness, m, and no further.
    Hard(f64),
    /// A pad of this free thickness, m.
    Pad(f64, &'a Compression),
}

/// A plate on an even mesh.
pub(super) struct Plate<'a> {
    /// Elements along x and y.
    pub cells: [usize; 2],
    /// Size of an element, m.
    pub size_m: [f64; 2],
    /// Whether each element is there, x fastest.
    pub present: Vec<bool>,
    /// Part of each corner's surroundings under which there is a bed, x fastest.
    pub bedded: Vec<f64>,
    /// Rigidity `D`, N m.
    pub rigidity_n_m: f64,
    /// Poisson's ratio.
    pub poisson: f64,
    /// Unstressed shape: curvatures along x and y, 1/m; its level and tilt do not matter.
    pub curved_per_m: [f64; 2],
    pub bed: Bed<'a>,
    /// Pressure on its upper face, Pa.
    pub pressure_pa: f64,
    pub holds: Vec<([f64; 2], Holds)>,
}

/// How a plate lies.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Lie {
    cells: [usize; 2],
    size_m: [f64; 2],
    /// At each corner: gap, its slopes times the element's size, its twist times both sizes; m.
    corners: Vec<[f64; 4]>,
    /// Pull at each hold, N; what presses down is positive.
    pub pulls_n: Vec<f64>,
    /// Whether Newton's method settled.
    pub settled: bool,
}

/// Cubics on 0 to 1 with value and slope at its ends, at `s`: value 0, slope 0, value 1, slope 1.
fn cubics(s: f64) -> [f64; 4] {
    let r = 1.0 - s;
    [r * r * (1.0 + 2.0 * s), s * r * r, s * s * (3.0 - 2.0 * s), -s * s * r]
}

/// Integrals over 0 to 1 of products of the cubics: values, slopes, curvatures, curvature of the row times value of the column.
fn integrals() -> [[[f64; 4]; 4]; 4] {
    let over = |by: f64, rows: [[f64; 4]; 4]| rows.map(|row| row.map(|v| v / by));
    let values = over(
        420.0,
        [
            [156.0, 22.0, 54.0, -13.0],
            [22.0, 4.0, 13.0, -3.0],
            [54.0, 13.0, 156.0, -22.0],
            [-13.0, -3.0, -22.0, 4.0],
        ],
    );
    let slopes = over(
        30.0,
        [[36.0, 3.0, -36.0, 3.0], [3.0, 4.0, -3.0, -1.0], [-36.0, -3.0, 36.0, -3.0], [3.0, -1.0, -3.0, 4.0]],
    );
    let curvatures =
        [[12.0, 6.0, -12.0, 6.0], [6.0, 4.0, -6.0, 2.0], [-12.0, -6.0, 12.0, -6.0], [6.0, 2.0, -6.0, 4.0]];
    let mut mixed = slopes.map(|row| row.map(|v| -v));
    mixed[3][2] += 1.0;
    mixed[1][0] -= 1.0;
    [values, slopes, curvatures, mixed]
}

/// Bending stiffness of an element for `D = 1`, 1/m²; unknowns: corners 00, 10, 01, 11, four each.
fn element([hx, hy]: [f64; 2], n: f64) -> [[f64; 16]; 16] {
    let [m, b, a, c] = integrals();
    // Of a corner's four unknowns: value, slope along x, slope along y, twist.
    let place = |corner: usize, kind: usize| (2 * (corner % 2) + kind % 2, 2 * (corner / 2) + kind / 2);
    let mut k = [[0.0; 16]; 16];
    for (i, row) in k.iter_mut().enumerate() {
        for (j, entry) in row.iter_mut().enumerate() {
            let ((xi, yi), (xj, yj)) = (place(i / 4, i % 4), place(j / 4, j % 4));
            *entry = hy / hx.powi(3) * a[xi][xj] * m[yi][yj]
                + hx / hy.powi(3) * m[xi][xj] * a[yi][yj]
                + n / (hx * hy) * (c[xi][xj] * c[yj][yi] + c[xj][xi] * c[yi][yj])
                + 2.0 * (1.0 - n) / (hx * hy) * b[xi][xj] * b[yi][yj];
        }
    }
    k
}

/// A spring or load on a few unknowns.
struct Tie {
    /// Unknowns and their parts in what is held.
    of: Vec<(usize, f64)>,
    kind: TieKind,
}

enum TieKind {
    /// Springs over `D`, 1/m².
    Spring { stiffness: f64, at: f64, one_sided: bool },
    /// Force over `D` downwards, 1/m.
    Pull(f64),
    /// Area over `D`, m/N, of a pad.
    Pad(f64),
}

impl Plate<'_> {
    fn corner_counts(&self) -> [usize; 2] {
        [self.cells[0] + 1, self.cells[1] + 1]
    }

    /// Number of a corner; the shorter way is counted first, which keeps the matrix narrow.
    fn number(&self, i: usize, j: usize) -> usize {
        let [nx, ny] = self.corner_counts();
        if nx <= ny { j * nx + i } else { i * ny + j }
    }

    fn below(&self) -> usize {
        let [nx, ny] = self.corner_counts();
        4 * (nx.min(ny) + 1) + 3
    }

    /// Unknowns of an element, corners 00, 10, 01, 11.
    fn unknowns(&self, i: usize, j: usize) -> [usize; 16] {
        let corners = [(i, j), (i + 1, j), (i, j + 1), (i + 1, j + 1)];
        std::array::from_fn(|k| {
            let (a, b) = corners[k / 4];
            4 * self.number(a, b) + k % 4
        })
    }

    /// The element at a place and the parts of its unknowns in the gap there.
    fn parts(&self, at: [f64; 2]) -> Vec<(usize, f64)> {
        let (cell, weights) = locate(self.cells, self.size_m, at);
        self.unknowns(cell[0], cell[1]).into_iter().zip(weights).filter(|p| p.1 != 0.0).collect()
    }

    fn bending(&self) -> Band {
        let k = element(self.size_m, self.poisson);
        let mut band = Band::new(4 * self.bedded.len(), self.below());
        for j in 0..self.cells[1] {
            for i in 0..self.cells[0] {
                if self.present[j * self.cells[0] + i] {
                    let unknowns = self.unknowns(i, j);
                    for (a, row) in unknowns.iter().zip(&k) {
                        for (b, value) in unknowns.iter().zip(row) {
                            band.add(*a, *b, *value);
                        }
                    }
                }
            }
        }
        band
    }

    /// Area of each corner's quarter elements that are there, by its number, m².
    fn areas(&self) -> Vec<f64> {
        let mut areas = vec![0.0; self.bedded.len()];
        let quarter = 0.25 * self.size_m[0] * self.size_m[1];
        for j in 0..self.cells[1] {
            for i in 0..self.cells[0] {
                if self.present[j * self.cells[0] + i] {
                    for (a, b) in [(i, j), (i + 1, j), (i, j + 1), (i + 1, j + 1)] {
                        areas[self.number(a, b)] += quarter;
                    }
                }
            }
        }
        areas
    }

    /// The unstressed shape's unknowns: `f = (cx x² + cy y²) / 2`, which the elements hold exactly.
    fn unstressed(&self) -> Vec<f64> {
        let [cx, cy] = self.curved_per_m;
        let [hx, hy] = self.size_m;
        let mut f = vec![0.0; 4 * self.bedded.len()];
        let [nx, ny] = self.corner_counts();
        for j in 0..ny {
            for i in 0..nx {
                let (x, y) = (i as f64 * hx, j as f64 * hy);
                let at = 4 * self.number(i, j);
                f[at] = 0.5 * (cx * x * x + cy * y * y);
                f[at + 1] = cx * x * hx;
                f[at + 2] = cy * y * hy;
            }
        }
        f
    }

    fn ties(&self) -> Vec<Tie> {
        let [hx, hy] = self.size_m;
        let hard = HARD / hx.min(hy).powi(2);
        let [wide, high] = [0, 1].map(|k| self.cells[k] as f64 * self.size_m[k]);
        let sticking = STICKING / wide.hypot(high).powi(4);
        let areas = self.areas();
        let mut ties = Vec::new();
        let [nx, ny] = self.corner_counts();
        for j in 0..ny {
            for i in 0..nx {
                let number = self.number(i, j);
                let (area, bedded) = (areas[number], self.bedded[j * nx + i]);
                if area <= 0.0 {
                    continue;
                }
                let mut tie = |kind: TieKind| ties.push(Tie { of: vec![(4 * number, 1.0)], kind });
                match self.bed {
                    Bed::Hard(least) => {
                        let part = bedded * area / (hx * hy);
                        if part > 0.0 {
                            tie(TieKind::Spring { stiffness: hard * part, at: least, one_sided: true });
                        }
                        tie(TieKind::Spring { stiffness: sticking * area, at: least, one_sided: false });
                    }
                    Bed::Pad(free, _) => {
                        tie(TieKind::Pad(bedded * area / self.rigidity_n_m));
                        tie(TieKind::Spring { stiffness: sticking * area, at: free, one_sided: false });
                    }
                }
                if self.pressure_pa != 0.0 {
                    tie(TieKind::Pull(self.pressure_pa * area / self.rigidity_n_m));
                }
            }
        }
        ties.extend(self.holds.iter().map(|(at, holds)| Tie {
            of: self.parts(*at),
            kind: match *holds {
                Holds::At(at) => TieKind::Spring { stiffness: hard, at, one_sided: false },
                Holds::NotBelow(at) => TieKind::Spring { stiffness: hard, at, one_sided: true },
                Holds::Pull(force) => TieKind::Pull(force / self.rigidity_n_m),
            },
        }));
        ties
    }

    /// Energy over `D`, force over `D` downwards and stiffness of a tie at a gap.
    fn answer(&self, tie: &Tie, gap: f64) -> [f64; 3] {
        match tie.kind {
            TieKind::Spring { one_sided: true, at, .. } if gap >= at => [0.0; 3],
            TieKind::Spring { stiffness, at, .. } => {
                let off = gap - at;
                [0.5 * stiffness * off * off, stiffness * off, stiffness]
            }
            TieKind::Pull(force) => [force * gap, force, 0.0],
            TieKind::Pad(area) => {
                let Bed::Pad(free, curve) = self.bed else { return [0.0; 3] };
                let part = (free - gap) / free;
                let (pressure, slope) = curve.pressure_at(part);
                [area * free * curve.work_at(part), -area * pressure, area * slope / free]
            }
        }
    }

    /// Finds how it lies.
    pub fn lie(&self) -> Lie {
        let bending = self.bending();
        let f = self.unstressed();
        let ties = self.ties();
        let start = match self.bed {
            Bed::Hard(least) => least,
            Bed::Pad(free, _) => free,
        };
        let n = f.len();
        let mut w: Vec<f64> = (0..n).map(|k| if k % 4 == 0 { start } else { 0.0 }).collect();
        let gap = |w: &[f64], tie: &Tie| -> f64 { tie.of.iter().map(|(k, part)| part * w[*k]).sum() };
        let judged = |w: &[f64]| -> (f64, Vec<f64>) {
            let v: Vec<f64> = w.iter().zip(&f).map(|(w, f)| w - f).collect();
            let mut slope = bending.times(&v);
            let mut energy: f64 = 0.5 * v.iter().zip(&slope).map(|(v, s)| v * s).sum::<f64>();
            for tie in &ties {
                let [e, force, _] = self.answer(tie, gap(w, tie));
                energy += e;
                for (k, part) in &tie.of {
                    slope[*k] += part * force;
                }
            }
            (energy, slope)
        };
        let (mut energy, mut slope) = judged(&w);
        let mut settled = false;
        for _ in 0..STEPS {
            let mut matrix = bending.clone();
            for k in 0..n {
                // Corners of no element stay where they are.
                if bending.diagonal(k) == 0.0 {
                    matrix.add(k, k, 1.0);
                }
            }
            for tie in &ties {
                let [_, _, stiffness] = self.answer(tie, gap(&w, tie));
                for (a, pa) in &tie.of {
                    for (b, pb) in &tie.of {
                        matrix.add(*a, *b, stiffness * pa * pb);
                    }
                }
            }
            let step = matrix.solve(slope.iter().map(|s| -s).collect());
            let largest = step.iter().step_by(4).fold(0.0f64, |m, s| m.max(s.abs()));
            let downhill: f64 = step.iter().zip(&slope).map(|(a, b)| a * b).sum();
            let mut part = 1.0;
            let next = loop {
                let tried: Vec<f64> = w.iter().zip(&step).map(|(w, s)| w + part * s).collect();
                let (e, g) = judged(&tried);
                if e <= energy + 1e-4 * part * downhill || part < 1e-6 || largest * part < SETTLED_M {
                    break (tried, e, g);
                }
                part *= 0.5;
            };
            (w, energy, slope) = next;
            if largest < SETTLED_M {
                settled = true;
                break;
            }
        }
        let first_hold = ties.len() - self.holds.len();
        let pulls_n = ties[first_hold..]
            .iter()
            .map(|tie| self.rigidity_n_m * self.answer(tie, gap(&w, tie))[1])
            .collect();
        let [nx, ny] = self.corner_counts();
        let corner = |k: usize| {
            let at = 4 * self.number(k % nx, k / nx);
            [w[at], w[at + 1], w[at + 2], w[at + 3]]
        };
        let corners = (0..nx * ny).map(corner).collect();
        Lie { cells: self.cells, size_m: self.size_m, corners, pulls_n, settled }
    }
}

/// The element at a place (the nearest beyond the mesh's edge), and the parts of its unknowns in the gap there.
fn locate(cells: [usize; 2], size_m: [f64; 2], at: [f64; 2]) -> ([usize; 2], [f64; 16]) {
    let along = |k: usize| {
        let s = (at[k] / size_m[k]).clamp(0.0, cells[k] as f64);
        let cell = (s.floor() as usize).min(cells[k].saturating_sub(1));
        (cell, cubics(s - cell as f64))
    };
    let ((i, x), (j, y)) = (along(0), along(1));
    let weights = std::array::from_fn(|k| {
        let (corner, kind) = (k / 4, k % 4);
        x[2 * (corner % 2) + kind % 2] * y[2 * (corner / 2) + kind / 2]
    });
    ([i, j], weights)
}

impl Lie {
    /// Gap at a place, m from the mesh's lower left corner; beyond its edge, that of the edge.
    pub fn gap_m(&self, at: [f64; 2]) -> f64 {
        let ([i, j], weights) = locate(self.cells, self.size_m, at);
        let nx = self.cells[0] + 1;
        let corners = [j * nx + i, j * nx + i + 1, (j + 1) * nx + i, (j + 1) * nx + i + 1];
        weights.iter().enumerate().map(|(k, part)| part * self.corners[corners[k / 4]][k % 4]).sum()
    }
}

#[cfg(test)]
#[path = "plate_tests.rs"]
mod tests;

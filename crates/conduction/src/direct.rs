//! The coarsest level: a banded Cholesky factor in double precision.

use crate::level::Level;

/// Factor of the coarsest level's matrix, cells counted z fastest, then x, then y.
#[derive(Debug, Clone)]
pub(crate) struct Factor {
    size: usize,
    band: usize,
    /// Row by row: the last `band` columns before the diagonal, and the diagonal.
    rows: Vec<f64>,
    work: Vec<f64>,
}

impl Factor {
    pub fn new(level: &Level) -> Self {
        let l = &level.layout;
        let (size, band) = (l.nx * l.ny * l.nz, (l.nx + 1) * l.nz);
        let width = band + 1;
        let mut rows = vec![0.0; size * width];
        let place = |x: usize, y: usize, k: usize| (y * l.nx + x) * l.nz + k;
        for y in 0..l.ny {
            for x in 0..l.nx {
                for k in 0..l.nz {
                    let me = place(x, y, k);
                    let diagonal = level.diagonal(x, y, k);
                    rows[me * width + band] = if diagonal > 0.0 { diagonal } else { 1.0 };
                    let mut couple =
                        |other: usize, g: f32| rows[me * width + band - (me - other)] = -f64::from(g);
                    if k > 0 {
                        couple(place(x, y, k - 1), level.gz[l.at(x, y, k - 1)]);
                    }
                    if x > 0 {
                        couple(place(x - 1, y, k), level.gx[l.at(x - 1, y, k)]);
                    }
                    if y > 0 {
                        couple(place(x, y - 1, k), level.gy[l.at(x, y - 1, k)]);
                    }
                }
            }
        }
        let mut factor = Self { size, band, rows, work: vec![0.0; size] };
        factor.decompose();
        factor
    }

    fn decompose(&mut self) {
        let (band, width) = (self.band, self.band + 1);
        for i in 0..self.size {
            let low = i.saturating_sub(band);
            for j in low..=i {
                // Row i, column j lies at band - (i - j).
                let from = low.max(j.saturating_sub(band));
                let mut sum = self.rows[i * width + band - (i - j)];
                for m in from..j {
                    sum -= self.rows[i * width + band - (i - m)] * self.rows[j * width + band - (j - m)];
                }
                if i == j {
                    let least = 1e-14 * self.rows[i * width + band].abs();
                    self.rows[i * width + band] = sum.max(least).max(f64::MIN_POSITIVE).sqrt();
                } else {
                    self.rows[i * width + band - (i - j)] = sum / self.rows[j * width + band];
                }
            }
        }
    }

    /// Solves for the level's right side into its field.
    pub fn solve(&mut self, level: &mut Level) {
        let l = level.layout;
        let (band, width) = (self.band, self.band + 1);
        let mut next = 0;
        for y in 0..l.ny {
            for x in 0..l.nx {
                for k in 0..l.nz {
                    self.work[next] = f64::from(level.b[l.at(x, y, k)]);
                    next += 1;
                }
            }
        }
        for i in 0..self.size {
            let low = i.saturating_sub(band);
            let mut sum = self.work[i];
            for j in low..i {
                sum -= self.rows[i * width + band - (i - j)] * self.work[j];
            }
            self.work[i] = sum / self.rows[i * width + band];
        }
        for i in (0..self.size).rev() {
            let value = self.work[i] / self.rows[i * width + band];
            self.work[i] = value;
            for j in i.saturating_sub(band)..i {
                self.work[j] -= self.rows[i * width + band - (i - j)] * value;
            }
        }
        next = 0;
        for y in 0..l.ny {
            for x in 0..l.nx {
                for k in 0..l.nz {
                    level.x[l.at(x, y, k)] = self.work[next] as f32;
                    next += 1;
                }
            }
        }
    }
}

//! Conductances between cells and to the reference potential.

use crate::error::GridError;
use crate::grid::Grid;

/// Conductances of a grid, W/K for heat or S for current. Arrays have one value for each cell, x fastest: `gx[c]` joins
/// cell `c` with its neighbour at larger x, `gy` and `gz` likewise (`gz` downwards); the outermost are not used and 0.
/// A cell without any conductance is absent: its potential is 0.
#[derive(Debug, Clone, PartialEq)]
pub struct Conductances {
    pub(crate) nx: usize,
    pub(crate) ny: usize,
    pub(crate) nz: usize,
    pub(crate) gx: Vec<f64>,
    pub(crate) gy: Vec<f64>,
    pub(crate) gz: Vec<f64>,
    pub(crate) ground: Vec<f64>,
}

/// A thin resistance in a plane between two layers of cells.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interface<'a> {
    /// Layer of cells above it.
    pub below_layer: usize,
    /// m²K/W: one value for all columns, or one for each column, x fastest.
    pub resistance_m2k_per_w: &'a [f64],
}

/// Conductance, W/K, from a cell's middle to the surroundings: half the cell in series with a film.
///
/// G = A / (t/2k + 1/h); `half_thickness_m` is t/2, `k_w_per_m_k` > 0, `area_m2` >= 0, `h_w_per_m2_k` >= 0.
/// Incropera et al., Fundamentals of Heat and Mass Transfer, section 3.1 (series resistances).
#[must_use]
pub fn face_to_ambient_w_per_k(
    k_w_per_m_k: f64,
    half_thickness_m: f64,
    area_m2: f64,
    h_w_per_m2_k: f64,
) -> f64 {
    if h_w_per_m2_k <= 0.0 || k_w_per_m_k <= 0.0 {
        return 0.0;
    }
    area_m2 / (half_thickness_m / k_w_per_m_k + 1.0 / h_w_per_m2_k)
}

fn length(what: &'static str, found: usize, wanted: usize) -> Result<(), GridError> {
    if found == wanted { Ok(()) } else { Err(GridError::WrongLength { what, found, wanted }) }
}

fn in_range(what: &'static str, values: &[f64]) -> Result<(), GridError> {
    match values.iter().position(|v| !(v.is_finite() && *v >= 0.0)) {
        Some(at) => Err(GridError::OutOfRange { what, at }),
        None => Ok(()),
    }
}

impl Conductances {
    /// From every face's conductance. Values on the grid's outer faces are set to 0.
    pub fn from_faces(
        grid: &Grid,
        mut gx: Vec<f64>,
        mut gy: Vec<f64>,
        mut gz: Vec<f64>,
        ground: Vec<f64>,
    ) -> Result<Self, GridError> {
        let (nx, ny, nz) = (grid.nx(), grid.ny(), grid.nz());
        for (what, values) in [("gx", &gx), ("gy", &gy), ("gz", &gz), ("ground", &ground)] {
            length(what, values.len(), grid.cells())?;
            in_range(what, values)?;
        }
        gx.iter_mut().skip(nx - 1).step_by(nx).for_each(|g| *g = 0.0);
        for layer in gy.chunks_mut(nx * ny) {
            layer[(ny - 1) * nx..].fill(0.0);
        }
        gz[(nz - 1) * nx * ny..].fill(0.0);
        Ok(Self { nx, ny, nz, gx, gy, gz, ground })
    }

    /// From each cell's conductivities, W/m/K: half cells in series (the harmonic mean), with thin resistances between
    /// layers. A cell with no conductivity in a direction passes nothing that way; with none at all it is absent.
    pub fn from_cells(
        grid: &Grid,
        kx_w_per_m_k: &[f64],
        ky_w_per_m_k: &[f64],
        kz_w_per_m_k: &[f64],
        interfaces: &[Interface<'_>],
    ) -> Result<Self, GridError> {
        let (nx, ny, nz) = (grid.nx(), grid.ny(), grid.nz());
        for (what, values) in [("kx", kx_w_per_m_k), ("ky", ky_w_per_m_k), ("kz", kz_w_per_m_k)] {
            length(what, values.len(), grid.cells())?;
            in_range(what, values)?;
        }
        let step = |lines: &[f64]| -> Vec<f64> { lines.windows(2).map(|pair| pair[1] - pair[0]).collect() };
        let (dx, dy, dz) = (step(grid.x_lines_m()), step(grid.y_lines_m()), step(grid.z_lines_m()));
        let mut resistance = vec![Vec::new(); nz];
        for interface in interfaces {
            let found = interface.resistance_m2k_per_w;
            in_range("interface resistance", found)?;
            if found.len() != 1 {
                length("interface resistance", found.len(), nx * ny)?;
            }
            if interface.below_layer + 1 >= nz {
                return Err(GridError::OutOfRange { what: "interface's layer", at: interface.below_layer });
            }
            resistance[interface.below_layer] = found.to_vec();
        }
        let series = |a: f64, ka: f64, b: f64, kb: f64, extra: f64, area: f64| {
            if ka > 0.0 && kb > 0.0 { area / (0.5 * a / ka + 0.5 * b / kb + extra) } else { 0.0 }
        };
        let mut gx = vec![0.0; grid.cells()];
        let mut gy = vec![0.0; grid.cells()];
        let mut gz = vec![0.0; grid.cells()];
        for k in 0..nz {
            for j in 0..ny {
                for i in 0..nx {
                    let c = grid.index(i, j, k);
                    if i + 1 < nx {
                        gx[c] = series(
                            dx[i],
                            kx_w_per_m_k[c],
                            dx[i + 1],
                            kx_w_per_m_k[c + 1],
                            0.0,
                            dy[j] * dz[k],
                        );
                    }
                    if j + 1 < ny {
                        let d = c + nx;
                        gy[c] =
                            series(dy[j], ky_w_per_m_k[c], dy[j + 1], ky_w_per_m_k[d], 0.0, dx[i] * dz[k]);
                    }
                    if k + 1 < nz {
                        let d = c + nx * ny;
                        let thin = &resistance[k];
                        let extra = thin.get(j * nx + i).or(thin.first()).copied().unwrap_or(0.0);
                        gz[c] =
                            series(dz[k], kz_w_per_m_k[c], dz[k + 1], kz_w_per_m_k[d], extra, dx[i] * dy[j]);
                    }
                }
            }
        }
        Self::from_faces(grid, gx, gy, gz, vec![0.0; grid.cells()])
    }

    /// Adds a film over the top face: coefficient for each column, or one for all, W/m²/K.
    pub fn add_top_film(
        &mut self,
        grid: &Grid,
        kz_w_per_m_k: &[f64],
        h_w_per_m2_k: &[f64],
    ) -> Result<(), GridError> {
        self.add_film(grid, kz_w_per_m_k, h_w_per_m2_k, 0)
    }

    /// Adds a film over the bottom face.
    pub fn add_bottom_film(
        &mut self,
        grid: &Grid,
        kz_w_per_m_k: &[f64],
        h_w_per_m2_k: &[f64],
    ) -> Result<(), GridError> {
        self.add_film(grid, kz_w_per_m_k, h_w_per_m2_k, self.nz - 1)
    }

    fn add_film(&mut self, grid: &Grid, kz: &[f64], h: &[f64], layer: usize) -> Result<(), GridError> {
        length("kz", kz.len(), grid.cells())?;
        in_range("film coefficient", h)?;
        if h.len() != 1 {
            length("film coefficient", h.len(), self.nx * self.ny)?;
        }
        let (x, y, z) = (grid.x_lines_m(), grid.y_lines_m(), grid.z_lines_m());
        let half = 0.5 * (z[layer + 1] - z[layer]);
        for j in 0..self.ny {
            for i in 0..self.nx {
                let c = grid.index(i, j, layer);
                let area = (x[i + 1] - x[i]) * (y[j + 1] - y[j]);
                let film = h.get(j * self.nx + i).or(h.first()).copied().unwrap_or(0.0);
                self.ground[c] += face_to_ambient_w_per_k(kz[c], half, area, film);
            }
        }
        Ok(())
    }

    /// Conductances to the reference potential, one for each cell.
    #[must_use]
    pub fn ground(&self) -> &[f64] {
        &self.ground
    }

    /// Conductances between cells, along x, y and z: `[gx, gy, gz]`.
    #[must_use]
    pub fn faces(&self) -> [&[f64]; 3] {
        [&self.gx, &self.gy, &self.gz]
    }

    /// Cells in all.
    #[must_use]
    pub fn cells(&self) -> usize {
        self.gx.len()
    }
}

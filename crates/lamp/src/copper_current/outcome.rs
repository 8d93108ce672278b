//! From potentials to what is asked: currents, densities, losses, voltages, and the balance of it all.

use artwork::shape::Point;

use super::assembly::{Assembly, Group, Groups};
use super::problem::{ContactKind, SheetProblem};
use super::raster::Lattice;

/// The current in all copper with contacts.
#[derive(Debug, Clone, PartialEq)]
pub struct SheetSolution {
    /// Side of a pixel, m.
    pub pitch_m: f64,
    /// Whether it is more than was asked for.
    pub pitch_grown: bool,
    /// Pixels solved, bare ones included.
    pub cells: usize,
    /// Islands that belong to copper with contacts.
    pub islands: Vec<IslandCurrent>,
    /// Each contact, in the problem's order.
    pub contacts: Vec<ContactState>,
    /// Plated holes that join islands with contacts.
    pub barrels: Vec<BarrelCurrent>,
    /// Balance of each group of islands that hang together.
    pub groups: Vec<GroupBalance>,
    /// Loss in islands and plated holes, W.
    pub loss_w: f64,
    /// What a reader should know.
    pub remarks: Vec<String>,
}

/// An island's field on its own rectangle of pixels; arrays x fastest, lowest y first.
#[derive(Debug, Clone, PartialEq)]
pub struct IslandCurrent {
    /// Its layer.
    pub layer: usize,
    /// Number of its polygon in the layer's copper.
    pub polygon: usize,
    /// The group it belongs to: an index into [`SheetSolution::groups`].
    pub group: usize,
    /// Lower left corner of the first pixel, mm.
    pub corner_mm: [f64; 2],
    /// Side of a pixel, mm.
    pub pitch_mm: f64,
    /// Pixels along x.
    pub nx: usize,
    /// Pixels along y.
    pub ny: usize,
    /// Thickness, m.
    pub thickness_m: f64,
    /// Copper's share of each pixel.
    pub share: Vec<f64>,
    /// Potential, V; NaN where there is no copper.
    pub potential_v: Vec<f64>,
    /// Current density along x, A/mm²; 0 where there is no copper.
    pub density_x_a_per_mm2: Vec<f32>,
    /// Current density along y, A/mm².
    pub density_y_a_per_mm2: Vec<f32>,
    /// Loss of each pixel, W.
    pub pixel_loss_w: Vec<f64>,
    /// Loss of the island, W: the sum of its pixels.
    pub loss_w: f64,
    /// Where most heat arises; `None` without loss.
    pub hottest: Option<HotPlace>,
    /// Pixels with a gap or neck narrower than a pixel, which they do not show.
    pub unresolved_pixels: usize,
}

/// A place and how much is lost there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HotPlace {
    /// Middle of the square, mm.
    pub at_mm: [f64; 2],
    /// Mean loss for its area over a square of [`HOT_SQUARE_MM`], W/cm². (At a single point, such as an inner corner, it
    /// has no bound: a finer grid finds ever more.)
    pub loss_w_per_cm2: f64,
}

/// Side of the square over which the hottest place is averaged, mm: heat spreads farther than that in any board.
pub const HOT_SQUARE_MM: f64 = 0.5;

/// A contact's state.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct ContactState {
    /// Mean potential, V.
    pub voltage_v: f64,
    /// Current into the copper, A.
    pub current_a: f64,
}

/// A plated hole's current.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BarrelCurrent {
    /// Number of the barrel in the problem.
    pub barrel: usize,
    /// Largest current along it, A.
    pub current_a: f64,
    /// Potential of its top above that of its bottom, V.
    pub drop_v: f64,
    /// Loss in its wall, W.
    pub loss_w: f64,
}

/// What goes into a group of islands and what comes out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GroupBalance {
    /// Sum of the currents that flow in, A.
    pub in_a: f64,
    /// Sum of the currents that flow out, A.
    pub out_a: f64,
    /// Sum over the contacts of current times voltage, W.
    pub input_w: f64,
    /// Loss in copper and plated holes, W: the same, but for rounding and the solver's residual.
    pub loss_w: f64,
    /// Iterations of the solver.
    pub iterations: usize,
    /// Residual over right side.
    pub relative_residual: f64,
}

/// A group with its potentials.
pub(super) struct GroupField<'a> {
    pub assembly: &'a Assembly,
    pub problem: &'a SheetProblem,
    pub group: &'a Group,
    pub potential_v: Vec<f64>,
}

impl GroupField<'_> {
    fn mean(&self, parts: &[(usize, f64)]) -> f64 {
        parts.iter().map(|(cell, part)| part * self.potential_v[*cell]).sum()
    }

    /// Where no contact is held, the first is brought to 0 V.
    pub fn shift(&mut self) {
        if self.assembly.held.is_empty()
            && let Some(parts) = self.assembly.contacts.first()
        {
            let by = self.mean(parts);
            self.potential_v.iter_mut().for_each(|v| *v -= by);
        }
    }

    /// Current out of a cell through its sides, A.
    fn outflow_a(&self, cell: usize) -> f64 {
        let (a, v) = (self.assembly, &self.potential_v);
        let (nx, plane) = (a.window.nx, a.window.cells());
        let mut sum = 0.0;
        for (g, step) in [(&a.gx, 1), (&a.gy, nx), (&a.gz, plane)] {
            if g.is_empty() {
                continue;
            }
            if g[cell] > 0.0 {
                sum += g[cell] * (v[cell] - v[cell + step]);
            }
            if cell >= step && g[cell - step] > 0.0 {
                sum += g[cell - step] * (v[cell] - v[cell - step]);
            }
        }
        sum
    }

    /// States of the contacts, in the group's order, and the balance without the loss.
    pub fn contacts(&self, iterations: usize, relative_residual: f64) -> (Vec<ContactState>, GroupBalance) {
        let mut balance =
            GroupBalance { in_a: 0.0, out_a: 0.0, input_w: 0.0, loss_w: 0.0, iterations, relative_residual };
        let mut states = Vec::new();
        for (parts, &index) in self.assembly.contacts.iter().zip(&self.group.contacts) {
            let voltage_v = self.mean(parts);
            let current_a = match self.problem.contacts[index].kind {
                ContactKind::Spread { current_a } | ContactKind::Land { current_a } => current_a,
                ContactKind::Held => parts.iter().map(|(cell, _)| self.outflow_a(*cell)).sum(),
            };
            if current_a > 0.0 {
                balance.in_a += current_a;
            } else {
                balance.out_a -= current_a;
            }
            balance.input_w += current_a * voltage_v;
            states.push(ContactState { voltage_v, current_a });
        }
        (states, balance)
    }

    /// Loss in all sides and walls, W.
    pub fn loss_w(&self) -> f64 {
        let a = self.assembly;
        let of = |g: &[f64], step: usize| -> f64 {
            let pairs = self.potential_v.iter().zip(self.potential_v.iter().skip(step));
            g.iter().zip(pairs).filter(|(g, _)| **g > 0.0).map(|(g, (v, w))| g * (v - w) * (v - w)).sum()
        };
        of(&a.gx, 1) + of(&a.gy, a.window.nx) + of(&a.gz, a.window.cells())
    }

    /// Currents of the group's barrels.
    pub fn barrels(&self) -> Vec<BarrelCurrent> {
        let (a, v) = (self.assembly, &self.potential_v);
        let area = a.window.cells();
        a.barrels
            .iter()
            .map(|b| {
                let mut current =
                    BarrelCurrent { barrel: b.barrel, current_a: 0.0, drop_v: 0.0, loss_w: 0.0 };
                for plane in b.planes.clone().take_while(|plane| plane < b.planes.end()) {
                    let g = a.piece_s(self.problem, &self.problem.barrels[b.barrel], plane);
                    let (mut along, mut drop) = (0.0, 0.0);
                    for (pixel, part) in &b.columns {
                        let c = plane * area + pixel;
                        let over = v[c] - v[c + area];
                        along += g * part * over;
                        drop += part * over;
                        current.loss_w += g * part * over * over;
                    }
                    current.current_a = current.current_a.max(along.abs());
                    current.drop_v += drop;
                }
                current
            })
            .collect()
    }
}

/// The islands of a group with their fields.
pub(super) fn island_currents(
    field: &GroupField<'_>,
    groups: &Groups<'_>,
    lattice: &Lattice,
    group_number: usize,
) -> Vec<IslandCurrent> {
    let a = field.assembly;
    let mut all = Vec::new();
    for (number, raster) in a.rasters.iter().enumerate() {
        let island = &groups.islands[field.group.islands[number]];
        let w = raster.window;
        let (plane, stride) = (a.plane_of[number], a.window.nx);
        let base = a.base(plane);
        let layer = &field.problem.layers[island.layer];
        let count = w.cells();
        let mut current = IslandCurrent {
            layer: island.layer,
            polygon: island.polygon,
            group: group_number,
            corner_mm: [
                (lattice.x0_nm + lattice.pitch_nm * w.i0 as f64) * 1e-6,
                (lattice.y0_nm + lattice.pitch_nm * w.j0 as f64) * 1e-6,
            ],
            pitch_mm: lattice.pitch_nm * 1e-6,
            nx: w.nx,
            ny: w.ny,
            thickness_m: layer.thickness_m,
            share: raster.share.clone(),
            potential_v: vec![f64::NAN; count],
            density_x_a_per_mm2: vec![0.0; count],
            density_y_a_per_mm2: vec![0.0; count],
            pixel_loss_w: vec![0.0; count],
            loss_w: 0.0,
            hottest: None,
            unresolved_pixels: raster.unresolved,
        };
        for j in 0..w.ny {
            for i in 0..w.nx {
                let c = j * w.nx + i;
                if !raster.has_copper(c) {
                    continue;
                }
                let pixel = a.window.index_of(&w, i, j);
                let cell = base + pixel;
                let v = field.potential_v[cell];
                current.potential_v[c] = v;
                // A side's current for its open part, over the two sides; the loss of a side belongs half to each pixel.
                // Between pixels of a land the current goes through the land.
                let in_copper = |other: usize| {
                    if a.metal.is_empty() || !(a.metal[cell] && a.metal[other]) { 1.0 } else { 0.0 }
                };
                let mut loss = 0.0;
                let mut along = |open: &[f64], g: &[f64], step: usize, wide: usize| -> f64 {
                    let (mut parts, mut flow) = (0.0, 0.0);
                    if open[c] > 0.0 {
                        let over = v - field.potential_v[cell + wide];
                        parts += open[c];
                        flow += in_copper(cell + wide) * g[cell] * over;
                        loss += 0.5 * g[cell] * over * over;
                    }
                    if c >= step && open[c - step] > 0.0 {
                        let over = field.potential_v[cell - wide] - v;
                        parts += open[c - step];
                        flow += in_copper(cell - wide) * g[cell - wide] * over;
                        loss += 0.5 * g[cell - wide] * over * over;
                    }
                    if parts > 0.0 { flow / parts } else { 0.0 }
                };
                let jx = along(&raster.open_x, &a.gx, 1, 1);
                let jy = along(&raster.open_y, &a.gy, w.nx, stride);
                let section_mm2 = lattice.pitch_nm * 1e-6 * layer.thickness_m * 1e3;
                current.density_x_a_per_mm2[c] = (jx / section_mm2) as f32;
                current.density_y_a_per_mm2[c] = (jy / section_mm2) as f32;
                current.pixel_loss_w[c] = loss;
            }
        }
        current.loss_w = current.pixel_loss_w.iter().sum();
        current.hottest = hottest(&current);
        all.push(current);
    }
    all
}

/// Where the loss, averaged over a small square, is largest.
fn hottest(current: &IslandCurrent) -> Option<HotPlace> {
    let (nx, ny) = (current.nx, current.ny);
    let side = ((HOT_SQUARE_MM / current.pitch_mm).round() as usize).max(1);
    let mut columns = vec![0.0; nx];
    let mut best: Option<(usize, usize, f64)> = None;
    // A square that slides: sums of columns over its rows, then a running sum along them.
    for j in 0..ny + side - 1 {
        for (i, column) in columns.iter_mut().enumerate() {
            if j < ny {
                *column += current.pixel_loss_w[j * nx + i];
            }
            if j >= side {
                *column -= current.pixel_loss_w[(j - side) * nx + i];
            }
        }
        let mut sum = 0.0;
        for i in 0..nx + side - 1 {
            if i < nx {
                sum += columns[i];
            }
            if i >= side {
                sum -= columns[i - side];
            }
            if sum > best.map_or(0.0, |b| b.2 * (1.0 + 1e-9)) {
                best = Some((i, j, sum));
            }
        }
    }
    let (i, j, loss_w) = best?;
    let middle =
        |corner: f64, last: usize| corner + current.pitch_mm * (last as f64 + 1.0 - 0.5 * side as f64);
    let side_cm = 0.1 * current.pitch_mm * side as f64;
    Some(HotPlace {
        at_mm: [middle(current.corner_mm[0], i), middle(current.corner_mm[1], j)],
        loss_w_per_cm2: loss_w / (side_cm * side_cm),
    })
}

impl IslandCurrent {
    /// The pixel that holds a place; `None` outside the rectangle.
    #[must_use]
    pub fn pixel_at(&self, at: Point) -> Option<usize> {
        let along = |at_nm: i32, corner: f64, count: usize| {
            let number = ((f64::from(at_nm) * 1e-6 - corner) / self.pitch_mm).floor();
            (number >= 0.0 && number < count as f64).then_some(number as usize)
        };
        let i = along(at.x_nm, self.corner_mm[0], self.nx)?;
        let j = along(at.y_nm, self.corner_mm[1], self.ny)?;
        Some(j * self.nx + i)
    }

    /// Middle of a pixel, mm.
    #[must_use]
    pub fn middle_mm(&self, pixel: usize) -> [f64; 2] {
        let (i, j) = (pixel % self.nx, pixel / self.nx);
        [
            self.corner_mm[0] + self.pitch_mm * (i as f64 + 0.5),
            self.corner_mm[1] + self.pitch_mm * (j as f64 + 0.5),
        ]
    }

    /// Magnitude of a pixel's current density, A/mm².
    #[must_use]
    pub fn density_a_per_mm2(&self, pixel: usize) -> f64 {
        f64::from(self.density_x_a_per_mm2[pixel]).hypot(f64::from(self.density_y_a_per_mm2[pixel]))
    }
}

//! From potentials to what is asked: currents, densities, losses, voltages, and the balance of it all.

use artwork::shape::Point;
use rayon::prelude::*;

use super::assembly::{Assembly, BarrelPieces, Group, Groups, Sheet};
use super::problem::{ContactKind, SheetProblem};
use super::raster::Lattice;

/// The current in all copper with contacts.
#[derive(Debug, Clone, PartialEq)]
pub struct SheetSolution {
    /// Side of a pixel, m.
    pub pitch_m: f64,
    /// Whether it is more than was asked for.
    pub pitch_grown: bool,
    /// Pixels of all islands' rectangles, bare ones included.
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
    pub share: Vec<f32>,
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

    /// Current out of a cell through its sides and the walls of barrels, A.
    fn outflow_a(&self, cell: usize) -> f64 {
        let v = &self.potential_v;
        let sides = self.assembly.sides(cell).into_iter().filter(|side| side.1 > 0.0);
        let out: f64 = sides.map(|(other, g)| g * (v[cell] - v[other])).sum();
        let walls = self.assembly.barrels.iter().flat_map(|barrel| barrel.pieces.iter().flatten());
        out + walls
            .map(|wall| match () {
                () if wall.from == cell => wall.g * (v[cell] - v[wall.to]),
                () if wall.to == cell => wall.g * (v[cell] - v[wall.from]),
                () => 0.0,
            })
            .sum::<f64>()
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

    /// Currents of the group's barrels.
    pub fn barrels(&self) -> Vec<BarrelCurrent> {
        let v = &self.potential_v;
        let of = |b: &BarrelPieces| {
            let mut current = BarrelCurrent { barrel: b.barrel, current_a: 0.0, drop_v: 0.0, loss_w: 0.0 };
            for piece in &b.pieces {
                let (mut along, mut drop) = (0.0, 0.0);
                for wall in piece {
                    let over = v[wall.from] - v[wall.to];
                    along += wall.g * over;
                    drop += wall.part * over;
                    current.loss_w += wall.g * over * over;
                }
                current.current_a = current.current_a.max(along.abs());
                current.drop_v += drop;
            }
            current
        };
        self.assembly.barrels.iter().map(of).collect()
    }
}

/// The islands of a group with their fields.
pub(super) fn island_currents(
    assembly: Assembly,
    potential_v: &[f64],
    problem: &SheetProblem,
    groups: &Groups<'_>,
    lattice: &Lattice,
    group_number: usize,
) -> Vec<IslandCurrent> {
    let Assembly { sheets, metal, .. } = assembly;
    let one = |(sheet, island): (Sheet, &usize)| {
        let w = sheet.raster.window;
        let cells = sheet.base..sheet.base + w.cells();
        let metal = metal.get(cells.clone()).unwrap_or_default();
        let island = &groups.islands[*island];
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
            thickness_m: problem.layers[island.layer].thickness_m,
            share: Vec::new(),
            potential_v: vec![f64::NAN; w.cells()],
            density_x_a_per_mm2: vec![0.0; w.cells()],
            density_y_a_per_mm2: vec![0.0; w.cells()],
            pixel_loss_w: vec![0.0; w.cells()],
            loss_w: 0.0,
            hottest: None,
            unresolved_pixels: sheet.raster.unresolved,
        };
        let section_mm2 = lattice.pitch_nm * 1e-6 * current.thickness_m * 1e3;
        let pixels = Pixels { metal, v: &potential_v[cells] };
        let rows = current.potential_v.par_chunks_mut(w.nx);
        let densities = (current.density_x_a_per_mm2.par_chunks_mut(w.nx))
            .zip(current.density_y_a_per_mm2.par_chunks_mut(w.nx));
        rows.zip(densities)
            .zip(current.pixel_loss_w.par_chunks_mut(w.nx))
            .enumerate()
            .with_min_len(16)
            .for_each(|(j, ((potential, (along_x, along_y)), loss))| {
                for i in 0..w.nx {
                    let c = j * w.nx + i;
                    if sheet.raster.has_copper(c) {
                        potential[i] = pixels.v[c];
                        let x = pixels.along(&sheet.raster.open_x, &sheet.gx, c, 1);
                        let y = pixels.along(&sheet.raster.open_y, &sheet.gy, c, w.nx);
                        (along_x[i], along_y[i]) = ((x.0 / section_mm2) as f32, (y.0 / section_mm2) as f32);
                        loss[i] = x.1 + y.1;
                    }
                }
            });
        current.share = sheet.raster.share;
        current.loss_w = current.pixel_loss_w.iter().sum();
        current.hottest = hottest(&current);
        current
    };
    let islands = &groups.groups[group_number].islands;
    sheets.into_iter().zip(islands).map(one).collect()
}

/// An island's pixels with their potentials.
struct Pixels<'a> {
    metal: &'a [bool],
    v: &'a [f64],
}

impl Pixels<'_> {
    /// Mean current through the two sides of a pixel along an axis, A a whole side: a side's current for its open part.
    /// Between pixels of a land the current goes through the land. And the loss, of which a side's belongs half to each
    /// pixel, W.
    #[inline]
    fn along(&self, open: &[f32], g: &[f32], c: usize, step: usize) -> (f64, f64) {
        let (mut parts, mut flow, mut loss) = (0.0, 0.0, 0.0);
        let mut side = |low: usize, other: usize| {
            if open[low] > 0.0 {
                let (g, over) = (f64::from(g[low]), self.v[low] - self.v[low + step]);
                parts += f64::from(open[low]);
                let in_metal = !self.metal.is_empty() && self.metal[c] && self.metal[other];
                flow += if in_metal { 0.0 } else { g * over };
                loss += 0.5 * g * over * over;
            }
        };
        side(c, c + step);
        if c >= step {
            side(c - step, c - step);
        }
        (if parts > 0.0 { flow / parts } else { 0.0 }, loss)
    }
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

//! Islands to groups that conduct together, and a group to a grid with conductances and sources.

use artwork::coverage::coverage;
use artwork::nets::REGISTRATION_NM;
use artwork::shape::{Area, Bounds, Contour, Point, Polygon};
use conduction::{Conductances, Grid};

use super::copper::annealed_ohm_m;
use super::problem::{Barrel, Contact, ContactKind, SheetError, SheetProblem};
use super::raster::{Lattice, Raster, Window};

/// How much better a land conducts along its face than the copper under it. A soldered lead frame is some ten times as
/// good; a thousand and more leave the solver's preconditioner, in single precision, without sense.
const LAND_FACTOR: f64 = 100.0;

/// An island of a layer.
#[derive(Debug, Clone)]
pub(super) struct Island<'a> {
    pub layer: usize,
    /// Number of its polygon in the layer's copper.
    pub polygon: usize,
    pub shape: &'a Polygon,
    pub bounds: Bounds,
}

/// Islands that barrels join, with contacts.
#[derive(Debug, Clone, Default)]
pub(super) struct Group {
    pub islands: Vec<usize>,
    pub barrels: Vec<usize>,
    pub contacts: Vec<usize>,
}

/// All islands, what each contact and barrel touches, and the groups that carry current.
#[derive(Debug, Clone)]
pub(super) struct Groups<'a> {
    pub islands: Vec<Island<'a>>,
    /// Islands that each barrel touches.
    pub touched: Vec<Vec<usize>>,
    /// Island of each contact.
    pub of_contact: Vec<usize>,
    pub groups: Vec<Group>,
}

impl<'a> Groups<'a> {
    pub fn of(problem: &'a SheetProblem) -> Result<Self, SheetError> {
        let islands: Vec<Island<'a>> = problem
            .layers
            .iter()
            .enumerate()
            .flat_map(|(layer, l)| l.copper.polygons.iter().enumerate().map(move |(p, s)| (layer, p, s)))
            .filter_map(|(layer, polygon, shape)| {
                Some(Island { layer, polygon, shape, bounds: bounds_of(&shape.outer)? })
            })
            .collect();
        let touched: Vec<Vec<usize>> = problem.barrels.iter().map(|b| touched_by(b, &islands)).collect();
        let mut root: Vec<usize> = (0..islands.len()).collect();
        for pair in touched.iter().flat_map(|t| t.windows(2)) {
            let (a, b) = (find(&mut root, pair[0]), find(&mut root, pair[1]));
            root[a.max(b)] = a.min(b);
        }
        let mut groups: Vec<Group> = Vec::new();
        let mut group_of_root = vec![None; islands.len()];
        let mut of_contact = Vec::new();
        for (index, contact) in problem.contacts.iter().enumerate() {
            let island = island_under(contact, &islands).ok_or_else(|| SheetError::NoCopper {
                contact: contact.name.clone(),
                layer: problem.layers[contact.layer].name.clone(),
            })?;
            of_contact.push(island);
            let at = find(&mut root, island);
            let group = *group_of_root[at].get_or_insert_with(|| {
                groups.push(Group::default());
                groups.len() - 1
            });
            groups[group].contacts.push(index);
        }
        for island in 0..islands.len() {
            if let Some(group) = group_of_root[find(&mut root, island)] {
                groups[group].islands.push(island);
            }
        }
        for (index, touched) in touched.iter().enumerate() {
            if let [first, _, ..] = touched[..]
                && let Some(group) = group_of_root[find(&mut root, first)]
            {
                groups[group].barrels.push(index);
            }
        }
        Ok(Self { islands, touched, of_contact, groups })
    }
}

fn find(root: &mut [usize], mut at: usize) -> usize {
    while root[at] != at {
        root[at] = root[root[at]];
        at = root[at];
    }
    at
}

pub(super) fn bounds_of(contour: &Contour) -> Option<Bounds> {
    let first = *contour.first()?;
    Some(
        contour.iter().fold(Bounds { min: first, max: first }, |b, p| b.joined(&Bounds { min: *p, max: *p })),
    )
}

/// Whether a box grown by `reach_nm` holds a point.
fn near_box(bounds: &Bounds, at: Point, reach_nm: f64) -> bool {
    let inside = |low: i32, v: i32, high: i32| {
        (f64::from(low) - reach_nm..=f64::from(high) + reach_nm).contains(&f64::from(v))
    };
    inside(bounds.min.x_nm, at.x_nm, bounds.max.x_nm) && inside(bounds.min.y_nm, at.y_nm, bounds.max.y_nm)
}

/// Islands that a barrel's outline, grown by the registration, touches; from the top down.
fn touched_by(barrel: &Barrel, islands: &[Island<'_>]) -> Vec<usize> {
    let (first, last) = (barrel.from_layer.min(barrel.to_layer), barrel.from_layer.max(barrel.to_layer));
    let reach_nm = 0.5e9 * barrel.drilled_m + f64::from(REGISTRATION_NM);
    islands
        .iter()
        .enumerate()
        .filter(|(_, island)| {
            (first..=last).contains(&island.layer)
                && near_box(&island.bounds, barrel.at, reach_nm)
                && is_within(island.shape, barrel.at, reach_nm)
        })
        .map(|(index, _)| index)
        .collect()
}

/// Whether a polygon lies within a distance of a point.
fn is_within(polygon: &Polygon, at: Point, reach_nm: f64) -> bool {
    let mut inside = false;
    let (px, py) = (f64::from(at.x_nm), f64::from(at.y_nm));
    for contour in std::iter::once(&polygon.outer).chain(&polygon.holes) {
        let Some(mut from) = contour.last() else { continue };
        for to in contour {
            let (x0, y0) = (f64::from(from.x_nm) - px, f64::from(from.y_nm) - py);
            let (x1, y1) = (f64::from(to.x_nm) - px, f64::from(to.y_nm) - py);
            let (dx, dy) = (x1 - x0, y1 - y0);
            let along = (-(x0 * dx + y0 * dy) / (dx * dx + dy * dy).max(1.0)).clamp(0.0, 1.0);
            if (x0 + along * dx).hypot(y0 + along * dy) <= reach_nm {
                return true;
            }
            if (y0 > 0.0) != (y1 > 0.0) && x0 - y0 * dx / dy > 0.0 {
                inside = !inside;
            }
            from = to;
        }
    }
    inside
}

/// The island of a contact's layer with most of the contact's area.
fn island_under(contact: &Contact, islands: &[Island<'_>]) -> Option<usize> {
    let bounds = contact.area.bounds()?;
    let grown = |low: i32, high: i32| -> Vec<f64> {
        let (low, size) = (f64::from(low), (f64::from(high) - f64::from(low)).max(1.0));
        (0..=PROBES).map(|i| low + size * i as f64 / PROBES as f64).collect()
    };
    let (x, y) = (grown(bounds.min.x_nm, bounds.max.x_nm), grown(bounds.min.y_nm, bounds.max.y_nm));
    let wanted = coverage(&contact.area, &x, &y);
    let common = |island: &Island<'_>| -> f64 {
        let here = coverage(&Area { polygons: vec![island.shape.clone()] }, &x, &y);
        here.iter().zip(&wanted).map(|(a, b)| a * b).sum()
    };
    let meets = |b: &Bounds| {
        b.min.x_nm <= bounds.max.x_nm
            && b.max.x_nm >= bounds.min.x_nm
            && b.min.y_nm <= bounds.max.y_nm
            && b.max.y_nm >= bounds.min.y_nm
    };
    let mut best: Option<(usize, f64)> = None;
    for (index, island) in islands.iter().enumerate() {
        if island.layer == contact.layer && meets(&island.bounds) {
            let common = common(island);
            if common > 1e-6 && best.is_none_or(|(_, most)| common > most) {
                best = Some((index, common));
            }
        }
    }
    best.map(|(index, _)| index)
}

/// Pieces each way into which a contact is cut to see what lies under it.
const PROBES: usize = 16;

/// A sheet of cells of a group: islands of one layer that share no pixel.
#[derive(Debug, Clone)]
pub(super) struct Plane {
    pub layer: usize,
    pub islands: Vec<usize>,
}

/// Cells of a contact: index in the group's grid and part of the contact; parts sum to 1.
pub(super) type Parts = Vec<(usize, f64)>;

/// A barrel's columns: pixel in the group's window and its part of the wall, and the planes from which to which it goes.
#[derive(Debug, Clone)]
pub(super) struct BarrelColumns {
    pub barrel: usize,
    pub columns: Vec<(usize, f64)>,
    pub planes: std::ops::RangeInclusive<usize>,
}

/// A group on its grid.
#[derive(Debug, Clone)]
pub(super) struct Assembly {
    pub window: Window,
    pub planes: Vec<Plane>,
    /// Rasters of the group's islands, in the group's order.
    pub rasters: Vec<Raster>,
    /// Plane of each.
    pub plane_of: Vec<usize>,
    /// Conductances between cells, S.
    pub gx: Vec<f64>,
    pub gy: Vec<f64>,
    pub gz: Vec<f64>,
    /// Resistivities, Ω·m, of each plane: one, or one for each pixel of the window.
    pub resistivity_ohm_m: Vec<Vec<f64>>,
    /// Whether a cell is held at 0 V; empty when none is.
    pub held: Vec<bool>,
    /// Whether a cell lies under a land or a held contact; empty when none does.
    pub metal: Vec<bool>,
    /// Parts of the group's contacts, in the group's order.
    pub contacts: Vec<Parts>,
    pub barrels: Vec<BarrelColumns>,
    /// Barrels of the group that find no common place at this pitch.
    pub lost_barrels: Vec<usize>,
}

impl Assembly {
    pub fn new(
        problem: &SheetProblem,
        groups: &Groups<'_>,
        group: &Group,
        lattice: &Lattice,
    ) -> Result<Self, SheetError> {
        let rasters: Vec<Raster> = group
            .islands
            .iter()
            .map(|&island| {
                let Island { shape, bounds, .. } = &groups.islands[island];
                Raster::new(shape, bounds, lattice)
            })
            .collect();
        let window =
            rasters.iter().skip(1).fold(rasters[0].window, |window, raster| window.joined(&raster.window));
        let (planes, plane_of) = planes(groups, group, &rasters, &window);
        let (x_mm, y_mm) = lattice.middles_mm(&window);
        let resistivity_ohm_m: Vec<Vec<f64>> = planes
            .iter()
            .map(|plane| problem.layers[plane.layer].temperature.resistivities_ohm_m(&x_mm, &y_mm))
            .collect();
        let cells = window.cells() * planes.len();
        let mut assembly = Self {
            window,
            planes,
            rasters,
            plane_of,
            gx: vec![0.0; cells],
            gy: vec![0.0; cells],
            gz: vec![0.0; if cells > window.cells() { cells } else { 0 }],
            resistivity_ohm_m,
            held: Vec::new(),
            metal: Vec::new(),
            contacts: Vec::new(),
            barrels: Vec::new(),
            lost_barrels: Vec::new(),
        };
        assembly.spread_sheets(problem);
        assembly.place_contacts(problem, groups, group, lattice)?;
        if !assembly.gz.is_empty() {
            assembly.place_barrels(problem, groups, group, lattice);
        }
        Ok(assembly)
    }

    /// Index of the first cell of a plane.
    pub fn base(&self, plane: usize) -> usize {
        plane * self.window.cells()
    }

    /// Resistivity of a pixel of a plane, Ω·m.
    pub fn resistivity(&self, plane: usize, pixel: usize) -> f64 {
        let values = &self.resistivity_ohm_m[plane];
        if let [only] = values[..] { only } else { values[pixel] }
    }

    fn spread_sheets(&mut self, problem: &SheetProblem) {
        for (index, raster) in self.rasters.iter().enumerate() {
            let plane = self.plane_of[index];
            let base = plane * self.window.cells();
            let thickness = problem.layers[self.planes[plane].layer].thickness_m;
            let rho = &self.resistivity_ohm_m[plane];
            let stride = self.window.nx;
            // Pixels are square: the conductance of a whole side is that of a square.
            for j in 0..raster.window.ny {
                let from = j * raster.window.nx;
                let to = self.window.index_of(&raster.window, 0, j);
                for i in 0..raster.window.nx {
                    let (c, p) = (from + i, to + i);
                    let (open_x, open_y) = (raster.open_x[c], raster.open_y[c]);
                    if let [rho] = rho[..] {
                        self.gx[base + p] += open_x * thickness / rho;
                        self.gy[base + p] += open_y * thickness / rho;
                    } else {
                        if open_x > 0.0 {
                            self.gx[base + p] += open_x * thickness * 2.0 / (rho[p] + rho[p + 1]);
                        }
                        if open_y > 0.0 {
                            self.gy[base + p] += open_y * thickness * 2.0 / (rho[p] + rho[p + stride]);
                        }
                    }
                }
            }
        }
    }

    /// Finds the cells of contacts. Those of lands conduct nearly without loss among themselves; a land and a held
    /// contact begin at the sides of their pixels, not at their middles, so the sides around them conduct twice as well.
    fn place_contacts(
        &mut self,
        problem: &SheetProblem,
        groups: &Groups<'_>,
        group: &Group,
        lattice: &Lattice,
    ) -> Result<(), SheetError> {
        let metal = |contact: &Contact| !matches!(contact.kind, ContactKind::Spread { .. });
        let mut owner: Vec<u32> = Vec::new();
        let mut metals = Vec::new();
        for (number, &index) in group.contacts.iter().enumerate() {
            let contact = &problem.contacts[index];
            let island = group.islands.iter().position(|i| *i == groups.of_contact[index]).unwrap_or(0);
            let plane = self.plane_of[island];
            let is_metal = metal(contact);
            let pixels = pixels_of(&contact.area, &self.rasters[island], lattice, is_metal);
            if pixels.is_empty() {
                let layer = problem.layers[contact.layer].name.clone();
                return Err(SheetError::NoCopper { contact: contact.name.clone(), layer });
            }
            let (base, raster) = (self.base(plane), &self.rasters[island]);
            let at = |c: usize| {
                base + self.window.index_of(&raster.window, c % raster.window.nx, c / raster.window.nx)
            };
            let parts: Parts = pixels.into_iter().map(|(c, part)| (at(c), part)).collect();
            if is_metal {
                metals.push((number, contact.kind == ContactKind::Held));
            }
            self.contacts.push(parts);
        }
        let cells = self.gx.len();
        if metals.is_empty() {
            return Ok(());
        }
        owner.resize(cells, 0);
        for (number, parts) in self.contacts.iter().enumerate() {
            for (cell, _) in parts {
                let is_metal = metals.iter().any(|m| m.0 == number);
                let before = owner[*cell] as usize;
                if before > 0 && (is_metal || metals.iter().any(|m| m.0 + 1 == before)) {
                    let name = |n: usize| problem.contacts[group.contacts[n]].name.clone();
                    return Err(SheetError::Overlap { contact: name(before - 1), other: name(number) });
                }
                owner[*cell] = number as u32 + 1;
            }
        }
        let mut kind = vec![0u8; self.contacts.len() + 1];
        for (number, is_held) in &metals {
            kind[number + 1] = if *is_held { 2 } else { 1 };
        }
        self.metal = owner.iter().map(|o| kind[*o as usize] > 0).collect();
        if metals.iter().any(|m| m.1) {
            self.held = owner.iter().map(|o| kind[*o as usize] == 2).collect();
        }
        let sides = |g: &mut [f64], step: usize| {
            for c in 0..cells.saturating_sub(step) {
                let (a, b) = (owner[c], owner[c + step]);
                let (ka, kb) = (kind[a as usize], kind[b as usize]);
                if ka == 0 && kb == 0 {
                    continue;
                }
                g[c] *= if a == b { LAND_FACTOR } else { 2.0 };
            }
        };
        sides(&mut self.gx, 1);
        let stride = self.window.nx;
        sides(&mut self.gy, stride);
        Ok(())
    }

    /// Joins planes by barrels: the wall's conductance is shared out among the pixels of its ring.
    fn place_barrels(
        &mut self,
        problem: &SheetProblem,
        groups: &Groups<'_>,
        group: &Group,
        lattice: &Lattice,
    ) {
        let area = self.window.cells();
        // Which island of the group has copper in a pixel of a plane.
        let owner_at = |this: &Self, plane: usize, pixel: usize| -> Option<usize> {
            let (i, j) = (pixel % this.window.nx + this.window.i0, pixel / this.window.nx + this.window.j0);
            this.planes[plane].islands.iter().copied().find(|island| {
                let raster = &this.rasters[*island];
                let w = raster.window;
                (w.i0..w.i0 + w.nx).contains(&i)
                    && (w.j0..w.j0 + w.ny).contains(&j)
                    && raster.has_copper((j - w.j0) * w.nx + i - w.i0)
            })
        };
        for &index in &group.barrels {
            let barrel = &problem.barrels[index];
            let joined: Vec<usize> = groups.touched[index]
                .iter()
                .filter_map(|island| group.islands.iter().position(|i| i == island))
                .collect();
            let wanted: Vec<usize> = joined.iter().map(|island| self.plane_of[*island]).collect();
            let (Some(&top), Some(&bottom)) = (wanted.iter().min(), wanted.iter().max()) else { continue };
            let fits = |pixel: usize| {
                (top..=bottom).all(|plane| match owner_at(self, plane, pixel) {
                    Some(island) => joined.contains(&island),
                    None => !wanted.contains(&plane),
                })
            };
            let ring: Vec<(usize, f64)> = ring_pixels(barrel, lattice, &self.window)
                .into_iter()
                .filter(|(pixel, _)| fits(*pixel))
                .collect();
            let on_ring: f64 = ring.iter().map(|r| r.1).sum();
            let columns: Vec<(usize, f64)> = if on_ring > 1e-3 {
                ring.into_iter().filter(|r| r.1 > 0.0).map(|(p, part)| (p, part / on_ring)).collect()
            } else {
                let even = 1.0 / ring.len().max(1) as f64;
                ring.into_iter().map(|(p, _)| (p, even)).collect()
            };
            if columns.is_empty() || top == bottom {
                self.lost_barrels.push(index);
                continue;
            }
            for plane in top..bottom {
                let g = self.piece_s(problem, barrel, plane);
                for (pixel, part) in &columns {
                    self.gz[plane * area + pixel] += g * part;
                }
            }
            self.barrels.push(BarrelColumns { barrel: index, columns, planes: top..=bottom });
        }
    }

    /// Conductance of a barrel from a plane to the next, S: ring section over resistivity and length. Islands of one layer
    /// that stand in two planes meet the barrel at one depth.
    pub fn piece_s(&self, problem: &SheetProblem, barrel: &Barrel, plane: usize) -> f64 {
        let (from, to) =
            (&problem.layers[self.planes[plane].layer], &problem.layers[self.planes[plane + 1].layer]);
        let rho = annealed_ohm_m(barrel.temperature_c).value;
        let length_m = to.depth_m - from.depth_m;
        if length_m <= 0.0 {
            return LAND_FACTOR * from.thickness_m / rho;
        }
        let section_m2 = std::f64::consts::PI * (barrel.drilled_m - barrel.plating_m) * barrel.plating_m;
        section_m2 / (rho * length_m)
    }

    /// The system for the solver: held cells are left out, and the sides to them lead to 0 V. Where no cell is held, one
    /// is tied to 0 V; no current flows there, for the currents sum to 0.
    pub fn system(&self, problem: &SheetProblem) -> Result<(Grid, Conductances), SheetError> {
        let (nx, ny, nz) = (self.window.nx, self.window.ny, self.planes.len());
        let lines = |count: usize| (0..=count).map(|i| i as f64).collect();
        let grid = Grid::new(lines(nx), lines(ny), lines(nz)).map_err(SheetError::Grid)?;
        let (mut gx, mut gy) = (self.gx.clone(), self.gy.clone());
        let mut gz = if self.gz.is_empty() { vec![0.0; nx * ny] } else { self.gz.clone() };
        let mut ground = vec![0.0; gx.len()];
        if self.held.is_empty() {
            if let Some(&(cell, _)) = self.contacts.first().and_then(|parts| parts.first()) {
                let plane = cell / (nx * ny);
                let thickness = problem.layers[self.planes[plane].layer].thickness_m;
                ground[cell] = thickness / self.resistivity(plane, cell % (nx * ny));
            }
        } else {
            for (g, step) in [(&mut gx, 1), (&mut gy, nx), (&mut gz, nx * ny)] {
                for c in 0..ground.len().saturating_sub(step) {
                    if g[c] > 0.0 && (self.held[c] || self.held[c + step]) {
                        if !self.held[c] {
                            ground[c] += g[c];
                        } else if !self.held[c + step] {
                            ground[c + step] += g[c];
                        }
                        g[c] = 0.0;
                    }
                }
            }
        }
        let system = Conductances::from_faces(&grid, gx, gy, gz, ground).map_err(SheetError::Grid)?;
        Ok((grid, system))
    }
}

/// Puts islands into planes: those of a layer into one, unless they share a pixel.
fn planes(
    groups: &Groups<'_>,
    group: &Group,
    rasters: &[Raster],
    window: &Window,
) -> (Vec<Plane>, Vec<usize>) {
    let mut planes: Vec<Plane> = Vec::new();
    let mut taken: Vec<Vec<bool>> = Vec::new();
    let mut plane_of = vec![0; rasters.len()];
    for (number, &island) in group.islands.iter().enumerate() {
        let (layer, raster) = (groups.islands[island].layer, &rasters[number]);
        let at = |c: usize| window.index_of(&raster.window, c % raster.window.nx, c / raster.window.nx);
        let copper: Vec<usize> = (0..raster.share.len()).filter(|c| raster.has_copper(*c)).map(at).collect();
        let free = (0..planes.len())
            .find(|plane| planes[*plane].layer == layer && !copper.iter().any(|c| taken[*plane][*c]));
        let plane = free.unwrap_or_else(|| {
            planes.push(Plane { layer, islands: Vec::new() });
            taken.push(if group.islands.len() > 1 { vec![false; window.cells()] } else { Vec::new() });
            planes.len() - 1
        });
        if group.islands.len() > 1 {
            copper.iter().for_each(|c| taken[plane][*c] = true);
        }
        planes[plane].islands.push(number);
        plane_of[number] = plane;
    }
    (planes, plane_of)
}

/// Pixels of an island under a contact and each one's part: by common area, or, for metal, those of which it covers half,
/// by their copper.
fn pixels_of(area: &Area, raster: &Raster, lattice: &Lattice, metal: bool) -> Parts {
    let Some(bounds) = area.bounds() else { return Vec::new() };
    let own = lattice.window(&bounds);
    let (x, y) = lattice.lines_nm(&own);
    let covered = coverage(area, &x, &y);
    let w = raster.window;
    let mut pixels: Vec<(usize, f64, f64)> = Vec::new();
    for j in 0..own.ny {
        for i in 0..own.nx {
            let (gi, gj) = (own.i0 + i, own.j0 + j);
            let inside = (w.i0..w.i0 + w.nx).contains(&gi) && (w.j0..w.j0 + w.ny).contains(&gj);
            let share = covered[j * own.nx + i];
            if !inside || share <= 0.0 {
                continue;
            }
            let c = (gj - w.j0) * w.nx + gi - w.i0;
            let conducts = raster.open_x[c] > 0.0
                || raster.open_y[c] > 0.0
                || (c > 0 && raster.open_x[c - 1] > 0.0)
                || (c >= w.nx && raster.open_y[c - w.nx] > 0.0);
            if conducts && raster.has_copper(c) {
                pixels.push((c, share.min(raster.share[c]), share));
            }
        }
    }
    if metal {
        let half: Vec<_> = pixels.iter().copied().filter(|p| p.1 >= 0.5 * raster.share[p.0]).collect();
        if half.is_empty() {
            // Smaller than a pixel: the one with most of it.
            pixels.sort_by(|a, b| b.1.total_cmp(&a.1));
            pixels.truncate(1);
        } else {
            pixels = half;
        }
    }
    let whole: f64 = pixels.iter().map(|p| p.1).sum();
    if whole > 0.0 { pixels.into_iter().map(|(c, part, _)| (c, part / whole)).collect() } else { Vec::new() }
}

/// Pixels near a barrel and each one's part of the wall (0 off the wall, within the registration and a pixel).
fn ring_pixels(barrel: &Barrel, lattice: &Lattice, window: &Window) -> Vec<(usize, f64)> {
    let drilled_nm = 1e9 * barrel.drilled_m;
    let reach_nm = 2.0 * f64::from(REGISTRATION_NM) + 2.0 * lattice.pitch_nm;
    let Some(bounds) = Area::disc(barrel.at, drilled_nm + reach_nm).bounds() else { return Vec::new() };
    let own = lattice.window(&bounds);
    let (x, y) = lattice.lines_nm(&own);
    let wall = |diameter: f64| coverage(&Area::disc(barrel.at, diameter), &x, &y);
    let (outer, inner) = (wall(drilled_nm), wall(drilled_nm - 2e9 * barrel.plating_m));
    let mut pixels = Vec::new();
    for j in 0..own.ny {
        for i in 0..own.nx {
            let (gi, gj) = (own.i0 + i, own.j0 + j);
            let (wi, wj) = (gi.wrapping_sub(window.i0), gj.wrapping_sub(window.j0));
            if wi < window.nx && wj < window.ny {
                let c = j * own.nx + i;
                pixels.push((wj * window.nx + wi, (outer[c] - inner[c]).max(0.0)));
            }
        }
    }
    pixels
}

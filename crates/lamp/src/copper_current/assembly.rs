//! Islands to groups that conduct together, and a group to a grid with conductances and sources.

use std::collections::HashMap;

use artwork::coverage::coverage;
use artwork::nets::REGISTRATION_NM;
use artwork::shape::{Area, Bounds, Point, Polygon};
use conduction::{Foil, FoilSheet};
use rayon::prelude::*;

use super::copper::annealed_ohm_m;
use super::problem::{Barrel, Contact, ContactKind, SheetError, SheetProblem};
use super::raster::{Lattice, Raster};

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

pub(super) fn bounds_of(points: &[Point]) -> Option<Bounds> {
    let first = *points.first()?;
    Some(points.iter().fold(Bounds { min: first, max: first }, |b, p| b.joined(&Bounds { min: *p, max: *p })))
}

/// Whether a box grown by `reach_nm` may meet a way.
fn near_box(bounds: &Bounds, path: &[Point], reach_nm: f64) -> bool {
    let Some(way) = bounds_of(path) else { return false };
    let meets = |low: i32, high: i32, way_low: i32, way_high: i32| {
        f64::from(low) - reach_nm <= f64::from(way_high) && f64::from(way_low) <= f64::from(high) + reach_nm
    };
    meets(bounds.min.x_nm, bounds.max.x_nm, way.min.x_nm, way.max.x_nm)
        && meets(bounds.min.y_nm, bounds.max.y_nm, way.min.y_nm, way.max.y_nm)
}

/// Whether a polygon lies within a distance of a way: of one of its points, looked at in steps of half the distance.
fn meets_path(polygon: &Polygon, path: &[Point], reach_nm: f64) -> bool {
    let within = |at: Point| is_within(polygon, at, reach_nm);
    path.iter().copied().any(within)
        || path.windows(2).any(|pair| {
            let [from, to] = [pair[0], pair[1]].map(|p| [f64::from(p.x_nm), f64::from(p.y_nm)]);
            let (dx, dy) = (to[0] - from[0], to[1] - from[1]);
            let steps = (dx.hypot(dy) / (0.5 * reach_nm).max(1.0)).ceil().min(MOST_STEPS) as usize;
            (1..steps).any(|step| {
                let part = step as f64 / steps as f64;
                within(Point::rounded(from[0] + part * dx, from[1] + part * dy))
            })
        })
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
                && near_box(&island.bounds, &barrel.path, reach_nm)
                && meets_path(island.shape, &barrel.path, reach_nm)
        })
        .map(|(index, _)| index)
        .collect()
}

/// Most steps in which a slot's way is looked at.
const MOST_STEPS: f64 = 1e4;

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

/// Cells of a contact: index in the group and part of the contact; parts sum to 1.
pub(super) type Parts = Vec<(usize, f64)>;

/// A piece of a barrel's wall: the cells it joins, its conductance, S, and its part of the wall round the hole.
#[derive(Debug, Clone, Copy)]
pub(super) struct WallPart {
    pub from: usize,
    pub to: usize,
    pub g: f64,
    pub part: f64,
}

/// A barrel from layer to layer.
#[derive(Debug, Clone)]
pub(super) struct BarrelPieces {
    pub barrel: usize,
    pub pieces: Vec<Vec<WallPart>>,
}

/// An island of a group on its pixels, its cells counted from `base` among the group's.
#[derive(Debug, Clone)]
pub(super) struct Sheet {
    pub layer: usize,
    pub base: usize,
    pub raster: Raster,
    /// Conductances to the pixels at larger x and y, S.
    pub gx: Vec<f32>,
    pub gy: Vec<f32>,
    /// Resistivities, Ω·m: one, or one for each pixel.
    resistivity_ohm_m: Vec<f64>,
}

/// A group's islands with what joins them.
#[derive(Debug, Clone)]
pub(super) struct Assembly {
    /// In the group's order.
    pub sheets: Vec<Sheet>,
    pub cells: usize,
    /// Cells held at 0 V.
    pub held: Vec<usize>,
    /// Whether a cell lies under a land or a held contact; empty when none does.
    pub metal: Vec<bool>,
    /// Parts of the group's contacts, in the group's order.
    pub contacts: Vec<Parts>,
    pub barrels: Vec<BarrelPieces>,
    /// Barrels of the group that find no common place at this pitch.
    pub lost_barrels: Vec<usize>,
}

impl Sheet {
    fn new(problem: &SheetProblem, island: &Island<'_>, lattice: &Lattice) -> Self {
        let raster = Raster::new(island.shape, &island.bounds, lattice);
        let layer = &problem.layers[island.layer];
        let (x_mm, y_mm) = lattice.middles_mm(&raster.window);
        let rho = layer.temperature.resistivities_ohm_m(&x_mm, &y_mm);
        let (thickness, nx) = (layer.thickness_m, raster.window.nx);
        // Pixels are square: the conductance of a whole side is that of a square.
        let spread = |open: &[f32], step: usize| -> Vec<f32> {
            if let [rho] = rho[..] {
                let square = (thickness / rho) as f32;
                return open.iter().map(|open| open * square).collect();
            }
            let side = |(p, open): (usize, &f32)| {
                if *open > 0.0 { open * (thickness * 2.0 / (rho[p] + rho[p + step])) as f32 } else { 0.0 }
            };
            open.iter().enumerate().map(side).collect()
        };
        let (gx, gy) = (spread(&raster.open_x, 1), spread(&raster.open_y, nx));
        Self { layer: island.layer, base: 0, raster, gx, gy, resistivity_ohm_m: rho }
    }

    /// Resistivity of a pixel, Ω·m.
    fn resistivity(&self, pixel: usize) -> f64 {
        if let [only] = self.resistivity_ohm_m[..] { only } else { self.resistivity_ohm_m[pixel] }
    }

    /// The pixel at a place of the lattice, if it has copper.
    fn copper_at(&self, [i, j]: [usize; 2]) -> Option<usize> {
        let w = self.raster.window;
        let inside = (w.i0..w.i0 + w.nx).contains(&i) && (w.j0..w.j0 + w.ny).contains(&j);
        let pixel = inside.then(|| (j - w.j0) * w.nx + i - w.i0)?;
        self.raster.has_copper(pixel).then_some(pixel)
    }
}

impl Assembly {
    pub fn new(
        problem: &SheetProblem,
        groups: &Groups<'_>,
        group: &Group,
        lattice: &Lattice,
    ) -> Result<Self, SheetError> {
        let mut sheets: Vec<Sheet> = group
            .islands
            .par_iter()
            .map(|&island| Sheet::new(problem, &groups.islands[island], lattice))
            .collect();
        let mut cells = 0;
        for sheet in &mut sheets {
            sheet.base = cells;
            cells += sheet.raster.window.cells();
        }
        let mut assembly = Self {
            sheets,
            cells,
            held: Vec::new(),
            metal: Vec::new(),
            contacts: Vec::new(),
            barrels: Vec::new(),
            lost_barrels: Vec::new(),
        };
        assembly.place_contacts(problem, groups, group, lattice)?;
        assembly.place_barrels(problem, groups, group, lattice);
        Ok(assembly)
    }

    /// The sheet of a cell.
    pub fn sheet_of(&self, cell: usize) -> &Sheet {
        &self.sheets[self.sheets.partition_point(|sheet| sheet.base <= cell).saturating_sub(1)]
    }

    /// The cells beside one and the conductances to them, S.
    pub fn sides(&self, cell: usize) -> [(usize, f64); 4] {
        let sheet = self.sheet_of(cell);
        let (c, nx) = (cell - sheet.base, sheet.raster.window.nx);
        [
            (cell.wrapping_sub(1), if c > 0 { f64::from(sheet.gx[c - 1]) } else { 0.0 }),
            (cell + 1, f64::from(sheet.gx[c])),
            (cell.wrapping_sub(nx), if c >= nx { f64::from(sheet.gy[c - nx]) } else { 0.0 }),
            (cell + nx, f64::from(sheet.gy[c])),
        ]
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
        let is_metal = |number: usize| {
            !matches!(problem.contacts[group.contacts[number]].kind, ContactKind::Spread { .. })
        };
        let mut owner: HashMap<usize, usize> = HashMap::new();
        for (number, &index) in group.contacts.iter().enumerate() {
            let contact = &problem.contacts[index];
            let island = group.islands.iter().position(|i| *i == groups.of_contact[index]).unwrap_or(0);
            let sheet = &self.sheets[island];
            let pixels = pixels_of(&contact.area, &sheet.raster, lattice, is_metal(number));
            if pixels.is_empty() {
                let layer = problem.layers[contact.layer].name.clone();
                return Err(SheetError::NoCopper { contact: contact.name.clone(), layer });
            }
            let parts: Parts = pixels.into_iter().map(|(c, part)| (sheet.base + c, part)).collect();
            for (cell, _) in &parts {
                if let Some(before) = owner.insert(*cell, number)
                    && (is_metal(number) || is_metal(before))
                {
                    let name = |n: usize| problem.contacts[group.contacts[n]].name.clone();
                    return Err(SheetError::Overlap { contact: name(before), other: name(number) });
                }
            }
            if contact.kind == ContactKind::Held {
                self.held.extend(parts.iter().map(|part| part.0));
            }
            self.contacts.push(parts);
        }
        if !(0..self.contacts.len()).any(is_metal) {
            return Ok(());
        }
        self.metal = vec![false; self.cells];
        for number in (0..self.contacts.len()).filter(|number| is_metal(*number)) {
            for at in 0..self.contacts[number].len() {
                let cell = self.contacts[number][at].0;
                self.metal[cell] = true;
                self.widen_sides(cell, |other| {
                    let other = owner.get(&other).copied().filter(|other| is_metal(*other));
                    (other == Some(number), other.is_some())
                });
            }
        }
        Ok(())
    }

    /// Makes a metal cell's sides conduct better, by whether the cell beyond is of the same metal, and of any. A side
    /// between two metal cells is that of the lower one.
    fn widen_sides(&mut self, cell: usize, other: impl Fn(usize) -> (bool, bool)) {
        let index = self.sheets.partition_point(|sheet| sheet.base <= cell).saturating_sub(1);
        let sheet = &mut self.sheets[index];
        let (c, base) = (cell - sheet.base, sheet.base);
        for (g, step) in [(&mut sheet.gx, 1), (&mut sheet.gy, sheet.raster.window.nx)] {
            g[c] *= if other(base + c + step).0 { LAND_FACTOR as f32 } else { 2.0 };
            if c >= step && !other(base + c - step).1 {
                g[c - step] *= 2.0;
            }
        }
    }

    /// Joins islands by barrels: the wall's conductance is shared out among the pixels of its ring on which all islands
    /// that it joins have copper, and no other.
    fn place_barrels(
        &mut self,
        problem: &SheetProblem,
        groups: &Groups<'_>,
        group: &Group,
        lattice: &Lattice,
    ) {
        for &index in &group.barrels {
            let barrel = &problem.barrels[index];
            let joined: Vec<usize> = groups.touched[index]
                .iter()
                .filter_map(|island| group.islands.iter().position(|i| i == island))
                .collect();
            let mut layers: Vec<usize> = joined.iter().map(|island| self.sheets[*island].layer).collect();
            layers.sort_unstable();
            layers.dedup();
            let (Some(&top), Some(&bottom)) = (layers.first(), layers.last()) else { continue };
            let fits = |at: [usize; 2]| {
                let strange = |(number, sheet): (usize, &Sheet)| {
                    (top..=bottom).contains(&sheet.layer)
                        && !joined.contains(&number)
                        && sheet.copper_at(at).is_some()
                };
                layers.iter().all(|layer| self.owners(&joined, *layer, at).next().is_some())
                    && !self.sheets.iter().enumerate().any(strange)
            };
            let ring: Vec<([usize; 2], f64)> =
                ring_pixels(barrel, lattice).into_iter().filter(|(at, _)| fits(*at)).collect();
            let on_ring: f64 = ring.iter().map(|r| r.1).sum();
            let columns: Vec<([usize; 2], f64)> = if on_ring > 1e-3 {
                ring.into_iter().filter(|r| r.1 > 0.0).map(|(p, part)| (p, part / on_ring)).collect()
            } else {
                let even = 1.0 / ring.len().max(1) as f64;
                ring.into_iter().map(|(p, _)| (p, even)).collect()
            };
            let pieces = self.pieces(problem, barrel, &joined, &layers, &columns);
            if pieces.is_empty() {
                self.lost_barrels.push(index);
            } else {
                self.barrels.push(BarrelPieces { barrel: index, pieces });
            }
        }
    }

    /// Cells of joined islands of a layer with copper at a place.
    fn owners<'a>(
        &'a self,
        joined: &'a [usize],
        layer: usize,
        at: [usize; 2],
    ) -> impl Iterator<Item = usize> + 'a {
        let sheets = joined.iter().map(|island| &self.sheets[*island]);
        sheets
            .filter(move |sheet| sheet.layer == layer)
            .filter_map(move |sheet| Some(sheet.base + sheet.copper_at(at)?))
    }

    /// A barrel's wall from layer to layer, S: ring section over resistivity and length. Islands of one layer that share a
    /// pixel meet the barrel at one depth.
    fn pieces(
        &self,
        problem: &SheetProblem,
        barrel: &Barrel,
        joined: &[usize],
        layers: &[usize],
        columns: &[([usize; 2], f64)],
    ) -> Vec<Vec<WallPart>> {
        let rho = annealed_ohm_m(barrel.temperature_c).value;
        let mut pieces = Vec::new();
        for (number, &layer) in layers.iter().enumerate() {
            let mut level = Vec::new();
            let mut down = Vec::new();
            for &(at, part) in columns {
                let mut here = self.owners(joined, layer, at);
                let Some(first) = here.next() else { continue };
                let g = LAND_FACTOR * problem.layers[layer].thickness_m / rho * part;
                level.extend(here.map(|other| WallPart { from: first, to: other, g, part }));
                let Some(&next) = layers.get(number + 1) else { continue };
                let Some(below) = self.owners(joined, next, at).next() else { continue };
                let length_m = problem.layers[next].depth_m - problem.layers[layer].depth_m;
                let g = barrel.section_m2() / (rho * length_m) * part;
                down.push(WallPart { from: first, to: below, g, part });
            }
            pieces.extend([level, down].into_iter().filter(|piece| !piece.is_empty()));
        }
        pieces
    }

    /// What the solver is given. Where no cell is held, one is tied to 0 V; no current flows there, for the currents
    /// sum to 0.
    pub fn foil(&self, problem: &SheetProblem) -> Foil<'_> {
        let sheets = self.sheets.iter().map(|sheet| FoilSheet {
            first: [sheet.raster.window.i0, sheet.raster.window.j0],
            nx: sheet.raster.window.nx,
            ny: sheet.raster.window.ny,
            // Walls mostly go from a layer to the next.
            odd: sheet.layer % 2 == 1,
            gx: &sheet.gx,
            gy: &sheet.gy,
        });
        let walls = self.barrels.iter().flat_map(|barrel| barrel.pieces.iter().flatten());
        let mut foil = Foil {
            sheets: sheets.collect(),
            links: walls.map(|wall| (wall.from, wall.to, wall.g as f32)).collect(),
            ground: Vec::new(),
            held: self.held.clone(),
        };
        if self.held.is_empty()
            && let Some(&(cell, _)) = self.contacts.first().and_then(|parts| parts.first())
        {
            let sheet = self.sheet_of(cell);
            let thickness = problem.layers[sheet.layer].thickness_m;
            foil.ground.push((cell, (thickness / sheet.resistivity(cell - sheet.base)) as f32));
        }
        foil
    }
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
                pixels.push((c, share.min(f64::from(raster.share[c])), share));
            }
        }
    }
    if metal {
        let half: Vec<_> =
            pixels.iter().copied().filter(|p| p.1 >= 0.5 * f64::from(raster.share[p.0])).collect();
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

/// Pixels of the lattice near a barrel and each one's part of the wall (0 off the wall, within the registration and a pixel).
fn ring_pixels(barrel: &Barrel, lattice: &Lattice) -> Vec<([usize; 2], f64)> {
    let drilled_nm = 1e9 * barrel.drilled_m;
    let reach_nm = 2.0 * f64::from(REGISTRATION_NM) + 2.0 * lattice.pitch_nm;
    let drawn = |diameter_nm: f64| match barrel.path[..] {
        [at] => Area::disc(at, diameter_nm),
        _ => Area::track(&barrel.path, diameter_nm),
    };
    let Some(bounds) = drawn(drilled_nm + reach_nm).bounds() else { return Vec::new() };
    let own = lattice.window(&bounds);
    let (x, y) = lattice.lines_nm(&own);
    let wall = |diameter: f64| coverage(&drawn(diameter), &x, &y);
    let (outer, inner) = (wall(drilled_nm), wall(drilled_nm - 2e9 * barrel.plating_m));
    let at = |c: usize| [own.i0 + c % own.nx, own.j0 + c / own.nx];
    (0..own.cells()).map(|c| (at(c), (outer[c] - inner[c]).max(0.0))).collect()
}

//! Conductances, faces and footprints of a variant on its grid.

use artwork::coverage::coverage;

use super::bores::BoreShares;
use super::copper::{PLATED_COPPER_W_PER_M_K, SheetConductances, Strips, in_series};
use super::factors::Factors;
use super::footprints::Footprint;
use super::plan::Plan;
use super::planes::Plane;
use super::surfaces::{AirBack, Extent, Surface, SurfaceKind, SurfacePiece};
use crate::as_built::{Cooling, Face, Lamp, LayerKind, Mask, StackLayer, Variant};
use crate::bond_line::{BondLine, Resistances};

/// Columns of which the board or base covers less than this are left out.
const LEAST_SHARE: f64 = 0.01;

/// What lies between two planes besides their own halves.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Interface {
    /// Nothing: the same layer, or layers in full contact with this resistance, m²K/W.
    Contact(f64),
    /// The thermal interface under the board.
    Bond,
}

/// A variant on its grid.
pub(crate) struct Gridded {
    pub plan: Plan,
    pub planes: Vec<Plane>,
    /// Below each plane but the last.
    pub interfaces: Vec<Interface>,
    /// Area of each column, m².
    pub areas_m2: Vec<f64>,
    /// Part of each column that the board fills, bare bores taken out; 0 where it is left out.
    pub board_share: Vec<f64>,
    /// Part of each column that the base fills; 0 where it is left out.
    pub base_share: Vec<f64>,
    /// Conductivity through the thickness of each layer, mean over the column's whole area, W/m/K; the base last.
    kz: Vec<Vec<f64>>,
    /// Part of it, in insulating layers, that the barrels of plated holes bring, W/m/K.
    barrels_w_per_m_k: Vec<f64>,
    /// For each dielectric layer through which a core stands up in pedestals, what these bring to its conductivity through, mean over
    /// each column, W/m/K.
    pedestals: Vec<Option<Vec<f64>>>,
    /// Whether each layer is of one substance everywhere.
    plain: Vec<bool>,
    /// How it departs from what the variant says.
    factors: Factors,
    /// Part of each column with mask under the board, times its resistance, m²K/W.
    mask_under_m2k_per_w: Vec<f64>,
    /// Conductances to the next cell along x, y and z, W/K; cell = (plane * ny + j) * nx + i.
    pub gx: Vec<f64>,
    pub gy: Vec<f64>,
    pub gz: Vec<f64>,
    pub surfaces: Vec<Surface>,
    /// Under each emitter's thermal land.
    pub emitters: Vec<Footprint>,
    /// Under each heat patch.
    pub heat_patches: Vec<Footprint>,
}

impl Gridded {
    pub fn new(lamp: &Lamp, variant: &Variant, plan: Plan, planes: Vec<Plane>, bond_line: &BondLine) -> Self {
        let areas_m2 = plan.areas_m2();
        let outline = coverage(&variant.outline, &plan.x_nm, &plan.y_nm);
        let bores = BoreShares::new(&variant.bores, &plan.x_nm, &plan.y_nm);
        let board_share: Vec<f64> =
            outline.iter().zip(&bores.bare).map(|(o, b)| kept(o * (1.0 - b))).collect();
        let base_share: Vec<f64> = match &variant.heatsink {
            Some(h) => coverage(&h.base, &plan.x_nm, &plan.y_nm).into_iter().map(kept).collect(),
            None => vec![0.0; plan.columns()],
        };
        let present = |column: usize| board_share[column] > 0.0;
        let emitters =
            variant.emitters.iter().map(|e| Footprint::new(&e.thermal_land, &plan, present)).collect();
        let heat_patches =
            variant.heat_patches.iter().map(|p| Footprint::new(&p.area, &plan, present)).collect();
        let mask_under_m2k_per_w = masked(variant.mask_bottom.as_ref(), &plan);
        let interfaces = interfaces(variant, &planes);
        let cells = plan.columns() * planes.len();
        let mut gridded = Self {
            interfaces,
            areas_m2,
            kz: Vec::new(),
            barrels_w_per_m_k: barrels(&bores),
            pedestals: variant.layers.iter().map(|l| pedestals(l, &plan, &board_share)).collect(),
            board_share,
            base_share,
            plain: variant.layers.iter().map(|l| l.pattern.is_none()).collect(),
            factors: Factors::none(variant.layers.len()),
            mask_under_m2k_per_w,
            gx: vec![0.0; cells],
            gy: vec![0.0; cells],
            gz: vec![0.0; cells],
            surfaces: Vec::new(),
            emitters,
            heat_patches,
            plan,
            planes,
        };
        gridded.conduct_in_plane(variant, &bores);
        let bond = bond_line.resistances_m2k_per_w(&gridded.plan.x_nm, &gridded.plan.y_nm, 1.0);
        for plane in 0..gridded.planes.len().saturating_sub(1) {
            gridded.conduct_below(plane, &bond);
        }
        gridded.surfaces = gridded.faces(lamp, variant);
        gridded
    }

    /// Number of planes that belong to the board.
    pub fn board_planes(&self) -> usize {
        self.planes.iter().filter(|p| p.layer.is_some()).count()
    }

    /// Whether the column has a cell in this plane.
    pub fn is_present(&self, plane: usize, column: usize) -> bool {
        self.share(plane)[column] > 0.0
    }

    fn share(&self, plane: usize) -> &[f64] {
        match self.planes[plane].layer {
            Some(_) => &self.board_share,
            None => &self.base_share,
        }
    }

    /// From a cell's middle to its upper or lower face, times its whole area, m²K/W.
    pub fn half_m2k_per_w(&self, plane: usize, column: usize) -> f64 {
        self.half_with(&self.factors, plane, column)
    }

    fn half_with(&self, factors: &Factors, plane: usize, column: usize) -> f64 {
        let layer = self.planes[plane].layer;
        let at = factors.at(layer);
        let kz = self.kz[at][column];
        let standing = self.standing(layer, column);
        if standing > 0.0 {
            // A pedestal is of the core's substance and does not follow the dielectric.
            let rest = (kz - standing).max(0.0) * factors.conductivity[at] / factors.thickness[at];
            return 0.5 * self.planes[plane].thickness_m / (rest + standing);
        }
        let barrels = if self.is_insulating(layer) { self.barrels_w_per_m_k[column].min(kz) } else { 0.0 };
        let kz = (kz - barrels) * factors.conductivity[at] + barrels * factors.barrel;
        0.5 * self.planes[plane].thickness_m * factors.thickness[at] / kz
    }

    /// What pedestals bring to a layer's conductivity through, mean over a column, W/m/K.
    fn standing(&self, layer: Option<usize>, column: usize) -> f64 {
        let own = layer.and_then(|index| self.pedestals.get(index)?.as_ref());
        own.map_or(0.0, |all| all[column])
    }

    /// The part of what passes between two neighbours in a plane that follows the layer's own substance: that of the one with less of a
    /// pedestal in it, for the better conductor of two in series counts little.
    fn follows(&self, plane: usize, a: usize, b: usize) -> f64 {
        let layer = self.planes[plane].layer;
        let columns = self.plan.columns();
        let part = |cell: usize| {
            let (column, kz) = (cell % columns, self.kz[self.factors.at(layer)][cell % columns]);
            if kz > 0.0 { 1.0 - self.standing(layer, column) / kz } else { 1.0 }
        };
        if layer.is_some_and(|index| self.pedestals[index].is_some()) { part(a).max(part(b)) } else { 1.0 }
    }

    /// The part of the resistance from a cell's middle to its upper or lower face that changes with the layer's own substance; the
    /// rest changes with what stands in it.
    pub fn half_follows(&self, plane: usize, column: usize) -> f64 {
        let layer = self.planes[plane].layer;
        let standing = self.standing(layer, column);
        if standing <= 0.0 {
            return 1.0;
        }
        let at = self.factors.at(layer);
        let rest = (self.kz[at][column] - standing).max(0.0) * self.factors.conductivity[at]
            / self.factors.thickness[at];
        rest / (rest + standing)
    }

    /// Whether the substance of a layer stands up in pedestals through a plane above it.
    pub fn stands_in(&self, plane: usize, layer: Option<usize>) -> bool {
        let of = |plane: usize| self.planes[plane].layer;
        let below = of(plane).map(|own| own + 1);
        let pedestals = of(plane).and_then(|own| self.pedestals.get(own)).is_some_and(Option::is_some);
        layer.is_some() && below == layer && pedestals
    }

    /// As [`Gridded::along`], that part alone which follows the layer's own substance.
    pub fn following(&self, plane: usize) -> impl Iterator<Item = (usize, usize, f64)> + '_ {
        self.along(plane).map(move |(a, b, g)| (a, b, g * self.follows(plane, a, b)))
    }

    /// Whether barrels stand out in a layer: those without a pattern of copper.
    fn is_insulating(&self, layer: Option<usize>) -> bool {
        layer.is_some_and(|index| self.plain.get(index).copied().unwrap_or(false))
    }

    fn conduct_in_plane(&mut self, variant: &Variant, bores: &BoreShares) {
        let patterned = variant.layers.iter().any(|l| l.pattern.is_some());
        let strips = patterned.then(|| Strips::new(variant, &self.plan));
        for (index, layer) in variant.layers.iter().enumerate() {
            let sheet = match (&strips, &layer.pattern) {
                (Some(strips), Some(_)) => strips.conductances(layer),
                _ => self.plain_layer(layer, bores),
            };
            self.lay(Some(index), &sheet);
            self.kz.push(sheet.kz);
        }
        if let Some(heatsink) = &variant.heatsink {
            let m = &heatsink.material;
            let share = |k: f64| self.base_share.iter().map(|s| s * k).collect::<Vec<f64>>();
            let (kx, ky, kz) = (share(m.kx_w_per_m_k), share(m.ky_w_per_m_k), share(m.kz_w_per_m_k));
            let sheet = averaged(&self.plan, &kx, &ky, kz);
            self.lay(None, &sheet);
            self.kz.push(sheet.kz);
        }
    }

    /// A layer of one substance. Plated bores conduct through it by their shares; across, they are well conducting
    /// cylinders: `k (1 + v) / (1 - v)` with v their share (Rayleigh 1892, Phil. Mag. 34, 481-502, first term).
    fn plain_layer(&self, layer: &StackLayer, bores: &BoreShares) -> SheetConductances {
        let m = &layer.material;
        let across = |k: f64| -> Vec<f64> {
            let with_vias = |(share, v): (&f64, &f64)| {
                let v = v.min(0.999);
                share * (k * (1.0 + v) / (1.0 - v)).min(k.max(PLATED_COPPER_W_PER_M_K))
            };
            self.board_share.iter().zip(&bores.plated).map(with_vias).collect()
        };
        let through = |(column, share): (usize, &f64)| {
            if *share <= 0.0 {
                return 0.0;
            }
            let (plated, inside) = (bores.plated[column], bores.inside[column]);
            (share - plated).max(0.0) * m.kz_w_per_m_k
                + (plated - inside).max(0.0) * PLATED_COPPER_W_PER_M_K
                + bores.inside_w_per_m_k[column]
        };
        let kz = self.board_share.iter().enumerate().map(through).collect();
        averaged(&self.plan, &across(m.kx_w_per_m_k), &across(m.ky_w_per_m_k), kz)
    }

    /// Puts a layer's conductances into all its planes.
    fn lay(&mut self, layer: Option<usize>, sheet: &SheetConductances) {
        let (nx, columns) = (self.plan.nx(), self.plan.columns());
        let share = if layer.is_some() { &self.board_share } else { &self.base_share };
        for (plane, of) in self.planes.iter().enumerate().filter(|(_, p)| p.layer == layer) {
            let start = plane * columns;
            for column in 0..columns {
                if share[column] <= 0.0 {
                    continue;
                }
                if (column + 1) % nx != 0 && share[column + 1] > 0.0 {
                    self.gx[start + column] = of.thickness_m * sheet.gx[column];
                }
                if column + nx < columns && share[column + nx] > 0.0 {
                    self.gy[start + column] = of.thickness_m * sheet.gy[column];
                }
            }
        }
    }

    /// Conductances from a plane to the next below; `bond` where the bond lies between.
    pub fn conduct_below(&mut self, plane: usize, bond: &Resistances) {
        let columns = self.plan.columns();
        let below = self.below_with(&self.factors, plane, bond);
        self.gz[plane * columns..(plane + 1) * columns].copy_from_slice(&below);
    }

    /// What a plane would conduct to the next below with other factors, W/K for each column; `bond`, with its factor in it, where
    /// the bond lies between.
    pub fn below_with(&self, factors: &Factors, plane: usize, bond: &Resistances) -> Vec<f64> {
        let through = |column: usize| {
            if !(self.is_present(plane, column) && self.is_present(plane + 1, column)) {
                return 0.0;
            }
            let contact = self.share(plane)[column].min(self.share(plane + 1)[column]);
            let resistance = match self.interfaces[plane] {
                Interface::Contact(r) => r,
                Interface::Bond => bond.of(column) + self.mask_under_m2k_per_w[column],
            };
            let between = self.half_with(factors, plane, column)
                + resistance / contact
                + self.half_with(factors, plane + 1, column);
            self.areas_m2[column] / between
        };
        (0..self.plan.columns()).map(through).collect()
    }

    /// Every pair of neighbouring cells in a plane, and what passes between them, W/K.
    pub fn along(&self, plane: usize) -> impl Iterator<Item = (usize, usize, f64)> + '_ {
        let (nx, columns) = (self.plan.nx(), self.plan.columns());
        (plane * columns..(plane + 1) * columns).flat_map(move |cell| {
            let next = [(cell + 1, self.gx[cell]), (cell + nx, self.gy[cell])];
            next.into_iter().filter(|(_, g)| *g > 0.0).map(move |(next, g)| (cell, next, g))
        })
    }

    /// Takes over other factors in every conductance; `bond` with its factor in it.
    pub fn take_factors(&mut self, factors: &Factors, bond: &Resistances) {
        let (nx, columns) = (self.plan.nx(), self.plan.columns());
        for plane in 0..self.planes.len() {
            let layer = self.planes[plane].layer;
            let (now, then) = (factors.along(layer), self.factors.along(layer));
            if now == then {
                continue;
            }
            for cell in plane * columns..(plane + 1) * columns {
                let change = |next: usize| {
                    let part = self.follows(plane, cell, next);
                    (1.0 + (now - 1.0) * part) / (1.0 + (then - 1.0) * part)
                };
                let changes = [(cell + 1, self.gx[cell]), (cell + nx, self.gy[cell])]
                    .map(|(next, g)| if g > 0.0 { change(next) } else { 1.0 });
                self.gx[cell] *= changes[0];
                self.gy[cell] *= changes[1];
            }
        }
        self.factors = factors.clone();
        for plane in 0..self.planes.len().saturating_sub(1) {
            self.conduct_below(plane, bond);
        }
    }

    /// The factors that it has.
    pub fn factors(&self) -> &Factors {
        &self.factors
    }

    /// Index of the plane above the bond, where there is a heatsink.
    pub fn plane_above_bond(&self) -> Option<usize> {
        self.interfaces.iter().position(|i| *i == Interface::Bond)
    }

    fn faces(&self, lamp: &Lamp, variant: &Variant) -> Vec<Surface> {
        let mut surfaces = Vec::new();
        let board_planes = self.board_planes();
        let facing = lamp.facing;
        let columns = self.plan.columns();
        let board = self.extent(&self.board_share);
        if board_planes > 0 {
            let under_base = |column: usize| self.base_share[column] > 0.0;
            let top = self.pieces(0, &variant.mask_top, |_| true);
            surfaces.push(Surface::new(SurfaceKind::BoardTop, variant.top_face, facing, board, top));
            let back = self.pieces(board_planes - 1, &variant.mask_bottom, |c| !under_base(c));
            surfaces.push(Surface::new(SurfaceKind::BoardBack, variant.bottom_face, facing, board, back));
        }
        if let Some(heatsink) = &variant.heatsink {
            let base = self.extent(&self.base_share);
            let beside = |column: usize| self.board_share[column] <= 0.0;
            let front = match variant.top_face {
                Face::Open { .. } => Face::Open { emissivity: heatsink.front_emissivity },
                given => given,
            };
            let pieces = self.pieces(board_planes, &None, beside);
            surfaces.push(Surface::new(SurfaceKind::BaseFront, front, facing, base, pieces));
            let pieces = self.pieces(self.planes.len() - 1, &None, |_| true);
            debug_assert!(pieces.iter().all(|p| p.cell < columns * self.planes.len()));
            let mut back = Surface::new(SurfaceKind::BaseBack, Face::Adiabatic, facing, base, pieces);
            back.face = back_face(&heatsink.cooling, back.area_m2);
            back.air = air_back(&heatsink.cooling, &self.plan, &back);
            surfaces.push(back);
        }
        surfaces.retain(|s| !s.pieces.is_empty());
        surfaces
    }

    /// The open pieces of a plane's outer face, with and without mask.
    fn pieces(&self, plane: usize, mask: &Option<Mask>, open: impl Fn(usize) -> bool) -> Vec<SurfacePiece> {
        let columns = self.plan.columns();
        let openings = mask.as_ref().map(|m| coverage(&m.openings, &self.plan.x_nm, &self.plan.y_nm));
        let mask_m2k_per_w = mask.as_ref().map_or(0.0, |m| m.thickness_m / m.conductivity_w_per_m_k);
        let mut pieces = Vec::new();
        for column in (0..columns).filter(|c| self.is_present(plane, *c) && open(*c)) {
            let share = self.share(plane)[column];
            // The half cell's resistance is stated for the whole column: per area of what is there it is smaller.
            let half = self.half_m2k_per_w(plane, column) * share;
            let bare = openings.as_ref().map_or(share, |o| o[column].min(share));
            for (part, resistance) in [(bare, 0.0), (share - bare, mask_m2k_per_w)] {
                if part > 1e-6 {
                    pieces.push(SurfacePiece {
                        cell: plane * columns + column,
                        area_m2: part * self.areas_m2[column],
                        behind_m2k_per_w: half + resistance,
                    });
                }
            }
        }
        pieces
    }

    /// Height and area over perimeter of a plate.
    fn extent(&self, share: &[f64]) -> Extent {
        let (nx, columns) = (self.plan.nx(), self.plan.columns());
        let (mut area, mut low, mut high) = (0.0, (f64::INFINITY, f64::INFINITY), (0.0f64, 0.0f64));
        let (x0, y0) = (self.plan.x_nm[0], self.plan.y_nm[0]);
        for column in (0..columns).filter(|c| share[*c] > 0.0) {
            let (i, j) = (column % nx, column / nx);
            area += share[column] * self.areas_m2[column];
            low = (low.0.min(self.plan.x_nm[i] - x0), low.1.min(self.plan.y_nm[j] - y0));
            high = (high.0.max(self.plan.x_nm[i + 1] - x0), high.1.max(self.plan.y_nm[j + 1] - y0));
        }
        let (wide, tall) = (1e-9 * (high.0 - low.0), 1e-9 * (high.1 - low.1));
        Extent { upright_m: tall.max(1e-6), level_m: (area / (2.0 * (wide + tall))).max(1e-6) }
    }
}

/// What the base's back gives, as a film over its area.
pub(crate) fn back_face(cooling: &Cooling, back_area_m2: f64) -> Face {
    match cooling {
        Cooling::Resistance { k_per_w } => Face::Film { h_w_per_m2_k: 1.0 / (k_per_w * back_area_m2) },
        Cooling::Film { h_w_per_m2_k } => Face::Film { h_w_per_m2_k: *h_w_per_m2_k },
        Cooling::Air(_) => Face::Adiabatic,
    }
}

/// Fins, fan and vents behind the base's back, where they are given.
pub(crate) fn air_back(cooling: &Cooling, plan: &Plan, back: &Surface) -> Option<AirBack> {
    match cooling {
        Cooling::Air(side) => Some(AirBack::new(side, plan, &back.pieces)),
        Cooling::Resistance { .. } | Cooling::Film { .. } => None,
    }
}

fn kept(share: f64) -> f64 {
    if share < LEAST_SHARE { 0.0 } else { share }
}

/// What the core's pedestals bring to the conductivity through a dielectric layer, mean over each column, W/m/K; `None` where there are none.
fn pedestals(layer: &StackLayer, plan: &Plan, board_share: &[f64]) -> Option<Vec<f64>> {
    let pattern = layer.pattern.as_ref().filter(|_| layer.kind == LayerKind::Dielectric)?;
    let covered = coverage(pattern, &plan.x_nm, &plan.y_nm);
    // What rounding leaves of a column that the dielectric fills is no pedestal.
    let of = |(own, share): (f64, &f64)| if share - own > 1e-6 { share - own } else { 0.0 };
    let parts = covered.into_iter().zip(board_share).map(of);
    Some(parts.map(|part| part * layer.gap_conductivity_w_per_m_k).collect())
}

/// What the barrels of plated holes bring to the conductivity through an insulating layer, mean over each column, W/m/K.
fn barrels(bores: &BoreShares) -> Vec<f64> {
    let barrel = |(plated, inside): (&f64, &f64)| (plated - inside).max(0.0) * PLATED_COPPER_W_PER_M_K;
    bores.plated.iter().zip(&bores.inside).map(barrel).collect()
}

/// Resistance of the mask where it covers, spread over the column, m²K/W.
fn masked(mask: Option<&Mask>, plan: &Plan) -> Vec<f64> {
    match mask {
        Some(m) => coverage(&m.openings, &plan.x_nm, &plan.y_nm)
            .iter()
            .map(|open| (1.0 - open) * m.thickness_m / m.conductivity_w_per_m_k)
            .collect(),
        None => vec![0.0; plan.columns()],
    }
}

fn interfaces(variant: &Variant, planes: &[Plane]) -> Vec<Interface> {
    let below = |pair: &[Plane]| match (pair[0].layer, pair[1].layer) {
        (Some(_), None) => Interface::Bond,
        (Some(a), Some(b)) if a != b => {
            Interface::Contact(variant.layers.get(a).map_or(0.0, |l| l.resistance_below_m2k_per_w))
        }
        _ => Interface::Contact(0.0),
    };
    planes.windows(2).map(below).collect()
}

/// Conductances per metre of thickness from mean conductivities: halves of two cells in series.
fn averaged(plan: &Plan, kx: &[f64], ky: &[f64], kz: Vec<f64>) -> SheetConductances {
    let (nx, ny) = (plan.nx(), plan.ny());
    let (mut gx, mut gy) = (vec![0.0; nx * ny], vec![0.0; nx * ny]);
    for j in 0..ny {
        for i in 0..nx {
            let c = j * nx + i;
            if i + 1 < nx {
                let (a, b) = (0.5 * plan.dx_m(i), 0.5 * plan.dx_m(i + 1));
                gx[c] = plan.dy_m(j) * in_series(a, kx[c], b, kx[c + 1]);
            }
            if j + 1 < ny {
                let (a, b) = (0.5 * plan.dy_m(j), 0.5 * plan.dy_m(j + 1));
                gy[c] = plan.dx_m(i) * in_series(a, ky[c], b, ky[c + nx]);
            }
        }
    }
    SheetConductances { gx, gy, kz }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bond_line::BondWhatIf;
    use crate::gridding::GridChoice;
    use crate::project::{MemoryFolder, read};

    const LAMP: &str = r#"
        [drive]
        currents = ["1 A"]
        [[emitters]]
        sheet = "white-3.5mm"
        refs = ["D1"]
        at = [["10 mm", "8 mm"]]
        [heatsink]
        base = ["20 mm", "16 mm"]
        base_thickness = "3 mm"
        resistance = "2 K/W"
        [bond]
        resistance = "1e-5 m2K/W"
        [variant.only]
        outline = ["20 mm", "16 mm"]
        [variant.only.board]
        kind = "copper core"
        core_thickness = "1 mm"
        dielectric_conductivity = "2 W/m/K"
        dielectric_thickness = "100 um"
    "#;

    /// A dielectric that conducts twice as well halves what is against the heat beside the pedestal, and nothing in it: by hand, half a
    /// cell over its conductivity, and k t w / l along it.
    #[test]
    fn a_pedestal_does_not_follow_the_dielectric() {
        let reading = read(&MemoryFolder::new([("lamp.toml".to_owned(), LAMP.as_bytes().to_vec())]));
        assert!(!reading.has_errors(), "{:#?}", reading.remarks);
        let lamp = reading.lamp.unwrap();
        let variant = &lamp.variants[0];
        let choice = GridChoice { finest_pitch_m: Some(4e-4), cells_at_most: None };
        let (plan, planes) = choice.grid(variant, 1.0).unwrap();
        let line = BondLine::of(variant, BondWhatIf::default());
        let mut gridded = Gridded::new(&lamp, variant, plan, planes, &line);
        let plane = gridded.planes.iter().position(|p| p.layer == Some(1)).unwrap();
        let at = |x_mm: f64, y_mm: f64| {
            let near = |c: &usize| {
                let [x, y] = gridded.plan.centre_mm(*c);
                (x - x_mm).hypot(y - y_mm)
            };
            (0..gridded.plan.columns()).min_by(|a, b| near(a).total_cmp(&near(b))).unwrap()
        };
        let (inside, beside) = (at(10.0, 8.0), at(3.0, 3.0));
        let through = |g: &Gridded| [inside, beside].map(|c| g.half_m2k_per_w(plane, c));
        let along = |g: &Gridded| [inside, beside].map(|c| g.gx[plane * g.plan.columns() + c]);
        let (half_before, along_before) = (through(&gridded), along(&gridded));
        let thickness_m = gridded.planes[plane].thickness_m;
        let core = variant.layers[2].material.kz_w_per_m_k;
        for (found, k) in half_before.iter().zip([core, 2.0]) {
            assert!((found / (0.5 * thickness_m / k) - 1.0).abs() < 1e-9, "{found} {k}");
        }
        let mut factors = gridded.factors().clone();
        factors.conductivity[1] = 2.0;
        let bond = line.resistances_m2k_per_w(&gridded.plan.x_nm, &gridded.plan.y_nm, 1.0);
        gridded.take_factors(&factors, &bond);
        let ratio = |now: [f64; 2], then: [f64; 2]| [now[0] / then[0], now[1] / then[1]];
        let (half, lateral) = (ratio(through(&gridded), half_before), ratio(along(&gridded), along_before));
        for (found, by_hand) in half.into_iter().zip([1.0, 0.5]).chain(lateral.into_iter().zip([1.0, 2.0])) {
            assert!((found - by_hand).abs() < 1e-9, "{half:?} {lateral:?}");
        }
        // And back again.
        gridded.take_factors(&Factors::none(3), &bond);
        let (half, lateral) = (ratio(through(&gridded), half_before), ratio(along(&gridded), along_before));
        assert!(half.iter().chain(&lateral).all(|r| (r - 1.0).abs() < 1e-12), "{half:?} {lateral:?}");
    }
}

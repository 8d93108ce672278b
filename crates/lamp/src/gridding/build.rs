//! Conductances, faces and footprints of a variant on its grid.

use artwork::coverage::coverage;

use super::bores::BoreShares;
use super::copper::{PLATED_COPPER_W_PER_M_K, SheetConductances, Strips, in_series};
use super::factors::Factors;
use super::footprints::Footprint;
use super::plan::Plan;
use super::planes::Plane;
use super::surfaces::{AirBack, Extent, Surface, SurfaceKind, SurfacePiece};
use crate::as_built::{Cooling, Face, Lamp, Mask, StackLayer, Variant};
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
            board_share,
            base_share,
            kz: Vec::new(),
            barrels_w_per_m_k: barrels(&bores),
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
        let barrels = if self.is_insulating(layer) { self.barrels_w_per_m_k[column].min(kz) } else { 0.0 };
        let kz = (kz - barrels) * factors.conductivity[at] + barrels * factors.barrel;
        0.5 * self.planes[plane].thickness_m * factors.thickness[at] / kz
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
        let columns = self.plan.columns();
        for (plane, of) in self.planes.iter().enumerate() {
            let change = factors.along(of.layer) / self.factors.along(of.layer);
            if change != 1.0 {
                let own = plane * columns..(plane + 1) * columns;
                self.gx[own.clone()].iter_mut().chain(&mut self.gy[own]).for_each(|g| *g *= change);
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

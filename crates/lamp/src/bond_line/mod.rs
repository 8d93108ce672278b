//! The bond line as a maker gets it: a film of some tolerance between a board and a base that are neither flat nor free of burrs,
//! held together by screws.
//!
//! The board is a thin elastic plate on a rigid base (`plate`). Screws hold it down to the film's least thickness, or to the
//! height of a burr around their hole; burrs around other holes let it no lower than their height; bow is the gap that board
//! and base would have if nothing held them. A grease or an adhesive is squeezed out down to its bond line and fills wider
//! gaps as far as it was spread; a tape keeps its thickness; a pad pushes back by its stated points. What is not filled is
//! still air. Heat goes straight through the film: its own spreading sideways is left out, which for films as thin as these
//! against the board is nothing.
//!
//! Limits: the base and whatever it stands on are rigid; screws reach down as far as they are said to; the board is free to turn at
//! its screws; burrs do not flatten; the shape is that of the cold lamp.

mod air_gap;
mod band;
mod film;
mod finding;
mod lie;
mod map;
mod pad;
mod plate;

pub use air_gap::{BACK_EMISSIVITY, GAP_KELVIN, STILL_UP_TO_M, air_gap_m2k_per_w};
pub use film::{Tolerance, film_resistance_m2k_per_w};
pub use lie::rigidity_n_m;
pub use map::{GapMap, GapState};
pub use pad::{Compression, NoCurve};

pub(crate) use finding::finding;

use artwork::coverage::coverage;
use artwork::shape::{Area, Point};

use crate::as_built::{Bond, Variant};
use lie::{Laid, laid};

/// What the thermal interface is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum BondKind {
    /// Paste that is squeezed out to a bond line and fills wider gaps as far as it was spread.
    #[default]
    Grease,
    /// Soft sheet that gives way under pressure.
    Pad,
    /// Sticking sheet of fixed thickness.
    Tape,
    /// Glue: as grease, then cured.
    Adhesive,
}

/// Grease and adhesive fill gaps up to so many times their bond line when nothing else is said: hardly anyone spreads more (common
/// practice, no source).
pub const SPREAD_OVER_BOND_LINE: f64 = 3.0;

/// What is known of a bond line besides its nominal thickness, conductivity or resistance.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Interface {
    /// What it is.
    pub kind: BondKind,
    /// How far thickness and conductivity may be off.
    pub tolerance: Tolerance,
    /// Widest gap it fills, m; `None`: as its kind does.
    pub fills_to_m: Option<f64>,
    /// How a pad gives way; its thickness is then the free one.
    pub compression: Option<Compression>,
    /// Pressure that clamps it, Pa: spread evenly over the board, or by screws where there are any.
    pub pressure_pa: Option<f64>,
    /// Where the base touches the board; empty: everywhere.
    pub pedestals: Vec<Area>,
    /// How far the base stands back beside the pedestals, m.
    pub recess_m: f64,
    /// Places with a value of their own; where two overlap, the first counts.
    pub regions: Vec<BondRegion>,
}

/// A place of the bond line with a value of its own.
#[derive(Debug, Clone, PartialEq)]
pub struct BondRegion {
    /// Where.
    pub area: Area,
    /// Resistance times area there, m²K/W; `None`: nothing but air.
    pub resistance_m2k_per_w: Option<f64>,
}

/// A screw that holds the board down.
#[derive(Debug, Clone, PartialEq)]
pub struct Screw {
    /// Its middle.
    pub at: Point,
    /// Whether it is metal, not nylon.
    pub is_metal: bool,
    /// Diameter of its head, m.
    pub head_m: f64,
    /// Force with which it clamps, N, where given.
    pub force_n: Option<f64>,
}

/// How far from flat the faces are.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Flatness {
    /// Height of the burrs, m.
    pub burr_m: f64,
    /// Holes that have one.
    pub burrs: Vec<Point>,
    /// Bow of the board.
    pub board: Bow,
    /// Bow of the heatsink's face.
    pub heatsink: Bow,
}

/// A bow: the depth of an arc over a span.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Bow {
    /// Gap in the middle, m, with the ends touching; less than 0: the gap of the ends with the middle touching.
    pub depth_m: f64,
    /// Span over which it holds, m.
    pub span_m: f64,
    /// Which way it runs.
    pub along: BowAlong,
}

/// Which way a bow runs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum BowAlong {
    /// Along x only: part of a cylinder.
    X,
    /// Along y only.
    Y,
    /// Both ways: part of a sphere.
    #[default]
    Both,
}

impl Bow {
    /// Curvatures of the gap along x and y, 1/m: a flat arc `g = d (1 - (2 s / l)²)` has the curvature `-8 d / l²` (sagitta of an arc,
    /// for depths far below the span).
    #[must_use]
    pub fn curvatures_per_m(&self) -> [f64; 2] {
        if self.span_m <= 0.0 {
            return [0.0; 2];
        }
        let curvature = -8.0 * self.depth_m / (self.span_m * self.span_m);
        match self.along {
            BowAlong::X => [curvature, 0.0],
            BowAlong::Y => [0.0, curvature],
            BowAlong::Both => [curvature, curvature],
        }
    }
}

impl Flatness {
    /// Whether both faces are flat and free of burrs.
    #[must_use]
    pub fn is_even(&self) -> bool {
        !self.has_burrs() && !self.has_bow()
    }

    /// Whether there are burrs.
    #[must_use]
    pub fn has_burrs(&self) -> bool {
        self.burr_m > 0.0 && !self.burrs.is_empty()
    }

    /// Whether board or heatsink is bowed.
    #[must_use]
    pub fn has_bow(&self) -> bool {
        self.board.depth_m != 0.0 || self.heatsink.depth_m != 0.0
    }
}

/// What if the bond line were better or worse than it is?
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct BondWhatIf {
    /// Burrs are taken off.
    pub without_burrs: bool,
    /// Board and base are flat.
    pub without_bow: bool,
    /// Nothing but air under this emitter: an index into the variant's emitters.
    pub no_contact_under: Option<usize>,
}

impl BondWhatIf {
    /// Both faces flat and free of burrs.
    #[must_use]
    pub fn flat() -> Self {
        Self { without_burrs: true, without_bow: true, no_contact_under: None }
    }
}

/// A variant's bond line, with the gap and the resistance at every place.
#[derive(Debug, Clone)]
pub(crate) struct BondLine {
    bond: Option<Bond>,
    /// Gap where it is even, m; 0 where only a resistance is known.
    even_gap_m: f64,
    laid: Option<Laid>,
    /// The what-if's place without contact, and the regions; none over another.
    regions: Vec<BondRegion>,
    /// Pedestals less regions; `None`: the base touches everywhere.
    touching: Option<Area>,
    base_emissivity: f64,
}

impl BondLine {
    /// The bond line of a variant.
    pub fn of(variant: &Variant, what_if: BondWhatIf) -> Self {
        let bond = variant.bond.clone();
        let mut regions = Vec::new();
        if let Some(emitter) = what_if.no_contact_under.and_then(|index| variant.emitters.get(index)) {
            regions.push(BondRegion { area: body(emitter), resistance_m2k_per_w: None });
        }
        let mut line = Self {
            even_gap_m: bond.as_ref().map_or(0.0, even_gap_m),
            laid: None,
            regions,
            touching: None,
            base_emissivity: variant.heatsink.as_ref().map_or(0.0, |h| h.front_emissivity),
            bond,
        };
        if let Some(bond) = &line.bond {
            line.regions.extend(bond.interface.regions.iter().cloned());
            line.laid = laid(variant, bond, what_if);
            let mut taken = Area::default();
            for region in &mut line.regions {
                let own = region.area.difference(&taken);
                taken = taken.union(&region.area);
                region.area = own;
            }
            let pedestals = &bond.interface.pedestals;
            line.touching = (!pedestals.is_empty())
                .then(|| pedestals.iter().fold(Area::default(), |sum, p| sum.union(p)).difference(&taken));
        }
        line
    }

    /// Whether every place has the nominal resistance.
    fn is_even(&self) -> bool {
        self.laid.is_none() && self.regions.is_empty() && self.touching.is_none()
    }

    /// The nominal resistance of the even film, m²K/W; a pad's under its pressure.
    fn even_m2k_per_w(&self) -> f64 {
        let Some(bond) = &self.bond else { return 0.0 };
        match (bond.conductivity_w_per_m_k, &bond.interface.compression) {
            (Some(k), Some(_)) => film_resistance_m2k_per_w(self.even_gap_m, k),
            _ => bond.resistance_m2k_per_w,
        }
    }

    /// Gap between board and base at a place, m, pedestals and regions left aside.
    fn gap_m(&self, x_nm: f64, y_nm: f64) -> f64 {
        self.laid.as_ref().map_or(self.even_gap_m, |laid| laid.gap_m(x_nm, y_nm))
    }

    /// Widest gap that is filled, m.
    fn fills_to_m(&self) -> f64 {
        let Some(bond) = &self.bond else { return 0.0 };
        let thickness = bond.thickness_m.unwrap_or(0.0);
        let by_kind = match bond.interface.kind {
            BondKind::Grease | BondKind::Adhesive => SPREAD_OVER_BOND_LINE * thickness,
            BondKind::Pad | BondKind::Tape => thickness,
        };
        bond.interface.fills_to_m.unwrap_or(by_kind).max(thickness)
    }

    /// Film and, where the gap is wider than it fills, the air beyond it, one after the other: resistances times area, m²K/W.
    fn film_and_air(&self, gap_m: f64) -> [f64; 2] {
        let Some(bond) = &self.bond else { return [0.0; 2] };
        let Some(k) = bond.conductivity_w_per_m_k.filter(|_| self.laid.is_some()) else {
            return [self.even_m2k_per_w(), 0.0];
        };
        let filled = gap_m.min(self.fills_to_m());
        [film_resistance_m2k_per_w(filled, k), self.air_m2k_per_w(gap_m - filled)]
    }

    fn air_m2k_per_w(&self, gap_m: f64) -> f64 {
        air_gap_m2k_per_w(gap_m, self.base_emissivity)
    }

    /// Resistance times area of each column of a grid, m²K/W, with the film's own times a factor. Within a cell, places side by side
    /// conduct side by side.
    pub fn resistances_m2k_per_w(&self, x_nm: &[f64], y_nm: &[f64], film_factor: f64) -> Resistances {
        if self.is_even() {
            return Resistances::Even(self.even_m2k_per_w() * film_factor);
        }
        let parts = Parts::new(self, x_nm, y_nm);
        let recess_m = self.bond.as_ref().map_or(0.0, |b| b.interface.recess_m);
        let column = |column: usize| {
            let gap = self.gap_at(column, x_nm, y_nm);
            let [film, air] = self.film_and_air(gap);
            let touching = film * film_factor + air;
            let mut conductance = 0.0;
            let mut add = |part: f64, resistance: f64| {
                if part > 0.0 {
                    conductance += part / resistance.max(1e-12);
                }
            };
            for (region, parts) in self.regions.iter().zip(&parts.regions) {
                let own = region.resistance_m2k_per_w.map(|r| r * film_factor);
                add(parts[column], own.unwrap_or_else(|| self.air_m2k_per_w(gap)));
            }
            add(parts.touching[column], touching);
            add(parts.beside[column], self.air_m2k_per_w(gap + recess_m));
            1.0 / conductance
        };
        Resistances::Of((0..parts.touching.len()).map(column).collect())
    }

    /// Gap at the middle of a grid's column, m.
    fn gap_at(&self, column: usize, x_nm: &[f64], y_nm: &[f64]) -> f64 {
        let nx = x_nm.len().saturating_sub(1).max(1);
        let (i, j) = (column % nx, column / nx);
        self.gap_m(0.5 * (x_nm[i] + x_nm[i + 1]), 0.5 * (y_nm[j] + y_nm[j + 1]))
    }
}

/// Resistance times area of the columns of a grid, m²K/W.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Resistances {
    /// The same everywhere.
    Even(f64),
    /// One for each column.
    Of(Vec<f64>),
}

impl Resistances {
    pub fn of(&self, column: usize) -> f64 {
        match self {
            Self::Even(r) => *r,
            Self::Of(all) => all.get(column).copied().unwrap_or(0.0),
        }
    }
}

/// How much of each column is what, together 1.
struct Parts {
    /// One for each region.
    regions: Vec<Vec<f64>>,
    touching: Vec<f64>,
    beside: Vec<f64>,
}

impl Parts {
    fn new(line: &BondLine, x_nm: &[f64], y_nm: &[f64]) -> Self {
        let columns = x_nm.len().saturating_sub(1) * y_nm.len().saturating_sub(1);
        let mut rest = vec![1.0; columns];
        let mut take = |area: &Area| -> Vec<f64> {
            let covered = coverage(area, x_nm, y_nm);
            let taken: Vec<f64> = covered.iter().zip(&rest).map(|(c, rest)| c.clamp(0.0, *rest)).collect();
            rest.iter_mut().zip(&taken).for_each(|(rest, taken)| *rest -= taken);
            taken
        };
        let regions = line.regions.iter().map(|r| take(&r.area)).collect();
        match &line.touching {
            Some(pedestals) => {
                let touching = take(pedestals);
                Self { regions, touching, beside: rest }
            }
            None => Self { regions, touching: rest, beside: vec![0.0; columns] },
        }
    }
}

/// Gap of an even film, m: its thickness, a pad's under its pressure.
fn even_gap_m(bond: &Bond) -> f64 {
    let thickness = bond.thickness_m.unwrap_or(0.0);
    match (&bond.interface.compression, bond.interface.pressure_pa) {
        (Some(compression), Some(pressure)) => thickness * (1.0 - compression.part_at(pressure)),
        _ => thickness,
    }
}

/// Where a package's body stands.
fn body(emitter: &crate::as_built::PlacedEmitter) -> Area {
    let [half_w, half_h] = emitter.sheet.body_m.map(|size| (0.5e9 * size) as i32);
    let bounds = artwork::shape::Bounds {
        min: Point::new(emitter.at.x_nm - half_w, emitter.at.y_nm - half_h),
        max: Point::new(emitter.at.x_nm + half_w, emitter.at.y_nm + half_h),
    };
    Area::rectangle(bounds).turned(emitter.at, emitter.rotation_deg)
}

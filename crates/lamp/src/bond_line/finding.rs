//! What was found of a bond line.

use super::{BondKind, BondLine, GapState, Parts, STILL_UP_TO_M};
use crate::as_built::Variant;
use crate::findings::BondFinding;
use crate::gridding::Gridded;

impl BondKind {
    /// `grease`, `pad`, `tape` or `adhesive`.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Grease => "grease",
            Self::Pad => "pad",
            Self::Tape => "tape",
            Self::Adhesive => "adhesive",
        }
    }
}

/// Sums over the area where board and base lie over each other.
#[derive(Default)]
struct Sums {
    area_m2: f64,
    states_m2: [f64; 4],
    film_m2: f64,
    gap_m3: f64,
    least: Option<(f64, usize)>,
    greatest: Option<(f64, usize)>,
}

/// The finding for a variant on its grid; `None` without a bond or heatsink.
pub(crate) fn finding(line: &BondLine, variant: &Variant, gridded: &Gridded) -> Option<BondFinding> {
    let bond = line.bond.as_ref()?;
    gridded.plane_above_bond()?;
    let plan = &gridded.plan;
    let both_m2 = |column: usize| {
        gridded.areas_m2[column] * gridded.board_share[column].min(gridded.base_share[column])
    };
    let columns: Vec<usize> = (0..plan.columns()).filter(|c| both_m2(*c) > 0.0).collect();
    let parts = Parts::new(line, &plan.x_nm, &plan.y_nm);
    let mut sums = Sums::default();
    for &column in &columns {
        sums.add(line, &parts, column, both_m2(column), line.gap_at(column, &plan.x_nm, &plan.y_nm));
    }
    let resistance = |factor: f64| {
        let each = line.resistances_m2k_per_w(&plan.x_nm, &plan.y_nm, factor);
        let conductance: f64 = columns.iter().map(|c| both_m2(*c) / each.of(*c).max(1e-12)).sum();
        if conductance > 0.0 { sums.area_m2 / conductance } else { 0.0 }
    };
    let [low, high] = bond.interface.tolerance.factors();
    let part = |state: GapState| sums.states_m2[state as usize] / sums.area_m2.max(f64::MIN_POSITIVE);
    let has_gap = bond.thickness_m.is_some() && sums.film_m2 > 0.0;
    let um = |found: Option<(f64, usize)>| found.filter(|_| has_gap).map(|f| 1e6 * f.0);
    let place = |found: Option<(f64, usize)>| found.filter(|_| has_gap).map(|f| plan.centre_mm(f.1));
    Some(BondFinding {
        kind: bond.interface.kind.word(),
        mean_um: has_gap.then(|| 1e6 * sums.gap_m3 / sums.film_m2),
        least_um: um(sums.least),
        least_at_mm: place(sums.least),
        greatest_um: um(sums.greatest),
        greatest_at_mm: place(sums.greatest),
        area_mm2: 1e6 * sums.area_m2,
        part_contact: part(GapState::Contact),
        part_filled: part(GapState::Filled),
        part_air: part(GapState::Air),
        part_untouched: part(GapState::Untouched),
        resistance_m2k_per_w: resistance(1.0),
        least_resistance_m2k_per_w: resistance(low),
        greatest_resistance_m2k_per_w: resistance(high),
        doubt_k: None,
        burrs_cost_k: None,
        bow_costs_k: None,
        screw_pull_n: line.laid.as_ref().and_then(|laid| laid.screw_pull_n),
        what_ifs: Vec::new(),
        remarks: remarks(line, variant, &sums),
    })
}

impl Sums {
    fn add(&mut self, line: &BondLine, parts: &Parts, column: usize, area_m2: f64, gap_m: f64) {
        self.area_m2 += area_m2;
        for (region, part) in line.regions.iter().zip(&parts.regions) {
            let state =
                if region.resistance_m2k_per_w.is_some() { GapState::Contact } else { GapState::Untouched };
            self.states_m2[state as usize] += part[column] * area_m2;
        }
        self.states_m2[GapState::Untouched as usize] += parts.beside[column] * area_m2;
        let film_m2 = parts.touching[column] * area_m2;
        self.states_m2[line.state(gap_m) as usize] += film_m2;
        if film_m2 < 0.5 * area_m2 {
            return;
        }
        self.film_m2 += film_m2;
        self.gap_m3 += film_m2 * gap_m;
        if self.least.is_none_or(|(least, _)| gap_m < least) {
            self.least = Some((gap_m, column));
        }
        if self.greatest.is_none_or(|(greatest, _)| gap_m > greatest) {
            self.greatest = Some((gap_m, column));
        }
    }
}

/// What the model of the bond line leaves out, where it is used, and what stands against it.
fn remarks(line: &BondLine, variant: &Variant, sums: &Sums) -> Vec<String> {
    let Some(bond) = &line.bond else { return Vec::new() };
    let interface = &bond.interface;
    let mut all = Vec::new();
    if let Some(laid) = &line.laid {
        all.push(
            "the gap is that of the cold board as a thin elastic plate on a rigid base; screws are taken to hold it down, burrs not to \
             flatten, and the board to be free to turn at its screws"
                .to_owned(),
        );
        if variant.screws.is_empty() && interface.kind != BondKind::Pad {
            all.push(
                "no screws are given: the board is taken to lie on its base without force; [screws] tells what holds it"
                    .to_owned(),
            );
        }
        if !laid.settled {
            all.push("the board's shape did not settle fully; take the gap as an estimate".to_owned());
        }
        if let (Some(needed), Some(given)) =
            (laid.screw_pull_n, variant.screws.iter().filter_map(|s| s.force_n).reduce(f64::min))
            && needed > given
        {
            all.push(format!(
                    "a screw must pull with {needed:.0} N to hold the board as flat as is taken here, and is given {given:.0} N: the gap is \
                     wider than told; flatter faces, burrs taken off, or stronger screws would mend it"
                ));
        }
    }
    let air_m2 = sums.states_m2[GapState::Air as usize] + sums.states_m2[GapState::Untouched as usize];
    if air_m2 > 1e-3 * sums.area_m2 {
        all.push(
            "air between board and base is taken as still and at 60 degC, with radiation across it; its conductivity is off by up to a tenth \
             at other temperatures"
                .to_owned(),
        );
    }
    if sums.greatest.is_some_and(|(gap, _)| gap - line.fills_to_m() > STILL_UP_TO_M)
        || interface.recess_m > STILL_UP_TO_M
    {
        all.push(format!(
            "there are air gaps wider than {} mm, in which the air may move: they then carry more heat than told",
            1e3 * STILL_UP_TO_M
        ));
    }
    if sums.states_m2[GapState::Air as usize] > 1e-3 * sums.area_m2 && interface.fills_to_m.is_none() {
        all.push(format!(
            "gaps wider than {:.0} um are taken as not filled beyond that; fills_to in [bond] tells how thickly the {} was laid on",
            1e6 * line.fills_to_m(),
            interface.kind.word()
        ));
    }
    if let (Some(compression), Some(most)) = (&interface.compression, line.pad_pressure_pa(sums.least))
        && most > compression.stated_up_to_pa() * (1.0 + 1e-9)
    {
        all.push(format!(
                "the pad is pressed with up to {:.0} kPa, and its points end at {:.0} kPa: beyond them the last piece is continued",
                1e-3 * most,
                1e-3 * compression.stated_up_to_pa()
            ));
    }
    all
}

impl BondLine {
    /// Pressure on a pad where it is thinnest, Pa.
    fn pad_pressure_pa(&self, least: Option<(f64, usize)>) -> Option<f64> {
        let bond = self.bond.as_ref()?;
        let (compression, thickness) = (bond.interface.compression.as_ref()?, bond.thickness_m?);
        Some(compression.pressure_at((thickness - least?.0) / thickness).0)
    }
}

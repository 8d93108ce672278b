//! The narrowest places that carry current.
//!
//! A neck is where the mean density over the section across the flow is largest among the copper around it. Sections run
//! straight across the flow from edge to edge; copper with at least [`RUN_SHARE`] of a neck's density that hangs together with
//! it is its run and gives no second neck, so that a long even trace is one neck with a length.

use artwork::coverage::coverage;
use artwork::shape::Area;

use super::copper::{InRange, TraceKind, trace_rise_k};
use super::outcome::{IslandCurrent, SheetSolution};
use super::problem::SheetProblem;

/// Part of a neck's mean density down to which copper beside it belongs to its run.
pub const RUN_SHARE: f64 = 0.7;

/// What is asked of necks.
#[derive(Debug, Clone, Copy)]
pub struct NeckOptions<'a> {
    /// The board, beyond which nothing can be widened.
    pub outline: Option<&'a Area>,
    /// Distance to other copper and to the board's edge that must stay free, mm (common practice, no source).
    pub clearance_mm: f64,
    /// Most necks.
    pub most: usize,
}

impl Default for NeckOptions<'_> {
    fn default() -> Self {
        Self { outline: None, clearance_mm: 0.3, most: 10 }
    }
}

/// A narrow place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Neck {
    /// Island: an index into [`SheetSolution::islands`].
    pub island: usize,
    /// Middle of the section, mm.
    pub position_mm: [f64; 2],
    /// Copper across the flow, mm.
    pub width_mm: f64,
    /// Length of its run along the flow, mm: the run's copper over the width.
    pub length_mm: f64,
    /// Current through the section, A.
    pub current_a: f64,
    /// Mean density over the section, A/mm².
    pub density_a_per_mm2: f64,
    /// Loss of its run, W.
    pub loss_w: f64,
    /// Rise that IPC-2221 gives a long trace of this width and current (see [`super::copper::RULE_LABEL`]), K.
    pub ipc_2221_rise_k: InRange,
    /// Free width on both sides together, mm, less the clearance; mean over its run, 5 mm a side at most.
    pub free_width_mm: f64,
    /// Loss, W, that its run would save if it filled the free width: an estimate, loss falling as one over the width.
    pub widening_saves_w: f64,
}

/// Part of an island's largest density below which no neck is looked for.
const LEAST_DENSITY: f64 = 0.1;
/// Part of the density of an island's first neck that the others must have: copper four times as wide is no neck.
const LEAST_OF_FIRST: f64 = 0.25;
/// Part of the current into its copper below which a section is no neck worth telling.
const LEAST_CURRENT: f64 = 0.01;
/// Part of the density at a place that its section must have on the mean; less is current gathering at a contact.
const LEAST_EVENNESS: f64 = 0.5;
/// Farthest free width looked for, mm.
const FARTHEST_MM: f64 = 5.0;
/// Most places of an island that are looked at.
const MOST_PLACES: usize = 400;
/// Steps of a width in which the narrowest section is looked for up and down the flow.
const STEPS_A_WIDTH: f64 = 16.0;
/// Sections of a run at which free width is measured.
const SECTIONS: usize = 16;

/// The necks of all islands, those of largest density first.
#[must_use]
pub fn find(problem: &SheetProblem, solution: &SheetSolution, options: &NeckOptions<'_>) -> Vec<Neck> {
    let mut all: Vec<(Neck, Vec<Section>)> = Vec::new();
    for (number, island) in solution.islands.iter().enumerate() {
        let in_a = solution.groups.get(island.group).map_or(0.0, |group| group.in_a);
        let last = problem.layers.len().saturating_sub(1);
        let outside = island.layer == 0 || island.layer == last;
        let kind = if outside { TraceKind::External } else { TraceKind::Internal };
        all.extend(of_island(island, number, LEAST_CURRENT * in_a, kind, options.most));
    }
    all.sort_by(|a, b| b.0.density_a_per_mm2.total_cmp(&a.0.density_a_per_mm2));
    all.truncate(options.most);
    let mut taken: Vec<Option<Taken>> = problem.layers.iter().map(|_| None).collect();
    all.into_iter()
        .map(|(mut neck, sections)| {
            let island = &solution.islands[neck.island];
            let copper = &problem.layers[island.layer].copper;
            let taken = taken[island.layer]
                .get_or_insert_with(|| Taken::new(copper, options.outline, island.pitch_mm));
            widen(&mut neck, &sections, taken, options.clearance_mm);
            neck
        })
        .collect()
}

/// A straight section across the flow.
#[derive(Debug, Clone, Copy)]
struct Section {
    middle_mm: [f64; 2],
    /// Along the section.
    normal: [f64; 2],
    /// The two ends, mm from the place it was laid through, along the normal.
    ends_mm: [f64; 2],
    through_mm: [f64; 2],
    width_mm: f64,
    current_a: f64,
    density_a_per_mm2: f64,
}

fn density(island: &IslandCurrent, pixel: usize) -> [f64; 2] {
    [f64::from(island.density_x_a_per_mm2[pixel]), f64::from(island.density_y_a_per_mm2[pixel])]
}

/// The pixel at a place, if it has copper.
fn copper_at(island: &IslandCurrent, at_mm: [f64; 2]) -> Option<usize> {
    let along = |axis: usize| (at_mm[axis] - island.corner_mm[axis]) / island.pitch_mm;
    let (u, v) = (along(0), along(1));
    if !(u >= 0.0 && v >= 0.0 && u < island.nx as f64 && v < island.ny as f64) {
        return None;
    }
    let pixel = v as usize * island.nx + u as usize;
    (!island.potential_v[pixel].is_nan()).then_some(pixel)
}

/// The section through a pixel.
fn section(island: &IslandCurrent, pixel: usize) -> Option<Section> {
    let [jx, jy] = density(island, pixel);
    let size = jx.hypot(jy);
    if size <= 0.0 {
        return None;
    }
    let (flow, normal) = ([jx / size, jy / size], [-jy / size, jx / size]);
    let through_mm = island.middle_mm(pixel);
    let step_mm = 0.25 * island.pitch_mm;
    let (mut width_mm, mut ampere_per_mm, mut moment) = (0.0, 0.0, 0.0);
    let mut ends_mm = [0.0; 2];
    for (end, sign) in [(0, -1.0), (1, 1.0)] {
        let mut s = 0.5 * step_mm;
        while let Some(p) =
            copper_at(island, [through_mm[0] + sign * s * normal[0], through_mm[1] + sign * s * normal[1]])
        {
            let [jx, jy] = density(island, p);
            let part = f64::from(island.share[p]) * step_mm;
            width_mm += part;
            moment += sign * s * part;
            ampere_per_mm += part * (jx * flow[0] + jy * flow[1]);
            ends_mm[end] += sign * part;
            s += step_mm;
        }
    }
    if width_mm <= 0.0 {
        return None;
    }
    let middle = moment / width_mm;
    Some(Section {
        middle_mm: [through_mm[0] + middle * normal[0], through_mm[1] + middle * normal[1]],
        normal,
        ends_mm,
        through_mm,
        width_mm,
        current_a: ampere_per_mm * island.thickness_m * 1e3,
        density_a_per_mm2: ampere_per_mm / width_mm,
    })
}

/// Necks of an island with sections of their runs.
fn of_island(
    island: &IslandCurrent,
    number: usize,
    least_a: f64,
    kind: TraceKind,
    most: usize,
) -> Vec<(Neck, Vec<Section>)> {
    let size: Vec<f32> = (0..island.share.len()).map(|p| island.density_a_per_mm2(p) as f32).collect();
    let least = LEAST_DENSITY as f32 * size.iter().fold(0.0f32, |most, s| most.max(*s));
    let mut places: Vec<usize> =
        (0..size.len()).filter(|&p| size[p] > 0.0 && size[p] >= least && is_peak(island, &size, p)).collect();
    places.sort_by(|a, b| size[*b].total_cmp(&size[*a]).then(a.cmp(b)));
    let mut taken = vec![false; size.len()];
    let mut found: Vec<(Neck, Vec<Section>)> = Vec::new();
    let mut looked = 0;
    for place in places {
        if found.len() >= most || looked >= MOST_PLACES {
            break;
        }
        if taken[place] {
            continue;
        }
        looked += 1;
        let Some((pixel, best)) = narrowest_near(island, place) else { continue };
        if !is_even(island, &(pixel, best)) || best.current_a < least_a || taken[pixel] {
            taken[place] = true;
            continue;
        }
        let near = found.iter().any(|(neck, _)| {
            let [dx, dy] = [0, 1].map(|axis| neck.position_mm[axis] - best.middle_mm[axis]);
            dx.hypot(dy) < neck.width_mm.max(best.width_mm)
        });
        let run = take_run(island, &size, pixel, RUN_SHARE * best.density_a_per_mm2, &mut taken);
        if near {
            continue;
        }
        let pixel_mm2 = island.pitch_mm * island.pitch_mm;
        let copper_mm2: f64 = run.iter().map(|p| f64::from(island.share[*p]) * pixel_mm2).sum();
        let loss_w = run.iter().map(|p| island.pixel_loss_w[*p]).sum();
        let stride = run.len().div_ceil(SECTIONS).max(1);
        let mut sections: Vec<Section> =
            run.iter().step_by(stride).filter_map(|p| section(island, *p)).collect();
        sections.push(best);
        let neck = Neck {
            island: number,
            position_mm: best.middle_mm,
            width_mm: best.width_mm,
            length_mm: copper_mm2 / best.width_mm,
            current_a: best.current_a,
            density_a_per_mm2: best.density_a_per_mm2,
            loss_w,
            ipc_2221_rise_k: trace_rise_k(kind, best.current_a, best.width_mm, island.thickness_m * 1e6),
            free_width_mm: 0.0,
            widening_saves_w: 0.0,
        };
        found.push((neck, sections));
    }
    let first = found.iter().fold(0.0f64, |most, (neck, _)| most.max(neck.density_a_per_mm2));
    found.retain(|(neck, _)| neck.density_a_per_mm2 >= LEAST_OF_FIRST * first);
    found
}

/// Whether no pixel around has a larger density.
fn is_peak(island: &IslandCurrent, size: &[f32], p: usize) -> bool {
    let (i, j) = (p % island.nx, p / island.nx);
    let (i0, i1) = (i.saturating_sub(1), (i + 1).min(island.nx - 1));
    let (j0, j1) = (j.saturating_sub(1), (j + 1).min(island.ny - 1));
    // Rounding is no hill.
    (j0..=j1).all(|y| (i0..=i1).all(|x| size[y * island.nx + x] <= size[p] * 1.000_1))
}

/// Whether the current is not just gathering at a place of the section.
fn is_even(island: &IslandCurrent, (pixel, section): &(usize, Section)) -> bool {
    section.density_a_per_mm2 >= LEAST_EVENNESS * island.density_a_per_mm2(*pixel)
}

/// The densest section up and down the flow from a place, as far as the first one is wide.
fn narrowest_near(island: &IslandCurrent, place: usize) -> Option<(usize, Section)> {
    let first = section(island, place)?;
    let mut best = (place, first);
    if !is_even(island, &best) {
        return Some(best);
    }
    let step_mm = island.pitch_mm.max(first.width_mm / STEPS_A_WIDTH);
    for sign in [-1.0, 1.0] {
        let mut at_mm = first.middle_mm;
        let mut gone_mm = 0.0;
        while gone_mm < first.width_mm {
            let Some(p) = copper_at(island, at_mm) else { break };
            let Some(here) = section(island, p) else { break };
            if here.density_a_per_mm2 > best.1.density_a_per_mm2 * (1.0 + 1e-6) {
                best = (p, here);
            }
            let [nx, ny] = here.normal;
            at_mm = [at_mm[0] + sign * ny * step_mm, at_mm[1] - sign * nx * step_mm];
            gone_mm += step_mm;
        }
    }
    Some(best)
}

/// Takes the pixels of at least a density that hang together with one.
fn take_run(island: &IslandCurrent, size: &[f32], from: usize, least: f64, taken: &mut [bool]) -> Vec<usize> {
    let mut run = vec![from];
    taken[from] = true;
    let mut next = 0;
    while let Some(&p) = run.get(next) {
        next += 1;
        let (i, j) = (p % island.nx, p / island.nx);
        let beside = [
            (i > 0).then(|| p - 1),
            (i + 1 < island.nx).then(|| p + 1),
            (j > 0).then(|| p - island.nx),
            (j + 1 < island.ny).then(|| p + island.nx),
        ];
        for q in beside.into_iter().flatten() {
            if !taken[q] && f64::from(size[q]) >= least {
                taken[q] = true;
                run.push(q);
            }
        }
    }
    run
}

/// Places of a layer that cannot be filled: copper, and beyond the board.
struct Taken {
    corner_mm: [f64; 2],
    pitch_mm: f64,
    nx: usize,
    ny: usize,
    taken: Vec<bool>,
}

impl Taken {
    fn new(copper: &Area, outline: Option<&Area>, pitch_mm: f64) -> Self {
        let bounds = copper.bounds().map_or([0.0; 4], |b| b.corners_mm());
        let margin = FARTHEST_MM + pitch_mm;
        let corner_mm = [bounds[0] - margin, bounds[1] - margin];
        let count = |from: f64, to: f64| ((to + margin - from) / pitch_mm).ceil().max(1.0) as usize;
        let (nx, ny) = (count(corner_mm[0], bounds[2]), count(corner_mm[1], bounds[3]));
        let lines = |from: f64, count: usize| -> Vec<f64> {
            (0..=count).map(|i| 1e6 * (from + pitch_mm * i as f64)).collect()
        };
        let (x, y) = (lines(corner_mm[0], nx), lines(corner_mm[1], ny));
        let mut taken: Vec<bool> = coverage(copper, &x, &y).iter().map(|share| *share > 0.5).collect();
        if let Some(outline) = outline {
            let board = coverage(outline, &x, &y);
            taken.iter_mut().zip(&board).for_each(|(taken, board)| *taken |= *board < 0.5);
        }
        Self { corner_mm, pitch_mm, nx, ny, taken }
    }

    fn at(&self, at_mm: [f64; 2]) -> bool {
        let [u, v] = [0, 1].map(|axis| ((at_mm[axis] - self.corner_mm[axis]) / self.pitch_mm).floor());
        u >= 0.0
            && v >= 0.0
            && u < self.nx as f64
            && v < self.ny as f64
            && self.taken[v as usize * self.nx + u as usize]
    }
}

/// Free width of a run and what filling it would save.
fn widen(neck: &mut Neck, sections: &[Section], taken: &Taken, clearance_mm: f64) {
    let (mut free_sum, mut saved_sum) = (0.0, 0.0);
    for section in sections {
        let mut free_mm = 0.0;
        for (end, sign) in [(section.ends_mm[0], -1.0), (section.ends_mm[1], 1.0)] {
            // The edge's own pixel may count as copper: begin a pixel outside.
            let mut out = taken.pitch_mm;
            let at = |out: f64| {
                [0, 1].map(|axis| section.through_mm[axis] + (end + sign * out) * section.normal[axis])
            };
            while out < FARTHEST_MM && !taken.at(at(out)) {
                out += 0.5 * taken.pitch_mm;
            }
            free_mm += (out - clearance_mm).max(0.0);
        }
        free_sum += free_mm;
        saved_sum += free_mm / (section.width_mm + free_mm);
    }
    let count = sections.len().max(1) as f64;
    neck.free_width_mm = free_sum / count;
    neck.widening_saves_w = neck.loss_w * saved_sum / count;
}

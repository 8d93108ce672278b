//! From a settled model to the findings of one run.

use crate::air_finding;
use crate::as_built::{Lamp, Variant};
use crate::bond_line::{self, BondLine};
use crate::copper_loss::{self, CopperLoss, Parted};
use crate::emitter_physics::{EmitterState, emitter_state, sheet_remarks};
use crate::findings::{
    BondFinding, CopperFinding, EmitterFinding, FindingRemark, HeatPatchFinding, Run, RunState,
    SensorFinding, SharingFinding,
};
use crate::heat_path::Levels;
use crate::limits::limits;
use crate::operating_point::{CoupledEmitter, HOTTEST_JUNCTION_C, Response, Settled};
use crate::parallel::{self, Became, Outcome, Parallel, Task};
use crate::read_out::sensor_rise_k;
use crate::reading;
use crate::stage::Stage;

/// Junctions closer than this count as equally hot, K.
const SAME_K: f64 = 0.02;

/// What a run's findings are made of.
pub(crate) struct RunParts<'a> {
    pub lamp: &'a Lamp,
    pub variant: &'a Variant,
    pub emitters: &'a [CoupledEmitter],
    pub stage: &'a Stage,
    pub copper: Option<&'a CopperLoss>,
    pub parallel: Option<&'a Parallel>,
    pub response: Option<&'a Response>,
    pub bond_line: &'a BondLine,
    /// `None`: no steady state.
    pub settled: Option<&'a Settled>,
    pub current_a: f64,
    pub ambient_c: f64,
    pub iterations: usize,
    pub relative_grid_error: f64,
}

/// The findings of one run.
pub(crate) fn run(parts: &RunParts) -> Run {
    let Some((parallel, response)) = parts.parallel.zip(parts.response) else {
        return match parts.settled {
            Some(settled) => steady(parts, settled, None),
            None => runaway(parts, None),
        };
    };
    let ways = parallel.ways(&parts.stage.copper, &parts.stage.rise_k, parts.ambient_c);
    let task = Task {
        emitters: parts.emitters,
        response,
        drive_a: parts.current_a,
        ambient_c: parts.ambient_c,
        ways: &ways,
        offset_v: &vec![0.0; parts.emitters.len()],
    };
    match (parts.settled, parallel.settle(&task)) {
        (Some(settled), Outcome::Steady(_, feedback)) => {
            let sharing = parallel::finding(parallel, &task, &Became::Settled(settled, feedback));
            steady(parts, settled, Some((Parted { parallel, task, room_c: parts.ambient_c }, sharing)))
        }
        (None, Outcome::Hogs(hogging)) => {
            runaway(parts, Some(parallel::finding(parallel, &task, &Became::RanAway(&hogging))))
        }
        (Some(settled), _) => steady(parts, settled, None),
        (None, _) => runaway(parts, None),
    }
}

fn steady(parts: &RunParts, settled: &Settled, shared: Option<(Parted<'_>, SharingFinding)>) -> Run {
    let (parted, sharing) = shared.unzip();
    let (stage, ambient_c) = (parts.stage, parts.ambient_c);
    let top = stage.top_face_k();
    let emitters = emitter_findings(parts, settled, &top);
    let (hottest_column, hottest_rise) = hottest(&top);
    let hottest_board_c = hottest_rise.map(|rise| ambient_c + rise);
    let worst = emitters
        .iter()
        .filter_map(|e| Some((e.junction_c?, &e.reference)))
        // Emitters that lie alike are as hot as one another but for the solver's tolerance: the first of them is named.
        .reduce(|best, next| if next.0 > best.0 + SAME_K { next } else { best });
    let sum = |value: fn(&EmitterFinding) -> Option<f64>| emitters.iter().filter_map(value).sum::<f64>();
    let balance = stage.energy_balance();
    let copper = copper(parts, settled, sum(|e| e.electrical_w), parted);
    let radiant_w = sum(|e| e.radiant_w);
    let (ways_out, ways_out_w) = air_finding::ways_out(stage, ambient_c, copper.as_ref(), radiant_w);
    Run {
        state: RunState::Steady,
        electrical_w: sum(|e| e.electrical_w),
        heat_w: balance.in_w,
        radiant_w,
        light_lm: sum(|e| e.flux_lm),
        sensors: sensors(parts, Some(&top)),
        hottest_board_c,
        hottest_board_at_mm: hottest_column.map(|c| stage.gridded.plan.centre_mm(c)),
        hottest_solder_c: emitters.iter().filter_map(|e| e.solder_c).reduce(f64::max),
        hottest_junction_c: worst.map(|w| w.0),
        hottest_emitter: worst.map(|w| w.1.clone()),
        heat_patches: heat_patches(parts, &top),
        limits: limits(parts.lamp, parts.variant, &emitters, hottest_board_c, (&copper, &sharing)),
        ways_out,
        ways_out_w,
        air_side: air_finding::air_side(stage, ambient_c),
        touch: air_finding::touch(stage, ambient_c, hottest_board_c),
        copper,
        sharing,
        bond: bond(parts, &emitters, worst.map(|w| w.1)),
        energy_balance: balance,
        grid_error_k: parts.relative_grid_error * probe_rise(parts, &top),
        remarks: remarks(parts, settled),
        emitters,
        ..blank(parts)
    }
}

fn copper(
    parts: &RunParts,
    settled: &Settled,
    emitters_w: f64,
    parted: Option<Parted<'_>>,
) -> Option<CopperFinding> {
    let at = copper_loss::At {
        drive_a: parts.current_a,
        ambient_c: parts.ambient_c,
        rise_k: &parts.stage.rise_k,
        junction_c: &settled.junction_c,
        emitter_a: &settled.current_a,
        emitters_w,
        coldest_c: parts.lamp.coldest_c.unwrap_or(parts.ambient_c),
        parted,
        gridded: &parts.stage.gridded,
    };
    copper_loss::finding(parts.variant, parts.copper?, &parts.stage.copper, &at)
}

/// The bond line, with what its tolerance does to the hottest junction: its step grows in proportion to the resistance, which
/// leaves out that the heat then spreads a little further: on the safe side.
fn bond(parts: &RunParts, emitters: &[EmitterFinding], hottest: Option<&String>) -> Option<BondFinding> {
    let mut found = bond_line::finding(parts.bond_line, parts.variant, &parts.stage.gridded)?;
    let step_k = emitters
        .iter()
        .find(|e| Some(&e.reference) == hottest)
        .and_then(|e| e.heat_path.iter().find(|step| step.step == "bond"))
        .map(|step| step.drop_k);
    let more = found.greatest_resistance_m2k_per_w / found.resistance_m2k_per_w.max(f64::MIN_POSITIVE) - 1.0;
    found.doubt_k = step_k.map(|k| k * more).filter(|_| more > 1e-9);
    Some(found)
}

/// Everything that does not depend on a steady state.
fn blank(parts: &RunParts) -> Run {
    let gridded = &parts.stage.gridded;
    Run {
        variant: parts.variant.name.clone(),
        current_a: parts.current_a,
        ambient_c: parts.ambient_c,
        state: RunState::Runaway,
        electrical_w: 0.0,
        heat_w: 0.0,
        radiant_w: 0.0,
        light_lm: 0.0,
        sensors: Vec::new(),
        hottest_board_c: None,
        hottest_board_at_mm: None,
        hottest_solder_c: None,
        hottest_junction_c: None,
        hottest_emitter: None,
        emitters: Vec::new(),
        heat_patches: Vec::new(),
        copper: None,
        sharing: None,
        bond: None,
        ways_out: Vec::new(),
        ways_out_w: 0.0,
        air_side: None,
        touch: Vec::new(),
        limits: Vec::new(),
        energy_balance: crate::findings::EnergyBalance {
            in_w: 0.0,
            heatsink_w: 0.0,
            convection_w: 0.0,
            radiation_w: 0.0,
            relative_error: 0.0,
        },
        cells: gridded.gx.len(),
        pitch_mm: 1e3 * gridded.plan.finest_m(),
        grid_error_k: 0.0,
        iterations: parts.iterations,
        seconds: 0.0,
        remarks: Vec::new(),
    }
}

fn runaway(parts: &RunParts, sharing: Option<SharingFinding>) -> Run {
    let emitters: Vec<EmitterFinding> =
        parts.emitters.iter().enumerate().map(|(k, e)| emitter_finding(parts, k, e, None)).collect();
    let text = if let Some(sharing) = &sharing {
        share_runs_away(parts, sharing)
    } else {
        format!(
            "no steady state at {} A and {} degC: heat grows faster with temperature than it is carried away, or a junction \
         would pass {HOTTEST_JUNCTION_C} degC or stop giving light; powers and light are therefore given as 0",
            parts.current_a, parts.ambient_c
        )
    };
    Run {
        sensors: sensors(parts, None),
        limits: limits(parts.lamp, parts.variant, &emitters, None, (&None, &None)),
        sharing,
        emitters,
        remarks: vec![remark("error", text)],
        ..blank(parts)
    }
}

/// Why there is no steady state, where a branch takes ever more of the current.
fn share_runs_away(parts: &RunParts, sharing: &SharingFinding) -> String {
    let one = sharing.groups.iter().find_map(|group| group.runs_away.as_deref());
    format!(
        "the sharing of the current does not last at {} A and {} degC: a hotter branch has a lower voltage, takes more current and \
         gets hotter still; {:.0} % of a difference comes back each time, and it must stay below 100 %. {} ends with nearly all of \
         the current. Drive each branch by itself, put a resistor in series with each, or cool them better and closer together; \
         powers and light are given as 0",
        parts.current_a,
        parts.ambient_c,
        100.0 * sharing.feedback,
        one.unwrap_or("one of the branches")
    )
}

fn remark(severity: &'static str, text: String) -> FindingRemark {
    FindingRemark { severity, file: None, line: None, column: None, text }
}

fn remarks(parts: &RunParts, settled: &Settled) -> Vec<FindingRemark> {
    let mut all: Vec<FindingRemark> = Vec::new();
    let mut add = |severity: &'static str, text: String| {
        if all.iter().all(|r| r.text != text) {
            all.push(remark(severity, text));
        }
    };
    // One emitter of each sheet speaks for all: the hottest.
    let mut told: Vec<&str> = Vec::new();
    let mut by_heat: Vec<(usize, f64)> = settled.junction_c.iter().copied().enumerate().collect();
    by_heat.sort_by(|a, b| b.1.total_cmp(&a.1));
    for (index, junction_c) in by_heat {
        let Some(emitter) = parts.emitters.get(index) else { continue };
        if !told.contains(&emitter.sheet.name.as_str()) {
            told.push(&emitter.sheet.name);
            let current_a = settled.current_a.get(index).copied().unwrap_or(0.0);
            for text in sheet_remarks(&emitter.sheet, current_a, junction_c) {
                add("warning", text);
            }
        }
    }
    for text in parts.stage.film_remarks() {
        add("note", text);
    }
    all
}

fn emitter_findings(parts: &RunParts, settled: &Settled, top: &[f64]) -> Vec<EmitterFinding> {
    let levels = Levels::new(parts.stage, parts.variant);
    let mut all = Vec::with_capacity(parts.emitters.len());
    for (index, emitter) in parts.emitters.iter().enumerate() {
        let (Some(&junction_c), Some(footprint)) =
            (settled.junction_c.get(index), parts.stage.emitter(index))
        else {
            continue;
        };
        let solder_c = parts.ambient_c + footprint.mean(|c| top[c]);
        let current_a = settled.current_a.get(index).copied().unwrap_or(0.0);
        let state = emitter_state(&emitter.sheet, current_a, junction_c);
        let mut finding = emitter_finding(parts, index, emitter, Some((junction_c, solder_c, state)));
        finding.current_a = current_a;
        finding.heat_path = levels.staircase(footprint, junction_c, solder_c, parts.ambient_c);
        all.push(finding);
    }
    all
}

fn emitter_finding(
    parts: &RunParts,
    index: usize,
    emitter: &CoupledEmitter,
    found: Option<(f64, f64, EmitterState)>,
) -> EmitterFinding {
    let placed = parts.variant.emitters.get(index);
    let limit = emitter.sheet.junction_limit_c;
    let state = found.map(|f| f.2);
    EmitterFinding {
        reference: placed.map_or_else(String::new, |p| p.reference.clone()),
        at_mm: placed.map_or([0.0; 2], |p| [1e-6 * f64::from(p.at.x_nm), 1e-6 * f64::from(p.at.y_nm)]),
        current_a: emitter.share * parts.current_a,
        junction_c: found.map(|f| f.0),
        solder_c: found.map(|f| f.1),
        forward_v: state.map(|s| s.forward_v),
        electrical_w: state.map(|s| s.electrical_w),
        heat_w: state.map(|s| s.heat_w),
        radiant_w: state.map(|s| s.radiant_w),
        flux_lm: state.map(|s| s.flux_lm),
        junction_limit_c: limit,
        junction_margin_k: found.map(|f| limit - f.0),
        heat_path: Vec::new(),
    }
}

/// Column with the largest value and the value, NaN left out.
fn hottest(values: &[f64]) -> (Option<usize>, Option<f64>) {
    let best = values.iter().enumerate().filter(|(_, v)| v.is_finite()).max_by(|a, b| a.1.total_cmp(b.1));
    (best.map(|b| b.0), best.map(|b| *b.1))
}

/// Hottest of the rises the grid error is stated for: solder points and heat patches.
fn probe_rise(parts: &RunParts, top: &[f64]) -> f64 {
    let gridded = &parts.stage.gridded;
    let lands = gridded.emitters.iter().chain(&gridded.heat_patches);
    lands.map(|f| f.mean(|c| top[c])).fold(0.0f64, f64::max)
}

fn sensors(parts: &RunParts, top: Option<&[f64]>) -> Vec<SensorFinding> {
    let read = |sensor: &crate::as_built::Sensor| {
        let rise = top.and_then(|top| sensor_rise_k(parts.stage, sensor, top));
        let reading_c = rise.map(|r| parts.ambient_c + r);
        SensorFinding { name: sensor.name.clone(), reading_c, output_v: None, output_ohm: None }
    };
    parts.lamp.sensors.iter().map(read).collect()
}

fn heat_patches(parts: &RunParts, top: &[f64]) -> Vec<HeatPatchFinding> {
    let gridded = &parts.stage.gridded;
    let ambient_c = parts.ambient_c;
    let finding = |(patch, footprint): (&crate::as_built::HeatPatch, &crate::gridding::Footprint)| {
        let mean = footprint.mean(|c| top[c]);
        let centre =
            centre_mm(patch).and_then(|[x, y]| reading::at(&gridded.plan, top, x, y)).unwrap_or(mean);
        // Columns that the patch only touches do not count for its highest temperature.
        let most = footprint
            .columns
            .iter()
            .filter(|(c, part)| part * footprint.area_m2 > 0.5 * gridded.areas_m2[*c]);
        let hottest = most.map(|(c, _)| top[*c]).fold(centre.max(mean), f64::max);
        HeatPatchFinding {
            name: patch.name.clone(),
            heat_w: patch.heat_w,
            mean_c: ambient_c + mean,
            centre_c: ambient_c + centre,
            hottest_c: ambient_c + hottest,
            mean_rise_k: mean,
            centre_rise_k: centre,
            hottest_rise_k: hottest,
        }
    };
    parts.variant.heat_patches.iter().zip(&gridded.heat_patches).map(finding).collect()
}

/// Middle of a patch's bounds, mm.
fn centre_mm(patch: &crate::as_built::HeatPatch) -> Option<[f64; 2]> {
    let points = || patch.area.polygons.iter().flat_map(|p| &p.outer);
    let middle = |value: fn(&artwork::shape::Point) -> i32| {
        let (low, high) = (points().map(value).min()?, points().map(value).max()?);
        Some(5e-7 * (f64::from(low) + f64::from(high)))
    };
    Some([middle(|p| p.x_nm)?, middle(|p| p.y_nm)?])
}

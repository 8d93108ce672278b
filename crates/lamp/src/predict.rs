//! The whole prediction: every variant at every drive current.

use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::{Mutex, PoisonError};

use crate::air_what_if::air_what_ifs;
use crate::as_built::{Cooling, Lamp, Variant};
use crate::bond_line::BondWhatIf;
use crate::contact_what_if::contact_what_ifs;
use crate::findings::{FindingRemark, Findings, Run, RunState, SharingFinding, VariantFindings};
use crate::model::{GridChoice, Model, ModelError};

/// What is asked beyond the lamp itself.
#[derive(Debug, Clone, Default)]
pub struct Question {
    /// Drive currents, A, instead of the lamp's.
    pub currents_a: Option<Vec<f64>>,
    /// Short names of the variants, instead of all.
    pub variants: Option<Vec<String>>,
    /// Whether changes of the contact are solved, too, for every variant with a bond line at its nominal current.
    pub contact: bool,
    /// Threads; 0 for one.
    pub threads: usize,
    /// How fine the grid is.
    pub grid: GridChoice,
}

/// How far a prediction is.
#[derive(Debug, Clone, PartialEq)]
pub struct Progress {
    /// Variant at work.
    pub variant: String,
    /// What is being done, in a few words.
    pub doing: String,
    /// Steps done.
    pub done: usize,
    /// Steps in all.
    pub total: usize,
}

/// How far beyond the sheet's current limit a runaway is looked for.
const SEARCH_FACTOR: f64 = 3.0;

/// Predicts. `seconds` is the program's clock, in seconds from any beginning.
///
/// # Errors
/// When cancelled, for an unknown variant or a current out of range, or when a variant cannot be computed.
pub fn predict(
    lamp: &Lamp,
    question: &Question,
    progress: &mut (dyn FnMut(&Progress) + Send),
    cancel: &AtomicBool,
    seconds: &mut (dyn FnMut() -> f64 + Send),
) -> Result<Findings, ModelError> {
    let variants = chosen_variants(lamp, question)?;
    let currents = chosen_currents(lamp, question)?;
    let more = |v: &&Variant| usize::from(!v.flatness.is_even()) + usize::from(has_air(v));
    let contact = if question.contact { variants.len() } else { 0 };
    let total = variants.len() * (currents.len() + 2) + contact + variants.iter().map(more).sum::<usize>();
    let desk = Mutex::new(Desk { progress, seconds, done: 0, total });
    // Variants do not touch one another: each thread takes the next one, and the findings keep the project's order.
    let next = AtomicUsize::new(0);
    let places: Vec<Mutex<Option<Result<OneVariant, ModelError>>>> =
        variants.iter().map(|_| Mutex::new(None)).collect();
    let workers = question.threads.clamp(1, variants.len().max(1));
    let threads_each = (question.threads / workers).max(1);
    let work = || {
        while let Some(variant) = variants.get(next.fetch_add(1, Ordering::Relaxed)) {
            let found = conduction::on_threads(threads_each, || {
                predict_variant(lamp, variant, &currents, (question, threads_each), &desk, cancel)
            });
            if let Some(place) =
                variants.iter().position(|v| v.name == variant.name).and_then(|i| places.get(i))
            {
                *place.lock().unwrap_or_else(PoisonError::into_inner) = Some(found);
            }
        }
    };
    std::thread::scope(|scope| {
        for _ in 1..workers {
            scope.spawn(work);
        }
        work();
    });
    let mut findings = Findings {
        lamp: lamp.name.clone(),
        runs: Vec::new(),
        variants: Vec::new(),
        remarks: Vec::new(),
        within_limits: true,
    };
    for place in places {
        let Some(found) = place.into_inner().unwrap_or_else(PoisonError::into_inner) else { continue };
        let one = found?;
        findings.within_limits &=
            one.runs.iter().all(|run| {
                run.state == RunState::Steady && run.limits.iter().all(|limit| limit.margin >= 0.0)
            }) && !one.runs.iter().filter_map(|run| run.sharing.as_ref()).any(SharingFinding::may_run_away);
        findings.runs.extend(one.runs);
        findings.variants.push(one.variant);
    }
    findings.remarks.extend(general_remarks(lamp));
    Ok(findings)
}

/// What the threads share: whom to tell, and the program's clock.
struct Desk<'a> {
    progress: &'a mut (dyn FnMut(&Progress) + Send),
    seconds: &'a mut (dyn FnMut() -> f64 + Send),
    done: usize,
    total: usize,
}

impl Desk<'_> {
    /// Tells what is being done and reads the clock.
    fn tell(&mut self, variant: &Variant, doing: String) -> f64 {
        (self.progress)(&Progress {
            variant: variant.name.clone(),
            doing,
            done: self.done,
            total: self.total,
        });
        self.done += 1;
        (self.seconds)()
    }
}

struct OneVariant {
    runs: Vec<Run>,
    variant: VariantFindings,
}

fn predict_variant(
    lamp: &Lamp,
    variant: &Variant,
    currents: &[f64],
    (question, threads): (&Question, usize),
    desk: &Mutex<Desk<'_>>,
    cancel: &AtomicBool,
) -> Result<OneVariant, ModelError> {
    let tell = |doing: String| desk.lock().unwrap_or_else(PoisonError::into_inner).tell(variant, doing);
    let mut began = tell("laying the grid".into());
    let mut model = Model::new(lamp, variant, &question.grid, threads)?;
    let mut runs = Vec::new();
    for &current_a in currents {
        tell(format!("solving at {current_a} A"));
        let mut run = model.run(current_a, lamp.ambient_c, cancel)?;
        let ended = (desk.lock().unwrap_or_else(PoisonError::into_inner).seconds)();
        run.seconds = ended - began;
        began = ended;
        runs.push(run);
    }
    if variant.bond.is_some() && variant.heatsink.is_some() && !variant.flatness.is_even() {
        tell("taking burrs and bow away".into());
        unevenness_costs(&mut model, variant, &mut runs, lamp.ambient_c, cancel)?;
    }
    tell("looking for a runaway".into());
    let found = variant_findings(&mut model, lamp, variant, currents, cancel)?;
    if has_air(variant)
        && let Some(run) = at_nominal(lamp, &mut runs)
    {
        tell("changing fan, vents and facing".into());
        let found = air_what_ifs(&mut model, run, cancel, &mut |_| {})?;
        if let Some(air) = run.air_side.as_mut() {
            air.what_ifs = found;
        }
    }
    if question.contact {
        tell("changing the contact".into());
        if let Some(run) = at_nominal(lamp, &mut runs) {
            let found = contact_what_ifs(&mut model, variant, run, cancel, &mut |_| {})?;
            if let Some(bond) = run.bond.as_mut() {
                bond.what_ifs = found;
            }
        }
    }
    Ok(OneVariant { runs, variant: found })
}

fn has_air(variant: &Variant) -> bool {
    variant.heatsink.as_ref().is_some_and(|heatsink| matches!(heatsink.cooling, Cooling::Air(_)))
}

/// The run at the nominal current, or at the highest where that one was not asked.
fn at_nominal<'a>(lamp: &Lamp, runs: &'a mut [Run]) -> Option<&'a mut Run> {
    let at = runs.iter().position(|run| run.current_a == lamp.nominal_current_a);
    match at {
        Some(index) => runs.get_mut(index),
        None => runs.last_mut(),
    }
}

/// Finds what burrs and bow cost at the hottest place of each run, by solving without them.
fn unevenness_costs(
    model: &mut Model,
    variant: &Variant,
    runs: &mut [Run],
    ambient_c: f64,
    cancel: &AtomicBool,
) -> Result<(), ModelError> {
    let without =
        |burrs: bool| BondWhatIf { without_burrs: burrs, without_bow: !burrs, no_contact_under: None };
    let hottest = |run: &Run| run.hottest_junction_c.or(run.hottest_board_c);
    for (burrs, there) in [(true, variant.flatness.has_burrs()), (false, variant.flatness.has_bow())] {
        if !there {
            continue;
        }
        model.what_if(without(burrs))?;
        for run in runs.iter_mut() {
            let better = model.run(run.current_a, ambient_c, cancel)?;
            let cost = hottest(run).zip(hottest(&better)).map(|(with, without)| with - without);
            if let Some(bond) = &mut run.bond {
                *(if burrs { &mut bond.burrs_cost_k } else { &mut bond.bow_costs_k }) = cost;
            }
        }
    }
    model.what_if(BondWhatIf::default())
}

fn chosen_variants<'a>(lamp: &'a Lamp, question: &Question) -> Result<Vec<&'a Variant>, ModelError> {
    let Some(names) = &question.variants else { return Ok(lamp.variants.iter().collect()) };
    let find = |name: &String| {
        lamp.variants.iter().find(|v| &v.name == name).ok_or_else(|| {
            let known: Vec<&str> = lamp.variants.iter().map(|v| v.name.as_str()).collect();
            ModelError::Problem(format!(
                "variant {name}: there is none of this name; there are {}",
                known.join(", ")
            ))
        })
    };
    names.iter().map(find).collect()
}

fn chosen_currents(lamp: &Lamp, question: &Question) -> Result<Vec<f64>, ModelError> {
    let mut currents = question.currents_a.clone().unwrap_or_else(|| lamp.currents_a.clone());
    if let Some(wrong) = currents.iter().find(|c| !(c.is_finite() && **c >= 0.0)) {
        return Err(ModelError::Problem(format!("drive current {wrong} A: must be 0 A or more")));
    }
    if currents.is_empty() {
        currents.push(lamp.nominal_current_a);
    }
    currents.sort_by(f64::total_cmp);
    currents.dedup();
    Ok(currents)
}

fn variant_findings(
    model: &mut Model,
    lamp: &Lamp,
    variant: &Variant,
    currents: &[f64],
    cancel: &AtomicBool,
) -> Result<VariantFindings, ModelError> {
    let limit_of = |e: &crate::as_built::PlacedEmitter| e.sheet.current_limit_a / e.current_share.max(1e-3);
    let sheet_limit = variant.emitters.iter().map(limit_of).reduce(f64::min).unwrap_or(0.0);
    let highest = currents.last().copied().unwrap_or(0.0).max(lamp.nominal_current_a);
    let up_to_a = if variant.emitters.is_empty() { 0.0 } else { (SEARCH_FACTOR * sheet_limit).max(highest) };
    let runaway = model.runaway_current(lamp.ambient_c, up_to_a, cancel)?;
    Ok(VariantFindings {
        variant: variant.name.clone(),
        title: variant.title.clone(),
        runaway_current_a: runaway.map(|found| found.0),
        runaway_of: runaway.map(|found| found.1),
        runaway_searched_to_a: up_to_a,
    })
}

fn general_remarks(lamp: &Lamp) -> Vec<FindingRemark> {
    let note = |text: &str| FindingRemark {
        severity: "note",
        file: None,
        line: None,
        column: None,
        text: text.into(),
    };
    let has_open_face = lamp
        .variants
        .iter()
        .any(|v| [v.top_face, v.bottom_face].iter().any(|f| matches!(f, crate::as_built::Face::Open { .. })));
    let mut all = Vec::new();
    if has_open_face {
        all.push(note(
            "the narrow edges of board and heatsink base give nothing to the room, and packages on the board are taken to give \
             off as much as the bare board under them",
        ));
    }
    all
}

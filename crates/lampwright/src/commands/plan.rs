//! `lampwright plan`: the bench test, before it is made.

use bench::plan::{Order, PlanFindings, Wanted};
use lamp::as_built::Lamp;
use lamp::model::GridChoice;
use lamp::project;

use super::predict;
use super::stopping::stop_flag;
use super::{told_where, usable};
use crate::arguments::{PlanArguments, PlanOrder};
use crate::disk::{LampFolder, write_result};
use crate::outcome::{Failure, Outcome};
use crate::planned::{SEED, plan_csv, plan_sheets, planned};
use crate::terminal::{Console, ProgressLine, json_text, plan_text};

/// Width of results/plan.txt, characters.
const PRINTED_WIDTH: usize = 100;

pub fn plan(arguments: &PlanArguments, console: &Console) -> Result<Outcome, Failure> {
    let folder = LampFolder::find(&arguments.lamp)?;
    let currents_a = predict::currents(&arguments.currents)?;
    if arguments.seed.is_some() && arguments.order != PlanOrder::Random {
        return Err(Failure::bad_input("--seed: is for --order random; the other orders need none"));
    }
    let (lamp, _) = usable(project::read(&folder))?;
    let chosen = predict::variants(&lamp, &arguments.variants)?;
    let wanted = Wanted {
        variants: lit(&lamp, chosen.as_deref()),
        currents_a,
        order: match arguments.order {
            PlanOrder::Mirrored => Order::Mirrored,
            PlanOrder::Rising => Order::Rising,
            PlanOrder::Random => Order::Random(arguments.seed.unwrap_or(SEED)),
        },
        mountings: usize::from(arguments.mountings),
        choice: GridChoice::default(),
        threads: predict::threads(),
    };
    let line = ProgressLine::new();
    let tell = |done: usize, of: usize, words: String| line.tell(done, of, words);
    let found = planned(&lamp, &wanted, &tell, &stop_flag())?;
    line.end();
    if console.json() {
        console.object(&found)?;
    } else {
        console.say(&plan_text(&found, console.width()))?;
    }
    if !arguments.no_write {
        keep(&folder, &found, &lamp, console)?;
    }
    Ok(Outcome::Fine)
}

/// Indices of the variants to plan for: those named, or all that have emitters.
pub fn lit(lamp: &Lamp, chosen: Option<&[String]>) -> Vec<usize> {
    let named = |names: &[String]| {
        (0..lamp.variants.len()).filter(|k| names.contains(&lamp.variants[*k].name)).collect::<Vec<_>>()
    };
    let all = chosen.map_or_else(|| lamp.lit_variants(), named);
    // A lamp without emitters: the plan says so of its first variant.
    if all.is_empty() { vec![0] } else { all }
}

/// Writes the plan and its bench sheets. That the disk refuses spoils nothing that was said.
fn keep(folder: &LampFolder, found: &PlanFindings, lamp: &Lamp, console: &Console) -> Result<(), Failure> {
    let text = anstream::adapter::strip_str(&plan_text(found, PRINTED_WIDTH)).to_string();
    let mut files = vec![
        ("plan.json".to_owned(), json_text(found)?),
        ("plan.txt".to_owned(), text),
        ("plan.csv".to_owned(), plan_csv(found)),
    ];
    files.extend(plan_sheets(found, lamp));
    let mut written = Ok(folder.root().join("results"));
    for (name, text) in &files {
        written = written.and_then(|_| write_result(folder.root(), name, text.as_bytes()));
    }
    let names: Vec<&str> = files.iter().map(|(name, _)| name.as_str()).collect();
    told_where(folder, written, &names, console)
}

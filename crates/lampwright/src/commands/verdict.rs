//! `lampwright verdict`: what to set, for one variant, with or without a bench test.

use bench::fit::Posterior;
use lamp::project;

use super::predict;
use super::stopping::stop_flag;
use super::{told_where, usable};
use crate::arguments::VerdictArguments;
use crate::disk::{LampFolder, write_result};
use crate::judgement;
use crate::outcome::{Failure, Outcome};
use crate::terminal::{Console, ProgressLine, json_text, verdicts};

pub fn verdict(arguments: &VerdictArguments, console: &Console) -> Result<Outcome, Failure> {
    let folder = LampFolder::find(&arguments.lamp)?;
    let hottest_c = arguments.hottest.as_deref().map(predict::ambient).transpose()?;
    let (mut lamp, _) = usable(project::read(&folder))?;
    lamp.hottest_c = hottest_c.unwrap_or(lamp.hottest_c);
    let chosen = predict::variants(&lamp, &arguments.variants)?;
    let stop = stop_flag();
    let line = ProgressLine::new();
    let tell = |done: usize, of: usize, words: String| line.tell(done, of, words);
    let reduced = judgement::reduce(&lamp, &tell, &stop)?;
    let earlier = if arguments.unfitted { None } else { judgement::earlier(&folder, &lamp, &reduced)? };
    let posterior = earlier.unwrap_or_else(|| Posterior::prior(&reduced));
    let indices: Vec<usize> = (0..lamp.variants.len())
        .filter(|v| chosen.as_ref().is_none_or(|names| names.contains(&lamp.variants[*v].name)))
        .collect();
    let found = judgement::verdicts(&lamp, &reduced, &posterior, (&indices, arguments.seed), &tell, &stop)?;
    line.end();
    if console.json() {
        console.object(&found)?;
    } else {
        console.say(&verdicts(&found.lamp, &found.verdicts, console.width()))?;
    }
    if !arguments.no_write {
        let json = json_text(&found)?;
        let written = write_result(folder.root(), "verdict.json", json.as_bytes());
        told_where(&folder, written, &["verdict.json"], console)?;
    }
    Ok(if found.verdicts.iter().all(|v| v.passes) { Outcome::Fine } else { Outcome::OverLimit })
}

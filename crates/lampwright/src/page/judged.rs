//! Fit and verdict for the page, kept until the folder changes.

use std::sync::{Arc, Mutex, PoisonError};

use bench::fit::{FitFindings, Posterior};
use bench::run::LogFolder;
use lamp::as_built::Lamp;
use lamp::project::{self, Folder};
use lamp::reduced::ReducedLamp;
use serde::Serialize;

use super::answers::Trouble;
use super::at_work::Working;
use super::reread::Noted;
use crate::judgement::{self, SEED, Verdicts};
use crate::outcome::Failure;

/// What the page is told.
#[derive(Debug, Serialize)]
pub(super) struct Judgement {
    /// The fit, as `fit --json` has it; without logs that can be fitted, none.
    pub fit: Option<FitFindings>,
    /// What the verdict goes by instead, and why.
    pub why_no_fit: Option<String>,
    /// As `verdict --json` has it after that fit.
    pub verdict: Verdicts,
}

/// The judgement that was made last, and of what.
#[derive(Debug, Default)]
pub(super) struct Judged(Mutex<Option<(u64, Arc<Judgement>)>>);

impl Judged {
    /// Judges the lamp as its folder has it now, until `working` is told to stop.
    pub fn judge(&self, folder: &impl LogFolder, working: &Working) -> Result<Arc<Judgement>, Trouble> {
        let mut kept = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let tell = |done: usize, of: usize, words: String| {
            working.tell(if of > 1 { format!("{words} ({} of {of})", (done + 1).min(of)) } else { words });
        };
        let stop = working.cancel();
        let go_on = || if working.is_cancelled() { Err(Trouble::cancelled()) } else { Ok(()) };
        go_on()?;
        let noted = Noted::new(folder);
        let reading = project::read(&noted);
        let Some(lamp) = reading.lamp.as_ref().filter(|_| !reading.has_errors()) else {
            return Err(Trouble::plain("the lamp has errors; load the page again to see them"));
        };
        let plateaus = judgement::plateaus(&noted, lamp, &tell);
        // What is gone by where the logs cannot be fitted, which only the solved boards tell: a change of it is seen in any case.
        let _ = noted.read(&format!("results/{}", judgement::FITTED));
        let seen = noted.seen();
        if let Some((_, same)) = kept.as_ref().filter(|(of, _)| *of == seen) {
            return Ok(Arc::clone(same));
        }
        go_on()?;
        let mut reduced = judgement::reduce(lamp, &tell, stop).map_err(trouble)?;
        let tried = plateaus.and_then(|all| judgement::fitted(&all, lamp, &mut reduced, &tell, stop));
        let (posterior, fit, why_no_fit) = match tried {
            Ok((found, findings)) => (found.posterior(&reduced), Some(findings), None),
            Err(Failure::BadInput(why)) => {
                let (posterior, by) = without_fit(&noted, lamp, &reduced);
                (posterior, None, Some(format!("{by}: {}", told(&Failure::BadInput(why)))))
            }
            Err(other) => return Err(trouble(other)),
        };
        let lit = lamp.lit_variants();
        let verdict =
            judgement::verdicts(lamp, &reduced, &posterior, (&lit, SEED), &tell, stop).map_err(trouble)?;
        let found = Arc::new(Judgement { fit, why_no_fit, verdict });
        *kept = Some((seen, Arc::clone(&found)));
        Ok(found)
    }
}

/// What is known where the logs cannot be fitted, and by what in words: an earlier fit, else the tolerances.
fn without_fit(folder: &impl LogFolder, lamp: &Lamp, reduced: &ReducedLamp) -> (Posterior, String) {
    match judgement::earlier(folder, lamp, reduced) {
        Ok(Some(earlier)) => (earlier, format!("By the fit before, in results/{}", judgement::FITTED)),
        Ok(None) => (Posterior::prior(reduced), "By tolerances alone".to_owned()),
        Err(why) => (Posterior::prior(reduced), format!("By tolerances alone ({})", told(&why))),
    }
}

/// A failure as the page is told.
pub(super) fn trouble(failure: Failure) -> Trouble {
    match failure {
        Failure::Cancelled => Trouble::cancelled(),
        Failure::Fault(text) => Trouble::fault(text),
        input => Trouble::plain(told(&input)),
    }
}

/// Why, in one line.
fn told(failure: &Failure) -> String {
    let one = |remark: lamp::findings::FindingRemark| match remark.file {
        Some(file) => format!("{file}: {}", remark.text),
        None => remark.text,
    };
    failure.told().remarks.into_iter().map(one).collect::<Vec<_>>().join("; ")
}

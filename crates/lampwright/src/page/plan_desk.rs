//! The plan of the bench test for the page; the solved boards are kept until the folder changes.

use std::fmt;
use std::sync::{Mutex, PoisonError};

use bench::plan::{Board, Course, Order, PlanFindings, Wanted, course, plan_of};
use lamp::model::GridChoice;
use lamp::project::{self, Folder};
use serde::{Deserialize, Serialize};

use super::answers::Trouble;
use super::at_work::Working;
use super::judged::trouble;
use super::reread::Noted;
use crate::commands::{lit, threads};
use crate::planned::{SEED, solved};

/// Most mountings of a board that can be asked for.
const MOST_MOUNTINGS: usize = 6;

/// What the page asks; empty for the usual.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct AskedPlan {
    /// `mirrored`, `rising` or `random`.
    pub order: String,
    /// Number by which a random order is shuffled.
    pub seed: String,
    /// How often each board is mounted.
    pub mountings: String,
    /// The page's own name for this question.
    pub asked_as: String,
}

/// What the page is told.
#[derive(Debug, Serialize)]
pub(super) struct PlanAnswer {
    /// As `plan --json` has it.
    pub plan: PlanFindings,
    /// The expected reading over time, run by run.
    pub courses: Vec<Course>,
}

/// Boards that were solved, with a number that changes with what they are of.
type Solved = (u64, Vec<(usize, Board)>);

/// The boards that were solved last.
#[derive(Default)]
pub(super) struct PlanDesk(Mutex<Option<Solved>>);

impl fmt::Debug for PlanDesk {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("PlanDesk")
    }
}

impl AskedPlan {
    fn order(&self) -> Result<Order, Trouble> {
        let seed = match self.seed.trim() {
            "" => SEED,
            typed => typed.parse().map_err(|_| {
                Trouble::typed("seed", format!("\"{typed}\": a whole number of 0 or more is allowed"))
            })?,
        };
        match self.order.trim() {
            "" | "mirrored" => Ok(Order::Mirrored),
            "rising" => Ok(Order::Rising),
            "random" => Ok(Order::Random(seed)),
            other => {
                Err(Trouble::typed("order", format!("\"{other}\": mirrored, rising or random are allowed")))
            }
        }
    }

    fn mountings(&self) -> Result<usize, Trouble> {
        match self.mountings.trim() {
            "" => Ok(1),
            typed => typed.parse().ok().filter(|n| (1..=MOST_MOUNTINGS).contains(n)).ok_or_else(|| {
                Trouble::typed("mountings", format!("\"{typed}\": 1 to {MOST_MOUNTINGS} are allowed"))
            }),
        }
    }
}

impl PlanDesk {
    /// The plan for the lamp as its folder has it now, until `working` is told to stop.
    pub fn plan(
        &self,
        folder: &impl Folder,
        asked: &AskedPlan,
        working: &Working,
    ) -> Result<PlanAnswer, Trouble> {
        let (order, mountings) = (asked.order()?, asked.mountings()?);
        let mut kept = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if working.is_cancelled() {
            return Err(Trouble::cancelled());
        }
        let noted = Noted::new(folder);
        let reading = project::read(&noted);
        let Some(lamp) = reading.lamp.as_ref().filter(|_| !reading.has_errors()) else {
            return Err(Trouble::plain("the lamp has errors; load the page again to see them"));
        };
        let wanted = Wanted {
            variants: lit(lamp, None),
            currents_a: None,
            order,
            mountings,
            choice: GridChoice::default(),
            threads: threads(),
        };
        let seen = noted.seen();
        let tell = |_: usize, _: usize, words: String| working.tell(words);
        let boards = match kept.take().filter(|(of, _)| *of == seen) {
            Some((_, boards)) => boards,
            None => solved(lamp, &wanted, &tell, working.cancel()).map_err(trouble)?,
        };
        let (_, boards) = kept.insert((seen, boards));
        let found = plan_of(lamp, boards, &wanted, working.cancel()).map_err(|why| trouble(why.into()))?;
        let courses = found.runs.iter().map(|run| course(&found, run)).collect();
        Ok(PlanAnswer { plan: found, courses })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_typed_is_read_or_told() {
        let asked = |order: &str, seed: &str, mountings: &str| AskedPlan {
            order: order.into(),
            seed: seed.into(),
            mountings: mountings.into(),
            asked_as: String::new(),
        };
        let good = asked("random", "7", "2");
        assert_eq!((good.order().unwrap(), good.mountings().unwrap()), (Order::Random(7), 2));
        let usual = AskedPlan::default();
        assert_eq!((usual.order().unwrap(), usual.mountings().unwrap()), (Order::Mirrored, 1));
        assert_eq!(asked("down", "", "").order().unwrap_err().field, Some("order"));
        assert_eq!(asked("random", "-1", "").order().unwrap_err().field, Some("seed"));
        for mountings in ["0", "7", "two"] {
            assert_eq!(asked("", "", mountings).mountings().unwrap_err().field, Some("mountings"));
        }
    }
}

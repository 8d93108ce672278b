//! What is being worked on: every question in hand, since when, and the flag that stops it.

use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::Instant;

use serde::Serialize;

/// The questions in hand.
#[derive(Debug, Default)]
pub(super) struct AtWork {
    open: Mutex<Vec<Arc<InHand>>>,
    next: AtomicU64,
    /// The program ends: nothing new is begun.
    closed: AtomicBool,
}

/// A question in hand.
#[derive(Debug)]
struct InHand {
    number: u64,
    asked_as: String,
    variant: String,
    began: Instant,
    doing: Mutex<String>,
    cancel: AtomicBool,
}

/// A question in hand, as told to the page.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(super) struct Told {
    /// The name that the page gave its question.
    pub asked_as: String,
    pub variant: String,
    /// What is being done, in a few words.
    pub doing: String,
    /// Time since it was asked, s.
    pub elapsed_s: f64,
}

/// Held by whoever waits for the answer: when it goes, because the answer is there or the connection has dropped, the
/// work is told to stop.
#[derive(Debug)]
pub(super) struct Waiting(Arc<InHand>);

/// Held by the work itself: while it is, the question counts as in hand.
#[derive(Debug)]
pub(super) struct Working {
    hand: Arc<InHand>,
    desk: Arc<AtWork>,
}

fn unpoisoned<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

impl AtWork {
    /// Takes a question in hand.
    pub fn begin(self: &Arc<Self>, asked_as: &str, variant: &str) -> (Waiting, Working) {
        let hand = Arc::new(InHand {
            number: self.next.fetch_add(1, Ordering::Relaxed),
            asked_as: asked_as.to_owned(),
            variant: variant.to_owned(),
            began: Instant::now(),
            doing: Mutex::new("waiting for another question".to_owned()),
            cancel: AtomicBool::new(false),
        });
        unpoisoned(&self.open).push(Arc::clone(&hand));
        // Looked at only once it stands in the list: whoever closes the desk meanwhile finds it there.
        hand.cancel.fetch_or(self.closed.load(Ordering::SeqCst), Ordering::SeqCst);
        (Waiting(Arc::clone(&hand)), Working { hand, desk: Arc::clone(self) })
    }

    /// The questions in hand, the oldest first.
    pub fn told(&self) -> Vec<Told> {
        let told = |hand: &Arc<InHand>| Told {
            asked_as: hand.asked_as.clone(),
            variant: hand.variant.clone(),
            doing: unpoisoned(&hand.doing).clone(),
            elapsed_s: hand.began.elapsed().as_secs_f64(),
        };
        unpoisoned(&self.open).iter().map(told).collect()
    }

    /// Stops all work, and what may still come.
    pub fn close(&self) {
        self.closed.store(true, Ordering::SeqCst);
        unpoisoned(&self.open).iter().for_each(|hand| hand.cancel.store(true, Ordering::SeqCst));
    }
}

impl Working {
    /// Says what is being done.
    pub fn tell(&self, doing: impl Into<String>) {
        *unpoisoned(&self.hand.doing) = doing.into();
    }

    /// The flag that the calculation looks at.
    pub fn cancel(&self) -> &AtomicBool {
        &self.hand.cancel
    }

    pub fn is_cancelled(&self) -> bool {
        self.hand.cancel.load(Ordering::Relaxed)
    }
}

impl Drop for Waiting {
    fn drop(&mut self) {
        self.0.cancel.store(true, Ordering::Relaxed);
    }
}

impl Drop for Working {
    fn drop(&mut self) {
        unpoisoned(&self.desk.open).retain(|hand| hand.number != self.hand.number);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn work_stops_with_whoever_waits_and_is_in_hand_until_it_has_stopped() {
        let desk = Arc::new(AtWork::default());
        let (waiting, working) = desk.begin("a", "plain");
        working.tell("solving");
        assert!(!working.is_cancelled());
        let told = desk.told();
        assert_eq!((told[0].asked_as.as_str(), told[0].doing.as_str()), ("a", "solving"));
        drop(waiting);
        assert!(working.is_cancelled());
        assert_eq!(desk.told().len(), 1, "it has not stopped yet");
        drop(working);
        assert!(desk.told().is_empty());
    }

    #[test]
    fn a_closed_desk_stops_what_is_there_and_what_comes() {
        let desk = Arc::new(AtWork::default());
        let (_first, early) = desk.begin("a", "plain");
        desk.close();
        let (_second, late) = desk.begin("b", "plain");
        assert!(early.is_cancelled() && late.is_cancelled());
    }
}

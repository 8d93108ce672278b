//! Threads that stay at hand while a system is solved. A solution has some hundred short steps that all threads must have
//! done before the next begins; putting a thread to sleep and waking it takes as long as such a step. So those that help
//! look out for work a little before they go.

use std::cell::RefCell;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicPtr, AtomicU64, AtomicUsize, Ordering};

/// Looks for work before a helper goes: about half a millisecond, which outlasts the steps that one thread does alone.
const PATIENCE: usize = 30_000;
/// Bits of the share's number and of the number of shares in a ticket.
const BITS: u32 = 16;

thread_local! {
    /// The team that the thread leads.
    static LED: RefCell<Option<Arc<Team>>> = const { RefCell::new(None) };
}

/// A leader's work and who takes part in it.
#[derive(Debug)]
pub(crate) struct Team {
    /// Which work (upper half), of how many shares, and the next that nobody has taken.
    ticket: AtomicU64,
    work: AtomicPtr<Work<'static>>,
    /// Helpers that are here or called.
    helpers: AtomicUsize,
    over: AtomicBool,
}

/// What is to be done.
struct Work<'a> {
    share: &'a (dyn Fn(usize) + Sync),
    left: AtomicUsize,
    failed: AtomicBool,
}

/// Ends a team when its leader is through, however that comes.
struct Led(Option<Arc<Team>>);

impl Drop for Led {
    fn drop(&mut self) {
        let mine = LED.with(|led| std::mem::replace(&mut *led.borrow_mut(), self.0.take()));
        if let Some(team) = mine {
            team.over.store(true, Ordering::Relaxed);
        }
    }
}

/// Counts a share as done, however that comes.
struct Done<'a>(&'a Work<'a>);

impl Drop for Done<'_> {
    fn drop(&mut self) {
        if std::thread::panicking() {
            self.0.failed.store(true, Ordering::Relaxed);
        }
        self.0.left.fetch_sub(1, Ordering::Release);
    }
}

/// Does some work as the leader of a team of the pool's threads.
pub(crate) fn lead<R>(work: impl FnOnce() -> R) -> R {
    if rayon::current_num_threads() == 1 {
        return work();
    }
    let team = Arc::new(Team {
        ticket: AtomicU64::new(0),
        work: AtomicPtr::new(std::ptr::null_mut()),
        helpers: AtomicUsize::new(0),
        over: AtomicBool::new(false),
    });
    let _led = Led(LED.with(|led| led.borrow_mut().replace(team)));
    work()
}

/// Does the shares of some work with the team that this thread leads; `false` when it leads none.
pub(crate) fn share_out(shares: usize, share: &(dyn Fn(usize) + Sync)) -> bool {
    let Some(team) = LED.with(|led| led.borrow().clone()) else { return false };
    if shares >= 1 << BITS {
        return false;
    }
    team.share_out(shares, share);
    true
}

impl Team {
    fn share_out(self: &Arc<Self>, shares: usize, share: &(dyn Fn(usize) + Sync)) {
        while self.helpers.load(Ordering::Relaxed) + 1 < shares.min(rayon::current_num_threads()) {
            self.helpers.fetch_add(1, Ordering::Relaxed);
            let team = Arc::clone(self);
            rayon::spawn(move || team.help());
        }
        let work = Work { share, left: AtomicUsize::new(shares), failed: AtomicBool::new(false) };
        self.work.store((&raw const work).cast_mut().cast(), Ordering::Relaxed);
        let last = self.ticket.load(Ordering::Relaxed);
        let number = (last >> (2 * BITS)).wrapping_add(1) << (2 * BITS);
        self.ticket.store(number | (shares as u64) << BITS, Ordering::Release);
        while self.take_one() {}
        let mut looks = 0;
        while work.left.load(Ordering::Acquire) > 0 {
            looks += 1;
            if looks % PATIENCE == 0 {
                std::thread::yield_now();
            }
            std::hint::spin_loop();
        }
        assert!(!work.failed.load(Ordering::Relaxed), "a thread failed in its share of the work");
    }

    /// Takes a share of the work there is and does it.
    fn take_one(&self) -> bool {
        let mut ticket = self.ticket.load(Ordering::Acquire);
        loop {
            let (next, shares) = (ticket & ((1 << BITS) - 1), (ticket >> BITS) & ((1 << BITS) - 1));
            if next >= shares {
                return false;
            }
            let work = self.work.load(Ordering::Relaxed);
            let taken =
                self.ticket.compare_exchange_weak(ticket, ticket + 1, Ordering::AcqRel, Ordering::Acquire);
            match taken {
                Ok(_) => {
                    // SAFETY: the leader waits until every share that was taken is done, and the ticket, which tells one
                    // work from the next, was still this work's when the share was taken.
                    let work = unsafe { &*work };
                    let _done = Done(work);
                    (work.share)(next as usize);
                    return true;
                }
                Err(now) => ticket = now,
            }
        }
    }

    /// Helps until nothing comes for a while.
    fn help(self: Arc<Self>) {
        // A leader that waits for something else may pick up its own call.
        let own = LED.with(|led| led.borrow().as_ref().is_some_and(|led| Arc::ptr_eq(led, &self)));
        let mut looks = if own { PATIENCE } else { 0 };
        while looks < PATIENCE && !self.over.load(Ordering::Relaxed) {
            looks += 1;
            if std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| self.take_one())).unwrap_or(true) {
                looks = 0;
            }
            std::hint::spin_loop();
        }
        self.helpers.fetch_sub(1, Ordering::Relaxed);
    }
}

#[cfg(test)]
mod tests {
    use std::sync::atomic::{AtomicUsize, Ordering};

    use super::{lead, share_out};

    fn pool(threads: usize) -> rayon::ThreadPool {
        rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("threads")
    }

    /// Each share is done once, whatever the number of threads and of shares.
    #[test]
    fn each_share_is_done_once() {
        for threads in [2, 3, 5] {
            pool(threads).install(|| {
                lead(|| {
                    for round in 0..20_000 {
                        let shares = 1 + round % 7;
                        let counts: Vec<AtomicUsize> = (0..shares).map(|_| AtomicUsize::new(0)).collect();
                        assert!(share_out(shares, &|i| {
                            // Long enough for all to take part.
                            (0..20).for_each(|_| std::hint::spin_loop());
                            counts[i].fetch_add(1, Ordering::Relaxed);
                        }));
                        assert!(counts.iter().all(|count| count.load(Ordering::Relaxed) == 1));
                    }
                });
            });
        }
    }

    /// Leaders that wait for each other's pool do not wait for ever.
    #[test]
    fn teams_in_one_pool_do_not_wait_for_each_other() {
        use rayon::prelude::*;
        let sum = AtomicUsize::new(0);
        pool(2).install(|| {
            (0..32).into_par_iter().for_each(|_| {
                lead(|| {
                    for _ in 0..200 {
                        assert!(share_out(2, &|_| {
                            sum.fetch_add(1, Ordering::Relaxed);
                        }));
                        (0..4).into_par_iter().for_each(|_| {
                            sum.fetch_add(1, Ordering::Relaxed);
                        });
                    }
                });
            });
        });
        assert_eq!(sum.load(Ordering::Relaxed), 32 * 200 * 6);
    }

    /// A share that fails fails the whole.
    #[test]
    fn a_share_that_fails_is_not_lost() {
        let failed = std::panic::catch_unwind(|| {
            pool(2).install(|| lead(|| share_out(8, &|i| assert!(i != 7, "on purpose"))))
        });
        assert!(failed.is_err());
    }
}

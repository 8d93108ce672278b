//! What the plateau settles to, found out beside the recording: never more than one question at a time.

use std::sync::mpsc::{Receiver, Sender, TryRecvError, channel};
use std::thread;
use std::time::{Duration, Instant};

use bench::live::watch::{Outlook, Window};

/// Least time between two questions.
const EVERY: Duration = Duration::from_secs(2);
/// A question may take this part of the time at most.
const SHARE: u32 = 10;
/// What may be left of the approach in a settled plateau, K; as `bench` takes it.
const STILL_K: f64 = 0.1;

/// Asks and answers.
#[derive(Debug)]
pub struct Outlooks {
    asking: Sender<Window>,
    answers: Receiver<(Option<Outlook>, Duration)>,
    waiting: bool,
    next: Instant,
}

impl Outlooks {
    /// Starts the thread; without one nothing is answered.
    pub fn start() -> Self {
        let (asking, asked) = channel::<Window>();
        let (answering, answers) = channel();
        let work = move || {
            for window in asked {
                let began = Instant::now();
                let found = window.outlook(STILL_K).ok();
                if answering.send((found, began.elapsed())).is_err() {
                    return;
                }
            }
        };
        let _ = thread::Builder::new().name("outlook".to_owned()).spawn(work);
        Self { asking, answers, waiting: false, next: Instant::now() }
    }

    /// Whether it is time to ask again.
    pub fn is_free(&self) -> bool {
        !self.waiting && Instant::now() >= self.next
    }

    /// Asks.
    pub fn ask(&mut self, window: Window) {
        self.waiting = self.asking.send(window).is_ok();
        self.next = Instant::now() + EVERY;
    }

    /// The answer, where there is a new one.
    pub fn answer(&mut self) -> Option<Outlook> {
        match self.answers.try_recv() {
            Ok((found, took)) => {
                self.waiting = false;
                self.next = self.next.max(Instant::now() + took * SHARE);
                found
            }
            Err(TryRecvError::Empty) => None,
            Err(TryRecvError::Disconnected) => {
                self.waiting = true;
                None
            }
        }
    }
}

/// The answer at once, for the plateau that was running when all ended.
pub fn at_once(window: &Window) -> Option<Outlook> {
    window.outlook(STILL_K).ok()
}

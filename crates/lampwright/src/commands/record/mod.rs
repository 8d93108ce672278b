//! `lampwright record`: a run as the logger sends it, written safely and shown live.

mod abort;
mod given;
mod outlooks;
mod session;
pub mod shown;
mod source;
mod told;

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, RecvTimeoutError, TryRecvError};
use std::time::{Duration, Instant};

use abort::Abort;
use given::Asked;
use outlooks::Outlooks;
use session::Session;
use shown::{Course, Heading, Shown};
use source::Came;

use super::stopping::stop_flag;
use crate::arguments::RecordArguments;
use crate::outcome::{Failure, Outcome};
use crate::page::live::LivePage;
use crate::terminal::{Console, LiveScreen, paragraph, recorded};

pub use abort::Abort as AbortReading;
pub use told::{PlateauSeen, Recorded};

/// How long a line is waited for before other things are looked after.
const LOOK_EVERY: Duration = Duration::from_millis(50);
/// How often the views are brought up to date.
const SHOW_EVERY: Duration = Duration::from_millis(250);

/// What hurts people at this bench (common practice, no source).
const CAUTIONS: &str = "Eyes: do not look into emitters that are lit. Hot metal burns: let board and heatsink cool before touching. Never leave a powered \
    lamp unattended. A logger's outputs may start at any voltage: connect nothing to them that switches the lamp. This program watches \
    and warns; it switches nothing off. Leave mains wiring to licensed people and follow local codes.";

/// Runs the command.
///
/// # Errors
///
/// When what was typed cannot be used, or the run cannot be written.
pub fn record(arguments: &RecordArguments, console: &Console) -> Result<Outcome, Failure> {
    let asked = Asked::of(arguments)?;
    let stop = stop_flag();
    let lines = asked.source.start(asked.wait, &stop)?;
    console.aside(&paragraph(CAUTIONS, console.width(), 0));
    let heading = Heading {
        lamp: asked.given.lamp.name.clone(),
        run: asked.given.about.name.clone(),
        variant: asked.given.about.variant.clone(),
        source: asked.given.source.clone(),
    };
    let page = arguments.page.then(|| LivePage::start(arguments.port)).transpose()?;
    if let Some(page) = &page {
        console.aside(&format!("The page is at {} (Ctrl+C ends the recording).\n", page.address()));
        if !arguments.no_open {
            super::serve::open_browser(page.address());
        }
    }
    let predicting = match (asked.abort_above_c, &heading.variant) {
        (None, Some(variant)) => {
            Some(abort::predicted(Arc::clone(&asked.given.lamp), variant.clone(), Arc::clone(&stop)))
        }
        _ => None,
    };
    let mut desk = Desk {
        session: Session::new(asked.given),
        outlooks: Outlooks::start(),
        predicting,
        abort_missing: "The reading at which to break off is being predicted.".to_owned(),
        screen: LiveScreen::new(console),
        page,
        course: Course::default(),
        heading,
        notices: Vec::new(),
        shown: Instant::now(),
    };
    match asked.abort_above_c {
        Some(above_c) => desk.session.set_abort(Abort::given(above_c)),
        None if desk.predicting.is_none() => desk.no_abort("which variant is on the bench is not told"),
        None => {}
    }
    let ended_by = desk.run(&lines, asked.lasting, &stop)?;
    stop.store(true, Ordering::Relaxed);
    desk.end(&ended_by, console)
}

/// What is at hand while a run is recorded.
struct Desk<'a> {
    session: Session,
    outlooks: Outlooks,
    predicting: Option<Receiver<Result<Abort, String>>>,
    abort_missing: String,
    screen: LiveScreen<'a>,
    page: Option<LivePage>,
    course: Course,
    heading: Heading,
    notices: Vec<String>,
    shown: Instant,
}

impl Desk<'_> {
    /// Records until it ends, and says why it did.
    fn run(
        &mut self,
        lines: &Receiver<Came>,
        lasting: Option<Duration>,
        stop: &AtomicBool,
    ) -> Result<String, Failure> {
        let began = Instant::now();
        loop {
            match lines.recv_timeout(LOOK_EVERY) {
                Ok(Came::Line(line, received_s)) => {
                    self.session.line(&line, received_s)?;
                    self.course.take(&self.session);
                }
                Ok(Came::Said(text) | Came::Gone(text) | Came::Back(text)) => self.session.notice(text),
                Ok(Came::Anew(text)) => {
                    self.session.anew();
                    self.session.notice(text);
                }
                Ok(Came::Ended(why)) => {
                    self.session.tick(true)?;
                    return Ok(why);
                }
                Err(RecvTimeoutError::Timeout) => {}
                Err(RecvTimeoutError::Disconnected) => {
                    self.session.tick(true)?;
                    return Ok("the source ended".to_owned());
                }
            }
            if stop.load(Ordering::Relaxed) {
                self.session.tick(true)?;
                return Ok("stopped from the keyboard".to_owned());
            }
            if lasting.is_some_and(|lasting| began.elapsed() >= lasting) {
                self.session.tick(true)?;
                return Ok("the time that was given is over".to_owned());
            }
            if self.shown.elapsed() >= SHOW_EVERY {
                self.shown = Instant::now();
                self.session.tick(false)?;
                self.look_around();
                self.show(None);
            }
        }
    }

    fn look_around(&mut self) {
        if let Some(outlook) = self.outlooks.answer() {
            self.session.take_outlook(outlook);
        }
        if self.outlooks.is_free()
            && let Some(window) = self.session.window()
        {
            self.outlooks.ask(window);
        }
        match self.predicting.as_ref().map(Receiver::try_recv) {
            Some(Ok(Ok(abort))) => {
                self.session.set_abort(abort);
                self.predicting = None;
            }
            Some(Ok(Err(why))) => self.no_abort(&why),
            Some(Err(TryRecvError::Disconnected)) => self.no_abort("the prediction broke off"),
            Some(Err(TryRecvError::Empty)) | None => {}
        }
    }

    fn no_abort(&mut self, why: &str) {
        self.predicting = None;
        self.abort_missing = format!("No abort point is watched: {why}. Give one with --abort-above.");
        self.session.notice(self.abort_missing.clone());
    }

    fn show(&mut self, ended: Option<&str>) {
        for notice in self.session.fresh_notices() {
            let loud = notice.starts_with("BREAK OFF") || notice.starts_with("NOT WRITTEN");
            self.screen.notice(&notice, loud);
            self.notices.push(notice);
        }
        let mut shown = Shown::of(&self.session, &self.heading, &self.abort_missing, &self.notices);
        shown.ended = ended.map(str::to_owned);
        let waiting = self.session.unread_lines();
        if shown.samples == 0 && waiting > 0 {
            shown.answer = format!("How the logger writes is not clear yet; lines so far: {waiting}.");
        }
        self.screen.show(&shown, &self.course);
        if let Some(page) = &self.page {
            page.show(&shown, &self.course);
        }
    }

    fn end(mut self, ended_by: &str, console: &Console) -> Result<Outcome, Failure> {
        // A short run ends before its prediction is there; what was asked first is still answered.
        self.look_around();
        let found = self.session.end(ended_by);
        self.show(Some(ended_by));
        self.screen.end();
        if console.json() {
            console.object(&found)?;
        } else {
            console.say(&recorded(&found, console.width()))?;
        }
        if found.samples_written == 0 && found.samples_lost == 0 && found.lines_left_out > 0 {
            return Err(Failure::bad_input(format!(
                "{}: {} lines came and none was a sample; a log has rows of numbers, one reading a line",
                found.source, found.lines_left_out
            )));
        }
        Ok(match (found.samples_lost, found.ended_above_abort) {
            (1.., _) => Outcome::NotAllKept,
            (0, true) => Outcome::OverLimit,
            (0, false) => Outcome::Fine,
        })
    }
}

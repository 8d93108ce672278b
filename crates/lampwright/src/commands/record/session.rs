//! A run while it is recorded: lines in, rows written, readings watched.

use std::path::PathBuf;
use std::sync::Arc;
use std::time::{Duration, Instant};

use bench::live::form::{FirstLines, Form};
use bench::live::lines::HeldLine;
use bench::live::reading::{Reader, Reading};
use bench::live::sheet::{About, proposed};
use bench::live::watch::{Outlook, State, Watch};
use bench::log::stamp::{DateOrder, stamp};
use bench::mapping::{BenchSheet, Names, read as read_sheet};
use lamp::as_built::Lamp;

use super::abort::Abort;
use super::told::{PlateauSeen, Recorded, finite};
use crate::disk::{RunFile, bench_folder, write_new_sheet};
use crate::outcome::Failure;

/// With fewer than three rows the form is taken as found after this time.
const HURRY: Duration = Duration::from_secs(2);
/// Lines left out that are shown.
const SHOWN_LEFT_OUT: u64 = 5;
/// Notices that are kept for the end.
const NOTICES: usize = 200;

/// What is known of the run before its first line.
pub struct Given {
    /// The lamp.
    pub lamp: Arc<Lamp>,
    /// Root of its folder.
    pub root: PathBuf,
    /// What is said of the run.
    pub about: About,
    /// Bench sheet whose columns are the same.
    pub like: Option<BenchSheet>,
    /// The source in words.
    pub source: String,
    /// The file that grows, where that is the source.
    pub growing: Option<PathBuf>,
}

/// A run that is recorded.
pub struct Session {
    given: Given,
    names: Names,
    first: FirstLines,
    first_came: Option<Instant>,
    writing: Option<Writing>,
    watch: Watch,
    /// The last state.
    pub state: Option<State>,
    /// What the plateau settles to.
    pub outlook: Option<Outlook>,
    /// When to break off.
    pub abort: Option<Abort>,
    seen: Vec<PlateauSeen>,
    rows: u64,
    left_out: u64,
    above: u64,
    highest_c: f64,
    was_above: bool,
    disk_told: bool,
    gap_s: Option<f64>,
    resumed: Option<(f64, u64)>,
    skip_lines: u64,
    notices: Vec<String>,
    fresh: Vec<String>,
}

/// What there is once the form is known.
struct Writing {
    form: Form,
    file: RunFile,
    reader: Reader,
    sheet_text: Option<String>,
}

impl Session {
    pub fn new(given: Given) -> Self {
        let told = given.like.as_ref().map(|sheet| sheet.told.clone()).unwrap_or_default();
        Self {
            names: Names::of(&given.lamp),
            first: FirstLines::new(told),
            first_came: None,
            writing: None,
            watch: Watch::default(),
            state: None,
            outlook: None,
            abort: None,
            seen: Vec::new(),
            rows: 0,
            left_out: 0,
            above: 0,
            highest_c: f64::NAN,
            was_above: false,
            disk_told: false,
            gap_s: None,
            resumed: None,
            skip_lines: 0,
            notices: Vec::new(),
            fresh: Vec::new(),
            given,
        }
    }

    /// Path of the log inside the lamp folder.
    pub fn log(&self) -> String {
        format!("{}/{}.csv", bench::run::BENCH_FOLDER, self.given.about.name)
    }

    fn sheet(&self) -> String {
        format!("{}/{}.toml", bench::run::BENCH_FOLDER, self.given.about.name)
    }

    /// Keeps a notice, and hands it out once.
    pub fn notice(&mut self, text: String) {
        if self.notices.len() < NOTICES {
            self.notices.push(text.clone());
        }
        self.fresh.push(text);
    }

    /// What happened since it was asked last.
    pub fn fresh_notices(&mut self) -> Vec<String> {
        std::mem::take(&mut self.fresh)
    }

    /// Takes a line.
    ///
    /// # Errors
    /// When the run cannot be written at all: other columns than those there, no folder.
    pub fn line(&mut self, line: &[u8], received_s: f64) -> Result<(), Failure> {
        if self.writing.is_some() {
            if self.skip_lines > 0 {
                self.skip_lines -= 1;
            } else {
                self.row(line, received_s);
            }
            return Ok(());
        }
        self.first_came.get_or_insert_with(Instant::now);
        self.first.push(line, received_s);
        match self.first.form(false) {
            Some(form) => self.begin(form),
            None => Ok(()),
        }
    }

    /// What is due without a line: a form in a hurry, another try at a full disk.
    ///
    /// # Errors
    /// As [`Self::line`].
    pub fn tick(&mut self, last_chance: bool) -> Result<(), Failure> {
        let waited = self.first_came.is_some_and(|came| came.elapsed() >= HURRY);
        if self.writing.is_none()
            && (waited || last_chance)
            && let Some(form) = self.first.form(true)
        {
            self.begin(form)?;
        }
        if let Some(writing) = &mut self.writing
            && writing.file.held() > 0
        {
            writing.file.retry();
        }
        self.tell_disk();
        Ok(())
    }

    /// The file begins anew: what was to be passed over is not there any more.
    pub fn anew(&mut self) {
        self.skip_lines = 0;
    }

    /// Opens the log and writes what came so far.
    fn begin(&mut self, mut form: Form) -> Result<(), Failure> {
        let refuse = |file: String, error: std::io::Error| Failure::bad_file(file, error.to_string());
        let folder = bench_folder(&self.given.root)
            .map_err(|error| refuse(bench::run::BENCH_FOLDER.to_owned(), error))?;
        let place = folder.join(format!("{}.csv", self.given.about.name));
        if self.given.growing.as_ref().is_some_and(|growing| same_place(growing, &place)) {
            return Err(Failure::bad_file(
                self.log(),
                "is the file that is read; give the run another name than the logger's file",
            ));
        }
        let file = RunFile::open(&place, &form.header()).map_err(|error| refuse(self.log(), error))?;
        for question in form.questions.clone() {
            self.notice(format!("{question}. Meanwhile the time is that at which each row comes"));
        }
        for warning in form.warnings.clone() {
            self.notice(warning);
        }
        let mut passed = 0;
        if let Some(found) = file.resumed().cloned() {
            let last_s = time_of(&found.last_row);
            self.resumed = Some((last_s.unwrap_or(f64::NAN), found.cut_bytes));
            let cut = match found.cut_bytes {
                0 => String::new(),
                bytes => format!("; {bytes} bytes of half a line were cut off its end"),
            };
            self.notice(format!("{} is there already and is gone on with{cut}", self.log()));
            form.clock.go_on_after(last_s.unwrap_or(f64::NAN));
            if let Some(growing) = &self.given.growing {
                passed = recorded_lines(growing, &mut form, &found.last_row, last_s);
                if passed > 0 {
                    self.notice(format!("{passed} lines of {} are recorded already", growing.display()));
                }
            }
        }
        let (sheet, sheet_text) =
            self.find_sheet(&folder.join(format!("{}.toml", self.given.about.name)), &form);
        let reader = match &sheet {
            Some(sheet) => Reader::new(sheet, &form, &self.given.lamp),
            None => Reader::default(),
        };
        for remark in reader.remarks.clone() {
            self.notice(remark);
        }
        if !reader.has_sensor() {
            self.notice(format!(
                "no column is known as the board sensor: everything is recorded, nothing is watched, no abort point holds. Name it in {} and start again",
                self.sheet()
            ));
        }
        let first = std::mem::take(&mut self.first);
        self.left_out += first.given_up;
        let from = form.first_line;
        self.writing = Some(Writing { form, file, reader, sheet_text });
        let lines = first.into_lines();
        let head = u64::try_from(from).unwrap_or(0);
        self.skip_lines = passed;
        for (at, (line, received_s)) in (0..).zip(&lines) {
            if self.skip_lines > 0 {
                self.skip_lines -= 1;
            } else if at >= head {
                self.row(line, *received_s);
            }
        }
        Ok(())
    }

    /// The sheet beside the log: the one that is there, or a new one.
    fn find_sheet(&mut self, place: &std::path::Path, form: &Form) -> (Option<BenchSheet>, Option<String>) {
        let file = self.sheet();
        let there = crate::disk::read_bounded(place);
        let (bytes, unwritten) = match there {
            Ok(bytes) => (bytes, None),
            Err(_) => {
                let text = proposed(&self.given.about, form, self.given.like.as_ref(), &self.names);
                let written = write_new_sheet(place, &text);
                if let Err(error) = &written {
                    self.notice(format!("{file} cannot be written: {error}"));
                }
                (text.clone().into_bytes(), written.is_err().then_some(text))
            }
        };
        let (sheet, remarks) = read_sheet(&file, &bytes, &self.names);
        for remark in &remarks {
            let line = remark.line.map_or(String::new(), |line| format!(":{line}"));
            self.notice(format!("{file}{line}: {}: {}", remark.severity, remark.text));
        }
        if let Some(sheet) = &sheet
            && !sheet.logs.contains(&self.log())
        {
            self.notice(format!(
                "{file} does not name {} among its logs: add it, so that `bench` reads it",
                self.log()
            ));
        }
        (sheet, unwritten)
    }

    fn row(&mut self, line: &[u8], received_s: f64) {
        let Some(writing) = &mut self.writing else { return };
        let restarts = writing.form.clock.restarts;
        let Some(row) = writing.form.row(line, received_s) else {
            self.left_out += 1;
            if self.left_out <= SHOWN_LEFT_OUT {
                let text: String = String::from_utf8_lossy(line)
                    .chars()
                    .take(60)
                    .map(|c| if c.is_control() { ' ' } else { c })
                    .collect();
                let last =
                    if self.left_out == SHOWN_LEFT_OUT { "; further ones are only counted" } else { "" };
                self.notice(format!("this line holds no sample and is left out: \"{text}\"{last}"));
            }
            return;
        };
        let restarted = writing.form.clock.restarts > restarts;
        writing.file.append(row.text.clone());
        self.rows += 1;
        let reading = writing.reader.read(&row);
        if restarted {
            self.notice("the logger counts its time anew; it goes on from when the row came".to_owned());
        }
        if self.rows == 1
            && let Some((last_s, _)) = self.resumed
        {
            self.gap_s = finite(row.time.seconds - last_s);
            if let Some(gap_s) = self.gap_s {
                self.notice(format!("the pause before its first new sample is {gap_s:.0} s"));
            }
        }
        self.tell_disk();
        self.look(reading);
    }

    fn look(&mut self, reading: Reading) {
        let Some(state) = self.watch.take(reading) else { return };
        let ended = self.watch.take_ended();
        if let Some(last) = self.state.filter(|last| last.plateau > 0 && last.plateau != state.plateau) {
            // Lines that come faster than time leave no moment for an outlook on the way.
            if self.outlook.is_none() {
                self.outlook = ended.and_then(|window| super::outlooks::at_once(&window));
            }
            self.seen.push(PlateauSeen::of(&last, self.outlook.as_ref()));
        }
        if self.outlook.as_ref().is_some_and(|outlook| outlook.plateau != state.plateau) {
            self.outlook = None;
        }
        self.state = Some(state);
        if reading.sensor_c.is_finite() {
            self.highest_c = self.highest_c.max(reading.sensor_c);
        }
        let above = self.is_above();
        self.above += u64::from(above);
        if above && !self.was_above {
            self.notice(self.alarm().unwrap_or_default());
        } else if self.was_above && !above && reading.sensor_c.is_finite() {
            self.notice(format!(
                "the board sensor is below its abort point again: {:.1} degC",
                reading.sensor_c
            ));
        }
        // Without a reading nobody knows; what was last known holds.
        if reading.sensor_c.is_finite() {
            self.was_above = above;
        }
    }

    fn is_above(&self) -> bool {
        let sensor_c = self.state.map_or(f64::NAN, |state| state.reading.sensor_c);
        self.abort.as_ref().is_some_and(|abort| sensor_c > abort.above_c)
    }

    /// Takes over an abort point; readings from now on are held against it.
    pub fn set_abort(&mut self, abort: Abort) {
        self.notice(abort.words());
        self.abort = Some(abort);
        if self.is_above() {
            self.was_above = true;
            self.notice(self.alarm().unwrap_or_default());
        }
    }

    /// What is to be said loudly, while the last reading that could be used was above the abort point.
    pub fn alarm(&self) -> Option<String> {
        let abort = self.abort.as_ref()?;
        let above = self.is_above() || self.was_above;
        above.then(|| {
            let read = match self.state.and_then(|state| finite(state.reading.sensor_c)) {
                Some(sensor_c) => format!("the board sensor reads {sensor_c:.1} degC"),
                None => "the board sensor gives no reading any more".to_owned(),
            };
            format!(
                "BREAK OFF: {read}, above {:.0} degC. Switch the drive current off by hand; this program switches nothing.",
                abort.above_c
            )
        })
    }

    /// What the disk does not take.
    pub fn trouble(&self) -> Option<String> {
        let file = &self.writing.as_ref()?.file;
        let why = file.trouble.as_ref()?;
        let lost = if file.lost > 0 { format!("; {} are lost", file.lost) } else { String::new() };
        Some(format!(
            "NOT WRITTEN: the disk takes nothing ({why}); {} samples wait in memory{lost}. Make room: they are written as soon as there is some.",
            file.held()
        ))
    }

    fn tell_disk(&mut self) {
        match (self.trouble(), self.disk_told) {
            (Some(text), false) => {
                self.disk_told = true;
                self.notice(text);
            }
            (None, true) => {
                self.disk_told = false;
                self.notice("the disk takes samples again; all that waited are written".to_owned());
            }
            _ => {}
        }
    }

    /// Whether a board sensor is watched, as far as is known.
    pub fn watches(&self) -> bool {
        self.writing.as_ref().is_none_or(|writing| writing.reader.has_sensor())
    }

    /// The running plateau for whoever finds out what it settles to.
    pub fn window(&self) -> Option<bench::live::watch::Window> {
        self.watch.window()
    }

    /// Takes over what the plateau settles to.
    pub fn take_outlook(&mut self, outlook: Outlook) {
        let Some(state) = self.state else { return };
        if let Some(begins_s) = outlook.begins_s {
            self.seen.push(PlateauSeen::of(&state, None));
            self.watch.began(outlook.plateau, begins_s);
        }
        if outlook.plateau == state.plateau && state.plateau > 0 {
            self.outlook = Some(outlook);
        }
    }

    /// Samples so far.
    pub fn samples(&self) -> u64 {
        self.rows
    }

    /// Lines that wait for their form.
    pub fn unread_lines(&self) -> usize {
        self.first.len()
    }

    /// Ends the run and says what there is to say.
    pub fn end(&mut self, ended_by: &str) -> Recorded {
        if let Some(outlook) = self.window().and_then(|window| super::outlooks::at_once(&window)) {
            self.take_outlook(Outlook { begins_s: None, ..outlook });
        }
        if let Some(state) = self.state.filter(|state| state.plateau > 0) {
            self.seen.push(PlateauSeen::of(&state, self.outlook.as_ref()));
        }
        let lost = self.writing.as_mut().map_or(0, |writing| writing.file.end());
        if lost > 0 {
            self.notice(format!("{lost} samples are lost: the disk took nothing to the end"));
        }
        let place = self.given.root.join(self.sheet());
        if let Some(text) = self.writing.as_mut().and_then(|writing| writing.sheet_text.take())
            && let Err(error) = write_new_sheet(&place, &text)
        {
            self.notice(format!("{} could not be written: {error}", self.sheet()));
        }
        self.left_out += self.first.len() as u64 + self.first.given_up;
        Recorded {
            lamp: self.given.lamp.name.clone(),
            run: self.given.about.name.clone(),
            variant: self.given.about.variant.clone(),
            log: self.log(),
            sheet: self.sheet(),
            source: self.given.source.clone(),
            time_from: self.writing.as_ref().map(|writing| writing.form.clock.from.words()),
            samples_written: self.rows - lost.min(self.rows),
            samples_lost: lost,
            lines_left_out: self.left_out,
            samples_out_of_order: self.watch.out_of_order,
            resumed: self.resumed.is_some(),
            gap_s: self.gap_s,
            cut_bytes: self.resumed.map_or(0, |(_, cut)| cut),
            plateaus: std::mem::take(&mut self.seen),
            highest_sensor_c: finite(self.highest_c),
            abort: self.abort.clone(),
            samples_above_abort: self.above,
            ended_above_abort: self.was_above,
            ended_by: ended_by.to_owned(),
            notices: self.notices.clone(),
        }
    }
}

/// Whether two names lead to one file.
fn same_place(one: &std::path::Path, other: &std::path::Path) -> bool {
    match (one.canonicalize(), other.canonicalize()) {
        (Ok(one), Ok(other)) => one == other,
        _ => false,
    }
}

/// Seconds of a recorded row.
fn time_of(row: &str) -> Option<f64> {
    let found = stamp(row.split(',').next()?.as_bytes())?;
    #[expect(clippy::cast_precision_loss, reason = "days of a calendar")]
    let days = found.date?.days(DateOrder::DayFirst)? as f64;
    Some(days * 86_400.0 + found.seconds?)
}

/// How many lines of a file that grows were recorded before: up to the one that is the last row. The form's clock then goes on
/// from there.
fn recorded_lines(growing: &std::path::Path, form: &mut Form, last_row: &str, last_s: Option<f64>) -> u64 {
    let Ok(mut file) = std::fs::File::open(growing) else { return 0 };
    let wanted = Form::after_time(last_row);
    let (mut held, mut lines, mut passed) = (HeldLine::default(), 0u64, 0u64);
    let (mut trial, mut clock) = (form.clone(), None);
    let mut chunk = vec![0; 64 << 10];
    while let Ok(count) = std::io::Read::read(&mut file, &mut chunk) {
        if count == 0 || wanted.is_empty() {
            break;
        }
        held.take(chunk.get(..count).unwrap_or_default(), |line| {
            lines += 1;
            if let Some(row) = trial.row(line, 0.0).filter(|row| Form::after_time(&row.text) == wanted) {
                passed = lines;
                clock = Some((trial.clock.clone(), row.time.seconds));
            }
        });
    }
    if let (Some((mut clock, read_s)), Some(last_s)) = (clock, last_s) {
        clock.shift_by(last_s - read_s);
        form.clock = clock;
    }
    passed
}

//! Where the lines come from: a serial line, a growing file, or standard input. Each is read on a thread of its own.

use std::fs::File;
use std::io::{self, ErrorKind, Read, Seek, SeekFrom};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, SyncSender, sync_channel};
use std::thread;
use std::time::{Duration, Instant, SystemTime, UNIX_EPOCH};

use bench::live::lines::HeldLine;
use serial2::SerialPort;

use crate::outcome::Failure;

/// Lines between reading and writing; a reader that is further ahead waits.
const AHEAD: usize = 4096;
/// How often a file is looked at, and a vanished source tried again.
const LOOK_EVERY: Duration = Duration::from_millis(100);
const CHUNK_BYTES: usize = 64 << 10;

/// What a source hands on.
#[derive(Debug)]
pub enum Came {
    /// A line, and when it came: seconds from 1970-01-01 UTC.
    Line(Vec<u8>, f64),
    /// Something happened that the lines do not show.
    Said(String),
    /// The file begins anew.
    Anew(String),
    /// It vanished and is waited for.
    Gone(String),
    /// It is there again.
    Back(String),
    /// Nothing more comes, and why.
    Ended(String),
}

/// A source by what was typed.
#[derive(Debug, Clone)]
pub enum Source {
    /// A serial line with its speed, baud.
    Serial(PathBuf, u32),
    /// A file that grows.
    File(PathBuf),
    /// Standard input.
    Input,
}

impl Source {
    /// In words.
    pub fn words(&self) -> String {
        match self {
            Self::Serial(port, baud) => format!("serial line {} at {baud} baud", port.display()),
            Self::File(path) => format!("file {}", path.display()),
            Self::Input => "standard input".to_owned(),
        }
    }

    /// Starts reading. `wait` is how long a vanished source is waited for.
    ///
    /// # Errors
    /// When it is not there to begin with.
    pub fn start(&self, wait: Duration, stop: &Arc<AtomicBool>) -> Result<Receiver<Came>, Failure> {
        let (sender, receiver) = sync_channel(AHEAD);
        let reader = Reader { sender, wait, stop: Arc::clone(stop), held: HeldLine::default(), too_long: 0 };
        let cannot = |place: &Path, error: &io::Error| {
            Failure::bad_file(place.to_string_lossy(), format!("cannot be read ({error})"))
        };
        let work: Box<dyn FnOnce() + Send> = match self {
            Self::Serial(port, baud) => {
                let line = open_serial(port, *baud).map_err(|error| cannot(port, &error))?;
                let (port, baud) = (port.clone(), *baud);
                Box::new(move || reader.serial(line, &port, baud))
            }
            Self::File(path) => {
                let file = open_file(path).map_err(|error| cannot(path, &error))?;
                let path = path.clone();
                Box::new(move || reader.file(file, &path))
            }
            Self::Input => Box::new(move || reader.input()),
        };
        let started = thread::Builder::new().name("source".to_owned()).spawn(work);
        started.map_err(|error| Failure::Fault(format!("no thread to read on: {error}")))?;
        Ok(receiver)
    }
}

fn open_serial(port: &Path, baud: u32) -> io::Result<SerialPort> {
    let mut line = SerialPort::open(port, baud)?;
    line.set_read_timeout(LOOK_EVERY)?;
    Ok(line)
}

fn open_file(path: &Path) -> io::Result<File> {
    let file = File::open(path)?;
    if !file.metadata()?.is_file() {
        return Err(io::Error::other("it is not a file"));
    }
    Ok(file)
}

/// Seconds from 1970-01-01 UTC by this machine's clock.
pub fn now_s() -> f64 {
    SystemTime::now().duration_since(UNIX_EPOCH).map_or(0.0, |since| since.as_secs_f64())
}

struct Reader {
    sender: SyncSender<Came>,
    wait: Duration,
    stop: Arc<AtomicBool>,
    held: HeldLine,
    too_long: u64,
}

impl Reader {
    /// Hands on; false once nobody listens or all shall end.
    fn tell(&self, came: Came) -> bool {
        self.sender.send(came).is_ok() && !self.stop.load(Ordering::Relaxed)
    }

    fn take(&mut self, bytes: &[u8]) -> bool {
        let (at, sender) = (now_s(), &self.sender);
        let mut listening = true;
        self.held.take(bytes, |line| listening &= sender.send(Came::Line(line.to_vec(), at)).is_ok());
        if self.held.too_long > self.too_long {
            self.too_long = self.held.too_long;
            listening &= self.tell(Came::Said(format!(
                "a line without end was left out; lines have at most {} bytes",
                bench::live::lines::MAX_LINE_BYTES
            )));
        }
        listening && !self.stop.load(Ordering::Relaxed)
    }

    /// Half a line that will not be ended any more.
    fn drop_half(&mut self) -> String {
        let half = self.held.half().len();
        self.held.clear();
        match half {
            0 => String::new(),
            bytes => format!("; the {bytes} bytes of a line whose end never came are left out"),
        }
    }

    fn input(mut self) {
        let mut input = io::stdin().lock();
        let mut chunk = vec![0; CHUNK_BYTES];
        let why = loop {
            match input.read(&mut chunk) {
                Ok(0) => break "standard input ended".to_owned(),
                Ok(count) => {
                    if !self.take(chunk.get(..count).unwrap_or_default()) {
                        return;
                    }
                }
                Err(error) if error.kind() == ErrorKind::Interrupted => {}
                Err(error) => break format!("standard input cannot be read any more ({error})"),
            }
        };
        let half = self.drop_half();
        self.tell(Came::Ended(why + &half));
    }

    fn serial(mut self, mut line: SerialPort, port: &Path, baud: u32) {
        let mut chunk = vec![0; CHUNK_BYTES];
        loop {
            let why = match line.read(&mut chunk) {
                Ok(0) => "it gives nothing any more".to_owned(),
                Ok(count) => {
                    if !self.take(chunk.get(..count).unwrap_or_default()) {
                        return;
                    }
                    continue;
                }
                Err(error) if matches!(error.kind(), ErrorKind::TimedOut | ErrorKind::Interrupted) => {
                    if self.stop.load(Ordering::Relaxed) {
                        return;
                    }
                    continue;
                }
                Err(error) => error.to_string(),
            };
            let half = self.drop_half();
            let Some(again) = self.wait_for(port, &format!("{why}{half}"), || open_serial(port, baud)) else {
                return;
            };
            line = again;
        }
    }

    fn file(mut self, mut file: File, path: &Path) {
        let mut chunk = vec![0; CHUNK_BYTES];
        let mut at: u64 = 0;
        loop {
            match file.read(&mut chunk) {
                Ok(0) => {}
                Ok(count) => {
                    at += count as u64;
                    if !self.take(chunk.get(..count).unwrap_or_default()) {
                        return;
                    }
                    continue;
                }
                Err(error) if error.kind() == ErrorKind::Interrupted => continue,
                Err(error) => {
                    let half = self.drop_half();
                    let why = format!("{error}{half}");
                    let Some(again) = self.wait_for(path, &why, || at_start(path)) else { return };
                    (file, at) = (again, 0);
                }
            }
            if self.stop.load(Ordering::Relaxed) {
                return;
            }
            match std::fs::metadata(path) {
                Err(error) => {
                    let half = self.drop_half();
                    let why = format!("{error}{half}");
                    let Some(again) = self.wait_for(path, &why, || at_start(path)) else { return };
                    if !self.tell(Came::Anew(format!("{} is read from its beginning", path.display()))) {
                        return;
                    }
                    (file, at) = (again, 0);
                }
                Ok(now) if now.len() < at || another(&file, &now) => {
                    let half = self.drop_half();
                    let what = if now.len() < at { "has become shorter" } else { "was replaced by another" };
                    let told = format!("{} {what} and is read from its beginning{half}", path.display());
                    let Ok(again) = at_start(path) else {
                        thread::sleep(LOOK_EVERY);
                        continue;
                    };
                    if !self.tell(Came::Anew(told)) {
                        return;
                    }
                    (file, at) = (again, 0);
                }
                Ok(_) => thread::sleep(LOOK_EVERY),
            }
        }
    }

    /// Tries again until the source is back; `None` when it stays away or all shall end.
    fn wait_for<T>(&self, place: &Path, why: &str, open: impl Fn() -> io::Result<T>) -> Option<T> {
        let (name, began) = (place.display(), Instant::now());
        let minutes = self.wait.as_secs_f64() / 60.0;
        if !self.tell(Came::Gone(format!("{name} has gone ({why}); it is tried again for {minutes:.1} min")))
        {
            return None;
        }
        while began.elapsed() < self.wait {
            thread::sleep(LOOK_EVERY);
            if self.stop.load(Ordering::Relaxed) {
                return None;
            }
            if let Ok(again) = open() {
                return self.tell(Came::Back(format!("{name} is back"))).then_some(again);
            }
        }
        self.tell(Came::Ended(format!("{name} stayed away for {minutes:.1} min")));
        None
    }
}

fn at_start(path: &Path) -> io::Result<File> {
    let mut file = open_file(path)?;
    file.seek(SeekFrom::Start(0))?;
    Ok(file)
}

/// Whether the name leads to another file than the one that is open.
#[cfg(unix)]
fn another(open: &File, now: &std::fs::Metadata) -> bool {
    use std::os::unix::fs::MetadataExt;
    open.metadata().is_ok_and(|there| (there.dev(), there.ino()) != (now.dev(), now.ino()))
}

#[cfg(not(unix))]
fn another(_: &File, _: &std::fs::Metadata) -> bool {
    false
}

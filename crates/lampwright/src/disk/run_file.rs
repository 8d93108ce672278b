//! The log of a run that is recorded: plain CSV in the lamp folder's bench/, one line whole or not at all, never overwritten.

use std::collections::VecDeque;
use std::fs::{self, File, OpenOptions, TryLockError};
use std::io::{self, Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

/// Most text that is held in memory while the disk takes none, bytes.
const MOST_HELD_BYTES: usize = 64 << 20;
/// Header and last row are looked for in so many bytes at either end.
const LOOKED_BYTES: u64 = 64 << 10;
/// How often what was written is pressed onto the disk itself.
const SYNC_EVERY: Duration = Duration::from_secs(1);

/// The log of a run, open for writing behind its last whole line.
#[derive(Debug)]
pub struct RunFile {
    file: File,
    /// Its length in whole lines, bytes.
    whole: u64,
    held: VecDeque<String>,
    held_bytes: usize,
    /// Lines that found no room, neither on the disk nor in memory.
    pub lost: u64,
    /// What the disk said last, while it takes nothing.
    pub trouble: Option<String>,
    written: Arc<AtomicBool>,
    resumed: Option<Resumed>,
}

/// What was found in a run that is gone on with.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Resumed {
    /// Its last row, without the end of the line; empty where it had none.
    pub last_row: String,
    /// Bytes of half a line that were cut off its end.
    pub cut_bytes: u64,
}

/// The folder of logs, made where it is missing; never one that leads elsewhere.
///
/// # Errors
/// When the disk refuses, or `bench` is no folder of the lamp folder's own.
pub fn bench_folder(lamp_folder: &Path) -> io::Result<PathBuf> {
    let folder = lamp_folder.join(bench::run::BENCH_FOLDER);
    match fs::symlink_metadata(&folder) {
        Ok(kind) if kind.is_dir() => {}
        Ok(_) => return Err(io::Error::other("bench is no folder of the lamp folder's own; move it away")),
        Err(_) => fs::create_dir(&folder)?,
    }
    Ok(folder)
}

/// Writes a bench sheet that is not there yet.
///
/// # Errors
/// When the disk refuses; then nothing of it is left.
pub fn write_new_sheet(place: &Path, text: &str) -> io::Result<()> {
    let mut file = File::create_new(place)?;
    let written = file.write_all(text.as_bytes()).and_then(|()| file.sync_all());
    if written.is_err() {
        // Half a sheet would be worse than none.
        let _ = fs::remove_file(place);
    }
    written
}

impl RunFile {
    /// Begins a log with its header, or goes on with the one that is there.
    ///
    /// # Errors
    /// When the disk refuses, another `record` writes to it, or the log there has other columns.
    pub fn open(place: &Path, header: &str) -> io::Result<Self> {
        if fs::symlink_metadata(place).is_ok_and(|kind| !kind.is_file()) {
            return Err(io::Error::other("is no file of its own"));
        }
        let mut file = OpenOptions::new().read(true).write(true).create(true).truncate(false).open(place)?;
        match file.try_lock() {
            Err(TryLockError::WouldBlock) => {
                return Err(io::Error::other("another `lampwright record` is writing to it"));
            }
            // Where the file system knows no locks, it goes without.
            Ok(()) | Err(TryLockError::Error(_)) => {}
        }
        let length = file.metadata()?.len();
        let (whole, resumed) = if length == 0 { (0, None) } else { whole_lines(&mut file, length, header)? };
        let mut made = Self {
            file,
            whole,
            held: VecDeque::new(),
            held_bytes: 0,
            lost: 0,
            trouble: None,
            written: Arc::default(),
            resumed,
        };
        if length > whole {
            made.file.set_len(whole)?;
        }
        if whole == 0 {
            made.append(header.to_owned());
        }
        made.sync_now_and_then();
        Ok(made)
    }

    /// What was found, where the run was there already.
    #[must_use]
    pub fn resumed(&self) -> Option<&Resumed> {
        self.resumed.as_ref()
    }

    /// Lines that wait in memory for room on the disk.
    #[must_use]
    pub fn held(&self) -> usize {
        self.held.len()
    }

    /// Adds a line, its end included: written and handed to the system at once, or held until the disk takes it.
    pub fn append(&mut self, line: String) {
        if self.held.is_empty() && self.write(&line) {
            return;
        }
        if self.held_bytes + line.len() > MOST_HELD_BYTES {
            self.lost += 1;
            return;
        }
        self.held_bytes += line.len();
        self.held.push_back(line);
    }

    /// Tries again what the disk did not take; whether nothing is left.
    pub fn retry(&mut self) -> bool {
        while let Some(line) = self.held.pop_front() {
            if !self.write(&line) {
                self.held.push_front(line);
                return false;
            }
            self.held_bytes -= line.len();
        }
        true
    }

    /// Writes what can be written and presses it onto the disk; how many lines are lost.
    pub fn end(&mut self) -> u64 {
        self.retry();
        // That the disk cannot be pressed shows in what is held.
        let _ = self.file.sync_data();
        self.lost + self.held.len() as u64
    }

    /// One line, whole or not at all.
    fn write(&mut self, line: &str) -> bool {
        let place = self.file.seek(SeekFrom::Start(self.whole));
        match place.and_then(|_| self.file.write_all(line.as_bytes())) {
            Ok(()) => {
                self.whole += line.len() as u64;
                self.trouble = None;
                self.written.store(true, Ordering::Relaxed);
                true
            }
            Err(error) => {
                // What got through of the line goes again; should that fail, the next start cuts it.
                let _ = self.file.set_len(self.whole);
                self.trouble = Some(error.to_string());
                false
            }
        }
    }

    /// Pressing can take long, so that it must not hold up the samples.
    fn sync_now_and_then(&self) {
        let Ok(file) = self.file.try_clone() else { return };
        let written = Arc::downgrade(&self.written);
        let work = move || {
            while let Some(written) = written.upgrade() {
                if written.swap(false, Ordering::Relaxed) {
                    // A disk that refuses says so at the next line.
                    let _ = file.sync_data();
                }
                drop(written);
                std::thread::sleep(SYNC_EVERY);
            }
        };
        // Without the thread the system presses in its own time.
        let _ = std::thread::Builder::new().name("press".to_owned()).spawn(work);
    }
}

/// How long the log is in whole lines, and what its last row is.
fn whole_lines(file: &mut File, length: u64, header: &str) -> io::Result<(u64, Option<Resumed>)> {
    let mut head = Vec::new();
    file.seek(SeekFrom::Start(0))?;
    (&*file).take(LOOKED_BYTES).read_to_end(&mut head)?;
    let Some(end) = head.iter().position(|b| *b == b'\n') else {
        if header.as_bytes().starts_with(&head) {
            // Ended within its header: nothing was recorded yet.
            return Ok((0, None));
        }
        return Err(io::Error::other(
            "holds something that is no recorded log; choose another name for the run",
        ));
    };
    let there = String::from_utf8_lossy(head.get(..end).unwrap_or_default()).trim_end().to_owned();
    if there != header.trim_end() {
        return Err(io::Error::other(format!(
            "has other columns: its header is \"{there}\", and that of this logger would be \"{}\"; choose another name for the run",
            header.trim_end()
        )));
    }
    let from = length.saturating_sub(LOOKED_BYTES);
    file.seek(SeekFrom::Start(from))?;
    let mut tail = Vec::new();
    (&*file).take(LOOKED_BYTES).read_to_end(&mut tail)?;
    let Some(last) = tail.iter().rposition(|b| *b == b'\n') else {
        return Err(io::Error::other("ends in a line that is none; choose another name for the run"));
    };
    let whole = from + last as u64 + 1;
    let before = tail.get(..last).unwrap_or_default();
    let row = before.rsplit(|b| *b == b'\n').next().unwrap_or_default();
    let is_header = whole as usize == end + 1;
    let last_row = if is_header { String::new() } else { String::from_utf8_lossy(row).trim_end().to_owned() };
    Ok((whole, Some(Resumed { last_row, cut_bytes: length - whole })))
}

#[cfg(test)]
mod tests {
    use super::*;

    const HEADER: &str = "sample time,U (V)\n";

    #[test]
    fn half_a_line_is_cut_and_the_run_goes_on_behind_it() {
        let scratch = tempfile::tempdir().expect("a scratch folder");
        let place = scratch.path().join("a.csv");
        fs::write(&place, format!("{HEADER}t1,1\nt2,2\nt3,")).expect("writable");
        let mut file = RunFile::open(&place, HEADER).expect("it goes on");
        assert_eq!(file.resumed(), Some(&Resumed { last_row: "t2,2".to_owned(), cut_bytes: 3 }));
        file.append("t4,4\n".to_owned());
        assert_eq!(file.end(), 0);
        assert_eq!(fs::read_to_string(&place).expect("text"), format!("{HEADER}t1,1\nt2,2\nt4,4\n"));
    }

    #[test]
    fn another_log_is_left_as_it_is() {
        let scratch = tempfile::tempdir().expect("a scratch folder");
        let place = scratch.path().join("a.csv");
        for text in ["a,b\n1,2\n", "Dear sir", "sample time,U (V),more\n"] {
            fs::write(&place, text).expect("writable");
            assert!(RunFile::open(&place, HEADER).is_err(), "{text}");
            assert_eq!(fs::read_to_string(&place).expect("text"), text);
        }
        // Ended within the header: it begins anew.
        fs::write(&place, "sample ti").expect("writable");
        let file = RunFile::open(&place, HEADER).expect("it begins");
        assert_eq!(file.resumed(), None);
        assert_eq!(fs::read_to_string(&place).expect("text"), HEADER);
    }

    #[test]
    fn two_do_not_write_to_one_log() {
        let scratch = tempfile::tempdir().expect("a scratch folder");
        let place = scratch.path().join("a.csv");
        let first = RunFile::open(&place, HEADER).expect("it begins");
        assert!(RunFile::open(&place, HEADER).expect_err("it is taken").to_string().contains("another"));
        drop(first);
    }
}

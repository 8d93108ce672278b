//! The lamp folder behind the page, read anew when the page is loaded; an unchanged folder keeps its warm models.

use std::cell::RefCell;
use std::hash::{DefaultHasher, Hash, Hasher};
use std::io::Read;
use std::sync::{Arc, Mutex, PoisonError};

use bench::run::LogFolder;
use lamp::project::{self, Folder, Reading};

use super::shop::Shop;

/// A folder that notes what is read from it.
pub(super) struct Noted<'a, F: ?Sized> {
    folder: &'a F,
    seen: RefCell<DefaultHasher>,
}

impl<'a, F: ?Sized> Noted<'a, F> {
    pub fn new(folder: &'a F) -> Self {
        Self { folder, seen: RefCell::default() }
    }

    /// A number that changes when any file does that was read.
    pub fn seen(&self) -> u64 {
        self.seen.borrow().finish()
    }
}

impl<F: Folder + ?Sized> Folder for Noted<'_, F> {
    fn read(&self, path: &str) -> Result<Vec<u8>, String> {
        let found = self.folder.read(path);
        (path, &found).hash(&mut *self.seen.borrow_mut());
        found
    }

    fn list(&self, folder: &str) -> Result<Vec<String>, String> {
        let found = self.folder.list(folder);
        (folder, &found).hash(&mut *self.seen.borrow_mut());
        found
    }
}

impl<F: LogFolder + ?Sized> LogFolder for Noted<'_, F> {
    /// Logs are read whole: their bytes are noted, too.
    fn open(&self, path: &str) -> Result<(Box<dyn Read + '_>, Option<u64>), String> {
        let found = self.folder.open(path);
        match found {
            Ok((log, size)) => Ok((Box::new(NotedLog { log, seen: &self.seen }), size)),
            Err(why) => {
                (path, &why).hash(&mut *self.seen.borrow_mut());
                Err(why)
            }
        }
    }
}

/// A log that notes what is read from it.
struct NotedLog<'a> {
    log: Box<dyn Read + 'a>,
    seen: &'a RefCell<DefaultHasher>,
}

impl Read for NotedLog<'_> {
    fn read(&mut self, into: &mut [u8]) -> std::io::Result<usize> {
        let count = self.log.read(into)?;
        self.seen.borrow_mut().write(&into[..count]);
        Ok(count)
    }
}

/// A reading, and a number that changes when any file does that was read for it.
fn noted(folder: &impl Folder) -> (Reading, u64) {
    let noted = Noted::new(folder);
    let reading = project::read(&noted);
    (reading, noted.seen())
}

/// The folder, and the lamp as it was read last.
pub(super) struct Reread<F> {
    folder: F,
    threads: usize,
    now: Mutex<(u64, Arc<Shop>)>,
}

impl<F: Folder> Reread<F> {
    pub fn new(folder: F, threads: usize) -> Self {
        let (reading, seen) = noted(&folder);
        let now = Mutex::new((seen, Arc::new(Shop::new(reading, threads))));
        Self { folder, threads, now }
    }

    /// The folder itself.
    pub fn folder(&self) -> &F {
        &self.folder
    }

    /// A number that changes with the lamp.
    pub fn seen(&self) -> u64 {
        self.now.lock().unwrap_or_else(PoisonError::into_inner).0
    }

    /// The lamp as it was read last.
    pub fn shop(&self) -> Arc<Shop> {
        Arc::clone(&self.now.lock().unwrap_or_else(PoisonError::into_inner).1)
    }

    /// The lamp as the folder has it now.
    pub fn again(&self) -> Arc<Shop> {
        let (reading, seen) = noted(&self.folder);
        let mut now = self.now.lock().unwrap_or_else(PoisonError::into_inner);
        if now.0 != seen {
            *now = (seen, Arc::new(Shop::new(reading, self.threads)));
        }
        Arc::clone(&now.1)
    }
}

#[cfg(test)]
mod tests {
    use lamp::project::MemoryFolder;

    use super::*;

    #[test]
    fn only_a_changed_folder_makes_a_new_shop() {
        let file = |text: &str| MemoryFolder::new([("lamp.toml".to_owned(), text.as_bytes().to_vec())]);
        let mut desk = Reread::new(file("[lamp]\nname = \"one\"\n"), 1);
        let first = desk.shop();
        assert!(Arc::ptr_eq(&first, &desk.again()));
        desk.folder = file("[lamp]\nname = \"two\"\n");
        assert!(!Arc::ptr_eq(&first, &desk.again()));
        assert_eq!(desk.shop().about().name, "two");
    }
}

//! Writing: whole files or none, and never over something of the maker's.

use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// Files with their paths inside a folder, '/' between the parts.
pub type Files = [(String, Vec<u8>)];

/// What was done with one file of a set.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unpacked {
    /// It was missing and is there now.
    Written,
    /// It was there already, byte for byte.
    Same,
    /// Another file of that name is there and was kept.
    Kept,
}

/// One file of a set, and what was done with it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct UnpackedFile {
    /// Path inside the folder.
    pub path: String,
    /// What was done.
    pub done: Unpacked,
}

/// Whether nothing is at this place, or an empty folder.
///
/// # Errors
///
/// When the place cannot be looked at, or is no folder.
pub fn is_empty_or_absent(folder: &Path) -> io::Result<bool> {
    match fs::read_dir(folder) {
        Ok(mut entries) => Ok(entries.next().is_none()),
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(true),
        Err(error) => Err(error),
    }
}

/// Writes a set of files into a folder that is empty or not there yet.
///
/// # Errors
///
/// When something is there already, or the disk refuses.
pub fn unpack_new(folder: &Path, files: &Files) -> io::Result<()> {
    for (path, bytes) in files {
        let target = folder.join(path);
        make_parent(&target)?;
        File::create_new(&target)?.write_all(bytes)?;
    }
    Ok(())
}

/// Writes the missing files of a set into a folder; files that are there already are kept as they are.
///
/// # Errors
///
/// When the disk refuses.
pub fn unpack_over(folder: &Path, files: &Files) -> io::Result<Vec<UnpackedFile>> {
    let mut all = Vec::with_capacity(files.len());
    for (path, bytes) in files {
        let target = folder.join(path);
        let done = match fs::symlink_metadata(&target) {
            Ok(_) if same_content(&target, bytes) => Unpacked::Same,
            Ok(_) => Unpacked::Kept,
            Err(_) => {
                make_parent(&target)?;
                File::create_new(&target)?.write_all(bytes)?;
                Unpacked::Written
            }
        };
        all.push(UnpackedFile { path: path.clone(), done });
    }
    Ok(all)
}

fn same_content(path: &Path, bytes: &[u8]) -> bool {
    super::read_bounded(path).is_ok_and(|there| there == bytes)
}

fn make_parent(target: &Path) -> io::Result<()> {
    target.parent().map_or(Ok(()), fs::create_dir_all)
}

/// Writes one result into `results/` of a lamp folder, whole or not at all: beside it first, then in its place.
///
/// # Errors
///
/// When the disk refuses, or `results` is no folder of its own inside the lamp folder (a link could lead outside).
pub fn write_result(lamp_folder: &Path, name: &str, bytes: &[u8]) -> io::Result<PathBuf> {
    let results = lamp_folder.join("results");
    match fs::symlink_metadata(&results) {
        Ok(kind) if kind.is_dir() => {}
        Ok(_) => return Err(io::Error::other("results is no folder of the lamp folder's own; move it away")),
        Err(_) => fs::create_dir(&results)?,
    }
    let target = results.join(name);
    let beside = results.join(format!(".{name}.{}.part", std::process::id()));
    let written = write_whole(&beside, bytes).and_then(|()| fs::rename(&beside, &target));
    if let Err(error) = written {
        // Nothing half-written is left; that the part may not exist is no further trouble.
        let _ = fs::remove_file(&beside);
        return Err(error);
    }
    Ok(target)
}

fn write_whole(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let mut file = File::create_new(path)?;
    file.write_all(bytes)?;
    file.sync_all()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn set() -> Vec<(String, Vec<u8>)> {
        vec![("a.txt".into(), b"one".to_vec()), ("deep/er/b.txt".into(), b"two".to_vec())]
    }

    #[test]
    fn what_is_there_is_kept_and_what_is_missing_is_written() {
        let scratch = tempfile::tempdir().expect("a scratch folder");
        fs::write(scratch.path().join("a.txt"), "mine").expect("writable");
        let done = |files: Vec<UnpackedFile>| files.into_iter().map(|file| file.done).collect::<Vec<_>>();
        let first = unpack_over(scratch.path(), &set()).expect("writable");
        assert_eq!(done(first), [Unpacked::Kept, Unpacked::Written]);
        let second = unpack_over(scratch.path(), &set()).expect("writable");
        assert_eq!(done(second), [Unpacked::Kept, Unpacked::Same]);
        assert_eq!(fs::read(scratch.path().join("a.txt")).expect("there"), b"mine");
    }

    #[test]
    fn a_new_set_never_replaces_a_file() {
        let scratch = tempfile::tempdir().expect("a scratch folder");
        fs::write(scratch.path().join("a.txt"), "mine").expect("writable");
        assert!(unpack_new(scratch.path(), &set()).is_err());
        assert_eq!(fs::read(scratch.path().join("a.txt")).expect("there"), b"mine");
    }

    #[test]
    fn a_result_replaces_the_one_before_and_leaves_no_part_behind() {
        let scratch = tempfile::tempdir().expect("a scratch folder");
        write_result(scratch.path(), "predict.json", b"old and long").expect("writable");
        let place = write_result(scratch.path(), "predict.json", b"new").expect("writable");
        assert_eq!(fs::read(place).expect("there"), b"new");
        assert_eq!(fs::read_dir(scratch.path().join("results")).expect("there").count(), 1);
    }

    #[cfg(unix)]
    #[test]
    fn results_that_lead_elsewhere_are_refused() {
        let scratch = tempfile::tempdir().expect("a scratch folder");
        let elsewhere = tempfile::tempdir().expect("a scratch folder");
        std::os::unix::fs::symlink(elsewhere.path(), scratch.path().join("results")).expect("a link");
        assert!(write_result(scratch.path(), "predict.json", b"x").is_err());
        assert_eq!(fs::read_dir(elsewhere.path()).expect("there").count(), 0);
    }
}

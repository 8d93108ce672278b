//! A lamp folder on disk, read within bounds.

use std::fs::{self, File};
use std::io::Read;
use std::path::{Component, Path, PathBuf};

use bench::run::LogFolder;
use lamp::project::Folder;

use super::shown;
use crate::outcome::Failure;

/// Largest file that is read, bytes. Fabrication files of a lamp board have some megabytes at most.
pub const MAX_FILE_BYTES: u64 = 128 << 20;
/// Most names that are taken from one folder.
const MAX_NAMES: usize = 4096;

/// A lamp folder on disk.
#[derive(Debug, Clone)]
pub struct LampFolder {
    root: PathBuf,
}

impl LampFolder {
    /// The lamp folder that was typed: the folder itself, or the lamp.toml in it.
    ///
    /// # Errors
    ///
    /// [`Failure::BadInput`] when there is no such folder, or no lamp.toml in it.
    pub fn find(typed: &Path) -> Result<Self, Failure> {
        let refuse = |text: &str| {
            let text =
                format!("{text}; LAMP is a lamp folder or the lamp.toml in it, such as fossil-bench-lamp");
            Failure::bad_file(shown(typed), text)
        };
        let kind = fs::metadata(typed).map_err(|error| refuse(&format!("cannot be read ({error})")))?;
        let root = match (kind.is_dir(), typed.file_name()) {
            (true, _) => typed.to_path_buf(),
            (false, Some(name)) if name == "lamp.toml" => {
                let parent = typed.parent().filter(|parent| !parent.as_os_str().is_empty());
                parent.unwrap_or(Path::new(".")).to_path_buf()
            }
            _ => return Err(refuse("is neither a folder nor a lamp.toml")),
        };
        if !root.join("lamp.toml").is_file() {
            return Err(refuse("holds no lamp.toml; `lampwright new FOLDER` starts one"));
        }
        Ok(Self { root })
    }

    /// Where it is.
    #[must_use]
    pub fn root(&self) -> &Path {
        &self.root
    }

    /// A path of the project text on disk; only paths that stay inside the folder.
    fn inside(&self, path: &str) -> Result<PathBuf, String> {
        let relative = Path::new(path);
        let stays =
            relative.components().all(|part| matches!(part, Component::Normal(_) | Component::CurDir));
        if stays {
            Ok(self.root.join(relative))
        } else {
            Err("must be a path inside the lamp folder".to_owned())
        }
    }
}

impl Folder for LampFolder {
    fn read(&self, path: &str) -> Result<Vec<u8>, String> {
        read_bounded(&self.inside(path)?)
    }

    fn list(&self, folder: &str) -> Result<Vec<String>, String> {
        let entries = fs::read_dir(self.inside(folder)?).map_err(|error| error.to_string())?;
        let mut names = Vec::new();
        for entry in entries {
            let entry = entry.map_err(|error| error.to_string())?;
            if entry.path().is_file() {
                names.push(entry.file_name().to_string_lossy().into_owned());
            }
            if names.len() > MAX_NAMES {
                return Err(format!("holds more than {MAX_NAMES} files"));
            }
        }
        names.sort();
        Ok(names)
    }
}

impl LogFolder for LampFolder {
    /// Logs may be of any size; they are read piece by piece.
    fn open(&self, path: &str) -> Result<(Box<dyn Read + '_>, Option<u64>), String> {
        let path = self.inside(path)?;
        let kind = fs::metadata(&path).map_err(|error| error.to_string())?;
        if !kind.is_file() {
            return Err("is not a file".to_owned());
        }
        let file = File::open(&path).map_err(|error| error.to_string())?;
        Ok((Box::new(file), Some(kind.len())))
    }
}

/// The bytes of a regular file of at most [`MAX_FILE_BYTES`].
///
/// # Errors
///
/// A sentence that says why it cannot be read.
pub fn read_bounded(path: &Path) -> Result<Vec<u8>, String> {
    let kind = fs::metadata(path).map_err(|error| error.to_string())?;
    if !kind.is_file() {
        return Err("is not a file".to_owned());
    }
    let too_large =
        |bytes: u64| format!("has {} MB; at most {} MB are read", bytes >> 20, MAX_FILE_BYTES >> 20);
    if kind.len() > MAX_FILE_BYTES {
        return Err(too_large(kind.len()));
    }
    let mut bytes = Vec::new();
    let file = File::open(path).map_err(|error| error.to_string())?;
    // It may grow while it is read.
    file.take(MAX_FILE_BYTES + 1).read_to_end(&mut bytes).map_err(|error| error.to_string())?;
    if bytes.len() as u64 > MAX_FILE_BYTES { Err(too_large(bytes.len() as u64)) } else { Ok(bytes) }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn folder() -> (tempfile::TempDir, LampFolder) {
        let scratch = tempfile::tempdir().expect("a scratch folder");
        fs::write(scratch.path().join("lamp.toml"), "[lamp]\n").expect("writable");
        let found = LampFolder::find(scratch.path()).expect("it has a lamp.toml");
        (scratch, found)
    }

    #[test]
    fn paths_that_leave_the_folder_are_refused() {
        let (scratch, folder) = folder();
        fs::write(scratch.path().join("beside.txt"), "x").expect("writable");
        assert!(folder.read("beside.txt").is_ok());
        let outside = scratch.path().join("beside.txt");
        for path in ["../lamp.toml", "a/../../b", outside.to_str().expect("plain name")] {
            assert_eq!(folder.read(path), Err("must be a path inside the lamp folder".to_owned()), "{path}");
            assert!(folder.list(path).is_err(), "{path}");
        }
    }

    #[test]
    fn a_file_beyond_the_bound_is_refused_without_reading_it() {
        let (scratch, folder) = folder();
        let huge = File::create(scratch.path().join("huge.gbr")).expect("writable");
        huge.set_len(1 << 40).expect("a file with a hole");
        let told = folder.read("huge.gbr").expect_err("too large");
        assert!(told.contains("128 MB"), "{told}");
    }

    #[test]
    fn a_folder_is_not_read_as_a_file() {
        let (scratch, folder) = folder();
        fs::create_dir(scratch.path().join("artwork")).expect("writable");
        assert_eq!(folder.read("artwork"), Err("is not a file".to_owned()));
        assert_eq!(folder.list("artwork"), Ok(Vec::new()));
    }
}

//! What the tests of the binary share: a scratch folder with a lamp in it, and the program as a user runs it.
#![allow(dead_code, reason = "each test file uses its part")]

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use serde_json::Value;

pub mod schema_check;

/// A scratch folder that goes away with the test.
pub struct Scratch(tempfile::TempDir);

/// What the program said and how it ended.
pub struct Said {
    pub status: i32,
    pub out: String,
    pub err: String,
}

impl Said {
    /// The one JSON object on standard output, and nothing else there.
    pub fn json(&self) -> Value {
        let mut objects = serde_json::Deserializer::from_str(&self.out).into_iter::<Value>();
        let first = objects.next().expect("standard output holds an object").expect("it is JSON");
        assert!(first.is_object(), "one object: {}", self.out);
        assert!(objects.next().is_none(), "exactly one object: {}", self.out);
        first
    }

    /// Text with every run of blanks as one.
    pub fn flat(&self) -> String {
        flat(&self.out)
    }
}

pub fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

impl Scratch {
    pub fn new() -> Self {
        Self(tempfile::tempdir().expect("a scratch folder"))
    }

    /// A scratch folder with the demo lamp in `lamp/`.
    pub fn with_demo() -> Self {
        Self::with_files(&lampwright::demo::files())
    }

    /// A scratch folder with these files in `lamp/`.
    pub fn with_files(files: &[(String, Vec<u8>)]) -> Self {
        let scratch = Self::new();
        for (path, bytes) in files {
            scratch.write(&format!("lamp/{path}"), bytes);
        }
        scratch
    }

    pub fn path(&self) -> &Path {
        self.0.path()
    }

    pub fn lamp(&self) -> PathBuf {
        self.path().join("lamp")
    }

    pub fn write(&self, path: &str, bytes: impl AsRef<[u8]>) {
        let target = self.path().join(path);
        fs::create_dir_all(target.parent().expect("inside the scratch folder")).expect("writable");
        fs::write(target, bytes).expect("writable");
    }

    pub fn read(&self, path: &str) -> String {
        fs::read_to_string(self.path().join(path)).expect("readable text")
    }

    /// One edit of a text file; what is replaced must be there.
    pub fn edit(&self, path: &str, from: &str, to: &str) {
        let text = self.read(path);
        assert!(text.contains(from), "{path} holds no {from:?}");
        self.write(path, text.replacen(from, to, 1));
    }

    /// The first file under a folder whose text holds `mark`.
    pub fn file_with(&self, folder: &str, mark: &str) -> String {
        let found = self
            .files()
            .into_iter()
            .find(|(path, bytes)| path.starts_with(folder) && String::from_utf8_lossy(bytes).contains(mark));
        found.unwrap_or_else(|| panic!("no file under {folder} holds {mark}")).0
    }

    /// Every file, with its bytes.
    pub fn files(&self) -> BTreeMap<String, Vec<u8>> {
        let mut found = BTreeMap::new();
        let mut open = vec![self.path().to_path_buf()];
        while let Some(folder) = open.pop() {
            for entry in fs::read_dir(folder).expect("readable").flatten() {
                let path = entry.path();
                if path.is_dir() {
                    open.push(path);
                } else {
                    let name = path.strip_prefix(self.path()).expect("inside").to_string_lossy().into_owned();
                    found.insert(name, fs::read(&path).unwrap_or_default());
                }
            }
        }
        found
    }

    /// Runs the program in the scratch folder.
    pub fn run(&self, words: &[&str]) -> Said {
        let output: Output = Command::new(env!("CARGO_BIN_EXE_lampwright"))
            .args(words)
            .current_dir(self.path())
            .stdin(Stdio::null())
            .output()
            .expect("the program starts");
        Said {
            status: output.status.code().expect("it ends on its own"),
            out: String::from_utf8(output.stdout).expect("UTF-8"),
            err: String::from_utf8(output.stderr).expect("UTF-8"),
        }
    }
}

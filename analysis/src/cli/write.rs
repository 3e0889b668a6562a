//! What the program writes of itself: a scenario to start from, its schema, completions and manual pages.

use std::path::Path;

use breathroom_sim::scenario;
use clap::CommandFactory as _;
use clap_complete::Shell;

use super::Code;
use super::console::{Console, Ended};
use super::typed::Typed;
use crate::results::new_file;

/// Writes the commented starter; never over a file that is there unless `force`.
///
/// # Errors
/// If the file is there, or cannot be written.
pub fn starter(file: &Path, force: bool, quiet: bool, console: &mut Console<'_>) -> Result<Code, Ended> {
    new_file(file, scenario::starter().as_bytes(), force)?;
    if !quiet {
        let path = file.display();
        console.say(&format!("Wrote {path}. Change it, then: breathroom check {path}\n"))?;
    }
    Ok(Code::Done)
}

/// Prints the schema of scenario files.
///
/// # Errors
/// If standard output cannot be written to.
pub fn schema(console: &mut Console<'_>) -> Result<Code, Ended> {
    let mut text = scenario::json_schema();
    if !text.ends_with('\n') {
        text.push('\n');
    }
    console.say(&text)?;
    Ok(Code::Done)
}

/// Prints the completions of a shell.
///
/// # Errors
/// If standard output cannot be written to.
pub fn completions(shell: Shell, console: &mut Console<'_>) -> Result<Code, Ended> {
    let mut text = Vec::new();
    clap_complete::generate(shell, &mut Typed::command(), "breathroom", &mut text);
    console.say(&String::from_utf8_lossy(&text))?;
    Ok(Code::Done)
}

/// Prints a manual page: of the program, or of one command.
///
/// # Errors
/// If there is no such command, or standard output cannot be written to.
pub fn man(command: Option<&str>, console: &mut Console<'_>) -> Result<Code, Ended> {
    let mut whole = Typed::command();
    whole.build();
    let page = match command {
        None => whole,
        Some(name) => {
            let found = whole.find_subcommand(name).cloned();
            found.ok_or_else(|| Ended::Usage(format!("there is no command `{name}`")))?
        }
    };
    let mut text = Vec::new();
    clap_mangen::Man::new(page)
        .render(&mut text)
        .map_err(|error| Ended::Wrong(format!("cannot make the manual page: {error}")))?;
    console.say(&String::from_utf8_lossy(&text))?;
    Ok(Code::Done)
}

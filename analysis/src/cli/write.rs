//! What the program writes of itself: a scenario to start from, its schema, completions and manual pages.

use std::fs;
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

use breathroom_sim::scenario;
use clap::CommandFactory as _;
use clap_complete::Shell;
use tempfile::NamedTempFile;

use super::Code;
use super::console::{Console, Ended};
use super::typed::Typed;
use crate::results::reason;

/// Writes the commented starter; never over a file that is there unless `force`.
///
/// # Errors
/// If the file is there, or cannot be written.
pub fn starter(file: &Path, force: bool, quiet: bool, console: &mut Console<'_>) -> Result<Code, Ended> {
    let taken = fs::symlink_metadata(file);
    match &taken {
        Ok(_) if !force => {
            let path = file.display();
            return Err(Ended::Wrong(format!(
                "`{path}` is already there; give --force to write over it"
            )));
        }
        Ok(found) if !found.is_file() => {
            return Err(Ended::Wrong(format!(
                "`{}` is not a file: --force does not replace it",
                file.display()
            )));
        }
        _ => {}
    }
    place(file, scenario::starter().as_bytes(), force)
        .map_err(|error| Ended::Wrong(format!("cannot write `{}`: {}", file.display(), reason(&error))))?;
    if !quiet {
        let path = file.display();
        console.say(&format!("Wrote {path}. Change it, then: breathroom check {path}\n"))?;
    }
    Ok(Code::Done)
}

/// Whole or not at all: a file beside the target that is then given its name.
fn place(file: &Path, content: &[u8], force: bool) -> io::Result<()> {
    let folder = match file.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder.to_owned(),
        _ => PathBuf::from("."),
    };
    let mut builder = tempfile::Builder::new();
    builder.prefix(".breathroom-new-");
    #[cfg(unix)]
    let open = {
        use std::os::unix::fs::PermissionsExt as _;
        fs::Permissions::from_mode(0o666) // less the user's umask, like any other file
    };
    #[cfg(unix)]
    builder.permissions(open);
    let mut whole: NamedTempFile = builder.tempfile_in(folder)?;
    whole.write_all(content)?;
    whole.flush()?;
    let placed = if force {
        whole.persist(file)
    } else {
        whole.persist_noclobber(file)
    };
    placed.map(drop).map_err(|error| error.error)
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

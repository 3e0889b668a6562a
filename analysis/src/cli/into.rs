//! Fitted values into a scenario file: whole or not at all, and read again before anything is replaced.
//!
//! ```text
//! FILE --rewritten--> new text --reader of scenarios--> in place of FILE, or as the new file of --as
//! ```
//!
//! FILE is written beside its place and then given its name, and only if it still holds what was read. Data files are named by paths from
//! the folder of a scenario: one that names some is written to no other folder.

use std::path::{Path, PathBuf};

use breathroom_sim::scenario;

use super::console::{Console, Ended};
use super::input;
use super::scenario_file::told;
use crate::desk::{Edits, Rewritten, rewritten};
use crate::results::{new_file, replace_file, sha256_hex};

/// Puts values into a scenario file, or with `new` into a copy of it that does not exist yet.
///
/// # Errors
/// If the file cannot be read, a value has no place in it, the scenario is wrong with the new values, or it cannot be written:
/// then FILE is as it was and there is no new file.
pub fn write(console: &Console<'_>, file: &Path, new: Option<&Path>, edits: &Edits) -> Result<Rewritten, Ended> {
    let content = input::bytes(file, scenario::MAX_BYTES).map_err(Ended::Wrong)?;
    let made = tried(file, &content, new, edits).map_err(Ended::Wrong)?;
    if console.stopped() {
        return Err(Ended::Interrupted);
    }
    match new {
        Some(new) => new_file(new, made.text.as_bytes(), false)?,
        None => replace_file(file, made.text.as_bytes(), &sha256_hex(&content))?,
    }
    Ok(made)
}

/// Whether values could be written, without writing: what a command asks before it works for long.
///
/// # Errors
/// As [`write`], as far as that can be known.
pub fn could(file: &Path, new: Option<&Path>, edits: &Edits) -> Result<Rewritten, Ended> {
    let content = input::bytes(file, scenario::MAX_BYTES).map_err(Ended::Wrong)?;
    if let Some(new) = new
        && new.symlink_metadata().is_ok()
    {
        return Err(Ended::Wrong(format!(
            "`{}` is already there: name a new file with --as",
            new.display()
        )));
    }
    tried(file, &content, new, edits).map_err(Ended::Wrong)
}

/// The new text, read again by the reader of scenarios.
fn tried(file: &Path, content: &[u8], new: Option<&Path>, edits: &Edits) -> Result<Rewritten, String> {
    let name = file.display().to_string();
    let text = scenario::decode(content, &name).map_err(|fault| fault.render())?;
    let made = rewritten(text, edits).map_err(|refused| {
        let lines: String = refused.iter().map(|why| format!("error: {why}\n")).collect();
        format!("{lines}nothing was written to {name}\n")
    })?;
    let folder = folder(file);
    let files = |data: &str| input::bytes(&folder.join(data), scenario::MAX_BYTES);
    let read = scenario::read(&scenario::Source {
        name: &name,
        text: &made.text,
        overrides: &[],
        files: &files,
    });
    let read = read.map_err(|faults| {
        format!(
            "{}with the new values {name} would be wrong: nothing was written\n",
            told(&faults, &name)
        )
    })?;
    if let Some(new) = new
        && let Some((data, _)) = read.data_files.first()
        && !same(&folder, &self::folder(new))
    {
        return Err(format!(
            "the scenario names `{data}` by its path from its own folder: name a file in `{}` with --as",
            folder.display()
        ));
    }
    Ok(made)
}

/// The folder that a file lies in.
fn folder(file: &Path) -> PathBuf {
    match file.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder.to_owned(),
        _ => PathBuf::from("."),
    }
}

fn same(one: &Path, other: &Path) -> bool {
    match (one.canonicalize(), other.canonicalize()) {
        (Ok(one), Ok(other)) => one == other,
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use std::fs;
    use std::sync::atomic::AtomicBool;

    use super::*;

    static GO: AtomicBool = AtomicBool::new(false);

    fn starter(folder: &Path) -> PathBuf {
        let file = folder.join("cabin.toml");
        fs::write(&file, scenario::starter()).expect("written");
        file
    }

    fn edits(path: &str, toml: &str) -> Edits {
        Edits {
            values: vec![(path.to_owned(), toml.to_owned())],
            ..Edits::default()
        }
    }

    fn written(file: &Path, new: Option<&Path>, edits: &Edits) -> Result<Rewritten, String> {
        let (mut out, mut err) = (Vec::new(), Vec::new());
        let console = Console::new(&mut out, &mut err, false, &GO);
        write(&console, file, new, edits).map_err(|ended| match ended {
            Ended::Wrong(why) => why,
            other => format!("{other:?}"),
        })
    }

    #[test]
    fn one_line_changes_and_comments_stay() {
        let folder = tempfile::tempdir().expect("a folder");
        let file = starter(folder.path());
        let made = written(&file, None, &edits("air.pressure", "\"57 kPa\"")).expect("written");
        let (old, new) = (scenario::starter(), fs::read_to_string(&file).expect("read"));
        let differ = old.lines().zip(new.lines()).enumerate().filter(|(_, (a, b))| a != b);
        let lines: Vec<usize> = differ.map(|(n, _)| n + 1).collect();
        assert_eq!(lines, [made.changes[0].line]);
        assert_eq!(old.lines().count(), new.lines().count());
    }

    #[test]
    fn what_would_be_wrong_damages_nothing() {
        let folder = tempfile::tempdir().expect("a folder");
        let file = starter(folder.path());
        for (path, toml) in [
            ("air.pressure", "\"57 mmol\""),
            ("air.presure", "1"),
            ("removal.none.flow", "1"),
            ("air.pressure", "\"57 kPa"),
        ] {
            assert!(written(&file, None, &edits(path, toml)).is_err(), "{path} {toml}");
            assert_eq!(fs::read_to_string(&file).expect("read"), scenario::starter());
        }
        assert_eq!(fs::read_dir(folder.path()).expect("a folder").count(), 1);
    }

    #[test]
    fn what_names_data_files_stays_in_its_folder() {
        let folder = tempfile::tempdir().expect("a folder");
        let file = folder.path().join("cabin.toml");
        let spread = "pressure = { data = \"p.csv\", column = \"p\" }\n";
        let text = scenario::starter().replacen("pressure = \"", &format!("{spread}# pressure = \""), 1);
        fs::write(&file, text).expect("written");
        fs::write(folder.path().join("p.csv"), "p\n55 kPa\n56 kPa\n57 kPa\n").expect("written");
        let change = edits("air.oxygen", "\"35 %\"");
        fs::create_dir(folder.path().join("other")).expect("a folder");
        let elsewhere = folder.path().join("other/new.toml");
        let why = written(&file, Some(&elsewhere), &change).expect_err("elsewhere");
        assert!(why.contains("names `p.csv` by its path"), "{why}");
        assert!(!elsewhere.exists());
        written(&file, Some(&folder.path().join("new.toml")), &change).expect("beside it");
    }

    #[test]
    fn a_copy_leaves_the_file_and_goes_over_nothing() {
        let folder = tempfile::tempdir().expect("a folder");
        let file = starter(folder.path());
        let new = folder.path().join("new.toml");
        let change = edits("air.pressure", "\"57 kPa\"");
        written(&file, Some(&new), &change).expect("written");
        assert_eq!(fs::read_to_string(&file).expect("read"), scenario::starter());
        assert!(fs::read_to_string(&new).expect("read").contains("\"57 kPa\""));
        assert!(
            written(&file, Some(&new), &change)
                .expect_err("there")
                .contains("already")
        );
        assert!(could(&file, Some(&new), &change).is_err());
        assert!(could(&file, None, &change).is_ok());
    }
}

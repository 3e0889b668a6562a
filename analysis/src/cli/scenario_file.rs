//! From a file name to a checked scenario, with everything that is wrong with it told in one go.

use std::path::{Path, PathBuf};

use breathroom_sim::scenario::{self, Diagnostic, Scenario};

use super::console::{Console, Ended};
use super::input;
use super::job::ScenarioJob;
use crate::results::{Provenance, ScenarioFile, sha256_hex};

/// A scenario that was read, and which one it is.
#[derive(Clone, Debug)]
pub struct Read {
    /// The scenario.
    pub scenario: Scenario,
    /// Its title, file name and digest.
    pub file: ScenarioFile,
    /// Its file name without the ending: the first half of a default results folder.
    pub stem: String,
    /// The content of the file.
    pub content: Vec<u8>,
}

impl Read {
    /// The part of the provenance that every command shares.
    #[must_use]
    pub fn provenance(&self, command: &'static str, overrides: &[String]) -> Provenance {
        Provenance::new(command, &self.scenario, &self.file, overrides)
    }
}

/// Reads and checks a scenario.
///
/// # Errors
/// If the file cannot be read, or anything in it is wrong: every fault is told.
pub fn read(job: &ScenarioJob, console: &Console<'_>) -> Result<Read, Ended> {
    read_file(&job.file, &job.overrides, console)
}

/// Reads and checks a scenario by its path.
///
/// # Errors
/// If the file cannot be read, or anything in it is wrong: every fault is told.
pub fn read_file(path: &Path, overrides: &[String], console: &Console<'_>) -> Result<Read, Ended> {
    let path = path.to_owned();
    let overrides = overrides.to_vec();
    let read = move || read_now(&path, &overrides);
    console.interruptible(read)?.map_err(Ended::Wrong)
}

fn read_now(path: &Path, overrides: &[String]) -> Result<Read, String> {
    let content = input::bytes(path, scenario::MAX_BYTES).map_err(|error| format!("error: {error}\n"))?;
    let folder = path.parent().unwrap_or(Path::new(""));
    let files = |name: &str| input::bytes(&folder.join(name), scenario::MAX_BYTES);
    from(path, content, &files, overrides)
}

/// Reads a scenario whose file would hold this: its data files lie where they lay.
///
/// # Errors
/// If anything in it is wrong: every fault is told.
pub fn read_text(path: &Path, content: Vec<u8>) -> Result<Read, Ended> {
    let folder = path.parent().unwrap_or(Path::new(""));
    let files = |name: &str| input::bytes(&folder.join(name), scenario::MAX_BYTES);
    from(path, content, &files, &[]).map_err(Ended::Wrong)
}

/// Reads a scenario from the copies that a part of a study keeps: names and contents, the scenario first.
///
/// # Errors
/// If anything in it is wrong: every fault is told.
pub fn read_copies(copies: &[(String, Vec<u8>)], overrides: &[String]) -> Result<Read, Ended> {
    let Some(((name, content), data)) = copies.split_first() else {
        return Err(Ended::Wrong("a part of a study keeps no scenario".to_owned()));
    };
    let files = |name: &str| {
        let found = data
            .iter()
            .find(|(of, _)| of == name)
            .map(|(_, content)| content.clone());
        found.ok_or_else(|| format!("the part keeps no copy of `{name}`"))
    };
    from(Path::new(name), content.clone(), &files, overrides).map_err(Ended::Wrong)
}

fn from(
    path: &Path,
    content: Vec<u8>,
    files: &dyn Fn(&str) -> Result<Vec<u8>, String>,
    overrides: &[String],
) -> Result<Read, String> {
    let name = path.display().to_string();
    let text = scenario::decode(&content, &name).map_err(|fault| fault.render())?;
    let source = scenario::Source {
        name: &name,
        text,
        overrides,
        files,
    };
    let scenario = scenario::read(&source).map_err(|faults| told(&faults, &name))?;
    let part =
        |part: Option<&std::ffi::OsStr>| part.map(|part| part.to_string_lossy().into_owned()).unwrap_or_default();
    let file = ScenarioFile {
        title: scenario.title.clone(),
        file: part(path.file_name()),
        sha256: sha256_hex(&content),
    };
    Ok(Read {
        scenario,
        file,
        stem: part(path.file_stem()),
        content,
    })
}

/// A scenario file that is read again and again, with other overrides each time.
#[derive(Clone, Debug)]
pub struct Opened {
    name: String,
    folder: PathBuf,
    content: Vec<u8>,
    data: Vec<(String, Vec<u8>)>,
}

impl Opened {
    /// One that was read.
    #[must_use]
    pub fn of(path: &Path, read: &Read) -> Self {
        Self {
            name: path.display().to_string(),
            folder: path.parent().unwrap_or(Path::new("")).to_owned(),
            content: read.content.clone(),
            data: read.scenario.data_files.clone(),
        }
    }

    /// A file that was not read yet.
    ///
    /// # Errors
    /// If it cannot be read.
    pub fn file(path: &Path) -> Result<Self, String> {
        Ok(Self {
            name: path.display().to_string(),
            folder: path.parent().unwrap_or(Path::new("")).to_owned(),
            content: input::bytes(path, scenario::MAX_BYTES)?,
            data: Vec::new(),
        })
    }

    /// The scenario with these overrides. Data files are those that were read; others are read now.
    ///
    /// # Errors
    /// Everything that is wrong with it.
    pub fn with(&self, overrides: &[String]) -> Result<Scenario, Vec<Diagnostic>> {
        let text = scenario::decode(&self.content, &self.name).map_err(|fault| vec![*fault])?;
        let files = |name: &str| match self.data.iter().find(|(of, _)| of == name) {
            Some((_, content)) => Ok(content.clone()),
            None => input::bytes(&self.folder.join(name), scenario::MAX_BYTES),
        };
        scenario::read(&scenario::Source {
            name: &self.name,
            text,
            overrides,
            files: &files,
        })
    }
}

/// Every fault, then how many there are.
pub fn told(faults: &[Diagnostic], name: &str) -> String {
    let mut text: String = faults.iter().map(|fault| fault.render() + "\n").collect();
    let errors = crate::results::words::count(faults.len(), "error");
    text.push_str(&format!("{errors} in {name}: nothing was run\n"));
    text
}

//! From a file name to a checked scenario, with everything that is wrong with it told in one go.

use std::path::Path;

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
}

impl Read {
    /// The part of the provenance that every command shares.
    #[must_use]
    pub fn provenance(&self, command: &'static str, job: &ScenarioJob) -> Provenance {
        Provenance::new(command, &self.scenario, &self.file, &job.overrides)
    }
}

/// Reads and checks a scenario.
///
/// # Errors
/// If the file cannot be read, or anything in it is wrong: every fault is told.
pub fn read(job: &ScenarioJob, console: &Console<'_>) -> Result<Read, Ended> {
    let path = job.file.clone();
    let overrides = job.overrides.clone();
    let read = move || read_now(&path, &overrides);
    console.interruptible(read)?.map_err(Ended::Wrong)
}

fn read_now(path: &Path, overrides: &[String]) -> Result<Read, String> {
    let content = input::bytes(path, scenario::MAX_BYTES).map_err(|error| format!("error: {error}\n"))?;
    let name = path.display().to_string();
    let text = scenario::decode(&content, &name).map_err(|fault| fault.render())?;
    let folder = path.parent().unwrap_or(Path::new(""));
    let files = |name: &str| input::bytes(&folder.join(name), scenario::MAX_BYTES);
    let source = scenario::Source {
        name: &name,
        text,
        overrides,
        files: &files,
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
    })
}

/// Every fault, then how many there are.
fn told(faults: &[Diagnostic], name: &str) -> String {
    let mut text: String = faults.iter().map(|fault| fault.render() + "\n").collect();
    let errors = crate::results::words::count(faults.len(), "error");
    text.push_str(&format!("{errors} in {name}: nothing was run\n"));
    text
}

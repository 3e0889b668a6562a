//! Wrong files, each beside the exact message it must get.
//!
//! `scenarios/broken/NAME.toml` (or `.bin` for one that is not text) is read, and what is said of it must be
//! `scenarios/broken/NAME.txt` to the letter. A first line `# --set PATH=VALUE` gives an override. With `BLESS=1` in the
//! environment the messages are written anew (and the test still fails, so that it cannot pass by that).

use std::fs;
use std::path::{Path, PathBuf};

use breathroom_sim::scenario::{Diagnostic, Source, decode, read};

/// Wrong files that must be there at least.
const AT_LEAST: usize = 25;

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../scenarios/broken")
}

/// What is said of a file.
fn said_of(path: &Path) -> String {
    let name = path
        .file_name()
        .map(|n| n.to_string_lossy().into_owned())
        .unwrap_or_default();
    let bytes = fs::read(path).expect("a file of the folder");
    let text = match decode(&bytes, &name) {
        Ok(text) => text,
        Err(fault) => return fault.render(),
    };
    let overrides: Vec<String> = text
        .lines()
        .map_while(|line| line.strip_prefix("# --set "))
        .map(str::to_owned)
        .collect();
    let files = |file: &str| fs::read(folder().join(file)).map_err(|_| "there is no such file".to_owned());
    match read(&Source {
        name: &name,
        text,
        overrides: &overrides,
        files: &files,
    }) {
        Ok(_) => String::new(),
        Err(faults) => faults.iter().map(Diagnostic::render).collect::<Vec<_>>().join("\n"),
    }
}

#[test]
fn each_gets_its_message() {
    let mut paths: Vec<PathBuf> = fs::read_dir(folder())
        .expect("the folder of broken scenarios")
        .map(|entry| entry.expect("an entry").path())
        .filter(|path| path.extension().is_some_and(|e| e == "toml" || e == "bin"))
        .collect();
    paths.sort();
    assert!(paths.len() >= AT_LEAST, "only {} wrong files", paths.len());
    let mut wrong = Vec::new();
    for path in paths {
        let said = said_of(&path);
        let beside = path.with_extension("txt");
        let expected = fs::read_to_string(&beside).unwrap_or_default();
        if said.is_empty() {
            wrong.push(format!("{} is not refused", path.display()));
        } else if said != expected {
            if std::env::var_os("BLESS").is_some() {
                fs::write(&beside, &said).expect("a file that can be written");
            }
            wrong.push(format!("{}\n{said}\ninstead of\n{expected}", path.display()));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n\n"));
}

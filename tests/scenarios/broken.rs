//! Wrong files, each beside the exact message it must get.
//!
//! `scenarios/broken/NAME.toml` (or `.bin` for one that is not text) is read, and what is said of it must be
//! `scenarios/broken/NAME.txt` to the letter. A first line `# --set PATH=VALUE` gives an override. With `BLESS=1` in the
//! environment the messages are written anew (and the test still fails, so that it cannot pass by that).

use std::fs;
use std::path::{Path, PathBuf};

use breathroom_sim::scenario::{Diagnostic, Source, decode, read};

use crate::wrong_files;

/// Wrong files that must be there at least.
const AT_LEAST: usize = 25;

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../scenarios/broken")
}

/// What is said of a file.
fn said_of(path: &Path) -> String {
    let name = wrong_files::name(path);
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
    wrong_files::each_gets_its_message(&folder(), &["toml", "bin"], AT_LEAST, said_of);
}

//! Folders of wrong files, each beside the exact message it must get.
//!
//! What is said of `NAME.toml` (or another ending) must be `NAME.txt` beside it to the letter. With `BLESS=1` in the environment the
//! messages are written anew (and the test still fails, so that it cannot pass by that).

use std::fs;
use std::path::{Path, PathBuf};

/// Holds every file of a folder with one of these endings against its message; there must be so many at least.
#[track_caller]
pub fn each_gets_its_message(folder: &Path, endings: &[&str], at_least: usize, said_of: impl Fn(&Path) -> String) {
    let mut paths: Vec<PathBuf> = fs::read_dir(folder)
        .expect("the folder of wrong files")
        .map(|entry| entry.expect("an entry").path())
        .filter(|path| {
            path.extension()
                .is_some_and(|e| endings.iter().any(|ending| e == *ending))
        })
        .collect();
    paths.sort();
    assert!(paths.len() >= at_least, "only {} wrong files", paths.len());
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

/// The name of a file, without its folders.
pub fn name(path: &Path) -> String {
    path.file_name()
        .map(|name| name.to_string_lossy().into_owned())
        .unwrap_or_default()
}

//! Folders for results, and programs that are asked about them.

use std::ffi::OsStr;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use tempfile::TempDir;

/// The root of the workspace.
pub fn root() -> PathBuf {
    let parent = Path::new(env!("CARGO_MANIFEST_DIR")).parent();
    parent.expect("tests/ lies in the workspace").to_path_buf()
}

/// The results of a command on a shipped scenario, in a folder of their own.
pub fn results(command: &str, scenario: &str, more: &[&str]) -> TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    let out = folder.path().join("out").display().to_string();
    let file = root().join("scenarios").join(scenario).display().to_string();
    let words = [&["breathroom", command, &file, "--quiet", "--out", &out], more].concat();
    let (mut said, mut err) = (Vec::new(), Vec::new());
    let code = breathroom_analysis::cli::main_with(words, &mut said, &mut err);
    // 3: done, and a limit is not met.
    assert!(code == 0 || code == 3, "{command}: {}", String::from_utf8_lossy(&err));
    folder
}

/// What a program said, and whether it ended well.
pub struct Said {
    pub well: bool,
    pub text: String,
}

/// Starts a program in a folder and waits for it.
pub fn ask<S: AsRef<OsStr>>(program: &str, words: &[S], folder: &Path, install: &str) -> Said {
    let ended = Command::new(program).args(words).current_dir(folder).output();
    let ended = ended.unwrap_or_else(|error| panic!("{program} cannot be started ({error}): {install}"));
    let text = [ended.stdout, ended.stderr].concat();
    Said {
        well: ended.status.success(),
        text: String::from_utf8_lossy(&text).into_owned(),
    }
}

/// Asks the Python that the tests were given.
pub fn python<S: AsRef<OsStr>>(words: &[S], folder: &Path) -> Said {
    let program = std::env::var("BREATHROOM_PYTHON").unwrap_or_else(|_| "python3".to_owned());
    let install = "see tests/notebook/setup.sh, and name the Python that it makes in BREATHROOM_PYTHON";
    ask(&program, words, folder, install)
}

/// Runs a script of this folder; it must end well and say that it has compared something.
pub fn compared(script: &str, words: &[&str], folder: &Path) -> u64 {
    let script = root().join("tests/notebook").join(script).display().to_string();
    let said = python(&[&[script.as_str()], words].concat(), folder);
    assert!(said.well, "{script} {words:?}: {}", said.text);
    let count = said.text.lines().last().and_then(|line| line.strip_prefix("compared "));
    count
        .and_then(|count| count.parse().ok())
        .unwrap_or_else(|| panic!("{script} says: {}", said.text))
}

/// The first block marked `python` of the README.
pub fn readme_block() -> String {
    let readme = fs::read_to_string(root().join("README.md")).expect("README.md");
    let (_, rest) = readme
        .split_once("\n```python\n")
        .expect("a block marked `python` in README.md");
    let (block, _) = rest.split_once("\n```").expect("an end of the block");
    format!("{block}\n")
}

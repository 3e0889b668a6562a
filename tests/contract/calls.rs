//! Calls of the command line in a folder of their own, for the tests of what it promises.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use serde_json::Value;
use tempfile::TempDir;

/// One person in a room with a device; the limit is far away.
pub const ROOM: &str = r#"format = 1
title = "One person in a closed room"
duration = "6 h"
history = { every = "10 min" }

[air]
pressure = "101.325 kPa"
oxygen = "20.9 %"
co2 = "0.3 mmHg"
humidity = "45 %"
temperature = "22 degC"

[compartments.room]
free_volume = { normal = ["30 m3", "1 m3"], within = ["25 m3", "35 m3"] }

[removal.scrubber]
kind = "flow-through"
serves = "room"
flow = "0.3 m3/min"
co2_efficiency = { triangular = ["70 %", "80 %", "90 %"] }
water_efficiency = "10 %"

[control.room]
oxygen = { hold = "20.5 kPa" }

[crew.lead]
mass = "75 kg"

[[tasks]]
id = "work"
crew = ["lead"]
effort = "nominal"
in = "room"
at = "0 h"
duration = { lognormal = ["4 h", "20 %"] }

[[limits.rule]]
id = "co2-ceiling"
quantity = "co2"
at_most = "20 mmHg"
source = "this test"
"#;

/// Two rooms at pressures between which a hatch cannot be opened: always, or in about half of the variations.
pub fn hatch(second: &str) -> String {
    let rooms = format!(
        "[compartments.room]\nfree_volume = \"30 m3\"\n\n[compartments.lock]\nfree_volume = \"5 m3\"\n\
         air = {{ pressure = {second} }}\n\n[openings.door]\nbetween = [\"room\", \"lock\"]\nexchange = \"1 m3/min\"\n\
         open = false\n"
    );
    let before =
        "[compartments.room]\nfree_volume = { normal = [\"30 m3\", \"1 m3\"], within = [\"25 m3\", \"35 m3\"] }\n";
    let text = ROOM.replace(before, &rooms);
    text.replace("at = \"0 h\"\n", "at = \"0 h\"\nstarts = [{ open = \"door\" }]\n")
}

pub struct Place {
    pub folder: TempDir,
}

pub struct Said {
    pub code: u8,
    pub out: String,
    pub err: String,
}

pub fn call<S: AsRef<str>>(words: &[S]) -> Said {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let words: Vec<String> = std::iter::once("breathroom")
        .chain(words.iter().map(AsRef::as_ref))
        .map(str::to_owned)
        .collect();
    let code = breathroom_analysis::cli::main_with(words, &mut out, &mut err);
    let text = |bytes| String::from_utf8(bytes).expect("text");
    Said {
        code,
        out: text(out),
        err: text(err),
    }
}

impl Place {
    pub fn new() -> Self {
        Self {
            folder: tempfile::tempdir().expect("a folder"),
        }
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    pub fn word(&self, name: &str) -> String {
        self.path(name).display().to_string()
    }

    pub fn file(&self, name: &str, content: impl AsRef<[u8]>) -> String {
        fs::write(self.path(name), content).expect("written");
        self.word(name)
    }

    /// Runs `COMMAND file --out out MORE`.
    pub fn job(&self, command: &str, file: &str, out: &str, more: &[&str]) -> Said {
        let out = self.word(out);
        call(&[&[command, file, "--out", &out], more].concat())
    }

    pub fn names(&self) -> BTreeSet<String> {
        names(self.folder.path())
    }

    pub fn summary(&self, out: &str) -> Value {
        let text = fs::read_to_string(self.path(out).join("summary.json")).expect("a summary");
        serde_json::from_str(&text).expect("JSON")
    }
}

pub fn names(folder: &Path) -> BTreeSet<String> {
    let entries = fs::read_dir(folder).expect("a folder");
    entries
        .map(|entry| entry.expect("an entry").file_name().to_string_lossy().into_owned())
        .collect()
}

pub fn set(words: &[&str]) -> BTreeSet<String> {
    words.iter().map(|&word| word.to_owned()).collect()
}

/// Every file of two folders, to the byte.
pub fn same(one: &Path, other: &Path) {
    assert_eq!(names(one), names(other));
    for name in names(one) {
        assert!(
            fs::read(one.join(&name)).expect("a file") == fs::read(other.join(&name)).expect("a file"),
            "{name} differs"
        );
    }
}

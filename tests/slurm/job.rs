//! A job as a user brings it to a cluster: written by `vary --slurm`, submitted by its script.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use crate::bed::{Bed, out};

/// A closed room with an input of each kind that has to come along: a spread, and times from a data file beside its folder.
fn room() -> String {
    include_str!("../support/closed-room.toml").replace(
        "duration = \"4 h\"",
        "duration = { data = \"../timed/work.csv\", column = \"time\" }",
    )
}

const TIMES: &str = "time [h]\n3.5\n4\n4.25\n5\n";

/// Shards of a job.
pub const SHARDS: u64 = 4;
/// Variations of a job: some blocks for each shard, and a rest.
const VARIATIONS: [&str; 4] = ["--runs", "9000", "--seed", "5"];
/// An override that a shell would take apart.
const OVERRIDE: [&str; 2] = ["--set", "crew.lead.mass=\"80 kg\""];

/// A job, and the results that it must have.
pub struct Job {
    above: tempfile::TempDir,
}

/// The numbers of the two jobs of Slurm.
pub struct Submitted {
    pub shards: String,
    pub merge: String,
}

impl Job {
    /// Runs the job on this machine alone, and writes the folder for the cluster to another place than it is submitted from.
    pub fn new() -> Self {
        let above = tempfile::tempdir().expect("a folder");
        let at = |name: &str| above.path().join(name);
        let room = room();
        for (folder, file, text) in [
            ("plan", "it's a room.toml", room.as_str()),
            ("timed", "work.csv", TIMES),
        ] {
            fs::create_dir(at(folder)).expect("made");
            fs::write(at(folder).join(file), text).expect("written");
        }
        let vary = |more: &[&str]| {
            let mut command = Command::new(program());
            command.current_dir(at("plan")).args(["vary", "it's a room.toml"]);
            out(&command
                .args(VARIATIONS)
                .args(OVERRIDE)
                .args(more)
                .output()
                .expect("started"));
        };
        vary(&["--out", "../alone"]);
        vary(&["--slurm", "../written", "--shards", &SHARDS.to_string()]);
        fs::rename(at("written"), at("the user's folder")).expect("moved");
        for folder in ["plan", "timed"] {
            fs::remove_dir_all(at(folder)).expect("gone");
        }
        Self { above }
    }

    /// A file of the job's folder.
    pub fn file(&self, name: &str) -> PathBuf {
        self.above.path().join("the user's folder").join(name)
    }

    /// What a file of the job's folder says.
    pub fn text(&self, name: &str) -> String {
        let file = self.file(name);
        fs::read_to_string(&file).unwrap_or_else(|error| panic!("{}: {error}", file.display()))
    }

    /// Submits it, with a script around the program where one is given: it finds the program as `$PROGRAM`, and is started
    /// in the job's folder.
    pub fn submit(&self, bed: &Bed, around: Option<&str>) -> Submitted {
        let mut command = bed.command("bash");
        command.arg(self.file("submit.sh")).current_dir(self.above.path());
        command.env("PROGRAM", program()).env("BREATHROOM", program());
        if let Some(around) = around {
            use std::os::unix::fs::PermissionsExt as _;
            let script = self.above.path().join("around.sh");
            fs::write(&script, around).expect("written");
            fs::set_permissions(&script, fs::Permissions::from_mode(0o755)).expect("made a program");
            command.env("BREATHROOM", "./around.sh");
        }
        let said = out(&command.output().expect("bash"));
        let number = |name: &str| {
            let line = said.lines().find_map(|line| line.strip_prefix(name));
            line.unwrap_or_else(|| panic!("no {name:?} in {said}")).to_owned()
        };
        Submitted {
            shards: number("shards: job "),
            merge: number("merge: job "),
        }
    }

    /// The results are those of the run on one machine: the same files with the same bytes.
    pub fn assert_results(&self) {
        let (here, there) = (files(&self.above.path().join("alone")), files(&self.file("results")));
        assert!(here.contains_key("summary.json") && here.contains_key("variations.csv"));
        assert_eq!(here.keys().collect::<Vec<_>>(), there.keys().collect::<Vec<_>>());
        for (name, bytes) in &here {
            assert!(bytes == &there[name], "{name} differs");
        }
    }
}

/// Every file of a folder by its name.
fn files(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let entries = fs::read_dir(folder).unwrap_or_else(|error| panic!("{}: {error}", folder.display()));
    let read = |entry: std::io::Result<fs::DirEntry>| {
        let entry = entry.expect("an entry");
        let name = entry.file_name().to_string_lossy().into_owned();
        (name, fs::read(entry.path()).expect("a file"))
    };
    entries.map(read).collect()
}

/// The program: as `BREATHROOM_BINARY` says, or as built beside these tests.
fn program() -> PathBuf {
    if let Some(named) = std::env::var_os("BREATHROOM_BINARY") {
        return PathBuf::from(named)
            .canonicalize()
            .expect("BREATHROOM_BINARY names a file");
    }
    let own = std::env::current_exe().expect("the path of this test");
    let profile = own.parent().and_then(Path::parent).expect("target, profile, deps");
    let beside = profile.join("breathroom");
    assert!(
        beside.is_file(),
        "{} is not there: build it (cargo build), or say in BREATHROOM_BINARY where it is",
        beside.display()
    );
    beside
}

//! The cluster of `bed.sh`, for the length of a test.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::thread::sleep;
use std::time::{Duration, Instant};

/// Most that anything here is waited for.
const PATIENCE: Duration = Duration::from_secs(90);
/// How often is looked.
const LOOK_EVERY: Duration = Duration::from_millis(100);

/// A cluster of two virtual nodes of one processor each, `n1` and `n2`.
pub struct Bed {
    folder: PathBuf,
}

impl Bed {
    /// Starts it.
    ///
    /// # Panics
    /// If it does not come up; what its daemons said is shown.
    #[must_use]
    pub fn start() -> Self {
        let owner = std::process::id().to_string();
        let said = Command::new(script()).args(["start", &owner]).output().expect("bed.sh");
        Self {
            folder: PathBuf::from(out(&said).trim_end()),
        }
    }

    /// A command that talks to this cluster and no other.
    pub fn command(&self, program: impl AsRef<std::ffi::OsStr>) -> Command {
        let mut command = Command::new(program);
        for (name, _) in std::env::vars_os() {
            let name = name.to_string_lossy();
            if ["SLURM_", "SBATCH_", "SQUEUE_", "SINFO_"]
                .iter()
                .any(|own| name.starts_with(own))
            {
                command.env_remove(&*name);
            }
        }
        command.env("SLURM_CONF", self.folder.join("slurm.conf"));
        command
    }

    /// A node dies, with all that runs on it; the cluster finds out by itself.
    pub fn kill_node(&self, node: &str) {
        let said = Command::new(script()).arg("kill").arg(&self.folder).arg(node).output();
        out(&said.expect("bed.sh"));
    }

    /// What a command of Slurm prints.
    pub fn ask(&self, words: &[&str]) -> String {
        out(&self.command(words[0]).args(&words[1..]).output().expect(words[0]))
    }

    /// Waits until something is so.
    ///
    /// # Panics
    /// If it is not in time; the queue and the last words of the controller are shown.
    pub fn wait_until(&self, what: &str, is_so: impl Fn() -> bool) {
        let begun = Instant::now();
        while !is_so() {
            if begun.elapsed() > PATIENCE {
                let log = std::fs::read_to_string(self.folder.join("slurmctld.log")).unwrap_or_default();
                let from = log.len().saturating_sub(4000);
                let log = String::from_utf8_lossy(&log.as_bytes()[from..]).into_owned();
                let queue = self.ask(&["squeue", "--array"]);
                panic!("waited in vain until {what}\n{queue}\n{}\n{log}", self.ask(&["sinfo"]));
            }
            sleep(LOOK_EVERY);
        }
    }

    /// Waits until a job has ended; says how: its state and exit code, as in `COMPLETED 0:0`.
    pub fn end_of(&self, job: &str) -> String {
        let about = || self.ask(&["scontrol", "--oneliner", "show", "job", job]);
        let state = || field(&about(), "JobState");
        self.wait_until(&format!("job {job} has ended"), || {
            !["PENDING", "CONFIGURING", "RUNNING", "COMPLETING", "REQUEUED"].contains(&&*state())
        });
        format!("{} {}", state(), field(&about(), "ExitCode"))
    }
}

impl Drop for Bed {
    fn drop(&mut self) {
        // Were it not to end now, the script's watcher would end it with this process.
        let _its_watcher_will = Command::new(script()).arg("stop").arg(&self.folder).status();
    }
}

/// The value of a field of `scontrol show`.
pub fn field(about: &str, name: &str) -> String {
    let given = about
        .split_whitespace()
        .find_map(|part| part.strip_prefix(name)?.strip_prefix('='));
    given.unwrap_or_default().to_owned()
}

/// Standard output of a command that went well.
pub fn out(output: &Output) -> String {
    assert!(
        output.status.success(),
        "{}\n{}{}",
        output.status,
        String::from_utf8_lossy(&output.stdout),
        String::from_utf8_lossy(&output.stderr)
    );
    String::from_utf8_lossy(&output.stdout).into_owned()
}

fn script() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("slurm/bed.sh")
}

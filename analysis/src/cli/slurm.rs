//! `vary --slurm`: the folder of a job for a cluster, written for its user to submit. Nothing is run.

use std::path::{Path, PathBuf};

use super::console::{Console, Ended};
use super::job::ScenarioJob;
use super::{Code, scenario_file};
use crate::chance::Design;
use crate::results::{ClusterJob, FolderError, Target, quoted, text, words, write_cluster_files};
use crate::study::{self, Gate, VaryJob};

/// Where the folder goes, and how many tasks there are.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SlurmJob {
    /// The folder to write; it must not exist yet.
    pub folder: PathBuf,
    /// Number of shards.
    pub shards: u64,
}

/// Writes the folder.
///
/// # Errors
/// If the scenario is wrong, a file of it cannot be copied, or the folder is there or cannot be written.
pub fn slurm(job: &ScenarioJob, vary: &VaryJob, slurm: &SlurmJob, console: &mut Console<'_>) -> Result<Code, Ended> {
    let read = scenario_file::read(job, console)?;
    // What its design cannot have is told now, and not by every task.
    study::draws(&read.scenario, vary.seed, vary.design, vary.runs)?;
    let Some(name) = job.file.file_name().and_then(|name| name.to_str()) else {
        return Err(Ended::Wrong(format!(
            "the name of `{}` is not Unicode, so that no script can say it: copy the scenario to another name",
            job.file.display()
        )));
    };
    let target = Target::named(&slurm.folder, false).map_err(|error| there(error, &slurm.folder))?;
    let (arguments, merged) = (told(vary, &job.overrides), judged(vary.gate));
    let files = ClusterJob {
        name,
        scenario: &read.content,
        data: &read.scenario.data_files,
        arguments: &arguments,
        merged: &merged,
        shards: slurm.shards,
        // A processor to a task, unless asked otherwise: more tasks share better than more threads.
        threads: u16::try_from(vary.threads).unwrap_or(u16::MAX).max(1),
    };
    let files = files.files().map_err(Ended::Wrong)?;
    let folder = target.publish(|folder| write_cluster_files(&files, folder), || console.stopped())?;
    if !job.output.quiet {
        let shards = words::count(usize::try_from(slurm.shards).unwrap_or(usize::MAX), "shard");
        let wrote = format!(
            "Wrote {}: {shards}, and a merge that waits for them. Leave it where the nodes see it, or copy it there; say in \
             its two .sbatch files what your cluster asks for; then submit it:",
            folder.display()
        );
        let script = folder.join("submit.sh").display().to_string();
        console.say(&format!("{}\n\n    bash {}\n", text::wrap(&wrote), quoted(&script)))?;
    }
    Ok(Code::Done)
}

/// A folder that is there may hold parts, so that no option replaces it.
fn there(error: FolderError, folder: &Path) -> Ended {
    match error {
        FolderError::Exists(_) => Ended::Wrong(format!(
            "`{}` is already there, perhaps with parts in it; name another, or remove it",
            folder.display()
        )),
        other => other.into(),
    }
}

/// What each task is told of the job: every field is named, so that one more cannot be left out by mistake.
fn told(vary: &VaryJob, overrides: &[String]) -> Vec<String> {
    let VaryJob {
        runs,
        seed,
        design,
        threads: _, // the script's own
        gate: _,    // the merge's
    } = vary;
    let mut words = vec![format!("--runs={runs}"), format!("--seed={seed}")];
    if *design != Design::Plain {
        words.push(format!("--design={}", design.name()));
    }
    words.extend(overrides.iter().map(|given| format!("--set={given}")));
    words
}

/// What the merge is told: the gate belongs to whoever sees all variations.
fn judged(gate: Gate) -> Vec<String> {
    if gate == Gate::USUAL {
        Vec::new()
    } else {
        let (coverage, confidence) = (percent(gate.coverage()), percent(gate.confidence()));
        vec![format!("--gate={coverage}/{confidence}")]
    }
}

/// A share in percent, by a decimal shift in its text, so that it is read back as the same bits.
fn percent(share: f64) -> String {
    let text = share.to_string();
    let digits = format!("{:0<2}", text.strip_prefix("0.").unwrap_or(&text));
    let (whole, part) = digits.split_at(2);
    let whole = match whole.trim_start_matches('0') {
        "" => "0",
        whole => whole,
    };
    if part.is_empty() {
        whole.to_owned()
    } else {
        format!("{whole}.{part}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_share_in_percent_is_read_back_as_the_same() {
        for (share, text) in [
            (0.95, "95"),
            (0.9, "90"),
            (0.999, "99.9"),
            (0.05, "5"),
            (0.001, "0.1"),
            (1e-9, "0.0000001"),
        ] {
            assert_eq!(percent(share), text);
            // As the command line reads it.
            assert_eq!(format!("{text}e-2").parse(), Ok(share));
        }
    }

    #[test]
    fn tasks_are_told_the_job_and_the_merge_the_gate() {
        let vary = VaryJob {
            runs: 5000,
            seed: 3,
            design: Design::Plain,
            threads: 0,
            gate: Gate::new(0.999, 0.9).expect("a gate"),
        };
        assert_eq!(
            told(&vary, &["a.b=\"1 kg\"".to_owned()]),
            ["--runs=5000", "--seed=3", "--set=a.b=\"1 kg\""]
        );
        let sobol = VaryJob {
            design: Design::Sobol,
            ..vary
        };
        assert_eq!(told(&sobol, &[]), ["--runs=5000", "--seed=3", "--design=sobol"]);
        assert_eq!(judged(vary.gate), ["--gate=99.9/90"]);
        assert!(judged(Gate::USUAL).is_empty());
    }
}

//! The folder of a job for a cluster: the scenario with its data, and the scripts by which Slurm runs its shards and joins
//! their parts.
//!
//! The folder stands for itself: every path in it is relative to it, so that it can be copied to where it is submitted, and
//! names nothing of the machine that wrote it. The one thing that it needs is the program, by its name or as the variable
//! `BREATHROOM` says when it is submitted.
//!
//! The merge waits until every shard has ended, however it ended (`afterany`): it then gives the results, or names the parts
//! that are missing. Had it to wait until all have ended well (`afterok`), one shard that fails would leave no word of it.

use std::fs;
use std::io::Write as _;
use std::path::{Component, Path};

use super::folder::FolderError;

/// Folder of the scenario and its data.
const SCENARIO: &str = "scenario";
/// Folder for each level that a data file lies above the scenario.
const BELOW: &str = "below";

/// A job as it is handed to a cluster.
#[derive(Clone, Copy, Debug)]
pub struct ClusterJob<'a> {
    /// File name of the scenario, without folders.
    pub name: &'a str,
    /// Its bytes.
    pub scenario: &'a [u8],
    /// The data files that it names: as it names them, with their bytes.
    pub data: &'a [(String, Vec<u8>)],
    /// What `vary` is to be told besides the scenario, the shard and where the part goes: `--runs=10000` ...
    pub arguments: &'a [String],
    /// What `merge` is to be told besides the parts and where the results go.
    pub merged: &'a [String],
    /// Number of shards: tasks of the array.
    pub shards: u64,
    /// Threads of each, and so the processors that it asks for.
    pub threads: u16,
}

/// A file of the folder: its path in it, with `/`, and its bytes.
pub type ClusterFile = (String, Vec<u8>);

impl ClusterJob<'_> {
    /// Every file of the folder.
    ///
    /// # Errors
    /// If a data file is named in a way that would mean another file elsewhere, with what would be right.
    pub fn files(&self) -> Result<Vec<ClusterFile>, String> {
        let mut places = Vec::new();
        for (name, _) in self.data {
            places.push(place(name)?);
        }
        // As deep as the highest data file asks, so that `../times.csv` is found beside, and inside the folder.
        let levels = places.iter().map(|(up, _)| *up).max().unwrap_or(0);
        let home = |up: usize| {
            let mut folders = vec![SCENARIO];
            folders.extend(std::iter::repeat_n(BELOW, levels - up));
            folders.join("/")
        };
        let scenario = format!("{}/{}", home(0), self.name);
        let mut files = vec![
            ("submit.sh".to_owned(), self.submit().into_bytes()),
            ("shards.sbatch".to_owned(), self.array(&scenario).into_bytes()),
            ("merge.sbatch".to_owned(), self.merge().into_bytes()),
            (scenario, self.scenario.to_vec()),
        ];
        for ((up, below), (_, bytes)) in places.into_iter().zip(self.data) {
            let path = format!("{}/{below}", home(up));
            if !files.iter().any(|(known, _)| *known == path) {
                files.push((path, bytes.clone()));
            }
        }
        Ok(files)
    }

    /// The array: a shard to a task.
    fn array(&self, scenario: &str) -> String {
        let (shards, threads) = (self.shards, self.threads);
        let words = lines(self.arguments);
        format!(
            "#!/usr/bin/env bash
# One shard of {shards} to each task of the array; submit.sh submits it.
#SBATCH --job-name=breathroom-shards
#SBATCH --array=1-{shards}
#SBATCH --nodes=1
#SBATCH --ntasks=1
#SBATCH --cpus-per-task={threads}
#SBATCH --output=logs/shard-%a.txt
#SBATCH --open-mode=append
# A task whose node fails goes back into the queue, and goes on where it was.
#SBATCH --requeue
{YOURS}set -euo pipefail
echo \"shard $SLURM_ARRAY_TASK_ID of {shards} on ${{SLURMD_NODENAME:-?}}, start $((${{SLURM_RESTART_COUNT:-0}} + 1))\"
exec \"${{BREATHROOM:-breathroom}}\" vary {scenario} \\
{words}    --threads={threads} \\
    --shard=\"$SLURM_ARRAY_TASK_ID/{shards}\" \\
    --resume \\
    --quiet \\
    --out=\"parts/shard-$SLURM_ARRAY_TASK_ID\"
",
            scenario = quoted(scenario)
        )
    }

    /// What waits for the array and joins its parts.
    fn merge(&self) -> String {
        format!(
            "#!/usr/bin/env bash
# Joins the parts of the {shards} shards, or names those that are missing; submit.sh submits it.
#SBATCH --job-name=breathroom-merge
#SBATCH --nodes=1
#SBATCH --ntasks=1
#SBATCH --cpus-per-task=1
#SBATCH --output=logs/merge.txt
#SBATCH --open-mode=append
#SBATCH --requeue
{YOURS}set -euo pipefail
shopt -s extglob nullglob
echo \"merge, job ${{SLURM_JOB_ID:-?}}\"
# Those that are whole: what a shard still works on has an ending.
parts=(parts/shard-+([0-9]))
if [ \"${{#parts[@]}}\" -eq 0 ]; then
    echo \"error: none of the {shards} parts is there; logs/ says why\" >&2
    exit 1
fi
# The same job gives the same bytes, so results that are there already may be written anew.
exec \"${{BREATHROOM:-breathroom}}\" merge \"${{parts[@]}}\" \\
{words}    --threads=1 \\
    --out=results \\
    --force
",
            shards = self.shards,
            words = lines(self.merged)
        )
    }

    /// What the user starts.
    fn submit(&self) -> String {
        format!(
            "#!/usr/bin/env bash
# Submits the {shards} shards and the merge that waits for them; results/ is there when the merge has ended. Once both jobs
# have ended it may be started again: shards that are done are not run anew, others go on where they were.
#
# BREATHROOM is the program, if it is not `breathroom` on the PATH: it must be there on every node.
set -euo pipefail
program=${{BREATHROOM:-breathroom}}
if ! BREATHROOM=$(command -v -- \"$program\"); then
    echo \"error: there is no program \\`$program\\` here; set BREATHROOM to its path\" >&2
    exit 1
fi
case $BREATHROOM in
/*) ;;
*) BREATHROOM=$PWD/$BREATHROOM ;;
esac
export BREATHROOM
cd -- \"$(dirname -- \"$0\")\"
mkdir -p logs parts
shards=$(sbatch --parsable --export=ALL shards.sbatch)
shards=${{shards%%;*}}
merge=$(sbatch --parsable --export=ALL --dependency=\"afterany:$shards\" merge.sbatch)
merge=${{merge%%;*}}
echo \"shards: job $shards\"
echo \"merge: job $merge\"
",
            shards = self.shards
        )
    }
}

/// What a cluster may ask for and only its user knows.
const YOURS: &str = "# Yours to say: take one # away where your cluster asks for it.
##SBATCH --time=02:00:00
##SBATCH --mem-per-cpu=500M
##SBATCH --partition=NAME
##SBATCH --account=NAME
";

/// Writes the files into a folder that has none of them.
///
/// # Errors
/// If one cannot be written, with its name and why.
pub fn write_cluster_files(files: &[ClusterFile], folder: &Path) -> Result<(), FolderError> {
    let failed = |doing, path: &Path, error| FolderError::Io {
        doing,
        path: path.to_owned(),
        error,
    };
    for (path, bytes) in files {
        let file = folder.join(path);
        if let Some(parent) = file.parent() {
            fs::create_dir_all(parent).map_err(|error| failed("make the folder", parent, error))?;
        }
        let write = || fs::File::create_new(&file)?.write_all(bytes);
        write().map_err(|error| failed("write", Path::new(path), error))?;
    }
    Ok(())
}

/// How many levels above the scenario's folder a data file lies, and its path from there.
fn place(name: &str) -> Result<(usize, String), String> {
    let refused = |why: &str| {
        Err(format!(
            "the data file `{name}` cannot be copied with the job: {why}; name it by its path from the scenario's folder, \
             `..` only in front"
        ))
    };
    let (mut up, mut parts) = (0, Vec::new());
    for component in Path::new(name).components() {
        match component {
            Component::CurDir => {}
            Component::ParentDir if parts.is_empty() => up += 1,
            // What `a/..` is depends on what `a` is: it may be a link.
            Component::ParentDir => return refused("`..` stands after a folder"),
            Component::Prefix(_) | Component::RootDir => return refused("its path begins at the root of this machine"),
            Component::Normal(part) => parts.push(part.to_string_lossy().into_owned()),
        }
    }
    Ok((up, parts.join("/")))
}

/// Words of a command, each on a line that goes on.
fn lines(words: &[String]) -> String {
    words.iter().map(|word| format!("    {} \\\n", quoted(word))).collect()
}

/// A word as a shell reads it: as it stands, whatever is in it.
#[must_use]
pub fn quoted(word: &str) -> String {
    let plain = |c: char| c.is_ascii_alphanumeric() || "-_=+./,:@%".contains(c);
    if !word.is_empty() && word.chars().all(plain) {
        word.to_owned()
    } else {
        format!("'{}'", word.replace('\'', r"'\''"))
    }
}

#[cfg(test)]
mod tests;

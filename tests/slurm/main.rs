//! Jobs on a cluster: what `vary --slurm` writes, run by a real Slurm with two nodes that are both this machine.
//!
//! `.ci/run` runs these. By hand:
//!
//! ```text
//! tests/slurm/bed.sh install
//! cargo build --release
//! BREATHROOM_BINARY=$PWD/target/release/breathroom cargo test -p breathroom-tests --features slurm --test slurm
//! ```
//!
//! Every test has a cluster of its own. What they share is that the answer is known: the bytes of the same job run by one
//! process.

#![cfg(unix)]

mod bed;
mod job;

use std::ffi::OsString;
use std::fs;
use std::os::unix::fs::MetadataExt as _;
use std::path::Path;

use bed::{Bed, field};
use job::{Job, SHARDS, Submitted};

/// Around the program: of the tasks that come to node n2 the first is held in the middle of its run, when variations of its
/// share are kept. `held/now` then says which it is.
const HELD: &str = r#"#!/bin/bash
if [ "${SLURM_ARRAY_TASK_ID-}" = "" ] || [ "$SLURMD_NODENAME" != n2 ] || ! mkdir held 2>/dev/null; then
    exec "$PROGRAM" "$@"
fi
"$PROGRAM" "$@" &
until [ -n "$(find parts -path "*shard-$SLURM_ARRAY_TASK_ID.unfinished*" -name "*.block" -size +0)" ]; do
    kill -0 $! || exit 9
    sleep 0.01
done
kill -STOP $! || exit 9
echo "$SLURM_ARRAY_TASK_ID" >held/then && mv held/then held/now
wait $!
"#;

/// Around the program: shard 2 fails until there is a file `mended`.
const FAILS: &str = r#"#!/bin/sh
if [ "${SLURM_ARRAY_TASK_ID-}" = 2 ] && ! [ -e mended ]; then
    echo "the disk of this node is full" >&2
    exit 1
fi
echo called >>"calls-${SLURM_ARRAY_TASK_ID-merge}"
exec "$PROGRAM" "$@"
"#;

/// The merge has ended well, with the results of one run.
fn assert_merged(job: &Job, bed: &Bed, submitted: &Submitted) {
    assert_eq!(
        bed.end_of(&submitted.merge),
        "COMPLETED 0:0",
        "{}",
        job.text("logs/merge.txt")
    );
    job.assert_results();
}

#[test]
fn an_array_and_its_merge_give_the_bytes_of_one_run() {
    let job = Job::new();
    let bed = Bed::start();
    let submitted = job.submit(&bed, None);
    assert_merged(&job, &bed, &submitted);
    for shard in 1..=SHARDS {
        let said = job.text(&format!("logs/shard-{shard}.txt"));
        assert!(said.starts_with(&format!("shard {shard} of {SHARDS} on n")), "{said}");
        assert_eq!(said.lines().count(), 1, "nothing else to say: {said}");
    }
}

#[test]
fn a_node_that_dies_in_mid_run_changes_no_byte() {
    let job = Job::new();
    let bed = Bed::start();
    let submitted = job.submit(&bed, Some(HELD));
    bed.wait_until("a task of n2 is in the middle of its run", || {
        job.file("held/now").exists()
    });
    let shard = job.text("held/now").trim().to_owned();
    let task = format!("{}_{shard}", submitted.shards);
    let about = || bed.ask(&["scontrol", "--oneliner", "show", "job", &task]);
    assert_eq!(field(&about(), "JobState"), "RUNNING");
    assert_eq!(field(&about(), "NodeList"), "n2");
    let part = format!("parts/shard-{shard}");
    assert!(!job.file(&part).exists(), "its part is whole already");
    let before = first_block(&job.file(&format!("{part}.unfinished/blocks")));
    bed.kill_node("n2");
    assert_eq!(
        bed.end_of(&submitted.merge),
        "COMPLETED 0:0",
        "{}",
        job.text("logs/merge.txt")
    );
    assert_eq!(field(&about(), "Restarts"), "1");
    assert_eq!(field(&about(), "NodeList"), "n1", "n2 is dead");
    let said = job.text(&format!("logs/shard-{shard}.txt"));
    for start in ["on n2, start 1\n", "on n1, start 2\n"] {
        assert!(said.contains(start), "{said}");
    }
    let after = first_block(&job.file(&format!("{part}/blocks")));
    assert_eq!(before, after, "went on in the same files");
    job.assert_results();
}

/// The first file of a folder by name: its name and its number in the file system, which another file cannot have while this
/// one is there.
fn first_block(folder: &Path) -> (OsString, u64) {
    let entries = fs::read_dir(folder).unwrap_or_else(|error| panic!("{}: {error}", folder.display()));
    let file = |entry: std::io::Result<fs::DirEntry>| {
        let entry = entry.expect("an entry");
        (entry.file_name(), entry.metadata().expect("what it is").ino())
    };
    entries.map(file).min().expect("a block")
}

#[test]
fn a_part_that_is_missing_is_named_and_submitting_again_makes_it() {
    let job = Job::new();
    let bed = Bed::start();
    let submitted = job.submit(&bed, Some(FAILS));
    assert_eq!(bed.end_of(&submitted.merge), "FAILED 1:0");
    let said = job.text("logs/merge.txt");
    assert!(
        said.contains("parts are missing") && said.contains("--shard 2/4"),
        "{said}"
    );
    assert!(!job.file("results").exists(), "no results of three parts");
    assert!(job.text("logs/shard-2.txt").contains("the disk of this node is full"));
    fs::write(job.file("mended"), "").expect("written");
    let submitted = job.submit(&bed, Some(FAILS));
    assert_merged(&job, &bed, &submitted);
    assert_eq!(
        job.text("calls-1").lines().count(),
        2,
        "asked again, though it had nothing to do"
    );
}

//! A study in parts: any threads, any split, any order of parts, with or without a kill in between give the same bytes; and
//! what does not fit together is refused with a word that says why.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};

use breathroom_analysis::results::parts::{Family, Found, JobRecord, PartError, Work};
use breathroom_analysis::results::sha256_hex;
use breathroom_analysis::study::{Running, Shape, VaryJob, draws, pool, stream};
use breathroom_sim::scenario::{self, Scenario};

use crate::calls::{Place, ROOM, Said, call, names, same, set};

/// Three blocks, the last of them short.
const RUNS: &str = "2100";

/// A room in which nothing much happens for half an hour, so that thousands of variations are quick.
pub fn short() -> String {
    ROOM.replace("duration = \"6 h\"", "duration = \"30 min\"").replace(
        "{ lognormal = [\"4 h\", \"20 %\"] }",
        "{ lognormal = [\"10 min\", \"20 %\"] }",
    )
}

/// A place with the whole study in `one`.
fn with_one() -> (Place, String) {
    let place = Place::new();
    let file = place.file("room.toml", short());
    let said = place.job("vary", &file, "one", &["--runs", RUNS, "--threads", "2"]);
    assert_eq!(said.code, 0, "{}", said.err);
    (place, file)
}

fn shard(place: &Place, file: &str, share: &str, out: &str, more: &[&str]) -> Said {
    place.job("vary", file, out, &[&["--runs", RUNS, "--shard", share], more].concat())
}

fn merge(place: &Place, parts: &[&str], out: &str) -> Said {
    let parts: Vec<String> = parts.iter().map(|part| place.word(part)).collect();
    let mut words = vec!["merge".to_owned()];
    words.extend(parts);
    words.extend(["--out".to_owned(), place.word(out)]);
    call(&words)
}

/// A work folder as a kill leaves it: made by the library, and stopped after `most` variations.
pub fn killed(place: &Place, out: &str, most: u64) -> PathBuf {
    let text = short();
    let source = scenario::Source {
        name: "room.toml",
        text: &text,
        overrides: &[],
        files: &|_| Err("no data".to_owned()),
    };
    let scenario: Scenario = scenario::read(&source).expect("a scenario");
    let job = VaryJob {
        runs: RUNS.parse().expect("a number"),
        threads: 2,
        ..VaryJob::default()
    };
    let record = JobRecord::new(&scenario, ("room.toml", text.as_bytes()), &[], &job);
    let family = Family::new(record, Shape::of(&scenario));
    let target = place.path(out);
    assert!(matches!(Work::find(&target, &family, None), Ok(Found::Nothing)));
    let mut work = Work::new(&target, family, None, &[text.as_bytes()]).expect("a folder");
    let (stop, done) = (AtomicBool::new(false), AtomicU64::new(0));
    let running = Running {
        pool: &pool(2).expect("threads"),
        progress: &|_| {
            if done.fetch_add(1, Ordering::Relaxed) + 1 >= most {
                stop.store(true, Ordering::Relaxed);
            }
        },
        stop: &stop,
        traced: true,
        words: &|error| format!("{error:?}"),
    };
    let draws = draws(&scenario, job.seed, job.design, job.runs).expect("draws");
    let missing = work.missing(&(0..job.runs)).expect("read");
    let ended = stream(&scenario, &draws, &missing, &running, |piece| work.keep(piece));
    assert!(matches!(ended, Err(PartError::Stopped)));
    work.path().to_owned()
}

#[test]
fn threads_shards_order_overlap_and_resume_change_no_byte() {
    let (place, file) = with_one();
    let files = [
        "summary.json",
        "summary.md",
        "variations.csv",
        "fans.csv",
        "worst.csv",
        "inputs.csv",
        "convergence.csv",
        "distribution.csv",
        "survival.csv",
        "report.html",
        "datapackage.json",
    ];
    assert_eq!(names(&place.path("one")), set(&files));
    place.job("vary", &file, "threads", &["--runs", RUNS, "--threads", "3"]);
    same(&place.path("one"), &place.path("threads"));
    // Three shares of three blocks, and two of which one has two blocks.
    for (share, out, more) in [
        ("1/3", "a", &["--threads", "1"][..]),
        ("2/3", "b", &[]),
        ("3/3", "c", &["--quiet"]),
        ("2/2", "d", &[]),
        ("1/1", "all", &[]),
    ] {
        let said = shard(&place, &file, share, out, more);
        assert_eq!((said.code, said.err.as_str()), (0, ""), "{share}");
        assert_eq!(said.out.is_empty(), more.contains(&"--quiet"), "{}", said.out);
    }
    for (index, parts) in [
        &["c", "a", "b"][..],
        &["a", "d"],
        &["d", "b", "a", "all", "c"],
        &["all"],
    ]
    .into_iter()
    .enumerate()
    {
        let out = format!("merged-{index}");
        let said = merge(&place, parts, &out);
        assert_eq!(said.code, 0, "{parts:?}: {}", said.err);
        assert!(said.out.contains("is met in 95 %"), "{}", said.out);
        same(&place.path("one"), &place.path(&out));
    }
    // Killed three times, each time further on: in the first block, between blocks, near the end.
    for (index, most) in [100, 1_024, 2_050].into_iter().enumerate() {
        let out = format!("resumed-{index}");
        let left = killed(&place, &out, most);
        assert_eq!(left, place.path(&format!("{out}.unfinished")));
        let said = place.job("vary", &file, &out, &["--runs", RUNS, "--resume"]);
        assert_eq!((said.code, said.err.as_str()), (0, ""));
        same(&place.path("one"), &place.path(&out));
        assert!(!left.exists(), "the work is done");
    }
}

#[test]
fn what_a_kill_left_half_written_is_made_again() {
    let (place, file) = with_one();
    for (index, harm) in [cut, flip, foreign].into_iter().enumerate() {
        let out = format!("resumed-{index}");
        let left = killed(&place, &out, 1_500);
        harm(&left.join("blocks/00000000.block"));
        harm(&left.join("blocks/00000001.block"));
        fs::write(left.join("blocks/letter.txt"), "not ours").expect("written");
        let said = place.job("vary", &file, &out, &["--runs", RUNS, "--resume"]);
        assert_eq!(said.code, 0, "{}", said.err);
        same(&place.path("one"), &place.path(&out));
    }
}

/// Takes the last bytes away.
fn cut(block: &Path) {
    let bytes = fs::read(block).expect("a block");
    fs::write(block, &bytes[..bytes.len() - 100]).expect("written");
}

/// Turns one bit in the middle over.
fn flip(block: &Path) {
    let mut bytes = fs::read(block).expect("a block");
    let middle = bytes.len() / 2;
    bytes[middle] ^= 1;
    fs::write(block, bytes).expect("written");
}

/// Makes it the block of another job.
fn foreign(block: &Path) {
    let mut bytes = fs::read(block).expect("a block");
    bytes[9] ^= 1;
    fs::write(block, bytes).expect("written");
}

#[test]
fn parts_that_do_not_fit_are_refused_and_told_apart() {
    let place = Place::new();
    let file = place.file("room.toml", short());
    assert_eq!(shard(&place, &file, "1/2", "a", &[]).code, 0);
    assert_eq!(shard(&place, &file, "2/2", "b", &[]).code, 0);
    let other = place.file("other.toml", short());
    fs::create_dir(place.path("changed")).expect("made");
    let changed = place.file("changed/room.toml", short().replace("75 kg", "76 kg"));
    for (file, out, more, what) in [
        (&file, "seed", &["--seed", "2"][..], "the seed differs: 1 in"),
        (
            &file,
            "set",
            &["--set", "crew.lead.mass=80 kg"],
            "the overrides differs: none in",
        ),
        (&other, "other", &[], "the scenario differs: room.toml in"),
        (&changed, "changed", &[], "the content of the scenario's files differs"),
    ] {
        let out = format!("part-{out}");
        assert_eq!(shard(&place, file, "2/2", &out, more).code, 0);
        let said = merge(&place, &["a", &out], "merged");
        assert_eq!(said.code, 1);
        assert!(said.err.contains(what) && said.err.contains(&out), "{}", said.err);
    }
    let said = place.job("vary", &file, "runs", &["--runs", "1500", "--shard", "2/2"]);
    assert_eq!(said.code, 0, "{}", said.err);
    let said = merge(&place, &["a", "runs"], "merged");
    assert!(
        said.code == 1 && said.err.contains("the number of runs differs: 2100 in"),
        "{}",
        said.err
    );

    // Another version and another design: as their job.json says.
    for (key, what) in [("version", "the version differs"), ("design", "the design differs")] {
        let out = place.path(key);
        copy(&place.path("b"), &out);
        let job = fs::read_to_string(out.join("job.json")).expect("a job");
        let mut job: serde_json::Value = serde_json::from_str(&job).expect("JSON");
        job[key] = "other".into();
        fs::write(out.join("job.json"), job.to_string()).expect("written");
        let said = merge(&place, &["a", key], "merged");
        assert!(said.code == 1 && said.err.contains(what), "{}", said.err);
        if key == "version" {
            let said = merge(&place, &[key], "merged");
            assert!(said.err.contains("was made by version other"), "{}", said.err);
        }
    }
    let said = merge(&place, &["a", "nothing-there"], "merged");
    assert!(
        said.code == 1 && said.err.contains("is not a part of a study"),
        "{}",
        said.err
    );
    assert!(!place.path("merged").exists());
}

#[test]
fn missing_damaged_and_contradicting_parts_are_named() {
    let place = Place::new();
    let file = place.file("room.toml", short());
    for share in ["1/3", "2/3", "3/3"] {
        assert_eq!(shard(&place, &file, share, &share.replace('/', "-"), &[]).code, 0);
    }
    let said = merge(&place, &["2-3"], "merged");
    assert_eq!(said.code, 1);
    assert_eq!(
        said.err,
        "error: parts are missing: variations 0 to 1023 (`--shard 1/3`), variations 2048 to 2099 (`--shard 3/3`)\n"
    );
    for (harm, what) in [
        (cut as fn(&Path), "is cut off in the middle of a record"),
        (flip, "is damaged"),
        (foreign, "does not belong to this job"),
    ] {
        let bad = place.path("bad");
        copy(&place.path("2-3"), &bad);
        harm(&bad.join("blocks/00000001.block"));
        let said = merge(&place, &["1-3", "bad", "3-3"], "merged");
        assert!(
            said.code == 1 && said.err.contains(what) && said.err.contains("00000001.block"),
            "{}",
            said.err
        );
        fs::remove_dir_all(bad).expect("removed");
    }
    // Whole records that say something else: a block of the same job from a program that computes otherwise.
    let bad = place.path("bad");
    copy(&place.path("2-3"), &bad);
    let block = bad.join("blocks/00000001.block");
    fs::copy(resealed(&place), &block).expect("copied");
    let said = merge(&place, &["1-3", "2-3", "3-3", "bad"], "merged");
    assert!(
        said.code == 1 && said.err.contains("hold different results for variations 1024 to 2047"),
        "{}",
        said.err
    );
    fs::remove_dir_all(bad).expect("removed");
    // A copy of the scenario that is not what was read.
    let bad = place.path("bad");
    copy(&place.path("1-3"), &bad);
    fs::write(bad.join("files/0"), ROOM).expect("written");
    let said = merge(&place, &["bad", "2-3", "3-3"], "merged");
    assert!(
        said.code == 1 && said.err.contains("is not the file that was read"),
        "{}",
        said.err
    );
    assert!(!place.path("merged").exists());
}

/// The second block with one number changed and its record sealed anew.
fn resealed(place: &Place) -> PathBuf {
    let mut bytes = fs::read(place.path("2-3/blocks/00000001.block")).expect("a block");
    // A head of 76 bytes; the first record's own head of 32 tells the length of the piece.
    let (from, length) = (76, |at: usize| {
        u64::from_le_bytes(bytes[at..at + 8].try_into().expect("8 bytes")) as usize
    });
    let to = from + 32 + length(from + 16) + length(from + 24);
    bytes[to - 1] ^= 1;
    let digest = sha256_hex(&bytes[from..to]);
    for (at, byte) in bytes[to..to + 32].iter_mut().enumerate() {
        *byte = u8::from_str_radix(&digest[2 * at..2 * at + 2], 16).expect("hexadecimal");
    }
    let path = place.path("resealed");
    fs::write(&path, bytes).expect("written");
    path
}

#[test]
fn what_is_left_is_told_and_only_gone_on_with_by_the_same_job() {
    let place = Place::new();
    let file = place.file("room.toml", short());
    let said = place.job("vary", &file, "out", &["--runs", "60", "--resume"]);
    assert!(said.code == 0 && said.err.contains("nothing to resume"), "{}", said.err);
    let left = killed(&place, "kept", 100);
    let said = place.job("vary", &file, "kept", &["--runs", RUNS, "--seed", "2", "--resume"]);
    assert_eq!(said.code, 1);
    assert!(
        said.err.contains("the seed differs: 1 in") && said.err.contains("2 asked for now"),
        "{}",
        said.err
    );
    assert!(left.is_dir());
    let said = place.job("vary", &file, "kept", &["--runs", "60", "--seed", "2"]);
    assert!(
        said.code == 0 && said.err.contains("--resume goes on with it"),
        "{}",
        said.err
    );
    assert!(left.is_dir() && place.path("kept").is_dir());
    let said = place.job("vary", &file, "kept", &["--runs", "60", "--seed", "2", "--force"]);
    assert_eq!((said.code, said.err.as_str()), (0, ""));
    assert!(!left.exists());
}

#[test]
fn a_part_is_replaced_only_by_force_and_not_run_again_where_it_is_whole() {
    let place = Place::new();
    let file = place.file("room.toml", short());
    assert_eq!(shard(&place, &file, "3/3", "part", &[]).code, 0);
    let files = ["job.json", "part.json", "files", "blocks"];
    assert_eq!(names(&place.path("part")), set(&files));
    let said = shard(&place, &file, "3/3", "part", &[]);
    assert!(said.code == 1 && said.err.contains("already there"), "{}", said.err);
    let said = shard(&place, &file, "3/3", "part", &["--resume"]);
    assert!(said.code == 0 && said.err.contains("is whole already"), "{}", said.err);
    assert_eq!(shard(&place, &file, "3/3", "part", &["--force"]).code, 0);
    // More shards than blocks: some have nothing to do, which is no fault.
    let said = shard(&place, &file, "1/7", "none", &[]);
    assert!(
        said.code == 0 && said.out.contains("no variations"),
        "{}{}",
        said.out,
        said.err
    );
    assert_eq!(place.names(), set(&["room.toml", "part", "none"]));
}

#[test]
fn failures_are_all_listed_also_of_parts() {
    let place = Place::new();
    let spread = "{ choice = [\"101.325 kPa\", \"60 kPa\"], weights = [3, 2] }";
    let file = place.file("hatch.toml", crate::calls::hatch(spread));
    let said = place.job("vary", &file, "one", &["--runs", "100"]);
    assert_eq!(said.code, 1, "{}", said.err);
    let failed = place.summary("one")["failed"].as_u64().expect("a count");
    assert!(failed > 10);
    let list = fs::read_to_string(place.path("one").join("failures.csv")).expect("a list");
    assert_eq!(list.lines().count() as u64, failed + 1);
    assert!(list.lines().skip(1).all(|line| line.contains("`door`")), "{list}");
    let said = place.job("vary", &file, "part", &["--runs", "100", "--shard", "1/1"]);
    assert_eq!(said.code, 0, "{}", said.err);
    assert_eq!(merge(&place, &["part"], "merged").code, 1);
    same(&place.path("one"), &place.path("merged"));
}

fn copy(from: &Path, to: &Path) {
    fs::create_dir(to).expect("made");
    for entry in fs::read_dir(from).expect("a folder") {
        let entry = entry.expect("an entry");
        let to = to.join(entry.file_name());
        if entry.path().is_dir() {
            copy(&entry.path(), &to);
        } else {
            fs::copy(entry.path(), to).expect("copied");
        }
    }
}

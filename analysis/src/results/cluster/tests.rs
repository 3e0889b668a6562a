//! The scripts as a shell reads them, with a program in place of the real one that says how it was called.

use std::path::Path;
use std::process::{Command, Output};

use super::*;

/// Says its arguments, one to a line.
const SAYS: &str = "#!/bin/sh\nprintf '<%s>\\n' \"$@\"\n";
/// A name that a shell would take apart.
const AWKWARD: &str = "it's $HOME \"x\" `y`; #1\n.toml";

fn job<'a>(name: &'a str, data: &'a [(String, Vec<u8>)], arguments: &'a [String]) -> ClusterJob<'a> {
    ClusterJob {
        name,
        scenario: b"format = 1\n",
        data,
        arguments,
        merged: &[],
        shards: 12,
        threads: 2,
    }
}

/// Writes the folder of a job, with what stands in for the program (and for `sbatch`) beside it.
fn written(job: &ClusterJob<'_>) -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    write_cluster_files(&job.files().expect("files"), folder.path()).expect("written");
    folder
}

#[cfg(unix)]
fn program(path: &Path, text: &str) {
    use std::os::unix::fs::PermissionsExt as _;
    fs::write(path, text).expect("written");
    fs::set_permissions(path, fs::Permissions::from_mode(0o755)).expect("made a program");
}

#[cfg(unix)]
fn bash(folder: &Path, words: &[&str], variables: &[(&str, &str)]) -> Output {
    let mut command = Command::new("bash");
    command.args(words).current_dir(folder).env_remove("BREATHROOM");
    command.envs(variables.iter().copied()).output().expect("bash")
}

fn lines(output: &Output) -> Vec<String> {
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8_lossy(&output.stdout)
        .lines()
        .map(str::to_owned)
        .collect()
}

#[cfg(unix)]
#[test]
fn a_task_runs_its_shard_whatever_the_names_are() {
    let arguments = [
        "--runs=100000".to_owned(),
        "--set=crew.lead.mass=\"80 kg\"".to_owned(),
        "--set=title=\"it's $(date) \\ *\"".to_owned(),
    ];
    let folder = written(&job(AWKWARD, &[], &arguments));
    program(&folder.path().join("says"), SAYS);
    let variables = [("SLURM_ARRAY_TASK_ID", "7"), ("BREATHROOM", "./says")];
    let said = bash(folder.path(), &["shards.sbatch"], &variables);
    let said = lines(&said).join("\n");
    let expected = format!(
        "shard 7 of 12 on ?, start 1\n<vary>\n<scenario/{AWKWARD}>\n<--runs=100000>\n<--set=crew.lead.mass=\"80 kg\">\n\
         <--set=title=\"it's $(date) \\ *\">\n<--threads=2>\n<--shard=7/12>\n<--resume>\n<--quiet>\n<--out=parts/shard-7>"
    );
    assert_eq!(said, expected);
    assert_eq!(
        fs::read(folder.path().join("scenario").join(AWKWARD)).expect("copied"),
        b"format = 1\n"
    );
}

#[cfg(unix)]
#[test]
fn the_merge_takes_the_parts_that_are_there() {
    let gate = ["--gate=99/90".to_owned()];
    let folder = written(&ClusterJob {
        merged: &gate,
        ..job("x.toml", &[], &[])
    });
    program(&folder.path().join("says"), SAYS);
    let variables = [("BREATHROOM", "./says")];
    let none = bash(folder.path(), &["merge.sbatch"], &variables);
    assert_eq!(none.status.code(), Some(1));
    assert!(String::from_utf8_lossy(&none.stderr).contains("none of the 12 parts is there"));
    for part in ["shard-1", "shard-12", "shard-3.unfinished"] {
        fs::create_dir_all(folder.path().join("parts").join(part)).expect("made");
    }
    assert_eq!(
        lines(&bash(folder.path(), &["merge.sbatch"], &variables)),
        [
            "merge, job ?",
            "<merge>",
            "<parts/shard-1>",
            "<parts/shard-12>",
            "<--gate=99/90>",
            "<--threads=1>",
            "<--out=results>",
            "<--force>"
        ]
    );
}

/// Submitted from elsewhere, with the program named by a path relative to there.
#[cfg(unix)]
#[test]
fn the_merge_depends_on_the_array() {
    let above = tempfile::tempdir().expect("a folder");
    let folder = above.path().join("a job's folder");
    write_cluster_files(&job("x.toml", &[], &[]).files().expect("files"), &folder).expect("written");
    program(&above.path().join("says"), SAYS);
    // Of a cluster among several: the number of the job, then the name of the cluster.
    let sbatch = "#!/bin/sh\necho \"$PWD: $* ($BREATHROOM)\" >>\"$LOG\"\necho \"41;there\"\n";
    fs::create_dir(above.path().join("bin")).expect("made");
    program(&above.path().join("bin/sbatch"), sbatch);
    let path = std::env::var("PATH").expect("a PATH");
    let path = format!("{}:{path}", above.path().join("bin").display());
    let log = above.path().join("log").display().to_string();
    let here = above.path().canonicalize().expect("a path").display().to_string();
    let variables = [("PATH", path.as_str()), ("LOG", log.as_str()), ("BREATHROOM", "./says")];
    let said = bash(Path::new(&here), &["a job's folder/submit.sh"], &variables);
    assert_eq!(lines(&said), ["shards: job 41", "merge: job 41"]);
    let calls = fs::read_to_string(&log).expect("calls");
    let with = format!("({here}/./says)");
    assert_eq!(
        calls,
        format!(
            "{here}/a job's folder: --parsable --export=ALL shards.sbatch {with}\n\
             {here}/a job's folder: --parsable --export=ALL --dependency=afterany:41 merge.sbatch {with}\n"
        )
    );
    assert!(
        folder.join("logs").is_dir(),
        "Slurm makes no folders for what tasks say"
    );
    let variables = [("PATH", path.as_str()), ("BREATHROOM", "not-there")];
    let said = bash(Path::new(&here), &["a job's folder/submit.sh"], &variables);
    assert_eq!(said.status.code(), Some(1));
    assert!(String::from_utf8_lossy(&said.stderr).contains("no program `not-there` here; set BREATHROOM"));
}

#[test]
fn slurm_is_asked_for_a_processor_to_each_thread() {
    let files = job("x.toml", &[], &[]).files().expect("files");
    let text = |name: &str| {
        let (_, bytes) = files.iter().find(|(path, _)| path == name).expect("there");
        String::from_utf8(bytes.clone()).expect("text")
    };
    let array = text("shards.sbatch");
    for line in [
        "#SBATCH --array=1-12",
        "#SBATCH --cpus-per-task=2",
        "#SBATCH --requeue",
        "#SBATCH --open-mode=append",
        "##SBATCH --time=02:00:00",
    ] {
        assert!(array.lines().any(|given| given == line), "{line}");
    }
    for name in ["shards.sbatch", "merge.sbatch"] {
        let text = text(name);
        let last = text.rfind("#SBATCH").expect("directives");
        // Slurm reads none after the first line that is not a comment.
        let head = &text[..last];
        assert!(head.lines().all(|line| line.starts_with('#')), "{name}");
    }
}

#[test]
fn data_files_lie_as_the_scenario_names_them() {
    let data = |names: &[&str]| -> Vec<(String, Vec<u8>)> {
        names
            .iter()
            .map(|name| ((*name).to_owned(), name.as_bytes().to_vec()))
            .collect()
    };
    let paths = |names: &[&str]| -> Result<Vec<String>, String> {
        let files = job("x.toml", &data(names), &[]).files()?;
        Ok(files.into_iter().skip(3).map(|(path, _)| path).collect())
    };
    assert_eq!(paths(&[]), Ok(vec!["scenario/x.toml".to_owned()]));
    assert_eq!(
        paths(&["times.csv", "./more/of.csv", "more/of.csv"]).expect("placed"),
        ["scenario/x.toml", "scenario/times.csv", "scenario/more/of.csv"]
    );
    assert_eq!(
        paths(&["../../a.csv", "../b/c.csv", "d.csv"]).expect("placed"),
        [
            "scenario/below/below/x.toml",
            "scenario/a.csv",
            "scenario/below/b/c.csv",
            "scenario/below/below/d.csv"
        ]
    );
    for (wrong, why) in [
        ("/data/a.csv", "root of this machine"),
        ("a/../b.csv", "after a folder"),
    ] {
        assert!(paths(&[wrong]).expect_err("refused").contains(why), "{wrong}");
    }
}

/// Each data file is found from where the scenario is, by the name that the scenario uses.
#[test]
fn the_scenario_finds_its_data_in_the_folder() {
    let data: Vec<(String, Vec<u8>)> = ["../../a.csv", "../b/c.csv", "d.csv"]
        .iter()
        .map(|name| ((*name).to_owned(), name.as_bytes().to_vec()))
        .collect();
    let folder = written(&job("x.toml", &data, &[]));
    let home = folder.path().join("scenario/below/below");
    for (name, bytes) in &data {
        assert_eq!(&fs::read(home.join(name)).expect("found"), bytes, "{name}");
    }
}

#[test]
fn a_word_is_quoted_only_where_it_must_be() {
    assert_eq!(quoted("--runs=10000"), "--runs=10000");
    assert_eq!(quoted(""), "''");
    assert_eq!(quoted("a b"), "'a b'");
    assert_eq!(quoted("it's"), r"'it'\''s'");
    assert_eq!(quoted("~"), "'~'");
}

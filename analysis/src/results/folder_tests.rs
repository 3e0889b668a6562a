//! Folders that appear whole or not at all, and what is left alone.

use super::*;

fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = fs::read_dir(folder)
        .expect("a folder")
        .map(|entry| entry.expect("an entry").file_name().to_string_lossy().into_owned())
        .collect();
    names.sort();
    names
}

fn fill(text: &'static str) -> impl FnOnce(&Path) -> Result<(), FolderError> {
    move |folder| {
        fs::write(folder.join(MARK), text).expect("written");
        Ok(())
    }
}

fn broken(_: &Path) -> Result<(), FolderError> {
    let error = io::ErrorKind::StorageFull.into();
    Err(FolderError::Io {
        doing: "write",
        path: PathBuf::from("history.csv"),
        error,
    })
}

#[test]
fn default_folders_are_numbered() {
    let base = tempfile::tempdir().expect("a folder");
    let parent = base.path().join("results");
    for expected in ["week-run", "week-run-2", "week-run-3"] {
        let target = Target::numbered(&parent, "week-run").expect("a target");
        assert_eq!(
            target.publish(fill("x"), || false).expect("placed"),
            parent.join(expected)
        );
    }
    assert_eq!(names(&parent), ["week-run", "week-run-2", "week-run-3"]);
}

#[test]
fn a_named_folder_that_exists_is_refused_and_force_replaces_it() {
    let base = tempfile::tempdir().expect("a folder");
    let out = base.path().join("out");
    Target::named(&out, false)
        .expect("free")
        .publish(fill("old"), || false)
        .expect("placed");
    assert!(matches!(Target::named(&out, false), Err(FolderError::Exists(_))));
    Target::named(&out, true)
        .expect("forced")
        .publish(fill("new"), || false)
        .expect("placed");
    assert_eq!(fs::read_to_string(out.join(MARK)).expect("text"), "new");
    assert_eq!(names(base.path()), ["out"]);
}

#[test]
fn force_leaves_alone_what_is_not_a_results_folder() {
    let base = tempfile::tempdir().expect("a folder");
    fs::write(base.path().join("letter.txt"), "dear").expect("written");
    assert!(matches!(
        Target::named(base.path(), true),
        Err(FolderError::NotResults(_))
    ));
    assert!(matches!(
        Target::named(&base.path().join("letter.txt"), true),
        Err(FolderError::NotResults(_))
    ));
    assert!(matches!(
        Target::named(Path::new(".."), true),
        Err(FolderError::NoName(_))
    ));
    assert_eq!(names(base.path()), ["letter.txt"]);
}

#[test]
fn a_failure_or_a_stop_leaves_nothing_and_harms_no_earlier_result() {
    let base = tempfile::tempdir().expect("a folder");
    let out = base.path().join("out");
    Target::named(&out, false)
        .expect("free")
        .publish(fill("old"), || false)
        .expect("placed");
    let text = Target::named(&out, true)
        .expect("forced")
        .publish(broken, || false)
        .expect_err("full")
        .to_string();
    assert_eq!(text, "cannot write `history.csv`: the disk is full");
    assert!(matches!(
        Target::named(&out, true).expect("forced").publish(fill("new"), || true),
        Err(FolderError::Stopped)
    ));
    assert_eq!(fs::read_to_string(out.join(MARK)).expect("text"), "old");
    let deep = base.path().join("a/b/c");
    assert!(
        Target::named(&deep, false)
            .expect("free")
            .publish(broken, || false)
            .is_err()
    );
    assert_eq!(names(base.path()), ["out"]);
}

#[test]
fn a_place_that_cannot_be_written_to_is_found_at_once() {
    let base = tempfile::tempdir().expect("a folder");
    let file = base.path().join("file");
    fs::write(&file, "x").expect("written");
    let error = Target::named(&file.join("out"), false)
        .expect_err("no folder")
        .to_string();
    assert!(error.contains("file"), "{error}");
    assert!(Target::numbered(&file, "week-run").is_err());
    assert_eq!(names(base.path()), ["file"]);
}

#[cfg(unix)]
#[test]
fn the_folder_is_as_open_as_any_other() {
    use std::os::unix::fs::PermissionsExt as _;
    let base = tempfile::tempdir().expect("a folder");
    let usual = base.path().join("usual");
    fs::create_dir(&usual).expect("made");
    let out = Target::named(&base.path().join("out"), false)
        .expect("free")
        .publish(fill("x"), || false)
        .expect("placed");
    let mode = |path: &Path| fs::metadata(path).expect("there").permissions().mode();
    assert_eq!(mode(&out), mode(&usual));
}

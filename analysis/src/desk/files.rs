//! Data files that a scenario names: only those below the folder of the scenario.

use std::path::{Component, Path, PathBuf};

use breathroom_sim::scenario::MAX_BYTES;

/// Reads a file of at most so many bytes; the error says why it cannot be read.
pub(super) type Reads = fn(&Path, u64) -> Result<Vec<u8>, String>;

/// The content of a data file, as a scenario in this folder names it.
///
/// # Errors
/// If it does not lie below the folder, links followed, or cannot be read.
pub(super) fn data(folder: &Path, name: &str, reads: Reads) -> Result<Vec<u8>, String> {
    let outside = || format!("`{name}` does not lie below the folder of the scenario: the desk reads no other file");
    let inside = Path::new(name)
        .components()
        .all(|part| matches!(part, Component::Normal(_)));
    if name.is_empty() || !inside || name.contains(['\\', '\0']) {
        return Err(outside());
    }
    let folder = real(if folder.as_os_str().is_empty() {
        Path::new(".")
    } else {
        folder
    })?;
    let file =
        real(&folder.join(name)).map_err(|_| format!("cannot read `{name}`: there is no such file or folder"))?;
    if !file.starts_with(&folder) {
        return Err(outside());
    }
    if !file.is_file() {
        return Err(format!("cannot read `{name}`: it is not a file"));
    }
    reads(&file, MAX_BYTES)
}

fn real(path: &Path) -> Result<PathBuf, String> {
    path.canonicalize()
        .map_err(|error| format!("cannot read `{}`: {}", path.display(), crate::results::reason(&error)))
}

#[cfg(test)]
mod tests {
    use std::fs;

    use super::*;

    fn reads(path: &Path, _: u64) -> Result<Vec<u8>, String> {
        fs::read(path).map_err(|error| error.to_string())
    }

    #[test]
    fn only_what_lies_below_the_folder_is_read() {
        let above = tempfile::tempdir().expect("a folder");
        let folder = above.path().join("mine");
        fs::create_dir_all(folder.join("data")).expect("a folder");
        fs::write(above.path().join("secret.csv"), "s").expect("written");
        fs::write(folder.join("a.csv"), "a").expect("written");
        fs::write(folder.join("data/b.csv"), "b").expect("written");
        assert_eq!(data(&folder, "a.csv", reads), Ok(b"a".to_vec()));
        assert_eq!(data(&folder, "data/b.csv", reads), Ok(b"b".to_vec()));
        let secret = above.path().join("secret.csv").display().to_string();
        for name in [
            "../secret.csv",
            "data/../../secret.csv",
            &secret,
            "",
            "..\\secret.csv",
            "./a.csv/../../secret.csv",
        ] {
            let why = data(&folder, name, reads).expect_err(name);
            assert!(why.contains("below the folder"), "{name}: {why}");
        }
        assert!(
            data(&folder, "none.csv", reads)
                .expect_err("missing")
                .contains("no such file")
        );
        assert!(
            data(&folder, "data", reads)
                .expect_err("a folder")
                .contains("not a file")
        );
    }

    #[cfg(unix)]
    #[test]
    fn a_link_that_leads_out_is_not_followed() {
        let above = tempfile::tempdir().expect("a folder");
        let folder = above.path().join("mine");
        fs::create_dir(&folder).expect("a folder");
        fs::write(above.path().join("secret.csv"), "s").expect("written");
        std::os::unix::fs::symlink(above.path().join("secret.csv"), folder.join("a.csv")).expect("a link");
        assert!(
            data(&folder, "a.csv", reads)
                .expect_err("outside")
                .contains("below the folder")
        );
    }
}

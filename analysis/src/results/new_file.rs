//! A single new file that appears whole or not at all, and never over another unless asked.

use std::fs;
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

use tempfile::NamedTempFile;

use super::folder::FolderError;
use super::provenance::sha256_hex;

/// Highest number tried for a file of work that was not saved.
const MOST_NUMBERED: u32 = 10_000;

/// Writes a new file; over one that is there only with `force`. It is written beside its place and then given its name.
///
/// # Errors
/// If something is there that may not be replaced, or the file cannot be written; what was there is as it was.
pub fn new_file(file: &Path, content: &[u8], force: bool) -> Result<(), FolderError> {
    let failed = |error| FolderError::Io {
        doing: "write",
        path: file.to_owned(),
        error,
    };
    match fs::symlink_metadata(file) {
        Ok(_) if !force => return Err(FolderError::Exists(file.to_owned())),
        Ok(found) if !found.is_file() => return Err(FolderError::NotFile(file.to_owned())),
        _ => {}
    }
    place(file, content, force).map_err(|error| match error.kind() {
        // It came into being meanwhile.
        io::ErrorKind::AlreadyExists => FolderError::Exists(file.to_owned()),
        _ => failed(error),
    })
}

/// Writes over a file whose content has this SHA-256: one that whoever asks has seen. It is written beside its place first.
///
/// # Errors
/// If what is there is no file or has another content by now, or the file cannot be written; what was there is as it was.
pub fn replace_file(file: &Path, content: &[u8], seen: &str) -> Result<(), FolderError> {
    match fs::symlink_metadata(file) {
        Ok(found) if !found.is_file() => return Err(FolderError::NotFile(file.to_owned())),
        Ok(_) => {}
        // It is gone: there is nothing to replace.
        Err(_) => return new_file(file, content, false),
    }
    let there = fs::read(file).map_err(|error| FolderError::Io {
        doing: "read",
        path: file.to_owned(),
        error,
    })?;
    if sha256_hex(&there) != seen {
        return Err(FolderError::Changed(file.to_owned()));
    }
    new_file(file, content, true)
}

/// Writes a file of work that was not saved, `STEM.unsaved.toml`, or with a number where that is there already; gives its path.
///
/// # Errors
/// If it cannot be written.
pub fn unsaved_file(folder: &Path, stem: &str, content: &[u8]) -> Result<PathBuf, FolderError> {
    for n in 1..=MOST_NUMBERED {
        let number = if n == 1 { String::new() } else { format!("-{n}") };
        let file = folder.join(format!("{stem}.unsaved{number}.toml"));
        match new_file(&file, content, false) {
            Ok(()) => return Ok(file),
            Err(FolderError::Exists(_)) => {}
            Err(error) => return Err(error),
        }
    }
    Err(FolderError::Exists(folder.join(format!("{stem}.unsaved.toml"))))
}

fn place(file: &Path, content: &[u8], force: bool) -> io::Result<()> {
    let folder = match file.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder.to_owned(),
        _ => PathBuf::from("."),
    };
    let mut builder = tempfile::Builder::new();
    builder.prefix(".breathroom-new-");
    #[cfg(unix)]
    let open = {
        use std::os::unix::fs::PermissionsExt as _;
        fs::Permissions::from_mode(0o666) // less the user's umask, like any other file
    };
    #[cfg(unix)]
    builder.permissions(open);
    let mut whole: NamedTempFile = builder.tempfile_in(folder)?;
    whole.write_all(content)?;
    whole.flush()?;
    let placed = if force {
        whole.persist(file)
    } else {
        whole.persist_noclobber(file)
    };
    placed.map(drop).map_err(|error| error.error)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_is_written_once_and_over_only_by_force() {
        let folder = tempfile::tempdir().expect("a folder");
        let file = folder.path().join("a.toml");
        new_file(&file, b"one", false).expect("written");
        assert!(matches!(new_file(&file, b"two", false), Err(FolderError::Exists(_))));
        assert_eq!(fs::read(&file).expect("read"), b"one");
        new_file(&file, b"two", true).expect("written over");
        assert_eq!(fs::read(&file).expect("read"), b"two");
        assert!(matches!(
            new_file(folder.path(), b"x", true),
            Err(FolderError::NotFile(_))
        ));
        assert!(matches!(
            new_file(&file.join("b.toml"), b"x", false),
            Err(FolderError::Io { .. })
        ));
        assert_eq!(
            fs::read_dir(folder.path()).expect("a folder").count(),
            1,
            "nothing is left beside it"
        );
    }

    #[test]
    fn a_file_is_replaced_only_if_it_is_the_one_that_was_seen() {
        let folder = tempfile::tempdir().expect("a folder");
        let file = folder.path().join("a.toml");
        replace_file(&file, b"one", "none").expect("nothing was there");
        assert!(matches!(
            replace_file(&file, b"two", &sha256_hex(b"other")),
            Err(FolderError::Changed(_))
        ));
        assert_eq!(fs::read(&file).expect("read"), b"one");
        replace_file(&file, b"two", &sha256_hex(b"one")).expect("seen");
        assert_eq!(fs::read(&file).expect("read"), b"two");
        assert!(matches!(
            replace_file(folder.path(), b"x", ""),
            Err(FolderError::NotFile(_))
        ));
    }

    #[test]
    fn unsaved_work_gets_a_number_and_goes_over_nothing() {
        let folder = tempfile::tempdir().expect("a folder");
        let first = unsaved_file(folder.path(), "a", b"one").expect("written");
        let second = unsaved_file(folder.path(), "a", b"two").expect("written");
        assert_eq!(first, folder.path().join("a.unsaved.toml"));
        assert_eq!(second, folder.path().join("a.unsaved-2.toml"));
        assert_eq!(fs::read(first).expect("read"), b"one");
        assert!(matches!(
            unsaved_file(&folder.path().join("none"), "a", b"x"),
            Err(FolderError::Io { .. })
        ));
    }
}

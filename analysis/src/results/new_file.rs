//! A single new file that appears whole or not at all, and never over another unless asked.

use std::fs;
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

use tempfile::NamedTempFile;

use super::folder::FolderError;

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
}

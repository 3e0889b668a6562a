//! Files to read: bounded, and refused with words that say what is wrong with them.

use std::fs::File;
use std::io::Read as _;
use std::path::Path;

use crate::results::reason;

/// The content of a file of at most `most` bytes.
///
/// # Errors
/// If it is missing, a folder, larger than that (it is not read whole then), or cannot be read.
pub fn bytes(path: &Path, most: u64) -> Result<Vec<u8>, String> {
    let failed = |error: std::io::Error| format!("cannot read `{}`: {}", path.display(), reason(&error));
    let mut file = File::open(path).map_err(failed)?;
    let about = file.metadata().map_err(failed)?;
    if about.is_dir() {
        return Err(format!("cannot read `{}`: it is a folder, not a file", path.display()));
    }
    let too_large = || {
        format!(
            "`{}` is larger than {} MiB, the most that is read",
            path.display(),
            most >> 20
        )
    };
    if about.is_file() && about.len() > most {
        return Err(too_large());
    }
    let mut content = Vec::new();
    // A pipe does not say how long it is; a file may grow.
    let limit = most + 1;
    file.by_ref().take(limit).read_to_end(&mut content).map_err(failed)?;
    if content.len() as u64 > most {
        Err(too_large())
    } else {
        Ok(content)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_cannot_be_read_is_said_plainly() {
        let folder = tempfile::tempdir().expect("a folder");
        let missing = folder.path().join("missing.toml");
        assert!(
            bytes(&missing, 10)
                .expect_err("missing")
                .ends_with("there is no such file or folder")
        );
        assert!(
            bytes(folder.path(), 10)
                .expect_err("a folder")
                .ends_with("it is a folder, not a file")
        );
        let file = folder.path().join("a.toml");
        std::fs::write(&file, "0123456789").expect("written");
        assert_eq!(bytes(&file, 10).expect("read"), b"0123456789");
        assert!(bytes(&file, 9).expect_err("too large").contains("is larger than"));
    }

    #[cfg(unix)]
    #[test]
    fn an_endless_device_is_not_read_to_its_end() {
        assert!(
            bytes(Path::new("/dev/zero"), 1 << 20)
                .expect_err("endless")
                .contains("larger than 1 MiB")
        );
    }
}

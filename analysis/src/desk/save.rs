//! Saving: a plain name in the scenario's folder, and never over a file that whoever saves has not seen.

use std::path::Path;

use super::files::Reads;
use crate::results::{FolderError, new_file, replace_file, sha256_hex};
use breathroom_sim::scenario::MAX_BYTES;

/// Most characters of a name.
const LONGEST: usize = 100;

/// Why nothing was saved.
#[derive(Debug, PartialEq, Eq)]
pub(super) enum NotSaved {
    /// The name cannot be one, or the file cannot be written: why.
    Wrong(String),
    /// A file of that name is there; its digest, and what to ask.
    There {
        /// SHA-256 of what is there.
        digest: String,
        /// What to ask.
        question: String,
    },
}

/// The name of a scenario file: one that names nothing outside a folder.
///
/// # Errors
/// What would be right.
pub(super) fn plain(name: &str) -> Result<&str, String> {
    let name = name.trim();
    let right = "write a plain name that ends in .toml, as in cabin-2.toml";
    let stem = name.strip_suffix(".toml").unwrap_or_default();
    let bad = |c: char| c.is_control() || "/\\:*?\"<>|".contains(c);
    if stem.trim().is_empty() || name.starts_with('.') || name.chars().any(bad) {
        return Err(format!(
            "`{}` is no name of a scenario file: {right}",
            name.escape_debug()
        ));
    }
    if name.chars().count() > LONGEST {
        return Err(format!("the name has more than {LONGEST} characters: {right}"));
    }
    Ok(name)
}

/// Saves a text. `over` is the digest of the file that may be replaced; `known` that of the file as it was read or saved last.
///
/// # Errors
/// If the name is none, if a file is there that may not be replaced, or it cannot be written.
pub(super) fn save(
    (folder, name): (&Path, &str),
    text: &str,
    over: Option<&str>,
    known: Option<&str>,
    reads: Reads,
) -> Result<(), NotSaved> {
    let file = folder.join(name);
    let done = match over {
        Some(digest) => replace_file(&file, text.as_bytes(), digest),
        None => new_file(&file, text.as_bytes(), false),
    };
    match done {
        Ok(()) => Ok(()),
        Err(FolderError::Exists(_) | FolderError::Changed(_)) => {
            let there = reads(&file, MAX_BYTES)
                .map_err(|why| NotSaved::Wrong(format!("`{name}` is already there and cannot be replaced: {why}")))?;
            let digest = sha256_hex(&there);
            let question = match known {
                Some(known) if known == digest => format!("`{name}` is already there. Replace it?"),
                Some(_) => format!(
                    "`{name}` has been changed by someone else since it was read here. Replace it, and lose those changes?"
                ),
                None => format!("There is another file `{name}` in this folder. Replace it?"),
            };
            Err(NotSaved::There { digest, question })
        }
        Err(error) => Err(NotSaved::Wrong(error.to_string())),
    }
}

#[cfg(test)]
mod tests {
    use std::fs;

    use super::*;

    fn reads(path: &Path, _: u64) -> Result<Vec<u8>, String> {
        fs::read(path).map_err(|error| error.to_string())
    }

    #[test]
    fn a_name_is_plain_and_ends_in_toml() {
        for good in ["a.toml", "cabin 2.toml", "Kabine-ä.toml", "a.b.toml"] {
            assert_eq!(plain(good), Ok(good));
        }
        let long = format!("{}.toml", "x".repeat(200));
        for bad in [
            "",
            ".toml",
            " .toml",
            "a",
            "a.txt",
            "../a.toml",
            "/a.toml",
            "b/a.toml",
            "b\\a.toml",
            "..toml",
            ".a.toml",
            "C:a.toml",
            "a\0.toml",
            "a\n.toml",
            "a.toml/",
            &long,
        ] {
            assert!(plain(bad).expect_err(bad).contains("write a plain name"), "{bad:?}");
        }
    }

    #[test]
    fn a_file_is_replaced_only_by_whoever_has_seen_it() {
        let folder = tempfile::tempdir().expect("a folder");
        let place = (folder.path(), "a.toml");
        save(place, "one", None, None, reads).expect("new");
        let one = sha256_hex(b"one");
        let Err(NotSaved::There { digest, question }) = save(place, "two", None, Some(&one), reads) else {
            panic!("not asked")
        };
        assert_eq!(
            (digest.as_str(), question.as_str()),
            (one.as_str(), "`a.toml` is already there. Replace it?")
        );
        fs::write(folder.path().join("a.toml"), "theirs").expect("written");
        let Err(NotSaved::There { digest, question }) = save(place, "two", Some(&one), Some(&one), reads) else {
            panic!("their changes are lost")
        };
        assert!(question.contains("changed by someone else"), "{question}");
        assert_eq!(fs::read(folder.path().join("a.toml")).expect("read"), b"theirs");
        save(place, "two", Some(&digest), Some(&one), reads).expect("asked");
        assert_eq!(fs::read(folder.path().join("a.toml")).expect("read"), b"two");
        fs::create_dir(folder.path().join("b.toml")).expect("a folder");
        assert!(matches!(
            save((folder.path(), "b.toml"), "x", None, None, reads),
            Err(NotSaved::Wrong(_))
        ));
        assert_eq!(
            fs::read_dir(folder.path()).expect("a folder").count(),
            2,
            "nothing is left beside it"
        );
    }
}

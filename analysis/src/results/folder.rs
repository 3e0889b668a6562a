//! A results folder that appears whole or not at all.
//!
//! The files are written into a temporary folder beside the target, which is then moved into place by one rename. An
//! earlier result is never touched before the new one is complete; with `force` it is set aside, and put back if the move
//! fails. Nothing is left behind by a run that fails or is stopped.

use std::fmt;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use tempfile::TempDir;

/// The file by which a results folder is known as one.
pub const MARK: &str = "summary.json";

/// The file by which a part of a study is known as one.
pub const PART_MARK: &str = "job.json";

/// Highest number tried for a default folder (`results/week-run-2` ...).
const MOST_NUMBERED: u32 = 100_000;

/// Why results could not be put where they were to go.
#[derive(Debug)]
pub enum FolderError {
    /// Something is already there.
    Exists(PathBuf),
    /// What is there is not a results folder, so `force` does not replace it.
    NotResults(PathBuf),
    /// What is there is not a file, so `force` does not replace it.
    NotFile(PathBuf),
    /// What is there is not what was to be replaced: it was changed meanwhile.
    Changed(PathBuf),
    /// The path names no folder of its own (`.`, `..`, `/`).
    NoName(PathBuf),
    /// The file system refused.
    Io {
        /// What was being done.
        doing: &'static str,
        /// With which path.
        path: PathBuf,
        /// Why not.
        error: io::Error,
    },
    /// The old folder was set aside and could not be put back; it is whole, at the path given.
    SetAside {
        /// Where it was.
        target: PathBuf,
        /// Where it is now.
        now: PathBuf,
        /// Why.
        error: io::Error,
    },
    /// Parts of a study cannot be used.
    Part(Box<super::parts::PartError>),
    /// The run was stopped before its results were moved into place.
    Stopped,
}

impl fmt::Display for FolderError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Exists(path) => {
                write!(
                    f,
                    "`{}` is already there; name another, or give --force to replace it",
                    path.display()
                )
            }
            Self::NotResults(path) => {
                let path = path.display();
                write!(
                    f,
                    "`{path}` is not a results folder (no {MARK} or {PART_MARK} in it): --force does not replace it"
                )
            }
            Self::NotFile(path) => write!(f, "`{}` is not a file: --force does not replace it", path.display()),
            Self::Changed(path) => write!(f, "`{}` was changed meanwhile and was not replaced", path.display()),
            Self::NoName(path) => write!(f, "`{}` names no new folder; give --out a name", path.display()),
            Self::Io { doing, path, error } => write!(f, "cannot {doing} `{}`: {}", path.display(), reason(error)),
            Self::SetAside { target, now, error } => write!(
                f,
                "cannot put the results at `{}` ({}); the earlier ones are whole, at `{}`",
                target.display(),
                reason(error),
                now.display()
            ),
            Self::Part(error) => error.fmt(f),
            Self::Stopped => f.write_str("stopped"),
        }
    }
}

/// An error of the file system for people, without its number.
#[must_use]
pub fn reason(error: &io::Error) -> String {
    match error.kind() {
        io::ErrorKind::NotFound => "there is no such file or folder".to_owned(),
        io::ErrorKind::PermissionDenied => "permission denied".to_owned(),
        io::ErrorKind::StorageFull => "the disk is full".to_owned(),
        io::ErrorKind::QuotaExceeded => "the disk quota is used up".to_owned(),
        io::ErrorKind::FileTooLarge => "the file would be larger than is allowed here".to_owned(),
        io::ErrorKind::ReadOnlyFilesystem => "the file system is read-only".to_owned(),
        io::ErrorKind::NotADirectory => "a part of the path is a file, not a folder".to_owned(),
        _ => error.to_string(),
    }
}

/// Where results are to go: tried, but with nothing in it yet.
#[derive(Debug)]
pub struct Target {
    path: PathBuf,
    parent: PathBuf,
    /// Named by the user, so that no other name will do.
    named: bool,
    force: bool,
    /// Folders made for it, outermost first; taken away again if they are still empty at the end.
    made: Vec<PathBuf>,
}

impl Target {
    /// A folder that the user named. Refused if it is there, unless `force`; the place is tried by writing to it.
    ///
    /// # Errors
    /// If it exists, is not a results folder (`force`), names no folder, or cannot be written to.
    pub fn named(path: &Path, force: bool) -> Result<Self, FolderError> {
        let mut target = Self::at(path, true, force)?;
        target.look()?;
        target.try_out()?;
        Ok(target)
    }

    /// The default folder `parent/stem`, or that with `-2`, `-3` ... if it is there.
    ///
    /// # Errors
    /// If the place cannot be written to.
    pub fn numbered(parent: &Path, stem: &str) -> Result<Self, FolderError> {
        let mut target = Self::at(&parent.join(stem), false, false)?;
        target.try_out()?;
        Ok(target)
    }

    fn at(path: &Path, named: bool, force: bool) -> Result<Self, FolderError> {
        // A path that ends in `..` has no name; one that ends in `/.` would be a folder that is there.
        if path.file_name().is_none() {
            return Err(FolderError::NoName(path.to_owned()));
        }
        let parent = match path.parent() {
            Some(parent) if !parent.as_os_str().is_empty() => parent.to_owned(),
            _ => PathBuf::from("."),
        };
        Ok(Self {
            path: path.to_owned(),
            parent,
            named,
            force,
            made: Vec::new(),
        })
    }

    /// Whether what is there (if anything) may be replaced.
    fn look(&self) -> Result<bool, FolderError> {
        match fs::symlink_metadata(&self.path) {
            Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(false),
            Err(error) => Err(self.failed("look at", &self.path, error)),
            Ok(_) if !self.force => Err(FolderError::Exists(self.path.clone())),
            Ok(found) if !found.is_dir() || !self.replaceable()? => Err(FolderError::NotResults(self.path.clone())),
            Ok(_) => Ok(true),
        }
    }

    /// A folder of results, or an empty one.
    fn replaceable(&self) -> Result<bool, FolderError> {
        if self.path.join(MARK).is_file() || self.path.join(PART_MARK).is_file() {
            return Ok(true);
        }
        let mut entries = fs::read_dir(&self.path).map_err(|error| self.failed("look into", &self.path, error))?;
        Ok(entries.next().is_none())
    }

    /// Makes the parent folders and a temporary folder with a file, and takes the temporary ones away again: what cannot
    /// be written to is found before the long run, and a run that is killed meanwhile leaves nothing.
    fn try_out(&mut self) -> Result<(), FolderError> {
        let mut missing: Vec<PathBuf> = Vec::new();
        let mut here = self.parent.as_path();
        while !here.as_os_str().is_empty() && fs::symlink_metadata(here).is_err() {
            missing.push(here.to_owned());
            match here.parent() {
                Some(above) => here = above,
                None => break,
            }
        }
        for folder in missing.into_iter().rev() {
            match fs::create_dir(&folder) {
                Ok(()) => self.made.push(folder),
                Err(error) if error.kind() == io::ErrorKind::AlreadyExists && folder.is_dir() => {}
                Err(error) => return Err(self.failed("make the folder", &folder, error)),
            }
        }
        let folder = self.temporary("-try-")?;
        let probe = folder.path().join(MARK);
        fs::write(&probe, b"tried\n").map_err(|error| self.failed("write into", &self.parent, error))?;
        folder
            .close()
            .map_err(|error| self.failed("write into", &self.parent, error))
    }

    fn temporary(&self, what: &str) -> Result<TempDir, FolderError> {
        let prefix = format!(".breathroom{what}");
        let mut builder = tempfile::Builder::new();
        builder.prefix(&prefix);
        #[cfg(unix)]
        let open = {
            use std::os::unix::fs::PermissionsExt as _;
            fs::Permissions::from_mode(0o777) // less the user's umask, like any other folder
        };
        #[cfg(unix)]
        builder.permissions(open);
        builder
            .tempdir_in(&self.parent)
            .map_err(|error| self.failed("write into", &self.parent, error))
    }

    #[allow(clippy::unused_self)]
    fn failed(&self, doing: &'static str, path: &Path, error: io::Error) -> FolderError {
        FolderError::Io {
            doing,
            path: path.to_owned(),
            error,
        }
    }

    /// Writes the files by `fill` (which is given the temporary folder) and moves them into place, unless `stopped` says
    /// so just before. Returns where they are.
    ///
    /// # Errors
    /// If a file cannot be written or the folder cannot be moved; nothing of it is left then, and what was there before
    /// is as it was.
    pub fn publish(
        self,
        fill: impl FnOnce(&Path) -> Result<(), FolderError>,
        stopped: impl Fn() -> bool,
    ) -> Result<PathBuf, FolderError> {
        let folder = self.temporary("-new-")?;
        fill(folder.path())?;
        if stopped() {
            return Err(FolderError::Stopped);
        }
        let placed = self.place(folder.path())?;
        let _moved_away = folder.keep();
        Ok(placed)
    }

    /// A temporary folder beside the target, for results that are being written; it is gone when it is dropped.
    ///
    /// # Errors
    /// If it cannot be made.
    pub fn staging(&self) -> Result<TempDir, FolderError> {
        self.temporary("-new-")
    }

    /// Moves a whole folder on the same file system into place. Returns where it is.
    ///
    /// # Errors
    /// If it cannot be moved; it stays where it was, and what was in its place is as it was.
    pub fn place(self, folder: &Path) -> Result<PathBuf, FolderError> {
        if self.named {
            self.place_named(folder)
        } else {
            self.place_numbered(folder)
        }
    }

    /// Where the results are to go: for a default folder, the name without a number.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.path
    }

    fn place_numbered(&self, from: &Path) -> Result<PathBuf, FolderError> {
        let stem = self
            .path
            .file_name()
            .map(|name| name.to_string_lossy().into_owned())
            .unwrap_or_default();
        for number in 1..=MOST_NUMBERED {
            let name = if number == 1 {
                stem.clone()
            } else {
                format!("{stem}-{number}")
            };
            let path = self.parent.join(name);
            if fs::symlink_metadata(&path).is_ok() {
                continue;
            }
            match fs::rename(from, &path) {
                Ok(()) => return Ok(path),
                // Another run was quicker with this number.
                Err(_) if fs::symlink_metadata(&path).is_ok() => {}
                Err(error) => return Err(self.failed("make the folder", &path, error)),
            }
        }
        Err(FolderError::Exists(self.path.clone()))
    }

    fn place_named(&self, from: &Path) -> Result<PathBuf, FolderError> {
        // Looked at again: it may have come into being while the run went on.
        if !self.look()? {
            fs::rename(from, &self.path).map_err(|error| self.failed("make the folder", &self.path, error))?;
            return Ok(self.path.clone());
        }
        let aside = self.temporary("-old-")?;
        let old = aside.path().join("results");
        fs::rename(&self.path, &old).map_err(|error| self.failed("set aside", &self.path, error))?;
        if let Err(error) = fs::rename(from, &self.path) {
            return match fs::rename(&old, &self.path) {
                Ok(()) => Err(self.failed("make the folder", &self.path, error)),
                Err(error) => {
                    let _kept = aside.keep();
                    Err(FolderError::SetAside {
                        target: self.path.clone(),
                        now: old,
                        error,
                    })
                }
            };
        }
        // The new results are in place; what is left of the old ones is only clutter, not a reason to fail.
        drop(aside);
        Ok(self.path.clone())
    }
}

impl Drop for Target {
    fn drop(&mut self) {
        for folder in self.made.iter().rev() {
            let _only_if_empty = fs::remove_dir(folder);
        }
    }
}

#[cfg(test)]
#[path = "folder_tests.rs"]
mod tests;

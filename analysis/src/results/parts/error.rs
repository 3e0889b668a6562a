//! Why parts of a study cannot be kept, gone on with or joined.

use std::fmt;
use std::io;
use std::ops::Range;
use std::path::{Path, PathBuf};

use super::super::folder::{FolderError, reason};
use crate::study::StudyError;

/// Why not.
#[derive(Debug)]
pub enum PartError {
    /// The variations were not all run.
    Study(StudyError),
    /// The file system refused.
    Io {
        /// What was being done.
        doing: &'static str,
        /// With which path.
        path: PathBuf,
        /// Why not.
        error: io::Error,
    },
    /// There is no `job.json` in it, or none that can be read.
    NotPart(PathBuf),
    /// It belongs to another job.
    Differs {
        /// In what.
        what: String,
        /// This one.
        one: PathBuf,
        /// Its value.
        value: String,
        /// Not that of the other, or of the job asked for.
        other: Option<PathBuf>,
        /// Its value.
        other_value: String,
    },
    /// It was made by another version of this program.
    OtherVersion {
        /// Which folder.
        folder: PathBuf,
        /// Its version.
        version: String,
    },
    /// Its files have another layout.
    OtherLayout {
        /// The folder.
        folder: PathBuf,
        /// Version of its files.
        format: u32,
    },
    /// A file is cut or changed.
    Damaged {
        /// Which.
        path: PathBuf,
        /// From this variation on nothing good is known of it.
        from: u64,
        /// What is wrong with it.
        why: &'static str,
    },
    /// A copy of a file that was read is not what `job.json` says.
    Copy(PathBuf),
    /// Two parts hold different bytes for the same variations.
    Conflict {
        /// The variations.
        range: Range<u64>,
        /// One.
        one: PathBuf,
        /// The other.
        other: PathBuf,
    },
    /// Variations that no part holds, with what would make them.
    Missing(Vec<(Range<u64>, Option<String>)>),
    /// Someone else works on it.
    InUse(PathBuf),
    /// Stopped from outside.
    Stopped,
}

impl PartError {
    pub(super) fn io(doing: &'static str, path: &Path, error: io::Error) -> Self {
        Self::Io {
            doing,
            path: path.to_owned(),
            error,
        }
    }
}

impl From<StudyError> for PartError {
    fn from(error: StudyError) -> Self {
        match error {
            StudyError::Stopped => Self::Stopped,
            other => Self::Study(other),
        }
    }
}

impl From<PartError> for FolderError {
    fn from(error: PartError) -> Self {
        match error {
            PartError::Io { doing, path, error } => Self::Io { doing, path, error },
            PartError::Stopped => Self::Stopped,
            other => Self::Part(Box::new(other)),
        }
    }
}

/// "variations 1024 to 2047".
fn told(range: &Range<u64>) -> String {
    if range.end - range.start == 1 {
        format!("variation {}", range.start)
    } else {
        format!("variations {} to {}", range.start, range.end.saturating_sub(1))
    }
}

impl fmt::Display for PartError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Study(error) => error.fmt(f),
            Self::Io { doing, path, error } => write!(f, "cannot {doing} `{}`: {}", path.display(), reason(error)),
            Self::NotPart(path) => write!(
                f,
                "`{}` is not a part of a study: there is no job.json in it that can be read; name folders that `breathroom vary \
                 --shard` has written",
                path.display()
            ),
            Self::Differs {
                what,
                one,
                value,
                other,
                other_value,
            } => {
                write!(f, "the {what} differs: {value} in `{}`, {other_value} ", one.display())?;
                match other {
                    Some(other) => write!(f, "in `{}`; only parts of one job can be joined", other.display()),
                    None => f.write_str("asked for now; without --resume it is left alone, with --force it is dropped"),
                }
            }
            Self::OtherLayout { folder, format } => write!(
                f,
                "`{}` has files of layout {format}, and those of this build have layout {}: join parts with the build that made them",
                folder.display(),
                super::job::FORMAT
            ),
            Self::OtherVersion { folder, version } => write!(
                f,
                "`{}` was made by version {version} of this program, and this is {}: join parts with the version that made them",
                folder.display(),
                env!("CARGO_PKG_VERSION")
            ),
            Self::Damaged { path, from, why } => write!(
                f,
                "`{}` {why} (good up to variation {from}); run that shard again",
                path.display()
            ),
            Self::Copy(path) => write!(
                f,
                "`{}` is not the file that was read, as job.json has its digest; run that shard again",
                path.display()
            ),
            Self::Conflict { range, one, other } => write!(
                f,
                "`{}` and `{}` hold different results for {}: one of the two is not to be trusted; run them again on one kind of \
                 machine",
                one.display(),
                other.display(),
                told(range)
            ),
            Self::Missing(missing) => {
                f.write_str("parts are missing:")?;
                for (index, (range, shard)) in missing.iter().take(12).enumerate() {
                    let sep = if index == 0 { " " } else { ", " };
                    write!(f, "{sep}{}", told(range))?;
                    if let Some(shard) = shard {
                        write!(f, " (`--shard {shard}`)")?;
                    }
                }
                match missing.len().saturating_sub(12) {
                    0 => Ok(()),
                    more => write!(f, " and {more} more"),
                }
            }
            Self::InUse(path) => write!(f, "`{}` is being worked on by another run", path.display()),
            Self::Stopped => f.write_str("stopped"),
        }
    }
}

impl std::error::Error for PartError {}

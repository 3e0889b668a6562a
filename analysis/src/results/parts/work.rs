//! A work folder: made, filled, found again, made a part or taken away.

use std::fs::{self, File, TryLockError};
use std::io;
use std::ops::Range;
use std::path::{Path, PathBuf};

use super::block::{self, Family, Writer};
use super::blocks::Blocks;
use super::error::PartError;
use super::job::{JobRecord, Share};
use super::look::{BLOCKS, FILES, JOB, LOCK, MOST, PART, left, lock, missing, numbered, read_job};
use crate::study::{BLOCK, Piece};

/// Results that are being written.
const STAGING: &str = "results";

/// A folder that a run fills with blocks.
#[derive(Debug)]
pub struct Work {
    path: PathBuf,
    family: Family,
    /// Held as long as someone works here; the system lets go of it when the process ends.
    lock: File,
    writer: Option<Writer>,
    /// Of the blocks that were found, the good bytes of those that are not whole.
    begun: Vec<(u64, u64)>,
}

/// What earlier runs have left of a target.
#[derive(Debug)]
pub enum Found {
    /// Nothing that may be looked into.
    Nothing,
    /// A folder of this very job.
    Same(Box<Work>),
    /// Folders of other jobs alone: the first, and what differs.
    Other(PathBuf, [String; 3]),
}

impl Work {
    /// Looks for what a killed run has left beside `target`.
    ///
    /// # Errors
    /// If the folder of this job is being worked on, or cannot be read.
    pub fn find(target: &Path, family: &Family, share: Option<Share>) -> Result<Found, PartError> {
        let mut other = None;
        for path in left(target) {
            let Some((job, its_share)) = read_job(&path) else {
                continue;
            };
            let differs = job.differs(&family.job).or_else(|| {
                let told = |share: Option<Share>| {
                    share.map_or_else(|| "the whole study".to_owned(), |share| share.to_string())
                };
                (its_share != share).then(|| ["share".to_owned(), told(its_share), told(share)])
            });
            match differs {
                None => {
                    let lock = lock(&path)?.ok_or_else(|| PartError::InUse(path.clone()))?;
                    return Ok(Found::Same(Box::new(Self {
                        path,
                        family: family.clone(),
                        lock,
                        writer: None,
                        begun: Vec::new(),
                    })));
                }
                Some(what) => other = other.or(Some((path, what))),
            }
        }
        Ok(other.map_or(Found::Nothing, |(path, what)| Found::Other(path, what)))
    }

    /// Folders that killed runs have left beside `target`, and on which no one works.
    #[must_use]
    pub fn left(target: &Path) -> Vec<PathBuf> {
        left(target)
            .into_iter()
            .filter(|path| read_job(path).is_some() && lock(path).is_ok_and(|lock| lock.is_some()))
            .collect()
    }

    /// Takes such a folder away, unless someone works on it or it is not one.
    ///
    /// # Errors
    /// If it cannot be.
    pub fn drop_left(path: &Path) -> Result<(), PartError> {
        if read_job(path).is_some() && lock(path)?.is_some() {
            fs::remove_dir_all(path).map_err(|error| PartError::io("remove", path, error))?;
        }
        Ok(())
    }

    /// Makes a folder for a job beside `target`, with copies of what was read.
    ///
    /// # Errors
    /// If it cannot be written.
    pub fn new(target: &Path, family: Family, share: Option<Share>, files: &[&[u8]]) -> Result<Self, PartError> {
        let parent = match target.parent() {
            Some(parent) if !parent.as_os_str().is_empty() => parent,
            _ => Path::new("."),
        };
        let failed = |error| PartError::io("write into", parent, error);
        let staging = tempfile::Builder::new()
            .prefix(".breathroom-new-")
            .tempdir_in(parent)
            .map_err(failed)?;
        // A folder of its own within, which is as open as any other.
        let inner = staging.path().join("work");
        let lock = fill(&inner, &family.job, share, files).map_err(failed)?;
        for number in 1..=MOST {
            let path = numbered(target, number);
            if fs::symlink_metadata(&path).is_ok() {
                continue;
            }
            match fs::rename(&inner, &path) {
                Ok(()) => {
                    return Ok(Self {
                        path,
                        family,
                        lock,
                        writer: None,
                        begun: Vec::new(),
                    });
                }
                // Another run was quicker with this number.
                Err(_) if fs::symlink_metadata(&path).is_ok() => {}
                Err(error) => return Err(PartError::io("make the folder", &path, error)),
            }
        }
        Err(PartError::InUse(numbered(target, MOST)))
    }

    /// Where it is.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// A new folder within, for results that are being written.
    ///
    /// # Errors
    /// If it cannot be made.
    pub fn staging(&self) -> Result<PathBuf, PartError> {
        let path = self.path.join(STAGING);
        let make = || {
            if path.is_dir() {
                fs::remove_dir_all(&path)?;
            }
            fs::create_dir(&path)
        };
        make().map_err(|error| PartError::io("make the folder", &path, error))?;
        Ok(path)
    }

    /// Which of these variations are not there yet: what is cut or damaged counts as not there, and is made again.
    ///
    /// # Errors
    /// If a file cannot be read.
    pub fn missing(&mut self, range: &Range<u64>) -> Result<Vec<Range<u64>>, PartError> {
        let (missing, begun) = missing(&self.path, &self.family, range)?;
        self.begun = begun;
        Ok(missing)
    }

    /// Keeps a piece: those of a block in order.
    ///
    /// # Errors
    /// If it cannot be written.
    pub fn keep(&mut self, piece: &Piece) -> Result<(), PartError> {
        let block = piece.first / BLOCK;
        if self.writer.as_ref().is_none_or(|writer| writer.block != block) {
            let path = self.path.join(BLOCKS).join(block::name(block));
            let good = self
                .begun
                .iter()
                .find(|(begun, _)| *begun == block)
                .map(|&(_, good)| good);
            self.writer = Some(Writer::open(&path, &self.family, block, good)?);
        }
        match &mut self.writer {
            Some(writer) => writer.append(piece),
            None => Ok(()),
        }
    }

    /// The pieces of these variations, which are whole blocks up to there or to the end of the study, to be read in order.
    #[must_use]
    pub fn blocks(&self, range: &Range<u64>) -> Blocks {
        let path = |block| self.path.join(BLOCKS).join(block::name(block));
        let files = (0..range.end.div_ceil(BLOCK)).map(path).collect();
        Blocks::from(self.family.clone(), files, range.start / BLOCK)
    }

    /// Whether a folder is a part of this very job and has all of its share.
    #[must_use]
    pub fn is_done(path: &Path, family: &Family, share: Share) -> bool {
        let same = read_job(path).is_some_and(|(job, its)| job == family.job && its == Some(share));
        same && missing(path, family, &share.of(&family.job)).is_ok_and(|(missing, _)| missing.is_empty())
    }

    /// Takes away a folder whose run was stopped before it kept anything.
    pub fn abandon(path: &Path) {
        let _clutter_at_worst = fs::remove_dir_all(path);
    }

    /// Takes it away: what it was for is done, or nothing is in it.
    ///
    /// # Errors
    /// If it cannot be.
    pub fn remove(self) -> Result<(), PartError> {
        drop(self.lock);
        fs::remove_dir_all(&self.path).map_err(|error| PartError::io("remove", &self.path, error))
    }

    /// Ends the work, so that what is in it is a part that may be moved to its place.
    ///
    /// # Errors
    /// If the lock cannot be taken away.
    pub fn close(self) -> Result<PathBuf, PartError> {
        let lock = self.path.join(LOCK);
        fs::remove_file(&lock).map_err(|error| PartError::io("remove", &lock, error))?;
        Ok(self.path)
    }
}

/// Writes all but the blocks, and takes the lock.
fn fill(folder: &Path, job: &JobRecord, share: Option<Share>, files: &[&[u8]]) -> io::Result<File> {
    fs::create_dir(folder)?;
    let lock = File::create_new(folder.join(LOCK))?;
    match lock.try_lock() {
        // Some file systems of clusters know no locks; two runs of one job there are for whoever starts them to avoid.
        Ok(()) | Err(TryLockError::Error(_)) => {}
        Err(TryLockError::WouldBlock) => return Err(io::ErrorKind::WouldBlock.into()),
    }
    fs::create_dir(folder.join(BLOCKS))?;
    fs::create_dir(folder.join(FILES))?;
    for (index, content) in files.iter().enumerate() {
        fs::write(folder.join(FILES).join(index.to_string()), content)?;
    }
    if let Some(share) = share {
        fs::write(folder.join(PART), serde_json::to_string_pretty(&share)? + "\n")?;
    }
    fs::write(folder.join(JOB), job.to_json())?;
    Ok(lock)
}

//! Rows of a trade that are done, kept in a folder beside its target until all are: what a killed run goes on with.
//!
//! `TARGET.unfinished/` has `trade.json` (all that the rows depend on; two folders belong together if these are equal) and one file for each
//! row: its values as bits, little-endian, and a SHA-256 over the digest of `trade.json` and everything before it. A file is written whole under
//! another name and then renamed; one that is cut or changed counts as not there. A lock held by the running process, which no kill leaves
//! behind, keeps two runs apart.

use std::fs::{self, File};
use std::path::{Path, PathBuf};

use sha2::{Digest as _, Sha256};

use super::error::PartError;
use super::look::{LOCK, MOST, lock, numbered};
use crate::study::trade::RowRuns;

/// The job.
const JOB: &str = "trade.json";
/// No variation failed.
const NONE: u64 = u64::MAX;

/// The folder of a trade that is being run.
#[derive(Debug)]
pub struct KeptRows {
    path: PathBuf,
    job: [u8; 32],
    /// Held as long as someone works here.
    lock: File,
}

/// What was begun.
#[derive(Debug)]
pub struct Begun {
    /// The folder.
    pub rows: KeptRows,
    /// It was there.
    pub resumed: bool,
    /// Folders that earlier runs have left and no one works on.
    pub left: Vec<PathBuf>,
}

impl KeptRows {
    /// A folder beside `target` for the rows of this job: with `resume` that of an earlier run of the very same job, if there is one. With
    /// `force`, others that no one works on are taken away.
    ///
    /// # Errors
    /// If the folder cannot be made or looked into, or another run works on the one to go on with.
    pub fn begin(target: &Path, job: &str, resume: bool, force: bool) -> Result<Begun, PartError> {
        let mut left = Vec::new();
        for number in 1..=MOST {
            let path = numbered(target, number);
            let there = fs::read_to_string(path.join(JOB)).ok();
            if there.is_none() && !path.exists() {
                break;
            }
            // That of another command, or something else altogether.
            let Some(there) = there else { continue };
            if resume && there == job {
                let lock = lock(&path)?.ok_or_else(|| PartError::InUse(path.clone()))?;
                let rows = Self {
                    path,
                    job: digest(job),
                    lock,
                };
                return Ok(Begun {
                    rows,
                    resumed: true,
                    left: Vec::new(),
                });
            }
            if lock(&path)?.is_some() {
                left.push(path);
            }
        }
        if force {
            for path in left.drain(..) {
                fs::remove_dir_all(&path).map_err(|error| PartError::io("remove", &path, error))?;
            }
        }
        for number in 1..=MOST {
            let path = numbered(target, number);
            match fs::create_dir(&path) {
                Ok(()) => {
                    let lock = lock(&path)?.ok_or_else(|| PartError::InUse(path.clone()))?;
                    let of_job = path.join(JOB);
                    fs::write(&of_job, job).map_err(|error| PartError::io("write", &of_job, error))?;
                    let rows = Self {
                        path,
                        job: digest(job),
                        lock,
                    };
                    return Ok(Begun {
                        rows,
                        resumed: false,
                        left,
                    });
                }
                Err(error) if error.kind() == std::io::ErrorKind::AlreadyExists => {}
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

    /// A row that was kept, if it was, and is whole.
    #[must_use]
    pub fn load(&self, row: usize) -> Option<RowRuns> {
        decode(&fs::read(self.file(row)).ok()?, &self.job)
    }

    /// Keeps a row.
    ///
    /// # Errors
    /// If it cannot be written.
    pub fn keep(&self, row: usize, runs: &RowRuns) -> Result<(), PartError> {
        let path = self.file(row);
        let beside = path.with_extension("new");
        let write = || {
            fs::write(&beside, encode(runs, &self.job))?;
            fs::rename(&beside, &path)
        };
        write().map_err(|error| PartError::io("write", &path, error))
    }

    /// Takes it away: what it was for is done, or nothing is in it.
    ///
    /// # Errors
    /// If it cannot be.
    pub fn remove(self) -> Result<(), PartError> {
        let Self { path, lock, .. } = self;
        drop(lock);
        let _gone_with_the_rest = fs::remove_file(path.join(LOCK));
        fs::remove_dir_all(&path).map_err(|error| PartError::io("remove", &path, error))
    }

    /// Takes away a folder whose run was stopped before it kept anything.
    pub fn abandon(path: &Path) {
        let _clutter_at_worst = fs::remove_dir_all(path);
    }

    fn file(&self, row: usize) -> PathBuf {
        self.path.join(format!("row-{}", row + 1))
    }
}

fn digest(job: &str) -> [u8; 32] {
    Sha256::digest(job.as_bytes()).into()
}

fn encode(runs: &RowRuns, job: &[u8; 32]) -> Vec<u8> {
    let mut bytes = job.to_vec();
    let (k, why) = runs
        .first_failed
        .as_ref()
        .map_or((NONE, ""), |(k, why)| (*k, why.as_str()));
    for whole in [runs.failed, k, why.len() as u64] {
        bytes.extend(whole.to_le_bytes());
    }
    bytes.extend(why.as_bytes());
    bytes.extend((runs.values.len() as u64).to_le_bytes());
    for values in &runs.values {
        bytes.extend((values.len() as u64).to_le_bytes());
        bytes.extend(values.iter().flat_map(|value| value.to_bits().to_le_bytes()));
    }
    let seal = Sha256::digest(&bytes);
    bytes.extend(seal);
    bytes
}

fn decode(bytes: &[u8], job: &[u8; 32]) -> Option<RowRuns> {
    let (mut bytes, seal) = bytes.split_at_checked(bytes.len().checked_sub(32)?)?;
    if Sha256::digest(bytes)[..] != *seal {
        return None;
    }
    let from = &mut bytes;
    if take(from, 32)? != job {
        return None;
    }
    let (failed, k, length) = (whole(from)?, whole(from)?, whole(from)?);
    let why = String::from_utf8(take(from, usize::try_from(length).ok()?)?.to_vec()).ok()?;
    let mut values = Vec::new();
    for _ in 0..whole(from)? {
        let count = usize::try_from(whole(from)?).ok()?;
        let bits = take(from, count.checked_mul(8)?)?.chunks_exact(8);
        values.push(
            bits.map(|bits| bits.try_into().map(f64::from_le_bytes))
                .collect::<Result<_, _>>()
                .ok()?,
        );
    }
    Some(RowRuns {
        values,
        failed,
        first_failed: (k != NONE).then_some((k, why)),
    })
}

fn take<'b>(from: &mut &'b [u8], count: usize) -> Option<&'b [u8]> {
    let (taken, rest) = from.split_at_checked(count)?;
    *from = rest;
    Some(taken)
}

fn whole(from: &mut &[u8]) -> Option<u64> {
    Some(u64::from_le_bytes(take(from, 8)?.try_into().ok()?))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row() -> RowRuns {
        RowRuns {
            values: vec![vec![0.1, f64::NEG_INFINITY, f64::NAN], vec![1e-300; 3]],
            failed: 1,
            first_failed: Some((1, "a hatch held shut by 3 kPa".to_owned())),
        }
    }

    fn bits(runs: &RowRuns) -> Vec<u64> {
        runs.values.iter().flatten().map(|value| value.to_bits()).collect()
    }

    #[test]
    fn what_is_kept_comes_back_bit_for_bit_and_only_to_the_same_job() {
        let place = tempfile::tempdir().expect("a folder");
        let target = place.path().join("volume-trade");
        let Begun { rows, resumed, left } = KeptRows::begin(&target, "{one}", true, false).expect("begun");
        assert!(!resumed && left.is_empty());
        rows.keep(3, &row()).expect("kept");
        assert!(matches!(
            KeptRows::begin(&target, "{one}", true, false),
            Err(PartError::InUse(_))
        ));
        let path = rows.path().to_owned();
        drop(rows);
        let again = KeptRows::begin(&target, "{one}", true, false).expect("begun");
        assert!(again.resumed && again.rows.path() == path);
        let back = again.rows.load(3).expect("there");
        assert_eq!(bits(&back), bits(&row()));
        assert_eq!((back.failed, back.first_failed), (1, row().first_failed));
        assert!(again.rows.load(2).is_none());
        drop(again);
        let other = KeptRows::begin(&target, "{two}", true, false).expect("begun");
        assert!(!other.resumed && other.rows.path() != path);
        assert_eq!(other.left, std::slice::from_ref(&path));
        other.rows.remove().expect("removed");
        let forced = KeptRows::begin(&target, "{two}", false, true).expect("begun");
        assert!(forced.left.is_empty() && forced.rows.path() == path);
        assert!(forced.rows.load(3).is_none(), "that was of the job before");
    }

    #[test]
    fn a_file_that_is_cut_or_changed_is_not_there() {
        let job = digest("x");
        let whole = encode(&row(), &job);
        assert!(decode(&whole, &job).is_some());
        assert!(decode(&whole, &digest("y")).is_none());
        for cut in 0..whole.len() {
            assert!(decode(&whole[..cut], &job).is_none(), "{cut}");
            let mut changed = whole.clone();
            changed[cut] ^= 1;
            assert!(decode(&changed, &job).is_none(), "{cut}");
        }
    }
}

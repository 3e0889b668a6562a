//! Parts of a study joined: held against each other, and looked through for what is missing, before anything is made of them.

use std::fs::{self, File};
use std::io::{BufReader, Read};
use std::ops::Range;
use std::path::{Path, PathBuf};

use super::block::{Family, Reader};
use super::blocks::Blocks;
use super::error::PartError;
use super::job::{FORMAT, JobRecord, Share};
use super::look::{FILES, block_files, read_job};
use crate::results::sha256_hex;
use crate::study::{Piece, Shape};

/// Parts of one job.
#[derive(Debug)]
pub struct Parts {
    /// The job.
    pub job: JobRecord,
    /// Every file that was read: its name and content, the scenario first.
    pub files: Vec<(String, Vec<u8>)>,
    folders: Vec<PathBuf>,
    /// Into how many shares the study was cut, if all parts agree.
    shards: Option<u64>,
}

impl Parts {
    /// Reads what the parts are of.
    ///
    /// # Errors
    /// If one is no part, if two are of different jobs or made by different versions, or if a copy of a file has changed.
    pub fn read(folders: &[PathBuf]) -> Result<Self, PartError> {
        let mut jobs = Vec::new();
        for folder in folders {
            jobs.push(read_job(folder).ok_or_else(|| PartError::NotPart(folder.clone()))?);
        }
        let Some(((job, first_share), others)) = jobs.split_first() else {
            return Err(PartError::Missing(Vec::new()));
        };
        for ((other, _), folder) in others.iter().zip(&folders[1..]) {
            if let Some([what, value, other_value]) = job.differs(other) {
                return Err(PartError::Differs {
                    what,
                    one: folders[0].clone(),
                    value,
                    other: Some(folder.clone()),
                    other_value,
                });
            }
        }
        let version = env!("CARGO_PKG_VERSION");
        if job.version != version {
            return Err(PartError::OtherVersion {
                folder: folders[0].clone(),
                version: job.version.clone(),
            });
        }
        if job.format != FORMAT {
            return Err(PartError::OtherLayout {
                folder: folders[0].clone(),
                format: job.format,
            });
        }
        let mut files = Vec::new();
        for (index, file) in job.files.iter().enumerate() {
            let path = folders[0].join(FILES).join(index.to_string());
            let content = fs::read(&path).map_err(|error| PartError::io("read", &path, error))?;
            if sha256_hex(&content) != file.sha256 {
                return Err(PartError::Copy(path));
            }
            files.push((file.name.clone(), content));
        }
        let shards = first_share.map(|share| share.shards);
        let agree = jobs.iter().all(|(_, share)| share.map(|share| share.shards) == shards);
        Ok(Self {
            job: jobs.swap_remove(0).0,
            files,
            folders: folders.to_vec(),
            shards: shards.filter(|_| agree),
        })
    }

    /// Looks through all blocks of the parts, every byte of them.
    ///
    /// # Errors
    /// If one is damaged, if two parts disagree, or if variations are missing: all of these at once.
    pub fn blocks(&self, shape: Shape) -> Result<Blocks, PartError> {
        let family = Family::new(self.job.clone(), shape);
        let mut files: Vec<(u64, PathBuf)> = Vec::new();
        for folder in &self.folders {
            files.extend(
                block_files(folder)?
                    .into_iter()
                    .filter(|(block, _)| *block < self.job.blocks()),
            );
        }
        // Parts stay in the order in which they were named within a block, whatever that was.
        files.sort_by_key(|(block, _)| *block);
        let mut piece = Piece::new(shape);
        let (mut whole, mut missing) = (Vec::new(), Vec::new());
        let mut files = files.into_iter().peekable();
        for block in 0..self.job.blocks() {
            let range = self.job.variations_of(block);
            let mut found: Option<PathBuf> = None;
            let mut reached = range.start;
            while let Some((_, path)) = files.next_if(|(of, _)| *of == block) {
                let to = checked(&path, &family, block, &mut piece)?;
                reached = reached.max(to);
                if to < range.end {
                    continue;
                }
                match &found {
                    None => found = Some(path),
                    Some(one) if same(one, &path)? => {}
                    Some(one) => {
                        return Err(PartError::Conflict {
                            range,
                            one: one.clone(),
                            other: path,
                        });
                    }
                }
            }
            match found {
                Some(path) => whole.push(path),
                None => missing.push(reached..range.end),
            }
        }
        if missing.is_empty() {
            Ok(Blocks::new(family, whole))
        } else {
            Err(PartError::Missing(self.by_shard(&missing)))
        }
    }

    /// What is missing, by the shards that would make it.
    fn by_shard(&self, missing: &[Range<u64>]) -> Vec<(Range<u64>, Option<String>)> {
        let mut told: Vec<(Range<u64>, Option<String>)> = Vec::new();
        for range in missing {
            let shard = self.shard_of(range.start).map(|share| share.to_string());
            match told.last_mut() {
                Some((last, same)) if last.end == range.start && *same == shard => last.end = range.end,
                _ => told.push((range.clone(), shard)),
            }
        }
        told
    }

    fn shard_of(&self, variation: u64) -> Option<Share> {
        let shards = self.shards?;
        // Shares are in order: the first that ends beyond the variation.
        let (mut low, mut high) = (1, shards);
        while low < high {
            let middle = low + (high - low) / 2;
            let share = Share { shard: middle, shards };
            if share.of(&self.job).end > variation {
                high = middle;
            } else {
                low = middle + 1;
            }
        }
        Some(Share { shard: low, shards })
    }
}

/// Reads a block to its end; the first variation that it does not hold.
fn checked(path: &Path, family: &Family, block: u64, piece: &mut Piece) -> Result<u64, PartError> {
    let from = family.job.variations_of(block).start;
    let mut reader = Reader::open(path, family, block).map_err(|fault| fault.at(path, from))?;
    loop {
        let from = reader.next_variation();
        if reader.next(piece).map_err(|fault| fault.at(path, from))?.is_none() {
            return Ok(from);
        }
    }
}

/// Whether two files have the same bytes.
fn same(one: &Path, other: &Path) -> Result<bool, PartError> {
    let open = |path: &Path| {
        let opened = File::open(path).and_then(|file| Ok((file.metadata()?.len(), BufReader::new(file))));
        opened.map_err(|error| PartError::io("read", path, error))
    };
    let ((one_len, mut a), (other_len, mut b)) = (open(one)?, open(other)?);
    if one_len != other_len {
        return Ok(false);
    }
    let (mut x, mut y) = (vec![0; 1 << 16], vec![0; 1 << 16]);
    let mut left = one_len;
    while left > 0 {
        let many = left.min(1 << 16) as usize;
        a.read_exact(&mut x[..many])
            .map_err(|error| PartError::io("read", one, error))?;
        b.read_exact(&mut y[..many])
            .map_err(|error| PartError::io("read", other, error))?;
        if x[..many] != y[..many] {
            return Ok(false);
        }
        left -= many as u64;
    }
    Ok(true)
}

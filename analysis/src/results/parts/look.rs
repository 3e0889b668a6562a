//! What is in folders of blocks: their job, their blocks, what they lack, who works on them.

use std::fs::{self, File, TryLockError};
use std::ops::Range;
use std::path::{Path, PathBuf};

use super::block::{self, Family, Fault, Reader};
use super::error::PartError;
use super::job::{JobRecord, Share};
use crate::study::Piece;

/// What the folder of a target ends with while its variations are run.
const ENDING: &str = ".unfinished";
/// Most work folders of one target.
pub const MOST: u32 = 1_000;

/// The job.
pub const JOB: &str = "job.json";
/// The share.
pub const PART: &str = "part.json";
/// Copies of files that were read.
pub const FILES: &str = "files";
/// Blocks.
pub const BLOCKS: &str = "blocks";
/// What is locked by whoever works here.
pub const LOCK: &str = "lock";

/// Which of these variations a folder lacks; and by block, the good bytes of those that are not whole.
pub type Lacks = (Vec<Range<u64>>, Vec<(u64, u64)>);

pub fn missing(folder: &Path, family: &Family, range: &Range<u64>) -> Result<Lacks, PartError> {
    let mut missing: Vec<Range<u64>> = Vec::new();
    let mut begun = Vec::new();
    let mut next = range.start;
    let mut piece = Piece::new(family.shape);
    for (block, path) in block_files(folder)? {
        let whole = family.job.variations_of(block);
        if whole.start < range.start || whole.start >= range.end {
            continue;
        }
        let (good, to) = good(&path, family, block, &mut piece)?;
        if to < whole.end && good > 0 {
            begun.push((block, good));
        }
        if to > whole.start {
            add(&mut missing, next..whole.start);
            next = to;
        }
        add(&mut missing, next..whole.end);
        next = whole.end;
    }
    add(&mut missing, next..range.end);
    Ok((missing, begun))
}

/// The good bytes of a block, and the first variation that is not in them.
fn good(path: &Path, family: &Family, block: u64, piece: &mut Piece) -> Result<(u64, u64), PartError> {
    let failed = |error| PartError::io("read", path, error);
    let mut reader = match Reader::open(path, family, block) {
        Ok(reader) => reader,
        Err(Fault::Io(error)) => return Err(failed(error)),
        Err(_) => return Ok((0, family.job.variations_of(block).start)),
    };
    loop {
        match reader.next(piece) {
            Ok(Some(_)) => {}
            Err(Fault::Io(error)) => return Err(failed(error)),
            Ok(None) | Err(_) => return Ok((reader.good(), reader.next_variation())),
        }
    }
}

/// Adds a range to sorted ones, joined to the last if it follows it.
fn add(ranges: &mut Vec<Range<u64>>, range: Range<u64>) {
    match ranges.last_mut() {
        _ if range.is_empty() => {}
        Some(last) if last.end == range.start => last.end = range.end,
        _ => ranges.push(range),
    }
}

/// The lock of a folder, or `None` if another holds it.
pub fn lock(folder: &Path) -> Result<Option<File>, PartError> {
    let path = folder.join(LOCK);
    let file = File::options()
        .write(true)
        .create(true)
        .truncate(false)
        .open(&path)
        .map_err(|error| PartError::io("write", &path, error))?;
    match file.try_lock() {
        Ok(()) | Err(TryLockError::Error(_)) => Ok(Some(file)),
        Err(TryLockError::WouldBlock) => Ok(None),
    }
}

/// The job of a folder, and its share; `None` if it has none that can be read.
pub fn read_job(folder: &Path) -> Option<(JobRecord, Option<Share>)> {
    let job = serde_json::from_slice(&fs::read(folder.join(JOB)).ok()?).ok()?;
    let share = fs::read(folder.join(PART)).ok();
    let share = share.and_then(|text| serde_json::from_slice::<Share>(&text).ok());
    Some((job, share.filter(|share| (1..=share.shards).contains(&share.shard))))
}

/// The files of blocks in a folder, by block.
pub fn block_files(folder: &Path) -> Result<Vec<(u64, PathBuf)>, PartError> {
    let folder = folder.join(BLOCKS);
    let failed = |error| PartError::io("look into", &folder, error);
    let mut files = Vec::new();
    for entry in fs::read_dir(&folder).map_err(failed)? {
        let entry = entry.map_err(failed)?;
        if let Some(block) = entry.file_name().to_str().and_then(block::of_name) {
            files.push((block, entry.path()));
        }
    }
    files.sort();
    Ok(files)
}

/// Work folders beside a target, in the order of their numbers.
pub fn left(target: &Path) -> Vec<PathBuf> {
    let mut numbers = 1..=MOST;
    let mut there = Vec::new();
    let mut gap = 0;
    // Numbers are given without gaps; a few may have come free since.
    while let (Some(number), true) = (numbers.next(), gap < 16) {
        let path = numbered(target, number);
        if path.is_dir() {
            there.push(path);
            gap = 0;
        } else {
            gap += 1;
        }
    }
    there
}

/// `week-vary.unfinished`, `week-vary.unfinished-2` ...
pub fn numbered(target: &Path, number: u32) -> PathBuf {
    let mut name = target.file_name().unwrap_or_default().to_owned();
    name.push(ENDING);
    if number > 1 {
        name.push(format!("-{number}"));
    }
    target.with_file_name(name)
}

//! One block as a file: a head that says whose it is, then its pieces as records.
//!
//! ```text
//! head:    "brthblk3" | digest of job.json, 32 | block, 8 | inputs, limits, tanks, devices, series, faults, alarms,
//!          4 each
//! record:  first variation, 8 | variations, 8 | length of the piece, 8 | length of its courses, 8 | piece | courses
//!          | SHA-256 of all this
//! ```
//!
//! Records are appended in order. What follows the last good one is what a kill left of a write, or damage: it is never used.

use std::fs::{File, OpenOptions};
use std::io::{self, BufRead as _, BufReader, Read as _, Seek as _, SeekFrom, Write as _};
use std::ops::Range;
use std::path::{Path, PathBuf};

use sha2::{Digest as _, Sha256};

use super::error::PartError;
use super::job::JobRecord;
use super::record;
use crate::study::courses::POINTS;
use crate::study::{Piece, Shape, piece_at, traced};

/// The first bytes of a file of a block.
const MAGIC: &[u8; 8] = b"brthblk3";
/// Bytes of a record before its piece.
const RECORD_HEAD: usize = 32;
/// Bytes of a digest.
const DIGEST: usize = 32;
/// Bytes that are read and digested at once where they need not be kept.
const CHUNK: usize = 1 << 16;

/// What ties the blocks of a study together.
#[derive(Clone, Debug)]
pub struct Family {
    /// The job.
    pub job: JobRecord,
    /// How many numbers of each kind a variation has.
    pub shape: Shape,
    digest: [u8; 32],
}

impl Family {
    /// Of a job whose scenario has this shape.
    pub fn new(job: JobRecord, shape: Shape) -> Self {
        Self {
            digest: job.digest(),
            job,
            shape,
        }
    }

    /// The head of the file of a block.
    fn head(&self, block: u64) -> Vec<u8> {
        let Shape {
            inputs,
            limits,
            tanks,
            devices,
            series,
            faults,
            alarms,
        } = self.shape;
        let mut head = MAGIC.to_vec();
        head.extend(self.digest);
        head.extend(block.to_le_bytes());
        for many in [inputs, limits, tanks, devices, series, faults, alarms] {
            head.extend((many as u32).to_le_bytes());
        }
        head
    }
}

/// The name of the file of a block.
pub fn name(block: u64) -> String {
    format!("{block:08}.block")
}

/// The block of a file name.
pub fn of_name(name: &str) -> Option<u64> {
    let block = name.strip_suffix(".block")?.parse().ok()?;
    (self::name(block) == name).then_some(block)
}

/// What is wrong with a file of a block.
#[derive(Debug)]
pub enum Fault {
    /// It has another head: of another job or block, or none.
    Foreign,
    /// It ends in the middle of a record.
    Cut,
    /// A record is not what its digest says.
    Damaged,
    /// It cannot be read.
    Io(io::Error),
}

impl Fault {
    /// As an error about a file whose variations are good up to `from`.
    pub fn at(self, path: &Path, from: u64) -> PartError {
        let why = match self {
            Self::Foreign => "does not belong to this job, or its first bytes are damaged",
            Self::Cut => "is cut off in the middle of a record",
            Self::Damaged => "is damaged",
            Self::Io(error) => return PartError::io("read", path, error),
        };
        PartError::Damaged {
            path: path.to_owned(),
            from,
            why,
        }
    }
}

impl From<io::Error> for Fault {
    fn from(error: io::Error) -> Self {
        match error.kind() {
            io::ErrorKind::UnexpectedEof => Self::Cut,
            _ => Self::Io(error),
        }
    }
}

/// Reads the file of a block piece by piece. Buffers are used again.
pub struct Reader {
    file: BufReader<File>,
    /// How many bytes it has.
    long: u64,
    /// Variations that are to come.
    rest: Range<u64>,
    /// Bytes read, all of them good.
    good: u64,
    buffer: Vec<u8>,
}

impl Reader {
    /// Opens the file of a block and reads its head.
    pub fn open(path: &Path, family: &Family, block: u64) -> Result<Self, Fault> {
        let mut file = BufReader::with_capacity(CHUNK, File::open(path)?);
        let head = family.head(block);
        let mut found = vec![0; head.len()];
        match file.read_exact(&mut found) {
            Err(error) if error.kind() == io::ErrorKind::UnexpectedEof => return Err(Fault::Foreign),
            Err(error) => return Err(Fault::Io(error)),
            Ok(()) if found != head => return Err(Fault::Foreign),
            Ok(()) => {}
        }
        Ok(Self {
            long: file.get_ref().metadata()?.len(),
            file,
            rest: family.job.variations_of(block),
            good: head.len() as u64,
            buffer: Vec::new(),
        })
    }

    /// The next piece into `piece`, without its courses: given is where in the file they are. `None` where the file ends.
    pub fn next(&mut self, piece: &mut Piece) -> Result<Option<u64>, Fault> {
        if self.file.fill_buf()?.is_empty() {
            return Ok(None);
        }
        if self.rest.is_empty() {
            return Err(Fault::Damaged);
        }
        let mut head = [0; RECORD_HEAD];
        self.file.read_exact(&mut head)?;
        let number = |at: usize| u64::from_le_bytes(head[at..at + 8].try_into().unwrap_or_default());
        let range = piece_at(&self.rest);
        let count = (range.end - range.start) as usize;
        let traced = traced(range.start, count);
        let courses = (4 * piece.shape.series * traced * POINTS) as u64;
        if [number(0), number(8), number(24)] != [range.start, count as u64, courses] {
            return Err(Fault::Damaged);
        }
        if number(16) > self.long {
            return Err(Fault::Damaged);
        }
        let mut digest = Sha256::new();
        digest.update(head);
        self.buffer.resize(number(16) as usize, 0);
        self.file.read_exact(&mut self.buffer)?;
        digest.update(&self.buffer);
        piece.reset(range.clone());
        let decoded = record::decode(&self.buffer, piece);
        self.buffer.resize(CHUNK, 0);
        let mut left = courses;
        while left > 0 {
            let chunk = &mut self.buffer[..left.min(CHUNK as u64) as usize];
            self.file.read_exact(chunk)?;
            digest.update(&*chunk);
            left -= chunk.len() as u64;
        }
        let mut sum = [0; DIGEST];
        self.file.read_exact(&mut sum)?;
        if digest.finalize()[..] != sum || decoded.is_none() {
            return Err(Fault::Damaged);
        }
        let offset = self.good + RECORD_HEAD as u64 + number(16);
        self.good = offset + courses + DIGEST as u64;
        self.rest.start = range.end;
        Ok(Some(offset))
    }

    /// The first variation that was not read.
    pub fn next_variation(&self) -> u64 {
        self.rest.start
    }

    /// Whether all of the block was read.
    pub fn is_done(&self) -> bool {
        self.rest.is_empty()
    }

    /// Bytes up to the end of the last good record.
    pub fn good(&self) -> u64 {
        self.good
    }
}

/// Appends pieces to the file of a block.
#[derive(Debug)]
pub struct Writer {
    file: File,
    path: PathBuf,
    /// Its block.
    pub block: u64,
    buffer: Vec<u8>,
}

impl Writer {
    /// Opens the file of a block, which is cut to its good bytes; or makes a new one.
    pub fn open(path: &Path, family: &Family, block: u64, good: Option<u64>) -> Result<Self, PartError> {
        let failed = |error| PartError::io("write", path, error);
        let mut file = OpenOptions::new()
            .write(true)
            .create(true)
            .truncate(false)
            .open(path)
            .map_err(failed)?;
        file.set_len(good.unwrap_or(0)).map_err(failed)?;
        file.seek(SeekFrom::End(0)).map_err(failed)?;
        if good.is_none() {
            file.write_all(&family.head(block)).map_err(failed)?;
        }
        Ok(Self {
            file,
            path: path.to_owned(),
            block,
            buffer: Vec::new(),
        })
    }

    /// Appends a piece by one write.
    pub fn append(&mut self, piece: &Piece) -> Result<(), PartError> {
        let out = &mut self.buffer;
        out.clear();
        out.extend(piece.first.to_le_bytes());
        out.extend((piece.len() as u64).to_le_bytes());
        out.extend([0; 16]);
        record::encode(piece, out);
        let main = (out.len() - RECORD_HEAD) as u64;
        record::encode_courses(piece, out);
        let courses = (out.len() - RECORD_HEAD) as u64 - main;
        out[16..24].copy_from_slice(&main.to_le_bytes());
        out[24..32].copy_from_slice(&courses.to_le_bytes());
        let digest = Sha256::digest(&*out);
        out.extend(digest);
        self.file
            .write_all(out)
            .map_err(|error| PartError::io("write", &self.path, error))
    }
}

//! All pieces of a study from the files that hold them, in order, one in memory at a time.

use std::fs::File;
use std::io::{Read as _, Seek as _, SeekFrom};
use std::path::{Path, PathBuf};

use super::block::{Family, Reader};
use super::error::PartError;
use crate::study::courses::POINTS;
use crate::study::{Piece, Shape};

/// Where the courses of a piece lie: one series after the other, each with the points of its traced variations.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CoursePlace {
    /// The file.
    path: PathBuf,
    /// From which byte on.
    offset: u64,
    /// How many variations.
    traced: usize,
}

impl CoursePlace {
    /// Appends the courses of one series: the points of each variation, one after the other.
    ///
    /// # Errors
    /// If the file cannot be read.
    pub fn read(&self, series: usize, out: &mut Vec<f32>) -> Result<(), PartError> {
        let many = 4 * self.traced * POINTS;
        let read = || {
            let mut file = File::open(&self.path)?;
            file.seek(SeekFrom::Start(self.offset + (series * many) as u64))?;
            let mut bytes = vec![0; many];
            file.read_exact(&mut bytes)?;
            Ok(bytes)
        };
        let bytes = read().map_err(|error| PartError::io("read", &self.path, error))?;
        let value = |bytes: &[u8]| f32::from_bits(u32::from_le_bytes(bytes.try_into().unwrap_or_default()));
        out.extend(bytes.chunks_exact(4).map(value));
        Ok(())
    }
}

/// The blocks of a study, every one of them there.
pub struct Blocks {
    family: Family,
    /// By block.
    files: Vec<PathBuf>,
    /// The one that is being read.
    open: Option<Reader>,
    next: u64,
    courses: Vec<CoursePlace>,
}

impl Blocks {
    /// Of whole blocks from `first` on; `files` are those from block 0 on.
    pub(super) fn from(family: Family, files: Vec<PathBuf>, first: u64) -> Self {
        Self {
            next: first,
            ..Self::new(family, files)
        }
    }

    pub(super) fn new(family: Family, files: Vec<PathBuf>) -> Self {
        Self {
            family,
            files,
            open: None,
            next: 0,
            courses: Vec::new(),
        }
    }

    /// How many numbers of each kind a variation has.
    #[must_use]
    pub fn shape(&self) -> Shape {
        self.family.shape
    }

    /// The next piece into `piece`, but for its courses; whether there was one.
    ///
    /// # Errors
    /// If a file cannot be read, or is cut or damaged.
    pub fn next(&mut self, piece: &mut Piece) -> Result<bool, PartError> {
        loop {
            if self.open.is_none() {
                let Some(path) = self.files.get(self.next as usize) else {
                    return Ok(false);
                };
                let from = self.family.job.variations_of(self.next).start;
                let opened = Reader::open(path, &self.family, self.next);
                self.open = Some(opened.map_err(|fault| fault.at(path, from))?);
                self.next += 1;
            }
            let path: &Path = &self.files[self.next as usize - 1];
            if let Some(reader) = &mut self.open {
                let from = reader.next_variation();
                if let Some(offset) = reader.next(piece).map_err(|fault| fault.at(path, from))? {
                    if piece.traced() > 0 {
                        self.courses.push(CoursePlace {
                            path: path.to_owned(),
                            offset,
                            traced: piece.traced(),
                        });
                    }
                    return Ok(true);
                }
                if !reader.is_done() {
                    return Err(super::block::Fault::Cut.at(path, from));
                }
                self.open = None;
            }
        }
    }

    /// Where the courses of the pieces read so far lie, in order.
    #[must_use]
    pub fn courses(&self) -> &[CoursePlace] {
        &self.courses
    }
}

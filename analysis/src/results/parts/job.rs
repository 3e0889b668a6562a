//! `job.json`: which study a folder of blocks belongs to; and which share of it is whose.

use std::ops::Range;

use breathroom_sim::scenario::Scenario;
use serde::{Deserialize, Serialize};
use sha2::{Digest as _, Sha256};

use super::super::provenance::{FileDigest, sha256_hex};
use crate::study::{BLOCK, VaryJob};

/// The version of the files in the folder.
pub(super) const FORMAT: u32 = 3;

/// The job as normalised: all that the variations depend on, and nothing else.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct JobRecord {
    /// Version of the files in the folder.
    pub format: u32,
    /// Version of this program.
    pub version: String,
    /// Every file read, the scenario first.
    pub files: Vec<FileDigest>,
    /// Overrides, in order.
    pub overrides: Vec<String>,
    /// Seed of the draws.
    pub seed: u64,
    /// Variations of the whole study.
    pub runs: u64,
    /// How draws are laid out.
    pub design: String,
}

impl JobRecord {
    /// That of a scenario read from a file of this name and content.
    #[must_use]
    pub fn new(scenario: &Scenario, (name, content): (&str, &[u8]), overrides: &[String], job: &VaryJob) -> Self {
        let digest = |name: &str, content: &[u8]| FileDigest {
            name: name.to_owned(),
            sha256: sha256_hex(content),
        };
        let data = scenario.data_files.iter().map(|(name, content)| digest(name, content));
        Self {
            format: FORMAT,
            version: env!("CARGO_PKG_VERSION").to_owned(),
            files: std::iter::once(digest(name, content)).chain(data).collect(),
            overrides: overrides.to_vec(),
            seed: job.seed,
            runs: job.runs,
            design: job.design.name().to_owned(),
        }
    }

    /// The text of `job.json`.
    #[must_use]
    pub fn to_json(&self) -> String {
        // Strings and whole numbers alone: they are always JSON.
        serde_json::to_string_pretty(self).unwrap_or_default() + "\n"
    }

    /// SHA-256 of that text: what ties blocks to their job.
    pub(super) fn digest(&self) -> [u8; 32] {
        Sha256::digest(self.to_json().as_bytes()).into()
    }

    /// What makes another job a different one, with both its values; `None` if nothing does.
    #[must_use]
    pub fn differs(&self, other: &Self) -> Option<[String; 3]> {
        let differ =
            |what: &str, mine: String, theirs: String| (mine != theirs).then(|| [what.to_owned(), mine, theirs]);
        let name = |job: &Self| job.files.first().map(|file| file.name.clone()).unwrap_or_default();
        let files = |job: &Self| {
            let digests = job
                .files
                .iter()
                .map(|file| format!("{} {}", file.name, &file.sha256[..file.sha256.len().min(12)]));
            digests.collect::<Vec<_>>().join(", ")
        };
        let overrides = |job: &Self| match &job.overrides[..] {
            [] => "none".to_owned(),
            some => some.join(", "),
        };
        differ("version", self.version.clone(), other.version.clone())
            .or_else(|| differ("format", self.format.to_string(), other.format.to_string()))
            .or_else(|| differ("scenario", name(self), name(other)))
            .or_else(|| differ("content of the scenario's files", files(self), files(other)))
            .or_else(|| differ("overrides", overrides(self), overrides(other)))
            .or_else(|| differ("seed", self.seed.to_string(), other.seed.to_string()))
            .or_else(|| differ("number of runs", self.runs.to_string(), other.runs.to_string()))
            .or_else(|| differ("design", self.design.clone(), other.design.clone()))
    }

    /// How many blocks the study has.
    #[must_use]
    pub fn blocks(&self) -> u64 {
        self.runs.div_ceil(BLOCK)
    }

    /// The variations of a block.
    #[must_use]
    pub fn variations_of(&self, block: u64) -> Range<u64> {
        block * BLOCK..self.runs.min((block + 1) * BLOCK)
    }

    /// All variations.
    #[must_use]
    pub fn all(&self) -> Range<u64> {
        0..self.runs
    }
}

/// One of several shares of a study: the `shard`-th of `shards`, from 1.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Share {
    /// Which, from 1.
    pub shard: u64,
    /// Of how many.
    pub shards: u64,
}

impl Share {
    /// The variations of this share: whole blocks, in one run of them, as many as each other but for one.
    #[must_use]
    pub fn of(&self, job: &JobRecord) -> Range<u64> {
        let cut = |shard: u64| {
            let block = u128::from(shard) * u128::from(job.blocks()) / u128::from(self.shards);
            job.runs.min(block as u64 * BLOCK)
        };
        cut(self.shard - 1)..cut(self.shard)
    }
}

impl std::fmt::Display for Share {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}/{}", self.shard, self.shards)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn job(runs: u64) -> JobRecord {
        let vary = VaryJob {
            runs,
            ..VaryJob::default()
        };
        JobRecord::new(&Scenario::default(), ("a.toml", b"x"), &[], &vary)
    }

    #[test]
    fn shares_are_whole_blocks_and_make_up_the_study() {
        for (runs, shards) in [(1, 1), (5_000, 3), (5_120, 5), (1_000, 4), (1 << 32, 7)] {
            let mut next = 0;
            for shard in 1..=shards {
                let share = Share { shard, shards }.of(&job(runs));
                assert_eq!(share.start, next);
                assert!(share.start.is_multiple_of(BLOCK) || share.start == runs);
                next = share.end;
            }
            assert_eq!(next, runs);
        }
    }

    #[test]
    fn what_differs_is_told_with_both_values() {
        assert_eq!(job(7).differs(&job(7)), None);
        assert_eq!(
            job(7).differs(&job(8)),
            Some(["number of runs", "7", "8"].map(str::to_owned))
        );
        let mut other = job(7);
        other.overrides = vec!["a=1".to_owned()];
        assert_eq!(
            job(7).differs(&other),
            Some(["overrides", "none", "a=1"].map(str::to_owned))
        );
        let back: JobRecord = serde_json::from_str(&other.to_json()).expect("a job");
        assert_eq!(back, other);
    }
}

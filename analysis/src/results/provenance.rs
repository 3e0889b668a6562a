//! What went into a result, so that it can be made again: never threads, paths, shards or the clock.

use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

use breathroom_sim::scenario::Scenario;

use crate::chance::Draws;

/// Which scenario a result is of.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct ScenarioFile {
    /// Its title.
    pub title: String,
    /// The name of its file, without folders.
    pub file: String,
    /// SHA-256 of its bytes, in hexadecimal.
    pub sha256: String,
}

impl ScenarioFile {
    /// What stands over its results: its title, or the file's name where it has none.
    #[must_use]
    pub fn heading(&self) -> &str {
        if self.title.is_empty() { &self.file } else { &self.title }
    }
}

/// A file that was read.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct FileDigest {
    /// Its name: of the scenario without folders, of a data file as the scenario names it.
    pub name: String,
    /// SHA-256 of its bytes, in hexadecimal.
    pub sha256: String,
}

/// An uncertain input.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct InputRecord {
    /// Its path.
    pub path: String,
    /// The unit it was written in.
    pub unit: &'static str,
    /// As written.
    pub written: String,
    /// Drawn anew in every turn of its task.
    pub per_turn: bool,
    /// Its dimension in the Sobol sequence, if it was drawn by one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub dimension: Option<u32>,
}

/// The job as it was normalised.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Provenance {
    /// Version of this program.
    pub version: &'static str,
    /// The command.
    pub command: &'static str,
    /// Every file read, the scenario first.
    pub files: Vec<FileDigest>,
    /// The overrides (`--set`), in order.
    pub overrides: Vec<String>,
    /// Seed of the draws, if any were made.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub seed: Option<u64>,
    /// How many variations, if any.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub runs: Option<u64>,
    /// How the draws were laid out, if any were made.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub design: Option<&'static str>,
    /// The variation that was run alone, if one was.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub only: Option<u64>,
    /// The rows of the sensitivity indices, if they were asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub drivers: Option<u64>,
    /// Runs in each level of a rare violation's study, if it was asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rare: Option<u64>,
    /// The uncertain inputs, in file order.
    pub inputs: Vec<InputRecord>,
}

/// SHA-256 in lower-case hexadecimal (FIPS 180-4).
#[must_use]
pub fn sha256_hex(bytes: &[u8]) -> String {
    hex(&Sha256::digest(bytes))
}

/// Bytes in lower-case hexadecimal.
pub(super) fn hex(bytes: &[u8]) -> String {
    use std::fmt::Write as _;
    bytes.iter().fold(String::with_capacity(64), |mut text, byte| {
        let _ = write!(text, "{byte:02x}");
        text
    })
}

impl Provenance {
    /// Says by what design draws were made.
    pub fn drawn_by(&mut self, draws: &Draws) {
        self.design = Some(draws.design().name());
        for (input, &dimension) in self.inputs.iter_mut().zip(draws.dimensions()) {
            input.dimension = dimension;
        }
    }

    /// The part that every command shares.
    #[must_use]
    pub fn new(command: &'static str, scenario: &Scenario, file: &ScenarioFile, overrides: &[String]) -> Self {
        let own = FileDigest {
            name: file.file.clone(),
            sha256: file.sha256.clone(),
        };
        let data = scenario.data_files.iter().map(|(name, bytes)| FileDigest {
            name: name.clone(),
            sha256: sha256_hex(bytes),
        });
        let written = |index: usize| {
            let found = scenario.resolved.iter().find(|value| value.input == Some(index));
            found.map(|value| value.written.clone()).unwrap_or_default()
        };
        Self {
            version: env!("CARGO_PKG_VERSION"),
            command,
            files: std::iter::once(own).chain(data).collect(),
            overrides: overrides.to_vec(),
            seed: None,
            runs: None,
            design: None,
            only: None,
            drivers: None,
            rare: None,
            inputs: scenario
                .inputs
                .iter()
                .enumerate()
                .map(|(index, input)| InputRecord {
                    path: input.path.clone(),
                    unit: input.unit.symbol,
                    written: written(index),
                    per_turn: input.per_turn,
                    dimension: None,
                })
                .collect(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::sha256_hex;

    /// NIST's published example: the one-block message "abc" (FIPS 180-4 examples).
    #[test]
    fn the_digest_is_sha_256() {
        let expected = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
        assert_eq!(sha256_hex(b"abc"), expected);
    }
}

//! A sketch of many values: whole counts in fixed bins, where the values themselves would not fit.
//!
//! Equation: the bin of a positive value is its bits but for the last 42: the exponent and the first 10 bits of the
//! fraction, [lower, lower (1 + up to 2^-10)). Bins of negative values mirror them, but hold their lower edge too. Zero
//! and both infinities have bins of their own. A value is read back as the middle of its bin, held between the smallest
//! and the largest value seen, which are kept as they are.
//! Symbols: values in any one unit; counts without unit.
//! Source: bins of constant relative width as in Masson, Rim and Lee, "DDSketch", PVLDB 12 (2019) 2195-2205, with bins
//! cut from the bits in place of a logarithm.
//! Valid for all values. A value is read back within [`RELATIVE_ERROR`] of itself, those below 2^-1022 in size within
//! 2^-1033; so is every order statistic, since bins keep the order. A count below an edge of a bin is exact: so is the
//! one below 0. Sketches add up to the same one in any order and grouping: counts are whole numbers. -0 is 0; NaN is
//! taken as minus infinity, since nothing good is known of such a run.
//! Memory: 1,024 bins for each factor of two in size, at most about 30 bytes each: under 2 MB for values of both signs
//! from 1e-6 to 1e3 in size, under 130 MB whatever comes.
//! Left out: a choice of the error.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::quantiles;

/// How far a value read back may be from the one that went in, relative to it: half a bin.
pub const RELATIVE_ERROR: f64 = 1.0 / 2048.0;

/// Bits that a bin does not tell apart.
const SHIFT: u32 = 42;
/// The highest of them: what leads from a bin's edge to its middle.
const HALF: u64 = 1 << (SHIFT - 1);
/// The bin of plus infinity; that of minus infinity is its negative.
const INFINITE: i32 = 1 + (0x7ff << 10);

/// Counts in fixed bins, which grow as values come. See the head of this module.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "Stored", into = "Stored")]
pub struct Sketch {
    bins: BTreeMap<i32, u64>,
    /// Smallest and largest; of no meaning while there are no bins.
    ends: [f64; 2],
}

impl Sketch {
    /// Without values.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// Counts one value.
    pub fn add(&mut self, value: f64) {
        let value = clean(value);
        self.widen([value, value]);
        *self.bins.entry(bin(value)).or_insert(0) += 1;
    }

    /// Counts all values of another sketch.
    pub fn merge(&mut self, other: &Self) {
        if !other.bins.is_empty() {
            self.widen(other.ends);
        }
        for (&key, &count) in &other.bins {
            *self.bins.entry(key).or_insert(0) += count;
        }
    }

    /// How many values were counted.
    #[must_use]
    pub fn count(&self) -> u64 {
        self.bins.values().sum()
    }

    /// The same counts, summed up to answer questions.
    #[must_use]
    pub fn ranked(&self) -> Ranked {
        let mut sum = 0;
        let up_to = self.bins.values().map(|count| {
            sum += count;
            sum
        });
        Ranked {
            up_to: up_to.collect(),
            keys: self.bins.keys().copied().collect(),
            ends: self.ends,
        }
    }

    fn widen(&mut self, [least, greatest]: [f64; 2]) {
        if self.bins.is_empty() {
            self.ends = [least, greatest];
        } else {
            self.ends = [self.ends[0].min(least), self.ends[1].max(greatest)];
        }
    }
}

/// A sketch that takes no more values and answers by binary search.
#[derive(Clone, Debug, PartialEq)]
pub struct Ranked {
    keys: Vec<i32>,
    /// Values in the bins up to and with each.
    up_to: Vec<u64>,
    ends: [f64; 2],
}

impl Ranked {
    /// How many values there are.
    #[must_use]
    pub fn count(&self) -> u64 {
        self.up_to.last().copied().unwrap_or(0)
    }

    /// Values below `x`: exact at an edge of a bin (0 is one), at the smallest value and beyond the largest; elsewhere
    /// those below the bin of `x`, which may be too few.
    #[must_use]
    pub fn below(&self, x: f64) -> u64 {
        match self.place(x) {
            Place::Under => 0,
            Place::Over => self.count(),
            Place::Inside if x <= self.ends[0] => 0,
            Place::Inside => self.before(self.keys.partition_point(|&key| key < bin(x))),
        }
    }

    /// Values not above `x`: exact just under an edge, at the largest value and under the smallest; elsewhere those up
    /// to and with the bin of `x`, which may be too many.
    #[must_use]
    pub fn up_to(&self, x: f64) -> u64 {
        match self.place(x) {
            Place::Under => 0,
            Place::Over => self.count(),
            Place::Inside => self.before(self.keys.partition_point(|&key| key <= bin(x))),
        }
    }

    /// The value of the rank `rank`, from 1, upwards; NaN if there is none. The first and the last are exact.
    #[must_use]
    pub fn order_statistic(&self, rank: u64) -> f64 {
        if rank == 0 || rank > self.count() {
            return f64::NAN;
        }
        if rank == 1 || rank == self.count() {
            return self.ends[usize::from(rank > 1)];
        }
        let place = self.up_to.partition_point(|&sum| sum < rank);
        middle(self.keys[place]).clamp(self.ends[0], self.ends[1])
    }

    /// The quantile of the values read back, as [`quantiles::quantile`] defines it.
    #[must_use]
    pub fn quantile(&self, p: f64) -> f64 {
        quantiles::of_ranks(self.count(), p, |rank| self.order_statistic(rank))
    }

    fn before(&self, place: usize) -> u64 {
        place.checked_sub(1).map_or(0, |last| self.up_to[last])
    }

    fn place(&self, x: f64) -> Place {
        match x {
            _ if self.keys.is_empty() || x < self.ends[0] || x.is_nan() => Place::Under,
            _ if x > self.ends[1] => Place::Over,
            _ => Place::Inside,
        }
    }
}

/// Where a number lies among the values.
enum Place {
    Under,
    Inside,
    Over,
}

/// NaN is minus infinity, -0 is 0.
pub(super) fn clean(value: f64) -> f64 {
    if value.is_nan() { f64::NEG_INFINITY } else { value + 0.0 }
}

/// The bin of a value that is not NaN; bins rise with values.
fn bin(value: f64) -> i32 {
    let size = value.abs().to_bits();
    if value > 0.0 {
        1 + (size >> SHIFT) as i32
    } else if value == 0.0 {
        0
    } else if value == f64::NEG_INFINITY {
        -INFINITE
    } else {
        // One less, so that the lower edge belongs to the bin and counts below it are exact on this side too.
        -1 - ((size - 1) >> SHIFT) as i32
    }
}

/// The middle of a bin.
fn middle(key: i32) -> f64 {
    let size = match key.unsigned_abs() {
        0 => 0.0,
        key if key == INFINITE.unsigned_abs() => f64::INFINITY,
        key => f64::from_bits((u64::from(key) - 1) << SHIFT | HALF),
    };
    if key < 0 { -size } else { size }
}

/// A sketch as it is stored: the ends by their bits, since not every format knows infinities.
#[derive(Serialize, Deserialize)]
struct Stored {
    least: u64,
    greatest: u64,
    bins: BTreeMap<i32, u64>,
}

impl From<Sketch> for Stored {
    fn from(sketch: Sketch) -> Self {
        let [least, greatest] = sketch.ends.map(f64::to_bits);
        let bins = sketch.bins;
        Self { least, greatest, bins }
    }
}

impl TryFrom<Stored> for Sketch {
    type Error = String;

    fn try_from(stored: Stored) -> Result<Self, String> {
        let ends = [stored.least, stored.greatest].map(f64::from_bits);
        let bins = stored.bins;
        let sum = bins.values().try_fold(0_u64, |sum, &count| sum.checked_add(count));
        if sum.is_none() || bins.values().any(|&count| count == 0) {
            return Err("a sketch with an empty bin, or more than 2^64 values: counts must be from 1".into());
        }
        let edges = [bins.keys().next(), bins.keys().next_back()];
        for (end, edge) in ends.into_iter().zip(edges) {
            if edge.is_some_and(|&key| end.is_nan() || bin(end) != key) {
                return Err(format!(
                    "a sketch whose smallest or largest value, {end}, is not in its outermost bin"
                ));
            }
        }
        let ends = if bins.is_empty() { [0.0; 2] } else { ends };
        Ok(Self { bins, ends })
    }
}

#[cfg(test)]
#[path = "sketch_tests.rs"]
mod tests;

//! Where a scenario's draws come from: one uniform for each value, whatever makes it.

/// A source of uniforms. A value is its spread's inverse distribution function at the uniform, so truncation, medians and
/// every design of draws work on the same code.
pub trait Luck {
    /// A number in the open interval (0, 1) for one value: the input (its index in `Scenario::inputs`), the turn of a
    /// repeated task (from 1; 0 for inputs drawn once in a variation) and the person (see [`person_key`]; 0 where the
    /// value is not one person's).
    fn uniform(&self, input: usize, turn: u32, person: u32) -> f64;

    /// A key from which the noise of the sensor at a path ("sensors.co2_a") follows in this variation. None: there is no noise,
    /// as in a run on the medians, and in a climb to a rare violation, whose steps are small changes of all that is drawn: noise
    /// that is new at each of them would not be one.
    fn stream(&self, path: &str) -> Option<u64> {
        let _ = path;
        None
    }
}

/// What stands for a person in the key of a draw: 32 bits of their name (FNV-1a; Fowler, Noll and Vo 1991), never 0. The
/// place in the file would not do: a person added in front would take the luck of all others.
#[must_use]
pub fn person_key(name: &str) -> u32 {
    let hash = name.bytes().fold(0x811c_9dc5_u32, |hash, byte| {
        (hash ^ u32::from(byte)).wrapping_mul(0x0100_0193)
    });
    hash.max(1)
}

/// A run without variation: every spread at its median.
#[derive(Clone, Copy, Debug, Default)]
pub struct Medians;

impl Luck for Medians {
    fn uniform(&self, _input: usize, _turn: u32, _person: u32) -> f64 {
        0.5
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_is_hashed_as_published() {
        // Test vectors of the hash's authors.
        assert_eq!(person_key(""), 0x811c_9dc5);
        assert_eq!(person_key("a"), 0xe40c_292c);
        assert_eq!(person_key("foobar"), 0xbf9c_f968);
    }
}

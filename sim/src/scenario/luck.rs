//! Where a scenario's draws come from: one uniform for each value, whatever makes it.

/// A source of uniforms. A value is its spread's inverse distribution function at the uniform, so truncation, medians and
/// every design of draws work on the same code.
pub trait Luck {
    /// A number in the open interval (0, 1) for one value: the input (its index in `Scenario::inputs`), the turn of a
    /// repeated task (from 1; 0 for inputs drawn once in a variation) and the person (index + 1; 0 where the value is
    /// not one person's).
    fn uniform(&self, input: usize, turn: u32, person: u32) -> f64;
}

/// A run without variation: every spread at its median.
#[derive(Clone, Copy, Debug, Default)]
pub struct Medians;

impl Luck for Medians {
    fn uniform(&self, _input: usize, _turn: u32, _person: u32) -> f64 {
        0.5
    }
}

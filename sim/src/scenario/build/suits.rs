//! Suits.

use crate::air::GAS_CONSTANT_J_MOL_K;
use crate::crew::Suit;
use crate::scenario::blueprint::SuitNums;

/// The suit whose gas is in this compartment.
///
/// Its leak is known as an amount per time at its pressure in a vacuum, and kept as the volume that this is there.
pub(super) fn suit(nums: &SuitNums, compartment: usize, values: &[f64]) -> Suit {
    let above_pa = nums.pressure.of(values);
    Suit {
        wearer: nums.wearer,
        compartment,
        above_pa,
        tank: nums.tank,
        supply: nums.supply,
        ventilation_m3_s: nums.ventilation.of(values),
        purge_mol_s: nums.purge.of(values),
        leak_m3_s: nums.leak.of(values) * GAS_CONSTANT_J_MOL_K * nums.temperature.of(values) / above_pa,
    }
}

//! What the engine's arrays are indexed by.

use crate::air::MOST;

/// Most dying sources at once in one species: a gas lag for each person, or two sweat lags and the towels.
pub(crate) const LAGS: usize = MOST;

/// Index of each species.
pub(crate) const CO2: usize = 0;
/// Water vapour.
pub(crate) const WATER: usize = 1;
/// Oxygen.
pub(crate) const OXYGEN: usize = 2;
/// Diluent.
pub(crate) const DILUENT: usize = 3;

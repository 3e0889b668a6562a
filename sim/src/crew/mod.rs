//! People: body, effort, what they take from and give to the air.

mod body;
mod builtins;
mod efforts;
mod energy;
mod heart_rate;
mod lag;
mod person;
mod profile;
mod suit;
mod table;
mod tissue;

pub use body::{Body, J_PER_KCAL, Sex};
pub use builtins::{BUILTINS, Builtin, SPACE_SOURCE, builtin};
pub use efforts::{Rates, RowScale, StageSpec, fixed_rates, kg_per_day, profile, profile_into, reference_uptake_m3_s};
pub use energy::{
    EVAPORATION_J_KG, LITRES_PER_MOL_STPD, MET_W_M2, REFERENCE_VAPOUR_PA, RQ_ACTIVITY_TABLE, RQ_ASHRAE, RQ_BASELINE,
    WEIR_CO2_KCAL_L, WEIR_OXYGEN_KCAL_L, evaporation_w, gases_mol_s, latent_w, load_of_power, weir_w,
};
pub use heart_rate::{
    HEART_RATE_ACCURACY, RESTING_PER_MIN, RESTING_W_M2, UPTAKE_ACCURACY, highest_per_min, iso_8996_w, on_line_w,
    working_capacity_w_m2,
};
pub use lag::{GAS_LAG_S, SWEAT_TAU_S, SWEAT_WEIGHTS, vapour_after};
pub use person::Person;
pub use profile::{Load, Profile, Stage};
pub use suit::Suit;
pub use table::{EXERCISE_INTENSITY, Row};
pub use tissue::{TISSUE_HALF_TIME_S, pre_breathe_s, tissue_after_pa};

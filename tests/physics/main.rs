//! The physics against values from outside. One module for each behaviour.

mod activity_table;
mod apparent_temperature;
mod body;
mod isotherms;
mod limit_sets;
mod metabolism;
mod moist_air;
mod saturation;
mod sorbent;
mod swing_bed;
mod wall_film;

//! The physics against values from outside. One module for each behaviour.

mod activity_table;
mod apparent_temperature;
mod body;
mod limit_sets;
mod metabolism;
mod moist_air;
mod saturation;
mod wall_film;

//! People: body, effort, what they take from and give to the air.

mod person;
mod profile;

pub use person::Person;
pub use profile::{Load, Profile, Stage};

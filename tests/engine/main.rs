//! The engine against an independent integration, closed forms, its identities and its documented order.

mod accuracy;
mod closed_form;
mod closed_hardware;
mod hardware;
mod identities;
mod identities_hardware;
mod limits;
mod order;
mod sortie;
mod survivable;
mod upsets;

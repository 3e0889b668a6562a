//! The engine against an independent integration, closed forms, its identities and its documented order.

mod accuracy;
mod closed_form;
mod hardware;
mod identities;
mod limits;
mod order;
mod sortie;
mod survivable;

//! The engine against an independent integration, closed forms, its identities and its documented order.

// What only the open tests use.
#![cfg_attr(not(feature = "disagreements"), allow(dead_code, unused_imports))]

mod accuracy;
mod closed_form;
mod identities;
mod limits;
mod order;
mod survivable;

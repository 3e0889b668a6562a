//! The desk: a local web page on which a scenario is played with, without writing TOML.
//!
//! ```text
//! text --outline--> parts and fields --forms--> page        typed text --document--> text with that one edit
//! text --sim's reader--> Scenario or faults --work--> nominal run, variations --shown--> curves, margins
//! ```
//!
//! All state is here, none in the browser: a tab that dies loses nothing, a second one sees the same. The text of the file is
//! the one truth; an edit replaces the bytes of one value, so comments, order and line ends stay. Only this machine is
//! served, only with the token of the address, and nothing is asked of the network.

mod curves;
mod document;
mod files;
mod forms;
mod guard;
mod outline;
mod rewrite;
mod routes;
mod save;
mod server;
mod shown;
mod sliders;
mod state;
#[cfg(test)]
mod tests;
mod typed;
mod variant;
mod work;

pub use rewrite::{Change, Edits, Rewritten, Together, rewritten};
pub use server::{Bound, Left, Opening};

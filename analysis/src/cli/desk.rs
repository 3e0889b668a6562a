//! `desk`: a page in the browser, until Ctrl-C.

use std::path::Path;

use super::console::{Console, Ended};
use super::{Code, input};
use crate::desk::{Bound, Opening};

/// Serves the desk.
///
/// # Errors
/// If the file cannot be read or is not TOML, or the port is not to be had.
pub fn desk(file: Option<&Path>, port: Option<u16>, console: &mut Console<'_>) -> Result<Code, Ended> {
    let opening = Opening {
        file: file.map(Path::to_owned),
        port: port.unwrap_or(0),
        reads: input::bytes,
    };
    let bound = Bound::open(&opening).map_err(Ended::Wrong)?;
    let address = bound.address();
    console.say(&format!("{address}\n"))?;
    console.tell("Open this address in a browser of this machine. Ctrl-C ends it.\n");
    let left = bound.serve(console.stop).map_err(Ended::Wrong)?;
    for file in &left.written {
        console.tell(&format!("Changes that were not saved are in {}\n", file.display()));
    }
    if left.lost.is_empty() {
        Ok(Code::Done)
    } else {
        Err(Ended::Wrong(format!("changes are lost: {}", left.lost.join("; "))))
    }
}

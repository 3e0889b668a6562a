//! The reading as a whole: a text and its overrides to a scenario.

use super::reader::Reader;
use super::{Diagnostic, Scenario, overrides, read as sections};
use crate::text::{self, Texts};

/// Largest file that is worth reading, bytes. A caller checks it before it reads.
pub const MAX_BYTES: u64 = 16 * 1024 * 1024;

/// What a scenario is read from.
pub struct Source<'s> {
    /// The file, as the user named it.
    pub name: &'s str,
    /// Its text.
    pub text: &'s str,
    /// Overrides "PATH=VALUE", in order.
    pub overrides: &'s [String],
    /// Reads a data file that the scenario names, as it is written there; the error is why it cannot be read.
    pub files: &'s dyn Fn(&str) -> Result<Vec<u8>, String>,
}

/// The text of a scenario file.
///
/// # Errors
/// If it is empty or not UTF-8: what and where.
pub fn decode<'b>(bytes: &'b [u8], name: &str) -> Result<&'b str, Box<Diagnostic>> {
    text::decode(
        bytes,
        name,
        "a scenario is a text of TOML; `breathroom new FILE` writes one to start from",
    )
}

/// Reads and checks a scenario.
///
/// # Errors
/// Everything that is wrong with it, all at once, in the order of the file; overrides last.
pub fn read(source: &Source<'_>) -> Result<Scenario, Vec<Diagnostic>> {
    if source.text.len() as u64 > MAX_BYTES {
        let message = format!("the file has {} bytes; at most {MAX_BYTES} are read", source.text.len());
        return Err(vec![Diagnostic::of_file(source.name, message, None)]);
    }
    let mut r = Reader::new(Texts::new(source.name, source.text, source.overrides), source.files);
    if source.text.trim_start_matches('\u{feff}').trim().is_empty() {
        let help = "`breathroom new FILE` writes a scenario to start from";
        return Err(vec![Diagnostic::of_file(
            source.name,
            "the file is empty",
            Some(help.to_owned()),
        )]);
    }
    let text::Parsed {
        mut tree,
        broken,
        unclosed,
    } = text::parse(&mut r.texts, source.text);
    if broken.is_empty() {
        overrides::apply(&mut r, &mut tree, source.overrides);
    }
    let syntax = r.texts.faults.len();
    let scenario = sections::scenario(&mut r, &tree, source.name);
    let mut faults = std::mem::take(&mut r.texts.faults);
    if !broken.is_empty() {
        // What a broken line took with it is not missing, and what was made of it is not meant.
        let told = faults.split_off(syntax);
        let last = if unclosed { broken[0] } else { usize::MAX };
        faults.extend(told.into_iter().filter(|f| {
            let on_broken_line = broken.contains(&f.line) || f.line >= last;
            let of_absence = f.message.contains("has no `") || f.message.starts_with("there is no ");
            !on_broken_line && !of_absence
        }));
    }
    if faults.is_empty() {
        return scenario.ok_or_else(|| vec![Diagnostic::of_file(source.name, "the scenario cannot be read", None)]);
    }
    faults.sort_by(|a, b| {
        // Those of overrides stay in their own order.
        let order = |d: &Diagnostic| {
            if d.file == source.name {
                (false, d.span.start, d.span.end)
            } else {
                (true, 0, 0)
            }
        };
        order(a).cmp(&order(b))
    });
    faults.dedup();
    Err(faults)
}

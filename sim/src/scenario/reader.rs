//! What every part of the reading shares: the texts, the names, and what has been understood so far.

use std::collections::BTreeMap;

use super::keys::What;
use super::known::Known;
use super::{Amount, Input, Origin, Resolved};
use crate::text::Texts;
use crate::text::{Node, Spot, Value};

/// Reads a data file by its name as written.
pub(super) type Files<'s> = &'s dyn Fn(&str) -> Result<Vec<u8>, String>;

/// The state of a reading.
pub(super) struct Reader<'s> {
    pub texts: Texts,
    pub known: Known,
    pub inputs: Vec<Input>,
    pub resolved: Vec<Resolved>,
    /// Where every value that was written stands, by path.
    pub spots: Vec<(String, Spot)>,
    pub data_files: Vec<(String, Vec<u8>)>,
    files: Files<'s>,
    failed: BTreeMap<String, String>,
}

impl<'s> Reader<'s> {
    pub fn new(texts: Texts, files: Files<'s>) -> Self {
        Self {
            texts,
            known: Known::default(),
            inputs: Vec::new(),
            resolved: Vec::new(),
            spots: Vec::new(),
            data_files: Vec::new(),
            files,
            failed: BTreeMap::new(),
        }
    }

    /// A data file's content, read once.
    pub fn file(&mut self, name: &str) -> Result<Vec<u8>, String> {
        if let Some((_, bytes)) = self.data_files.iter().find(|(known, _)| known == name) {
            return Ok(bytes.clone());
        }
        if let Some(why) = self.failed.get(name) {
            return Err(why.clone());
        }
        match (self.files)(name) {
            Ok(bytes) => {
                self.data_files.push((name.to_owned(), bytes.clone()));
                Ok(bytes)
            }
            Err(why) => {
                self.failed.insert(name.to_owned(), why.clone());
                Err(why)
            }
        }
    }

    /// Notes a value that was written at this spot.
    pub fn note(&mut self, path: String, node: &Node, si: String, input: Option<usize>) {
        let written = match &node.value {
            Value::Text(text) => text.clone(),
            _ => self
                .texts
                .slice(&node.spot)
                .split_whitespace()
                .collect::<Vec<_>>()
                .join(" "),
        };
        let origin = super::value::origin(self, &node.spot);
        self.spots.push((path.clone(), node.spot.clone()));
        self.resolved.push(Resolved {
            path,
            written,
            si,
            origin,
            input,
            amount: None,
        });
    }

    /// Notes a value that is not in the file.
    pub fn assume(&mut self, path: String, written: &str, si: String, source: &str, from_memory: bool) {
        let origin = Origin::Default {
            source: source.to_owned(),
            from_memory,
        };
        self.resolved.push(Resolved {
            path,
            written: written.to_owned(),
            si,
            origin,
            input: None,
            amount: None,
        });
    }

    /// Adds to the value noted last what it amounts to.
    pub fn amounts(&mut self, amount: Amount) {
        if let Some(last) = self.resolved.last_mut() {
            last.amount = Some(amount);
        }
    }

    /// The index of a name, or a fault.
    pub fn refer(&mut self, what: What, name: &str, spot: &Spot) -> Option<usize> {
        let found = self.known.index(what, name);
        // Where there are no suits, no one meant one.
        let what = match what {
            What::Gas if self.known.suits.list.is_empty() => What::Compartment,
            _ => what,
        };
        if found.is_none() {
            let list = self.known.list(what);
            let help = self.texts.meant(name, list.iter().map(String::as_str));
            let help = if help.is_empty() {
                format!("the file names no {} at all", what.words())
            } else {
                help
            };
            let none = list.is_empty();
            let help = if none || !help.starts_with("the file") {
                help
            } else {
                String::new()
            };
            self.texts
                .fault(spot, format!("there is no {} `{name}`", what.words()), help);
        }
        found
    }
}

//! One variant of the scenario: its text, what it was before, how it reads, and what its runs gave last.

use std::path::Path;
use std::sync::Arc;

use breathroom_sim::scenario::{self, Diagnostic, Scenario};

use super::document::Document;
use super::files::{self, Reads};
use super::outline::Outline;
use super::sliders::Hold;
use super::work::{Nominal, Studied};

/// Most steps back that are kept, and most bytes of them.
const MOST_STEPS: usize = 1_000;
const MOST_BYTES: usize = 64 << 20;

/// A text as it reads.
pub(super) struct Reading {
    /// The text taken apart.
    pub outline: Outline,
    /// The scenario, or all that is wrong with it.
    pub read: Result<Arc<Scenario>, Vec<Diagnostic>>,
}

impl Reading {
    /// Reads a text under a name, with data files below a folder.
    pub fn of(text: &str, name: &str, folder: &Path, reads: Reads) -> Self {
        // Neither needs the other, and a hand waits for both.
        let read = || {
            scenario::read(&scenario::Source {
                name,
                text,
                overrides: &[],
                files: &|data: &str| files::data(folder, data, reads),
            })
        };
        let (outline, read) = rayon::join(|| Outline::of(text), read);
        Self {
            outline,
            read: read.map(Arc::new),
        }
    }
}

/// One variant.
pub(super) struct Variant {
    /// A number of its own, which no later variant has.
    pub id: u64,
    /// What stands there.
    pub document: Document,
    /// How it reads.
    pub reading: Reading,
    /// Changes with every text that differs.
    pub revision: u64,
    /// The scenario that was read last without a fault.
    pub last_good: Option<Arc<Scenario>>,
    /// The text as it is in the file; of a copy, as it was copied.
    pub saved: String,
    /// The nominal run that ended last, and of which revision it is.
    pub nominal: Option<(u64, Arc<Nominal>)>,
    /// Why the nominal run of a revision gave nothing.
    pub failed: Option<(u64, String)>,
    /// The variations that ended last, likewise.
    pub studied: Option<(u64, Arc<Studied>)>,
    before: Vec<Document>,
    after: Vec<Document>,
    /// One movement of the hand, or one field that is typed in: a single step back.
    gesture: Option<(String, String)>,
    hold: Option<Hold>,
}

impl Variant {
    /// One of a text.
    pub fn new(id: u64, revision: u64, document: Document, reading: Reading, saved: String) -> Self {
        let last_good = reading.read.as_ref().ok().cloned();
        Self {
            id,
            document,
            reading,
            revision,
            last_good,
            saved,
            nominal: None,
            failed: None,
            studied: None,
            before: Vec::new(),
            after: Vec::new(),
            gesture: None,
            hold: None,
        }
    }

    /// Puts another document in place of this one; edits of one gesture are one step back.
    pub fn change(&mut self, document: Document, gesture: Option<(&str, &str)>) {
        let same = match (&self.gesture, gesture) {
            (Some((known, of)), Some((name, path))) => known == name && of == path,
            _ => false,
        };
        if !same {
            self.before.push(self.document.clone());
            self.hold = None;
            self.gesture = gesture.map(|(name, path)| (name.to_owned(), path.to_owned()));
            self.forget();
        }
        self.after.clear();
        self.document = document;
    }

    fn forget(&mut self) {
        let size = |document: &Document| document.text.len();
        while self.before.len() > MOST_STEPS
            || (self.before.len() > 1 && self.before.iter().map(size).sum::<usize>() > MOST_BYTES)
        {
            self.before.remove(0);
        }
    }

    /// What a slider writes at a path. During one movement it starts from what stood there when it began, so that nothing is
    /// lost to rounding on the way.
    ///
    /// # Errors
    /// If there is no number to move: why.
    pub fn held(&mut self, path: &str, gesture: &str) -> Result<Hold, String> {
        let same = self
            .gesture
            .as_ref()
            .is_some_and(|(known, of)| known == gesture && of == path);
        if same && let Some(hold) = &self.hold {
            return Ok(hold.clone());
        }
        let Some(scenario) = &self.last_good else {
            return Err("nothing can be moved before the scenario has been read without a fault".to_owned());
        };
        let key = self.reading.outline.field(path).and_then(|field| field.key);
        Hold::new(scenario, path, key)
    }

    /// Keeps what [`Variant::held`] gave for the rest of the movement.
    pub fn keep(&mut self, hold: Hold) {
        self.hold = Some(hold);
    }

    /// One step back or forth; false if there is none.
    pub fn step(&mut self, back: bool) -> bool {
        let (from, to) = if back {
            (&mut self.before, &mut self.after)
        } else {
            (&mut self.after, &mut self.before)
        };
        let Some(document) = from.pop() else { return false };
        to.push(std::mem::replace(&mut self.document, document));
        self.gesture = None;
        self.hold = None;
        true
    }

    /// How many steps there are back and forth.
    pub fn steps(&self) -> (usize, usize) {
        (self.before.len(), self.after.len())
    }

    /// Takes a new reading of the document.
    pub fn reads(&mut self, reading: Reading, revision: u64) {
        if let Ok(scenario) = &reading.read {
            self.last_good = Some(scenario.clone());
        }
        self.reading = reading;
        self.revision = revision;
    }

    /// Whether there is something that is in no file.
    pub fn unsaved(&self) -> bool {
        self.document.text != self.saved || !self.document.drafts.is_empty()
    }

    /// The scenario to run: none while something is wrong, a draft included.
    pub fn runnable(&self) -> Option<&Arc<Scenario>> {
        self.reading
            .read
            .as_ref()
            .ok()
            .filter(|_| self.document.drafts.is_empty())
    }
}

//! All that the desk knows: variants, sliders, runs under way; and what may be done to it.

use std::path::PathBuf;
use std::sync::atomic::Ordering;
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

use serde::Deserialize;
use tokio::sync::watch;

use super::document::{Document, Refused};
use super::files::Reads;
use super::save::{self, NotSaved};
use super::sliders::{self, Slider};
use super::variant::{Reading, Variant};
use super::work::{self, Run, Runner, Study};
use crate::results::sha256_hex;

/// Variations without a choice of one's own, the fewest and the most.
const RUNS: u64 = 200;
const FEWEST: u64 = 60;
const MOST: u64 = 2_000;
/// Most bytes of a text.
const MOST_BYTES: usize = 16 << 20;

/// The desk, as all threads share it.
pub(super) struct Desk {
    state: Mutex<State>,
    wake: Condvar,
    /// The version of the state, for whoever waits for the next.
    pub told: watch::Sender<u64>,
    /// How runs are made.
    pub runner: Runner,
    /// Where the scenario is, and how files are read.
    pub folder: PathBuf,
    reads: Reads,
}

/// What changes.
pub(super) struct State {
    /// Goes up with everything that a page may want to show.
    pub version: u64,
    /// Goes up with texts, sliders, names.
    pub forms: u64,
    /// Goes up with results.
    pub results: u64,
    /// A, and B if there is one.
    pub variants: Vec<Variant>,
    /// Paths with a slider; none: the usual ones.
    pub pins: Option<Vec<String>>,
    /// Variations to be run.
    pub runs: u64,
    /// The file's name; none before it was saved first.
    pub name: Option<String>,
    /// SHA-256 of the file as it was read or saved last.
    pub known: Option<String>,
    /// When a text changed last.
    pub changed: Instant,
    /// Runs on the medians under way.
    pub running: Vec<Run>,
    /// Variations under way.
    pub study: Option<Study>,
    /// The desk is to end.
    pub ended: bool,
    next: u64,
}

/// A or B.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
pub(super) enum Which {
    /// The first.
    A,
    /// The second.
    B,
}

/// What a page may ask for.
#[derive(Debug, Deserialize)]
#[serde(tag = "do", rename_all = "kebab-case", deny_unknown_fields)]
#[allow(missing_docs)] // each is one sentence of `routes`
pub(super) enum Action {
    Edit {
        variant: Which,
        path: String,
        text: String,
        #[serde(default)]
        gesture: Option<String>,
    },
    Slide {
        variant: Which,
        path: String,
        value: f64,
        gesture: String,
    },
    Add {
        variant: Which,
        part: String,
        name: String,
    },
    Remove {
        variant: Which,
        path: String,
    },
    AddTable {
        variant: Which,
        group: String,
        name: String,
    },
    RemoveTable {
        variant: Which,
        path: String,
    },
    Undo {
        variant: Which,
    },
    Redo {
        variant: Which,
    },
    Copy,
    Drop,
    Promote,
    Pin {
        path: String,
        pinned: bool,
    },
    Runs {
        runs: u64,
    },
}

/// A wish to save.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Saving {
    /// Which variant.
    pub variant: Which,
    /// Under which name.
    pub name: String,
    /// The digest of the file that may be replaced, as the question gave it.
    #[serde(default)]
    pub over: Option<String>,
}

impl State {
    /// Ends the variations under way.
    pub fn stop_study(&self) {
        if let Some(study) = &self.study {
            study.stop.store(true, Ordering::SeqCst);
        }
    }

    fn number(&mut self) -> u64 {
        self.next += 1;
        self.next
    }

    fn variant(&mut self, which: Which) -> Result<&mut Variant, Refused> {
        let index = which as usize;
        self.variants
            .get_mut(index)
            .ok_or_else(|| Refused::Gone("there is no variant B any more".to_owned()))
    }

    /// Paths that have a slider now.
    pub fn pinned(&self) -> Vec<String> {
        if let Some(pins) = &self.pins {
            return pins.clone();
        }
        let first = &self.variants[0];
        let good = first.last_good.as_ref();
        good.map_or_else(Vec::new, |scenario| sliders::usual(&first.reading.outline, scenario))
    }
}

impl Desk {
    /// A desk with one variant.
    pub fn new(folder: PathBuf, name: Option<String>, text: String, reads: Reads, runner: Runner) -> Arc<Self> {
        let shown = name.clone().unwrap_or_else(|| UNNAMED.to_owned());
        let reading = Reading::of(&text, &shown, &folder, reads);
        let known = name.is_some().then(|| sha256_hex(text.as_bytes()));
        let first = Variant::new(1, 2, Document::new(text.clone()), reading, text);
        Arc::new(Self {
            state: Mutex::new(State {
                version: 1,
                forms: 1,
                results: 1,
                variants: vec![first],
                pins: None,
                runs: RUNS,
                name,
                known,
                changed: Instant::now(),
                running: Vec::new(),
                study: None,
                ended: false,
                next: 2,
            }),
            wake: Condvar::new(),
            told: watch::Sender::new(1),
            runner,
            folder,
            reads,
        })
    }

    /// The state, for one thread at a time. A thread that panicked has left it whole: every change is made at its end.
    pub fn lock(&self) -> MutexGuard<'_, State> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Waits until something changes, or for so long.
    pub fn wait<'s>(&self, state: MutexGuard<'s, State>, most: Duration) -> MutexGuard<'s, State> {
        let waited = self.wake.wait_timeout(state, most);
        waited.unwrap_or_else(PoisonError::into_inner).0
    }

    /// The state once the runs of what stands there have ended, or after so long.
    pub fn settled(&self, most: Duration) -> MutexGuard<'_, State> {
        let began = Instant::now();
        let mut state = self.lock();
        while work::awaited(&state)
            && let Some(left) = most.checked_sub(began.elapsed())
        {
            state = self.wait(state, left);
        }
        state
    }

    /// Tells everyone that the state is another.
    pub fn tell(&self, state: &mut State) {
        state.version += 1;
        self.told.send_replace(state.version);
        self.wake.notify_all();
    }

    /// Ends the desk's runs.
    pub fn end(&self) {
        let mut state = self.lock();
        state.ended = true;
        state.stop_study();
        self.tell(&mut state);
    }

    fn read(&self, state: &State, text: &str) -> Reading {
        let name = state.name.as_deref().unwrap_or(UNNAMED);
        Reading::of(text, name, &self.folder, self.reads)
    }

    /// Does what a page asks for.
    ///
    /// # Errors
    /// If it cannot be done: why. Nothing is changed then.
    pub fn act(self: &Arc<Self>, action: Action) -> Result<(), Refused> {
        let mut state = self.lock();
        let mut hold = None;
        let (which, document, gesture) = match action {
            Action::Edit {
                variant,
                path,
                text,
                gesture,
            } => {
                let document = state.variant(variant)?.document.typed(&path, &text)?;
                (variant, document, gesture.map(|gesture| (gesture, path)))
            }
            Action::Slide {
                variant,
                path,
                value,
                gesture,
            } => {
                if !value.is_finite() {
                    return Err(Refused::Cannot("a slider is at a number".to_owned()));
                }
                let known = state.variant(variant)?;
                let held = known.held(&path, &gesture).map_err(Refused::Cannot)?;
                let document = known.document.with(&path, &held.written(value))?;
                hold = Some(held);
                (variant, document, Some((gesture, path)))
            }
            Action::Add { variant, part, name } => {
                (variant, state.variant(variant)?.document.added(&part, &name)?, None)
            }
            Action::Remove { variant, path } => (variant, state.variant(variant)?.document.without(&path)?, None),
            Action::AddTable { variant, group, name } => (
                variant,
                state.variant(variant)?.document.with_part(&group, &name)?,
                None,
            ),
            Action::RemoveTable { variant, path } => {
                (variant, state.variant(variant)?.document.without_part(&path)?, None)
            }
            Action::Undo { variant } => return self.step(state, variant, true),
            Action::Redo { variant } => return self.step(state, variant, false),
            other => return self.arrange(state, other),
        };
        if document.text.len() > MOST_BYTES {
            return Err(Refused::Cannot("the scenario would be too large to be read".to_owned()));
        }
        let gesture = gesture.as_ref().map(|(name, path)| (name.as_str(), path.as_str()));
        let known = state.variant(which)?;
        if known.document == document {
            return Ok(());
        }
        known.change(document, gesture);
        if let Some(hold) = hold {
            known.keep(hold);
        }
        self.reread(&mut state, which);
        self.tell(&mut state);
        Ok(())
    }

    fn step(self: &Arc<Self>, mut state: MutexGuard<'_, State>, which: Which, back: bool) -> Result<(), Refused> {
        if !state.variant(which)?.step(back) {
            let word = if back { "undo" } else { "redo" };
            return Err(Refused::Cannot(format!("there is nothing to {word}")));
        }
        self.reread(&mut state, which);
        self.tell(&mut state);
        Ok(())
    }

    /// Reads a variant's text, which was changed.
    fn reread(self: &Arc<Self>, state: &mut State, which: Which) {
        let revision = state.number();
        let text = state.variants[which as usize].document.text.clone();
        let reading = self.read(state, &text);
        state.variants[which as usize].reads(reading, revision);
        state.changed = Instant::now();
        state.forms += 1;
        state.results += 1;
        state.stop_study();
        work::begin_runs(self, state);
    }

    /// What is done to variants, sliders and numbers, and not to a text.
    fn arrange(self: &Arc<Self>, mut state: MutexGuard<'_, State>, action: Action) -> Result<(), Refused> {
        match action {
            Action::Copy => {
                if state.variants.len() > 1 {
                    return Err(Refused::Cannot("there is a variant B already".to_owned()));
                }
                let (id, revision) = (state.number(), state.number());
                let document = state.variants[0].document.clone();
                let saved = document.text.clone();
                let reading = self.read(&state, &document.text);
                state
                    .variants
                    .push(Variant::new(id, revision, document, reading, saved));
            }
            Action::Drop => {
                state.variant(Which::B)?;
                state.variants.truncate(1);
            }
            Action::Promote => {
                let document = state.variant(Which::B)?.document.clone();
                state.variants.truncate(1);
                state.variants[0].change(document, None);
                self.reread(&mut state, Which::A);
            }
            Action::Pin { path, pinned } => {
                let mut pins = state.pinned();
                pins.retain(|known| *known != path);
                if pinned {
                    let movable = state.variants.iter().any(|variant| {
                        let key = variant.reading.outline.field(&path).and_then(|field| field.key);
                        let good = variant.last_good.as_ref();
                        good.and_then(|good| Slider::of(good, sliders::resolved(good, &path)?, key))
                            .is_some()
                    });
                    if !movable {
                        return Err(Refused::Cannot(format!("`{path}` is no number that could be moved")));
                    }
                    pins.push(path);
                }
                state.pins = Some(pins);
            }
            Action::Runs { runs } => {
                if !(FEWEST..=MOST).contains(&runs) {
                    return Err(Refused::Cannot(format!(
                        "{FEWEST} to {MOST} variations can be run here"
                    )));
                }
                state.runs = runs;
            }
            _ => return Err(Refused::Cannot("this cannot be done".to_owned())),
        }
        state.changed = Instant::now();
        state.stop_study();
        state.forms += 1;
        state.results += 1;
        self.tell(&mut state);
        Ok(())
    }

    /// Saves a variant.
    ///
    /// # Errors
    /// Why not, or what is to be asked first.
    pub fn save(&self, saving: &Saving) -> Result<(), NotSaved> {
        let name = save::plain(&saving.name).map_err(NotSaved::Wrong)?;
        let mut state = self.lock();
        let gone = |_| NotSaved::Wrong("there is no variant B any more".to_owned());
        let known = state.known.clone().filter(|_| state.name.as_deref() == Some(name));
        let variant = state.variant(saving.variant).map_err(gone)?;
        if let Some((path, _)) = variant.document.drafts.iter().next() {
            return Err(NotSaved::Wrong(format!(
                "`{path}` holds what is no TOML and cannot be saved: mend it or take it back first"
            )));
        }
        let text = variant.document.text.clone();
        save::save(
            (&self.folder, name),
            &text,
            saving.over.as_deref(),
            known.as_deref(),
            self.reads,
        )?;
        variant.saved.clone_from(&text);
        // A copy that is saved under another name leaves the file of A as it was.
        if saving.variant == Which::A || state.name.as_deref() == Some(name) {
            state.name = Some(name.to_owned());
            state.known = Some(sha256_hex(text.as_bytes()));
        }
        state.forms += 1;
        self.tell(&mut state);
        Ok(())
    }

    /// Text that is in no file, with the stem of the file that it is to go to.
    pub fn unsaved(&self) -> Vec<(String, String)> {
        let state = self.lock();
        let name = state.name.as_deref().unwrap_or(UNNAMED);
        let stem = name.strip_suffix(".toml").unwrap_or(name);
        let variants = state.variants.iter().enumerate();
        variants
            .filter(|(_, variant)| variant.unsaved())
            .map(|(n, variant)| {
                let stem = if n == 0 { stem.to_owned() } else { format!("{stem}-b") };
                (stem, variant.document.whole())
            })
            .collect()
    }
}

/// What a scenario without a file is called.
pub(super) const UNNAMED: &str = "scenario.toml";

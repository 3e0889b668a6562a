//! The bar that shows how far a study is.

use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::Duration;

use indicatif::{ProgressBar, ProgressStyle};

/// A progress bar on standard error, or none.
pub struct Bar {
    bar: ProgressBar,
    done: Arc<AtomicU64>,
}

/// Counts variations for a bar, from any thread.
pub struct Counter {
    bar: ProgressBar,
    done: Arc<AtomicU64>,
}

impl Bar {
    /// Of `runs` variations, some of which were there before.
    pub fn new(runs: u64, before: u64, shown: bool) -> Self {
        let bar = if shown {
            ProgressBar::new(runs)
        } else {
            ProgressBar::hidden()
        };
        // Without colour. A template of this program's own is valid; were it not, the bar would have the usual look.
        if let Ok(style) = ProgressStyle::with_template("{bar:40} {pos}/{len} variations, {eta} left") {
            bar.set_style(style.progress_chars("=> "));
        }
        if shown {
            bar.set_position(before);
            bar.reset_eta();
            bar.enable_steady_tick(Duration::from_millis(200));
        }
        Self {
            bar,
            done: Arc::new(AtomicU64::new(before)),
        }
    }

    /// Of runs whose number is not known before; `what` says which.
    pub fn further(what: &'static str, shown: bool) -> Self {
        let bar = if shown {
            ProgressBar::no_length()
        } else {
            ProgressBar::hidden()
        };
        if let Ok(style) = ProgressStyle::with_template("{pos} {msg}, {per_sec}") {
            bar.set_style(style);
        }
        bar.set_message(what);
        if shown {
            bar.enable_steady_tick(Duration::from_millis(200));
        }
        Self {
            bar,
            done: Arc::new(AtomicU64::new(0)),
        }
    }

    /// What counts.
    pub fn counter(&self) -> Counter {
        Counter {
            bar: self.bar.clone(),
            done: Arc::clone(&self.done),
        }
    }

    /// Takes it from the screen.
    pub fn clear(&self) {
        self.bar.finish_and_clear();
    }
}

impl Counter {
    /// One more is done.
    pub fn count(&self) {
        let done = self.done.fetch_add(1, Ordering::Relaxed) + 1;
        self.bar.set_position(done);
    }
}

//! Timed tasks: from a list of durations to the spread of each task, with what is unsure of it.
//!
//! ```text
//! Sheet --read--> Trial (each row, used or not) --by task--> Task: families, choice, outliers, learning, people --> text of a spread
//! ```
//!
//! Nothing is left out unless it is asked for: what lies far from the rest is shown, and stays. The spread that is written has the
//! maximum-likelihood family of the smallest AICc, unless a simpler one is as good; its width is corrected to be as likely too wide as too
//! narrow; and it says how many trials it rests on, so that variations draw what these leave unsure.

mod again;
mod choose;
mod goodness;
mod learning;
mod outliers;
mod people;
mod read;
mod timeline;
mod written;

pub use again::{Held, Kept, held, kept};
pub use choose::{Choice, INDISTINGUISHABLE, choose};
pub use goodness::{Goodness, anderson_darling, goodness};
pub use learning::{Learning, learning};
pub use outliers::{FAR, robust_distances};
pub use people::{People, people};
pub use read::{Asked, Trial, Why, read};
pub use timeline::{Looked, Range, Row, timeline};
pub use written::{Written, written};

use super::families::{Family, Fitted};

/// Fewest trials that a spread is fitted to.
pub const LEAST: usize = breathroom_sim::spread::LEAST_TRIALS as usize;
/// Most bootstrap samples of a test of goodness of fit.
pub const BOOTSTRAP: u32 = 400;

/// What the trials of one task say.
#[derive(Clone, Debug)]
pub struct Task {
    /// Its id in the scenario.
    pub id: String,
    /// Indices of its trials that are used.
    pub used: Vec<usize>,
    /// Every family that could be fitted, with its test; in the order of [`Family::ALL`].
    pub fits: Vec<(Fitted, Goodness)>,
    /// Index of the one that is written, and why.
    pub choice: Choice,
    /// How durations go with practice; none if there is too little to tell.
    pub learning: Option<Learning>,
    /// How people differ.
    pub people: People,
    /// As a scenario has it.
    pub written: Written,
}

impl Task {
    /// The fit that is written.
    #[must_use]
    pub fn fitted(&self) -> &Fitted {
        &self.fits[self.choice.index].0
    }
}

/// Why a task has no spread.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unfitted {
    /// Its id.
    pub id: String,
    /// Why.
    pub why: String,
}

/// Every task of the list, in the order of its first trial. `family` is fitted whatever the criteria say, if it is given; the seed is that of the
/// bootstrap.
#[must_use]
pub fn fit(trials: &[Trial], family: Option<Family>, seed: u64) -> (Vec<Task>, Vec<Unfitted>) {
    let mut ids: Vec<&str> = Vec::new();
    for trial in trials {
        if !ids.contains(&trial.task.as_str()) {
            ids.push(&trial.task);
        }
    }
    let (mut tasks, mut without) = (Vec::new(), Vec::new());
    for id in ids {
        match one(trials, id, family, seed) {
            Ok(task) => tasks.push(task),
            Err(why) => without.push(Unfitted { id: id.to_owned(), why }),
        }
    }
    (tasks, without)
}

fn one(trials: &[Trial], id: &str, family: Option<Family>, seed: u64) -> Result<Task, String> {
    let of_task = |trial: &Trial| trial.task == id && trial.left_out.is_none();
    let used: Vec<usize> = (0..trials.len()).filter(|&index| of_task(&trials[index])).collect();
    if used.len() < LEAST {
        return Err(format!(
            "{} used, and a spread takes {LEAST} at least",
            trials_in_words(used.len())
        ));
    }
    let seconds: Vec<f64> = used.iter().map(|&index| trials[index].seconds).collect();
    if seconds.iter().all(|s| *s == seconds[0]) {
        return Err(
            "all its durations are the same: nothing is seen of how they spread; time it more finely".to_owned(),
        );
    }
    let fitted = Family::ALL.iter().filter_map(|family| family.fit(&seconds));
    let fits: Vec<(Fitted, Goodness)> = fitted
        .map(|fit| {
            let tested = goodness(&fit, &seconds, (seed, id), BOOTSTRAP);
            (fit, tested)
        })
        .collect();
    let choice = choose(&fits, &seconds, family)?;
    let own: Vec<&Trial> = used.iter().map(|&index| &trials[index]).collect();
    let people = people(&own);
    let written = written(&fits[choice.index].0, people.effective)
        .ok_or("its durations are too much alike, or too far apart, for a spread")?;
    Ok(Task {
        id: id.to_owned(),
        learning: learning(&own),
        people,
        written,
        fits,
        choice,
        used,
    })
}

/// "1 trial", "6 trials".
#[must_use]
pub fn trials_in_words(count: usize) -> String {
    if count == 1 {
        "1 trial".to_owned()
    } else {
        format!("{count} trials")
    }
}

#[cfg(test)]
mod tests;

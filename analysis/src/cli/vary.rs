//! `vary`: many variations, their statistics, and every one of them in a table.

use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::Duration;

use breathroom_sim::scenario::Medians;
use indicatif::{ProgressBar, ProgressStyle};

use super::console::{Console, Ended};
use super::job::ScenarioJob;
use super::{Code, deliver, run, scenario_file};
use crate::results::{judged, variations};
use crate::study::{self, StudyError, VaryJob};

/// Runs the variations of a scenario.
///
/// # Errors
/// If the scenario is wrong, its medians cannot be run, or the results cannot be written. A variation that fails is part
/// of the results.
pub fn vary(job: &ScenarioJob, vary: &VaryJob, console: &mut Console<'_>) -> Result<Code, Ended> {
    let read = scenario_file::read(job, console)?;
    let stem = deliver::stem(&read, "vary");
    let target = deliver::target(&job.output, &stem)?;
    let bar = Bar::new(vary.runs, console.progress && !job.output.quiet);
    let result = {
        let (scenario, vary, stop) = (read.scenario.clone(), *vary, console.stop);
        let done = bar.counter();
        console.interruptible(move || study::vary(&scenario, &vary, &|_| done.count(), stop))
    };
    bar.clear();
    let varied = result?.map_err(|error| match error {
        StudyError::Stopped => Ended::Interrupted,
        StudyError::Medians(error) => run::failed("the run on the medians", &error, &read),
        other => Ended::Wrong(other.to_string()),
    })?;
    let case = read.scenario.draw(&Medians).case;
    let mut summary = run::summary("vary", job, &read, &case, &varied.medians);
    judged::add(&mut summary, &varied, &read.scenario, &case.plan);
    let tables = [variations::table(&varied.runs, &read.scenario, &case)];
    deliver::results(console, &job.output, target, &stem, &summary, &tables)?;
    Ok(if varied.survival.failed > 0 {
        Code::Failed
    } else if varied.gate_met() {
        Code::Done
    } else {
        Code::NotMet
    })
}

/// A progress bar on standard error, or none.
struct Bar {
    bar: ProgressBar,
    done: Arc<AtomicU64>,
}

/// Counts variations for a bar, from any thread.
struct Counter {
    bar: ProgressBar,
    done: Arc<AtomicU64>,
}

impl Bar {
    fn new(runs: u64, shown: bool) -> Self {
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
            bar.enable_steady_tick(Duration::from_millis(200));
        }
        Self {
            bar,
            done: Arc::new(AtomicU64::new(0)),
        }
    }

    fn counter(&self) -> Counter {
        Counter {
            bar: self.bar.clone(),
            done: Arc::clone(&self.done),
        }
    }

    fn clear(&self) {
        self.bar.finish_and_clear();
    }
}

impl Counter {
    fn count(&self) {
        let done = self.done.fetch_add(1, Ordering::Relaxed) + 1;
        self.bar.set_position(done);
    }
}

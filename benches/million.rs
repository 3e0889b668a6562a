//! Memory of a million variations of the reference week, from the first draw to the results.
//!
//! `VARIATIONS=1000000 cargo bench -p breathroom-benches --bench million`; with `DESIGN=sobol` another design of draws. A million weeks take
//! most of a day, and memory does not depend on what is in them. So only every few hundredth variation of a thread is run; each of the
//! others draws its own inputs and then stands in with the last outcome, its margins moved by what was drawn. Everything around the
//! engine is what `vary` does: streamed to blocks in a folder, which `merge` then joins to statistics and tables. What is
//! measured is the most memory that the process ever held (`VmHWM`, so on Linux alone), engines included.
//!
//! Without `VARIATIONS` there are few, so that all benches may be run in one go.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::atomic::AtomicBool;
use std::time::Instant;

use breathroom_analysis::chance::Design;
use breathroom_analysis::cli::main_with;
use breathroom_analysis::results::parts::{Family, JobRecord, PartError, Share, Work};
use breathroom_analysis::study::{Running, Shape, Simulate, VaryJob, draws, pool, stream};
use breathroom_benches::{REFERENCE_WEEK, reference_week};
use breathroom_sim::engine::{Outcome, RunError};
use breathroom_sim::scenario::{Drawn, Luck, Scenario};

/// Variations where nothing else is asked for.
const FEW: u64 = 4096;
/// Of so many variations of a thread one is run.
const RUN_ONE_OF: u64 = 500;

/// The week, mostly not run.
struct Mostly<'a> {
    week: &'a Scenario,
}

struct Worker {
    week: <Scenario as Simulate>::Worker,
    drawn: Drawn,
    turn: u64,
    last: Outcome,
    course: Vec<f32>,
}

impl Mostly<'_> {
    /// Whether this turn is one to run.
    fn turn(worker: &mut Worker) -> bool {
        worker.turn += 1;
        worker.turn % RUN_ONE_OF == 1
    }

    /// The last outcome, its margins moved by what is drawn here.
    fn stand_in(&self, luck: &dyn Luck, worker: &mut Worker, values: &mut [f64], outcome: &mut Outcome) {
        self.week.draw_into(luck, &mut worker.drawn);
        values.copy_from_slice(&worker.drawn.values);
        outcome.clone_from(&worker.last);
        for (place, rule) in outcome.rules.iter_mut().enumerate() {
            rule.margin *= 0.5 + luck.uniform(place % values.len(), 1, 1);
        }
    }
}

impl Simulate for Mostly<'_> {
    type Worker = Worker;

    fn worker(&self) -> Worker {
        Worker {
            week: self.week.worker(),
            drawn: Drawn::default(),
            turn: 0,
            last: Outcome::default(),
            course: Vec::new(),
        }
    }

    fn paths(&self) -> Vec<&str> {
        self.week.paths()
    }

    fn once(&self, input: usize) -> bool {
        Simulate::once(self.week, input)
    }

    fn limits(&self) -> usize {
        Simulate::limits(self.week)
    }

    fn tanks(&self) -> usize {
        Simulate::tanks(self.week)
    }

    fn devices(&self) -> usize {
        Simulate::devices(self.week)
    }

    fn series(&self) -> usize {
        self.week.series()
    }

    fn run(&self, luck: &dyn Luck, worker: &mut Worker, values: &mut [f64]) -> Result<Outcome, RunError> {
        let mut outcome = Outcome::default();
        self.run_into(luck, worker, values, &mut outcome)?;
        Ok(outcome)
    }

    fn run_into(
        &self,
        luck: &dyn Luck,
        worker: &mut Worker,
        values: &mut [f64],
        outcome: &mut Outcome,
    ) -> Result<(), RunError> {
        if Self::turn(worker) {
            self.week.run_into(luck, &mut worker.week, values, outcome)?;
            worker.last.clone_from(outcome);
        } else {
            self.stand_in(luck, worker, values, outcome);
        }
        Ok(())
    }

    fn run_traced(
        &self,
        luck: &dyn Luck,
        worker: &mut Worker,
        values: &mut [f64],
        course: &mut [f32],
        outcome: &mut Outcome,
    ) -> Result<(), RunError> {
        if Self::turn(worker) {
            self.week.run_traced(luck, &mut worker.week, values, course, outcome)?;
            worker.last.clone_from(outcome);
            worker.course = course.to_vec();
        } else {
            self.stand_in(luck, worker, values, outcome);
            course.copy_from_slice(&worker.course);
        }
        Ok(())
    }
}

/// The most memory that this process ever held.
fn most_memory() -> String {
    let status = fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"));
    let kb = line.and_then(|line| line.split_whitespace().next()?.parse::<f64>().ok());
    kb.map_or_else(|| "not known here".to_owned(), |kb| format!("{:.0} MB", kb / 1000.0))
}

/// Runs the variations and leaves them as a part; gives where.
fn run(week: &Scenario, job: &VaryJob, record: JobRecord, part: &Path) -> Result<PathBuf, PartError> {
    let simulate = Mostly { week };
    let family = Family::new(record, Shape::of(&simulate));
    let draws = draws(&simulate, job.seed, job.design, job.runs)?;
    let share = Some(Share { shard: 1, shards: 1 });
    let mut work = Work::new(part, family, share, &[REFERENCE_WEEK.as_bytes()])?;
    let running = Running {
        pool: &pool(job.threads)?,
        progress: &|_| {},
        stop: &AtomicBool::new(false),
        traced: true,
        words: &|error| format!("{error:?}"),
    };
    stream(
        &simulate,
        &draws,
        std::slice::from_ref(&(0..job.runs)),
        &running,
        |piece| work.keep(piece),
    )?;
    work.close()
}

fn main() {
    let short = std::env::args().any(|argument| argument == "--test");
    let asked = std::env::var("VARIATIONS").ok().and_then(|text| text.parse().ok());
    let design = std::env::var("DESIGN").map_or(Design::Plain, |name| {
        Design::parse(&name).expect("DESIGN names a design of draws")
    });
    let week = reference_week();
    let job = VaryJob {
        runs: if short { 64 } else { asked.unwrap_or(FEW) },
        design,
        threads: 2,
        ..VaryJob::default()
    };
    let place = std::env::temp_dir().join(format!("breathroom-million-{}", std::process::id()));
    fs::create_dir_all(&place).expect("a folder for what is written");
    let (part, out) = (place.join("part"), place.join("out"));
    let record = JobRecord::new(&week, ("reference-week.toml", REFERENCE_WEEK.as_bytes()), &[], &job);
    let start = Instant::now();
    let made = run(&week, &job, record, &part);
    let (streamed, after_streaming) = (start.elapsed(), most_memory());
    let words = ["breathroom", "merge", "--quiet", "--out"].map(str::to_owned);
    let mut said = Vec::new();
    let code = made.as_ref().map(|part| {
        let paths = [&out, part].map(|path| path.display().to_string());
        main_with(words.into_iter().chain(paths), &mut Vec::new(), &mut said)
    });
    let size = fs::metadata(out.join("variations.csv")).map_or(0, |file| file.len());
    let _clutter_at_worst = fs::remove_dir_all(&place);
    // 3: a limit is not met, by margins that were moved about.
    assert!(matches!(code, Ok(0 | 3)), "{made:?} {}", String::from_utf8_lossy(&said));
    println!(
        "{} variations of the reference week ({}), one of {RUN_ONE_OF} run: {after_streaming} at most until all are kept ({:.0} s), {} until the \
         results are written ({:.0} s, variations.csv of {:.2} GB)",
        job.runs,
        job.design.name(),
        streamed.as_secs_f64(),
        most_memory(),
        start.elapsed().as_secs_f64(),
        size as f64 / 1e9
    );
}

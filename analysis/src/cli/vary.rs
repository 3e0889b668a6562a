//! `vary`: many variations, their statistics, and every one of them in a table; or a share of them, for `merge`.

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

use breathroom_sim::engine::Outcome;
use breathroom_sim::scenario::Medians;

use super::console::{Console, Ended};
use super::job::{How, Output, ScenarioJob};
use super::progress::Bar;
use super::scenario_file::{self, Read};
use super::study::{self as finished, Studied};
use super::{Code, deliver, drivers, run};
use crate::chance::{Design, Draws};
use crate::results::parts::{Family, Found, JobRecord, PartError, Share, Work};
use crate::results::{Target, describe};
use crate::study::{self, Piece, Running, Shape, Stopped, StudyError, VaryJob, Watch};

/// Runs the variations of a scenario, or a share of them.
///
/// # Errors
/// If the scenario is wrong, its medians cannot be run, or the results cannot be written. A variation that fails is part
/// of the results.
pub fn vary(job: &ScenarioJob, vary: &VaryJob, how: How, console: &mut Console<'_>) -> Result<Code, Ended> {
    let read = Arc::new(scenario_file::read(job, console)?);
    let name = (read.file.file.as_str(), read.content.as_slice());
    let record = JobRecord::new(&read.scenario, name, &job.overrides, vary);
    let family = Family::new(record, Shape::of(&read.scenario));
    if how.until.is_some() && vary.design == Design::LatinHypercube {
        let said = "--until goes with the designs `plain` and `sobol`: the draws of a Latin hypercube depend on the number of \
                    runs, which must be known beforehand";
        return Err(Ended::Usage(said.to_owned()));
    }
    let draws = study::draws(&read.scenario, vary.seed, vary.design, vary.runs)?;
    let stem = deliver::stem(&read, "vary");
    let folder = match how.share {
        Some(share) => format!("{stem}-part-{}-of-{}", share.shard, share.shards),
        None => stem.clone(),
    };
    if let (Some(share), true) = (how.share, how.resume) {
        let there = deliver::place(&job.output, &folder);
        if Work::is_done(&there, &family, share) {
            tell(console, &job.output, &format!("`{}` is whole already", there.display()));
            return Ok(Code::Done);
        }
    }
    if how.drivers.is_some() {
        drivers::can_be_asked(&read, "--drivers")?;
    }
    let target = deliver::target(&job.output, &folder)?;
    // First: if they fail, no one waits for the variations in vain, and nothing is left behind.
    let medians = medians(&read, vary, console)?;
    let made = Made {
        read: Arc::clone(&read),
        threads: vary.threads,
        draws: Arc::new(draws),
        watch: how
            .until
            .map(|until| Watch::new(family.shape, vary.design, until, vary.runs)),
        range: how.share.map_or(family.job.all(), |share| share.of(&family.job)),
        work: begun(console, job, how, &target, &read, &family)?,
    };
    let path = made.work.path().to_owned();
    let kept = Arc::new(AtomicU64::new(0));
    let result = made.run(console, &job.output, &kept);
    let (work, stopped) = result.map_err(|ended| left(ended, &path, &kept, vary.runs))?;
    // What was looked at last is the study, as if its runs had been asked for.
    let runs = stopped.as_ref().and_then(|of| of.looks.last().copied());
    let made = VaryJob {
        runs: runs.unwrap_or(vary.runs),
        ..*vary
    };
    if let Some(share) = how.share {
        return part(console, &job.output, target, work, share, &family.job);
    }
    let drives = drivers::drives(console, &read, vary, how.drivers, &job.output)
        .map_err(|ended| left(ended, &path, &kept, vary.runs))?;
    let staging = work.staging()?;
    let of = Studied {
        read,
        overrides: &job.overrides,
        vary: made,
        medians,
        stopped,
        drives,
        stem: &stem,
        output: &job.output,
    };
    let done = finished::results(console, of, work.blocks(&(0..made.runs)), &staging)
        .map_err(|ended| left(ended, &path, &kept, vary.runs))?;
    let placed = target.place(&staging)?;
    // The results are in place; what is left of the work is only clutter, not a reason to fail.
    let _clutter_at_worst = work.remove();
    done.tell(console, &job.output, &placed)
}

/// The run on the medians.
pub fn medians(read: &Arc<Read>, vary: &VaryJob, console: &Console<'_>) -> Result<Outcome, Ended> {
    let (shared, job) = (Arc::clone(read), *vary);
    let result = console.interruptible(move || study::medians(&shared.scenario, &job))?;
    result.map_err(|error| match error {
        StudyError::Medians(error) => run::failed("the run on the medians", &error, read),
        other => Ended::Wrong(other.to_string()),
    })
}

/// The folder in which variations are kept: that of a killed run of the same job if it is to be gone on with, else a new one.
fn begun(
    console: &mut Console<'_>,
    job: &ScenarioJob,
    how: How,
    target: &Target,
    read: &Read,
    family: &Family,
) -> Result<Work, Ended> {
    let beside = target.path();
    if how.resume {
        match Work::find(beside, family, how.share)? {
            Found::Same(work) => return Ok(*work),
            Found::Other(one, [what, value, other_value]) if !job.output.force => {
                return Err(PartError::Differs {
                    what,
                    one,
                    value,
                    other: None,
                    other_value,
                }
                .into());
            }
            Found::Nothing | Found::Other(..) => {
                tell(console, &job.output, "there is nothing to resume: beginning anew");
            }
        }
    }
    for old in Work::left(beside) {
        if job.output.force {
            Work::drop_left(&old)?;
        } else {
            let said = "was left by a run that did not end: --resume goes on with it, --force drops it";
            tell(console, &job.output, &format!("`{}` {said}", old.display()));
        }
    }
    let data = read.scenario.data_files.iter().map(|(_, content)| content.as_slice());
    let files: Vec<&[u8]> = std::iter::once(read.content.as_slice()).chain(data).collect();
    Ok(Work::new(beside, family.clone(), how.share, &files)?)
}

/// A word on standard error, unless nothing but errors is wanted there.
fn tell(console: &mut Console<'_>, output: &Output, what: &str) {
    if !output.quiet {
        console.tell(&format!("{what}\n"));
    }
}

/// Variations in the making.
struct Made {
    read: Arc<Read>,
    threads: usize,
    draws: Arc<Draws>,
    /// Says when to stop, if that is not after all.
    watch: Option<Watch>,
    range: std::ops::Range<u64>,
    work: Work,
}

impl Made {
    /// Runs all of them, or as many as it takes; `kept` counts them.
    fn run(
        self,
        console: &Console<'_>,
        output: &Output,
        kept: &Arc<AtomicU64>,
    ) -> Result<(Work, Option<Stopped>), Ended> {
        let Self { mut work, range, .. } = self;
        let steps = Steps {
            read: self.read,
            threads: self.threads,
            draws: self.draws,
        };
        let Some(mut watch) = self.watch else {
            return Ok((steps.run((work, range), 0, (console, output), kept)?, None));
        };
        let mut from = 0;
        while let Some(to) = watch.next_look() {
            work = steps.run((work, from..to), from, (console, output), kept)?;
            let counted = console.interruptible(move || {
                let mut blocks = work.blocks(&(from..to));
                let mut piece = Piece::new(blocks.shape());
                while blocks.next(&mut piece)? {
                    watch.add(&piece);
                }
                watch.look();
                Ok::<_, PartError>((work, watch))
            });
            (work, watch) = counted??;
            from = to;
        }
        Ok((work, Some(watch.stopped())))
    }
}

/// What every step of them needs.
struct Steps {
    read: Arc<Read>,
    threads: usize,
    draws: Arc<Draws>,
}

impl Steps {
    /// Runs those that are missing and keeps them; `kept` counts them with those that were there, and the `earlier` ones.
    fn run(
        &self,
        (mut work, range): (Work, std::ops::Range<u64>),
        earlier: u64,
        (console, output): (&Console<'_>, &Output),
        kept: &Arc<AtomicU64>,
    ) -> Result<Work, Ended> {
        let all = range.end - range.start;
        let found = console.interruptible(move || work.missing(&range).map(|missing| (work, missing)))?;
        let missing;
        (work, missing) = found?;
        let before = all - missing.iter().map(|range| range.end - range.start).sum::<u64>();
        kept.store(earlier + before, Ordering::Relaxed);
        let bar = Bar::new(earlier + all, earlier + before, console.progress && !output.quiet);
        let (done, stop, counted) = (bar.counter(), console.stop, Arc::clone(kept));
        let (read, threads, draws) = (Arc::clone(&self.read), self.threads, Arc::clone(&self.draws));
        let result = console.interruptible(move || -> Result<Work, PartError> {
            let scenario = &read.scenario;
            // Which task opens what is the same in every case of a scenario.
            let plan = scenario.draw(&Medians).case.plan;
            let running = Running {
                pool: &study::pool(threads)?,
                progress: &|_| done.count(),
                stop,
                traced: true,
                words: &|error| describe(error, &scenario.names, &plan),
            };
            study::stream(scenario, &draws, &missing, &running, |piece| {
                work.keep(piece)?;
                counted.fetch_add(piece.len() as u64, Ordering::Relaxed);
                Ok::<(), PartError>(())
            })?;
            Ok(work)
        });
        bar.clear();
        Ok(result??)
    }
}

/// Adds to the end of a job what it leaves behind.
fn left(ended: Ended, work: &Path, kept: &AtomicU64, runs: u64) -> Ended {
    let kept = kept.load(Ordering::Relaxed);
    if kept == 0 {
        Work::abandon(work);
        return ended;
    }
    let said = format!(
        "{kept} of {runs} variations are kept in `{}`; the same command with --resume goes on",
        work.display()
    );
    match ended {
        Ended::Interrupted => Ended::Kept(said),
        Ended::Wrong(what) => Ended::Wrong(format!("{}\n{said}", what.trim_end())),
        other => other,
    }
}

/// Leaves a part in its place and says what it is.
fn part(
    console: &mut Console<'_>,
    output: &Output,
    target: Target,
    work: Work,
    share: Share,
    job: &JobRecord,
) -> Result<Code, Ended> {
    let placed: PathBuf = target.place(&work.close()?)?;
    let range = share.of(job);
    let what = match range.end - range.start {
        0 => format!(
            "no variations: {} blocks of 1024 are fewer than the shards",
            job.blocks()
        ),
        _ => format!("variations {} to {} of {}", range.start, range.end - 1, job.runs),
    };
    let said = format!(
        "Part {} of {} in {}: {what}. `breathroom merge` joins the parts.\n",
        share.shard,
        share.shards,
        placed.display()
    );
    if output.json {
        console.say(&job.to_json())?;
    } else if !output.quiet {
        console.say(&said)?;
    }
    Ok(Code::Done)
}

//! `size`: the smallest or largest value of a design quantity that keeps a margin; over a second quantity, the boundary.

use std::sync::Arc;
use std::sync::atomic::AtomicBool;

use breathroom_sim::engine::{Case, RunError};
use breathroom_sim::scenario::{Amount, Medians, Scenario};
use breathroom_sim::text::{Diagnostic, Texts};
use breathroom_sim::units::{Unit, parse};

use super::console::{Console, Ended};
use super::job::{ScenarioJob, SizeAsked};
use super::progress::{Bar, Counter};
use super::scenario_file::{self, Opened, Read};
use super::{Code, book, deliver};
use crate::report::sized;
use crate::results::book::Book;
use crate::results::size::{self as told, Asked, SizeSummary, Sized};
use crate::results::{Target, caution, describe, sheets};
use crate::study::measure::{Gauge, Measure};
use crate::study::size::{Find, Margins, POINTS, SizeJob, Untried, size as study};
use crate::study::trade::{Statistic, row};
use crate::study::{StudyError, pool};
use crate::trades::about::About;

/// Finds the size. Exit code 3 if there is no value that was shown.
///
/// # Errors
/// If the scenario is wrong, the quantity or the limit is not there, or the results cannot be written.
pub fn size(job: &ScenarioJob, asked: &SizeAsked, console: &mut Console<'_>) -> Result<Code, Ended> {
    let read = Arc::new(scenario_file::read(job, console)?);
    let case = read.scenario.draw(&Medians).case;
    let amount = amount(&read.scenario, &asked.what)?;
    let of_keep = gauge(&read.scenario, &asked.keep)?;
    let exact = is_exact(&read.scenario, &case);
    let needed = asked.gate.runs_needed().unwrap_or(u64::MAX);
    if !exact && asked.runs < needed {
        return Err(Ended::Usage(format!(
            "that gate takes {needed} variations at the least: --runs {needed} or more"
        )));
    }
    let about = About::new(&read.scenario, &asked.what, asked.spread).map_err(Ended::Usage)?;
    let meant = Asked {
        what: asked.what.clone(),
        unit: amount.unit.symbol,
        keep: asked.keep.clone(),
        margin_unit: of_keep.unit,
        words: of_keep.meaning.clone(),
        find: if asked.largest { Find::Largest } else { Find::Smallest },
        range: range(asked, amount)?,
        gate: asked.gate,
        runs: if exact { 1 } else { asked.runs },
        exact,
        seed: asked.seed,
        over: asked.over.as_ref().map(|over| over.path.clone()),
        spread: asked.spread.name(),
    };
    let stem = deliver::stem(&read, "size");
    let target = deliver::target(&job.output, &stem)?;
    let bar = Bar::further("runs", console.progress && !job.output.quiet);
    let search = Search {
        opened: Opened::of(&job.file, &read),
        overrides: job.overrides.clone(),
        asked: meant.clone(),
        unit: amount.unit,
        about,
        count: bar.counter(),
        stop: console.stop,
    };
    let (threads, over) = (asked.threads, asked.over.clone());
    let result = console.interruptible(move || {
        let pool = pool(threads)?;
        pool.install(|| search.all(over.as_ref().map(|over| over.values.as_slice())))
    });
    bar.clear();
    let sizes = result?.map_err(|error: Ending| match error {
        Ending::Study(StudyError::Stopped) => Ended::Interrupted,
        Ending::Study(error) => error.into(),
        Ending::Refused(why) => Ended::Wrong(format!("a value between two that can be tried is refused: {why}")),
    })?;
    let summary = written(
        job,
        (&read, &case),
        (&meant, &sizes),
        asked.date.as_deref(),
        (target, &stem),
        console,
    )?;
    let shown = summary.sizes.iter().all(|size| size.proved);
    Ok(if sizes.iter().any(|sized| sized.failure.is_some()) {
        Code::Failed
    } else if shown {
        Code::Done
    } else {
        Code::NotMet
    })
}

/// Writes the results and says them.
fn written(
    job: &ScenarioJob,
    (read, case): (&Read, &Case),
    (meant, sizes): (&Asked, &[Sized]),
    date: Option<&str>,
    (target, stem): (Target, &str),
    console: &mut Console<'_>,
) -> Result<SizeSummary, Ended> {
    let provenance = read.provenance("size", &job.overrides);
    let summary = told::build(
        meant,
        sizes,
        (&read.scenario, case),
        read.file.clone(),
        provenance,
        date,
    );
    let mut sheet = vec![
        told::boundary(meant, sizes),
        told::curve(meant, sizes),
        told::proof(meant, sizes),
    ];
    sheet.extend([
        sheets::inputs(&read.scenario),
        sheets::assumptions(&read.scenario),
        sheets::limits(&read.scenario),
    ]);
    let mut stamp = book::stamp(&[&read.file], (meant.seed, meant.runs), date);
    stamp.push(("quantity".to_owned(), meant.what.clone()));
    stamp.push(("limit kept".to_owned(), meant.keep.clone()));
    let book = Book {
        name: "sizes",
        title: format!("{}: {} {}", read.file.heading(), meant.end(), meant.what),
        answer: summary.answer.clone(),
        stamp,
        caution: caution::of(case),
        sheets: sheet,
    };
    let json = summary.to_json().map_err(|error| deliver::unencoded(&error))?;
    let page = sized::page(&summary, &book::frames(&book), &book.stamp);
    book::deliver(
        console,
        &job.output,
        (target, stem),
        (&book, &[], Some(&page)),
        (&json, &summary.warnings),
    )?;
    Ok(summary)
}

/// Why the sizes could not be had.
enum Ending {
    Study(StudyError),
    Refused(String),
}

impl From<StudyError> for Ending {
    fn from(error: StudyError) -> Self {
        Self::Study(error)
    }
}

impl From<Untried> for Ending {
    fn from(error: Untried) -> Self {
        match error {
            Untried::Ended(error) => Self::Study(error),
            Untried::Refused(why) => Self::Refused(why),
        }
    }
}

/// What is needed to try values.
struct Search {
    opened: Opened,
    overrides: Vec<String>,
    asked: Asked,
    unit: Unit,
    about: About,
    count: Counter,
    stop: &'static AtomicBool,
}

impl Search {
    fn all(&self, over: Option<&[String]>) -> Result<Vec<Sized>, Ending> {
        match over {
            None => Ok(vec![self.one(None)?]),
            Some(values) => values.iter().map(|value| self.one(Some(value))).collect(),
        }
    }

    fn one(&self, over: Option<&String>) -> Result<Sized, Ending> {
        let asked = &self.asked;
        let job = SizeJob {
            range: asked.range,
            find: asked.find,
            points: POINTS,
            gate: asked.gate,
            seed: asked.seed,
        };
        let tried = |value: f64, seed: u64, more: u64| {
            let scenario = self.design(value, over)?;
            let gauge = Measure::margin(&asked.keep)
                .of(&scenario)
                .map_err(|error| Untried::Refused(format!("there is no {}", error.what)))?;
            let runs = if asked.exact { 1 } else { more * asked.runs };
            let survival = Measure::NotSurvived.of(&scenario);
            let gauges: Vec<Gauge> = std::iter::once(gauge).chain(survival).collect();
            let found = self.runs(&scenario, &gauges, (runs, seed))?;
            // A run that was not lived through keeps nothing, whatever its margin was up to there.
            let margin = |(margin, not_survived): (&f64, &f64)| {
                if *not_survived > 0.5 {
                    f64::NEG_INFINITY
                } else {
                    *margin
                }
            };
            let pairs = found.0[0].iter().zip(found.0.last().unwrap_or(&found.0[0]));
            Ok(Margins {
                values: pairs.map(margin).collect(),
                exact: asked.exact,
                failure: found.1,
            })
        };
        let size = study(&job, &tried)?;
        let mut sized = Sized {
            over: over.cloned(),
            size,
            not_met: Vec::new(),
            failure: None,
        };
        if let Ok(answer) = &sized.size.answer
            && let Some(last) = answer.proof.tries.last()
        {
            let scenario = self.design(last.value, over)?;
            (sized.not_met, sized.failure) = self.others(&scenario, (last.runs, last.seed))?;
        }
        Ok(sized)
    }

    /// The scenario at a value.
    fn design(&self, value: f64, over: Option<&String>) -> Result<Scenario, Untried> {
        let mut overrides = self.overrides.clone();
        if let (Some(path), Some(value)) = (&self.asked.over, over) {
            overrides.push(format!("{path}={value}"));
        }
        overrides.push(format!("{}={}", self.asked.what, self.about.written(value, self.unit)));
        self.opened
            .with(&overrides)
            .map_err(|faults| Untried::Refused(refusal(&faults)))
    }

    fn runs(
        &self,
        scenario: &Scenario,
        gauges: &[Gauge],
        study: (u64, u64),
    ) -> Result<(Vec<Vec<f64>>, Option<String>), Untried> {
        let plan = scenario.draw(&Medians).case.plan;
        let words = |error: &RunError| describe(error, &scenario.names, &plan);
        let runs = row(scenario, gauges, study, &words, (&|| self.count.count(), self.stop));
        let runs = runs.map_err(Untried::Ended)?;
        Ok((
            runs.values,
            runs.first_failed.map(|(k, why)| format!("variation {k}: {why}")),
        ))
    }

    /// The limits that the gate does not pass, and the first failure.
    fn others(&self, scenario: &Scenario, study: (u64, u64)) -> Result<(Vec<String>, Option<String>), Untried> {
        let ids = scenario.limit_ids();
        let limits = ids.iter().map(|id| Measure::margin(id)).chain([Measure::NotSurvived]);
        let gauges: Vec<Gauge> = limits.filter_map(|measure| measure.of(scenario).ok()).collect();
        let (values, failure) = self.runs(scenario, &gauges, study)?;
        let met = |margins: &[f64]| {
            if self.asked.exact {
                margins[0] >= 0.0
            } else {
                Statistic::Kept(self.asked.gate).of(margins).value >= 0.0
            }
        };
        let not_met = ids.iter().zip(&values).filter(|(_, margins)| !met(margins));
        let mut not_met: Vec<String> = not_met.map(|(id, _)| (*id).to_owned()).collect();
        let lived = |ones: &Vec<f64>| {
            if self.asked.exact {
                ones[0] < 0.5
            } else {
                Statistic::allows(self.asked.gate, ones)
            }
        };
        if !values.last().is_none_or(lived) {
            not_met.insert(0, "survival".to_owned());
        }
        Ok((not_met, failure))
    }
}

/// The first fault, in words of one line.
fn refusal(faults: &[Diagnostic]) -> String {
    let Some(first) = faults.first() else {
        return "refused".to_owned();
    };
    let message = first.message.lines().next().unwrap_or_default();
    match faults.len() {
        1 => message.to_owned(),
        more => format!("{message} (and {} more)", more - 1),
    }
}

/// Nothing is drawn: no spread, no noise of a sensor.
fn is_exact(scenario: &Scenario, case: &Case) -> bool {
    scenario.inputs.is_empty() && case.sensors.iter().all(|sensor| sensor.noise == 0.0)
}

/// What the scenario has at a path.
fn amount(scenario: &Scenario, path: &str) -> Result<Amount, Ended> {
    let found = scenario.resolved.iter().find(|value| value.path == path);
    match found.map(|value| value.amount) {
        Some(Some(amount)) => Ok(amount),
        Some(None) => Err(Ended::Usage(format!(
            "`{path}` is no quantity: a trade compares words, flags and options"
        ))),
        None => {
            let numbers = scenario.resolved.iter().filter(|value| value.amount.is_some());
            let meant = Texts::new("", "", &[]).meant(path, numbers.map(|value| value.path.as_str()));
            let help = match meant.as_str() {
                "" => "`breathroom check` lists every path",
                meant => meant,
            };
            Err(Ended::Usage(format!("the scenario has no `{path}`: {help}")))
        }
    }
}

fn gauge(scenario: &Scenario, keep: &str) -> Result<Gauge, Ended> {
    Measure::margin(keep).of(scenario).map_err(|error| {
        let there = error.there.join(", ");
        Ended::Usage(format!("there is no {}; there are: {there}", error.what))
    })
}

/// The range in the quantity's unit: as given, else from a quarter to four times of what the scenario has.
fn range(asked: &SizeAsked, amount: Amount) -> Result<[f64; 2], Ended> {
    let Amount { si, dimension, unit } = amount;
    let here = unit.from_si(si);
    let end = |given: &Option<String>, name: &str, usual: f64| match given {
        None if here > 0.0 => Ok(usual),
        None => Err(Ended::Usage(format!(
            "name the range with --from and --to: the scenario has {here} there ({name})"
        ))),
        Some(text) => parse(text, dimension)
            .map(|read| unit.from_si(read.si))
            .map_err(|error| Ended::Usage(format!("{name} \"{text}\": {}; {}", error.message(), error.help()))),
    };
    let most = if unit.symbol == "%" { 100.0 } else { f64::INFINITY };
    let (from, to) = (
        end(&asked.from, "--from", here / 4.0)?,
        end(&asked.to, "--to", (4.0 * here).min(most))?,
    );
    if from < to {
        Ok([from, to])
    } else {
        Err(Ended::Usage(format!(
            "the range is empty: --from {from} is not below --to {to} ({})",
            unit.symbol
        )))
    }
}

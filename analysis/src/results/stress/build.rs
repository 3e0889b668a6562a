//! A study of stress by index and in SI becomes a summary by name and in hours.

use breathroom_sim::engine::{Case, RunError};
use breathroom_sim::limits::EFFECT_LEVELS;
use breathroom_sim::scenario::Scenario;
use breathroom_sim::units::Time;
use breathroom_sim::upset::Grade;

use super::summary::{
    AlarmSummary, Crossed, DeviceStress, Effect, EffectCounts, EffectTimes, FaultRow, FaultRuns, FirstSummary,
    LookSummary, NoFaultSummary, PartStress, RunsSummary, ShareSummary, StressSummary, TimeSummary,
};
use crate::chance::Design;
use crate::results::ordered::Ordered;
use crate::results::provenance::{Provenance, ScenarioFile};
use crate::results::summarise::from_memory;
use crate::results::summary::{FORMAT, Gate};
use crate::results::{caution, describe, words};
use crate::study::stress::look::{Cause, First, Look};
use crate::study::stress::runs::PartRuns;
use crate::study::stress::singles::Row;
use crate::study::stress::spread::{QUANTILES, Share};
use crate::study::stress::times::{After, Censored};
use crate::study::stress::usual::{Crossings, Usual};
use crate::study::stress::{NoFault, Part, Stress, StressJob, first_failure, worst};

/// How statistics are made, in words.
const STATISTICS: &str = "quantiles by Hyndman and Fan's type 7, shares by Clopper-Pearson, one-sided bounds by Wilks; what the run is \
                          too short to show counts as at least the rest of the run";

/// What a summary is of.
pub struct Of<'a> {
    /// The scenario.
    pub scenario: &'a Scenario,
    /// Its case on the medians.
    pub case: &'a Case,
    /// The job.
    pub job: &'a StressJob,
    /// The gate is to decide the exit code.
    pub gated: bool,
}

/// The summary of a study.
#[must_use]
pub fn build(of: &Of<'_>, stress: &Stress, file: ScenarioFile, mut provenance: Provenance) -> StressSummary {
    let Of {
        scenario, case, job, ..
    } = *of;
    let names = &scenario.names;
    provenance.seed = Some(job.seed);
    provenance.runs = Some(job.runs);
    provenance.design = Some(Design::Plain.name());
    let (pairs, singles): (Vec<&Row>, Vec<&Row>) = stress.singles.iter().partition(|row| row.faults.len() > 1);
    let tolerant = |rows: &[&Row]| rows.iter().all(|row| row.is_tolerated(job.gate));
    let mut memory = from_memory(scenario);
    let levels = EFFECT_LEVELS.iter().filter(|level| level.from_memory);
    memory.extend(levels.map(|level| format!("published level {} ({}; {})", level.id, level.level, level.source)));
    StressSummary {
        format: FORMAT,
        command: "stress",
        scenario: file,
        seed: job.seed,
        runs: job.runs,
        failed: stress.failed,
        failure: first_failure(stress).map(|error| of.why(error)),
        design: Design::Plain.name(),
        onsets: job.onsets,
        finest_min: worst::FINEST.seconds() / 60.0,
        statistics: STATISTICS,
        responses: stress.responses,
        faults_at_rest: names.faults.clone(),
        spacing_min: case.duration.seconds() / 60.0 / f64::from(job.onsets),
        alarms: names.alarms.len(),
        no_fault: of.no_fault(&stress.no_fault),
        devices: job
            .devices
            .iter()
            .map(|&device| DeviceStress {
                device: words::device(names, device).to_owned(),
                left: stress
                    .parts
                    .iter()
                    .filter(|part| part.device == device)
                    .map(|part| of.part(part, stress.responses))
                    .collect(),
            })
            .collect(),
        single_fault_tolerant: (singles.len() > 1).then(|| tolerant(&singles)),
        single_faults: singles.into_iter().map(|row| of.row(row)).collect(),
        pairs: pairs.into_iter().map(|row| of.row(row)).collect(),
        effects: EFFECT_LEVELS
            .iter()
            .map(|level| Effect {
                id: level.id,
                quantity: level.quantity.name(),
                level: level.level,
                level_pa: level.pressure_pa(),
                says: level.says,
                source: level.source,
                from_memory: level.from_memory,
            })
            .collect(),
        gate: of.gated.then(|| Gate {
            coverage: job.gate.coverage(),
            confidence: job.gate.confidence(),
        }),
        gate_met: of.gated.then(|| stress.gate_met()),
        warnings: scenario
            .warnings
            .iter()
            .map(|warning| warning.message.clone())
            .collect(),
        from_memory: memory,
        provenance,
        caution: caution::of(case),
    }
}

impl Of<'_> {
    fn why(&self, error: &RunError) -> String {
        describe(error, &self.scenario.names, &self.case.plan)
    }

    fn no_fault(&self, no_fault: &NoFault) -> NoFaultSummary {
        let runs = no_fault.runs.as_deref();
        let rules = self.scenario.limits.len();
        let people = self.case.people.len();
        let first = |of: &Crossings, which: &dyn Fn(usize) -> bool| {
            let crossed = of.rules.iter().enumerate().filter(|(rule, _)| which(*rule));
            crossed.filter_map(|(_, at)| *at).min()
        };
        let group = |id: &str| {
            let limits = &self.scenario.limits;
            crossed(&no_fault.medians, runs, &|of| {
                first(of, &|rule| limits.get(rule).is_some_and(|limit| limit.id == id))
            })
        };
        let level = |level: usize| {
            let own = rules + level * people..rules + (level + 1) * people;
            crossed(&no_fault.medians, runs, &|of| first(of, &|rule| own.contains(&rule)))
        };
        NoFaultSummary {
            limits: self
                .scenario
                .limit_ids()
                .into_iter()
                .map(|id| (id.to_owned(), group(id)))
                .collect(),
            not_survivable: crossed(&no_fault.medians, runs, &|of| of.end),
            effects: levels((0..EFFECT_LEVELS.len()).map(level)),
        }
    }

    fn part(&self, part: &Part, responses: bool) -> PartStress {
        let worst = part.worst();
        PartStress {
            part: part.left,
            onsets_looked_at: part.looked.looks.len(),
            onsets_failed: part.failed_onsets(),
            harmless: part.is_harmless(),
            worst_onset_h: (part.left < 1.0).then(|| worst.onset.hours()),
            medians: self.look(worst, responses),
            variations: part.runs.as_ref().map(|runs| self.runs(runs)),
        }
    }

    fn look(&self, look: &Look, responses: bool) -> LookSummary {
        let alarms = &self.case.alarms;
        let grade = |index: usize| match alarms.get(index).map(|alarm| alarm.grade) {
            Some(Grade::Caution) => "caution",
            _ => "warning",
        };
        let ids = self.scenario.limit_ids().into_iter().map(str::to_owned);
        LookSummary {
            alarm: look.alarm.map(|alarm| AlarmSummary {
                id: words::alarm(&self.scenario.names, alarm.alarm).to_owned(),
                grade: grade(alarm.alarm),
                after_h: alarm.after.hours(),
                is_false: alarm.is_false,
            }),
            alarm_already_on: look.already_on,
            without: self.first(&look.first),
            with: self.first(&look.first_with),
            response_done_h: hours(look.done),
            margin: responses.then(|| time(look.margin())),
            notice: time(look.notice()),
            limits: ids.zip(look.limits.iter().map(|after| hours(*after))).collect(),
            effects: levels(look.effects.iter().map(|[without, with]| EffectTimes {
                without_h: hours(*without),
                with_h: hours(*with),
            })),
            failed: look.failed.as_ref().map(|error| self.why(error)),
        }
    }

    fn first(&self, first: &First) -> FirstSummary {
        let (limit, place) = cause(self.scenario, first.cause);
        FirstSummary {
            limit,
            place,
            after_h: hours(first.after),
        }
    }

    fn runs(&self, runs: &PartRuns) -> RunsSummary {
        let count = |level: usize, which: usize| {
            let beyond = |look: &&Look| look.effects.get(level).is_some_and(|of| of[which].came());
            runs.looks.iter().filter(beyond).count() as u64
        };
        let margin = runs.margin.as_ref();
        RunsSummary {
            failed: runs.failed,
            margin_quantiles: margin.map(|margin| quantiles(margin.quantiles.map(time))),
            tolerance_95_95: margin.and_then(|margin| margin.bound_95_95.map(time)),
            tolerance_gate: self
                .gated
                .then(|| margin.and_then(|margin| margin.gate_bound.map(time))),
            met_gate: self.gated.then_some(runs.gate_met),
            in_time: margin.map(|margin| share(&margin.in_time)),
            to_limit_quantiles: quantiles(runs.to_limit.quantiles.map(time)),
            to_limit_95_95: runs.to_limit.bound_95_95.map(time),
            notice_quantiles: quantiles(runs.notice.quantiles.map(time)),
            noticed: share(&runs.notice.in_time),
            crossed_without: share(&runs.crossed_without),
            crossed_with: share(&runs.crossed_with),
            in_vain: share(&runs.in_vain),
            alarmed: runs.alarmed,
            effects: levels((0..EFFECT_LEVELS.len()).map(|level| EffectCounts {
                without: count(level, 0),
                with: count(level, 1),
            })),
        }
    }

    fn row(&self, row: &Row) -> FaultRow {
        let info = |rule: usize| rule_name(self.scenario, rule);
        let medians = &row.medians;
        FaultRow {
            faults: row
                .faults
                .iter()
                .map(|fault| words::fault(&self.scenario.names, *fault).to_owned())
                .collect(),
            broken: medians.broken.iter().map(|rule| info(*rule)).collect(),
            margin_fraction: medians.least.map(|(least, _)| least),
            margin_limit: medians.least.map(|(_, rule)| info(rule)),
            tolerated: row.is_tolerated(self.job.gate),
            not_survivable: medians.not_survivable,
            did_not_begin: medians.did_not_begin,
            failed: medians.failed.as_ref().map(|error| self.why(error)),
            variations: row.runs.as_ref().map(|over| FaultRuns {
                broken: share(&over.broken),
                did_not_begin: over.did_not_begin,
                failed: over.failed,
                margin_fraction_quantiles: quantiles(over.least),
            }),
        }
    }
}

/// A limit by name: "co2-1h (crew:lead)".
pub(super) fn rule_name(scenario: &Scenario, rule: usize) -> String {
    let info = scenario.limits.get(rule);
    info.map_or_else(|| "?".to_owned(), |info| format!("{} ({})", info.id, info.subject))
}

/// The rule's id and whose air; what cannot be lived through has no place.
pub(super) fn cause(scenario: &Scenario, cause: Option<Cause>) -> (Option<String>, Option<String>) {
    match cause {
        None => (None, None),
        Some(Cause::NotSurvivable) => (Some("not survivable".to_owned()), None),
        Some(Cause::Rule(rule)) => {
            let info = scenario.limits.get(rule);
            (info.map(|info| info.id.clone()), info.map(|info| info.subject.clone()))
        }
    }
}

/// h; 0 for before, none for never.
pub(super) fn hours(after: After) -> Option<f64> {
    after.time().map(|time| time.hours())
}

fn time(of: Censored) -> TimeSummary {
    TimeSummary {
        h: of.seconds.is_finite().then_some(of.seconds / 3600.0),
        at_least: of.more,
    }
}

fn share(of: &Share) -> ShareSummary {
    ShareSummary {
        count: of.count,
        share: of.share,
        share_95: of.interval_95,
    }
}

fn quantiles<T>(values: [T; QUANTILES.len()]) -> Ordered<T> {
    QUANTILES.iter().map(ToString::to_string).zip(values).collect()
}

/// What is crossed without any fault, by `at`.
fn crossed(medians: &Usual, runs: Option<&[Usual]>, at: &dyn Fn(&Crossings) -> Option<Time>) -> Crossed {
    let hours = |of: &Crossings| at(of).map(Time::hours);
    let count = |which: fn(&Usual) -> &Crossings| {
        move |runs: &[Usual]| runs.iter().filter(|run| at(which(run)).is_some()).count() as u64
    };
    Crossed {
        medians: EffectTimes {
            without_h: hours(&medians.without),
            with_h: hours(&medians.with),
        },
        variations: runs.map(|runs| EffectCounts {
            without: count(|run| &run.without)(runs),
            with: count(|run| &run.with)(runs),
        }),
    }
}

fn levels<T>(values: impl Iterator<Item = T>) -> Ordered<T> {
    EFFECT_LEVELS
        .iter()
        .map(|level| level.id.to_owned())
        .zip(values)
        .collect()
}

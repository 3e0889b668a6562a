//! What the variations say of each limit, from SI into the unit in which the limit is shown.

use breathroom_sim::engine::Case;
use breathroom_sim::scenario::Scenario;
use breathroom_sim::units::Unit;

use super::ordered::Ordered;
use super::summary::{
    AlarmStatistics, Crossing, Driver, Failure, Gate, GateStatistics, In, Joint, JointBounds, ResponseStatistics,
    Statistics, Summary, Survival, Until, Variations,
};
use super::words;
use crate::chance::Design;
use crate::stats::survival::CrossingTime;
use crate::study::{self, QUANTILES, Vary, method};

/// Adds to the summary of the medians what the variations say. The case is any of the scenario's.
pub fn add(summary: &mut Summary, vary: &Vary, (scenario, case): (&Scenario, &Case)) {
    let gate = (vary.job.gate != study::Gate::USUAL).then(|| Gate {
        coverage: vary.job.gate.coverage(),
        confidence: vary.job.gate.confidence(),
    });
    let plain = vary.job.design == Design::Plain;
    for (index, limit) in summary.limits.iter_mut().enumerate() {
        if let (Some(of), Some(info)) = (vary.limits.get(index), scenario.limits.get(index)) {
            limit.statistics = Some(statistics(of, info.unit, [gate.is_some(), plain], scenario));
        }
    }
    upsets(summary, &vary.upsets, (scenario, case));
    let failure = |failed: &study::Failed| Failure {
        variation: failed.k,
        error: failed.why.clone(),
    };
    summary.variations = Some(Variations {
        seed: vary.job.seed,
        runs: vary.job.runs,
        failed: vary.survival.failed,
        design: vary.job.design.name(),
        interval_method: method::name(vary.job.design),
        until: None,
        joint_95_95: joint(&vary.joint),
        survival: Survival {
            not_survivable: vary.survival.not_survivable,
            probability: vary.survival.probability,
            probability_95: vary.survival.probability_95,
            met_95_95: vary.survival.met_95_95,
            met_gate: gate.map(|_| vary.survival.gate_met),
        },
        failures: vary.failed.iter().map(failure).collect(),
        driver_runs: vary.driver_runs,
        driver_noise: vary.driver_noise,
        quantiles: "Hyndman and Fan, type 7",
        quantile_error: vary.quantile_error,
        gate,
    });
    summary.provenance.seed = Some(vary.job.seed);
    summary.provenance.runs = Some(vary.job.runs);
    summary.provenance.design = Some(vary.job.design.name());
}

/// Faults, alarms, and the responses of those alarms that have one.
fn upsets(summary: &mut Summary, of: &study::UpsetStatistics, (scenario, case): (&Scenario, &Case)) {
    let share = |share: &study::Share| In {
        variations: share.count,
        probability: share.share,
        probability_95: share.interval_95,
    };
    let hours = |times: &study::Times| -> Ordered<f64> {
        let quantiles = QUANTILES.iter().zip(times.quantiles_s);
        quantiles.map(|(p, time_s)| (p.to_string(), time_s / 3600.0)).collect()
    };
    for (fault, of) in summary.faults.iter_mut().zip(&of.faults) {
        fault.began_in = Some(share(of));
    }
    for (alarm, of) in summary.alarms.iter_mut().zip(&of.alarms) {
        alarm.statistics = Some(AlarmStatistics {
            came_on_in: share(&of.came_on),
            false_in: share(&of.falsely),
            occasion_in: share(&of.occasion),
            missed_in: share(&of.missed),
            first_on_h_quantiles: hours(&of.first_on),
            delays: of.delay.count,
            delay_h_quantiles: hours(&of.delay),
        });
    }
    let responses = of.responses.iter().enumerate().zip(&case.alarms);
    summary.responses_in_variations = responses
        .filter(|(_, alarm)| alarm.response.is_some())
        .map(|((index, of), _)| ResponseStatistics {
            alarm: words::alarm(&scenario.names, index).to_owned(),
            called_in: share(&of.called),
            done_in: share(&of.done),
            given_up_in: share(&of.given_up),
            times: of.took.count,
            alarm_to_done_h_quantiles: hours(&of.took),
        })
        .collect();
}

/// Says why the study stopped, if it was to go on until its shares are known well enough.
pub fn stopped(summary: &mut Summary, stopped: &study::Stopped) {
    if let Some(variations) = &mut summary.variations {
        variations.until = Some(Until {
            probability_within: stopped.within,
            reached: stopped.reached,
            cap: stopped.cap,
            looks: stopped.looks.clone(),
            looks_planned: stopped.planned,
            look_confidence: stopped.confidence,
        });
    }
}

fn joint(of: &study::Joint) -> Joint {
    Joint {
        met: of.met,
        limits: of.limits,
        violations: of.violations,
        probability_95: of.interval,
        bounds: of.bounds.map(|bounds| JointBounds {
            met: bounds.met,
            order: bounds.order,
            runs_needed: bounds.runs_needed,
        }),
    }
}

/// Times, where they are reached; with intervals where those hold.
fn crossings(of: &study::LimitStatistics, plain: bool) -> Ordered<Crossing> {
    let hours = |minute: u32| f64::from(minute) / 60.0;
    let crossing = |(share, time): (&f64, &CrossingTime)| {
        let interval = [time.earliest, time.latest].map(|end| end.map(hours));
        let crossing = Crossing {
            time_h: hours(time.minute?),
            interval_95: plain.then_some(interval),
        };
        Some((share.to_string(), crossing))
    };
    study::CROSSED.iter().zip(&of.crossed).filter_map(crossing).collect()
}

fn statistics(of: &study::LimitStatistics, unit: Unit, [gated, plain]: [bool; 2], scenario: &Scenario) -> Statistics {
    let shown = |si: f64| unit.difference_from_si(si);
    let driver = |driver: &study::Driver| Driver {
        input: scenario
            .inputs
            .get(driver.input)
            .map_or_else(|| "?".to_owned(), |input| input.path.clone()),
        kind: "rank",
        index: driver.index,
        index_95: None,
    };
    Statistics {
        violations: of.violations,
        probability: of.probability,
        probability_95: of.probability_95,
        met_95_95: of.met_95_95,
        tolerance_95_95: of.tolerance_95_95.map(shown),
        gate: gated.then(|| GateStatistics {
            met_gate: of.gate_met,
            tolerance_gate: of.gate_bound.map(shown),
        }),
        margin_quantiles: QUANTILES
            .iter()
            .zip(of.margin_quantiles)
            .map(|(p, margin)| (p.to_string(), shown(margin)))
            .collect::<Ordered<f64>>(),
        margin_quantiles_95: QUANTILES
            .iter()
            .zip(of.margin_quantiles_95)
            .map(|(p, interval)| (p.to_string(), interval.map(|ends| ends.map(shown))))
            .collect(),
        crossing_h: crossings(of, plain),
        drivers: of.drivers.iter().map(driver).collect(),
        never_applied: of.never_applied,
        worst_variation: of.worst_variation,
        time_beyond_mean_h: of.beyond_mean_s / 3600.0,
    }
}

//! An outcome by index and in SI becomes a summary by name and in the units of its limits.

mod air;
mod schedule;
mod sorties;
mod stores;
mod upset;

use breathroom_sim::engine::{self, Case, Outcome};
use breathroom_sim::limits::Rule;
use breathroom_sim::scenario::{LimitInfo, Origin, Scenario};
use breathroom_sim::units::Time;

use super::provenance::{Provenance, ScenarioFile};
use super::summary::{Counters, End, FORMAT, Limit, Summary};
use super::{caution, endings, words};

/// The summary of one run; `vary` adds its statistics to it.
#[must_use]
pub fn summarise(
    command: &'static str,
    scenario: &Scenario,
    case: &Case,
    outcome: &Outcome,
    file: ScenarioFile,
    provenance: Provenance,
) -> Summary {
    let names = &scenario.names;
    let by_compartment = |index: usize| words::compartment(names, index).to_owned();
    let end = end(outcome, case, scenario);
    let days = end.at_h / 24.0;
    let totals = air::totals(case, outcome);
    let sorties = sorties::sorties(case, outcome, names);
    Summary {
        format: FORMAT,
        command,
        scenario: file,
        variations: None,
        only: None,
        drivers: None,
        rare: None,
        end,
        limits: case
            .rules
            .iter()
            .zip(&outcome.rules)
            .zip(&scenario.limits)
            .map(|((rule, judged), info)| limit(rule, judged, info))
            .collect(),
        totals,
        state_end: outcome
            .state_end
            .iter()
            .enumerate()
            .map(|(index, at)| (by_compartment(index), air::state_end(at)))
            .collect(),
        extremes: outcome
            .extremes
            .iter()
            .enumerate()
            .map(|(index, of)| (by_compartment(index), air::extremes(of)))
            .collect(),
        per_day: sorties::per_day(case, outcome, &totals, days),
        tanks: stores::tanks(case, outcome, names, days),
        devices: stores::devices(case, outcome, names, days),
        suits: stores::suits(case, outcome, names),
        transfers: sorties::transfers(outcome, names),
        per_sortie: sorties::per_sortie(case, outcome, &totals, &sorties),
        sorties,
        faults: upset::faults(outcome, names),
        alarms: upset::alarms(outcome, case, names),
        responses: upset::responses(outcome, names),
        responses_in_variations: Vec::new(),
        balance: air::balance(&outcome.balance),
        schedule: schedule::schedule(outcome, case, scenario),
        counters: counters(&outcome.counters),
        warnings: scenario
            .warnings
            .iter()
            .map(|warning| warning.message.clone())
            .collect(),
        from_memory: from_memory(scenario),
        provenance,
        caution: caution::of(case),
    }
}

fn end(outcome: &Outcome, case: &Case, scenario: &Scenario) -> End {
    match endings::early_end(&outcome.end, &scenario.names) {
        None => End {
            completed: true,
            at_h: case.duration.hours(),
            cause: None,
        },
        Some((at, cause)) => End {
            completed: false,
            at_h: at.hours(),
            cause: Some(cause),
        },
    }
}

/// One rule: from SI to the unit in which it is shown, differences without the unit's zero point.
fn limit(rule: &Rule, judged: &engine::RuleOutcome, info: &LimitInfo) -> Limit {
    let fraction = judged.margin / rule.limit;
    Limit {
        id: info.id.clone(),
        place: info.subject.clone(),
        quantity: rule.quantity.name(),
        unit: info.unit.symbol,
        limit: info.unit.from_si(rule.limit),
        worst: info.unit.from_si(judged.worst),
        at_h: if judged.worst.is_nan() {
            f64::NAN
        } else {
            judged.at.hours()
        },
        margin: info.unit.difference_from_si(judged.margin),
        margin_fraction: (info.fraction_means_something && fraction.is_finite()).then_some(fraction),
        // A rule that never applied is not broken.
        met: judged.margin.is_nan() || judged.margin >= 0.0,
        first_crossing_h: judged.first_crossing.map(Time::hours),
        time_beyond_h: judged.beyond_s / 3600.0,
        statistics: None,
        words: info.words.clone(),
        source: info.source.clone(),
        from_memory: info.from_memory,
    }
}

fn counters(of: &engine::Counters) -> Counters {
    Counters {
        events: of.events,
        segments: of.segments,
        crossings: of.crossings,
        passes: of.passes,
        modes: of.modes,
        steps: of.steps,
        rejected_steps: of.rejected_steps,
        ruled_out: of.ruled_out,
        looked_into: of.looked_into,
    }
}

/// Defaults and limits whose source was recalled, not read again.
#[must_use]
pub fn from_memory(scenario: &Scenario) -> Vec<String> {
    // A set's rules are among the values too; they are told as limits.
    let values = scenario
        .resolved
        .iter()
        .filter(|value| !value.path.starts_with("limits."));
    let defaults = values.filter_map(|value| match &value.origin {
        Origin::Default {
            source,
            from_memory: true,
        } => Some(format!("{} = {} (default; {source})", value.path, value.written)),
        _ => None,
    });
    let mut lines: Vec<String> = defaults.collect();
    for info in scenario.limits.iter().filter(|info| info.from_memory) {
        let line = format!("limit {} ({})", info.id, info.source);
        if !lines.contains(&line) {
            lines.push(line);
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use breathroom_sim::engine::RuleOutcome;
    use breathroom_sim::limits::{Bound, Quantity, Statistic, Subject};
    use breathroom_sim::units::{Dimension, Unit, unit};

    use super::*;

    fn info(unit: Unit, fraction: bool) -> LimitInfo {
        LimitInfo {
            id: "x".to_owned(),
            subject: "cabin".to_owned(),
            words: "x".to_owned(),
            unit,
            fraction_means_something: fraction,
            source: "s".to_owned(),
            from_memory: false,
            set: None,
        }
    }

    fn rule(quantity: Quantity, limit: f64) -> Rule {
        Rule {
            quantity,
            subject: Subject::Compartment(0),
            statistic: Statistic::Instant,
            bound: Bound::AtMost,
            limit,
        }
    }

    fn judged(worst: f64, margin: f64) -> RuleOutcome {
        RuleOutcome {
            worst,
            at: Time::from_seconds(7200.0),
            margin,
            first_crossing: None,
            beyond_s: 1800.0,
        }
    }

    #[test]
    fn a_margin_is_shown_in_the_unit_of_its_limit_and_as_a_fraction() {
        let mmhg = unit("mmHg", Dimension::PartialPressure).expect("a unit");
        let rule = rule(Quantity::Co2, mmhg.to_si(3.0));
        let shown = limit(&rule, &judged(mmhg.to_si(2.4), mmhg.to_si(0.6)), &info(mmhg, true));
        assert!((shown.limit - 3.0).abs() < 1e-12 && (shown.worst - 2.4).abs() < 1e-12);
        assert!((shown.margin - 0.6).abs() < 1e-12);
        assert!((shown.margin_fraction.expect("a fraction") - 0.2).abs() < 1e-12);
        assert!(shown.met);
        assert_eq!((shown.at_h, shown.time_beyond_h), (2.0, 0.5));
    }

    #[test]
    fn a_margin_of_temperature_has_no_zero_point_and_no_fraction() {
        let deg_c = unit("degC", Dimension::Temperature).expect("a unit");
        let rule = rule(Quantity::Temperature, 300.15);
        let shown = limit(&rule, &judged(302.15, -2.0), &info(deg_c, false));
        assert!((shown.worst - 29.0).abs() < 1e-9 && (shown.margin + 2.0).abs() < 1e-9);
        assert_eq!(shown.margin_fraction, None);
        assert!(!shown.met);
    }

    #[test]
    fn a_limit_of_zero_has_no_fraction_and_a_rule_that_never_applied_is_not_broken() {
        let kg = unit("kg", Dimension::Mass).expect("a unit");
        assert_eq!(
            limit(&rule(Quantity::LiquidWater, 0.0), &judged(0.1, -0.1), &info(kg, true)).margin_fraction,
            None
        );
        let rested = limit(
            &rule(Quantity::LiquidWater, 1.0),
            &judged(f64::NAN, f64::NAN),
            &info(kg, true),
        );
        assert!(rested.met && rested.margin_fraction.is_none() && rested.at_h.is_nan());
    }

    /// A tank is named as the scenario names it; a ratio has no unit and none is made up; a rate keeps its own.
    #[test]
    fn limits_on_tanks_rates_and_ratios_are_in_their_own_units() {
        let kg = unit("kg", Dimension::Mass).expect("a unit");
        let mut of_tank = info(kg, true);
        of_tank.subject = "tank:oxygen".to_owned();
        let mut stock = rule(Quantity::Stock, 4.0);
        (stock.subject, stock.bound) = (Subject::Tank(0), Bound::AtLeast);
        let shown = limit(&stock, &judged(5.0, 1.0), &of_tank);
        assert_eq!(
            (shown.place.as_str(), shown.quantity, shown.unit),
            ("tank:oxygen", "stock", "kg")
        );
        assert_eq!((shown.worst, shown.margin_fraction), (5.0, Some(0.25)));

        let rate = unit("kPa/min", Dimension::PressureRate).expect("a unit");
        let shown = limit(
            &rule(Quantity::PressureRate, 1000.0),
            &judged(750.0, 250.0),
            &info(rate, true),
        );
        assert_eq!(
            (shown.quantity, words::limit_text(&shown).as_str()),
            ("pressure_rate", "60 kPa/min")
        );
        assert!((shown.margin - 15.0).abs() < 1e-9);

        let plain = Dimension::Number.si_unit();
        let shown = limit(
            &rule(Quantity::TissueRatio, 1.65),
            &judged(1.5, 0.15),
            &info(plain, true),
        );
        assert_eq!(
            (shown.quantity, words::limit_text(&shown).as_str()),
            ("tissue_ratio", "1.65")
        );
        assert_eq!(words::margin(shown.margin, shown.unit, None), "0.15");
    }
}

//! The course of CO2 of one run against the tightest limit on it, for a terminal.

use breathroom_sim::air::Species;
use breathroom_sim::engine::{Case, Sample, Trace};
use breathroom_sim::limits::{Bound, Quantity, Statistic, Subject};
use breathroom_sim::scenario::Scenario;
use breathroom_sim::units::Unit;

use super::numbers::{self, with_unit};
use super::sparkline::{CELLS, Course, Mark, draw};
use super::standing::standings;
use super::summary::Summary;
use super::words;

/// The course that belongs to the tightest limit on CO2 that has one; without such a limit, that of the compartment with the
/// highest CO2. `which` says of which run it is, if that must be said. Empty if the trace has no course.
#[must_use]
pub fn sparkline(
    summary: &Summary,
    (scenario, case, trace): (&Scenario, &Case, &Trace),
    which: &str,
    utf8: bool,
) -> String {
    let of_limits = standings(summary).into_iter().filter_map(|standing| {
        let same = |limit: &super::summary::Limit| limit.id == standing.limit.id && limit.place == standing.limit.place;
        let index = summary.limits.iter().position(same)?;
        Shown::of_limit(index, scenario, case)
    });
    let mut all = of_limits.chain(Shown::of_highest(scenario, case, trace));
    let times_h: Vec<f64> = trace.samples.iter().map(|sample| sample.at.hours()).collect();
    let text = all.find_map(|shown| {
        let values: Vec<f64> = trace.samples.iter().map(|sample| shown.value(sample)).collect();
        let heading = match which {
            "" => shown.heading.clone(),
            _ => format!("{which}: {}", shown.heading),
        };
        let course = Course {
            times_h: &times_h,
            values: &values,
            mark: shown.mark,
            unit: shown.unit.symbol,
            heading: &heading,
            note: &shown.note,
        };
        Some(draw(&course, CELLS, utf8)).filter(|text| !text.is_empty())
    });
    text.unwrap_or_default()
}

/// What is shown.
struct Shown {
    subject: Subject,
    unit: Unit,
    mark: Option<Mark>,
    heading: String,
    note: String,
}

impl Shown {
    /// The course of a limit, by its index; none if it is not about CO2.
    fn of_limit(index: usize, scenario: &Scenario, case: &Case) -> Option<Self> {
        let (rule, info) = (case.rules.get(index)?, scenario.limits.get(index)?);
        if rule.quantity != Quantity::Co2 {
            return None;
        }
        // An allowance is shown in hours, its threshold is not.
        let (unit, level, word) = match rule.statistic {
            Statistic::Allowance { threshold, .. } => (numbers::mmhg(), threshold, "from"),
            _ => (info.unit, rule.limit, "limit"),
        };
        let note = match rule.statistic {
            Statistic::Instant => String::new(),
            Statistic::Moving { window } => on_mean(&format!("the mean over {}", with_unit(window.hours(), "h"))),
            Statistic::Shift { length } => on_mean(&format!(
                "the sum over each 24 h divided by {}",
                with_unit(length.hours(), "h")
            )),
            Statistic::Mission => on_mean("the mean over the run"),
            Statistic::Allowance { .. } => {
                "The line is where time begins to count; the limit is on that time.".to_owned()
            }
        };
        let of = of(rule.subject, scenario)?;
        Some(Self {
            subject: rule.subject,
            unit,
            mark: Some(Mark {
                at: unit.from_si(level),
                at_least: rule.bound == Bound::AtLeast,
                word,
            }),
            heading: format!("{of} [{}], limit {}: {}", unit.symbol, info.id, info.words),
            note,
        })
    }

    /// The compartment in which CO2 came highest; suits are none.
    fn of_highest(scenario: &Scenario, case: &Case, trace: &Trace) -> Option<Self> {
        let is_suit = |place: usize| case.suits.iter().any(|suit| suit.compartment == place);
        let highest = |place: usize| {
            let of = trace.samples.iter().filter_map(|sample| sample.compartments.get(place));
            of.map(|now| now.partial_pa[Species::Co2 as usize]).fold(0.0, f64::max)
        };
        let places = (0..scenario.names.compartments.len()).filter(|&place| !is_suit(place));
        let place = places.max_by(|&one, &other| highest(one).total_cmp(&highest(other)).then(other.cmp(&one)))?;
        let (subject, unit) = (Subject::Compartment(place), numbers::mmhg());
        Some(Self {
            subject,
            unit,
            mark: None,
            heading: format!("{} [{}]; no limit is set on CO2", of(subject, scenario)?, unit.symbol),
            note: String::new(),
        })
    }

    /// In the unit; NaN where nobody breathes modelled air.
    fn value(&self, sample: &Sample) -> f64 {
        let pa = match self.subject {
            Subject::Person(who) => sample.people.get(who).and_then(|now| now.breathed_co2_pa),
            Subject::Compartment(place) => {
                let now = sample.compartments.get(place);
                now.map(|now| now.partial_pa[Species::Co2 as usize])
            }
            Subject::Tank(_) => None,
        };
        pa.map_or(f64::NAN, |pa| self.unit.from_si(pa))
    }
}

fn on_mean(what: &str) -> String {
    format!("The limit is on {what}, the curve is the value at each moment.")
}

fn of(subject: Subject, scenario: &Scenario) -> Option<String> {
    match subject {
        Subject::Person(who) => Some(format!("CO2 breathed by {}", words::person(&scenario.names, who))),
        Subject::Compartment(place) => Some(format!("CO2 in {}", words::compartment(&scenario.names, place))),
        Subject::Tank(_) => None,
    }
}

//! What is read off one run: a limit's margin, whether any limit is broken, a total, a time.
//!
//! Named as in `summary.json`: `totals.co2_removed_kg`, `tanks.oxygen.used_kg`, `devices.scrubber.canisters_spent`,
//! `schedule.waits_h`. A margin is that of whoever has the least, of all whom the limit is about, unless one is named.

use breathroom_sim::engine::{End, Outcome};
use breathroom_sim::scenario::Scenario;
use breathroom_sim::units::{Time, Unit};

/// Totals over a run: name, unit, meaning.
const TOTALS: [(&str, &str, &str); 15] = [
    ("co2_made_kg", "kg", "CO2 given off by people inside."),
    ("co2_removed_kg", "kg", "CO2 taken out by devices."),
    ("water_made_kg", "kg", "Water vapour given off by people inside."),
    ("runoff_kg", "kg", "Liquid sweat that ran off."),
    ("water_removed_kg", "kg", "Water taken out by devices."),
    (
        "water_condensed_kg",
        "kg",
        "Water that condensed on surfaces, less what evaporated again.",
    ),
    ("oxygen_used_kg", "kg", "Oxygen used by people inside."),
    ("oxygen_supplied_kg", "kg", "Oxygen added by holds."),
    ("diluent_supplied_kg", "kg", "Diluent added by holds."),
    ("oxygen_filled_kg", "kg", "Oxygen let in by fills."),
    ("diluent_filled_kg", "kg", "Diluent let in by fills."),
    ("oxygen_to_suits_kg", "kg", "Oxygen let into suits."),
    (
        "leaked_kg",
        "kg",
        "Gas lost through leaks and openings to outside, all species.",
    ),
    ("vented_kg", "kg", "Gas lost in vents, all species."),
    ("canisters_spent", "", "Canisters taken out, of all devices."),
];

/// What is known of a tank: name, unit, meaning.
const TANK: [(&str, &str, &str); 2] = [
    ("used_kg", "kg", "Taken out of the tank."),
    ("left_kg", "kg", "In the tank at the end, with what it cannot deliver."),
];

/// What is known of a removal device.
const DEVICE: [(&str, &str, &str); 3] = [
    ("co2_removed_kg", "kg", "CO2 that the device took out of the air."),
    ("water_removed_kg", "kg", "Water that the device took out of the air."),
    (
        "canisters_spent",
        "",
        "Canisters taken out of the device, spent or part-used.",
    ),
];

/// What is known of the schedule.
const SCHEDULE: [(&str, &str, &str); 4] = [
    (
        "waits_h",
        "h",
        "Time that tasks waited though they were ready, added over all tasks.",
    ),
    (
        "space_exceeded_h",
        "h",
        "Time with more space claimed than usable, added over all compartments.",
    ),
    ("last_end_h", "h", "When the last task ended."),
    ("unfinished", "", "Tasks that had not ended when the run did."),
];

/// Something that is read off a run.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Measure {
    /// The margin to a limit.
    Margin {
        /// The limit's id.
        limit: String,
        /// One of those whom it is about ("crew:lead", "cabin"); else whoever has the least.
        place: Option<String>,
    },
    /// 1 if any limit is broken or the run was not lived through, else 0.
    Broken,
    /// 1 if the run was not lived through, else 0: a run that ends early has its margins up to there alone.
    NotSurvived,
    /// A total or a time, by its name.
    Total(String),
}

/// Why a measure cannot be had of a scenario.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NoSuch {
    /// What is not there: "limit `co2-9h`".
    pub what: String,
    /// What there is instead.
    pub there: Vec<String>,
}

/// A measure of one scenario, with its places found.
#[derive(Clone, Debug)]
pub struct Gauge {
    source: Source,
    /// In which unit it is read.
    pub unit: &'static str,
    /// What it is, in a sentence.
    pub meaning: String,
}

#[derive(Clone, Debug)]
enum Source {
    Margin(Vec<usize>, Unit),
    Broken,
    NotSurvived,
    Total(usize),
    Tank(usize, usize),
    Device(usize, usize),
    /// And which tasks are of the plan, not on call.
    Schedule(usize, Vec<bool>),
}

impl Measure {
    /// A limit as typed: its id, or ID@WHERE.
    #[must_use]
    pub fn margin(text: &str) -> Self {
        let (limit, place) = match text.split_once('@') {
            Some((limit, place)) => (limit, Some(place.trim().to_owned())),
            None => (text, None),
        };
        Self::Margin {
            limit: limit.trim().to_owned(),
            place,
        }
    }

    /// Its name, as it is asked for: "co2-1h@crew:lead", "any limit broken", "totals.co2_made_kg".
    #[must_use]
    pub fn name(&self) -> String {
        match self {
            Self::Margin { limit, place: None } => limit.clone(),
            Self::Margin {
                limit,
                place: Some(place),
            } => format!("{limit}@{place}"),
            Self::Broken => "any limit broken".to_owned(),
            Self::NotSurvived => "not survived".to_owned(),
            Self::Total(name) => name.clone(),
        }
    }

    /// Whether it is a margin.
    #[must_use]
    pub fn is_margin(&self) -> bool {
        matches!(self, Self::Margin { .. })
    }

    /// Finds its places in a scenario.
    ///
    /// # Errors
    /// If the scenario has nothing of that name: what, and what there is.
    pub fn of(&self, scenario: &Scenario) -> Result<Gauge, NoSuch> {
        match self {
            Self::Margin { limit, place } => margin(limit, place.as_deref(), scenario),
            Self::Broken => Ok(Gauge {
                source: Source::Broken,
                unit: "",
                meaning: "Whether any limit is broken, or the run was not lived through.".to_owned(),
            }),
            Self::NotSurvived => Ok(Gauge {
                source: Source::NotSurvived,
                unit: "",
                meaning: "Whether the run was not lived through.".to_owned(),
            }),
            Self::Total(name) => total(name, scenario),
        }
    }
}

/// The names of all totals and times of a scenario.
#[must_use]
pub fn names(scenario: &Scenario) -> Vec<String> {
    let of = |group: &str, list: &[(&str, &str, &str)]| -> Vec<String> {
        list.iter().map(|(name, ..)| format!("{group}.{name}")).collect()
    };
    let mut all = of("totals", &TOTALS);
    for tank in &scenario.names.tanks {
        all.extend(of(&format!("tanks.{tank}"), &TANK));
    }
    for device in &scenario.names.devices {
        all.extend(of(&format!("devices.{device}"), &DEVICE));
    }
    all.extend(of("schedule", &SCHEDULE));
    all
}

fn margin(id: &str, place: Option<&str>, scenario: &Scenario) -> Result<Gauge, NoSuch> {
    let all = || scenario.limits.iter().enumerate();
    let of_id: Vec<usize> = all().filter(|(_, info)| info.id == id).map(|(rule, _)| rule).collect();
    let Some(&first) = of_id.first() else {
        return Err(NoSuch {
            what: format!("limit `{id}`"),
            there: scenario.limit_ids().into_iter().map(str::to_owned).collect(),
        });
    };
    let info = &scenario.limits[first];
    let subject = |rule: &usize| scenario.limits[*rule].subject.clone();
    let (rules, whose) = match place {
        None if of_id.len() == 1 => (of_id, info.subject.clone()),
        None => (of_id, "whoever has the least".to_owned()),
        Some(place) => match of_id.iter().find(|rule| subject(rule) == place) {
            Some(&rule) => (vec![rule], place.to_owned()),
            None => {
                return Err(NoSuch {
                    what: format!("`{place}` whom the limit `{id}` is about"),
                    there: of_id.iter().map(subject).collect(),
                });
            }
        },
    };
    Ok(Gauge {
        source: Source::Margin(rules, info.unit),
        unit: info.unit.symbol,
        meaning: format!(
            "Distance to the limit {id} of {whose}, negative beyond it: {}.",
            info.words
        ),
    })
}

fn total(name: &str, scenario: &Scenario) -> Result<Gauge, NoSuch> {
    let parts: Vec<&str> = name.split('.').collect();
    let found = |list: &[(&'static str, &'static str, &'static str)], name: &str| {
        list.iter().position(|(known, ..)| *known == name)
    };
    let place = |list: &[String], name: &str| list.iter().position(|known| known == name);
    let source = match parts[..] {
        ["totals", name] => found(&TOTALS, name).map(|at| (Source::Total(at), TOTALS[at])),
        ["schedule", name] => found(&SCHEDULE, name).map(|at| (Source::Schedule(at, planned(scenario)), SCHEDULE[at])),
        ["tanks", tank, name] => place(&scenario.names.tanks, tank)
            .zip(found(&TANK, name))
            .map(|(tank, at)| (Source::Tank(tank, at), TANK[at])),
        ["devices", device, name] => place(&scenario.names.devices, device)
            .zip(found(&DEVICE, name))
            .map(|(device, at)| (Source::Device(device, at), DEVICE[at])),
        _ => None,
    };
    let Some((source, (_, unit, meaning))) = source else {
        return Err(NoSuch {
            what: format!("result `{name}`"),
            there: names(scenario),
        });
    };
    Ok(Gauge {
        source,
        unit,
        meaning: meaning.to_owned(),
    })
}

impl Gauge {
    /// Its value in a run. A limit that never applied is infinitely far away.
    #[must_use]
    pub fn read(&self, outcome: &Outcome) -> f64 {
        match &self.source {
            Source::Margin(rules, unit) => {
                let of = |rule: &usize| outcome.rules[*rule].margin;
                let margins = rules.iter().map(of).filter(|margin| !margin.is_nan());
                unit.difference_from_si(margins.fold(f64::INFINITY, f64::min))
            }
            Source::Broken => {
                let broken = outcome.rules.iter().any(|rule| rule.margin < 0.0);
                f64::from(u8::from(broken || outcome.end != End::Completed))
            }
            Source::NotSurvived => f64::from(u8::from(outcome.end != End::Completed)),
            Source::Total(at) => of_totals(*at, outcome),
            Source::Tank(tank, at) => {
                let tank = &outcome.tanks[*tank];
                [tank.used_kg, tank.left_kg][*at]
            }
            Source::Device(device, at) => {
                let device = &outcome.devices[*device];
                [device.co2_kg, device.water_kg, f64::from(device.canisters_spent)][*at]
            }
            Source::Schedule(at, planned) => of_schedule(*at, planned, outcome),
        }
    }

    /// Its value in a run that could not be finished: the worst margin, broken, no total.
    #[must_use]
    pub fn failed(&self) -> f64 {
        match self.source {
            Source::Margin(..) => f64::NEG_INFINITY,
            Source::Broken | Source::NotSurvived => 1.0,
            _ => f64::NAN,
        }
    }
}

/// In the order of [`TOTALS`].
fn of_totals(at: usize, outcome: &Outcome) -> f64 {
    let totals = &outcome.totals;
    let sum = |species: &[f64; 4]| species.iter().sum::<f64>();
    [
        totals.co2_made_kg,
        totals.co2_removed_kg,
        totals.water_made_kg,
        totals.runoff_kg,
        totals.water_removed_kg,
        totals.water_condensed_kg,
        totals.oxygen_used_kg,
        totals.oxygen_supplied_kg,
        totals.diluent_supplied_kg,
        totals.oxygen_filled_kg,
        totals.diluent_filled_kg,
        totals.oxygen_to_suits_kg,
        sum(&totals.leaked_kg),
        sum(&totals.vented_kg),
        outcome
            .devices
            .iter()
            .map(|device| f64::from(device.canisters_spent))
            .sum(),
    ][at]
}

/// In the order of [`SCHEDULE`].
fn of_schedule(at: usize, planned: &[bool], outcome: &Outcome) -> f64 {
    let schedule = &outcome.schedule;
    let ended = || {
        let all = schedule.ended.iter().zip(planned);
        all.filter(|(_, planned)| **planned).map(|(ended, _)| *ended)
    };
    match at {
        0 => {
            let waits = schedule.waited_s.iter().zip(planned).filter(|(_, planned)| **planned);
            waits.map(|(waited_s, _)| waited_s).sum::<f64>() / 3600.0
        }
        1 => schedule.space_exceeded_s.iter().sum::<f64>() / 3600.0,
        2 => ended().flatten().max().map_or(0.0, Time::hours),
        _ => ended().filter(Option::is_none).count() as f64,
    }
}

/// Which tasks are of the plan: those on call are named after their alarm.
fn planned(scenario: &Scenario) -> Vec<bool> {
    let tasks = scenario.names.tasks.iter();
    tasks.map(|task| !task.id.starts_with("response to ")).collect()
}

#[cfg(test)]
mod tests {
    use breathroom_sim::engine::{DeviceOutcome, RuleOutcome, ScheduleOutcome, TankOutcome, Totals};
    use breathroom_sim::scenario::{LimitInfo, Names, TaskName};
    use breathroom_sim::units::unit;

    use super::*;

    fn scenario() -> Scenario {
        let limit = |id: &str, subject: &str| LimitInfo {
            id: id.to_owned(),
            subject: subject.to_owned(),
            words: "CO2 partial pressure, at most 3 mmHg".to_owned(),
            unit: unit("mmHg", breathroom_sim::units::Dimension::Pressure).expect("a unit"),
            fraction_means_something: true,
            source: String::new(),
            from_memory: false,
            set: None,
        };
        let task = |id: &str| TaskName {
            id: id.to_owned(),
            turn: 1,
            turns: 1,
            person: None,
        };
        Scenario {
            limits: vec![limit("co2", "crew:a"), limit("co2", "crew:b"), limit("wet", "cabin")],
            names: Names {
                tanks: vec!["oxygen".to_owned()],
                devices: vec!["bed".to_owned()],
                tasks: vec![task("work"), task("response to high")],
                ..Names::default()
            },
            ..Scenario::default()
        }
    }

    fn outcome() -> Outcome {
        let rule = |margin: f64| RuleOutcome {
            margin,
            ..RuleOutcome::default()
        };
        Outcome {
            rules: vec![rule(266.644), rule(133.322), rule(f64::NAN)],
            totals: Totals {
                co2_made_kg: 2.5,
                leaked_kg: [0.5, 0.25, 0.0, 0.25],
                ..Totals::default()
            },
            tanks: vec![TankOutcome {
                used_kg: 3.0,
                left_kg: 1.0,
                ..TankOutcome::default()
            }],
            devices: vec![DeviceOutcome {
                co2_kg: 2.0,
                canisters_spent: 4,
                ..DeviceOutcome::default()
            }],
            schedule: ScheduleOutcome {
                ended: vec![Some(Time::from_seconds(7_200.0)), Some(Time::from_seconds(9_000.0))],
                waited_s: vec![1_800.0, 3_600.0],
                space_exceeded_s: vec![360.0],
                ..ScheduleOutcome::default()
            },
            ..Outcome::default()
        }
    }

    fn read(measure: &Measure) -> f64 {
        measure.of(&scenario()).expect("there").read(&outcome())
    }

    #[test]
    fn a_margin_is_that_of_whoever_has_the_least_in_the_limits_unit() {
        assert!((read(&Measure::margin("co2")) - 1.0).abs() < 1e-12);
        assert!((read(&Measure::margin("co2@crew:a")) - 2.0).abs() < 1e-12);
        // A limit that never applied is not near.
        assert_eq!(read(&Measure::margin("wet")), f64::INFINITY);
        assert_eq!(read(&Measure::Broken), 0.0);
        let mut broken = outcome();
        broken.rules[0].margin = -1.0;
        assert_eq!(Measure::Broken.of(&scenario()).expect("there").read(&broken), 1.0);
        assert_eq!(read(&Measure::NotSurvived), 0.0);
        let ended = Outcome {
            end: End::OxygenFloor {
                at: Time::ZERO,
                compartment: 0,
                person: 0,
            },
            ..outcome()
        };
        for measure in [Measure::NotSurvived, Measure::Broken] {
            assert_eq!(measure.of(&scenario()).expect("there").read(&ended), 1.0);
        }
        let failed = |measure: Measure| measure.of(&scenario()).expect("there").failed();
        assert_eq!(failed(Measure::margin("co2")), f64::NEG_INFINITY);
        assert_eq!(failed(Measure::Broken), 1.0);
        assert!(failed(Measure::Total("totals.co2_made_kg".to_owned())).is_nan());
    }

    #[test]
    fn totals_and_times_are_those_of_the_outcome_and_what_is_on_call_is_not_planned() {
        for (name, value) in [
            ("totals.co2_made_kg", 2.5),
            ("totals.leaked_kg", 1.0),
            ("totals.canisters_spent", 4.0),
            ("tanks.oxygen.used_kg", 3.0),
            ("tanks.oxygen.left_kg", 1.0),
            ("devices.bed.co2_removed_kg", 2.0),
            ("schedule.waits_h", 0.5),
            ("schedule.space_exceeded_h", 0.1),
            ("schedule.last_end_h", 2.0),
            ("schedule.unfinished", 0.0),
        ] {
            assert!((read(&Measure::Total(name.to_owned())) - value).abs() < 1e-12, "{name}");
        }
        for name in names(&scenario()) {
            let measure = Measure::Total(name.clone());
            assert!(read(&measure).is_finite(), "{name}");
            assert_eq!(measure.name(), name);
        }
    }

    #[test]
    fn what_is_not_there_is_told_with_what_is() {
        let none = |measure: Measure| measure.of(&scenario()).expect_err("not there");
        assert_eq!(none(Measure::margin("co")).there, ["co2", "wet"]);
        assert_eq!(none(Measure::margin("co2@crew:c")).there, ["crew:a", "crew:b"]);
        let total = none(Measure::Total("tanks.nitrogen.used_kg".to_owned()));
        assert!(total.there.contains(&"tanks.oxygen.used_kg".to_owned()));
        assert_eq!(total.what, "result `tanks.nitrogen.used_kg`");
    }
}

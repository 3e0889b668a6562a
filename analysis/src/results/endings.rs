//! Why a run ended early, or could not be finished, with names and what may be done about it.

use breathroom_sim::engine::{End, RunError};
use breathroom_sim::scenario::Names;
use breathroom_sim::timeline::{Effect, Plan, Task};
use breathroom_sim::units::Time;

use super::numbers::with_unit;
use super::words::{compartment, opening, person, species, task};

/// Why a run ended early, if it did: when, and the cause.
#[must_use]
pub fn early_end(end: &End, names: &Names) -> Option<(Time, String)> {
    match *end {
        End::Completed => None,
        End::OxygenFloor {
            at,
            compartment: place,
            person: who,
        } => {
            let who = person(names, who);
            let place = compartment(names, place);
            Some((
                at,
                format!("the oxygen that {who} breathes in {place} fell below the floor for survival"),
            ))
        }
        End::Exhausted {
            at,
            compartment: place,
            species: what,
        } => Some((
            at,
            format!("the {} in {} ran out", species(what), compartment(names, place)),
        )),
    }
}

/// Why a run could not be finished, with names, and what may be done about it. The plan tells which tasks it may be about.
#[must_use]
pub fn describe(error: &RunError, names: &Names, plan: &Plan) -> String {
    match error {
        RunError::HatchAgainstPressure {
            at,
            opening: which,
            difference_pa,
        } => format!(
            "at {at}: `{}`{} cannot be opened against a pressure difference of {} (raise `opens_within` if it can, or bring \
             the pressures together first: `equalise`, `fill` or `vent`)",
            opening(names, *which),
            by_tasks(
                names,
                plan,
                |effect| matches!(effect, Effect::Open(index) if index == which)
            ),
            with_unit(difference_pa.abs() * 1e-3, "kPa"),
        ),
        RunError::Unsuited {
            at,
            compartment: place,
            person: who,
        } => format!(
            "at {at}: `{}`{} was to be vented while {} is in it, or in a room open to it, without a pressurised suit (close \
             the openings between, send them elsewhere first, or give their task a pressurised suit)",
            compartment(names, *place),
            by_tasks(names, plan, |effect| {
                matches!(effect, Effect::Vent { compartment, .. } if compartment == place)
            }),
            person(names, *who),
        ),
        RunError::TooManyPasses { at, tasks } => {
            let who: Vec<String> = tasks
                .iter()
                .take(8)
                .map(|&index| format!("`{}`", task(names, index)))
                .collect();
            let more = if tasks.len() > 8 {
                format!(" and {} more", tasks.len() - 8)
            } else {
                String::new()
            };
            let who = if who.is_empty() {
                "no task".to_owned()
            } else {
                who.join(", ")
            };
            format!("at {at}: 1,000 rounds of effects at one instant without coming to rest; taking part: {who}{more}")
        }
        RunError::Restless { at, compartment: place } => format!(
            "at {at}: the air of `{}` changed its way of behaving more than 100 times in one second; look at the holds, \
             devices and surfaces of that compartment",
            compartment(names, *place)
        ),
        RunError::NotFinite { at, compartment: place } => format!(
            "at {at}: a number in `{}` stopped being finite; a value of the scenario is far outside what the model can \
             carry",
            compartment(names, *place)
        ),
        RunError::Invalid(what) => format!("the case is not valid ({what}): a fault of this program, not of the file"),
    }
}

/// " (by task `out`)": the tasks with such an effect, by id; nothing if there is none, or they are too many to help.
fn by_tasks(names: &Names, plan: &Plan, is: impl Fn(&Effect) -> bool) -> String {
    let mut ids: Vec<&str> = Vec::new();
    let does_it = |task: &Task| task.starts.iter().chain(&task.ends).any(&is);
    for (task, name) in plan.tasks.iter().zip(&names.tasks) {
        if does_it(task) && !ids.contains(&name.id.as_str()) {
            ids.push(&name.id);
        }
    }
    match ids.as_slice() {
        [] | [_, _, _, _, ..] => String::new(),
        [one] => format!(" (by task `{one}`)"),
        few => format!(" (by one of the tasks `{}`)", few.join("`, `")),
    }
}

#[cfg(test)]
mod tests {
    use breathroom_sim::air::Place;
    use breathroom_sim::scenario::TaskName;
    use breathroom_sim::timeline::{Pace, SuitUse};

    use super::*;

    fn names() -> Names {
        Names {
            compartments: vec!["cabin".to_owned()],
            openings: vec!["inner_hatch".to_owned()],
            tasks: vec![
                TaskName {
                    id: "don".to_owned(),
                    turn: 1,
                    turns: 1,
                    person: None,
                },
                TaskName {
                    id: "wash".to_owned(),
                    turn: 2,
                    turns: 3,
                    person: Some("lead".to_owned()),
                },
            ],
            people: vec!["lead".to_owned()],
            ..Names::default()
        }
    }

    #[test]
    fn a_failed_run_is_told_with_names() {
        let at = Time::from_seconds(3600.0);
        let text = describe(
            &RunError::HatchAgainstPressure {
                at,
                opening: 0,
                difference_pa: -12_000.0,
            },
            &names(),
            &Plan::default(),
        );
        assert!(
            text.contains("`inner_hatch`") && text.contains("12 kPa") && text.contains("1 h 00 min"),
            "{text}"
        );
        let text = describe(
            &RunError::TooManyPasses { at, tasks: vec![0, 1] },
            &names(),
            &Plan::default(),
        );
        assert!(text.contains("`don`, `wash#2:lead`"), "{text}");
    }

    /// Two turns of one task name it once; a task that does something else is not named.
    #[test]
    fn what_cannot_be_done_is_told_with_the_tasks_that_do_it() {
        let task = |starts, ends| Task {
            interrupted: breathroom_sim::timeline::Interrupted::Resumes,
            on_call: false,
            entry: 0,
            turn: 1,
            people: vec![0],
            effort: 0,
            place: Place::Compartment(0),
            earliest: Time::ZERO,
            after: Vec::new(),
            duration: Time::ZERO,
            needs: Vec::new(),
            suit: SuitUse::Off,
            needs_space: false,
            starts,
            ends,
        };
        let vent = Effect::Vent {
            compartment: 0,
            to_pa: 0.0,
            pace: Pace::Over(Time::ZERO),
        };
        let plan = Plan {
            tasks: vec![task(vec![vent], vec![]), task(vec![], vec![Effect::Open(0)])],
            ..Plan::default()
        };
        let hatch = RunError::HatchAgainstPressure {
            at: Time::ZERO,
            opening: 0,
            difference_pa: 56_500.0,
        };
        let text = describe(&hatch, &names(), &plan);
        assert!(
            text.contains("`inner_hatch` (by task `wash`) cannot be opened"),
            "{text}"
        );
        let unsuited = RunError::Unsuited {
            at: Time::ZERO,
            compartment: 0,
            person: 0,
        };
        let text = describe(&unsuited, &names(), &plan);
        assert!(
            text.contains("`cabin` (by task `don`) was to be vented while lead is in it"),
            "{text}"
        );
        assert!(describe(&hatch, &names(), &Plan::default()).contains("`inner_hatch` cannot"));
    }

    #[test]
    fn an_index_that_names_nothing_is_no_panic() {
        let text = describe(
            &RunError::NotFinite {
                at: Time::ZERO,
                compartment: 7,
            },
            &names(),
            &Plan::default(),
        );
        assert!(text.contains("`?`"), "{text}");
    }

    #[test]
    fn the_cause_of_an_early_end_names_who_and_where() {
        let end = End::OxygenFloor {
            at: Time::ZERO,
            compartment: 0,
            person: 0,
        };
        let (_, cause) = early_end(&end, &names()).expect("early");
        assert!(cause.contains("lead") && cause.contains("cabin"), "{cause}");
        assert!(early_end(&End::Completed, &names()).is_none());
    }
}

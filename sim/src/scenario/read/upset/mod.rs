//! What goes wrong: `[sensors]`, `[[alarms]]`, `[buses]`, `[[faults]]`.

mod alarms;
mod buses;
mod faults;
mod response;
mod sensors;
mod targets;
mod when;

use crate::air::Place;
use crate::scenario::blueprint::{DurationNums, EffectNums, Parts, TaskNums, TurnOf};
use crate::scenario::fields::Fields;
use crate::scenario::num::Num;
use crate::scenario::reader::Reader;
use crate::scenario::{Names, TaskName};
use crate::timeline::{Effect, Interrupted, Plan, SuitUse, Task};
use crate::units::Time;

use super::effects::{self, EffectRead};
use super::tasks::TaskRead;
use response::ResponseRead;

/// The responses, which are tasks of the plan on call.
#[derive(Debug, Default)]
pub(super) struct UpsetRead {
    /// Alarm, and what is done.
    responses: Vec<(usize, ResponseRead)>,
}

/// Reads the sections; their numbers go into the parts.
pub(super) fn read(r: &mut Reader<'_>, root: &Fields<'_>, parts: &mut Parts, tasks: &[TaskRead]) -> UpsetRead {
    sensors::read(r, root, parts);
    let responses = alarms::read(r, root, parts);
    let effects: Vec<&EffectRead> = responses
        .iter()
        .flat_map(|(_, response)| response.starts.iter().chain(&response.does))
        .collect();
    effects::onto_vacuum(r, &effects, parts);
    let mut targets = targets::all(r, parts);
    let buses = buses::read(r, root, &targets);
    targets.extend(buses);
    faults::read(r, root, parts, tasks, &targets);
    UpsetRead { responses }
}

/// Names of the sensors; one that an alarm has of its own goes by the alarm.
pub(super) fn sensor_names(r: &Reader<'_>, parts: &Parts) -> Vec<String> {
    let own = parts.sensors.iter().skip(r.known.sensors.list.len());
    let of_alarm = |path: &String| path.split('.').nth(1).unwrap_or_default().to_owned();
    let names = r.known.sensors.list.iter().cloned();
    names.chain(own.map(|sensor| of_alarm(&sensor.path))).collect()
}

impl UpsetRead {
    /// Efforts that someone may take up beside those of tasks, by their indices among all known ones.
    pub fn efforts(&self, tasks: &[TaskRead]) -> Vec<usize> {
        let responses = self.responses.iter().map(|(_, response)| response);
        let mut list: Vec<usize> = responses.clone().filter_map(|response| response.effort).collect();
        let of_tasks = tasks.iter().flat_map(|t| t.starts.iter().chain(&t.ends));
        let effects = of_tasks.chain(responses.flat_map(|response| response.starts.iter().chain(&response.does)));
        list.extend(effects.filter_map(|effect| match effect.nums {
            EffectNums::Plain(Effect::Ease { effort, .. }) => Some(effort),
            _ => None,
        }));
        list
    }

    /// Puts the tasks on call after all others of the plan.
    pub fn plan(self, r: &Reader<'_>, parts: &mut Parts, plan: &mut Plan, names: &mut Names) {
        for (alarm, read) in self.responses {
            let entry = parts.tasks.len();
            parts.tasks.push(TaskNums {
                at: Num::Fixed(0.0),
                every: Num::Fixed(0.0),
                // When it starts and how long it takes stands in the response.
                duration: DurationNums::Given(Num::Fixed(0.0)),
                starts: read.starts.iter().map(|e| e.nums).collect(),
                ends: read.does.iter().map(|e| e.nums).collect(),
            });
            parts.turns.push(TurnOf {
                entry,
                turn: 1,
                person: 0,
            });
            let id = r.known.alarms.list.get(alarm).map_or("", String::as_str);
            names.tasks.push(TaskName {
                id: format!("response to {id}"),
                turn: 1,
                turns: 1,
                person: None,
            });
            if let Some(response) = parts.alarms.get_mut(alarm).and_then(|a| a.response.as_mut()) {
                response.task = plan.tasks.len();
            }
            plan.tasks.push(Task {
                entry,
                turn: 1,
                people: read.people,
                effort: read.effort.unwrap_or(0),
                place: read.place.unwrap_or(Place::Compartment(0)),
                earliest: Time::NEVER,
                after: Vec::new(),
                duration: Time(1),
                needs: read.needs,
                needs_space: false,
                suit: SuitUse::Off,
                starts: Vec::new(),
                ends: Vec::new(),
                interrupted: Interrupted::Resumes,
                on_call: true,
            });
        }
    }
}

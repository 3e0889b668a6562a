//! Faults, alarms and responses, by name.

use breathroom_sim::engine::{Case, Outcome};
use breathroom_sim::scenario::Names;
use breathroom_sim::units::Time;
use breathroom_sim::upset::Grade;

use super::super::summary::{Alarm, Fault, Response};
use super::super::words;

pub(super) fn faults(outcome: &Outcome, names: &Names) -> Vec<Fault> {
    let fault = |(index, of): (usize, &breathroom_sim::engine::FaultOutcome)| Fault {
        fault: words::fault(names, index).to_owned(),
        began_h: of.began.map(Time::hours),
        ended_h: of.ended.map(Time::hours),
        repaired: of.repaired,
        began_in: None,
    };
    outcome.faults.iter().enumerate().map(fault).collect()
}

pub(super) fn alarms(outcome: &Outcome, case: &Case, names: &Names) -> Vec<Alarm> {
    let alarms = case.alarms.iter().zip(&outcome.alarms).enumerate();
    alarms
        .map(|(index, (alarm, of))| Alarm {
            alarm: words::alarm(names, index).to_owned(),
            level: match alarm.grade {
                Grade::Caution => "caution",
                Grade::Warning => "warning",
            },
            first_on_h: of.first_on.map(Time::hours),
            trips: of.trips,
            false_trips: of.false_trips,
            occasions: of.occasions,
            missed: of.missed,
            first_occasion_h: of.first_occasion.map(Time::hours),
            on_h: of.on_s / 3600.0,
            statistics: None,
        })
        .collect()
}

pub(super) fn responses(outcome: &Outcome, names: &Names) -> Vec<Response> {
    let all = &outcome.responses;
    let response = |(index, of): (usize, &breathroom_sim::engine::ResponseOutcome)| {
        let before = all[..index].iter().filter(|other| other.alarm == of.alarm).count();
        let did = |&person: &usize| of.people & (1 << person) != 0;
        let people = (0..names.people.len().min(64)).filter(did);
        Response {
            alarm: words::alarm(names, of.alarm).to_owned(),
            occurrence: before as u32 + 1,
            tripped_h: of.tripped.hours(),
            began_h: of.began.map(Time::hours),
            done_h: of.done.map(Time::hours),
            people: people.map(|person| words::person(names, person).to_owned()).collect(),
            attempts: of.attempts,
            failed: of.failed,
        }
    };
    all.iter().enumerate().map(response).collect()
}

#[cfg(test)]
mod tests {
    use breathroom_sim::engine::ResponseOutcome;

    use super::*;

    #[test]
    fn responses_count_their_own_alarm_and_name_who_did_them() {
        let of = |alarm, people, done: Option<f64>| ResponseOutcome {
            alarm,
            tripped: Time::from_seconds(3600.0),
            done: done.map(Time::from_seconds),
            people,
            ..ResponseOutcome::default()
        };
        let outcome = Outcome {
            responses: vec![of(1, 0b01, Some(7200.0)), of(0, 0b11, None), of(1, 0, None)],
            ..Outcome::default()
        };
        let names = Names {
            people: ["lead", "second"].map(str::to_owned).into(),
            alarms: ["low", "high"].map(str::to_owned).into(),
            ..Names::default()
        };
        let all = responses(&outcome, &names);
        let told: Vec<_> = all.iter().map(|of| (of.alarm.as_str(), of.occurrence)).collect();
        assert_eq!(told, [("high", 1), ("low", 1), ("high", 2)]);
        assert_eq!(
            (all[0].done_h, &all[0].people[..]),
            (Some(2.0), &["lead".to_owned()][..])
        );
        assert_eq!(all[1].people, ["lead", "second"]);
        assert!(all[2].people.is_empty() && all[2].began_h.is_none());
    }
}

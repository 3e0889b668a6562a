//! What the plan's rules say, on small plans: figures are arithmetic from each test's own tasks.

use crate::air::Place;
use crate::crew::Person;
use crate::units::Time;

use super::{Change, Effect, Plan, Schedule, SuitUse, Task};

const CABIN: Place = Place::Compartment(0);
const LOCK: Place = Place::Compartment(1);
/// Indices of the efforts and the space that each claims, m3.
const REST: usize = 0;
const WORK: usize = 1;
const SPACE_M3: [f64; 2] = [1.0, 2.5];

fn minutes(minutes: i64) -> Time {
    Time(minutes * 60_000_000_000)
}

fn person(start: Place) -> Person {
    Person {
        gas_lag_s: 60.0,
        start,
        home: None,
        tissue_pa: None,
        idle: REST,
        profiles: Vec::new(),
    }
}

fn task(people: &[usize], earliest_min: i64, duration_min: i64) -> Task {
    Task {
        entry: 0,
        turn: 1,
        people: people.to_vec(),
        effort: WORK,
        place: CABIN,
        earliest: minutes(earliest_min),
        after: Vec::new(),
        duration: minutes(duration_min),
        needs: Vec::new(),
        needs_space: false,
        suit: SuitUse::Off,
        starts: Vec::new(),
        ends: Vec::new(),
        interrupted: crate::timeline::Interrupted::Resumes,
        on_call: false,
    }
}

fn plan(tasks: Vec<Task>, equipment: &[u32]) -> Plan {
    Plan {
        tasks,
        equipment: equipment.to_vec(),
        effort_space_m3: SPACE_M3.to_vec(),
    }
}

/// A schedule driven as an engine drives it, and all it gave, with the minute.
struct Run {
    schedule: Schedule,
    given: Vec<(i64, Change)>,
}

impl Run {
    fn new(plan: &Plan, people: &[Person], usable_m3: &[f64], until_min: i64) -> Self {
        let mut run = Self {
            schedule: Schedule::new(),
            given: Vec::new(),
        };
        run.again(plan, people, usable_m3, until_min);
        run
    }

    fn again(&mut self, plan: &Plan, people: &[Person], usable_m3: &[f64], until_min: i64) {
        let schedule = &mut self.schedule;
        schedule.reset(plan, people, usable_m3.iter().copied());
        self.given.clear();
        let mut out = Vec::new();
        while schedule.next_due() <= minutes(until_min) {
            let now = schedule.next_due();
            loop {
                let ended = schedule.end_due(plan, now, &mut out);
                let started = schedule.start_ready(plan, now, &mut out);
                self.given
                    .extend(out.drain(..).map(|change| (now.0 / 60_000_000_000, change)));
                if !ended && !started {
                    break;
                }
            }
        }
        schedule.advance(minutes(until_min));
    }

    /// Start and end of a task, in minutes.
    fn times(&self, task: usize) -> (Option<i64>, Option<i64>) {
        let in_minutes = |time: Time| time.0 / 60_000_000_000;
        (
            self.schedule.started(task).map(in_minutes),
            self.schedule.ended(task).map(in_minutes),
        )
    }

    fn changes(&self) -> Vec<Change> {
        self.given.iter().map(|&(_, change)| change).collect()
    }
}

#[test]
fn one_task_starts_when_it_may_and_ends_when_it_is_done() {
    let plan = plan(vec![task(&[0], 10, 30)], &[]);
    let run = Run::new(&plan, &[person(CABIN)], &[8.0], 60);
    let does = |effort| Change::Does {
        person: 0,
        effort,
        place: CABIN,
        suit: SuitUse::Off,
    };
    assert_eq!(
        run.given,
        [
            (10, Change::TaskStarted(0)),
            (10, does(WORK)),
            (40, Change::TaskEnded(0)),
            (40, does(REST)),
        ]
    );
    assert_eq!(run.schedule.next_due(), Time::NEVER);
    assert_eq!(run.schedule.waited_s(0), 0.0);
}

#[test]
fn ends_come_before_new_tasks_and_ties_follow_the_file() {
    let tasks = vec![
        task(&[1], 0, 20),
        task(&[0], 0, 20),
        task(&[0], 20, 5),
        task(&[1], 20, 5),
    ];
    let run = Run::new(&plan(tasks, &[]), &[person(CABIN), person(CABIN)], &[8.0], 60);
    let tasks: Vec<_> = run
        .given
        .iter()
        .filter(|(at, _)| *at == 20)
        .map(|&(_, change)| change)
        .collect();
    let does = |person, effort| Change::Does {
        person,
        effort,
        place: CABIN,
        suit: SuitUse::Off,
    };
    assert_eq!(
        tasks,
        [
            Change::TaskEnded(0),
            does(1, REST),
            Change::TaskEnded(1),
            does(0, REST),
            Change::TaskStarted(2),
            does(0, WORK),
            Change::TaskStarted(3),
            does(1, WORK),
        ]
    );
}

#[test]
fn effects_come_with_their_ends() {
    let mut opens = task(&[0], 0, 5);
    opens.starts = vec![Effect::Close(0), Effect::SwitchOff(1)];
    opens.ends = vec![Effect::Open(0)];
    let run = Run::new(&plan(vec![opens], &[]), &[person(CABIN)], &[8.0], 60);
    let effects: Vec<_> = run
        .given
        .iter()
        .filter(|(_, change)| matches!(change, Change::Effect { .. }))
        .collect();
    assert_eq!(
        effects,
        [
            &(
                0,
                Change::Effect {
                    task: 0,
                    effect: Effect::Close(0)
                }
            ),
            &(
                0,
                Change::Effect {
                    task: 0,
                    effect: Effect::SwitchOff(1)
                }
            ),
            &(
                5,
                Change::Effect {
                    task: 0,
                    effect: Effect::Open(0)
                }
            ),
        ]
    );
}

#[test]
fn one_unit_of_equipment_is_shared_in_file_order() {
    let mut tasks = vec![task(&[0], 0, 30), task(&[1], 0, 30), task(&[2], 0, 30)];
    tasks.iter_mut().for_each(|task| task.needs = vec![0]);
    let crew = vec![person(CABIN); 3];
    let run = Run::new(&plan(tasks.clone(), &[1]), &crew, &[20.0], 120);
    assert_eq!(
        [run.times(0).0, run.times(1).0, run.times(2).0],
        [Some(0), Some(30), Some(60)]
    );
    assert_eq!(run.schedule.waited_s(2), 3600.0);
    let run = Run::new(&plan(tasks, &[2]), &crew, &[20.0], 120);
    assert_eq!(
        [run.times(0).0, run.times(1).0, run.times(2).0],
        [Some(0), Some(0), Some(30)]
    );
}

#[test]
fn all_or_nothing() {
    // Task 1 wants both people and both equipments. Person 1 is held until 20, equipment 1 until 40: until then it holds
    // neither person 0 nor equipment 0, which task 3 gets at 10.
    let mut tasks = vec![
        task(&[1], 0, 20),
        task(&[0, 1], 0, 5),
        task(&[2], 0, 40),
        task(&[0], 10, 10),
    ];
    tasks[1].needs = vec![0, 1];
    tasks[2].needs = vec![1];
    tasks[3].needs = vec![0];
    let run = Run::new(&plan(tasks, &[1, 1]), &vec![person(CABIN); 3], &[20.0], 60);
    assert_eq!(run.times(3), (Some(10), Some(20)));
    assert_eq!(run.times(1), (Some(40), Some(45)));
    assert_eq!(
        run.changes()
            .iter()
            .filter(|&&change| change == Change::TaskWaits(1))
            .count(),
        1
    );
}

#[test]
fn nothing_is_reserved() {
    // Task 1 waits for person 1; task 2 comes later in the file, is ready later, and still takes person 0 first.
    let tasks = vec![task(&[1], 0, 30), task(&[0, 1], 0, 10), task(&[0], 20, 30)];
    let run = Run::new(&plan(tasks, &[]), &vec![person(CABIN); 2], &[20.0], 90);
    assert_eq!(run.times(2), (Some(20), Some(50)));
    assert_eq!(run.times(1), (Some(50), Some(60)));
}

#[test]
fn predecessors_must_have_ended() {
    let mut tasks = vec![
        task(&[0], 0, 30),
        task(&[1], 0, 50),
        task(&[0], 0, 10),
        task(&[1], 90, 10),
    ];
    tasks[2].after = vec![0, 1];
    tasks[3].after = vec![0];
    let run = Run::new(&plan(tasks, &[]), &vec![person(CABIN); 2], &[20.0], 120);
    assert_eq!(run.times(2), (Some(50), Some(60)));
    assert_eq!(run.times(3), (Some(90), Some(100)));
    // Waiting for what comes before, or for the earliest start, is no wait; the task was never refused.
    assert_eq!([run.schedule.waited_s(2), run.schedule.waited_s(3)], [0.0, 0.0]);
    assert!(
        !run.changes()
            .iter()
            .any(|change| matches!(change, Change::TaskWaits(_)))
    );
}

#[test]
fn a_busy_person_is_waited_for() {
    let tasks = vec![task(&[0], 0, 45), task(&[0], 15, 5), task(&[0], 1000, 5)];
    let mut run = Run::new(&plan(tasks.clone(), &[]), &[person(CABIN)], &[8.0], 30);
    assert_eq!((run.times(0), run.times(1)), ((Some(0), None), (None, None)));
    assert_eq!([run.schedule.waited_s(1), run.schedule.waited_s(2)], [900.0, 0.0]);
    assert!(run.schedule.is_busy(0));
    run.again(&plan(tasks, &[]), &[person(CABIN)], &[8.0], 60);
    assert_eq!(run.times(1), (Some(45), Some(50)));
    assert_eq!(run.schedule.waited_s(1), 1800.0);
    assert!(!run.schedule.is_busy(0));
}

#[test]
fn a_task_without_duration_ends_in_the_next_pass() {
    let mut tasks = vec![task(&[0], 5, 0), task(&[0], 5, 0)];
    tasks[1].after = vec![0];
    let plan = plan(tasks, &[]);
    let mut schedule = Schedule::new();
    schedule.reset(&plan, &[person(CABIN)], [8.0]);
    let (now, mut out) = (minutes(5), Vec::new());
    assert!(!schedule.end_due(&plan, now, &mut out));
    assert!(schedule.start_ready(&plan, now, &mut out));
    assert_eq!(
        (schedule.started(0), schedule.ended(0), schedule.next_due()),
        (Some(now), None, now)
    );
    assert!(schedule.end_due(&plan, now, &mut out));
    assert!(schedule.start_ready(&plan, now, &mut out));
    assert_eq!((schedule.ended(0), schedule.started(1)), (Some(now), Some(now)));
    assert!(schedule.end_due(&plan, now, &mut out));
    assert!(!schedule.start_ready(&plan, now, &mut out));
    assert_eq!(schedule.next_due(), Time::NEVER);
}

#[test]
fn a_task_waits_for_space_if_it_asks_for_it() {
    // Usable 6.0 m3; idle 1.0 each, at work 2.5. Two at work and one idle: 6.0 fits. Three at work: 7.5 does not.
    let mut tasks = vec![task(&[0], 0, 20), task(&[1], 0, 30), task(&[2], 0, 10)];
    tasks[2].needs_space = true;
    let crew = vec![person(CABIN); 3];
    let run = Run::new(&plan(tasks.clone(), &[]), &crew, &[6.0], 60);
    assert_eq!(run.times(2), (Some(20), Some(30)));
    assert_eq!(
        (run.schedule.space_exceeded(0), run.schedule.space_excess_m3(0)),
        (Time::ZERO, 0.0)
    );
    assert_eq!(
        [run.schedule.waited_s(2), run.schedule.waited_for_space_s(2)],
        [1200.0, 1200.0]
    );
    // Cut off while it waits, it has waited so far; what also lacks a person does not wait for space alone.
    let run = Run::new(&plan(tasks.clone(), &[]), &crew, &[6.0], 15);
    assert_eq!(run.schedule.waited_for_space_s(2), 900.0);
    tasks[2].people = vec![1, 2];
    let run = Run::new(&plan(tasks.clone(), &[]), &crew, &[4.0], 60);
    assert_eq!((run.times(2).0, run.schedule.waited_s(2)), (None, 3600.0));
    assert_eq!(run.schedule.waited_for_space_s(2), 1800.0);
    tasks[2].people = vec![2];
    // Without asking it crowds the cabin for ten minutes: 7.5 - 6.0 m3.
    tasks[2].needs_space = false;
    let run = Run::new(&plan(tasks, &[]), &crew, &[6.0], 60);
    assert_eq!(run.times(2), (Some(0), Some(10)));
    assert_eq!(
        (run.schedule.space_exceeded(0), run.schedule.space_excess_m3(0)),
        (minutes(10), 1.5)
    );
    assert_eq!(run.schedule.claimed_m3(0), 3.0);
}

#[test]
fn who_leaves_to_start_makes_space_for_an_earlier_task() {
    // 3.0 m3 do not hold one at work and one idle (3.5). Person 1 leaves for the lock by a later task, which makes space
    // for the earlier one in the next pass of the same instant.
    let mut tasks = vec![task(&[0], 0, 20), task(&[1], 0, 20)];
    tasks[0].needs_space = true;
    tasks[1].place = LOCK;
    let run = Run::new(&plan(tasks, &[]), &vec![person(CABIN); 2], &[3.0, 3.0], 60);
    assert_eq!((run.times(0).0, run.times(1).0), (Some(0), Some(0)));
    let order: Vec<_> = run
        .changes()
        .into_iter()
        .filter(|change| !matches!(change, Change::Does { .. }))
        .take(3)
        .collect();
    assert_eq!(
        order,
        [Change::TaskWaits(0), Change::TaskStarted(1), Change::TaskStarted(0)]
    );
}

#[test]
fn decimal_claims_that_fill_a_room_fit() {
    // 0.1 + 0.2 > 0.3 in binary.
    let mut plan = plan(vec![task(&[0], 0, 20)], &[]);
    plan.tasks[0].needs_space = true;
    plan.effort_space_m3 = vec![0.2, 0.1];
    let run = Run::new(&plan, &vec![person(CABIN); 2], &[0.3], 60);
    assert_eq!(run.times(0), (Some(0), Some(20)));
}

#[test]
fn crowding_that_lasts_no_time_leaves_no_trace() {
    // Between two tasks elsewhere a person is back at home in a full cabin for no time at all.
    let mut tasks = vec![task(&[1], 0, 20), task(&[1], 20, 20)];
    tasks.iter_mut().for_each(|task| task.place = LOCK);
    let crew = [
        person(CABIN),
        Person {
            home: Some(0),
            ..person(LOCK)
        },
    ];
    let run = Run::new(&plan(tasks, &[]), &crew, &[1.5, 3.0], 40);
    assert_eq!(
        (run.schedule.space_exceeded(0), run.schedule.space_excess_m3(0)),
        (Time::ZERO, 0.0)
    );
    assert_eq!(run.schedule.place(1), CABIN);
}

#[test]
fn after_a_sortie_people_are_back_in_the_lock() {
    let mut tasks = vec![task(&[0, 1], 0, 50), task(&[0, 1], 0, 300)];
    tasks[0].place = LOCK;
    tasks[1].place = Place::Outside;
    tasks[1].after = vec![0];
    let crew = [
        person(CABIN),
        Person {
            home: Some(0),
            ..person(CABIN)
        },
    ];
    let mut run = Run::new(&plan(tasks.clone(), &[]), &crew, &[8.0, 3.0], 60);
    assert_eq!([run.schedule.place(0), run.schedule.place(1)], [Place::Outside; 2]);
    assert_eq!([run.schedule.claimed_m3(0), run.schedule.claimed_m3(1)], [0.0, 0.0]);
    run.again(&plan(tasks, &[]), &crew, &[8.0, 3.0], 400);
    assert_eq!([run.schedule.place(0), run.schedule.place(1)], [LOCK, CABIN]);
    assert_eq!([run.schedule.effort(0), run.schedule.effort(1)], [REST; 2]);
    // Two at work in a lock of 3.0 m3 for 50 minutes: 5.0 claimed.
    assert_eq!(
        (run.schedule.space_exceeded(1), run.schedule.space_excess_m3(1)),
        (minutes(50), 2.0)
    );
}

#[test]
fn who_never_was_inside_stays_outside() {
    let mut tasks = vec![task(&[0], 0, 10)];
    tasks[0].place = Place::Outside;
    let run = Run::new(&plan(tasks, &[]), &[person(Place::Outside)], &[8.0], 20);
    assert_eq!((run.schedule.place(0), run.schedule.effort(0)), (Place::Outside, REST));
}

#[test]
fn the_turns_of_a_repeated_task_do_not_overtake() {
    // A daily task of 8 h by one person, three turns, with the second turn of another task after its second turn.
    let mut tasks: Vec<_> = (0..3)
        .map(|turn| Task {
            turn: turn as u32 + 1,
            ..task(&[0], turn * 1440, 480)
        })
        .collect();
    tasks.push(Task {
        turn: 2,
        after: vec![1],
        ..task(&[1], 0, 60)
    });
    let run = Run::new(&plan(tasks, &[]), &vec![person(CABIN); 2], &[8.0], 4000);
    assert_eq!(
        [run.times(0), run.times(1), run.times(2)].map(|times| times.0),
        [Some(0), Some(1440), Some(2880)]
    );
    assert_eq!(run.times(3), (Some(1920), Some(1980)));
}

#[test]
fn thousands_of_ready_tasks_are_each_tried_about_once() {
    // Work is counted, not timed: 10,000 tasks of two people, all ready from the start, are tried 10,000 times in all.
    let tasks: Vec<_> = (0..10_000).map(|i| task(&[i % 2], 0, 1)).collect();
    let run = Run::new(&plan(tasks, &[]), &vec![person(CABIN); 2], &[8.0], 6_000);
    assert_eq!(run.times(9_999), (Some(4_999), Some(5_000)));
    assert_eq!(run.schedule.tries(), 10_000);
}

#[test]
fn a_run_leaves_nothing_behind_for_the_next() {
    let mut tasks = vec![
        task(&[0], 0, 30),
        task(&[0, 1], 0, 10),
        task(&[1], 20, 30),
        task(&[0], 500, 1),
    ];
    tasks[1].needs = vec![0];
    tasks[3].after = vec![1];
    let plan = plan(tasks, &[1]);
    let crew = vec![person(CABIN); 2];
    let mut run = Run::new(&plan, &crew, &[3.0], 600);
    let (first, sums) = (run.changes(), run.schedule.space_exceeded(0));
    assert!(first.len() > 10 && sums > Time::ZERO);
    run.again(&plan, &crew, &[3.0], 25);
    run.again(&plan, &crew, &[3.0], 600);
    assert_eq!((run.changes(), run.schedule.space_exceeded(0)), (first, sums));
}

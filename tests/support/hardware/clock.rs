//! Who does what when: tasks that wait for nothing but their earliest start and their predecessors, and whose ends may take
//! as long as what they let in or out.
//!
//! Left out on purpose: contention for people, equipment and space. A case whose tasks contend is refused.

use breathroom_sim::air::Place;
use breathroom_sim::engine::Case;
use breathroom_sim::timeline::{Effect, SuitUse};
use breathroom_sim::units::Time;

/// How far a task is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Progress {
    Waits,
    Runs {
        until: Time,
    },
    /// Its time is over, its last effects go on.
    Ends,
    Ended {
        at: Time,
    },
}

/// What one person does from an instant on.
#[derive(Clone, Copy, Debug)]
pub struct Stint {
    pub from: Time,
    pub place: Place,
    pub effort: usize,
    pub suit: SuitUse,
    /// Where they go back to from outside.
    inside: Place,
}

/// A list of effects that are carried out one after the other.
#[derive(Clone, Copy, Debug)]
pub struct Runner {
    pub task: usize,
    pub of_end: bool,
    pub next: usize,
    /// The transfer that it waits for.
    pub waits_for: Option<usize>,
}

impl Runner {
    pub fn list<'a>(&self, case: &'a Case) -> &'a [Effect] {
        let task = &case.plan.tasks[self.task];
        if self.of_end { &task.ends } else { &task.starts }
    }
}

/// The state of the plan.
#[derive(Debug)]
pub struct Clock {
    pub tasks: Vec<Progress>,
    pub stints: Vec<Stint>,
    pub runners: Vec<Runner>,
}

impl Clock {
    pub fn new(case: &Case) -> Self {
        let stints = case.people.iter().map(|who| Stint {
            from: Time::ZERO,
            place: who.start,
            effort: who.idle,
            suit: SuitUse::Off,
            inside: who.start,
        });
        Self {
            tasks: vec![Progress::Waits; case.plan.tasks.len()],
            stints: stints.collect(),
            runners: Vec::new(),
        }
    }

    /// The phase *ends*. Whether anything ended.
    pub fn ends(&mut self, case: &Case, now: Time) -> bool {
        let mut any = false;
        for i in 0..self.tasks.len() {
            match self.tasks[i] {
                Progress::Runs { until } if until <= now => {
                    any = true;
                    if !case.plan.tasks[i].ends.is_empty() {
                        self.runners.push(Runner {
                            task: i,
                            of_end: true,
                            next: 0,
                            waits_for: None,
                        });
                    }
                    if case.plan.tasks[i].ends.iter().any(Effect::lasts) {
                        self.tasks[i] = Progress::Ends;
                    } else {
                        self.finish(case, i, now);
                    }
                }
                Progress::Ends if !self.runners.iter().any(|r| r.task == i && r.of_end) => {
                    any = true;
                    self.finish(case, i, now);
                }
                _ => {}
            }
        }
        any
    }

    fn finish(&mut self, case: &Case, i: usize, now: Time) {
        self.tasks[i] = Progress::Ended { at: now };
        for &p in &case.plan.tasks[i].people {
            let stint = &mut self.stints[p];
            let place = match (case.people[p].home, stint.place) {
                (Some(a), _) => Place::Compartment(a),
                (None, Place::Outside) => stint.inside,
                (None, place) => place,
            };
            *stint = Stint {
                from: now,
                place,
                effort: case.people[p].idle,
                inside: if place == Place::Outside { stint.inside } else { place },
                ..*stint
            };
        }
    }

    fn ready(&self, case: &Case, i: usize) -> bool {
        let ended = |&j: &usize| matches!(self.tasks[j], Progress::Ended { .. });
        self.tasks[i] == Progress::Waits && case.plan.tasks[i].after.iter().all(ended)
    }

    /// The phase *new tasks*. Whether any started.
    pub fn starts(&mut self, case: &Case, now: Time) -> bool {
        let mut any = false;
        for i in 0..self.tasks.len() {
            let task = &case.plan.tasks[i];
            if !self.ready(case, i) || task.earliest > now {
                continue;
            }
            any = true;
            for (j, other) in case.plan.tasks.iter().enumerate() {
                let on = matches!(self.tasks[j], Progress::Runs { .. } | Progress::Ends);
                let shared = other.people.iter().any(|p| task.people.contains(p));
                assert!(!on || !shared, "tasks {j} and {i} contend: not for the reference");
            }
            self.tasks[i] = Progress::Runs {
                until: now + task.duration,
            };
            for &p in &task.people {
                let stint = &mut self.stints[p];
                *stint = Stint {
                    from: now,
                    place: task.place,
                    effort: task.effort,
                    suit: task.suit,
                    inside: if task.place == Place::Outside {
                        stint.inside
                    } else {
                        task.place
                    },
                };
            }
            if !task.starts.is_empty() {
                self.runners.push(Runner {
                    task: i,
                    of_end: false,
                    next: 0,
                    waits_for: None,
                });
            }
        }
        any
    }

    /// Stage of a person's effort at an instant, and when it ends.
    pub fn stage(&self, case: &Case, p: usize, now: Time) -> (usize, Time) {
        let stint = &self.stints[p];
        let mut end = stint.from;
        for (k, stage) in case.people[p].profiles[stint.effort].stages.iter().enumerate() {
            match stage.lasts {
                Some(lasts) if end + lasts <= now => end = end + lasts,
                Some(lasts) => return (k, end + lasts),
                None => return (k, Time::NEVER),
            }
        }
        panic!("the last stage has no end")
    }

    /// When the plan has something to do next, after `now`.
    pub fn next(&self, case: &Case, now: Time) -> Time {
        let mut next = Time::NEVER;
        for i in 0..self.tasks.len() {
            match self.tasks[i] {
                Progress::Runs { until } => next = next.min(until),
                Progress::Waits if self.ready(case, i) => next = next.min(case.plan.tasks[i].earliest),
                _ => {}
            }
        }
        for p in 0..self.stints.len() {
            next = next.min(self.stage(case, p, now).1);
        }
        next
    }
}

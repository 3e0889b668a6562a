//! The effects of each task, one after the other.
//!
//! An effect that takes time holds up those of the same task that come after it, and at a task's end the end itself.

use std::collections::VecDeque;

use crate::timeline::Effect;

/// What one task has still to do.
#[derive(Clone, Debug, Default)]
struct Queue {
    task: usize,
    /// An effect that takes time is under way.
    busy: bool,
    /// The task ends when all is done.
    ending: bool,
    rest: VecDeque<Effect>,
}

/// What all tasks have still to do; tasks with nothing are not in it.
#[derive(Clone, Debug, Default)]
pub(crate) struct Sequences {
    queues: Vec<Queue>,
    /// Lists that are free to be used again.
    spare: Vec<VecDeque<Effect>>,
}

impl Sequences {
    /// Forgets all.
    pub fn clear(&mut self) {
        for mut queue in self.queues.drain(..) {
            queue.rest.clear();
            self.spare.push(queue.rest);
        }
    }

    fn queue(&mut self, task: usize) -> &mut Queue {
        let place = self
            .queues
            .iter()
            .position(|queue| queue.task == task)
            .unwrap_or_else(|| {
                self.queues.push(Queue {
                    task,
                    rest: self.spare.pop().unwrap_or_default(),
                    ..Queue::default()
                });
                self.queues.len() - 1
            });
        &mut self.queues[place]
    }

    /// Adds an effect to what a task has to do.
    pub fn push(&mut self, task: usize, effect: Effect) {
        self.queue(task).rest.push_back(effect);
    }

    /// Whether a task has still something to do.
    pub fn has(&self, task: usize) -> bool {
        self.queues.iter().any(|queue| queue.task == task)
    }

    /// A task's time is over: it ends when all it has to do is done.
    pub fn end(&mut self, task: usize) {
        self.queue(task).ending = true;
    }

    /// The effect of a task that took time is done.
    pub fn release(&mut self, task: usize) {
        self.queue(task).busy = false;
    }

    /// Takes what can be done now, in the order of the queues: effects into `out`, and tasks that are thereby done into `done`.
    pub fn take(&mut self, out: &mut Vec<(usize, Effect)>, done: &mut Vec<usize>) {
        for queue in &mut self.queues {
            while !queue.busy
                && let Some(effect) = queue.rest.pop_front()
            {
                queue.busy = effect.lasts();
                out.push((queue.task, effect));
            }
            if queue.ending && !queue.busy {
                done.push(queue.task);
            }
        }
        let spare = &mut self.spare;
        self.queues.retain_mut(|queue| {
            let stays = queue.busy || !queue.rest.is_empty() || (queue.ending && !done.contains(&queue.task));
            if !stays {
                spare.push(std::mem::take(&mut queue.rest));
            }
            stays
        });
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::timeline::Pace;
    use crate::units::Time;

    #[test]
    fn what_takes_time_holds_up_what_comes_after_it_in_its_own_task_only() {
        let vent = Effect::Vent {
            compartment: 0,
            to_pa: 0.0,
            pace: Pace::Over(Time(1)),
        };
        let (mut sequences, mut out, mut done) = (Sequences::default(), Vec::new(), Vec::new());
        for effect in [Effect::Close(0), vent, Effect::Open(1)] {
            sequences.push(7, effect);
        }
        sequences.push(3, Effect::Open(2));
        sequences.end(7);
        sequences.take(&mut out, &mut done);
        assert_eq!(out, [(7, Effect::Close(0)), (7, vent), (3, Effect::Open(2))]);
        assert!(done.is_empty());
        out.clear();
        sequences.take(&mut out, &mut done);
        assert!(out.is_empty() && done.is_empty());
        sequences.release(7);
        sequences.take(&mut out, &mut done);
        assert_eq!(
            (out.as_slice(), done.as_slice()),
            (&[(7, Effect::Open(1))][..], &[7][..])
        );
        done.clear();
        sequences.take(&mut out, &mut done);
        assert!(done.is_empty());
    }
}

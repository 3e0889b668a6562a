//! What going through the plan found, in words.

use crate::engine::Case;
use crate::scenario::Names;
use crate::scenario::reader::Reader;
use crate::text::Spot;
use crate::timeline::{Effect, SuitUse};
use crate::units::{Time, show};

use super::kilopascal;
use super::tasks::TaskRead;

/// An effect of a task of the plan: task, whether of its ends, place in the list.
pub(super) type Id = (usize, bool, usize);

/// What was found.
#[derive(Clone, Copy, Debug)]
pub(super) enum Found {
    /// Someone is where gas is let out.
    Unsuited(Unsuited),
    /// A hatch is opened onto the vacuum while there is gas behind it.
    OpensOnGas { effect: Id, inside: usize, at: Time },
    /// Gas is let in while a hatch is open onto the vacuum.
    FillsVacuum { effect: Id, opening: usize, at: Time },
    /// Gas is let out of a compartment, and with it of another one behind an open hatch. Nobody need be there: it may be meant.
    VentsMore {
        effect: Id,
        vented: usize,
        other: usize,
        at: Time,
    },
}

/// Someone who is where gas is let out.
#[derive(Clone, Copy, Debug)]
pub(super) struct Unsuited {
    /// What lets it out.
    pub effect: Id,
    pub person: usize,
    /// Where they are.
    pub place: usize,
    /// The compartment that the effect names.
    pub vented: usize,
    /// Their task; none: they are off task.
    pub task: Option<usize>,
    pub suit: SuitUse,
    pub at: Time,
}

impl Found {
    /// Reports it at its effect.
    pub fn tell(&self, r: &mut Reader<'_>, case: &Case, tasks: &[TaskRead], names: &Names) {
        let (effect, message, help) = match *self {
            Self::Unsuited(found) => (found.effect, found.message(case, names), found.help(case, names)),
            Self::OpensOnGas { effect, inside, at } => {
                let name = &names.compartments[inside];
                let vent = format!("{{ vent = \"{name}\", to = \"0 kPa\", over = \"10 min\" }}");
                (
                    effect,
                    format!("this opens onto the vacuum outside, and `{name}` is not vented"),
                    format!("on the medians that is at {at}: vent it to 0 first, {vent}"),
                )
            }
            Self::FillsVacuum { effect, opening, at } => {
                let name = &names.openings[opening];
                (
                    effect,
                    format!("gas is let in while `{name}` is open onto the vacuum"),
                    format!("on the medians that is at {at}: close it first, {{ close = \"{name}\" }}"),
                )
            }
            Self::VentsMore {
                effect,
                vented,
                other,
                at,
            } => {
                let (vented, other) = (&names.compartments[vented], &names.compartments[other]);
                let message = format!("`{other}` is let out with `{vented}`: the hatches between them are open");
                let help = format!("on the medians that is at {at}: if it is not meant, close one of them first");
                r.texts.warn(&spot(effect, case, tasks), message, help);
                return;
            }
        };
        r.texts.fault(&spot(effect, case, tasks), message, help);
    }
}

/// Where an effect stands in the file.
fn spot((task, ends, n): Id, case: &Case, tasks: &[TaskRead]) -> Spot {
    let read = &tasks[case.plan.tasks[task].entry];
    let list = if ends { &read.ends } else { &read.starts };
    list.get(n).map_or_else(|| read.spot.clone(), |e| e.spot.clone())
}

impl Unsuited {
    fn has_suit(&self, case: &Case) -> bool {
        case.suits.iter().any(|s| s.wearer == self.person)
    }

    fn message(&self, case: &Case, names: &Names) -> String {
        let (task, ends, n) = self.effect;
        let turn = &case.plan.tasks[task];
        let list = if ends { &turn.ends } else { &turn.starts };
        let vented = &names.compartments[self.vented];
        let what = match list.get(n) {
            Some(Effect::Vent { to_pa, .. }) => format!("`{vented}` is vented to {}", show(*to_pa, kilopascal())),
            _ => format!("`{vented}` is opened to the vacuum"),
        };
        let stay = if self.place == self.vented {
            "in it".to_owned()
        } else {
            format!("in `{}`, which is joined to it,", names.compartments[self.place])
        };
        let wears = match self.suit {
            _ if !self.has_suit(case) => "without a suit",
            SuitUse::Off => "with the suit off",
            _ => "in a suit that is not pressurised",
        };
        format!("{what} with `{}` {stay} {wears}", names.people[self.person])
    }

    fn help(&self, case: &Case, names: &Names) -> String {
        let who = &names.people[self.person];
        let doing = match self.task {
            Some(task) => format!("at `{}`", names.tasks[task].id),
            None => "off task".to_owned(),
        };
        let right = match self.task {
            _ if self.place != self.vented => "close the hatch between the two first".to_owned(),
            _ if !self.has_suit(case) => format!("give them a suit in `[suits.{who}]`, or let them be elsewhere"),
            Some(_) => "write suit = \"pressurised\" in that task, or let them be elsewhere".to_owned(),
            None => {
                "let them be elsewhere (`home`), or end their last task there with suit = \"pressurised\"".to_owned()
            }
        };
        format!("on the medians they are {doing} at {}: {right}", self.at)
    }
}

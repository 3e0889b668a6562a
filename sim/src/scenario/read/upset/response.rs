//! `response` of an alarm.

use crate::air::Place;
use crate::scenario::Input;
use crate::scenario::blueprint::{EffectNums, Parts};
use crate::scenario::fields::Fields;
use crate::scenario::num::Num;
use crate::scenario::reader::Reader;
use crate::scenario::upset::ResponseNums;
use crate::spread::{Shape, Spread};
use crate::timeline::Effect;
use crate::units::Dimension;
use crate::upset::Responder;

use super::super::cabin::place;
use super::super::effects::{self, EffectRead};
use super::super::orders::{Who, who};

/// What makes a task of a response.
#[derive(Debug)]
pub(super) struct ResponseRead {
    /// Those who are named.
    pub people: Vec<usize>,
    /// Index among all known efforts.
    pub effort: Option<usize>,
    pub place: Option<Place>,
    pub needs: Vec<usize>,
    pub starts: Vec<EffectRead>,
    pub does: Vec<EffectRead>,
}

/// Reads a response; its task in the plan is known later.
pub(super) fn read(r: &mut Reader<'_>, mut fields: Fields<'_>, parts: &Parts) -> (ResponseNums, ResponseRead) {
    fields.per_turn = true;
    let by = by(r, &fields);
    let people = match &by {
        Responder::People(list) => list.clone(),
        Responder::Any | Responder::Free | Responder::Inside => Vec::new(),
    };
    let reaction = fields.number(r, "reaction");
    let takes = fields.number(r, "takes");
    let effort = fields.name(r, "effort");
    let place = done_in(r, &fields);
    let interrupts = fields.flag(r, "interrupts");
    let needs = fields.indices(r, "needs");
    let starts = effects::read(r, &fields, "starts", parts);
    let does = effects::read(r, &fields, "does", parts);
    let (chance, tries) = repairs(r, &fields, &starts, &does);
    let nums = ResponseNums {
        by,
        reaction,
        takes,
        task: 0,
        in_place: place.is_some(),
        interrupts,
        chance,
        tries,
    };
    let read = ResponseRead {
        people,
        effort,
        place,
        needs,
        starts,
        does,
    };
    (nums, read)
}

fn by(r: &mut Reader<'_>, fields: &Fields<'_>) -> Responder {
    if r.known.people.list.is_empty() {
        let help = "add a table `[crew.NAME]`, or leave `response` out";
        r.texts.fault(&fields.spot, "there is no one who could respond", help);
    }
    if fields.entry("by").is_none() {
        let path = fields.path_of("by");
        r.assume(path, "any", "any".to_owned(), "assumption", false);
        return Responder::Any;
    }
    match who(r, fields, "by") {
        Some(Who::People(list)) => Responder::People(list),
        Some(Who::Word("free")) => Responder::Free,
        Some(Who::Word("inside")) => Responder::Inside,
        Some(Who::Word(_)) | None => Responder::Any,
    }
}

/// Where it is done; none: wherever each is.
fn done_in(r: &mut Reader<'_>, fields: &Fields<'_>) -> Option<Place> {
    fields.entry("in")?;
    let name = fields.text(r, "in")?;
    let found = place(r, name, &fields.spot_of("in"))?;
    if found == Place::Outside {
        let help = "nobody is sent out by an alarm: name a compartment, or leave it out";
        r.texts.fault(&fields.spot_of("in"), "a response is done inside", help);
        return None;
    }
    Some(found)
}

/// The chance of a repair with its uniform, and how often it is tried.
fn repairs(
    r: &mut Reader<'_>,
    fields: &Fields<'_>,
    starts: &[EffectRead],
    does: &[EffectRead],
) -> (Option<(f64, Num)>, u32) {
    let chance = fields.number_full(r, "chance").map_or(1.0, |n| n.median);
    let tries = fields.whole(r, "tries").and_then(|n| u32::try_from(n).ok());
    let mut all = starts.iter().chain(does);
    if !all.any(|e| matches!(e.nums, EffectNums::Plain(Effect::Repair(_)))) {
        for name in ["chance", "tries"] {
            if fields.entry(name).is_some() {
                let message = format!("`{name}` is that of a repair, and nothing is repaired");
                let help = "add e.g. does = [{ repair = \"slow-loss\" }], or remove it";
                r.texts.fault(&fields.spot_of(name), message, help);
            }
        }
        return (None, 1);
    }
    let tries = tries.unwrap_or(1);
    if chance >= 1.0 {
        return (None, tries);
    }
    let Ok(spread) = Spread::new(Shape::Uniform { lo: 0.0, hi: 1.0 }, None) else {
        return (None, tries);
    };
    let input = r.inputs.len();
    r.inputs.push(Input {
        path: fields.path_of("chance"),
        unit: Dimension::Fraction.si_unit(),
        spread,
        per_turn: true,
        unsure: None,
    });
    let uniform = Num::Input {
        input,
        lo: 0.0,
        hi: 1.0,
    };
    (Some((chance, uniform)), tries)
}

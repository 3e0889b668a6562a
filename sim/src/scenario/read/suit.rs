//! How the people of a task wear their suits.

use crate::air::Place;
use crate::scenario::blueprint::Parts;
use crate::scenario::fields::Fields;
use crate::scenario::reader::Reader;
use crate::timeline::SuitUse;

use super::{most, orders};

/// Reads `suit` of a task of these people in this place.
pub(super) fn read(
    r: &mut Reader<'_>,
    fields: &Fields<'_>,
    people: &[usize],
    place: Option<Place>,
    parts: &Parts,
) -> SuitUse {
    let outside = place == Some(Place::Outside);
    let has = |person: &usize| parts.suits.iter().any(|s| s.wearer == *person);
    let written = fields.entry("suit").and_then(|_| fields.word(r, "suit"));
    let Some(word) = written else {
        if outside && fields.entry("suit").is_none() && people.iter().any(has) {
            let source = "people who have a suit go out in it";
            r.assume(fields.path_of("suit"), "pressurised", String::new(), source, false);
            return SuitUse::Pressurised;
        }
        return SuitUse::Off;
    };
    let worn = orders::worn(word);
    if worn != SuitUse::Off {
        for person in people.iter().filter(|p| !has(p)) {
            let name = r.known.people.list[*person].clone();
            let help = format!("add a table `[suits.{name}]`, or give those without a suit a task of their own");
            r.texts
                .fault(&fields.spot_of("suit"), format!("`{name}` has no suit"), help);
        }
    }
    flows(r, fields, people, worn, parts);
    if outside && worn != SuitUse::Pressurised && people.iter().any(has) {
        let message = format!("`{}` is done outside with the suit {word}", fields.path);
        r.texts.fault(
            &fields.spot_of("suit"),
            message,
            "outside a suit is pressurised: suit = \"pressurised\", or leave it out",
        );
    }
    worn
}

/// What flows through a suit must flow.
fn flows(r: &mut Reader<'_>, fields: &Fields<'_>, people: &[usize], worn: SuitUse, parts: &Parts) {
    for suit in parts.suits.iter().filter(|s| people.contains(&s.wearer)) {
        let (key, flow, example) = match worn {
            SuitUse::Ventilated => ("ventilation", suit.ventilation, "170 L/min"),
            SuitUse::Purged => ("purge", suit.purge, "3 kg/h"),
            SuitUse::Off | SuitUse::Closed | SuitUse::Pressurised => continue,
        };
        if most(r, flow) > 0.0 || most(r, flow).is_nan() {
            continue;
        }
        let name = r.known.people.list[suit.wearer].clone();
        let message = format!("nothing flows through the suit of `{name}`: it has no `{key}`");
        let help = format!("add {key} = \"{example}\" to `[suits.{name}]`");
        r.texts.fault(&fields.spot_of("suit"), message, help);
    }
}

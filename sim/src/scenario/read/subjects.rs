//! Whom or what a rule of `[limits]` is about, and which quantities go with whom.

use crate::limits::{Bound, Quantity, Subject};
use crate::scenario::fields::Fields;
use crate::scenario::keys::What;
use crate::scenario::reader::Reader;
use crate::text::Spot;

/// Whom or what a rule is about.
pub(super) fn subjects(r: &mut Reader<'_>, fields: &Fields<'_>) -> Option<Vec<(Subject, String)>> {
    let Some(entry) = fields.entry("where") else {
        r.assume(
            fields.path_of("where"),
            "crew",
            "the air that people breathe".to_owned(),
            "the usual reading of a limit",
            false,
        );
        return Some(everyone(r));
    };
    let text = fields.text(r, "where")?;
    let spot: &Spot = &entry.node.spot;
    match text {
        "crew" => Some(everyone(r)),
        "compartments" => Some(everywhere(r)),
        _ => named(r, text, spot).map(|subject| vec![(subject, text.to_owned())]),
    }
}

/// One person, tank, suit or compartment by name.
fn named(r: &mut Reader<'_>, text: &str, spot: &Spot) -> Option<Subject> {
    match text.split_once(':') {
        Some(("crew", person)) => r.refer(What::Person, person, spot).map(Subject::Person),
        Some(("tank", tank)) => r.refer(What::Tank, tank, spot).map(Subject::Tank),
        Some(("suit", person)) if r.known.suits.get(person).is_none() => {
            r.refer(What::Suit, person, spot);
            None
        }
        _ => {
            let found = r.known.index(What::Gas, text);
            if found.is_none() {
                let mut words = vec!["crew".to_owned(), "compartments".to_owned()];
                words.extend(r.known.people.list.iter().map(|p| format!("crew:{p}")));
                words.extend(r.known.list(What::Gas));
                words.extend(r.known.tanks.list.iter().map(|t| format!("tank:{t}")));
                let help = r.texts.meant(text, words.iter().map(String::as_str));
                r.texts
                    .fault(spot, format!("there is no one and no compartment `{text}`"), help);
            }
            found.map(Subject::Compartment)
        }
    }
}

/// What is left is of tanks, what is in a tissue is of people, and all else of people or compartments.
pub(super) fn fits(r: &mut Reader<'_>, fields: &Fields<'_>, quantity: Quantity, subjects: &[(Subject, String)]) {
    let Some((subject, words)) = subjects.first() else {
        return;
    };
    let help = match (quantity, subject) {
        (Quantity::Stock, Subject::Tank(_)) => return,
        (Quantity::Stock, _) => {
            let tank = r.known.tanks.list.first().map_or("oxygen", String::as_str);
            format!("it is what a tank still holds: where = \"tank:{tank}\"")
        }
        (_, Subject::Tank(_)) => "of a tank only `stock` is judged".to_owned(),
        (Quantity::TissueRatio, Subject::Compartment(_)) => {
            "it is of people: where = \"crew\", or one of them, \"crew:NAME\"".to_owned()
        }
        _ => return,
    };
    let message = format!("there is no `{}` of \"{words}\"", quantity.name());
    r.texts.fault(&fields.spot_of("where"), message, help);
}

/// What the newer quantities cannot be held against.
pub(super) fn stands(r: &mut Reader<'_>, fields: &Fields<'_>, quantity: Quantity, bound: Bound) {
    let name = quantity.name();
    let at_every_instant = matches!(
        quantity,
        Quantity::Stock | Quantity::TissueRatio | Quantity::PressureRate
    );
    if at_every_instant && fields.entry("allowed").is_some() {
        let message = format!("`{name}` is judged at every instant, without an allowance");
        r.texts.fault(
            &fields.spot_of("allowed"),
            message,
            "remove `allowed`, and give the number itself",
        );
    }
    let (right, word) = match quantity {
        Quantity::Stock => (Bound::AtLeast, "at_least"),
        Quantity::TissueRatio | Quantity::PressureRate => (Bound::AtMost, "at_most"),
        _ => return,
    };
    if bound != right {
        let wrong = if bound == Bound::AtMost { "at_most" } else { "at_least" };
        let message = format!("`{wrong}` does not go with `{name}`");
        r.texts.fault(
            &fields.spot_of(wrong),
            message,
            format!("use `{word}`: the other side is no danger"),
        );
    }
}

/// Each of the crew.
pub(super) fn everyone(r: &Reader<'_>) -> Vec<(Subject, String)> {
    r.known
        .people
        .list
        .iter()
        .enumerate()
        .map(|(n, name)| (Subject::Person(n), format!("crew:{name}")))
        .collect()
}

/// Every compartment. Suits are none: they are people's, and may be full of oxygen.
pub(super) fn everywhere(r: &Reader<'_>) -> Vec<(Subject, String)> {
    r.known
        .compartments
        .list
        .iter()
        .enumerate()
        .map(|(n, name)| (Subject::Compartment(n), name.clone()))
        .collect()
}

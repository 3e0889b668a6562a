//! `[crew]` and `[equipment]`.

use crate::air::Place;
use crate::crew::Sex;
use crate::scenario::blueprint::{Parts, PersonNums};
use crate::scenario::fields::Fields;
use crate::scenario::keys::{EQUIPMENT, PERSON};
use crate::scenario::num::Num;
use crate::scenario::reader::Reader;
use crate::text::Spot;

use super::efforts::Used;

/// What the crew's tables say beside the numbers.
#[derive(Debug, Default)]
pub(super) struct CrewRead {
    /// Idle effort of each, as an index of all known efforts.
    pub idle: Vec<usize>,
    /// Own respiratory quotient of each.
    pub quotient: Vec<Option<Num>>,
}

/// Equipment as it was read.
#[derive(Debug, Default)]
pub(super) struct EquipmentRead {
    pub counts: Vec<u32>,
    pub spots: Vec<Spot>,
}

/// Reads the crew. The people's quotients and idle efforts are settled once it is known which efforts are used.
pub(super) fn read(r: &mut Reader<'_>, root: &Fields<'_>, parts: &mut Parts, gas_lag: Num) -> CrewRead {
    let mut crew = CrewRead::default();
    for (entry, table) in root.named(r, "crew") {
        let path = format!("crew.{}", entry.key);
        let fields = Fields::new(r, &PERSON, table, &path, &entry.key_spot);
        let mass = fields.number(r, "mass");
        let height = fields.number(r, "height");
        let age = fields.number(r, "age");
        let sex = if fields.word(r, "sex") == Some("female") {
            Sex::Female
        } else {
            Sex::Male
        };
        let fitness = fields.number_if(r, "fitness");
        if fitness.is_none() {
            let words = "as far above the reference person as the resting energy";
            r.assume(fields.path_of("fitness"), words, String::new(), "assumption", false);
        }
        let start = fields.entry("start").map(|_| fields.name(r, "start"));
        let home = fields.entry("home").and_then(|_| fields.name(r, "home"));
        let idle = fields.name(r, "idle").unwrap_or(0);
        let own_lag = fields.sub(r, "lags").and_then(|lags| lags.number_if(r, "gas"));
        let quotient = fields.number_if(r, "respiratory_quotient");
        let tissue = fields.number_if(r, "tissue_diluent");
        // It counts only before a sortie.
        if tissue.is_none() && r.known.suits.get(&entry.key).is_some() {
            r.assume(
                fields.path_of("tissue_diluent"),
                "that of the air they start in",
                String::new(),
                "assumption: they have lived in it for long",
                false,
            );
        }
        let towel = fields.word(r, "runoff_to") == Some("towel");
        let start = start.flatten().or(home).unwrap_or(0);
        if fields.entry("start").is_none() && home.is_none() {
            let first = r.known.compartments.list.first().cloned().unwrap_or_default();
            r.assume(
                fields.path_of("start"),
                "the first compartment",
                first,
                "assumption",
                false,
            );
        }
        crew.idle.push(idle);
        crew.quotient.push(quotient);
        parts.people.push(PersonNums {
            mass,
            height,
            age,
            sex,
            fitness,
            tissue,
            gas_lag: own_lag.unwrap_or(gas_lag),
            quotient: quotient.unwrap_or(Num::Fixed(f64::NAN)),
            towel,
            start: Place::Compartment(start),
            home,
            idle,
        });
    }
    crew
}

/// Settles the quotient of those who have none of their own. The common one becomes an uncertain input only if it counts.
pub(super) fn quotient(r: &mut Reader<'_>, root: &Fields<'_>, parts: &mut Parts, used: &Used, crew: &CrewRead) {
    let needed = used.by_power && crew.quotient.iter().any(Option::is_none);
    let common = if needed || root.entry("respiratory_quotient").is_some() {
        root.number(r, "respiratory_quotient")
    } else {
        Num::Fixed(crate::crew::RQ_BASELINE)
    };
    for (person, own) in parts.people.iter_mut().zip(&crew.quotient) {
        person.quotient = own.unwrap_or(common);
    }
}

/// `[equipment]`.
pub(super) fn equipment(r: &mut Reader<'_>, root: &Fields<'_>) -> EquipmentRead {
    let mut equipment = EquipmentRead::default();
    for (entry, table) in root.named(r, "equipment") {
        let path = format!("equipment.{}", entry.key);
        let fields = Fields::new(r, &EQUIPMENT, table, &path, &entry.key_spot);
        let count = fields.whole(r, "count").unwrap_or(1);
        equipment.counts.push(u32::try_from(count).unwrap_or(0));
        equipment.spots.push(entry.key_spot.clone());
    }
    equipment
}

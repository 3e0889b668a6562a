//! How long a task takes: a time, or a pre-breathe worked out from tissue, suit and what is breathed.

use crate::air::{Place, Species, partials};
use crate::crew::pre_breathe_s;
use crate::scenario::blueprint::{AirNums, DurationNums, Parts, SuitNums};
use crate::scenario::fields::Fields;
use crate::scenario::keys::PRE_BREATHE;
use crate::scenario::num::Num;
use crate::scenario::reader::Reader;
use crate::units::Time;

use super::{least, median, most};

/// A value at a place of its spread.
type At = fn(&Reader<'_>, Num) -> f64;

/// Reads `duration` with the shortest, the median and the longest that it comes to, s.
pub(super) fn read(
    r: &mut Reader<'_>,
    fields: &Fields<'_>,
    people: &[usize],
    parts: &Parts,
) -> (DurationNums, [f64; 3]) {
    let table = fields.entry("duration").and_then(|e| e.node.table());
    let pre_breathe = table.is_some_and(|t| t.entries.iter().any(|e| PRE_BREATHE.key(&e.key).is_some()));
    if pre_breathe && let Some(given) = fields.sub(r, "duration") {
        return pre_breathed(r, fields, &given, people, parts);
    }
    let length = fields.number(r, "duration");
    let lasts = [least(r, length), median(r, length), most(r, length)];
    (DurationNums::Given(length), lasts)
}

fn pre_breathed(
    r: &mut Reader<'_>,
    fields: &Fields<'_>,
    given: &Fields<'_>,
    people: &[usize],
    parts: &Parts,
) -> (DurationNums, [f64; 3]) {
    let [ratio, breathing, breaks] = ["tissue_ratio", "breathing", "breaks"].map(|name| given.number(r, name));
    let mut lasts = [0.0_f64; 3];
    for person in people {
        let Some(suit) = parts.suits.iter().find(|s| s.wearer == *person) else {
            let name = r.known.people.list[*person].clone();
            let message = format!("a pre-breathe goes by the pressure of a suit, and `{name}` has none");
            r.texts
                .fault(&given.spot, message, format!("add a table `[suits.{name}]`"));
            continue;
        };
        // What makes it longer: more in the tissue, more in what is breathed, a lower ratio, a lower suit pressure.
        let ways: [(At, At); 3] = [(least, most), (median, median), (most, least)];
        for (longest, (up, down)) in lasts.iter_mut().zip(ways) {
            let tissue = tissue_pa(r, *person, parts, up, down);
            let air = parts.air.map_or(f64::NAN, |air| up(r, air.pressure));
            let breathed = (1.0 - down(r, breathing)) * air;
            let (ratio, suit_pa) = (down(r, ratio), down(r, suit.pressure));
            // A number with a fault of its own says nothing.
            if ![tissue, breathed, ratio, suit_pa].iter().all(|x| x.is_finite()) {
                continue;
            }
            let needed = pre_breathe_s(tissue, breathed, ratio, suit_pa).unwrap_or(f64::INFINITY);
            *longest = longest.max(needed + 2.0 * up(r, breaks));
        }
        if lasts[1].is_infinite() {
            never(r, given, (ratio, breathing), suit, parts);
            return (
                DurationNums::PreBreathe {
                    ratio,
                    breathing,
                    breaks,
                },
                [1.0; 3],
            );
        }
    }
    if lasts[1] <= 0.0 && r.texts.faults.is_empty() {
        let message = format!("`{}` takes no time: no one of its crew needs it", fields.path);
        let help = "on the medians their tissue holds less diluent than `tissue_ratio` allows; `tissue_diluent` of a person \
                    says what they come with";
        r.texts.warn(&given.spot, message, help);
    }
    r.assume(
        fields.path_of("duration"),
        "pre-breathe",
        Time::from_seconds(lasts[1]).to_string(),
        "single tissue of 360 min half-time, recalled: a planning aid",
        true,
    );
    (
        DurationNums::PreBreathe {
            ratio,
            breathing,
            breaks,
        },
        lasts,
    )
}

/// What is breathed holds too much diluent for the tissue to fall that far.
fn never(r: &mut Reader<'_>, given: &Fields<'_>, (ratio, breathing): (Num, Num), suit: &SuitNums, parts: &Parts) {
    let air = parts.air.map_or(f64::NAN, |air| median(r, air.pressure));
    let least_part = 1.0 - median(r, ratio) * median(r, suit.pressure) / air;
    let message = format!(
        "a tissue never falls to that ratio on {:.0} % oxygen",
        100.0 * median(r, breathing)
    );
    let help = format!(
        "more than {:.1} % is needed at the pressure of [air], or a higher ratio, or a higher suit pressure",
        100.0 * least_part
    );
    r.texts.fault(&given.spot_of("tissue_ratio"), message, help);
}

/// Diluent in a person's tissue at the start, Pa: given, or that of the air they start in.
fn tissue_pa(r: &Reader<'_>, person: usize, parts: &Parts, up: At, down: At) -> f64 {
    let nums = &parts.people[person];
    if let Some(given) = nums.tissue {
        return up(r, given);
    }
    let air = match nums.start {
        Place::Compartment(c) => parts.compartments.get(c).map(|c| c.air),
        Place::Outside => parts.outside,
    };
    air.map_or(f64::NAN, |air| diluent_pa(r, &air, up, down))
}

fn diluent_pa(r: &Reader<'_>, air: &AirNums, up: At, down: At) -> f64 {
    let (pressure, temperature) = (up(r, air.pressure), down(r, air.temperature));
    let [oxygen, co2, humidity] = [air.oxygen, air.co2, air.humidity].map(|n| down(r, n));
    partials(pressure, oxygen, co2, humidity, temperature).map_or(0.0, |gas| gas[Species::Diluent as usize])
}

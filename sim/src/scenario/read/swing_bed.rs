//! `[removal]`, kind swing-bed.

use crate::removal::{Isotherm, Valves};
use crate::scenario::blueprint::{FlowNums, IsothermNums, Parts, SwingBedNums};
use crate::scenario::fields::Fields;
use crate::scenario::keys::{ISOTHERM, Kind, Section};
use crate::scenario::num::Num;
use crate::scenario::reader::Reader;
use crate::text::Table;
use crate::units::figures;

use super::{fans, least, most};

/// Least exponent of Toth's form: below it the isotherm is a step that nothing was fitted to.
const LEAST_EXPONENT: f64 = 0.05;

/// The three forms of an isotherm by their keys.
const FORMS: [&[&str]; 3] = [&["most", "half"], &["loading", "at"], &["a0", "b0", "e", "t0", "c"]];

pub(super) fn read(
    r: &mut Reader<'_>,
    fields: &Fields<'_>,
    fan: Option<FlowNums>,
    parts: &Parts,
    serves: usize,
) -> SwingBedNums {
    let flow = fans::flow(r, fields, fan);
    let bed = fields.number(r, "bed");
    let half_cycle = fields.number(r, "half_cycle");
    let temperature = temperature(r, fields, parts, serves);
    let own = ["co2_isotherm", "water_isotherm"].map(|name| fields.entry(name).is_some());
    if own == [true, true] {
        if fields.entry("isotherm").is_some() {
            r.texts.fault(
                &fields.spot_of("isotherm"),
                "`isotherm` means nothing beside `co2_isotherm` and `water_isotherm`",
                "remove it, or one of the two",
            );
        }
    } else {
        fields.word(r, "isotherm");
    }
    let co2 = isotherm(r, fields, "co2_isotherm", Isotherm::ZEOLITE_5A_CO2, temperature);
    let water = isotherm(r, fields, "water_isotherm", Isotherm::ZEOLITE_5A_WATER, temperature);
    let competition = fields.number(r, "competition");
    let pair = |r: &mut Reader<'_>, name: &str| {
        let table = table(r, fields, name);
        ["co2", "water"].map(|of| table.number(r, of))
    };
    let rates = pair(r, "rates");
    let desorb = pair(r, "desorb");
    let (ullage, saved) = lost(r, fields);
    let held = table(r, fields, "loaded");
    let loaded = ["first_co2", "second_co2", "first_water", "second_water"].map(|of| held.number(r, of));
    let valves = match fields.word(r, "valves") {
        Some("first stuck") => Valves::Stuck(0),
        Some("second stuck") => Valves::Stuck(1),
        Some("first isolated") => Valves::Isolated(0),
        Some("second isolated") => Valves::Isolated(1),
        _ => Valves::Turning,
    };
    SwingBedNums {
        flow,
        bed,
        temperature,
        co2,
        water,
        competition,
        rates,
        desorb,
        half_cycle,
        ullage,
        saved,
        loaded,
        valves,
    }
}

/// The beds' temperature: their own, or that of the air.
fn temperature(r: &mut Reader<'_>, fields: &Fields<'_>, parts: &Parts, serves: usize) -> Num {
    if let Some(own) = fields.number_if(r, "bed_temperature") {
        return own;
    }
    let path = fields.path_of("bed_temperature");
    r.assume(
        path,
        "the air temperature",
        String::new(),
        "assumption: beds give off their heat",
        false,
    );
    let served = parts.compartments.get(serves).map(|c| c.air.temperature);
    served
        .or(parts.air.map(|air| air.temperature))
        .unwrap_or(Num::Fixed(f64::NAN))
}

/// A table of the device, or an empty one so that its defaults are noted.
fn table<'t>(r: &mut Reader<'_>, fields: &Fields<'t>, name: &str) -> Fields<'t> {
    static EMPTY: Table = Table { entries: Vec::new() };
    if let Some(given) = fields.sub(r, name) {
        return given;
    }
    let section: &'static Section = match fields.section.key(name).map(|k| k.kind) {
        Some(Kind::Table(section)) => section,
        _ => &ISOTHERM,
    };
    Fields::new(r, section, &EMPTY, &fields.path_of(name), &fields.spot)
}

/// What is there at a turn, and the part of it that is saved.
fn lost(r: &mut Reader<'_>, fields: &Fields<'_>) -> (Num, Num) {
    let nothing = Num::Fixed(0.0);
    let lost = fields.number_if(r, "lost");
    let ullage = fields.number_if(r, "ullage");
    let saved = fields.number_if(r, "saved");
    let written = |name| fields.entry(name).is_some();
    if written("lost") && (written("ullage") || written("saved")) {
        let other = if written("ullage") { "ullage" } else { "saved" };
        r.texts.fault(
            &fields.spot_of(other),
            format!("`{}` has both `lost` and `{other}`", fields.path),
            "what is lost is the ullage less what is saved of it: remove one of the two",
        );
    } else if written("saved") && !written("ullage") && !fields.misspelt("ullage") {
        r.texts.fault(
            &fields.spot_of("saved"),
            "a part of an ullage that is not there",
            "add ullage = \"8 L\", or say what is lost: lost = \"4 L\"",
        );
    }
    if let Some(lost) = lost {
        return (lost, nothing);
    }
    let path = fields.path_of(if ullage.is_some() { "saved" } else { "lost" });
    match (ullage, saved) {
        (Some(ullage), Some(saved)) => (ullage, saved),
        (Some(ullage), None) => {
            r.assume(
                path,
                "0 %",
                String::new(),
                "assumption: the beds' pressures do not meet",
                false,
            );
            (ullage, nothing)
        }
        (None, _) => {
            r.assume(
                path,
                "0 m3",
                String::new(),
                "assumption: no gas is lost at a turn",
                false,
            );
            (nothing, nothing)
        }
    }
}

/// An isotherm in one of its forms, or the built-in one.
fn isotherm(r: &mut Reader<'_>, fields: &Fields<'_>, name: &str, built_in: Isotherm, temperature: Num) -> IsothermNums {
    let Some(own) = fields.sub(r, name) else {
        return IsothermNums::BuiltIn(built_in);
    };
    let forms: Vec<usize> = (0..FORMS.len())
        .filter(|n| FORMS[*n].iter().any(|key| own.entry(key).is_some()))
        .collect();
    let unknown = Num::Fixed(f64::NAN);
    let [form] = forms[..] else {
        if forms.is_empty() && own.table.entries.iter().any(|e| own.section.key(&e.key).is_none()) {
            return IsothermNums::BuiltIn(built_in); // told already
        }
        let message = if forms.is_empty() {
            format!("`{name}` has no numbers")
        } else {
            format!("`{name}` has numbers of two forms")
        };
        let help = "Langmuir takes `most` and `half`, a line `loading` and `at`, Toth `a0`, `b0`, `e`, `t0` and `c`";
        r.texts.fault(&fields.spot_of(name), message, help);
        return IsothermNums::BuiltIn(built_in);
    };
    let mut nums = [unknown; 5];
    for (n, key) in FORMS[form].iter().enumerate() {
        if own.entry(key).is_some() {
            nums[n] = own.number(r, key);
        } else {
            own.missing(r, key);
        }
    }
    match form {
        0 => IsothermNums::Langmuir([nums[0], nums[1]]),
        1 => IsothermNums::Line([nums[0], nums[1]]),
        _ => {
            let (t0, c) = (least(r, nums[3]), least(r, nums[4]));
            let lowest = [least(r, temperature), most(r, temperature)].map(|t| t0 + c / t);
            let t = lowest[0].min(lowest[1]);
            if t < LEAST_EXPONENT {
                let message = format!(
                    "Toth's exponent t0 + c/T may be {} at the bed's temperature",
                    figures(t, 3)
                );
                r.texts.fault(
                    &own.spot_of("t0"),
                    message,
                    "it is at least 0.05, and 1 for Langmuir's form",
                );
            }
            IsothermNums::Toth(nums)
        }
    }
}

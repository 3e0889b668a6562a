//! Faults and buses.

use super::*;
use Dimension::{Fraction, Number, Time};

/// Numbers in the dimension of what they change.
const ANY: Domain = domain(-1e9, 1e9);

/// `[[faults]]`.
pub static FAULT: Section = Section {
    path: "faults",
    meaning: "A change of numbers of the file, or something that breaks, from its onset until it ends or is repaired. It has one of \
              `factor`, `adds`, `to` and `mode`, and one of `onset`, `at` and `turn`.",
    keys: &[
        key("id", Kind::Id, Need::Required, "\"slow-loss\"", "Its name."),
        key(
            "on",
            Kind::PathOrPaths,
            Need::Required,
            "\"removal.scrubber.flow\"",
            "What it acts on: a path, or a list of paths with one common cause. `removal.X` itself, with `factor`, is the part of what it \
             would take that it still takes.",
        ),
        key(
            "factor",
            Kind::Number(Fraction, domain(0.0, 1000.0)),
            Need::Absent("-"),
            "{ uniform = [\"30 %\", \"70 %\"] }",
            "The number becomes so much of itself.",
        ),
        key(
            "adds",
            Kind::Number(Number, ANY),
            Need::Absent("-"),
            "\"0.3 mmHg\"",
            "So much is added to the number, in its unit; it may be negative. Of a sensor's `drift`: per day.",
        ),
        key(
            "to",
            Kind::Number(Number, ANY),
            Need::Absent("-"),
            "\"0.1 m3/min\"",
            "The number becomes this.",
        ),
        key(
            "mode",
            Kind::Word(&["off", "stuck", "shut", "open", "dead"]),
            Need::Absent("-"),
            "\"off\"",
            "How it breaks. \"off\": a device, all that a fan feeds or a bus feeds, a sensor, or no exchange through an opening; \"stuck\": a \
             pair of beds, an opening, a sensor; \"shut\": the valve of a hold, a relief valve; \"open\": a relief valve; \"dead\": a sensor.",
        ),
        key(
            "bed",
            Kind::Whole(1, 2),
            Need::Absent("the one that adsorbs at the onset"),
            "1",
            "Of a pair of beds that is \"stuck\": the bed that goes on adsorbing.",
        ),
        key(
            "reads",
            Kind::Number(Number, ANY),
            Need::Absent("what it said last"),
            "\"0.4 mmHg\"",
            "Of a sensor that is \"stuck\": what it goes on saying.",
        ),
        key(
            "onset",
            Kind::Number(Time, INSTANT_S),
            Need::Absent("-"),
            "{ uniform = [\"10 h\", \"60 h\"] }",
            "When it begins, from the start of the run; with `running`, when the device has run for so long in all.",
        ),
        key(
            "at",
            Kind::Table(&FAULT_AT),
            Need::Absent("-"),
            "{ start = \"work\" }",
            "When it begins, by a task.",
        ),
        key(
            "running",
            Kind::Name(What::Device),
            Need::Absent("the time of the run counts"),
            "\"scrubber\"",
            "The device whose operating time, or whose turns, count.",
        ),
        key(
            "turn",
            Kind::Number(Number, domain(0.0, 1e9)),
            Need::Absent("-"),
            "12",
            "With `running`: the turn of its beds, or of its cycle, at which it begins; rounded up, at least 1.",
        ),
        key(
            "shape",
            Kind::WordOrTable(&["step"], &FAULT_SHAPE),
            Need::Default("\"step\"", "assumption", false),
            "{ ramp = \"2 h\" }",
            "How it grows.",
        ),
        key(
            "ends",
            Kind::Table(&FAULT_ENDS),
            Need::Absent("never, unless it is repaired"),
            "{ after = \"2 h\" }",
            "When it ends of itself.",
        ),
    ],
};

/// `faults.X.at`.
pub static FAULT_AT: Section = Section {
    path: "faults.X.at",
    meaning: "One of `start` and `end`: a task, by its id; of a repeated task its first turn, or the one that \"sleep#2\" names.",
    keys: &[
        key(
            "start",
            Kind::Name(What::Task),
            Need::Absent("-"),
            "\"work\"",
            "At the start of this task.",
        ),
        key(
            "end",
            Kind::Name(What::Task),
            Need::Absent("-"),
            "\"sleep\"",
            "At the end of this task.",
        ),
        key(
            "plus",
            Kind::Number(Time, INSTANT_S),
            Need::Default("\"0 min\"", "at once", false),
            "\"15 min\"",
            "So long after.",
        ),
    ],
};

/// `faults.X.shape` as a table.
pub static FAULT_SHAPE: Section = Section {
    path: "faults.X.shape",
    meaning: "In place of \"step\": `ramp`, `decay`, `on` and `off`, or `period` and `duty`. Spreads of `on` and `off` are drawn anew each \
              time, sixteen times, and then go round.",
    keys: &[
        key(
            "ramp",
            Kind::Number(Time, SPAN_S),
            Need::Absent("-"),
            "\"2 h\"",
            "It grows in proportion to time, and is whole after this.",
        ),
        key(
            "decay",
            Kind::Number(Time, SPAN_S),
            Need::Absent("-"),
            "\"5 h\"",
            "It grows exponentially, with this time constant.",
        ),
        key(
            "on",
            Kind::Number(Time, SPAN_S),
            Need::Absent("-"),
            "{ exponential = \"10 min\", within = [\"1 min\", \"2 h\"] }",
            "There and gone by turns: there for so long ...",
        ),
        key(
            "off",
            Kind::Number(Time, SPAN_S),
            Need::Absent("-"),
            "\"3 h\"",
            "... and gone for so long.",
        ),
        key(
            "period",
            Kind::Number(Time, SPAN_S),
            Need::Absent("-"),
            "\"1 h\"",
            "There and gone in a fixed rhythm: from one time to the next ...",
        ),
        key(
            "duty",
            Kind::Number(Fraction, domain(0.001, 0.999)),
            Need::Absent("-"),
            "\"30 %\"",
            "... and the part of it for which it is there.",
        ),
    ],
};

/// `faults.X.ends`.
pub static FAULT_ENDS: Section = Section {
    path: "faults.X.ends",
    meaning: "One of `after` and `fresh`.",
    keys: &[
        key(
            "after",
            Kind::Number(Time, SPAN_S),
            Need::Absent("-"),
            "\"2 h\"",
            "So long after its onset.",
        ),
        key(
            "fresh",
            Kind::Name(What::Device),
            Need::Absent("-"),
            "\"canister\"",
            "When this device of kind sorbent gets a fresh canister.",
        ),
    ],
};

/// `buses.X`.
pub static BUS: Section = Section {
    path: "buses.X",
    meaning: "What loses its power together: a fault with `on = \"buses.X\"` and `mode = \"off\"` stops all that it feeds.",
    keys: &[key(
        "feeds",
        Kind::PathOrPaths,
        Need::Required,
        "[\"removal.scrubber\", \"fans.main\"]",
        "Paths of devices, fans, openings (ducts with a fan of their own), sensors, and valves of holds (`control.X.oxygen`).",
    )],
};

//! Tasks.

use super::effects::SUIT_WORDS;
use super::*;
use Dimension::{Fraction, Number, Time};

/// `[[tasks]]`.
pub static TASK: Section = Section {
    path: "tasks",
    meaning: "An effort by one or more people in a place for a while. Ready tasks are tried in the order of the file. A spread \
              here is drawn anew in every turn (and for each person with `each`), unless it says `draw = \"once\"`.",
    keys: &[
        key("id", Kind::Id, Need::Required, "\"sleep\"", "Its name."),
        key(
            "crew",
            Kind::Names(What::Person),
            Need::Required,
            "[\"lead\", \"second\"]",
            "Who: all of them together.",
        ),
        key(
            "effort",
            Kind::Name(What::Effort),
            Need::Required,
            "\"sleep\"",
            "What it takes of them.",
        ),
        key(
            "in",
            Kind::Name(What::Place),
            Need::Absent("the only compartment"),
            "\"cabin\"",
            "Where. \"outside\": the load goes to the suit, not to the cabin.",
        ),
        key(
            "at",
            Kind::Number(Time, INSTANT_S),
            Need::Absent("as soon as it can"),
            "\"0 h\"",
            "The earliest start.",
        ),
        key(
            "after",
            Kind::Names(What::Task),
            Need::Absent("nothing"),
            "[\"sleep\"]",
            "What must have ended: the same turn of a repeated task, the only turn of another. A task that is not repeated waits \
             for the first turn; \"sleep#2\" names another. With `each`, a person's copy waits for that person's own copy.",
        ),
        key(
            "each",
            Kind::Flag,
            Need::Default("false", "people do it together", false),
            "false",
            "Each person does it alone, with a claim on equipment of their own.",
        ),
        key(
            "needs",
            Kind::Names(What::Equipment),
            Need::Absent("nothing"),
            "[\"donning_stand\"]",
            "Equipment claimed while it runs, one of each.",
        ),
        key(
            "needs_space",
            Kind::Flag,
            Need::Default("false", "an excess is reported", false),
            "true",
            "It waits until its people's claims on space fit.",
        ),
        key(
            "duration",
            Kind::NumberOrTable(Time, SPAN_S, &PRE_BREATHE),
            Need::Required,
            "{ normal = [\"8 h\", \"20 min\"], within = [\"6 h\", \"9 h\"] }",
            "How long it takes; or, with `tissue_ratio`, for how long oxygen must be breathed before a sortie.",
        ),
        key(
            "suit",
            Kind::Word(SUIT_WORDS),
            Need::Absent("\"off\"; outside, \"pressurised\" for those who have one"),
            "\"off\"",
            "How its people wear their suits, and wear them on off task until another task says otherwise. \"ventilated\": closed, with \
             air of the place blown through; \"closed\": on oxygen at the pressure around it; \"purged\": with a flow of oxygen \
             through it; \"pressurised\": above the pressure around it.",
        ),
        key(
            "repeat",
            Kind::Table(&REPEAT),
            Need::Absent("once"),
            "{ every = \"24 h\", times = 3 }",
            "Its turns.",
        ),
        key(
            "interrupted",
            Kind::Word(&["resumes", "restarts", "dropped"]),
            Need::Default("\"resumes\"", "assumption", false),
            "\"restarts\"",
            "When a response to an alarm takes one of its people away: it goes on for what was left as soon as all can be had, starts \
             anew then, or is over, without its `ends`.",
        ),
        key(
            "starts",
            Kind::Tables(&EFFECT),
            Need::Absent("nothing"),
            "[{ close = \"hatch\" }]",
            "What is done when it starts.",
        ),
        key(
            "ends",
            Kind::Tables(&EFFECT),
            Need::Absent("nothing"),
            "[{ open = \"hatch\" }]",
            "What is done when it ends.",
        ),
    ],
};

/// `tasks.X.repeat`.
pub static REPEAT: Section = Section {
    path: "tasks.X.repeat",
    meaning: "Turn k of a task starts at the earliest at `at` + (k - 1) x `every`.",
    keys: &[
        key(
            "every",
            Kind::Number(Time, SPAN_S),
            Need::Required,
            "\"24 h\"",
            "From one turn to the next; drawn once.",
        ),
        key("times", Kind::Whole(1, 100_000), Need::Required, "3", "How many turns."),
    ],
};

/// `tasks.X.duration` as a table of its own.
pub static PRE_BREATHE: Section = Section {
    path: "tasks.X.duration",
    meaning: "In place of a time: as long as it takes by a single tissue of 360 min half-time until diluent in the tissue is so much \
              of the suits' pressure. For whoever of its crew needs longest, from their tissue at the start of the run. A planning \
              aid, no medical advice.",
    keys: &[
        key(
            "tissue_ratio",
            Kind::Number(Number, domain(0.1, 10.0)),
            Need::Required,
            "1.65",
            "Partial pressure of diluent in the tissue over the suit's pressure, at the end.",
        ),
        key(
            "breathing",
            Kind::Number(Fraction, PART),
            Need::Default("\"95 %\"", "a purged suit, NASA 2023: purge to 95 %", false),
            "\"95 %\"",
            "Oxygen in what they breathe meanwhile, at the pressure of [air].",
        ),
        key(
            "breaks",
            Kind::Number(Time, domain(0.0, 3.2e8)),
            Need::Default("\"0 min\"", "none", false),
            "\"5 min\"",
            "Breaks in all, on the air of the cabin. Each minute costs two.",
        ),
    ],
};

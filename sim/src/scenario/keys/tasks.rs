//! Tasks.

use super::*;
use Dimension::Time;

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
            Kind::Number(Time, SPAN_S),
            Need::Required,
            "{ normal = [\"8 h\", \"20 min\"], within = [\"6 h\", \"9 h\"] }",
            "How long it takes.",
        ),
        key(
            "repeat",
            Kind::Table(&REPEAT),
            Need::Absent("once"),
            "{ every = \"24 h\", times = 3 }",
            "Its turns.",
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

/// `tasks.X.starts` and `tasks.X.ends`.
pub static EFFECT: Section = Section {
    path: "tasks.X.starts | ends",
    meaning: "One of these.",
    keys: &[
        key(
            "open",
            Kind::Name(What::Opening),
            Need::Absent("-"),
            "\"hatch\"",
            "Opens an opening.",
        ),
        key(
            "close",
            Kind::Name(What::Opening),
            Need::Absent("-"),
            "\"hatch\"",
            "Closes an opening.",
        ),
        key(
            "switch_on",
            Kind::Name(What::Switched),
            Need::Absent("-"),
            "\"backup\"",
            "Switches a removal device on, or all that a fan feeds.",
        ),
        key(
            "switch_off",
            Kind::Name(What::Switched),
            Need::Absent("-"),
            "\"scrubber\"",
            "Switches a removal device off, or all that a fan feeds.",
        ),
    ],
};

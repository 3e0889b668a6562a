//! Alarms, and what people then do.

use super::sensors::ALARM_SENSOR;
use super::*;
use Dimension::{Fraction, Number, Time};

const SET: Domain = domain(-1e9, 1e9);

/// `[[alarms]]`.
pub static ALARM: Section = Section {
    path: "alarms",
    meaning: "What acts on readings, never on the truth. It watches a quantity with a sensor of its own, or takes the votes of `sensors`. \
              It comes on when enough of them have been beyond the set point at every reading for `for`, and goes off when they no \
              longer are beyond the value at which it clears.",
    keys: &[
        key("id", Kind::Id, Need::Required, "\"co2_high\"", "Its name."),
        key(
            "watches",
            Kind::Text,
            Need::Absent("what its `sensors` watch"),
            "\"cabin.co2\"",
            "COMPARTMENT.QUANTITY, as for a sensor.",
        ),
        key(
            "sensor",
            Kind::Table(&ALARM_SENSOR),
            Need::Absent("with `watches`, a perfect sensor"),
            "{ bias = { normal = [\"0 mmHg\", \"0.15 mmHg\"] }, lag = \"90 s\" }",
            "Its own sensor, beside `watches`.",
        ),
        key(
            "sensors",
            Kind::Names(What::Sensor),
            Need::Absent("its own sensor"),
            "[\"co2_a\", \"co2_b\", \"co2_c\"]",
            "Sensors that vote, in place of `watches`. They read the same quantity at the same times.",
        ),
        key(
            "votes",
            Kind::Whole(1, 100),
            Need::Absent("more than half of the sensors"),
            "2",
            "How many of its sensors must be beyond the set point; a dead one has no vote.",
        ),
        key(
            "above",
            Kind::Number(Number, SET),
            Need::Absent("-"),
            "\"4 mmHg\"",
            "Its set point: it warns of more.",
        ),
        key(
            "below",
            Kind::Number(Number, SET),
            Need::Absent("-"),
            "\"18 kPa\"",
            "Its set point: it warns of less.",
        ),
        key(
            "for",
            Kind::Number(Time, INSTANT_S),
            Need::Default("\"0 s\"", "it comes on at the first reading", false),
            "\"5 min\"",
            "How long readings must be beyond the set point.",
        ),
        key(
            "clears_below",
            Kind::Number(Number, SET),
            Need::Absent("the set point"),
            "\"3.6 mmHg\"",
            "Of one with `above`: the value below which it goes off.",
        ),
        key(
            "clears_above",
            Kind::Number(Number, SET),
            Need::Absent("the set point"),
            "\"18.5 kPa\"",
            "Of one with `below`: the value above which it goes off.",
        ),
        key(
            "level",
            Kind::Word(&["caution", "warning"]),
            Need::Default("\"warning\"", "act", false),
            "\"caution\"",
            "How urgent it is: \"caution\" asks to look into it, \"warning\" to act.",
        ),
        key(
            "response",
            Kind::Table(&RESPONSE),
            Need::Absent("none: it is only told"),
            "{ by = \"any\", reaction = \"6 min\", does = [{ switch_on = \"backup\" }] }",
            "What people then do.",
        ),
    ],
};

/// `alarms.X.response`.
pub static RESPONSE: Section = Section {
    path: "alarms.X.response",
    meaning: "What people do after an alarm: it begins a reaction time after it came on, as soon as they can be had, and ends with what it \
              `does`. Nobody outside or at the effects that end a task is taken. Its spreads are drawn anew: `reaction` for each \
              occurrence of the alarm, `takes` and `chance` for each attempt.",
    keys: &[
        key(
            "by",
            Kind::Who(&["any", "free", "inside"]),
            Need::Default("\"any\"", "assumption", false),
            "\"any\"",
            "Who: a person, or a list of people together. \"any\": the first who is off task, else (with `interrupts`) the first who \
             can be taken from a task; \"free\": the first who is off task, and it waits for one; \"inside\": all who are inside.",
        ),
        key(
            "reaction",
            Kind::Number(Time, INSTANT_S),
            Need::Required,
            "{ lognormal = [\"6 min\", \"60 %\"] }",
            "Time from the alarm to the beginning.",
        ),
        key(
            "takes",
            Kind::Number(Time, INSTANT_S),
            Need::Default("\"0 min\"", "assumption", false),
            "\"10 min\"",
            "How long it takes.",
        ),
        key(
            "effort",
            Kind::Name(What::Effort),
            Need::Default("\"nominal\"", "assumption", false),
            "\"maintenance\"",
            "What it takes of them.",
        ),
        key(
            "in",
            Kind::Name(What::Place),
            Need::Absent("wherever each of them is"),
            "\"cabin\"",
            "Where it is done.",
        ),
        key(
            "interrupts",
            Kind::Flag,
            Need::Default("true", "an alarm comes first", false),
            "false",
            "Whether people may be taken from a task (see its `interrupted`).",
        ),
        key(
            "needs",
            Kind::Names(What::Equipment),
            Need::Absent("nothing"),
            "[\"donning_stand\"]",
            "Equipment claimed while it runs, one of each.",
        ),
        key(
            "starts",
            Kind::Tables(&EFFECT),
            Need::Absent("nothing"),
            "[{ close = \"hatch\" }]",
            "What is done when it begins.",
        ),
        key(
            "does",
            Kind::Tables(&EFFECT),
            Need::Absent("nothing"),
            "[{ switch_on = \"backup\" }]",
            "What is done when it ends.",
        ),
        key(
            "chance",
            Kind::Fixed(Fraction, PART),
            Need::Default("\"100 %\"", "assumption", false),
            "\"70 %\"",
            "Chance that a `repair` succeeds, at each attempt. A run on the medians succeeds from 50 %.",
        ),
        key(
            "tries",
            Kind::Whole(1, 1000),
            Need::Default("1", "assumption", false),
            "3",
            "Attempts at a repair before it is given up.",
        ),
    ],
};

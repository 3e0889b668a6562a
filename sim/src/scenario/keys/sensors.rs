//! Sensors: what they say of the air.

use super::*;
use Dimension::{Fraction, Number, Time};

/// What a sensor's number is measured in follows from what it watches.
const IN_ITS_UNIT: Domain = domain(-1e9, 1e9);

pub(super) const WATCHES: Key = key(
    "watches",
    Kind::Text,
    Need::Required,
    "\"cabin.co2\"",
    "COMPARTMENT.QUANTITY: `co2`, `humidity`, `oxygen`, `pressure` or `temperature` of a compartment, or of a suit \
     (\"suit:lead.co2\").",
);
const GAIN: Key = key(
    "gain",
    Kind::Number(Fraction, domain(0.0, 10.0)),
    Need::Default("\"100 %\"", "a perfect sensor", false),
    "\"97 %\"",
    "What it makes of the quantity: a factor.",
);
const BIAS: Key = key(
    "bias",
    Kind::Number(Number, IN_ITS_UNIT),
    Need::Absent("none"),
    "{ normal = [\"0 mmHg\", \"0.15 mmHg\"] }",
    "Added to what it says, in the unit of the quantity; it may be negative.",
);
const DRIFT_KEY: Key = key(
    "drift",
    Kind::Table(&DRIFT),
    Need::Absent("none"),
    "{ adds = \"0.2 mmHg\", over = \"1 d\" }",
    "How it walks away from the start of the run.",
);
const NOISE: Key = key(
    "noise",
    Kind::Number(Number, domain(0.0, 1e9)),
    Need::Absent("none"),
    "\"0.05 mmHg\"",
    "Standard deviation of a reading: normal, and independent of the others. A run on the medians has none.",
);
const LAG: Key = key(
    "lag",
    Kind::Number(Time, domain(0.0, 86_400.0)),
    Need::Default("\"0 s\"", "a perfect sensor", false),
    "\"90 s\"",
    "Time constant with which it follows: after so long it has made up 63 % of a step.",
);
const EVERY: Key = key(
    "every",
    Kind::Fixed(Time, domain(0.1, 3.2e8)),
    Need::Default("\"30 s\"", "assumption", false),
    "\"30 s\"",
    "Time from reading to reading; the first is so long after the start of the run.",
);
const RANGE: Key = key(
    "range",
    Kind::Numbers(Number, IN_ITS_UNIT),
    Need::Absent("from 0 (a temperature from nothing) without an upper end"),
    "[\"0 mmHg\", \"40 mmHg\"]",
    "Its least and its largest reading: beyond them it says these.",
);

/// `sensors.X`.
pub static SENSOR: Section = Section {
    path: "sensors.X",
    meaning: "A sensor that alarms can vote with, and that faults can reach. Its reading is gain times the quantity, lagged, plus bias, \
              drift and noise, kept inside its range.",
    keys: &[WATCHES, GAIN, BIAS, DRIFT_KEY, NOISE, LAG, EVERY, RANGE],
};

/// `alarms.X.sensor`.
pub static ALARM_SENSOR: Section = Section {
    path: "alarms.X.sensor",
    meaning: "The alarm's own sensor: the keys of `[sensors.X]` without `watches`.",
    keys: &[GAIN, BIAS, DRIFT_KEY, NOISE, LAG, EVERY, RANGE],
};

/// `sensors.X.drift` and `alarms.X.sensor.drift`.
pub static DRIFT: Section = Section {
    path: "sensors.X.drift",
    meaning: "A steady walk of what a sensor says, from the start of the run.",
    keys: &[
        key(
            "adds",
            Kind::Number(Number, IN_ITS_UNIT),
            Need::Required,
            "\"0.2 mmHg\"",
            "So much is added, in the unit of the quantity; it may be negative ...",
        ),
        key(
            "over",
            Kind::Number(Time, SPAN_S),
            Need::Required,
            "\"1 d\"",
            "... in this time, and again in the next.",
        ),
    ],
};

//! Limits.

use super::*;
use Dimension::{Number, Time};

/// `[limits]`.
pub static LIMITS: Section = Section {
    path: "limits",
    meaning: "What must hold, on whose authority.",
    keys: &[
        key(
            "use",
            Kind::Names(What::LimitSet),
            Need::Absent("none"),
            "[\"surface-sortie\"]",
            "Named sets; `breathroom limits` lists and explains them.",
        ),
        key(
            "rule",
            Kind::Tables(&RULE),
            Need::Absent("none"),
            "[]",
            "Rules of one's own.",
        ),
    ],
};

/// `[[limits.rule]]`.
pub static RULE: Section = Section {
    path: "limits.rule",
    meaning: "A rule. It replaces a set's rule of the same id. Without `average`, `mean`, `shift` or `allowed` it holds at every \
              instant.",
    keys: &[
        key("id", Kind::Id, Need::Required, "\"co2-1h\"", "Its name."),
        key(
            "quantity",
            Kind::Word(QUANTITIES),
            Need::Required,
            "\"co2\"",
            "What is judged. CO2 is a partial pressure; its ppm and % are parts of 101.325 kPa.",
        ),
        key(
            "where",
            Kind::Text,
            Need::Default("\"crew\"", "the air that people breathe", false),
            "\"crew\"",
            "\"crew\": the air each person breathes, wherever they are; \"crew:lead\"; \"compartments\": each of them; or the name \
             of one; \"suit:lead\": the gas in a suit, worn or not; \"tank:oxygen\" for `stock`.",
        ),
        key(
            "average",
            Kind::Number(Time, SPAN_S),
            Need::Absent("every instant"),
            "\"1 h\"",
            "Moving average over this window; the air before the start counts with its initial value.",
        ),
        key(
            "mean",
            Kind::Word(&["mission"]),
            Need::Absent("every instant"),
            "\"mission\"",
            "The mean over the run, judged at its end.",
        ),
        key(
            "shift",
            Kind::Number(Time, SPAN_S),
            Need::Absent("every instant"),
            "\"8 h\"",
            "The sum over each 24 h from the start, divided by this length (occupational).",
        ),
        key(
            "allowed",
            Kind::Number(Time, domain(0.0, 3.2e8)),
            Need::Absent("every instant"),
            "\"24 h\"",
            "Time that may be spent beyond the number.",
        ),
        key(
            "over",
            Kind::Word(&["mission", "each"]),
            Need::Absent("\"mission\""),
            "\"each\"",
            "Of `allowed`: all time beyond adds up over the mission, or each stretch is judged alone.",
        ),
        key(
            "at_most",
            Kind::Number(Number, domain(-1e9, 1e9)),
            Need::Absent("-"),
            "\"3 mmHg\"",
            "The number not to exceed.",
        ),
        key(
            "at_least",
            Kind::Number(Number, domain(-1e9, 1e9)),
            Need::Absent("-"),
            "\"18 kPa\"",
            "The number not to fall below.",
        ),
        key(
            "of",
            Kind::Word(&["standard"]),
            Need::Absent("\"standard\""),
            "\"standard\"",
            "What ppm and % of CO2 are parts of: 101.325 kPa. (\"actual\" is not yet supported.)",
        ),
        key(
            "source",
            Kind::Text,
            Need::Required,
            "\"NASA-STD-3001 Vol. 2, V2 6004\"",
            "Where the number comes from.",
        ),
    ],
};

/// The words for what a rule judges.
pub const QUANTITIES: &[&str] = &[
    "co2",
    "humidity",
    "oxygen",
    "oxygen_fraction",
    "inspired_oxygen",
    "pressure",
    "temperature",
    "apparent_temperature",
    "dew_point_gap",
    "liquid_water",
    "pressure_rate",
    "tissue_ratio",
    "stock",
];

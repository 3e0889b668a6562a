//! Canisters.

use super::removal::{FAN_KEY, FAN_PART, FLOW, KIND, ON, POWER, SERVES};
use super::*;
use Dimension::{Fraction, Mass, MassForMass, Number};

/// Mass of a canister, or of what it takes.
const CANISTER_KG: Domain = domain(1e-3, 1e4);

/// `removal.X` of kind sorbent.
pub static SORBENT: Section = Section {
    path: "removal.X",
    meaning: "A canister that fills up: what it lets pass of the CO2 is e^(-N (1 - s)), with N its `sharpness` and s the part of its \
              capacity that it holds (Bohart and Adams). A task with `change` puts a fresh one in.",
    keys: &[
        KIND,
        SERVES,
        FLOW,
        FAN_KEY,
        FAN_PART,
        key(
            "chemistry",
            Kind::Word(&["lithium-hydroxide", "soda-lime", "none"]),
            Need::Default("\"lithium-hydroxide\"", "assumption", false),
            "\"soda-lime\"",
            "What reacts: vapour and heat given off for the CO2 taken, and the default of `uptake`. With \"none\" neither.",
        ),
        key(
            "sorbent",
            Kind::Number(Mass, CANISTER_KG),
            Need::Absent("`capacity` says what it takes"),
            "\"2.3 kg\"",
            "Mass of sorbent in one canister.",
        ),
        key(
            "uptake",
            Kind::Number(MassForMass, domain(1e-3, 2.0)),
            Need::Absent(
                "by stoichiometry: 0.919 kg/kg lithium hydroxide, 0.594 kg/kg soda lime taken as calcium hydroxide",
            ),
            "\"0.75 kg/kg\"",
            "CO2 that a sorbent takes for its mass, when all of it that can has reacted.",
        ),
        key(
            "utilisation",
            Kind::Number(Fraction, domain(0.01, 1.0)),
            Need::Absent("100 % of a given `uptake`; by stoichiometry 80 % of lithium hydroxide, 50 % of soda lime"),
            "\"85 %\"",
            "Part of the uptake that is reached before it is spent.",
        ),
        key(
            "capacity",
            Kind::Number(Mass, CANISTER_KG),
            Need::Absent("sorbent times uptake times utilisation"),
            "\"1.7 kg\"",
            "CO2 that a canister takes in all, in place of `sorbent`.",
        ),
        key(
            "sharpness",
            Kind::Number(Number, domain(0.5, 1000.0)),
            Need::Default("10", "assumption: a tenth passes when 77 % is used", false),
            "12",
            "N: how late and how steeply it breaks through. A fresh one passes e^-N.",
        ),
        key(
            "bypass",
            Kind::Number(Fraction, PART),
            Need::Default("\"0 %\"", "all of the flow meets the bed", false),
            "\"2 %\"",
            "Part of the flow that misses the bed (channelling).",
        ),
        key(
            "loaded",
            Kind::Number(Mass, domain(0.0, 1e4)),
            Need::Default("\"0 kg\"", "the first canister is fresh", false),
            "\"0.4 kg\"",
            "CO2 already in the canister in place at the start.",
        ),
        key(
            "canisters",
            Kind::Whole(0, 10_000),
            Need::Default("0", "assumption: none in stock", false),
            "6",
            "Fresh canisters in stock, beside the one in place.",
        ),
        POWER,
        ON,
    ],
};

//! What tasks do to the cabin.

use super::*;
use Dimension::{Area, Fraction, MassRate, Pressure, Time};

/// How a suit is worn.
pub(super) const SUIT_WORDS: &[&str] = &["off", "ventilated", "closed", "purged", "pressurised"];

/// `tasks.X.starts` and `tasks.X.ends`.
pub static EFFECT: Section = Section {
    path: "tasks.X.starts | ends",
    meaning: "One action with what belongs to it: `open` to `repair`. Those of a list are carried out one after the other; `vent`, `fill` \
              and `equalise` take time. A task ends when the last of its `ends` is done, and its people stay at it until then; \
              `starts` run beside it.",
    keys: &[
        key(
            "open",
            Kind::Name(What::Opening),
            Need::Absent("-"),
            "\"hatch\"",
            "Opens an opening. Onto the vacuum outside: only once the compartment was vented to 0.",
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
        key(
            "vent",
            Kind::Name(What::Compartment),
            Need::Absent("-"),
            "\"lock\"",
            "Lets a compartment's gas out, with `to`, and `over` or `area`. Vented to 0 it stays open to the vacuum until it is filled.",
        ),
        key(
            "fill",
            Kind::Name(What::Compartment),
            Need::Absent("-"),
            "\"lock\"",
            "Lets gas into a compartment, with `to`, `over` or `flow`, and `oxygen` and `from` where they are needed.",
        ),
        key(
            "equalise",
            Kind::Name(What::Opening),
            Need::Absent("-"),
            "\"hatch\"",
            "Lets the pressures on both sides of a closed opening become equal, with `over` or `area`.",
        ),
        key(
            "change",
            Kind::Name(What::Device),
            Need::Absent("-"),
            "\"canister\"",
            "Puts a fresh canister into a device of kind sorbent, if one is left.",
        ),
        key(
            "recharge",
            Kind::Name(What::Suit),
            Need::Absent("-"),
            "\"lead\"",
            "Fills the tank of this person's suit again from its `supply`, as far as that goes.",
        ),
        key(
            "swap",
            Kind::Name(What::Switched),
            Need::Absent("-"),
            "\"scrubber\"",
            "Switches this device (or all that a fan feeds) off, and the one of `to` on.",
        ),
        key(
            "isolate",
            Kind::Name(What::Compartment),
            Need::Absent("-"),
            "\"lock\"",
            "Closes every opening of this compartment.",
        ),
        key(
            "recall",
            Kind::Who(&["all"]),
            Need::Absent("-"),
            "\"all\"",
            "Calls these people in: their tasks outside end after at most `within`, with what those do at their end.",
        ),
        key(
            "wear",
            Kind::Word(SUIT_WORDS),
            Need::Absent("-"),
            "\"closed\"",
            "Those of `who` who are inside wear their suits so, who have one.",
        ),
        key(
            "masks",
            Kind::Word(&["on", "off"]),
            Need::Absent("-"),
            "\"on\"",
            "Those of `who` who are inside breathe from masks, or no longer.",
        ),
        key(
            "ease",
            Kind::Name(What::Effort),
            Need::Absent("-"),
            "\"rest\"",
            "Those of `who` who are inside go on at this effort, until their task ends.",
        ),
        key(
            "repair",
            Kind::Name(What::Fault),
            Need::Absent("-"),
            "\"slow-loss\"",
            "Repairs a fault; of a response, if its `chance` has it so.",
        ),
        key(
            "to",
            Kind::NumberOrName(Pressure, domain(0.0, 1e7), What::Switched),
            Need::Absent("-"),
            "\"0 kPa\"",
            "Of `vent` and `fill`: the total pressure at which it ends. Of `swap`: the device that is switched on.",
        ),
        key(
            "within",
            Kind::Number(Time, SPAN_S),
            Need::Absent("-"),
            "\"25 min\"",
            "Of `recall`: how long the way back takes, at most.",
        ),
        key(
            "who",
            Kind::Names(What::Person),
            Need::Absent("everyone"),
            "[\"lead\"]",
            "Of `wear`, `masks` and `ease`: whom it is about.",
        ),
        key(
            "over",
            Kind::Number(Time, SPAN_S),
            Need::Absent("-"),
            "\"10 min\"",
            "The pressure changes evenly over this time.",
        ),
        key(
            "area",
            Kind::Number(Area, domain(1e-9, 10.0)),
            Need::Absent("-"),
            "\"2 cm2\"",
            "Of `vent` and `equalise`: through an orifice of this effective area, choked or not.",
        ),
        key(
            "flow",
            Kind::Number(MassRate, domain(1e-6, 1e3)),
            Need::Absent("-"),
            "\"1 kg/min\"",
            "Of `fill`: at this flow of the mixture.",
        ),
        key(
            "oxygen",
            Kind::Number(Fraction, PART),
            Need::Absent("that of [air]"),
            "\"34 %\"",
            "Of `fill`: the part of the gas let in that is oxygen, by amount. The rest is diluent.",
        ),
        key(
            "from",
            Kind::Names(What::Tank),
            Need::Absent("an unlimited supply that is counted"),
            "[\"oxygen\", \"nitrogen\"]",
            "Of `fill`: the tanks it comes from, at most one of each gas.",
        ),
    ],
};

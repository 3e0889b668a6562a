//! The built-in efforts, with their sources and the space they claim.
//!
//! All are stated for the reference person (82 kg, 1.78 m, 40 years, male) and scale as `efforts` says.
//!
//! Sources: beside each. Those of the activity table are recalled (see `table`); metabolic rates in met are those of
//! ASHRAE 55 and ISO 7730 annex B, recalled, and that a class of work there stands for an effort here is an assumption.
//!
//! Left out: the spread between people at the same work, about 10 to 20 %: give `power` with a spread.

use super::efforts::{Rates, RowScale, StageSpec};
use super::energy::MET_W_M2;
use super::table;
use crate::units::Time;

/// A built-in effort.
#[derive(Clone, Copy, Debug)]
pub struct Builtin {
    /// Its name in scenarios.
    pub name: &'static str,
    /// One line of meaning.
    pub about: &'static str,
    /// Its stages; at least one.
    pub stages: &'static [StageSpec],
    /// Space a person claims, m3. All are assumptions: see [`SPACE_SOURCE`].
    pub space_m3: f64,
    /// Where the rates come from.
    pub source: &'static str,
    /// The source was recalled, not re-read.
    pub from_memory: bool,
}

/// Where every built-in space claim comes from.
pub const SPACE_SOURCE: &str = "assumption: volume swept by a body of 1.78 m in that posture, with reach";

const QUARTER: Option<Time> = Some(Time(15 * 60 * 1_000_000_000));

const fn on(rates: Rates) -> StageSpec {
    StageSpec { lasts: None, rates }
}

const fn quarter(rates: Rates) -> StageSpec {
    StageSpec { lasts: QUARTER, rates }
}

const TABLE_SOURCE: &str = "NASA SP-2010-3407 / TP-2015-218570, activity table";
const MET_SOURCE: &str = "ASHRAE 55 / ISO 7730 annex B, metabolic rates";

/// Mean of all Apollo lunar surface sorties, 234 kcal/h, in W (Waligora and Horrigan, in NASA SP-368 (1975), from
/// memory).
const APOLLO_SURFACE_W: f64 = 234.0 * 4184.0 / 3600.0;

/// Every built-in effort.
pub const BUILTINS: &[Builtin] = &[
    Builtin {
        name: "sleep",
        about: "asleep",
        stages: &[on(Rates::Table(table::SLEEP, RowScale::Resting))],
        space_m3: 1.2,
        source: TABLE_SOURCE,
        from_memory: true,
    },
    Builtin {
        name: "rest",
        about: "awake, seated, quiet; what a person does off task",
        stages: &[on(Rates::PerArea { power_w_m2: MET_W_M2 })],
        space_m3: 1.2,
        source: MET_SOURCE,
        from_memory: true,
    },
    Builtin {
        name: "nominal",
        about: "the ordinary mixture of a working day in a cabin",
        stages: &[on(Rates::Table(table::NOMINAL, RowScale::Resting))],
        space_m3: 1.7,
        source: TABLE_SOURCE,
        from_memory: true,
    },
    Builtin {
        name: "meal",
        about: "preparing food and eating, seated; 1.2 met",
        stages: &[on(Rates::PerArea {
            power_w_m2: 1.2 * MET_W_M2,
        })],
        space_m3: 1.2,
        source: "ASHRAE 55, seated light activity; that it stands for a meal is an assumption",
        from_memory: true,
    },
    Builtin {
        name: "hygiene",
        about: "washing, toilet, dressing; 1.6 met",
        stages: &[on(Rates::PerArea {
            power_w_m2: 1.6 * MET_W_M2,
        })],
        space_m3: 1.8,
        source: "ISO 7730 annex B, standing light activity; that it stands for hygiene is an assumption",
        from_memory: true,
    },
    Builtin {
        name: "maintenance",
        about: "standing work with tools, stowing; 2 met",
        stages: &[on(Rates::PerArea {
            power_w_m2: 2.0 * MET_W_M2,
        })],
        space_m3: 1.9,
        source: MET_SOURCE,
        from_memory: true,
    },
    Builtin {
        name: "exercise",
        about: "aerobic exercise at 75 % of maximal oxygen uptake; the second stage goes on",
        stages: &[
            quarter(Rates::Table(table::EXERCISE_FIRST, RowScale::Uptake)),
            on(Rates::Table(table::EXERCISE_SECOND, RowScale::Uptake)),
        ],
        space_m3: 2.8,
        source: TABLE_SOURCE,
        from_memory: true,
    },
    Builtin {
        name: "recovery",
        about: "the hour after exercise: gases as nominal, sweat drying; nominal from then on",
        stages: &[
            quarter(Rates::Table(table::RECOVERY[0], RowScale::Recovery)),
            quarter(Rates::Table(table::RECOVERY[1], RowScale::Recovery)),
            quarter(Rates::Table(table::RECOVERY[2], RowScale::Recovery)),
            quarter(Rates::Table(table::RECOVERY[3], RowScale::Recovery)),
            on(Rates::Table(table::NOMINAL, RowScale::Resting)),
        ],
        space_m3: 1.7,
        source: TABLE_SOURCE,
        from_memory: true,
    },
    Builtin {
        name: "suit-work",
        about: "donning, checking and doffing a suit, breathing cabin air; 235 W",
        stages: &[on(Rates::Reference { power_w: 235.0 })],
        space_m3: 1.7,
        source: "assumption: 2 met of the reference person (standing medium activity, ISO 7730 annex B)",
        from_memory: true,
    },
    Builtin {
        name: "surface-work",
        about: "suited work on a planetary surface, mean over a sortie; 272 W",
        stages: &[on(Rates::Reference {
            power_w: APOLLO_SURFACE_W,
        })],
        space_m3: 1.9,
        source: "mean of the Apollo surface sorties, 234 kcal/h: Waligora and Horrigan, NASA SP-368 (1975)",
        from_memory: true,
    },
    Builtin {
        name: "surface-walk",
        about: "brisk suited walking on a planetary surface, the high end of a sortie; 420 W",
        stages: &[on(Rates::Reference { power_w: 420.0 })],
        space_m3: 1.9,
        source: "assumption: within the 100 to 500 kcal/h recorded on Apollo and Skylab (Waligora and Horrigan 1977)",
        from_memory: false,
    },
    Builtin {
        name: "don",
        about: "putting a suit on, with help; 2 met",
        stages: &[on(Rates::PerArea {
            power_w_m2: 2.0 * MET_W_M2,
        })],
        space_m3: 1.9,
        source: "ISO 7730 annex B, standing medium activity; that it stands for donning is an assumption",
        from_memory: true,
    },
    Builtin {
        name: "leak-check",
        about: "standing in a closed suit while it is tested, purged or vented around; 1.4 met",
        stages: &[on(Rates::PerArea {
            power_w_m2: 1.4 * MET_W_M2,
        })],
        space_m3: 1.5,
        source: "assumption: between standing relaxed and standing light activity of ISO 7730 annex B",
        from_memory: true,
    },
    Builtin {
        name: "pre-breathe",
        about: "resting in a closed suit on oxygen; 1.2 met",
        stages: &[on(Rates::PerArea {
            power_w_m2: 1.2 * MET_W_M2,
        })],
        space_m3: 1.5,
        source: "ISO 7730 annex B, standing relaxed; that it stands for a pre-breathe is an assumption",
        from_memory: true,
    },
    Builtin {
        name: "doff",
        about: "taking a suit off, with help; 2 met",
        stages: &[on(Rates::PerArea {
            power_w_m2: 2.0 * MET_W_M2,
        })],
        space_m3: 1.9,
        source: "ISO 7730 annex B, standing medium activity; that it stands for doffing is an assumption",
        from_memory: true,
    },
    Builtin {
        name: "recharge",
        about: "filling a suit's tanks again, cleaning and stowing it; 1.6 met",
        stages: &[on(Rates::PerArea {
            power_w_m2: 1.6 * MET_W_M2,
        })],
        space_m3: 1.7,
        source: "ISO 7730 annex B, standing light activity; that it stands for servicing a suit is an assumption",
        from_memory: true,
    },
];

/// The built-in effort of this name.
#[must_use]
pub fn builtin(name: &str) -> Option<&'static Builtin> {
    BUILTINS.iter().find(|builtin| builtin.name == name)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_one_each_and_stages_are_there() {
        for (i, a) in BUILTINS.iter().enumerate() {
            assert!(!a.stages.is_empty() && a.space_m3 > 0.0);
            assert!(a.stages.last().is_some_and(|stage| stage.lasts.is_none()));
            assert!(BUILTINS[..i].iter().all(|b| b.name != a.name));
        }
        assert!(builtin("juggling").is_none());
    }
}

//! Efforts: how they are given, and what one person takes and gives in them.
//!
//! Every effort is a list of stages; each stage's rates are of one of these kinds:
//!
//! ```text
//! Table     a row of the activity table, scaled to the person
//! Reference power of the reference person, scaled by resting energy         then as Power
//! PerArea   power for body surface (met = 58.2 W/m2) times the surface      then as Power
//! Power     that person's whole metabolic power, unscaled: gases by Weir, vapour by Fanger
//! Rates     taken as they stand; what is not given is 0
//! ```
//!
//! Scale of a table row for a person: with `e` their resting energy over the reference person's, `u` their maximal
//! uptake over the one the exercise row implies (its oxygen over 0.75; `e` where it is not known),
//!
//! ```text
//! sleep, nominal   e row
//! exercise         u row
//! recovery         e nominal + u (row - nominal)
//! ```
//!
//! The respiratory quotient applies to the kinds that go by power. Table rows carry their own oxygen and CO2 (0.92),
//! rates theirs.
//!
//! Source: scaling by resting energy is an assumption, in line with the energy of Scott et al., Sci. Rep. 10:13836
//! (2020): from 1.50 to 1.90 m at one body mass index, a day's energy +44 % there, resting energy +46 % here. Their
//! oxygen and CO2 rise by 60 %, because they hold uptake per kilogram; here gases go with energy (+46 %), and by 60 %
//! in exercise where a fitness per kilogram is given. Give `fitness`, or `power`, where that matters.
//!
//! Left out: motion economy, load carriage, gravity.

use super::body::Body;
use super::energy::{LITRES_PER_MOL_STPD, load_of_power};
use super::table::{self, Row};
use super::{Load, Profile, Stage};
use crate::air::Species;
use crate::units::Time;

/// Rates of one stage, as they are given.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Rates {
    /// A row of the activity table.
    Table(Row, RowScale),
    /// Power of the reference person, W; another person's scales by resting energy.
    Reference {
        /// The reference person's metabolic power, W.
        power_w: f64,
    },
    /// Power for body surface.
    PerArea {
        /// Metabolic power for body surface, W/m2 (one met is 58.2).
        power_w_m2: f64,
    },
    /// That person's whole metabolic power, whoever it is.
    Power {
        /// Metabolic power, W.
        power_w: f64,
    },
    /// As they stand.
    Fixed(Load),
}

/// How a table row goes over to another person.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RowScale {
    /// By resting energy.
    Resting,
    /// By maximal uptake.
    Uptake,
    /// What is above the nominal row by maximal uptake, the nominal row by resting energy.
    Recovery,
}

/// One stage of an effort.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StageSpec {
    /// How long; none: until the effort ends. The last stage goes on whatever it says.
    pub lasts: Option<Time>,
    /// Its rates.
    pub rates: Rates,
}

/// Maximal oxygen uptake that the exercise rows imply for the reference person, m3 STPD/s (3.68 L/min, 44.9
/// mL/kg/min).
#[must_use]
pub fn reference_uptake_m3_s() -> f64 {
    let oxygen_mol_s = table::EXERCISE_SECOND.load().oxygen_mol_s;
    oxygen_mol_s * LITRES_PER_MOL_STPD * 1e-3 / table::EXERCISE_INTENSITY
}

/// What this body takes and gives in an effort of these stages.
///
/// `respiratory_quotient` is for stages that go by power. `towel`: runoff goes into a towel that dries into the room.
/// The profile has the sweat lag if any stage goes by power. No stages at all: a load of nothing.
#[must_use]
pub fn profile(stages: &[StageSpec], body: &Body, respiratory_quotient: f64, towel: bool) -> Profile {
    let mut out = Profile {
        stages: Vec::new(),
        sweat_lag: false,
        towel,
    };
    profile_into(stages.iter().copied(), body, respiratory_quotient, towel, &mut out);
    out
}

/// [`profile`] into one whose storage is used again.
pub fn profile_into(
    stages: impl Iterator<Item = StageSpec>,
    body: &Body,
    respiratory_quotient: f64,
    towel: bool,
    out: &mut Profile,
) {
    let scale = Scale::of(body);
    out.stages.clear();
    out.towel = towel;
    out.sweat_lag = false;
    for stage in stages {
        out.stages.push(Stage {
            lasts: stage.lasts,
            load: scale.load(stage.rates, body, respiratory_quotient),
        });
        out.sweat_lag |= matches!(
            stage.rates,
            Rates::Reference { .. } | Rates::PerArea { .. } | Rates::Power { .. }
        );
    }
    match out.stages.last_mut() {
        Some(last) => last.lasts = None,
        None => out.stages.push(Stage {
            lasts: None,
            load: Load::default(),
        }),
    }
}

/// A person over the reference person.
struct Scale {
    resting: f64,
    uptake: f64,
}

impl Scale {
    fn of(body: &Body) -> Self {
        let resting = body.resting_w() / Body::reference().resting_w();
        let uptake = body
            .maximal_uptake_m3_s()
            .map_or(resting, |uptake| uptake / reference_uptake_m3_s());
        Self { resting, uptake }
    }

    fn load(&self, rates: Rates, body: &Body, respiratory_quotient: f64) -> Load {
        let by_power = |power_w| load_of_power(power_w, respiratory_quotient, body.surface_m2());
        match rates {
            Rates::Table(row, RowScale::Resting) => combine(self.resting, &row.load(), 0.0, &Load::default()),
            Rates::Table(row, RowScale::Uptake) => combine(self.uptake, &row.load(), 0.0, &Load::default()),
            Rates::Table(row, RowScale::Recovery) => combine(
                self.uptake,
                &row.load(),
                self.resting - self.uptake,
                &table::NOMINAL.load(),
            ),
            Rates::Reference { power_w } => by_power(power_w * self.resting),
            Rates::PerArea { power_w_m2 } => by_power(power_w_m2 * body.surface_m2()),
            Rates::Power { power_w } => by_power(power_w),
            Rates::Fixed(load) => load,
        }
    }
}

/// `a x + b y`, rate by rate; nothing below zero (a very fit, light person's recovery comes near it).
fn combine(a: f64, x: &Load, b: f64, y: &Load) -> Load {
    let sum = |x: f64, y: f64| (a * x + b * y).max(0.0);
    Load {
        oxygen_mol_s: sum(x.oxygen_mol_s, y.oxygen_mol_s),
        co2_mol_s: sum(x.co2_mol_s, y.co2_mol_s),
        vapour_mol_s: sum(x.vapour_mol_s, y.vapour_mol_s),
        runoff_mol_s: sum(x.runoff_mol_s, y.runoff_mol_s),
        sensible_w: sum(x.sensible_w, y.sensible_w),
        latent_w: sum(x.latent_w, y.latent_w),
    }
}

/// Rates given by mass or amount, with latent heat by what evaporates: `None` is 0, for latent heat what vapour and
/// runoff carry.
#[must_use]
pub fn fixed_rates(
    oxygen_mol_s: Option<f64>,
    co2_mol_s: Option<f64>,
    vapour_mol_s: Option<f64>,
    runoff_mol_s: Option<f64>,
    sensible_w: Option<f64>,
) -> Load {
    let vapour = vapour_mol_s.unwrap_or(0.0);
    let runoff = runoff_mol_s.unwrap_or(0.0);
    Load {
        oxygen_mol_s: oxygen_mol_s.unwrap_or(0.0),
        co2_mol_s: co2_mol_s.unwrap_or(0.0),
        vapour_mol_s: vapour,
        runoff_mol_s: runoff,
        sensible_w: sensible_w.unwrap_or(0.0),
        latent_w: super::energy::latent_w(vapour, runoff),
    }
}

/// Mass of a rate of one species, kg/d: for tables and checks.
#[must_use]
pub fn kg_per_day(mol_s: f64, species: Species) -> f64 {
    mol_s * species.molar_mass_kg_mol() * 86_400.0
}

#[cfg(test)]
mod tests {
    use super::super::builtins::builtin;
    use super::*;

    fn on(rates: Rates) -> StageSpec {
        StageSpec { lasts: None, rates }
    }

    fn stages(name: &str) -> &'static [StageSpec] {
        builtin(name).expect("built in").stages
    }

    #[test]
    fn the_reference_person_is_not_scaled() {
        let profile = profile(stages("recovery"), &Body::reference(), 0.87, false);
        assert_eq!(profile.stages.len(), 5);
        assert!(!profile.sweat_lag);
        for (stage, row) in profile.stages.iter().zip(table::RECOVERY) {
            assert!((stage.load.vapour_mol_s / row.load().vapour_mol_s - 1.0).abs() < 1e-14);
        }
    }

    #[test]
    fn power_is_taken_whole() {
        let small = Body {
            mass_kg: 50.0,
            height_m: 1.5,
            ..Body::reference()
        };
        let spec = [on(Rates::Power { power_w: 300.0 })];
        for body in [Body::reference(), small] {
            let profile = profile(&spec, &body, 0.87, true);
            assert!(profile.sweat_lag && profile.towel);
            let load = profile.stages[0].load;
            assert!((load.sensible_w + load.latent_w - 300.0).abs() < 1e-9);
        }
    }

    #[test]
    fn rates_stand_as_they_are() {
        let load = fixed_rates(None, Some(1e-4), Some(2e-4), None, None);
        let profile = profile(&[on(Rates::Fixed(load))], &Body::reference(), 0.87, false);
        assert_eq!(profile.stages[0].load, load);
        assert!(!profile.sweat_lag);
        assert!(load.oxygen_mol_s.abs() < 1e-300 && load.sensible_w.abs() < 1e-300);
        assert!((load.latent_w - 2e-4 * 0.018_015_28 * 2.43e6).abs() < 1e-9);
    }

    #[test]
    fn fitness_scales_exercise_and_its_recovery_only() {
        let plain = Body::reference();
        let double = 2.0 * reference_uptake_m3_s() / plain.mass_kg;
        let fit = Body {
            fitness_m3_kg_s: Some(double),
            ..plain
        };
        let ratio = |name: &str, stage: usize, of: fn(&Load) -> f64| {
            of(&profile(stages(name), &fit, 0.87, false).stages[stage].load)
                / of(&profile(stages(name), &plain, 0.87, false).stages[stage].load)
        };
        assert!((ratio("sleep", 0, |load| load.co2_mol_s) - 1.0).abs() < 1e-14);
        assert!((ratio("exercise", 1, |load| load.co2_mol_s) - 2.0).abs() < 1e-14);
        assert!((ratio("recovery", 0, |load| load.co2_mol_s) - 1.0).abs() < 1e-13);
        let vapour = ratio("recovery", 0, |load| load.vapour_mol_s);
        assert!((vapour - (2.0 * 83.83 - 11.77) / 83.83).abs() < 1e-13);
    }

    #[test]
    fn no_stages_are_no_load() {
        let profile = profile(&[], &Body::reference(), 0.87, false);
        assert_eq!(
            profile.stages,
            vec![Stage {
                lasts: None,
                load: Load::default()
            }]
        );
    }
}

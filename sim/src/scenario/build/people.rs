//! People: what each takes and gives in every effort.

use crate::crew::{
    Body, LITRES_PER_MOL_STPD, Profile, Rates, StageSpec, fixed_rates, iso_8996_w, on_line_w, profile_into, weir_w,
};
use crate::engine::Case;
use crate::scenario::blueprint::{EffortNums, HeartNums, LoadNums, MeasuredNums, Parts, PersonNums, SeriesKind};
use crate::scenario::num::Num;
use crate::units::Time;

/// Lags and profiles of everyone.
pub(super) fn fill(parts: &Parts, case: &mut Case, values: &[f64], all: bool) {
    for (n, nums) in parts.people.iter().enumerate() {
        let person = &mut case.people[n];
        person.gas_lag_s = nums.gas_lag.of(values);
        person.tissue_pa = nums.tissue.map(|p| p.of(values));
        let body_varies =
            [nums.mass, nums.height, nums.age].into_iter().any(Num::varies) || nums.fitness.is_some_and(Num::varies);
        for (e, effort) in parts.efforts.iter().enumerate() {
            if all || effort_varies(effort, nums, body_varies) {
                profile_of(effort, nums, values, &mut person.profiles[e]);
            }
        }
    }
}

fn effort_varies(effort: &EffortNums, person: &PersonNums, body_varies: bool) -> bool {
    let load_varies = match &effort.load {
        LoadNums::Stages(stages) => stages
            .iter()
            .any(|s| s.lasts.is_some_and(Num::varies) || s.rates.iter().flatten().any(|n| n.varies())),
        LoadNums::Power(power) | LoadNums::PerArea(power) => {
            power.varies() || body_varies || effort.quotient.unwrap_or(person.quotient).varies()
        }
        LoadNums::Measured(series) => {
            series.varies() || body_varies || effort.quotient.unwrap_or(person.quotient).varies()
        }
        LoadNums::Builtin(_) => body_varies || effort.quotient.unwrap_or(person.quotient).varies(),
    };
    load_varies || effort.instead.iter().flatten().any(|rate| rate.varies())
}

impl MeasuredNums {
    fn varies(&self) -> bool {
        let heart = match self.heart {
            Some(HeartNums::Iso8996(rest)) => rest.varies(),
            Some(HeartNums::Line(line)) => line.into_iter().any(Num::varies),
            None => false,
        };
        heart || self.factor.varies()
    }

    /// Metabolic power of a measured value, W.
    fn power_w(&self, value: f64, body: &Body, quotient: f64, values: &[f64]) -> f64 {
        let per_min = |num: Num| 60.0 * num.of(values);
        let uptake = |mol_s: f64| weir_w(mol_s, quotient * mol_s);
        let power = match (self.kind, self.heart) {
            (SeriesKind::HeartRate, Some(HeartNums::Iso8996(rest))) => iso_8996_w(body, 60.0 * value, per_min(rest)),
            (SeriesKind::HeartRate, Some(HeartNums::Line([easy, easy_w, hard, hard_w]))) => {
                let (easy, hard) = ([per_min(easy), easy_w.of(values)], [per_min(hard), hard_w.of(values)]);
                on_line_w(60.0 * value, easy, hard)
            }
            (SeriesKind::Uptake, _) => uptake(value),
            (SeriesKind::UptakeForMass, _) => uptake(value * body.mass_kg * 1e3 / LITRES_PER_MOL_STPD),
            (SeriesKind::Power | SeriesKind::HeartRate, _) => value,
        };
        power * self.factor.of(values)
    }

    /// Mean power over the series, W.
    fn mean_w(&self, body: &Body, quotient: f64, values: &[f64]) -> f64 {
        let sum = self.steps.iter().fold([0.0, 0.0], |[work, time], &(lasts_s, value)| {
            [
                work + lasts_s * self.power_w(value, body, quotient, values),
                time + lasts_s,
            ]
        });
        sum[0] / sum[1]
    }
}

fn profile_of(effort: &EffortNums, person: &PersonNums, values: &[f64], out: &mut Profile) {
    let body = Body {
        mass_kg: person.mass.of(values),
        height_m: person.height.of(values),
        age_y: person.age.of(values),
        sex: person.sex,
        fitness_m3_kg_s: person.fitness.map(|f| f.of(values)),
    };
    let quotient = effort.quotient.unwrap_or(person.quotient).of(values);
    let towel = effort.towel.unwrap_or(person.towel);
    let one = |rates| std::iter::once(StageSpec { lasts: None, rates });
    match &effort.load {
        LoadNums::Builtin(effort) => profile_into(effort.stages.iter().copied(), &body, quotient, towel, out),
        LoadNums::Power(power) => {
            let power_w = power.of(values);
            profile_into(one(Rates::Power { power_w }), &body, quotient, towel, out);
        }
        LoadNums::PerArea(power) => {
            let power_w_m2 = power.of(values);
            profile_into(one(Rates::PerArea { power_w_m2 }), &body, quotient, towel, out);
        }
        LoadNums::Measured(series) => {
            let specs = series.steps.iter().map(|&(lasts_s, value)| StageSpec {
                lasts: Some(Time::from_seconds(lasts_s)),
                rates: Rates::Power {
                    power_w: series.power_w(value, &body, quotient, values),
                },
            });
            // When the series has ended its mean goes on.
            let specs = specs.chain(one(Rates::Power {
                power_w: series.mean_w(&body, quotient, values),
            }));
            profile_into(specs, &body, quotient, towel, out);
        }
        LoadNums::Stages(stages) => {
            let specs = stages.iter().map(|s| {
                let [oxygen, co2, vapour, runoff, sensible] = s.rates.map(|rate| rate.map(|n| n.of(values)));
                StageSpec {
                    lasts: s.lasts.map(|t| Time::from_seconds(t.of(values))),
                    rates: Rates::Fixed(fixed_rates(oxygen, co2, vapour, runoff, sensible)),
                }
            });
            profile_into(specs, &body, quotient, towel, out);
        }
    }
    out.replace(effort.instead.map(|rate| rate.map(|n| n.of(values))));
}

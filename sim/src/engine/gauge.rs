//! What a limit reads off the solution: a quantity of one compartment as a signal with bounds.
//!
//! ```text
//! co2, oxygen        p_i
//! humidity           p_v / p_sat(T)
//! pressure           P
//! oxygen fraction    p_O2 / (P - p_v)                       of the dry gas
//! inspired oxygen    (P - 47 mmHg) p_O2 / (P - p_v)
//! dew-point gap and apparent temperature: monotone in p_v at fixed T, judged as p_v and turned into K at the end
//! liquid water       films + towels, kg
//! ```
//!
//! All in SI. A quotient is compared with a number by the sign of a difference, which keeps
//! bounds tight (Dinkelbach 1967, Management Science 13:492).

use crate::air::{
    BODY_VAPOUR_PA, Compartment, Species, SurfaceKind, apparent_temperature_k, dew_point_k, saturation_pa,
    vapour_for_apparent_temperature,
};
use crate::limits::Quantity;

mod reading;

pub(crate) use reading::Reading;

use super::course::{Course, Piece};
use super::expo::phi1;
use super::indices::{CO2, OXYGEN, WATER};
use super::poly::Poly;
use super::range::Range;
use super::ranges::Ranges;
use super::search::Stock;
use super::segment::{Integrals, Segment, Sum, hull_of};
use super::view::View;
use super::whole::HeatStep;

/// A quantity of a compartment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Gauge {
    /// `scale` times a partial pressure.
    Partial { species: usize, a: usize, scale: f64 },
    /// A total pressure.
    Total { a: usize },
    /// Oxygen over dry gas.
    OxygenFraction { a: usize },
    /// Oxygen of inspired gas.
    Inspired { a: usize },
    /// Does not change.
    Steady { value: f64 },
    /// Liquid water, kg.
    Liquid { a: usize },
    /// Vapour pressure, standing for the temperature of the coldest surface minus the dew point.
    DewPointGap { a: usize, coldest_k: f64 },
    /// Vapour pressure, standing for apparent temperature.
    Apparent { a: usize, temperature_k: f64 },
    /// Something that goes with a temperature that is not fixed.
    Warm { a: usize, what: Warm },
    /// CO2 that a person breathes where their own output washes out slowly: what is in the air, plus `steady`, plus `fading e^(-mu t)`, Pa.
    Breathed {
        a: usize,
        steady: f64,
        fading: f64,
        mu: f64,
    },
    /// Rate of change of a total pressure, either way, Pa/s.
    Rate { a: usize },
    /// What a tank holds, kg.
    Tank { tank: usize, kg_mol: f64 },
}

/// What goes with a temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Warm {
    /// The air's temperature, K.
    Air,
    /// Relative humidity.
    Humidity,
    /// Coldest surface minus dew point, K.
    DewPointGap,
    /// Apparent temperature, K.
    Apparent,
}

impl Warm {
    fn poly(self, step: &HeatStep, a: usize) -> &Poly {
        match self {
            Self::Air => &step.air_k[a],
            Self::Humidity => &step.humidity[a],
            Self::DewPointGap => &step.dew_point_gap[a],
            Self::Apparent => &step.apparent_k[a],
        }
    }

    fn course(self, segment: &Segment, a: usize, weight: f64, out: &mut Course) {
        out.clear();
        for (step, heat) in segment.steps.iter().zip(&segment.heat) {
            let mut poly = Poly::default();
            poly.add(weight, self.poly(heat, a));
            out.pieces.push(Piece {
                from_s: step.from_s,
                length_s: step.length_s,
                poly,
            });
        }
    }
}

/// Courses to write into.
#[derive(Clone, Debug, Default)]
pub(crate) struct Courses {
    /// A linear stand-in for an excess.
    pub stand_in: Course,
    first: Course,
    vapour: Course,
    total: Course,
}

const WATER_KG_MOL: f64 = Species::Water.molar_mass_kg_mol();

impl Gauge {
    /// The gauge of `quantity` in compartment `a`.
    pub fn new(quantity: Quantity, a: usize, compartment: &Compartment) -> Self {
        let partial = |species: Species, scale| Self::Partial {
            species: species as usize,
            a,
            scale,
        };
        if compartment.heat.is_some() {
            let warm = |what| Self::Warm { a, what };
            match quantity {
                Quantity::Humidity => return warm(Warm::Humidity),
                Quantity::Temperature => return warm(Warm::Air),
                Quantity::ApparentTemperature => return warm(Warm::Apparent),
                Quantity::DewPointGap => return warm(Warm::DewPointGap),
                _ => {}
            }
        }
        match quantity {
            Quantity::Co2 => partial(Species::Co2, 1.0),
            Quantity::Humidity => partial(Species::Water, 1.0 / compartment.saturation_pa),
            Quantity::Oxygen => partial(Species::Oxygen, 1.0),
            Quantity::OxygenFraction => Self::OxygenFraction { a },
            Quantity::InspiredOxygen => Self::Inspired { a },
            Quantity::Pressure => Self::Total { a },
            Quantity::Temperature => Self::Steady {
                value: compartment.temperature_k,
            },
            Quantity::ApparentTemperature => Self::Apparent {
                a,
                temperature_k: compartment.temperature_k,
            },
            Quantity::DewPointGap => {
                let walls = compartment.surfaces.iter().filter(|s| s.kind != SurfaceKind::Mist);
                let coldest_k = walls.map(|s| s.temperature_k).fold(compartment.temperature_k, f64::min);
                Self::DewPointGap { a, coldest_k }
            }
            Quantity::LiquidWater => Self::Liquid { a },
            Quantity::PressureRate => Self::Rate { a },
            // Both are no quantities of a compartment, and judged elsewhere.
            Quantity::TissueRatio | Quantity::Stock => Self::Steady { value: 0.0 },
        }
    }

    /// What the signal stands for, in the quantity's unit.
    pub fn value(&self, signal: f64) -> f64 {
        match *self {
            Self::DewPointGap { coldest_k, .. } => coldest_k - dew_point_k(signal),
            Self::Apparent { temperature_k, .. } => apparent_temperature_k(temperature_k, signal),
            _ => signal,
        }
    }

    /// The signal that stands for `value`, and whether it falls as the value rises.
    pub fn signal_for(&self, value: f64) -> (f64, bool) {
        match *self {
            Self::DewPointGap { coldest_k, .. } => (saturation_pa(coldest_k - value), true),
            Self::Apparent { temperature_k, .. } => (
                vapour_for_apparent_temperature(temperature_k, value).unwrap_or(f64::INFINITY),
                false,
            ),
            _ => (value, false),
        }
    }

    /// Differences of the signal below this do not count, in its own unit: a hundredth of the 1e-4 Pa that results claim.
    pub fn resolution(&self) -> f64 {
        match *self {
            Self::Partial { scale, .. } => 1e-6 * scale,
            Self::Total { .. } | Self::DewPointGap { .. } | Self::Apparent { .. } => 1e-6,
            Self::Liquid { .. } | Self::Tank { .. } => 1e-9,
            Self::Breathed { .. } => 1e-6,
            Self::Warm { .. } | Self::Rate { .. } => 1e-9,
            Self::OxygenFraction { .. } | Self::Inspired { .. } | Self::Steady { .. } => 0.0,
        }
    }

    /// Whether the quantity is a quotient, to be compared by [`Gauge::excess`].
    pub fn is_quotient(&self) -> bool {
        matches!(self, Self::OxygenFraction { .. } | Self::Inspired { .. })
    }

    /// For a quotient: what is above zero where it is above `ratio`. Unlike the quotient its second derivative has good
    /// bounds, so extremes are certified in a few looks.
    pub fn excess<'a>(&self, view: &View, courses: &'a mut Courses, ratio: f64) -> Reading<'a> {
        if let Self::OxygenFraction { a } | Self::Inspired { a } = *self {
            view.segment.course(&Sum::partial(OXYGEN, a), &mut courses.first);
            view.segment.course(&Sum::partial(WATER, a), &mut courses.vapour);
            view.segment.course(&Sum::total(a), &mut courses.total);
        }
        Reading::Excess {
            oxygen: &courses.first,
            total: &courses.total,
            vapour: &courses.vapour,
            inspired: matches!(self, Self::Inspired { .. }),
            ratio,
        }
    }

    /// For a quotient: pressure of the dry gas at the start of the segment, Pa.
    pub fn dry_pa(&self, view: &View) -> f64 {
        match *self {
            Self::OxygenFraction { a } | Self::Inspired { a } => view.stocks.pressure(a) - view.stocks.p[WATER][a],
            _ => 1.0,
        }
    }

    /// For a quotient: writes a linear stand-in for the excess over `ratio` into `courses.stand_in`, and gives how far the
    /// excess can be from it, in its own unit. One course is quicker to bound than three.
    ///
    /// The product `u o` is replaced by `u0 o + u o0 - u0 o0` at the start, which misses `(u - u0)(o - o0)`.
    pub fn stand_in(&self, view: &View, courses: &mut Courses, ratio: f64) -> f64 {
        let mut sum = Sum::default();
        let mut miss = 0.0;
        if let Self::OxygenFraction { a } | Self::Inspired { a } = *self {
            sum.p[WATER][a] = ratio;
            sum.pressure[a] = -ratio;
            sum.p[OXYGEN][a] = 1.0;
            if matches!(self, Self::Inspired { .. }) {
                let (u, oxygen) = (view.stocks.pressure(a) - BODY_VAPOUR_PA, view.stocks.p[OXYGEN][a]);
                sum.p[OXYGEN][a] = u;
                sum.pressure[a] += oxygen;
                sum.constant = -oxygen * (u + BODY_VAPOUR_PA);
                let reach = |range: Range, from: f64| (range.hi - from).max(from - range.lo);
                miss = reach(view.ranges.pressure[a], u + BODY_VAPOUR_PA) * reach(view.ranges.p[OXYGEN][a], oxygen);
            }
        }
        view.segment.course(&sum, &mut courses.stand_in);
        miss
    }

    /// Writes `sign` times the signal as a course, for averages.
    ///
    /// Only quantities that are linear in the gas amounts have one; of the others a constant zero is written (the engine
    /// refuses such a rule before it runs).
    pub fn linear(&self, segment: &Segment, sign: f64, out: &mut Course) {
        let mut sum = Sum::default();
        match *self {
            Self::Partial { species, a, scale } => sum.p[species][a] = sign * scale,
            Self::Total { a } => sum.pressure[a] = sign,
            Self::Steady { value } => sum.constant = sign * value,
            Self::Breathed { a, steady, .. } => {
                sum.p[CO2][a] = sign;
                sum.constant = sign * steady;
            }
            Self::Warm { a, what } => {
                what.course(segment, a, sign, out);
                return;
            }
            _ => {}
        }
        segment.course(&sum, out);
        if let Self::Breathed { fading, mu, .. } = *self {
            out.add_exponential(mu, sign * fading);
        }
    }

    /// Its integral over the segment, given those of the pressures; likewise.
    pub fn integral(&self, segment: &Segment, integrals: &Integrals) -> f64 {
        match *self {
            Self::Partial { species, a, scale } => scale * integrals.p[species][a],
            Self::Total { a } => (0..4).map(|i| integrals.p[i][a]).sum(),
            Self::Steady { value } => value * integrals.length_s,
            Self::Breathed { a, steady, fading, mu } => {
                let t = integrals.length_s;
                integrals.p[CO2][a] + steady * t + fading * phi1(mu, t)
            }
            Self::Warm { a, what } => {
                let parts = segment.steps.iter().zip(&segment.heat);
                parts
                    .map(|(step, heat)| step.length_s * what.poly(heat, a).integral(1.0))
                    .sum()
            }
            _ => 0.0,
        }
    }

    /// A true range of the signal over the segment, cheap.
    pub fn range(&self, view: &View) -> Range {
        let ranges: &Ranges = view.ranges;
        match *self {
            Self::Partial { species, a, scale } => ranges.p[species][a].times(scale),
            Self::Total { a } => ranges.pressure[a],
            Self::OxygenFraction { a } => ratio(ranges.p[OXYGEN][a], ranges.pressure[a], ranges.p[WATER][a], false),
            Self::Inspired { a } => ratio(ranges.p[OXYGEN][a], ranges.pressure[a], ranges.p[WATER][a], true),
            Self::Steady { value } => Range::point(value),
            Self::Liquid { a } => {
                let (sum, towel) = liquid_rate(view, a);
                let mut rate = match view.whole {
                    Some((plumbing, maker)) => {
                        let taps = plumbing.film_tap[a].into_iter().flatten();
                        taps.map(|tap| maker.range(view.segment, tap))
                            .fold(Range::point(0.0), Range::plus)
                    }
                    None => Range::point(sum.constant).plus(ranges.p[WATER][a].times(sum.p[WATER][a])),
                };
                rate = rate.plus(Range::span(0.0, towel));
                let start = view.stocks.liquid_mol(a);
                let length = view.segment.length_s;
                Range {
                    lo: start + length * rate.lo.min(0.0),
                    hi: start + length * rate.hi.max(0.0),
                }
                .times(WATER_KG_MOL)
            }
            Self::DewPointGap { a, .. } | Self::Apparent { a, .. } => ranges.p[WATER][a],
            Self::Warm { a, what } => hull_of(view.segment.heat.iter().map(|heat| what.poly(heat, a))),
            Self::Breathed { a, steady, fading, .. } => ranges.p[CO2][a]
                .plus(Range::point(steady))
                .plus(Range::span(0.0, fading)),
            Self::Rate { .. } => Range {
                lo: 0.0,
                hi: f64::INFINITY,
            },
            Self::Tank { tank, kg_mol } => {
                let start = view.stocks.tank_mol[tank];
                let most = view.most_drawn(tank) * view.segment.length_s;
                Range {
                    lo: start - most,
                    hi: start,
                }
                .times(kg_mol)
            }
        }
    }

    /// The signal itself.
    pub fn reading<'a>(&self, view: &View, courses: &'a mut Courses) -> Reading<'a> {
        match *self {
            Self::Partial { species, a, scale } => {
                view.segment.course(&Sum::partial(species, a), &mut courses.first);
                Reading::Linear {
                    course: &courses.first,
                    scale,
                }
            }
            Self::DewPointGap { a, .. } | Self::Apparent { a, .. } => {
                view.segment.course(&Sum::partial(WATER, a), &mut courses.first);
                Reading::Linear {
                    course: &courses.first,
                    scale: 1.0,
                }
            }
            Self::Total { a } => {
                view.segment.course(&Sum::total(a), &mut courses.first);
                Reading::Linear {
                    course: &courses.first,
                    scale: 1.0,
                }
            }
            Self::OxygenFraction { .. } | Self::Inspired { .. } => self.excess(view, courses, 0.0),
            Self::Warm { .. } | Self::Breathed { .. } => {
                self.linear(view.segment, 1.0, &mut courses.first);
                Reading::Linear {
                    course: &courses.first,
                    scale: 1.0,
                }
            }
            Self::Rate { a } => {
                view.segment.course(&Sum::total(a), &mut courses.vapour);
                courses.vapour.differentiate(&mut courses.first);
                Reading::Size(&courses.first)
            }
            Self::Tank { tank, kg_mol } => {
                view.draw(tank, &mut courses.first);
                Reading::Stock {
                    stock: Stock {
                        start: view.stocks.tank_mol[tank],
                        rate: &courses.first,
                    },
                    kg_mol,
                }
            }
            Self::Steady { value } => Reading::Steady(value),
            Self::Liquid { a } => {
                let (sum, towel) = liquid_rate(view, a);
                match view.whole {
                    Some((plumbing, maker)) => {
                        courses.first.clear();
                        for tap in plumbing.film_tap[a].into_iter().flatten() {
                            maker.add_course(view.segment, tap, 1.0, &mut courses.first);
                        }
                    }
                    None => view.segment.course(&sum, &mut courses.first),
                }
                if towel != 0.0 {
                    courses.first.add_exponential(1.0 / view.case.towel_drying_s, towel);
                }
                Reading::Stock {
                    stock: Stock {
                        start: view.stocks.liquid_mol(a),
                        rate: &courses.first,
                    },
                    kg_mol: WATER_KG_MOL,
                }
            }
        }
    }
}

/// Rate of liquid in a compartment, mol/s: films as a sum of the state, towels as the amount of their dying part.
fn liquid_rate(view: &View, a: usize) -> (Sum, f64) {
    let mut sum = Sum::default();
    for (s, surface) in view.case.compartments[a].surfaces.iter().enumerate() {
        if view.mode.wet[a][s] {
            sum.p[WATER][a] += surface.conductance_mol_s_pa;
            sum.constant -= surface.conductance_mol_s_pa * surface.saturation_pa;
        }
    }
    let runoff = view.crew.runoff_to_towel(view.case, a);
    (sum, runoff - view.stocks.towel_mol[a] / view.case.towel_drying_s)
}

fn ratio(oxygen: Range, total: Range, vapour: Range, inspired: bool) -> Range {
    let dry = total.plus(vapour.times(-1.0));
    if dry.lo <= 0.0 {
        return Range {
            lo: f64::NEG_INFINITY,
            hi: f64::INFINITY,
        };
    }
    let fraction = oxygen.by(Range {
        lo: 1.0 / dry.hi,
        hi: 1.0 / dry.lo,
    });
    if inspired {
        fraction.by(total.plus(Range::point(-BODY_VAPOUR_PA)))
    } else {
        fraction
    }
}

//! What people take from and give to the air now: efforts with their stages, and the lags that belong to each person.
//!
//! Oxygen use and CO2 output follow their targets by a first-order lag, `r' = (target - r) / tau`; the lag's state goes
//! through hatches with the person and keeps following outside. Vapour of an effort given by power follows by the two-constant
//! sweat lag; tabulated vapour steps, since a table's stages contain its lag.

use std::cmp::Ordering;

use libm::exp;

use crate::air::{MOST, Place};
use crate::crew::{Load, Profile, SWEAT_TAU_S, SWEAT_WEIGHTS};
use crate::timeline::SuitUse;
use crate::units::Time;

use super::Case;
use super::expo::phi1;
use super::indices::DILUENT;
use super::segment::Segment;

/// A lag closer to its target than this fraction of it has arrived: 30 time constants, beneath rounding in every sum.
const ARRIVED: f64 = 1e-13;

/// Rate of the tissue, 1/s: half-time 360 min.
const TISSUE_RATE_1_S: f64 = std::f64::consts::LN_2 / 21_600.0;
/// Longest piece of the tissue's integral, s.
const TISSUE_PIECE_S: f64 = 600.0;
/// Gauss's rule of five points: nodes on [-1, 1] and weights (Abramowitz and Stegun 1964, table 25.4).
pub(crate) const GAUSS: [(f64, f64); 5] = [
    (-0.906_179_845_938_664, 0.236_926_885_056_189_1),
    (-0.538_469_310_105_683_1, 0.478_628_670_499_366_5),
    (0.0, 0.568_888_888_888_888_9),
    (0.538_469_310_105_683_1, 0.478_628_670_499_366_5),
    (0.906_179_845_938_664, 0.236_926_885_056_189_1),
];

/// One person now.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Doing {
    /// Where.
    pub place: Place,
    /// Whose air they breathe: that of the place, or of the suit they wear.
    pub air: Place,
    /// Index of the effort.
    pub effort: usize,
    /// How they wear their suit.
    pub suit: SuitUse,
    /// They breathe from a mask: what is in the air is not judged for them, what they give off goes into it (assumption: the
    /// mask's gas is within limits, its oxygen is not counted).
    pub masked: bool,
    /// Stage of its profile.
    pub stage: usize,
    /// When the stage ends.
    pub stage_ends: Time,
    /// Oxygen use, mol/s.
    pub oxygen: f64,
    /// CO2 output, mol/s.
    pub co2: f64,
    /// The two parts of vapour output, mol/s each before weighting.
    pub sweat: [f64; 2],
    /// Partial pressure of diluent in their tissue, Pa.
    pub tissue_pa: f64,
    /// How far into the running segment the lags have been taken already, s: only outside, where no equation waits for them.
    pub ahead_s: f64,
}

/// Everyone now.
#[derive(Clone, Debug, Default)]
pub(crate) struct Crew {
    /// By index of the person.
    pub people: Vec<Doing>,
}

/// Amounts of one person's exchange over a segment, mol; heat in J.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Exchanged {
    /// Oxygen used.
    pub oxygen: f64,
    /// CO2 given.
    pub co2: f64,
    /// Vapour given.
    pub vapour: f64,
    /// Runoff.
    pub runoff: f64,
    /// Sensible heat.
    pub sensible_j: f64,
    /// Latent heat.
    pub latent_j: f64,
}

impl Doing {
    /// How it takes from and gives to the air.
    pub fn profile<'a>(&self, case: &'a Case, person: usize) -> &'a Profile {
        &case.people[person].profiles[self.effort]
    }

    /// The rates it tends to.
    pub fn target<'a>(&self, case: &'a Case, person: usize) -> &'a Load {
        &self.profile(case, person).stages[self.stage].load
    }

    /// Whether taking up another effort or place changes a value in the equations.
    pub fn changes_with(&self, case: &Case, person: usize, effort: usize, place: Place, suit: SuitUse) -> bool {
        if self.air == Place::Outside && air_of(case, person, place, suit) == Place::Outside {
            return false;
        }
        let (now, next) = (self.profile(case, person), &case.people[person].profiles[effort]);
        let steady = self.stage_ends == Time::NEVER && next.stages[0].lasts.is_none();
        self.place != place
            || self.suit != suit
            || !steady
            || now.sweat_lag != next.sweat_lag
            || now.towel != next.towel
            || self.target(case, person) != &next.stages[0].load
    }

    fn enter_stage(&mut self, case: &Case, person: usize, stage: usize, now: Time) {
        self.stage = stage;
        let profile = self.profile(case, person);
        self.stage_ends = profile.stages[stage].lasts.map_or(Time::NEVER, |lasts| now + lasts);
        if !profile.sweat_lag {
            self.sweat = [profile.stages[stage].load.vapour_mol_s; 2];
        }
    }
}

impl Crew {
    /// Everyone where they start, idle; nothing exchanged yet.
    pub fn reset(&mut self, case: &Case) {
        self.people.clear();
        for (person, spec) in case.people.iter().enumerate() {
            let mut doing = Doing {
                place: spec.start,
                air: spec.start,
                effort: spec.idle,
                suit: SuitUse::Off,
                masked: false,
                stage: 0,
                stage_ends: Time::NEVER,
                oxygen: 0.0,
                co2: 0.0,
                sweat: [0.0; 2],
                tissue_pa: spec.tissue_pa.unwrap_or_else(|| match spec.start {
                    Place::Compartment(a) => case.compartments[a].partial_pa[DILUENT],
                    Place::Outside => 0.0,
                }),
                ahead_s: 0.0,
            };
            doing.enter_stage(case, person, 0, Time::ZERO);
            self.people.push(doing);
        }
    }

    /// Brings every lag into equilibrium with what its person does: the state at time zero.
    pub fn settle(&mut self, case: &Case) {
        for (person, doing) in self.people.iter_mut().enumerate() {
            let load = doing.target(case, person);
            doing.oxygen = load.oxygen_mol_s;
            doing.co2 = load.co2_mol_s;
            doing.sweat = [load.vapour_mol_s; 2];
        }
    }

    /// A person takes up an effort in a place; its stages start anew unless they were at it already.
    pub fn take_up(&mut self, case: &Case, person: usize, effort: usize, place: Place, suit: SuitUse, now: Time) {
        let doing = &mut self.people[person];
        doing.place = place;
        doing.suit = suit;
        doing.air = air_of(case, person, place, suit);
        doing.effort = effort;
        doing.enter_stage(case, person, 0, now);
    }

    /// Moves everyone whose stage ends now to the next; whether anyone did.
    pub fn end_stages(&mut self, case: &Case, now: Time) -> bool {
        let mut any = false;
        for (person, doing) in self.people.iter_mut().enumerate() {
            if doing.stage_ends <= now {
                let next = (doing.stage + 1).min(doing.profile(case, person).stages.len() - 1);
                doing.enter_stage(case, person, next, now);
                any = true;
            }
        }
        any
    }

    /// When the next stage ends.
    pub fn next_due(&self) -> Time {
        self.people
            .iter()
            .map(|doing| doing.stage_ends)
            .min()
            .unwrap_or(Time::NEVER)
    }

    /// Runoff that goes into towels in compartment `a`, mol/s.
    pub fn runoff_to_towel(&self, case: &Case, a: usize) -> f64 {
        let mut sum = 0.0;
        for (person, doing) in self.people.iter().enumerate() {
            if doing.air == Place::Compartment(a) && doing.profile(case, person).towel {
                sum += doing.target(case, person).runoff_mol_s;
            }
        }
        sum
    }

    /// Everyone, those with the smallest rates first: so a sum, to the last bit, does not tell the order of the crew in the
    /// scenario. One bit would be enough to take a step of the integrator for good or to try it again.
    pub fn by_size(&self, case: &Case) -> impl Iterator<Item = usize> + use<> {
        let mut order: [usize; MOST] = std::array::from_fn(|k| k);
        let rates = |&person: &usize| {
            let (doing, load) = (&self.people[person], self.people[person].target(case, person));
            let now = [doing.co2, doing.oxygen, doing.sweat[0], doing.sweat[1]];
            let target = [load.co2_mol_s, load.oxygen_mol_s, load.vapour_mol_s, load.runoff_mol_s];
            (now, target, case.people[person].gas_lag_s)
        };
        order[..self.people.len().min(MOST)].sort_unstable_by(|a, b| {
            let (a, b) = (rates(a), rates(b));
            let pairs =
                a.0.into_iter()
                    .chain(a.1)
                    .chain([a.2])
                    .zip(b.0.into_iter().chain(b.1).chain([b.2]));
            pairs.fold(Ordering::Equal, |so_far, (x, y)| so_far.then(x.total_cmp(&y)))
        });
        order.into_iter().take(self.people.len())
    }

    /// Diluent in a person's tissue at the end of a segment through which they breathe the air of `a`, Pa:
    /// `p' = k (p_breathed - p)`, by Gauss's rule of five points in pieces of at most ten minutes.
    pub fn tissue_after(&self, case: &Case, segment: &Segment, person: usize, a: usize) -> f64 {
        let mut tissue = self.people[person].tissue_pa;
        debug_assert!(person < case.people.len());
        let mut from = 0.0;
        let breaks = segment.steps.iter().map(|step| step.from_s + step.length_s);
        for to in breaks.chain([segment.length_s]) {
            let to = to.min(segment.length_s);
            while from < to {
                let length = (to - from).min(TISSUE_PIECE_S);
                let mut taken = 0.0;
                for (node, weight) in GAUSS {
                    let t = from + 0.5 * length * (1.0 + node);
                    let mut p = [[0.0; MOST]; 4];
                    segment.at(t, &mut p);
                    taken += 0.5 * length * weight * p[DILUENT][a] * exp(-TISSUE_RATE_1_S * (from + length - t));
                }
                tissue = tissue * exp(-TISSUE_RATE_1_S * length) + TISSUE_RATE_1_S * taken;
                from += length;
            }
        }
        tissue
    }

    /// Moves everyone's tissue over a segment.
    pub fn breathe(&mut self, case: &Case, segment: &Segment) {
        for person in 0..self.people.len() {
            if let Place::Compartment(a) = self.people[person].air {
                self.people[person].tissue_pa = self.tissue_after(case, segment, person, a);
            }
        }
    }

    /// Takes the lags of those outside to `t` s into the running segment, before they take up something else there.
    pub fn advance_outside(&mut self, case: &Case, t: f64) {
        for (person, doing) in self.people.iter_mut().enumerate() {
            if doing.air == Place::Outside {
                doing.advance(case, person, t - doing.ahead_s);
                doing.ahead_s = t;
            }
        }
    }

    /// Ends a segment of `t` s: what each person exchanged, handed to `with` (person, whose air, amounts), and where the
    /// lags are.
    pub fn advance(&mut self, case: &Case, t: f64, mut with: impl FnMut(usize, Place, &Exchanged)) {
        for (person, doing) in self.people.iter_mut().enumerate() {
            let exchanged = doing.advance(case, person, t - doing.ahead_s);
            doing.ahead_s = 0.0;
            with(person, doing.air, &exchanged);
        }
    }
}

impl Doing {
    /// Lets `t` s pass.
    fn advance(&mut self, case: &Case, person: usize, t: f64) -> Exchanged {
        let load = *self.target(case, person);
        let mu = 1.0 / case.people[person].gas_lag_s;
        let mut vapour = 0.0;
        for j in 0..2 {
            vapour += SWEAT_WEIGHTS[j] * follow(&mut self.sweat[j], load.vapour_mol_s, 1.0 / SWEAT_TAU_S[j], t);
        }
        Exchanged {
            oxygen: follow(&mut self.oxygen, load.oxygen_mol_s, mu, t),
            co2: follow(&mut self.co2, load.co2_mol_s, mu, t),
            vapour,
            runoff: load.runoff_mol_s * t,
            sensible_j: load.sensible_w * t,
            latent_j: load.latent_w * t,
        }
    }
}

/// Whose air a person breathes.
pub(crate) fn air_of(case: &Case, person: usize, place: Place, suit: SuitUse) -> Place {
    let own = case.suits.iter().find(|own| own.wearer == person);
    match own {
        Some(own) if suit != SuitUse::Off => Place::Compartment(own.compartment),
        _ => place,
    }
}

/// How far a rate is behind its target; exactly 0 once it has arrived.
pub(crate) fn behind(rate: f64, target: f64) -> f64 {
    let gap = rate - target;
    if gap.abs() <= ARRIVED * target.abs() { 0.0 } else { gap }
}

/// Advances a lag by `t` s; the amount that flowed meanwhile.
fn follow(rate: &mut f64, target: f64, mu: f64, t: f64) -> f64 {
    let gap = behind(*rate, target);
    if gap == 0.0 {
        *rate = target;
        return target * t;
    }
    *rate = target + gap * exp(-mu * t);
    target * t + gap * phi1(mu, t)
}

const _: () = assert!(
    MOST <= 8,
    "a person's gas lag has a place of its own among the dying sources"
);

//! What a run gives back: margins, times, totals, balances and the work it took.

use crate::units::Time;

/// The result of one run.
#[derive(Clone, Debug, Default)]
pub struct Outcome {
    /// How it ended.
    pub end: End,
    /// One for each rule of the case, in its order.
    pub rules: Vec<RuleOutcome>,
    /// What was made, removed, supplied and lost.
    pub totals: Totals,
    /// Gas in each compartment at the end.
    pub state_end: Vec<CompartmentEnd>,
    /// What became of each tank.
    pub tanks: Vec<TankOutcome>,
    /// What became of each device.
    pub devices: Vec<DeviceOutcome>,
    /// What each suit's wearer did in it.
    pub suits: Vec<SuitOutcome>,
    /// Vents, fills and equalisations, in order of their start.
    pub transfers: Vec<Transfer>,
    /// Extremes of each compartment over the run, from the solution itself, not from samples.
    pub extremes: Vec<Extremes>,
    /// How well each element's ledger closes.
    pub balance: Balance,
    /// Waits, delays and crowding.
    pub schedule: ScheduleOutcome,
    /// What became of each fault.
    pub faults: Vec<FaultOutcome>,
    /// What became of each alarm.
    pub alarms: Vec<AlarmOutcome>,
    /// Responses, in order of their alarms' coming on.
    pub responses: Vec<ResponseOutcome>,
    /// Work done.
    pub counters: Counters,
}

/// How a run ended.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum End {
    /// The whole duration was simulated.
    #[default]
    Completed,
    /// The oxygen that a person breathes fell below the floor: the run stops there.
    OxygenFloor {
        /// When.
        at: Time,
        /// Index of the compartment.
        compartment: usize,
        /// Index of the person.
        person: usize,
    },
    /// A species ran out in a compartment.
    Exhausted {
        /// When.
        at: Time,
        /// Index of the compartment.
        compartment: usize,
        /// Which ran out.
        species: crate::air::Species,
    },
}

/// How one rule fared. `worst`, `margin` are in the quantity's SI unit (Pa, K, kg, a fraction), for an allowance in s.
#[derive(Clone, Copy, Debug, Default)]
pub struct RuleOutcome {
    /// The value nearest to, or furthest beyond, the limit; NaN if the rule never applied (no one there to breathe).
    pub worst: f64,
    /// When `worst` was reached.
    pub at: Time,
    /// Limit minus worst ("at most") or worst minus limit ("at least"); NaN if `worst` is.
    pub margin: f64,
    /// When the limit was first crossed.
    pub first_crossing: Option<Time>,
    /// Time beyond the limit, s. For an allowance: time beyond its threshold.
    pub beyond_s: f64,
}

/// Totals over the run. Masses in kg, heat in MJ.
#[derive(Clone, Copy, Debug, Default)]
pub struct Totals {
    /// CO2 given off by people inside.
    pub co2_made_kg: f64,
    /// CO2 taken out by devices.
    pub co2_removed_kg: f64,
    /// Water vapour given off by people inside, towels included.
    pub water_made_kg: f64,
    /// Liquid sweat that ran off (drained or into towels).
    pub runoff_kg: f64,
    /// Water taken out by devices.
    pub water_removed_kg: f64,
    /// Water that condensed on surfaces, less what evaporated again.
    pub water_condensed_kg: f64,
    /// Oxygen used by people inside.
    pub oxygen_used_kg: f64,
    /// Oxygen added by holds.
    pub oxygen_supplied_kg: f64,
    /// Diluent added by holds.
    pub diluent_supplied_kg: f64,
    /// Sensible heat of people inside.
    pub sensible_mj: f64,
    /// Latent heat of people inside (vapour and runoff times the heat of evaporation).
    pub latent_mj: f64,
    /// Lost through leaks and net to outside through openings, by species.
    pub leaked_kg: [f64; 4],
    /// Lost in vents and while open to the vacuum, by species.
    pub vented_kg: [f64; 4],
    /// Let out by relief valves, by species.
    pub relieved_kg: [f64; 4],
    /// Lost at turns of beds, by species.
    pub turn_lost_kg: [f64; 4],
    /// Oxygen let in by fills.
    pub oxygen_filled_kg: f64,
    /// Diluent let in by fills.
    pub diluent_filled_kg: f64,
    /// Oxygen let into suits.
    pub oxygen_to_suits_kg: f64,
    /// Vapour given off by sorbents.
    pub sorbent_water_kg: f64,
}

/// What became of a tank.
#[derive(Clone, Copy, Debug, Default)]
pub struct TankOutcome {
    /// Taken out of it, kg.
    pub used_kg: f64,
    /// In it at the end, kg (with what it cannot deliver).
    pub left_kg: f64,
    /// When it ran dry.
    pub dry_at: Option<Time>,
    /// When it first went below its reserve.
    pub reserve_at: Option<Time>,
}

/// What became of a removal device.
#[derive(Clone, Copy, Debug, Default)]
pub struct DeviceOutcome {
    /// CO2 taken out of the air, kg.
    pub co2_kg: f64,
    /// Water taken out of the air, kg; below zero where a sorbent gives off more.
    pub water_kg: f64,
    /// CO2 that it holds at the end, kg: in its canister or beds.
    pub co2_held_kg: f64,
    /// Water that it holds at the end, kg.
    pub water_held_kg: f64,
    /// Canisters taken out spent or part-used.
    pub canisters_spent: u32,
    /// Turns of its beds.
    pub turns: u32,
    /// Cabin gas lost at its turns, by species, kg.
    pub lost_kg: [f64; 4],
    /// Heat to the air, MJ (its power and heat of reaction, less what a condenser takes).
    pub heat_mj: f64,
}

/// What a suit did for its wearer.
#[derive(Clone, Copy, Debug, Default)]
pub struct SuitOutcome {
    /// Time worn, from putting it on to taking it off, s.
    pub worn_s: f64,
    /// Sensible heat of the wearer meanwhile, MJ: for the suit's cooling.
    pub sensible_mj: f64,
    /// Latent heat, MJ.
    pub latent_mj: f64,
    /// Vapour given off, kg.
    pub vapour_kg: f64,
    /// Liquid sweat, kg.
    pub runoff_kg: f64,
    /// Oxygen let in, kg.
    pub oxygen_kg: f64,
}

/// What a transfer was.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum TransferKind {
    /// Gas let out of a compartment.
    #[default]
    Vent,
    /// Gas let into a compartment.
    Fill,
    /// Pressures on both sides of an opening made equal.
    Equalise,
}

/// A vent, a fill or an equalisation.
#[derive(Clone, Copy, Debug, Default)]
pub struct Transfer {
    /// What.
    pub kind: TransferKind,
    /// Index of the task whose effect it is.
    pub task: usize,
    /// Index of the compartment; of an equalisation, of the opening.
    pub subject: usize,
    /// When it began.
    pub began: Time,
    /// When it ended; none: the run ended first.
    pub ended: Option<Time>,
    /// Total pressure of the compartment when it began, Pa; of an equalisation, the difference.
    pub from_pa: f64,
    /// The same when it ended.
    pub to_pa: f64,
    /// Gas lost (vent), let in (fill) or moved, by species, kg.
    pub gas_kg: [f64; 4],
    /// A tank ran dry before it was done.
    pub short: bool,
}

/// Gas in a compartment at the end of the run.
#[derive(Clone, Copy, Debug, Default)]
pub struct CompartmentEnd {
    /// Partial pressures, Pa, by species.
    pub partial_pa: [f64; 4],
    /// Total pressure, Pa.
    pub pressure_pa: f64,
    /// Relative humidity, a fraction.
    pub humidity: f64,
    /// Temperature, K.
    pub temperature_k: f64,
    /// Liquid on its surfaces and in its towels, kg.
    pub liquid_water_kg: f64,
}

/// Extremes of a compartment and when they came.
#[derive(Clone, Copy, Debug, Default)]
pub struct Extremes {
    /// Highest CO2 partial pressure, Pa.
    pub co2_pa_max: f64,
    /// When.
    pub co2_pa_max_at: Time,
    /// Highest relative humidity, a fraction.
    pub humidity_max: f64,
    /// When.
    pub humidity_max_at: Time,
    /// Lowest relative humidity, a fraction.
    pub humidity_min: f64,
    /// When.
    pub humidity_min_at: Time,
    /// Lowest oxygen partial pressure, Pa.
    pub oxygen_pa_min: f64,
    /// When.
    pub oxygen_pa_min_at: Time,
    /// Highest oxygen partial pressure, Pa.
    pub oxygen_pa_max: f64,
    /// When.
    pub oxygen_pa_max_at: Time,
    /// Lowest total pressure, Pa.
    pub pressure_pa_min: f64,
    /// When.
    pub pressure_pa_min_at: Time,
    /// Highest total pressure, Pa.
    pub pressure_pa_max: f64,
    /// When.
    pub pressure_pa_max_at: Time,
    /// Lowest air temperature, K.
    pub temperature_k_min: f64,
    /// When.
    pub temperature_k_min_at: Time,
    /// Highest air temperature, K.
    pub temperature_k_max: f64,
    /// When.
    pub temperature_k_max_at: Time,
    /// Highest oxygen fraction of the dry gas; NaN where it is not followed (a case without suits and fills).
    pub oxygen_fraction_max: f64,
    /// When.
    pub oxygen_fraction_max_at: Time,
    /// Most liquid water, kg.
    pub liquid_water_kg_max: f64,
    /// When.
    pub liquid_water_kg_max_at: Time,
}

/// Residual of each ledger over its throughput: (start + made + supplied - used - removed - lost - end) / throughput.
#[derive(Clone, Copy, Debug, Default)]
pub struct Balance {
    /// CO2, which carries all carbon here.
    pub carbon: f64,
    /// Oxygen gas.
    pub oxygen: f64,
    /// Water, vapour and liquid.
    pub water: f64,
    /// Diluent.
    pub diluent: f64,
}

/// Waits, delays and crowding.
#[derive(Clone, Debug, Default)]
pub struct ScheduleOutcome {
    /// For each task of the case's plan, in its order: its time of start, if it did start.
    pub started: Vec<Option<Time>>,
    /// Likewise, its end.
    pub ended: Vec<Option<Time>>,
    /// For each task, time from when it was ready (earliest start reached, predecessors done) to its start
    /// (or to the end of the run), s.
    pub waited_s: Vec<f64>,
    /// For each task, the part of that in which nothing but space was lacking, s.
    pub waited_for_space_s: Vec<f64>,
    /// For each task, how often it was interrupted.
    pub interruptions: Vec<u32>,
    /// For each task, whether it was dropped at an interruption.
    pub dropped: Vec<bool>,
    /// For each compartment, time with more space claimed than usable, s.
    pub space_exceeded_s: Vec<f64>,
    /// For each compartment, largest excess of claimed over usable, m3 (0 if never).
    pub space_excess_m3: Vec<f64>,
    /// For each compartment, the moments with most space claimed, tightest first, at most [`crate::timeline::TIGHTEST`].
    pub tightest: Vec<Vec<crate::timeline::Tight>>,
}

/// What became of a fault.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct FaultOutcome {
    /// When it began.
    pub began: Option<Time>,
    /// When it ended, of itself or by repair.
    pub ended: Option<Time>,
    /// It was ended by a repair.
    pub repaired: bool,
}

/// What became of an alarm.
///
/// An *occasion* is a stretch of readings at which the truth (the quantity itself, without gain, bias, drift, noise and lag) was
/// beyond the set point in as many of its sensors' places as must say so, for at least its persistence.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct AlarmOutcome {
    /// When it first came on.
    pub first_on: Option<Time>,
    /// How often it came on.
    pub trips: u32,
    /// How often it came on though at none of the readings from the first that counted on the truth was beyond the set point.
    pub false_trips: u32,
    /// Occasions.
    pub occasions: u32,
    /// Occasions over the whole of which it was off.
    pub missed: u32,
    /// When the first occasion had lasted as long as its persistence.
    pub first_occasion: Option<Time>,
    /// Time on, s.
    pub on_s: f64,
}

/// One response to an alarm.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct ResponseOutcome {
    /// Index of the alarm.
    pub alarm: usize,
    /// When the alarm came on.
    pub tripped: Time,
    /// When the first attempt began; none: it never did.
    pub began: Option<Time>,
    /// When all of it was done; none: it was not.
    pub done: Option<Time>,
    /// Who did it: bit p, person p.
    pub people: u64,
    /// Attempts.
    pub attempts: u32,
    /// It was given up: no attempt succeeded.
    pub failed: bool,
}

/// Work done, part of the result so that lost speed shows as a difference.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Counters {
    /// Instants at which something was due.
    pub events: u64,
    /// Segments propagated.
    pub segments: u64,
    /// Crossings located (limits and modes).
    pub crossings: u64,
    /// Passes over the phases.
    pub passes: u64,
    /// Modes built (eigenbases made).
    pub modes: u64,
    /// Steps of the integrator.
    pub steps: u64,
    /// Steps of the integrator that were refused and made again, smaller.
    pub rejected_steps: u64,
    /// Bound checks that ruled a piece out.
    pub ruled_out: u64,
    /// Pieces that had to be looked into.
    pub looked_into: u64,
}

impl Counters {
    /// Every count, in the order of the fields: for whoever adds counters up, or keeps them. They are taken apart by name, so that a
    /// new one cannot be forgotten.
    pub fn each(&mut self) -> [&mut u64; 9] {
        let Self {
            events,
            segments,
            crossings,
            passes,
            modes,
            steps,
            rejected_steps,
            ruled_out,
            looked_into,
        } = self;
        [
            events,
            segments,
            crossings,
            passes,
            modes,
            steps,
            rejected_steps,
            ruled_out,
            looked_into,
        ]
    }
}

/// Why a run could not be finished. Indices refer to the case.
#[derive(Clone, Debug, PartialEq)]
pub enum RunError {
    /// An opening was to be opened against a pressure.
    HatchAgainstPressure {
        /// When.
        at: Time,
        /// Index of the opening.
        opening: usize,
        /// Difference of total pressure, Pa.
        difference_pa: f64,
    },
    /// A compartment was to be vented with someone in it who does not wear a pressurised suit.
    Unsuited {
        /// When.
        at: Time,
        /// Index of the compartment.
        compartment: usize,
        /// Index of the person.
        person: usize,
    },
    /// More than 1,000 passes at one instant.
    TooManyPasses {
        /// When.
        at: Time,
        /// Indices of the tasks that took part in the last pass.
        tasks: Vec<usize>,
    },
    /// More than 100 changes of mode in one simulated second.
    Restless {
        /// When.
        at: Time,
        /// Index of the compartment.
        compartment: usize,
    },
    /// A number stopped being finite.
    NotFinite {
        /// When.
        at: Time,
        /// Index of the compartment.
        compartment: usize,
    },
    /// The case itself is not valid (a bug of whoever built it).
    Invalid(&'static str),
}

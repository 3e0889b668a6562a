//! An invented laboratory: devices that are not the models that are fitted to them, and sensors that are not perfect.
//!
//! ```text
//! cell i       p_i = p*_i + (p_in,i - p*_i) e^(-n)        dq_i/dt = g (1 + 2 b) (p_in,i - p_i) / m
//!              p_in,i = ((1 + b) p_(i-1) + b p_(i+1)) / (1 + 2 b)
//! amine bed    p* = half q / (most - q)                   desorbing dq/dt = -k q
//! canister     p* = 0, n falls as n0 (1 - x)^1.5          x part of a cell that has reacted
//! sensor       ds/dt = (air - s) / lag;  reading = round((s + offset + drift t + noise) / step) step
//! ```
//!
//! `p` partial pressure, Pa; `q` loading, mol/kg; `n` transfer units of a cell; `g` amount flow per pressure, mol/s/Pa; `m` sorbent of a cell,
//! kg; `b` back-mixing between [`CELLS`] cells along the bed (axial dispersion). Taken up by a linear driving force in the gas.
//!
//! All figures are invented. A fit of an efficiency, or of Bohart and Adams' law, to such a bed is no tautology: what is left is a
//! pattern, and the report shows it.

use breathroom_analysis::chance::Streams;
use breathroom_sim::scenario::Luck as _;

/// Cells along a bed.
pub const CELLS: usize = 20;
/// Back-mixing between cells.
const BACK: f64 = 0.15;

/// Keyed standard normal noise.
pub struct Noise(u64);

impl Noise {
    /// Of a seed.
    pub fn new(seed: u64) -> Self {
        Self(seed)
    }

    /// A standard normal value (Box and Muller 1958).
    pub fn normal(&self, name: &str, index: u64) -> f64 {
        let streams = Streams::new(self.0, &[format!("{name}.a"), format!("{name}.b")]);
        let luck = streams.variation(index);
        let (u, v) = (luck.uniform(0, 0, 0), luck.uniform(1, 0, 0));
        libm::sqrt(-2.0 * libm::log(u)) * libm::cos(2.0 * std::f64::consts::PI * v)
    }
}

/// A bed of cells through which gas flows.
pub struct Bed {
    /// What each cell holds: mol/kg of an amine bed, the part that has reacted of a canister.
    held: [f64; CELLS],
    /// Partial pressure behind each cell, of the step before.
    behind: [f64; CELLS],
}

impl Default for Bed {
    fn default() -> Self {
        Self {
            held: [0.0; CELLS],
            behind: [0.0; CELLS],
        }
    }
}

impl Bed {
    /// One step: `law` gives a cell's equilibrium pressure and transfer units, `room` mol that fill one unit of what a cell holds.
    /// Gives the partial pressure at the outlet.
    fn step(&mut self, h: f64, g: f64, inlet: f64, room: f64, law: impl Fn(f64) -> (f64, f64)) -> f64 {
        let before = self.behind;
        let mut p = inlet;
        for i in 0..CELLS {
            // Forward 1 + b of the flow, back b of it; nothing goes back out of the inlet, nor comes in at the outlet.
            let [forward, back] = [
                if i == 0 { 1.0 } else { 1.0 + BACK },
                if i == CELLS - 1 { 0.0 } else { BACK },
            ];
            let through = forward + back;
            let into = (forward * p + back * before[(i + 1).min(CELLS - 1)]) / through;
            let (rest, units) = law(self.held[i]);
            let out = rest + (into - rest) * libm::exp(-units / through);
            self.held[i] = (self.held[i] + h * g * through * (into - out) / room).max(0.0);
            self.behind[i] = out;
            p = out;
        }
        p
    }
}

/// Two amine beds that take turns; one is channelled a little.
pub struct AminePair {
    beds: [Bed; 2],
    /// kg of sorbent in each bed of the tested piece.
    pub bed_kg: f64,
    /// Length of a turn, s.
    pub turn_s: f64,
}

impl AminePair {
    /// Fresh beds.
    pub fn new(bed_kg: f64, turn_s: f64) -> Self {
        Self {
            beds: Default::default(),
            bed_kg,
            turn_s,
        }
    }

    /// The partial pressure of CO2 at the outlet after a step, Pa.
    pub fn step(&mut self, at_s: f64, h: f64, g: f64, inlet: f64) -> f64 {
        const MOST: f64 = 1.9;
        const HALF: f64 = 35.0;
        const UNITS: [f64; 2] = [2.5, 2.25];
        let adsorbs = usize::from((at_s / self.turn_s) as u64 % 2 == 1);
        let cell = self.bed_kg / CELLS as f64;
        let law = |q: f64| (HALF * q / (MOST - q).max(0.05), UNITS[adsorbs] / CELLS as f64);
        let out = self.beds[adsorbs].step(h, g, inlet, cell, law);
        for q in &mut self.beds[1 - adsorbs].held {
            *q *= libm::exp(-0.012 * h);
        }
        self.beds[1 - adsorbs].behind = [0.0; CELLS];
        // A hundredth of the flow finds its way beside the bed.
        0.01 * inlet + 0.99 * out
    }
}

/// A canister whose grains react from without to within.
pub struct Canister {
    bed: Bed,
    /// CO2 that all of it takes, mol.
    pub capacity_mol: f64,
    /// Part of the flow that misses the bed.
    pub bypass: f64,
}

impl Canister {
    /// A fresh one.
    pub fn new(capacity_mol: f64, bypass: f64) -> Self {
        Self {
            bed: Bed::default(),
            capacity_mol,
            bypass,
        }
    }

    /// The partial pressure of CO2 at the outlet after a step, Pa.
    pub fn step(&mut self, h: f64, g: f64, inlet: f64) -> f64 {
        const UNITS: f64 = 16.0;
        let through = (1.0 - self.bypass) * g;
        let room = self.capacity_mol / CELLS as f64;
        let units = |x: f64| {
            let left = (1.0 - x).max(0.0);
            UNITS / CELLS as f64 * left * libm::sqrt(left)
        };
        let out = self.bed.step(h, through, inlet, room, |x| (0.0, units(x)));
        self.bypass * inlet + (1.0 - self.bypass) * out
    }
}

/// A sensor.
pub struct Sensor {
    /// Its name, for its noise.
    pub name: &'static str,
    /// Time constant, s; 0: at once.
    pub lag_s: f64,
    /// Pa.
    pub offset: f64,
    /// Pa/s.
    pub drift: f64,
    /// Standard deviation of its noise, Pa.
    pub noise: f64,
    state: Option<f64>,
}

impl Sensor {
    /// One that has read nothing yet.
    pub fn new(name: &'static str, lag_s: f64, [offset, drift, noise]: [f64; 3]) -> Self {
        Self {
            name,
            lag_s,
            offset,
            drift,
            noise,
            state: None,
        }
    }

    /// Lets it see the air for a step.
    pub fn sees(&mut self, h: f64, air: f64) {
        let state = self.state.unwrap_or(air);
        let part = if self.lag_s > 0.0 {
            -libm::expm1(-h / self.lag_s)
        } else {
            1.0
        };
        self.state = Some(state + part * (air - state));
    }

    /// What it reads.
    pub fn reads(&self, noise: &Noise, since_s: f64, sample: u64) -> f64 {
        self.state.unwrap_or_default()
            + self.offset
            + self.drift * since_s
            + self.noise * noise.normal(self.name, sample)
    }
}

//! The draws of a study, by its design.
//!
//! Equation: variation k belongs to replicate r = k mod 16 and is its point i = k div 16 (plain: no replicates). An input
//! drawn once in a variation takes
//!   plain: the keyed draw of (seed, k, path), as [`Streams`];
//!   Latin hypercube: point i of n_r, n_r = ceil((runs - r) / 16), of the sample of (seed, r, path);
//!   Sobol: point i of the sequence in its dimension, scrambled by (seed, r, path).
//! Values of turns, and inputs beyond the table of dimensions, take the plain keyed draw in every design. Members of a
//! [`Group`] are then made to go together.
//! Symbols: k from 0; r from 0 to 15; every number in (0, 1); no units.
//! Source: McKay, Beckman and Conover (1979) and Owen (1995), in the modules below this; independent replicates for the error:
//! Owen, "Monte Carlo variance of scrambled net quadrature", SIAM J. Numer. Anal. 34 (1997) 1884.
//! Valid for at least 32 runs (two points for each replicate), plain for any. As k goes round the replicates, every first
//! part of a study is balanced between them. Sobol runs can be extended: the first draws do not depend on how many there
//! are. Latin hypercube draws do. Draws of one replicate are not independent: intervals come from the replicates.
//! Adding, removing or fixing an input leaves the plain and the Latin hypercube draws of all others as they were; for Sobol
//! as long as they keep their dimension (one table of [`Dimensions`] for all rows of a trade).

use breathroom_sim::scenario::Luck;

use super::copula::Group;
use super::design::{Design, DesignError, FEWEST_RUNS, InputKey, MOST_SOBOL_RUNS, REPLICATES};
use super::dimensions::Dimensions;
use super::keyed::{Keyed, Streams};
use super::mix::{Purpose, design_key};
use super::{latin, sobol};

/// Where the own draw of an input comes from.
#[derive(Clone, Copy, Debug)]
enum Way {
    Keyed,
    /// Keys of its replicates start here.
    Latin {
        keys: usize,
    },
    /// Likewise, and the index of its direction numbers.
    Sobol {
        keys: usize,
        directions: usize,
    },
}

/// One input.
#[derive(Clone, Debug)]
struct Slot {
    once: bool,
    way: Way,
    /// Its group and its place in it.
    member: Option<(usize, usize)>,
}

/// The draws of a study: its seed, its design, its inputs.
#[derive(Clone, Debug)]
pub struct Draws {
    streams: Streams,
    design: Design,
    runs: u64,
    slots: Vec<Slot>,
    groups: Vec<Group>,
    dimensions: Vec<Option<u32>>,
    /// For each input with a design, one key for each replicate.
    keys: Vec<u128>,
    directions: Vec<sobol::Directions>,
}

impl Draws {
    /// Draws for these inputs, in the order of `Scenario::inputs`, with Sobol dimensions in that order.
    ///
    /// # Errors
    /// If the design cannot have so many runs, or a group cannot be.
    ///
    /// # Panics
    /// If a group names the index of no input: a fault of the program, never of a file.
    pub fn new(
        seed: u64,
        design: Design,
        runs: u64,
        inputs: &[InputKey<'_>],
        groups: &[Group],
    ) -> Result<Self, DesignError> {
        Self::with_dimensions(seed, design, runs, inputs, groups, &Dimensions::of(inputs))
    }

    /// As [`Draws::new`], with a table of dimensions made before, perhaps for several scenarios.
    ///
    /// # Errors
    /// As [`Draws::new`].
    ///
    /// # Panics
    /// As [`Draws::new`].
    pub fn with_dimensions(
        seed: u64,
        design: Design,
        runs: u64,
        inputs: &[InputKey<'_>],
        groups: &[Group],
        table: &Dimensions,
    ) -> Result<Self, DesignError> {
        if design != Design::Plain && runs < FEWEST_RUNS {
            return Err(DesignError::TooFewRuns { design, runs });
        }
        if design == Design::Sobol && runs > MOST_SOBOL_RUNS {
            return Err(DesignError::TooManyRuns { runs });
        }
        let paths: Vec<&str> = inputs.iter().map(|input| input.path).collect();
        let mut draws = Self {
            streams: Streams::new(seed, &paths),
            design,
            runs,
            slots: Vec::with_capacity(inputs.len()),
            groups: groups.to_vec(),
            dimensions: Vec::with_capacity(inputs.len()),
            keys: Vec::new(),
            directions: Vec::new(),
        };
        let dimension = |input: &InputKey<'_>| match design {
            Design::Sobol if input.once => table.get(input.path),
            _ => None,
        };
        draws.dimensions.extend(inputs.iter().map(dimension));
        let most = draws.dimensions.iter().copied().flatten().max().unwrap_or(0);
        draws.directions = sobol::directions(most);
        for (n, input) in inputs.iter().enumerate() {
            let way = draws.way(seed, n, input.once);
            draws.slots.push(Slot {
                once: input.once,
                way,
                member: None,
            });
        }
        draws.join(inputs)?;
        Ok(draws)
    }

    /// How input `n` is drawn; makes its keys.
    fn way(&mut self, seed: u64, n: usize, once: bool) -> Way {
        let keys = self.keys.len();
        let (way, purpose) = match (self.design, self.dimensions[n]) {
            (Design::LatinHypercube, _) if once => (Way::Latin { keys }, Purpose::Order),
            (Design::Sobol, Some(dimension)) => {
                let directions = dimension as usize - 1;
                (Way::Sobol { keys, directions }, Purpose::Scramble)
            }
            _ => return Way::Keyed,
        };
        let path = self.streams.paths()[n];
        let key = |replicate| design_key(seed, u64::from(replicate), path, purpose);
        self.keys.extend((0..REPLICATES).map(key));
        way
    }

    /// Tells each input of its group.
    fn join(&mut self, inputs: &[InputKey<'_>]) -> Result<(), DesignError> {
        for (of, group) in self.groups.iter().enumerate() {
            for (place, &input) in group.inputs().iter().enumerate() {
                let path = || inputs[input].path.to_owned();
                if !inputs[input].once {
                    return Err(DesignError::PerTurn { path: path() });
                }
                if self.slots[input].member.replace((of, place)).is_some() {
                    return Err(DesignError::Twice { path: path() });
                }
            }
        }
        Ok(())
    }

    /// The draws of variation `k` (from 0). Cheap: nothing is allocated.
    ///
    /// # Panics
    /// If `k` is not below the runs of a Latin hypercube, which has no further points, or not below [`MOST_SOBOL_RUNS`] in
    /// a Sobol design: a fault of the program, never of a file.
    #[must_use]
    pub fn variation(&self, k: u64) -> Variation<'_> {
        match self.design {
            Design::Plain => {}
            Design::LatinHypercube => assert!(k < self.runs, "variation {k} of a sample of {}", self.runs),
            Design::Sobol => assert!(k < MOST_SOBOL_RUNS, "variation {k} of {MOST_SOBOL_RUNS}"),
        }
        Variation {
            draws: self,
            keyed: self.streams.variation(k),
            k,
        }
    }

    /// The design.
    #[must_use]
    pub fn design(&self) -> Design {
        self.design
    }

    /// Independent replicates: 1 for plain draws, else [`REPLICATES`].
    #[must_use]
    pub fn replicates(&self) -> u32 {
        self.design.replicates()
    }

    /// The replicate of variation `k`.
    #[must_use]
    pub fn replicate_of(&self, k: u64) -> u32 {
        self.design.replicate_of(k)
    }

    /// The Sobol dimension of each input, from 1: none in other designs, for inputs drawn in every turn, and beyond the
    /// table; those take plain keyed draws.
    #[must_use]
    pub fn dimensions(&self) -> &[Option<u32>] {
        &self.dimensions
    }
}

/// The draws of one variation.
#[derive(Clone, Copy, Debug)]
pub struct Variation<'a> {
    draws: &'a Draws,
    keyed: Keyed<'a>,
    k: u64,
}

impl Variation<'_> {
    /// What the design draws for an input, before any group.
    fn own(&self, input: usize) -> f64 {
        let (of, point) = (self.k % u64::from(REPLICATES), self.k / u64::from(REPLICATES));
        match self.draws.slots[input].way {
            Way::Keyed => self.keyed.uniform(input, 0, 0),
            Way::Latin { keys } => {
                let points = (self.draws.runs - of).div_ceil(u64::from(REPLICATES));
                let key = self.draws.keys[keys + of as usize];
                latin::uniform(key, point, points, self.keyed.uniform(input, 0, 0))
            }
            Way::Sobol { keys, directions } => {
                let key = self.draws.keys[keys + of as usize];
                sobol::uniform(&self.draws.directions[directions], key, point)
            }
        }
    }
}

impl Luck for Variation<'_> {
    fn uniform(&self, input: usize, turn: u32, person: u32) -> f64 {
        let slot = &self.draws.slots[input];
        // What is drawn once has no turn and no person.
        if !slot.once || turn != 0 || person != 0 {
            return self.keyed.uniform(input, turn, person);
        }
        match slot.member {
            Some((group, place)) => self.draws.groups[group].uniform(place, |input| self.own(input)),
            None => self.own(input),
        }
    }

    /// The same in every design.
    fn stream(&self, path: &str) -> Option<u64> {
        self.keyed.stream(path)
    }
}

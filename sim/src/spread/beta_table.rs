//! The inverse of a beta distribution function from a table, for the half below its median.
//!
//! In each cell of p, x is the quintic that has the value, slope `1/f` and curvature `-f'/f^3` of the inverse at both ends.
//! p, x, f (density) without unit. Cells are equal parts of octaves of p: x goes as p^(1/a) towards 0, and over a factor of
//! two in p that is smooth however steep it is at 0, so the error is relative to p in every octave. The exponent and the
//! leading bits of p are the cell's index. Below the last octave the slow inverse answers; it is asked once in 2^15 draws.
//! Source: Hermite interpolation on two points with two derivatives (any numerical analysis text).
//! Every cell is checked against the distribution function when it is built, and all are halved until the check holds.
//! A table is built when it is first asked for (about 0.5 ms), and kept for the next spread of the same shape: a scenario that is
//! read again and again, for trades or at the desk, has the same few.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

use super::beta::Beta;

/// Octaves of p below a half that the table holds.
const OCTAVES: u64 = 15;
/// Cells in an octave, as a power of two: at first, and at most before the slow inverse is used throughout.
const FIRST_BITS: u32 = 4;
const MOST_BITS: u32 = 8;
/// Largest error of p, as a part of p, that a cell may show; ten times better than what draws need (1e-9).
const TOLERANCE: f64 = 1e-10;
/// Bits of a double's mantissa.
const MANTISSA_BITS: u32 = 52;
/// Tables that are kept, of 12 kB each if the coarsest will do.
const MOST_KNOWN: usize = 64;
/// Tables by their parameters' bits. A table depends on nothing else, so whoever builds it first does no other any harm.
static KNOWN: Mutex<BTreeMap<[u64; 2], Arc<Table>>> = Mutex::new(BTreeMap::new());

/// Inverse of a beta distribution function for p up to a half (and a little more, for rounding).
#[derive(Clone, Debug)]
pub(super) struct LowTable {
    beta: Beta,
    table: OnceLock<Arc<Table>>,
}

#[derive(Debug)]
struct Table {
    /// log2 of the cells in an octave.
    bits: u32,
    /// Coefficients of x in the cell's own 0..1, constant first; empty if no table passed its check.
    cells: Vec<[f64; 6]>,
}

/// The inverse at one p.
#[derive(Clone, Copy)]
struct Node {
    p: f64,
    x: f64,
    slope: f64,
    curvature: f64,
}

impl LowTable {
    pub(super) fn new(beta: Beta) -> Self {
        Self {
            beta,
            table: OnceLock::new(),
        }
    }

    /// The distribution that is inverted.
    pub(super) fn beta(&self) -> &Beta {
        &self.beta
    }

    /// Where the probability below is `p`.
    pub(super) fn at(&self, p: f64) -> f64 {
        let table = self.table.get_or_init(|| known(&self.beta));
        let shift = MANTISSA_BITS - table.bits;
        let index = (p.to_bits() >> shift).wrapping_sub(first_cell(table.bits));
        match table.cells.get(index as usize) {
            Some(cell) => {
                let inside = p.to_bits() & ((1 << shift) - 1);
                value_at(cell, inside as f64 / (1_u64 << shift) as f64)
            }
            None => self.beta.at_lower(p),
        }
    }
}

/// The table of a distribution, built if no other spread has had it.
fn known(beta: &Beta) -> Arc<Table> {
    let shape = beta.parameters().map(f64::to_bits);
    let lock = || KNOWN.lock().unwrap_or_else(PoisonError::into_inner);
    if let Some(table) = lock().get(&shape) {
        return table.clone();
    }
    let table = Arc::new(Table::new(beta));
    let mut known = lock();
    if known.len() >= MOST_KNOWN {
        known.clear();
    }
    known.insert(shape, table.clone());
    table
}

impl Table {
    fn new(beta: &Beta) -> Self {
        for bits in FIRST_BITS..=MOST_BITS {
            if let Some(cells) = checked_cells(beta, bits) {
                return Self { bits, cells };
            }
        }
        Self {
            bits: MOST_BITS,
            cells: Vec::new(),
        }
    }
}

/// The quintic of a cell at `t` in 0..1.
fn value_at(c: &[f64; 6], t: f64) -> f64 {
    c[0] + t * (c[1] + t * (c[2] + t * (c[3] + t * (c[4] + t * c[5]))))
}

/// The index, counted from p = 0, of the first cell kept.
fn first_cell(bits: u32) -> u64 {
    // 2^-(OCTAVES + 1): a half is the start of one cell more.
    (1023 - OCTAVES - 1) << bits
}

/// The cells at this fineness, or none if one of them misses the distribution function.
fn checked_cells(beta: &Beta, bits: u32) -> Option<Vec<[f64; 6]>> {
    let count = (OCTAVES << bits) + 1;
    let start_of = |cell: u64| f64::from_bits((first_cell(bits) + cell) << (MANTISSA_BITS - bits));
    let first = start_of(0);
    let mut before = node(beta, first, beta.at_lower(first));
    let mut cells = Vec::with_capacity(count as usize);
    for cell in 1..=count {
        let p = start_of(cell);
        let h = p - before.p;
        let guess = before.x + h * (before.slope + 0.5 * h * before.curvature);
        let after = node(beta, p, beta.at_lower_from(p, guess));
        let c = quintic(&before, &after);
        for t in [0.25, 0.5, 0.75] {
            let wanted = before.p + t * h;
            if (beta.lower(value_at(&c, t)) - wanted).abs() > TOLERANCE * wanted {
                return None;
            }
        }
        cells.push(c);
        before = after;
    }
    Some(cells)
}

fn node(beta: &Beta, p: f64, x: f64) -> Node {
    let slope = 1.0 / beta.density(x);
    Node {
        p,
        x,
        slope,
        curvature: -beta.slope_over_density(x) * slope * slope,
    }
}

fn quintic(from: &Node, to: &Node) -> [f64; 6] {
    let h = to.p - from.p;
    let rise = to.x - from.x;
    let (d0, d1) = (h * from.slope, h * to.slope);
    let (s0, s1) = (h * h * from.curvature, h * h * to.curvature);
    [
        from.x,
        d0,
        0.5 * s0,
        10.0 * rise - 6.0 * d0 - 4.0 * d1 - 1.5 * s0 + 0.5 * s1,
        -15.0 * rise + 8.0 * d0 + 7.0 * d1 + 1.5 * s0 - s1,
        6.0 * rise - 3.0 * d0 - 3.0 * d1 - 0.5 * s0 + 0.5 * s1,
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_shape_gets_a_table_that_meets_the_function() {
        for hundredth in (100..=500).step_by(5) {
            let a = f64::from(hundredth) / 100.0;
            let table = LowTable::new(Beta::new(a, 6.0 - a));
            assert!(!Table::new(&table.beta).cells.is_empty(), "{a}");
            // Off the points that the construction checks.
            for step in 0..2000 {
                let p = 0.5 * libm::pow(10.0, -f64::from(step) * 0.0077);
                let again = table.beta.lower(table.at(p));
                assert!(
                    (again / p - 1.0).abs() < 2.0 * TOLERANCE,
                    "{a} {p}: {}",
                    again / p - 1.0
                );
            }
        }
    }

    #[test]
    fn a_table_is_built_once_and_those_kept_are_few() {
        let of = |a: f64| known(&Beta::new(a, 6.0 - a));
        let first = of(1.75);
        // Another test may be emptying what is kept, but not every time.
        assert!(
            (0..1_000).any(|_| Arc::ptr_eq(&of(1.75), &of(1.75))),
            "built anew each time"
        );
        assert_eq!(first.cells, of(1.75).cells);
        assert_ne!(first.cells, of(4.25).cells, "the parameters are not interchangeable");
        for k in 0..2 * MOST_KNOWN {
            of(1.0 + k as f64 / MOST_KNOWN as f64);
            assert!(KNOWN.lock().expect("not poisoned").len() <= MOST_KNOWN);
        }
    }

    #[test]
    fn the_whole_range_of_doubles_is_answered() {
        let table = LowTable::new(Beta::new(2.0, 4.0));
        for p in [f64::MIN_POSITIVE, 1e-300, 1e-16, 2e-5, 0.5, 0.5 + 1e-16] {
            let x = table.at(p);
            assert!(x > 0.0 && x < 1.0, "{p}: {x}");
        }
    }
}

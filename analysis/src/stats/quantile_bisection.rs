//! Where along the numbers a condition turns, to the last bit.
//!
//! Equation: bisection over the 2^64 bit patterns in the order of the numbers they stand for.
//! Symbols: numbers in any unit.
//! Source: the order of IEEE 754 numbers is that of their bits.
//! Valid for a condition that turns once; of several turns one is found, at which the condition does turn.
//! Left out: NaN, which is never asked.

/// The last number for which `holds`, true before its turn; `None` if not even for minus infinity.
pub(super) fn last(holds: impl Fn(f64) -> bool) -> Option<f64> {
    if !holds(f64::NEG_INFINITY) {
        return None;
    }
    if holds(f64::INFINITY) {
        return Some(f64::INFINITY);
    }
    Some(number(turn(|place| holds(number(place)))))
}

/// The first number for which `holds`, true after its turn; `None` if not even for plus infinity.
pub(super) fn first(holds: impl Fn(f64) -> bool) -> Option<f64> {
    if !holds(f64::INFINITY) {
        return None;
    }
    if holds(f64::NEG_INFINITY) {
        return Some(f64::NEG_INFINITY);
    }
    Some(number(turn(|place| !holds(number(place))) + 1))
}

/// The last place for which `before` holds, between the infinities.
fn turn(before: impl Fn(i64) -> bool) -> i64 {
    let (mut low, mut high) = (place(f64::NEG_INFINITY), place(f64::INFINITY));
    while high - 1 > low {
        // Halves first: the difference of the two may not fit.
        let middle = (low >> 1) + (high >> 1) + (low & high & 1);
        if before(middle) {
            low = middle;
        } else {
            high = middle;
        }
    }
    low
}

fn place(x: f64) -> i64 {
    flip(x.to_bits() as i64)
}

fn number(place: i64) -> f64 {
    f64::from_bits(flip(place) as u64)
}

/// Turns the order of negative numbers round; its own inverse.
fn flip(bits: i64) -> i64 {
    bits ^ (((bits >> 63) as u64) >> 1) as i64
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_finds_the_turn_to_the_bit() {
        for x in [-1e300, -2.5, -5e-324, 0.0, 5e-324, 0.1, 7.0, f64::MAX, f64::MIN] {
            assert_eq!(last(|y| y <= x), Some(x));
            assert_eq!(first(|y| y >= x), Some(x));
        }
        for x in [f64::NEG_INFINITY, f64::INFINITY] {
            assert_eq!(last(|y| y <= x), Some(x));
            assert_eq!(first(|y| y >= x), Some(x));
        }
        assert_eq!((last(|_| false), first(|_| false)), (None, None));
    }
}

//! Where along the numbers a condition turns, to the last bit.
//!
//! Equation: bisection over the 2^64 bit patterns in the order of the numbers they stand for.
//! Symbols: numbers in any unit.
//! Source: the order of IEEE 754 numbers is that of their bits.
//! Valid for a condition that turns once; of several turns one is found, at which the condition does turn.
//! Left out: NaN, which is never asked.

/// The last number whose `key` passes `holds`, which is true before its turn; `None` if not even minus infinity does.
/// Keys stay the same between values, and equal ones are asked once.
pub(super) fn last<K: PartialEq>(key: impl Fn(f64) -> K, holds: impl Fn(&K) -> bool) -> Option<f64> {
    let ends = [f64::NEG_INFINITY, f64::INFINITY].map(|end| (place(end), key(end)));
    if !holds(&ends[0].1) {
        return None;
    }
    if holds(&ends[1].1) {
        return Some(f64::INFINITY);
    }
    Some(number(turn(ends, key, holds)))
}

/// The first number whose `key` passes `holds`, which is true after its turn; `None` if not even plus infinity does.
pub(super) fn first<K: PartialEq>(key: impl Fn(f64) -> K, holds: impl Fn(&K) -> bool) -> Option<f64> {
    let ends = [f64::NEG_INFINITY, f64::INFINITY].map(|end| (place(end), key(end)));
    if !holds(&ends[1].1) {
        return None;
    }
    if holds(&ends[0].1) {
        return Some(f64::NEG_INFINITY);
    }
    Some(number(turn(ends, key, |key| !holds(key)) + 1))
}

/// The last place whose key passes `before`, as the low end does and the high end does not.
fn turn<K: PartialEq>([mut low, mut high]: [(i64, K); 2], key: impl Fn(f64) -> K, before: impl Fn(&K) -> bool) -> i64 {
    while high.0 - 1 > low.0 {
        // Halves first: the difference of the two may not fit.
        let middle = (low.0 >> 1) + (high.0 >> 1) + (low.0 & high.0 & 1);
        let key = key(number(middle));
        if key == low.1 || (key != high.1 && before(&key)) {
            low = (middle, key);
        } else {
            high = (middle, key);
        }
    }
    low.0
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
            assert_eq!(last(|y| y, |&y| y <= x), Some(x));
            assert_eq!(first(|y| y, |&y| y >= x), Some(x));
        }
        // Keys that stay the same over wide ranges.
        let below = |y: f64| [-3.0, 0.5, 0.75, 8.0].into_iter().filter(|&value| value < y).count();
        assert_eq!(last(below, |&count| count <= 1), Some(0.5));
        assert_eq!(first(below, |&count| count >= 3), Some(0.75_f64.next_up()));
        for x in [f64::NEG_INFINITY, f64::INFINITY] {
            assert_eq!(last(|y| y, |&y| y <= x), Some(x));
            assert_eq!(first(|y| y, |&y| y >= x), Some(x));
        }
        assert_eq!((last(|y| y, |_| false), first(|y| y, |_| false)), (None, None));
    }
}

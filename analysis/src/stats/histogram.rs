//! How values are spread, as counts in even bins.
//!
//! Equation: bins [k w, (k + 1) w) with w the smallest of 1, 2 and 5 times a power of ten that needs no more than [`MOST`] bins; the count
//! of a bin is the number of values below its end less that below its start.
//! Symbols: in the unit of the values; Source: none needed. Valid for any values; 0 is the edge of a bin, so what is
//! beyond a limit is never in one bin with what is not. Of sketches counts are moved by up to their own error.
//! Left out: values that are not finite.

use super::sample::Sample;

/// Most bins.
pub const MOST: usize = 40;

/// A bin with how many values it has.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bin {
    /// From, with it.
    pub from: f64,
    /// To, without it.
    pub to: f64,
    /// Values in it.
    pub count: u64,
}

/// Bins of all samples together, from the first to the last that has a value.
#[must_use]
pub fn histogram(samples: &[Sample]) -> Vec<Bin> {
    let ends = samples.iter().filter_map(finite_ends);
    let Some([lo, hi]) = ends.reduce(|a, b| [a[0].min(b[0]), a[1].max(b[1])]) else {
        return Vec::new();
    };
    // Values that differ by less than rounding does are one value.
    let span = (hi - lo)
        .max(1e-9 * hi.abs().max(lo.abs()))
        .max(f64::MIN_POSITIVE * 1e20);
    let rough = span / (MOST - 2) as f64;
    let power = libm::pow(10.0, libm::floor(libm::log10(rough)));
    let step = [1.0, 2.0, 5.0]
        .into_iter()
        .map(|k| k * power)
        .find(|&step| step >= rough);
    let width = step.unwrap_or(10.0 * power);
    let (first, last) = (libm::floor(lo / width), libm::floor(hi / width));
    let mut bins = Vec::new();
    let mut k = first;
    while k <= last {
        let (from, to) = (k * width, (k + 1.0) * width);
        let inside = |sample: &Sample| sample.below(to).saturating_sub(sample.below(from));
        bins.push(Bin {
            from,
            to,
            count: samples.iter().map(inside).sum(),
        });
        k += 1.0;
    }
    bins
}

/// The smallest and the largest finite value.
fn finite_ends(sample: &Sample) -> Option<[f64; 2]> {
    let first = sample.up_to(f64::NEG_INFINITY) + 1;
    let last = sample.below(f64::INFINITY);
    (first <= last).then(|| [sample.order_statistic(first), sample.order_statistic(last)])
}

#[cfg(test)]
mod tests {
    use super::super::sample::Gathering;
    use super::*;

    #[test]
    fn every_finite_value_is_in_one_bin_and_nought_is_an_edge() {
        let mut values: Vec<f64> = (0..1000).map(|i| -0.313 + 0.001 * f64::from(i)).collect();
        values.extend([f64::NEG_INFINITY, f64::INFINITY]);
        let bins = histogram(&[Sample::exact(values.clone()), Sample::exact(vec![0.5])]);
        assert_eq!(bins.iter().map(|bin| bin.count).sum::<u64>(), 1001);
        assert!(bins.len() <= MOST && bins.len() >= MOST / 3, "{}", bins.len());
        let below: u64 = bins.iter().filter(|bin| bin.to <= 1e-12).map(|bin| bin.count).sum();
        assert_eq!(below, 313);
        assert!(bins.windows(2).all(|pair| pair[0].to == pair[1].from));
    }

    #[test]
    fn one_value_no_value_and_a_sketch() {
        let one = histogram(&[Sample::exact(vec![3.0; 7])]);
        assert_eq!(one.iter().map(|bin| bin.count).sum::<u64>(), 7);
        assert!(one.len() <= 2 && one[0].from <= 3.0);
        assert!(histogram(&[Sample::exact(vec![f64::INFINITY])]).is_empty());
        assert!(histogram(&[]).is_empty());
        assert_eq!(histogram(&[Sample::exact(vec![0.0; 3])])[0].count, 3);
        let mut sketch = Gathering::new(false);
        (0..5_000).for_each(|i| sketch.add(-1.0 + 0.001 * f64::from(i)));
        let bins = histogram(&[sketch.into_sample()]);
        assert_eq!(bins.iter().map(|bin| bin.count).sum::<u64>(), 5_000);
    }
}

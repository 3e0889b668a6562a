//! What lies far from the rest, by medians, which it does not move itself.
//!
//! Equation: `z = 0.6745 (y - m) / MAD`, `y = ln x`, `m` median of y, `MAD` median of |y - m|; far is |z| above 3.5.
//! Source: Iglewicz and Hoaglin 1993, How to Detect and Handle Outliers, ASQC (from memory). Valid for five values and more of which
//! not half are the same. It is shown and never left out unasked: a slow trial is what a timeline has to bear.

/// What counts as far.
pub const FAR: f64 = 3.5;
/// Quartile of the standard normal, which makes MAD a standard deviation.
const QUARTILE: f64 = 0.6745;

/// Of each value its distance from the median of all, in robust standard deviations of the logarithm; none where that has no meaning.
#[must_use]
pub fn robust_distances(values: &[f64]) -> Vec<Option<f64>> {
    let logs: Vec<f64> = values.iter().map(|&x| libm::log(x)).collect();
    let middle = median(&logs);
    let distances: Vec<f64> = logs.iter().map(|y| (y - middle).abs()).collect();
    let mad = median(&distances);
    if values.len() < 5 || mad.is_nan() || mad <= 0.0 {
        return vec![None; values.len()];
    }
    logs.iter().map(|y| Some(QUARTILE * (y - middle) / mad)).collect()
}

fn median(values: &[f64]) -> f64 {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    match sorted.len() {
        0 => f64::NAN,
        n if n % 2 == 1 => sorted[n / 2],
        n => 0.5 * (sorted[n / 2 - 1] + sorted[n / 2]),
    }
}

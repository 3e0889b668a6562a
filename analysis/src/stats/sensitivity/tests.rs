//! Against functions whose indices are known in closed form.

use std::f64::consts::PI;

use breathroom_sim::scenario::Luck;

use super::*;
use crate::chance::Streams;

/// The columns of a design of `rows` rows of a function of `factors` uniforms.
fn design(seed: u64, rows: usize, factors: usize, f: &dyn Fn(&[f64]) -> f64) -> Vec<Vec<f64>> {
    let paths: Vec<String> = (0..factors).map(|i| format!("x{i}")).collect();
    let streams = Streams::new(seed, &paths);
    let mut columns = vec![Vec::with_capacity(rows); factors + 2];
    for j in 0..rows as u64 {
        let [a, b] = [2 * j, 2 * j + 1].map(|k| -> Vec<f64> {
            let luck = streams.variation(k);
            (0..factors).map(|i| luck.uniform(i, 0, 0)).collect()
        });
        columns[0].push(f(&a));
        columns[1].push(f(&b));
        for i in 0..factors {
            let mut mixed = a.clone();
            mixed[i] = b[i];
            columns[i + 2].push(f(&mixed));
        }
    }
    columns
}

fn of(columns: &[Vec<f64>]) -> Sensitivity {
    let swapped: Vec<&[f64]> = columns[2..].iter().map(Vec::as_slice).collect();
    sensitivity(&columns[0], &columns[1], &swapped)
}

/// sin x1 + 7 sin^2 x2 + 0.1 x3^4 sin x1, each x uniform between -pi and pi.
fn ishigami(u: &[f64]) -> f64 {
    let [x1, x2, x3] = [u[0], u[1], u[2]].map(|u| PI * (2.0 * u - 1.0));
    x1.sin() + 7.0 * x2.sin().powi(2) + 0.1 * x3.powi(4) * x1.sin()
}

/// Ishigami and Homma (1990), analytic: V1 = (1 + b pi^4 / 5)^2 / 2, V2 = a^2 / 8, V13 = b^2 pi^8 (1/18 - 1/50).
fn ishigami_indices() -> [[f64; 3]; 2] {
    let (a, b) = (7.0_f64, 0.1);
    let v1 = 0.5 * (1.0 + b * PI.powi(4) / 5.0).powi(2);
    let (v2, v13) = (a * a / 8.0, b * b * PI.powi(8) * (1.0 / 18.0 - 1.0 / 50.0));
    let v = v1 + v2 + v13;
    [[v1 / v, v2 / v, 0.0], [(v1 + v13) / v, v2 / v, v13 / v]]
}

/// Sobol's g-function: the product of (|4 u - 2| + a) / (1 + a).
fn g_function(u: &[f64]) -> f64 {
    let factor = |(u, a): (&f64, &f64)| ((4.0 * u - 2.0).abs() + a) / (1.0 + a);
    u.iter().zip(&G).map(factor).product()
}

const G: [f64; 8] = [0.0, 1.0, 4.5, 9.0, 99.0, 99.0, 99.0, 99.0];

#[test]
fn ishigami_and_homma_within_0_02() {
    let [first, total] = ishigami_indices();
    // As printed: 0.3139, 0.4424, 0; 0.5576, 0.4424, 0.2437.
    assert!((first[0] - 0.3139).abs() < 5e-5 && (total[2] - 0.2437).abs() < 5e-5);
    let found = of(&design(1, 1 << 14, 3, &ishigami));
    assert_eq!((found.rows, found.left_out), (1 << 14, 0));
    for (i, of) in found.factors.expect("it varies").iter().enumerate() {
        assert!((of.first.value - first[i]).abs() < 0.02, "{i}: {of:?}");
        assert!((of.total.value - total[i]).abs() < 0.02, "{i}: {of:?}");
    }
}

/// Analytic: V_i = 1 / (3 (1 + a_i)^2), V the product of (1 + V_i) less 1; S_i = V_i / V, T_i = V_i / (1 + V_i) (1 + V) / V.
#[test]
fn sobols_g_function() {
    let first = [0.716_192, 0.179_048, 0.023_676, 0.007_162];
    let total = [0.787_144, 0.242_198, 0.034_317, 0.010_460];
    let found = of(&design(1, 1 << 14, 8, &g_function)).factors.expect("it varies");
    for (i, of) in found.iter().take(4).enumerate() {
        assert!((of.first.value - first[i]).abs() < 0.02, "{i}: {of:?}");
        assert!((of.total.value - total[i]).abs() < 0.02, "{i}: {of:?}");
        // Half of the interval is two standard errors: three of them.
        for (of, truth) in [(of.first, first[i]), (of.total, total[i])] {
            assert!(
                (of.value - truth).abs() < 0.75 * (of.interval_95[1] - of.interval_95[0]),
                "{i}"
            );
        }
    }
    // V_i / V = 7.16e-5: too small to matter, and seen to be.
    assert!(
        found[4..]
            .iter()
            .all(|of| of.total.value < 0.001 && of.first.value.abs() < 0.001)
    );
}

/// Intervals cover the truth in about 95 of 100 repetitions: 2,000 of them, of 256 and 512 rows.
#[test]
fn the_intervals_cover() {
    let (repetitions, [first, total]) = (2_000, ishigami_indices());
    for rows in [256, 512] {
        let mut covered = [[0_u32; 3]; 2];
        for seed in 0..repetitions {
            let found = of(&design(seed, rows, 3, &ishigami)).factors.expect("it varies");
            for (i, of) in found.iter().enumerate() {
                for (kind, of, truth) in [(0, of.first, first[i]), (1, of.total, total[i])] {
                    let [low, high] = of.interval_95;
                    covered[kind][i] += u32::from(low <= truth && truth <= high);
                }
            }
        }
        // The count of 2,000 tosses at 0.95 has a standard deviation of 0.005.
        for share in covered
            .as_flattened()
            .iter()
            .map(|&n| f64::from(n) / repetitions as f64)
        {
            assert!((0.93..0.97).contains(&share), "{rows} rows: {covered:?}");
        }
    }
}

#[test]
fn nothing_and_everything_are_exact() {
    // The second does nothing. Up to rounding.
    let found = of(&design(3, 1_000, 2, &|u| u[0])).factors.expect("it varies");
    for (factor, truth) in [(0, 1.0), (1, 0.0)] {
        for of in [found[factor].first, found[factor].total] {
            for number in [of.value, of.interval_95[0], of.interval_95[1]] {
                assert!((number - truth).abs() < 1e-12, "{factor}: {of:?}");
            }
        }
    }
}

#[test]
fn unit_and_zero_of_the_quantity_do_not_matter() {
    let columns = design(4, 500, 3, &ishigami);
    let other: Vec<Vec<f64>> = columns
        .iter()
        .map(|column| column.iter().map(|y| 1e5 - 1e3 * y).collect())
        .collect();
    let (one, two) = (
        of(&columns).factors.expect("varies"),
        of(&other).factors.expect("varies"),
    );
    for (one, two) in one.iter().zip(&two) {
        assert!((one.first.value - two.first.value).abs() < 1e-9);
        assert!((one.total.interval_95[1] - two.total.interval_95[1]).abs() < 1e-9);
    }
}

#[test]
fn rows_with_an_infinity_are_left_out_whole() {
    let mut columns = design(5, 400, 3, &ishigami);
    let kept: Vec<Vec<f64>> = columns.iter().map(|column| column[3..].to_vec()).collect();
    columns[0][0] = f64::NEG_INFINITY;
    columns[1][1] = f64::INFINITY;
    columns[4][2] = f64::NAN;
    let (found, expected) = (of(&columns), of(&kept));
    assert_eq!((found.rows, found.left_out), (397, 3));
    assert_eq!(found.factors, expected.factors);
}

#[test]
fn where_nothing_varies_or_little_is_known_nothing_is_said() {
    assert_eq!(of(&design(6, 200, 2, &|_| 0.1)).factors, None);
    assert_eq!(
        of(&design(6, 200, 2, &|u| 0.1 + 1e-15 * u[0])).factors,
        None,
        "rounding"
    );
    assert_eq!(of(&design(6, LEAST_ROWS - 1, 2, &|u| u[0])).factors, None);
    assert!(of(&design(6, LEAST_ROWS, 2, &|u| u[0])).factors.is_some());
    let failed = of(&design(6, 100, 2, &|_| f64::NEG_INFINITY));
    assert_eq!((failed.rows, failed.left_out, failed.factors), (0, 100, None));
    assert_eq!(sensitivity(&[], &[], &[]).rows, 0);
}

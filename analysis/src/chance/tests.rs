//! Tests of the draws by design.

use breathroom_sim::scenario::Luck;

use super::*;

const PATHS: [&str; 6] = [
    "removal.scrubber.flow",
    "compartments.cabin.free_volume",
    "crew.lead.mass",
    "tasks.don.duration",
    "air.co2",
    "air.humidity",
];

/// The fourth is drawn in every turn.
fn inputs() -> Vec<InputKey<'static>> {
    PATHS
        .iter()
        .map(|&path| InputKey {
            path,
            once: !path.starts_with("tasks"),
        })
        .collect()
}

fn draws(seed: u64, design: Design, runs: u64) -> Draws {
    Draws::new(seed, design, runs, &inputs(), &[]).unwrap()
}

fn is_luck(_: impl Luck + Copy) {}

#[test]
fn a_plain_design_has_the_bits_of_the_streams() {
    let (draws, streams) = (draws(9, Design::Plain, 5), Streams::new(9, &PATHS));
    is_luck(draws.variation(0));
    for k in [0, 1, 17, u64::MAX] {
        for (turn, person) in [(0, 0), (1, 0), (2, 3)] {
            for input in 0..PATHS.len() {
                assert_eq!(
                    draws.variation(k).uniform(input, turn, person).to_bits(),
                    streams.variation(k).uniform(input, turn, person).to_bits()
                );
            }
        }
    }
    assert_eq!(draws.dimensions(), [None; 6]);
    assert_eq!((draws.replicates(), draws.replicate_of(17)), (1, 0));
}

#[test]
fn turns_take_the_plain_draws_in_every_design() {
    let streams = Streams::new(9, &PATHS);
    for design in Design::ALL {
        let draws = draws(9, design, 40);
        for (k, turn, person) in [(0, 1, 0), (33, 2, 5)] {
            let u = draws.variation(k).uniform(3, turn, person);
            assert_eq!(u.to_bits(), streams.variation(k).uniform(3, turn, person).to_bits());
        }
    }
}

/// Each of 1,000 runs: 62 or 63 to a replicate, one in each of its strata, for every input drawn once.
#[test]
fn each_stratum_of_a_latin_hypercube_holds_one_draw() {
    for runs in [32, 33, 1_000] {
        let draws = draws(2, Design::LatinHypercube, runs);
        for input in [0, 1, 2, 4, 5] {
            for replicate in 0..16 {
                let of: Vec<u64> = (0..runs).filter(|&k| draws.replicate_of(k) == replicate).collect();
                assert!((runs / 16..=runs.div_ceil(16)).contains(&(of.len() as u64)));
                let mut seen = vec![false; of.len()];
                for &k in &of {
                    let stratum = draws.variation(k).uniform(input, 0, 0) * of.len() as f64;
                    assert!(!std::mem::replace(&mut seen[stratum as usize], true), "{runs} {input}");
                }
            }
        }
    }
}

#[test]
fn each_stratum_of_a_sobol_replicate_holds_one_draw() {
    let draws = draws(2, Design::Sobol, 16 * 64);
    assert_eq!(draws.dimensions(), [Some(1), Some(2), Some(3), None, Some(4), Some(5)]);
    for input in [0, 1, 2, 4, 5] {
        for replicate in 0..16 {
            let mut seen = [false; 64];
            for i in 0..64 {
                let u = draws.variation(16 * i + replicate).uniform(input, 0, 0);
                assert!(!std::mem::replace(&mut seen[(u * 64.0) as usize], true), "{input}");
            }
        }
    }
}

/// Removing an input, or having it in another order, leaves the others' draws as they were; for Sobol under one table.
#[test]
fn other_inputs_change_no_draw() {
    let fewer = [inputs()[4], inputs()[0]];
    let table = Dimensions::of(&inputs());
    for design in Design::ALL {
        let all = draws(7, design, 100);
        let some = Draws::with_dimensions(7, design, 100, &fewer, &[], &table).unwrap();
        for k in 0..100 {
            let (all, some) = (all.variation(k), some.variation(k));
            assert_eq!(all.uniform(4, 0, 0).to_bits(), some.uniform(0, 0, 0).to_bits());
            assert_eq!(all.uniform(0, 0, 0).to_bits(), some.uniform(1, 0, 0).to_bits());
        }
    }
    assert_eq!(
        Draws::new(7, Design::Sobol, 100, &fewer, &[]).unwrap().dimensions(),
        [Some(1), Some(2)]
    );
}

#[test]
fn sobol_runs_can_be_extended() {
    let (few, many) = (draws(3, Design::Sobol, 100), draws(3, Design::Sobol, 5_000));
    for k in 0..100 {
        let u = few.variation(k).uniform(1, 0, 0);
        assert_eq!(u.to_bits(), many.variation(k).uniform(1, 0, 0).to_bits());
    }
}

#[test]
fn what_cannot_be_is_refused() {
    for design in [Design::LatinHypercube, Design::Sobol] {
        let error = Draws::new(1, design, 31, &inputs(), &[]).unwrap_err();
        assert_eq!(error, DesignError::TooFewRuns { design, runs: 31 });
    }
    let pair = |a, b| Group::new(&[a, b], &[vec![1.0, 0.5], vec![0.5, 1.0]]).unwrap();
    let of = |groups: &[Group]| Draws::new(1, Design::Plain, 1, &inputs(), groups).map(|_| ());
    let path = PATHS[3].to_owned();
    assert_eq!(of(&[pair(0, 3)]), Err(DesignError::PerTurn { path }));
    let path = PATHS[0].to_owned();
    assert_eq!(of(&[pair(0, 1), pair(2, 0)]), Err(DesignError::Twice { path }));
    assert_eq!(of(&[pair(0, 1), pair(2, 5)]), Ok(()));
}

/// Largest gap between the values and U(0, 1) (Kolmogorov-Smirnov), times the root of their number: above 1.95 by chance
/// once in 1,000 (Smirnov 1948).
fn smirnov(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    let n = values.len() as f64;
    let gap = values.iter().enumerate().fold(0.0_f64, |gap, (i, &u)| {
        gap.max((u - i as f64 / n).abs()).max((u - (i + 1) as f64 / n).abs())
    });
    gap * n.sqrt()
}

/// Of one and the same variation, over the seeds; and replicates know nothing of each other, nor inputs.
#[test]
fn each_draw_is_uniform_and_replicates_are_independent() {
    let seeds = 4_000_u64;
    for design in [Design::LatinHypercube, Design::Sobol] {
        let mut columns = [const { Vec::new() }; 4];
        for seed in 0..seeds {
            let draws = draws(seed, design, 160);
            // The same point of two replicates, of another input, and another point of the first.
            let of = [(80, 0), (81, 0), (80, 4), (96, 0)].map(|(k, input)| draws.variation(k).uniform(input, 0, 0));
            for (column, u) in columns.iter_mut().zip(of) {
                column.push(u);
            }
        }
        for column in &columns {
            let gap = smirnov(column.clone());
            assert!(gap < 1.95, "{design:?}: {gap}");
        }
        for other in [1, 2] {
            let r = crate::stats::rank::spearman(&columns[0], &columns[other]);
            // Standard deviation 1 / sqrt(n).
            assert!(r.abs() < 4.0 / (seeds as f64).sqrt(), "{design:?} {other}: {r}");
        }
    }
}

/// The mean of U(0, 1) over a Latin hypercube of n has the variance 1 / (12 n^3) (McKay, Beckman and Conover 1979).
#[test]
fn the_mean_of_a_latin_hypercube_has_the_variance_that_is_known() {
    let (runs, seeds) = (160_u64, 400_u64);
    let n = 10.0;
    let mut square = 0.0;
    for seed in 0..seeds {
        let draws = draws(seed, Design::LatinHypercube, runs);
        for replicate in 0..16 {
            let of = (0..runs).filter(|k| k % 16 == replicate);
            let mean: f64 = of.map(|k| draws.variation(k).uniform(2, 0, 0)).sum::<f64>() / n;
            square += (mean - 0.5).powi(2);
        }
    }
    // 6,400 means, nearly normal: the variance found has the relative standard deviation sqrt(2 / 6,400) = 0.018.
    let ratio = square / (16 * seeds) as f64 * 12.0 * n * n * n;
    assert!((ratio - 1.0).abs() < 4.0 * 0.018, "{ratio}");
}

/// Mean over five inputs of the product of (1 + (u - 1/2)), which is 1: smooth, and not a sum of parts.
#[test]
fn a_smooth_mean_is_closer_than_with_plain_draws() {
    let (runs, seeds) = (1_024_u64, 20_u64);
    let error = |design| {
        let square: f64 = (0..seeds)
            .map(|seed| {
                let draws = draws(seed, design, runs);
                let value = |k| {
                    let luck = draws.variation(k);
                    [0, 1, 2, 4, 5]
                        .iter()
                        .fold(1.0, |f, &i| f * (0.5 + luck.uniform(i, 0, 0)))
                };
                (((0..runs).map(value).sum::<f64>()) / runs as f64 - 1.0).powi(2)
            })
            .sum();
        (square / seeds as f64).sqrt()
    };
    let [plain, latin, sobol] = Design::ALL.map(error);
    // By the parts of variance: 13/12 to the fifth less 1 is 0.492, so plain 0.0219; Latin hypercubes keep what is not a sum,
    // 0.492 - 5/12 = 0.075: 0.0086. Twenty seeds tell these to 16 % each.
    assert!((plain / 0.0219 - 1.0).abs() < 0.5, "{plain}");
    assert!((latin / 0.0086 - 1.0).abs() < 0.5, "{latin}");
    assert!(sobol < 0.5 * latin, "{sobol} {latin}");
}

/// Pins the designs: a change of any bit here changes every result ever made with a seed and a design. The values were also
/// computed from the module headers alone in another language (integers of any size in Python; the Latin hypercube's
/// division in its 64-bit floats).
#[test]
fn the_draws_are_these() {
    let bits = |design, k, input| draws(1, design, 1_000).variation(k).uniform(input, 0, 0).to_bits();
    let of = |design| [(0, 0), (1, 0), (517, 1), (999, 5)].map(|(k, input)| bits(design, k, input));
    let latin = of(Design::LatinHypercube);
    assert_eq!(
        latin,
        [
            0x3fe6_0659_3e4d_6233,
            0x3feb_7175_d965_1a6b,
            0x3fc3_abb3_b1d4_bd39,
            0x3fc0_5fb6_33b5_09b5
        ],
        "{latin:#x?}"
    );
    let sobol = of(Design::Sobol);
    assert_eq!(
        sobol,
        [
            0x3fea_75f1_2b4b_4d29,
            0x3fd6_d735_1674_85f6,
            0x3fd4_84ed_55f9_1c7a,
            0x3fe0_c68d_93b8_7ce7
        ],
        "{sobol:#x?}"
    );
}

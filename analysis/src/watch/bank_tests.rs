//! Tests of the bank of fault models.

use super::*;
use crate::watch::noise::Normals;

/// Two faults: one lifts the first instrument, one ramps both; onsets every 20 rows.
fn bank() -> Bank {
    let mut signatures = Vec::new();
    for mode in 0..2 {
        for onset in (0..100).step_by(20) {
            let after = |row: usize| row.checked_sub(onset).map_or(0.0, |row| row as f64);
            let rows: Rows = (0..2)
                .map(|i| {
                    (0..200)
                        .map(|row| match (mode, i) {
                            _ if row < onset => 0.0,
                            (0, 0) => 1.0,
                            (0, _) => 0.0,
                            _ => 0.02 * after(row),
                        })
                        .collect()
                })
                .collect();
            signatures.push(Bank::signature(mode, onset, &rows));
        }
    }
    Bank::new(vec![false, true], signatures, 2, 60.0)
}

fn noise(run: u64, add: &dyn Fn(usize, usize) -> f64) -> Rows {
    let mut normals = Normals::new(4, "bank", run);
    (0..2)
        .map(|i| (0..200).map(|row| normals.draw() + add(i, row)).collect())
        .collect()
}

#[test]
fn it_names_the_fault_that_is_there_and_is_quiet_without() {
    let bank = bank();
    let lift = |i: usize, row: usize| if i == 0 && row >= 65 { 1.0 } else { 0.0 };
    let ramp = |_: usize, row: usize| if row >= 45 { -0.02 * (row - 45) as f64 } else { 0.0 };
    let mut right = [0; 2];
    for run in 0..40 {
        for (mode, add) in [(0, &lift as &dyn Fn(usize, usize) -> f64), (1, &ramp)] {
            let z = noise(run, add);
            let said = bank.say(&z);
            right[mode] += usize::from(usize::from(said.named[199]) == mode && said.statistic[199] > 3.0);
            let last = bank.posterior(&z, 200);
            assert!((last.iter().sum::<f64>() - 1.0).abs() < 1e-12);
            assert!((last[usize::from(said.named[199])] - f64::from(said.probability[199])).abs() < 1e-6);
        }
    }
    assert!(right.iter().all(|right| *right >= 38), "{right:?}");
    // Of independent residuals the mean likelihood ratio is 1, so it exceeds e^3 in at most 5 % of runs (Markov).
    let loud = (100..300)
        .filter(|&run| bank.say(&noise(run, &|_, _| 0.0)).statistic[199] > 3.0)
        .count();
    assert!(loud <= 18, "{loud}");
}

/// One signature, no excess: the statistic against the integral over the severity by quadrature.
#[test]
fn the_ratio_is_the_integral_over_the_severity() {
    let rows: Rows = vec![vec![1.5; 10]];
    let signature = Bank::signature(0, 0, &rows);
    let z = vec![(0..10).map(|row| 0.3 * f64::from(row) - 1.0).collect::<Vec<f64>>()];
    for both in [false, true] {
        let bank = Bank::new(vec![both], vec![signature.clone()], 1, 60.0);
        let (mut sum, d) = (0.0, 1e-4_f64);
        let from = if both { -60_000 } else { 0 };
        for k in from..60_000 {
            let a = (f64::from(k) + 0.5) * d;
            let fit: f64 = z[0].iter().map(|z| z * 1.5 * a - 0.5 * (1.5 * a) * (1.5 * a)).sum();
            let prior = libm::exp(-0.5 * (a / SEVERITY).powi(2)) / (SEVERITY * (2.0 * std::f64::consts::PI).sqrt());
            sum += d * prior * if both { 1.0 } else { 2.0 } * libm::exp(fit);
        }
        let mut sums = [[0.0; 2]];
        for row in 0..10 {
            add(&mut sums, &[1.5], &z, row);
        }
        let said = bank.ratio(&signature, &sums, 10);
        assert!(
            (said - libm::log(sum)).abs() < 1e-8,
            "{both}: {said} {}",
            libm::log(sum)
        );
    }
}

/// A step that is all in one innovation is found wherever it lies, with its mode.
#[test]
fn what_shows_at_once_is_found_between_the_onsets_of_the_bank() {
    let spike = |mode: usize, onset: usize| {
        let rows: Rows = (0..2)
            .map(|i| {
                (0..200)
                    .map(|row| if row == onset && i == mode { 8.0 } else { 0.0 })
                    .collect()
            })
            .collect();
        Bank::signature(mode, onset, &rows)
    };
    let signatures = (0..2)
        .flat_map(|mode| (0..4).map(move |j| spike(mode, 50 * j)))
        .collect();
    let bank = Bank::new(vec![true, true], signatures, 2, 60.0);
    assert_eq!(bank.sharp.len(), 2);
    let z = noise(3, &|i, row| if i == 1 && row == 127 { 7.0 } else { 0.0 });
    let said = bank.say(&z);
    assert!(
        said.statistic[126] < 3.0 && said.statistic[127] > 10.0,
        "{:?}",
        &said.statistic[126..128]
    );
    assert!(said.named[127] == 1 && said.named[199] == 1 && said.statistic[199] > 10.0);
    assert!(said.probability[199] > 0.99);
}

#[test]
fn what_nominal_runs_hold_more_than_white_noise_is_taken_off() {
    let mut bank = bank();
    let nominal: Vec<Rows> = (0..30).map(|run| noise(run, &|_, _| 0.0)).collect();
    bank.learn(&nominal);
    assert!(
        bank.excess.iter().flatten().all(|v| (1.0..2.5).contains(v)),
        "{:?}",
        bank.excess
    );
    // The first instrument stands anywhere in each run, the second as it should.
    let walks: Vec<Rows> = (0..30)
        .map(|run| {
            let offset = 2.0 * Normals::new(9, "walk", run).draw();
            noise(run, &|i, _| if i == 0 { offset } else { 0.0 })
        })
        .collect();
    bank.learn(&walks);
    // Mode 1 ramps both: by the oldest class of age its sums on the first instrument are loud, those on the second are not.
    let oldest = &bank.excess[1][4..6];
    assert!(oldest[0] > 50.0 && oldest[1] < 2.0, "{:?}", bank.excess);
}

/// Two sensors of one thing that nominal runs move together: what moves both is a fault of the thing, however loud the runs are in what they share.
#[test]
fn what_two_sensors_share_is_no_fault_of_one() {
    let of = |mode: usize| {
        // The second is freed of what it shares with the first: a fault of both shows in the first alone, one of the first in both.
        let rows: Rows = vec![vec![0.5; 200], vec![if mode == 0 { 0.0 } else { -0.5 }; 200]];
        Bank::signature(mode, 0, &rows)
    };
    let mut bank = Bank::new(vec![true, true], vec![of(0), of(1)], 2, 60.0);
    let loud = |run: u64, more: f64| {
        let shared = 0.3 * Normals::new(9, "shared", run).draw();
        noise(run, &|i, _| if i == 0 { shared + more } else { 0.0 })
    };
    let nominal: Vec<Rows> = (0..40).map(|run| loud(run, 0.0)).collect();
    bank.learn(&nominal);
    let right = (50..70)
        .filter(|&run| bank.posterior(&loud(run, 3.0), 200)[0] > 0.9)
        .count();
    assert!(right >= 18, "{right}");
    // The same on the first alone: the second is as it should be after what it shares has been taken off, and is not.
    let alone = |run: u64| {
        let mut z = loud(run, 3.0);
        z[1].iter_mut().for_each(|z| *z -= 3.0);
        bank.posterior(&z, 200)[1]
    };
    let right = (50..70).filter(|&run| alone(run) > 0.99).count();
    assert!(right >= 18, "{right}");
}

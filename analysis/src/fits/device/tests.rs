//! Fits of invented tests whose parameters are known.

use breathroom_sim::scenario::{Medians, Scenario, Source, read};

use super::model::{CO2, Model};
use super::nuisance::{Nuisance, readings};
use super::part::{Beside, Held};
use super::samples::Window;
use super::series::Series;
use super::{DeviceFit, Status, fit_device};
use crate::fits::noise::Noise;

const HEAD: &str = "format = 1\nduration = \"8 h\"\n[air]\npressure = \"56.5 kPa\"\noxygen = \"34 %\"\nco2 = \"3 mmHg\"\n[compartments.cabin]\nfree_volume = \"20 m3\"\n\
                    [crew.a]\nmass = \"70 kg\"\nhome = \"cabin\"\n";

fn scenario(device: &str) -> Scenario {
    let text = format!("{HEAD}[removal.x]\nserves = \"cabin\"\n{device}\n");
    let source = Source {
        name: "x.toml",
        text: &text,
        overrides: &[],
        files: &|_| Err("none".to_owned()),
    };
    read(&source).unwrap_or_else(|faults| panic!("{faults:#?}"))
}

fn model(device: &str) -> Model {
    let scenario = scenario(device);
    let case = scenario.draw(&Medians).case;
    Model::of(&scenario, &case, 0, 1.0).expect("a model")
}

const FLOW_THROUGH: &str = "kind = \"flow-through\"\nflow = \"0.7 m3/min\"\nco2_efficiency = \"80 %\"";
const SORBENT: &str = "kind = \"sorbent\"\nflow = \"45 L/min\"\nsorbent = \"1.5 kg\"\nutilisation = \"70 %\"\nsharpness = 8\nbypass = \"2 %\"";
const SWING: &str = "kind = \"swing-bed\"\nflow = \"1.3 m3/min\"\nbed = \"1.4 kg\"\nhalf_cycle = \"6.5 min\"\n\
                     co2_isotherm = { most = \"2 mol/kg\", half = \"0.6 kPa\" }\nwater_isotherm = { loading = \"0.6 mol/kg\", at = \"1 kPa\" }\n\
                     competition = 0\nrates = { co2 = \"0.005 1/s\", water = \"0.003 1/s\" }";

/// An inlet that moves about a mean, Pa.
fn series(rows: usize, step_s: f64, co2_pa: f64, wave: f64, flow_m3_s: f64) -> Series {
    let time_s: Vec<f64> = (0..rows).map(|row| step_s * row as f64).collect();
    let co2 = time_s
        .iter()
        .map(|t| co2_pa * (1.0 + wave * libm::sin(t / 900.0) + 0.5 * wave * libm::sin(t / 170.0)));
    Series {
        inlet_pa: [Some(co2.collect()), None],
        flow_m3_s: Some(vec![flow_m3_s; rows]),
        temperature_k: Some(vec![295.0; rows]),
        time_s,
        ..Series::default()
    }
}

/// Puts the model's own outlet, as a sensor with noise reads it, into a series.
fn measured(
    model: &Model,
    truth: &[f64],
    mut series: Series,
    (seed, sd): (u64, f64),
    which: &[Nuisance],
    beside: &[f64],
) -> Series {
    let outlet = model.outlet(truth, &series)[CO2].take().expect("an outlet");
    let rows: Vec<usize> = (0..series.len()).collect();
    let noise = Noise::new(seed);
    let read = readings(&outlet, &series, &rows, which, beside);
    let noisy = read
        .into_iter()
        .enumerate()
        .map(|(row, value)| Some(value + sd * noise.normal("out", row as u64)));
    series.outlet_pa[CO2] = Some(noisy.collect());
    series
}

fn fitted(model: &Model, series: &Series) -> DeviceFit {
    fit_device(model, series, Window::default(), &Beside::default()).expect("a fit")
}

/// How often intervals held, and the range in which so many of `n` at 95 % lie but once in 1,000: exact binomial sums.
fn assert_held(hits: usize, n: usize) {
    let mut log_choose = 0.0;
    let mut mass = Vec::new();
    for k in 0..=n {
        if k > 0 {
            log_choose += libm::log((n - k + 1) as f64 / k as f64);
        }
        mass.push(libm::exp(
            log_choose + k as f64 * libm::log(0.95) + (n - k) as f64 * libm::log(0.05),
        ));
    }
    let below: f64 = mass[..=hits].iter().sum();
    let above: f64 = mass[hits..].iter().sum();
    assert!(
        below > 5e-4 && above > 5e-4,
        "{hits} of {n} intervals hold: {below} {above}"
    );
}

#[test]
fn intervals_of_a_flow_through_device_hold_as_often_as_they_say() {
    let model = model(FLOW_THROUGH);
    let base = series(120, 30.0, 400.0, 0.3, 0.0117);
    let truth = [0.86, 0.0];
    let hits = (0..400).filter(|&seed| {
        let test = measured(&model, &truth, base.clone(), (seed, 8.0), &[], &[]);
        let beside = Beside {
            only: true,
            ..Beside::default()
        };
        let found = fit_device(&model, &test, Window::default(), &beside).expect("a fit");
        let [lo, hi] = found.estimates[0].interval_95;
        lo <= truth[0] && truth[0] <= hi
    });
    assert_held(hits.count(), 400);
}

/// The same with what the sensor may do looked for each time: it is hardly ever found where there is nothing.
#[test]
fn intervals_hold_where_nuisances_are_looked_for_and_there_are_none() {
    let model = model(FLOW_THROUGH);
    let base = series(120, 30.0, 400.0, 0.3, 0.0117);
    let truth = [0.86, 0.0];
    let (mut hits, mut found_some) = (0, 0);
    for seed in 1000..1400 {
        let test = measured(&model, &truth, base.clone(), (seed, 8.0), &[], &[]);
        let found = fitted(&model, &test);
        let [lo, hi] = found.estimates[0].interval_95;
        hits += usize::from(lo <= truth[0] && truth[0] <= hi);
        found_some += usize::from(!found.parts[0].nuisance.is_empty());
    }
    assert_held(hits, 400);
    assert!(found_some <= 12, "{found_some} of 400");
}

#[test]
fn intervals_of_a_canister_hold_as_often_as_they_say() {
    let model = model(SORBENT);
    let base = series(160, 300.0, 600.0, 0.2, 2.5e-3);
    let truth = [0.03, 0.62, 11.0];
    let mut hits = [0; 3];
    for seed in 0..400 {
        let test = measured(&model, &truth, base.clone(), (seed, 6.0), &[], &[]);
        let beside = Beside {
            only: true,
            ..Beside::default()
        };
        let found = fit_device(&model, &test, Window::default(), &beside).expect("a fit");
        for of in 0..3 {
            let [lo, hi] = found.estimates[of].interval_95;
            assert!(found.estimates[of].is_fitted(), "{:?}", found.estimates[of]);
            hits[of] += usize::from(lo <= truth[of] && truth[of] <= hi);
        }
    }
    for hits in hits {
        assert_held(hits, 400);
    }
}

#[test]
fn an_ideal_test_gives_the_parameters_back() {
    for (device, truth, flow) in [
        (FLOW_THROUGH, vec![0.86, 0.0], 0.0117),
        (SORBENT, vec![0.03, 0.62, 11.0], 2.5e-3),
        (SWING, vec![0.0065, 2.4, 750.0, 0.003, 0.6], 0.0217),
    ] {
        let model = model(device);
        let (rows, step) = if device == SWING { (400, 26.0) } else { (160, 300.0) };
        let test = measured(&model, &truth, series(rows, step, 600.0, 0.4, flow), (1, 0.0), &[], &[]);
        let found = fitted(&model, &test);
        for of in found.estimates.iter().filter(|of| model.laws[of.law].species == CO2) {
            assert!(
                (of.value / truth[of.law] - 1.0).abs() < 1e-5,
                "{}: {of:?}",
                model.laws[of.law].key
            );
        }
        assert!(found.parts[0].nuisance.is_empty());
    }
}

#[test]
fn what_a_sensor_and_its_clock_do_is_found_and_not_taken_for_the_device() {
    let model = model(FLOW_THROUGH);
    let base = series(600, 30.0, 400.0, 0.5, 0.0117);
    let truth = [0.86, 0.0];
    let all = [Nuisance::Baseline, Nuisance::Drift, Nuisance::Clock];
    let test = measured(&model, &truth, base.clone(), (3, 1.0), &all, &[6.0, 4e-4, 47.0]);
    let found = fitted(&model, &test);
    let part = &found.parts[0];
    assert_eq!(part.nuisance, all);
    for (at, wanted) in [(0, 0.86), (1, 6.0), (2, 4e-4), (3, 47.0)] {
        let (value, sd) = (part.fitted.estimate[at], part.sd(at));
        assert!((value - wanted).abs() < 4.0 * sd, "{at}: {value} +- {sd}");
    }
    // Nothing of the kind is there: nothing is found.
    let plain = measured(&model, &truth, base.clone(), (4, 1.0), &[], &[]);
    assert!(fitted(&model, &plain).parts[0].nuisance.is_empty());
    // At an inlet that does not move neither a baseline nor a clock can be told from the efficiency.
    let still = measured(
        &model,
        &truth,
        series(200, 30.0, 400.0, 0.0, 0.0117),
        (5, 1.0),
        &[],
        &[],
    );
    let asked = Beside {
        asked: vec![Nuisance::Clock, Nuisance::Baseline],
        ..Beside::default()
    };
    let found = fit_device(&model, &still, Window::default(), &asked).expect("a fit");
    assert!(found.parts[0].nuisance.is_empty());
    assert_eq!(found.parts[0].dropped, asked.asked);
}

#[test]
fn a_test_that_ends_before_breakthrough_does_not_give_what_it_cannot() {
    let model = model(SORBENT);
    let truth = [0.03, 0.62, 11.0];
    let short = measured(
        &model,
        &truth,
        series(30, 300.0, 600.0, 0.2, 2.5e-3),
        (1, 3.0),
        &[],
        &[],
    );
    let found = fitted(&model, &short);
    assert_eq!(found.estimates[0].status, Status::Fitted);
    for of in &found.estimates[1..] {
        assert!(
            matches!(
                of.status,
                Status::Held(Held::Unsure(_) | Held::NoEffect | Held::With(..))
            ),
            "{of:?}"
        );
        assert_eq!(of.value, model.laws[of.law].given);
    }
    // Asked for, they are told as the test has them.
    let all = Beside {
        keeps_all: true,
        ..Beside::default()
    };
    let longer = series(55, 300.0, 600.0, 0.2, 2.5e-3);
    let longer = measured(&model, &truth, longer, (1, 3.0), &[], &[]);
    assert!(!fitted(&model, &longer).estimates.iter().all(super::Estimate::is_fitted));
    let kept = fit_device(&model, &longer, Window::default(), &all).expect("a fit");
    assert!(kept.estimates.iter().all(super::Estimate::is_fitted));
    assert!(
        kept.estimates[2].sd > 0.3 * kept.estimates[2].value,
        "{:?}",
        kept.estimates
    );
}

#[test]
fn a_sensor_at_the_end_of_its_range_is_seen_and_left_out() {
    let model = model(SORBENT);
    let truth = [0.03, 0.62, 11.0];
    let mut test = measured(
        &model,
        &truth,
        series(160, 300.0, 600.0, 0.2, 2.5e-3),
        (1, 3.0),
        &[],
        &[],
    );
    for value in test.outlet_pa[CO2].iter_mut().flatten().flatten() {
        *value = value.min(400.0);
    }
    let found = fitted(&model, &test);
    let part = &found.parts[0];
    assert_eq!(part.samples.left.len(), 1, "{:?}", part.samples.left);
    assert!(part.samples.left[0].0.contains("flat top") && part.samples.left[0].1 > 10);
    for of in &found.estimates {
        assert!((of.value - truth[of.law]).abs() < 4.0 * of.sd, "{of:?}");
    }
    let window = Window {
        saturates_pa: [Some(1.0), None],
        ..Window::default()
    };
    let why = fit_device(&model, &test, window, &Beside::default()).expect_err("all of it");
    assert!(why.contains("no sample of `co2 out` is left"), "{why}");
}

#[test]
fn noise_that_follows_itself_makes_intervals_wider() {
    let model = model(FLOW_THROUGH);
    let truth = [0.86, 0.0];
    let mut test = measured(
        &model,
        &truth,
        series(400, 30.0, 400.0, 0.0, 0.0117),
        (1, 0.0),
        &[],
        &[],
    );
    let noise = Noise::new(9);
    let mut last = 0.0;
    for (row, value) in test.outlet_pa[CO2].iter_mut().flatten().flatten().enumerate() {
        last = 0.9 * last + noise.normal("slow", row as u64);
        *value += last;
    }
    let beside = Beside {
        only: true,
        ..Beside::default()
    };
    let found = fit_device(&model, &test, Window::default(), &beside).expect("a fit");
    let part = &found.parts[0];
    assert!(part.order.lag_1 > 0.8 && part.order.tau > 8.0, "{:?}", part.order);
    let independent = part.fitted.sd(0);
    assert!(part.sd(0) > 2.5 * independent);
}

#[test]
fn a_clock_that_is_off_by_more_than_the_record_gives_no_delay() {
    let model = model(FLOW_THROUGH);
    let base = series(200, 30.0, 400.0, 0.5, 0.0117);
    let early = measured(&model, &[0.86, 0.0], base.clone(), (3, 1.0), &[], &[]);
    // The outlet of another hour: what is read belongs to an inlet that is not in the file.
    let mut other = base;
    for (row, value) in other.inlet_pa[CO2].iter_mut().flatten().enumerate() {
        *value = 400.0 + 120.0 * libm::cos(row as f64 / 11.0) + 2.0 * row as f64;
    }
    other.outlet_pa = early.outlet_pa;
    let asked = Beside {
        asked: vec![Nuisance::Clock],
        only: true,
        ..Beside::default()
    };
    let found = fit_device(&model, &other, Window::default(), &asked).expect("a fit");
    let part = &found.parts[0];
    // Whatever is found, it is told as a model that misses far more than the sensor's noise.
    assert!(
        part.residual_sd_pa() > 4.0 * part.noise_pa,
        "{} {}",
        part.residual_sd_pa(),
        part.noise_pa
    );
}

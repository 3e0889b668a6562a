//! Spreads that are estimates from trials.

use super::*;

/// u = 0.5 but for the inputs of what trials leave unsure.
struct Unsure;

impl Luck for Unsure {
    fn uniform(&self, input: usize, _turn: u32, _person: u32) -> f64 {
        [0.841_344_746_068_543, 0.3, 0.5][input.min(2)]
    }
}

#[test]
fn estimates_bring_what_trials_leave_unsure_of_them() {
    let scenario = good(
        SMALL,
        &["compartments.cabin.free_volume={ lognormal = [\"11 m3\", \"15 %\"], trials = 6 }"],
    );
    let paths: Vec<&str> = scenario.inputs.iter().map(|input| input.path.as_str()).collect();
    let volume = "compartments.cabin.free_volume";
    let at = paths.iter().position(|path| *path == volume).expect("the volume");
    assert_eq!(at, 2, "{paths:?}");
    assert_eq!(paths[..2], [format!("{volume}.centre"), format!("{volume}.width")]);
    // One standard error up, and as wide as it is in three of ten cases at most: ln x = ln 11 + b sigma / sqrt(6).
    let drawn = scenario.draw(&Unsure);
    let (z, width) = (drawn.values[0], drawn.values[1]);
    assert!((z - 1.0).abs() < 1e-12 && width < 1.0, "{z} {width}");
    let sigma = libm::sqrt(libm::log1p(0.15 * 0.15));
    let expected = 11.0 * libm::exp(width * sigma / libm::sqrt(6.0));
    assert!((drawn.values[2] / expected - 1.0).abs() < 1e-12);
    assert_eq!(drawn.case.compartments[0].volume_m3, drawn.values[2]);
    // A run on the medians knows nothing of it.
    assert!((scenario.draw(&Medians).values[2] / 11.0 - 1.0).abs() < 1e-14);
}

#[test]
fn trials_that_make_no_estimate_are_refused() {
    let wrong = |spread: &str, message: &str| {
        let set = format!("compartments.cabin.free_volume={spread}");
        let faults = bad(SMALL, &[&set]);
        assert!(faults.iter().any(|fault| fault.contains(message)), "{faults:#?}");
    };
    wrong("{ gamma = [\"11 m3\", \"15 %\"], trials = 2 }", "whole number from 3");
    wrong(
        "{ gamma = [\"11 m3\", \"15 %\"], trials = \"six\" }",
        "whole number from 3",
    );
    wrong(
        "{ uniform = [\"11 m3\", \"12 m3\"], trials = 5 }",
        "goes with normal, lognormal",
    );
    wrong(
        "{ normal = [\"11 m3\", \"1 m3\"], within = [\"9 m3\", \"13 m3\"], trials = 5 }",
        "does not go with `within`",
    );
    wrong("{ gamma = [\"11 m3\", \"2000 %\"] }", "0.1 % to 1000 %");
}

//! `climb.csv`: an invented record of one person who climbs with a load in a mock-up: heart rate and oxygen uptake, every 15 s.
//!
//! Not the relation by which it is read: the work is a course of steps; oxygen uptake follows it with a lag of 40 s, the heart rate with one of 25 s
//! on a line of this person's own that bends at hard work, drifts upwards by 4 % an hour, and is read with noise to a whole beat; now and then the
//! strap loses contact. All figures invented.

use super::{Luck, held_against};

const STEP_S: f64 = 15.0;
/// Minutes and metabolic power, W.
const WORK: [(f64, f64); 9] = [
    (3.0, 125.0),
    (6.0, 380.0),
    (5.0, 520.0),
    (3.0, 210.0),
    (7.0, 560.0),
    (4.0, 640.0),
    (3.0, 230.0),
    (5.0, 480.0),
    (4.0, 150.0),
];
/// Oxygen for power, L/min STPD for W.
const LITRES: f64 = 1.0 / 340.0;

fn made() -> String {
    let luck = Luck::of("climb");
    let mut text = String::from(
        "# Invented: one person climbs with a load in a mock-up. tests/scenarios/laboratory/climb.rs makes this file, from a fixed seed.\n\
         time [s],heart rate [1/min],oxygen uptake [L/min STPD]\n",
    );
    let (mut oxygen_w, mut heart_w) = (WORK[0].1, WORK[0].1);
    let mut row = 0_u32;
    for (minutes, power) in WORK {
        for _ in 0..(minutes * 60.0 / STEP_S).round() as u32 {
            let toward = |lag: f64| 1.0 - (-STEP_S / lag).exp();
            oxygen_w += (power - oxygen_w) * toward(40.0);
            heart_w += (power - heart_w) * toward(25.0);
            let time = f64::from(row) * STEP_S;
            let drift = 1.0 + 0.04 * time / 3600.0;
            let rate = (58.0 + 0.155 * heart_w - 2.5e-5 * heart_w * heart_w) * drift + 1.5 * luck.normal([row, 0, 0]);
            let uptake = oxygen_w * LITRES * (1.0 + 0.04 * luck.normal([row, 1, 0]));
            let rate = if luck.uniform([row, 2, 0]) < 0.03 {
                String::new()
            } else {
                format!("{:.0}", rate)
            };
            text.push_str(&format!("{time},{rate},{uptake:.3}\n"));
            row += 1;
        }
    }
    text
}

#[test]
fn the_record_of_a_climb_is_what_its_script_makes() {
    held_against("climb.csv", &made());
}

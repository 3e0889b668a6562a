//! Steps of [`Newton`] on problems with known answers.

use super::lengths::{next_length, shared_length};
use super::newton::{Allowed, Equations, Newton};
use super::radau::STAGES;

/// Equations by a function.
struct By<F>(usize, F);

impl<F: FnMut(f64, &[f64], &mut [f64])> Equations for By<F> {
    fn size(&self) -> usize {
        self.0
    }

    fn rates(&mut self, t_s: f64, y: &[f64], out: &mut [f64]) {
        (self.1)(t_s, y, out);
    }
}

/// The same along a step and, but for a thousandth, at its end.
fn allow(along: Vec<f64>) -> Allowed {
    let at_end = along.iter().map(|along| 1e-3 * along).collect();
    Allowed { along, at_end }
}

/// A controller of steps.
struct Run {
    newton: Newton,
    relative: f64,
    absolute: f64,
    first_s: f64,
    steps: usize,
    rejected: usize,
}

impl Run {
    fn new(relative: f64, absolute: f64) -> Self {
        Self {
            newton: Newton::default(),
            relative,
            absolute,
            first_s: 1e-3,
            steps: 0,
            rejected: 0,
        }
    }

    /// Integrates from 0 to `to_s`.
    fn go<E: Equations>(&mut self, equations: &mut E, y: &mut [f64], to_s: f64) {
        let (mut t, mut next) = (0.0, self.first_s);
        let mut allowed = allow(vec![0.0; y.len()]);
        self.newton.begin(0);
        while t < to_s {
            for (allowed, y) in allowed.along.iter_mut().zip(&*y) {
                *allowed = self.relative * y.abs() + self.absolute;
            }
            allowed = allow(allowed.along);
            let h = shared_length(next, to_s - t);
            let last = h >= to_s - t;
            let error = self.newton.attempt(equations, t, h, y, &allowed);
            next = next_length(h, error);
            if error.is_some_and(|e| e <= 1.0) {
                self.newton.accept();
                for (i, y) in y.iter_mut().enumerate() {
                    *y = self.newton.stages(i)[STAGES - 1];
                }
                t = if last { to_s } else { t + h };
                self.steps += 1;
            } else {
                self.rejected += 1;
                assert!(h > 1e-12, "stuck at {t}");
            }
        }
    }

    fn report(&self, name: &str) -> String {
        format!(
            "{name}: {} steps, {} rejected, {:?}",
            self.steps,
            self.rejected,
            self.newton.work()
        )
    }
}

fn robertson() -> By<impl FnMut(f64, &[f64], &mut [f64])> {
    By(3, |_: f64, y: &[f64], out: &mut [f64]| {
        let (slow, fast, quick) = (0.04 * y[0], 1e4 * y[1] * y[2], 3e7 * y[1] * y[1]);
        out.copy_from_slice(&[fast - slow, slow - fast - quick, quick]);
    })
}

#[test]
fn linear_systems_follow_their_closed_form() {
    // Eight modes with rates from 1e-4 to 1e3 1/s, mixed by a reflection (its own inverse), each driven to the value 1.
    const N: usize = 8;
    let axis: [f64; N] = std::array::from_fn(|i| 1.0 + 0.3 * i as f64);
    let square: f64 = axis.iter().map(|a| a * a).sum();
    let mirror = |x: &[f64]| -> [f64; N] {
        let along = 2.0 * x.iter().zip(&axis).map(|(x, a)| x * a).sum::<f64>() / square;
        std::array::from_fn(|i| x[i] - along * axis[i])
    };
    let rates: [f64; N] = std::array::from_fn(|i| 1e-4 * libm::pow(10.0, i as f64));
    let mut equations = By(N, move |_: f64, y: &[f64], out: &mut [f64]| {
        let z = mirror(y);
        let changes: [f64; N] = std::array::from_fn(|i| rates[i] * (1.0 - z[i]));
        out.copy_from_slice(&mirror(&changes));
    });
    for end in [1.0, 100.0, 1e4] {
        let mut run = Run::new(1e-11, 1e-11);
        let mut y = mirror(&[3.0; N]);
        run.go(&mut equations, &mut y, end);
        let known: [f64; N] = std::array::from_fn(|i| 1.0 + 2.0 * libm::exp(-rates[i] * end));
        for (y, known) in y.iter().zip(mirror(&known)) {
            assert!((y - known).abs() < 1e-9, "{end} {y} {known}");
        }
        assert!(run.steps < 350, "{}", run.report("linear"));
        assert_eq!(run.newton.work().jacobians, 1);
    }
}

#[test]
fn robertson_s_reaction_comes_to_its_published_values() {
    // At 40 from Hairer and Wanner (1996), IV.1, further digits as integrators of several kinds agree on them; at 1e11 from the
    // Test Set for IVP Solvers. Both from memory.
    for (end, known) in [
        (40.0, [0.715_827_068_719_40, 9.185_534_764_558e-6, 0.284_163_745_745_83]),
        (
            1e11,
            [
                0.208_334_014_970_125_5e-7,
                0.833_336_077_033_471_3e-13,
                0.999_999_979_166_505,
            ],
        ),
    ] {
        let mut run = Run::new(1e-11, 1e-17);
        let mut y = [1.0, 0.0, 0.0];
        run.go(&mut robertson(), &mut y, end);
        for (y, known) in y.iter().zip(known) {
            assert!((y / known - 1.0).abs() < 1e-9, "{end} {y:e} {known:e}");
        }
        // What the equations keep is kept.
        assert!(
            (y.iter().sum::<f64>() - 1.0).abs() < 1e-13,
            "{:e}",
            y.iter().sum::<f64>() - 1.0
        );
        assert!(run.steps < 1000, "{}", run.report("Robertson"));
    }
}

#[test]
fn van_der_pol_s_oscillator_comes_to_its_published_values() {
    // Test Set for IVP Solvers, vdpol: eps = 1e-6, at t = 2. From memory.
    let mut equations = By(2, |_: f64, y: &[f64], out: &mut [f64]| {
        out.copy_from_slice(&[y[1], ((1.0 - y[0] * y[0]) * y[1] - y[0]) * 1e6]);
    });
    let mut run = Run::new(1e-10, 1e-10);
    run.first_s = 1e-7;
    let mut y = [2.0, 0.0];
    run.go(&mut equations, &mut y, 2.0);
    assert!((y[0] - 1.706_167_732_170_483).abs() < 1e-9, "{}", y[0]);
    assert!((y[1] + 0.892_809_701_024_797_5).abs() < 1e-9, "{}", y[1]);
    assert!(run.steps < 1200, "{}", run.report("van der Pol"));
}

#[test]
fn the_end_of_a_step_is_of_ninth_order() {
    // Growth to a limit: y = 1 / (1 + 9 exp(-t)).
    let mut equations = By(1, |_: f64, y: &[f64], out: &mut [f64]| out[0] = y[0] * (1.0 - y[0]));
    let mut errors = [0.0; 2];
    let mut judged = [0.0; 2];
    for (k, steps) in [4_usize, 8].into_iter().enumerate() {
        let (mut newton, mut y, h) = (Newton::default(), [0.1], 4.0 / steps as f64);
        newton.begin(0);
        for step in 0..steps {
            let error = newton.attempt(&mut equations, step as f64 * h, h, &y, &allow(vec![1e-11]));
            if step == 0 {
                judged[k] = error.unwrap();
            }
            newton.accept();
            y[0] = newton.stages(0)[STAGES - 1];
        }
        errors[k] = (y[0] - 1.0 / (1.0 + 9.0 * libm::exp(-4.0))).abs();
    }
    let order = libm::log2(errors[0] / errors[1]);
    assert!((8.0..10.5).contains(&order), "{order} {errors:?}");
    // What is judged is the polynomial along the step.
    let order = libm::log2(judged[0] / judged[1]);
    assert!((4.5..6.5).contains(&order), "{order} {judged:?}");
}

#[test]
fn the_judged_error_holds_along_the_step() {
    // Slow and stiff together: y' = -L (y - cos t) - sin t, whose solution stays on cos t.
    for stiffness in [0.0, 1.0, 1e4] {
        let mut equations = By(1, |t: f64, y: &[f64], out: &mut [f64]| {
            out[0] = -stiffness * (y[0] - libm::cos(t)) - libm::sin(t);
        });
        let mut newton = Newton::default();
        newton.begin(0);
        let error = newton
            .attempt(&mut equations, 0.0, 0.5, &[1.0], &allow(vec![1e-9]))
            .unwrap()
            * 1e-9;
        let poly = super::radau::TABLES.through(1.0, newton.stages(0));
        let worst = (0..=100).map(|k| f64::from(k) / 100.0).fold(0.0, |worst, theta| {
            f64::max(worst, (poly.at(theta) - libm::cos(0.5 * theta)).abs())
        });
        assert!(
            worst < 1.1 * error && error < 100.0 * worst,
            "{stiffness} {worst:e} {error:e}"
        );
    }
}

#[test]
fn kinks_are_stepped_up_to() {
    // Falls at rate 1 down to 1 (at t = 2), then as it is; and one that follows it at 100 1/s.
    let mut equations = By(2, |_: f64, y: &[f64], out: &mut [f64]| {
        out[0] = -f64::min(y[0], 1.0);
        out[1] = 100.0 * (y[0] - y[1]);
    });
    let mut run = Run::new(1e-11, 1e-11);
    let mut y = [3.0, 3.0];
    run.go(&mut equations, &mut y, 5.0);
    let known = libm::exp(-3.0);
    assert!((y[0] - known).abs() < 1e-9, "{} {known}", y[0]);
    assert!((y[1] - known / 0.99).abs() < 1e-9, "{} {}", y[1], known / 0.99);
    assert!(run.rejected > 0 && run.steps < 200, "{}", run.report("kink"));
}

#[test]
fn the_same_bits_again() {
    let course = |run: &mut Run| {
        let mut y = [1.0, 0.0, 0.0];
        run.go(&mut robertson(), &mut y, 40.0);
        y
    };
    let mut run = Run::new(1e-9, 1e-13);
    let (first, work) = (course(&mut run), run.newton.work());
    run.newton.begin(7);
    run.newton.reset();
    assert_eq!(first, course(&mut run));
    assert_eq!(work, run.newton.work());
    assert_eq!(first, course(&mut Run::new(1e-9, 1e-13)));
}

#[test]
fn the_judged_error_holds_where_the_step_ends() {
    for z in [1.0, 2.0, 4.0, 8.0, 16.0, 30.0, 100.0, 1e3] {
        let mut equations = By(1, move |_: f64, y: &[f64], out: &mut [f64]| out[0] = -z * y[0]);
        let allowed = Allowed {
            along: vec![1e3],
            at_end: vec![1e-9],
        };
        let mut newton = Newton::default();
        newton.begin(0);
        let judged = newton.attempt(&mut equations, 0.0, 1.0, &[1.0], &allowed).unwrap();
        let judged = 1e-9 * judged * judged.sqrt();
        let is = (newton.stages(0)[STAGES - 1] - libm::exp(-z)).abs();
        let most = if z < 2.0 { 2.0 } else { 1.3 };
        assert!(
            is < most * judged && judged < 3.0 * is,
            "{z}: {is:e}, judged {judged:e}"
        );
    }
}

#[test]
fn rates_are_those_of_the_right_side() {
    let (mut newton, mut equations) = (Newton::default(), robertson());
    newton.begin(0);
    let (y, allowed) = ([0.9, 2.2e-5, 0.1 - 2.2e-5], allow(vec![1e-12; 3]));
    newton.attempt(&mut equations, 0.0, 0.1, &y, &allowed).unwrap();
    let stages: [[f64; STAGES]; 3] = std::array::from_fn(|i| newton.stages(i));
    for j in 0..STAGES {
        let mut out = [0.0; 3];
        equations.rates(0.0, &[stages[0][j], stages[1][j], stages[2][j]], &mut out);
        for i in 0..3 {
            assert!(
                (newton.rates(i)[j] - out[i]).abs() < 1e-11,
                "{i} {j} {} {}",
                newton.rates(i)[j],
                out[i]
            );
        }
    }
}

#[test]
fn modes_that_come_back_find_their_jacobian() {
    let mut newton = Newton::default();
    for turn in 0..8 {
        let rate = if turn % 2 == 0 { 1.0 } else { 1e4 };
        let mut equations = By(2, move |_: f64, y: &[f64], out: &mut [f64]| {
            out.copy_from_slice(&[-rate * y[0], rate * (y[0] - y[1])]);
        });
        newton.begin(turn % 2);
        assert!(
            newton
                .attempt(&mut equations, 0.0, 0.01, &[1.0, 0.5], &allow(vec![1e-10; 2]))
                .is_some()
        );
    }
    assert_eq!(newton.work().jacobians, 2);
    assert_eq!(newton.work().factorisations, 2);
}

#[test]
fn factors_serve_for_the_lengths_that_come_back() {
    let mut equations = By(1, |_: f64, y: &[f64], out: &mut [f64]| out[0] = -y[0]);
    let mut newton = Newton::default();
    newton.begin(0);
    let mut try_lengths = |lengths: std::ops::Range<i32>| {
        let before = newton.work().factorisations;
        for k in lengths {
            let h = 0.01 * f64::from(k);
            newton
                .attempt(&mut equations, 0.0, h, &[1.0], &allow(vec![1e-10]))
                .unwrap();
        }
        newton.work().factorisations - before
    };
    assert_eq!(try_lengths(1..17), 16);
    assert_eq!(try_lengths(1..17), 0);
    assert_eq!(try_lengths(17..33), 16);
    assert_eq!(try_lengths(1..33), 0);
    // One more takes the place of the first, which takes that of the second.
    assert_eq!(try_lengths(100..101), 1);
    assert_eq!(try_lengths(3..33), 0);
    assert_eq!(try_lengths(1..2), 1);
}

#[test]
fn a_jacobian_that_misleads_is_found_anew() {
    // Begun under the mode of other equations: a million times as stiff.
    let mut newton = Newton::default();
    for stiffness in [1e-2, 1e4] {
        let mut equations = By(1, move |_: f64, y: &[f64], out: &mut [f64]| {
            out[0] = stiffness * (1.0 - y[0]);
        });
        newton.begin(0);
        newton
            .attempt(&mut equations, 0.0, 1.0, &[0.5], &allow(vec![1e-10]))
            .unwrap();
        let rate = newton.rates(0)[STAGES - 1];
        let end = newton.stages(0)[STAGES - 1];
        assert!(
            (rate - stiffness * (1.0 - end)).abs() < 1e-12 * stiffness,
            "{rate} {end}"
        );
    }
    assert_eq!(newton.work().jacobians, 2);
}

#[test]
fn an_iteration_that_cannot_converge_says_so() {
    // No solution: the rate leaps at the value where the state would have to stay.
    let mut equations = By(1, |_: f64, y: &[f64], out: &mut [f64]| {
        out[0] = if y[0] > 0.5 { -1e6 } else { 1e6 }
    });
    let mut newton = Newton::default();
    newton.begin(0);
    assert_eq!(
        newton.attempt(&mut equations, 0.0, 1.0, &[1.0], &allow(vec![1e-9])),
        None
    );
    let mut nowhere = By(1, |_: f64, _: &[f64], out: &mut [f64]| out[0] = f64::NAN);
    newton.begin(1);
    assert_eq!(newton.attempt(&mut nowhere, 0.0, 1.0, &[1.0], &allow(vec![1e-9])), None);
}

#[test]
fn a_length_follows_the_error() {
    let h = 7.0;
    assert!((next_length(h, Some(0.9_f64.powi(6))) - h).abs() < 1e-12);
    assert_eq!(next_length(h, Some(0.0)), 4.0 * h);
    assert!(next_length(h, Some(1.1)) < 0.9 * h);
    assert!((next_length(h, None) - 0.2 * h).abs() < 1e-12);
}

#[test]
fn few_steps_share_what_is_left_and_many_stand_on_a_ladder() {
    for (most, steps) in [(400.0, 1.0), (390.0, 1.0), (389.9, 2.0), (130.0, 3.0), (100.0, 4.0)] {
        assert_eq!(shared_length(most, 390.0), 390.0 / steps);
    }
    // Shares of what is left come to the end in as many steps.
    let (mut left, mut steps) = (390.0, 0);
    while left > 0.0 {
        left -= shared_length(120.0, left).min(left);
        steps += 1;
    }
    assert_eq!(steps, 4);
    for rung in -20_i32..20 {
        let odd = rung.rem_euclid(2) == 1;
        let h = libm::ldexp(if odd { std::f64::consts::SQRT_2 } else { 1.0 }, rung.div_euclid(2));
        assert_eq!(shared_length(h, 1e6 * h), h, "{rung}");
        assert_eq!(shared_length(1.3 * h, 1e6 * h), h, "{rung}");
    }
}

use super::*;

fn spread(shape: Shape, within: Option<(f64, f64)>) -> Spread {
    Spread::new(shape, within).unwrap_or_else(|error| panic!("{within:?}: {error}"))
}

/// Every continuous family, plain and truncated in the middle, at one side and far out in either tail.
fn continuous() -> Vec<Spread> {
    let normal = || Shape::Normal { mean: 11.5, sd: 0.4 };
    let lognormal = || Shape::Lognormal { median: 360.0, cv: 0.6 };
    let exponential = || Shape::Exponential { mean: 40.0 };
    let weibull = |shape| Shape::Weibull { scale: 1000.0, shape };
    let triangular = |mode| Shape::Triangular {
        lo: 0.78,
        mode,
        hi: 0.91,
    };
    let pert = |mode| Shape::Pert {
        lo: 10.0,
        mode,
        hi: 30.0,
    };
    vec![
        spread(normal(), None),
        spread(normal(), Some((10.0, 13.0))),
        spread(normal(), Some((11.5, 100.0))),
        spread(normal(), Some((14.0, 15.0))),
        spread(normal(), Some((-100.0, 9.0))),
        spread(Shape::Uniform { lo: -3.0, hi: 5.0 }, None),
        spread(Shape::Uniform { lo: -3.0, hi: 5.0 }, Some((4.0, 9.0))),
        spread(triangular(0.86), None),
        spread(triangular(0.78), None),
        spread(triangular(0.91), None),
        spread(triangular(0.86), Some((0.8, 0.87))),
        spread(triangular(0.86), Some((0.90, 2.0))),
        spread(pert(15.0), None),
        spread(pert(10.0), None),
        spread(pert(30.0), None),
        spread(pert(20.0), Some((12.0, 22.0))),
        spread(pert(15.0), Some((28.0, 29.9))),
        spread(lognormal(), None),
        spread(lognormal(), Some((60.0, 1800.0))),
        spread(lognormal(), Some((4000.0, 9000.0))),
        spread(exponential(), None),
        spread(exponential(), Some((10.0, 60.0))),
        spread(exponential(), Some((400.0, 900.0))),
        spread(weibull(1.7), None),
        spread(weibull(0.8), None),
        spread(weibull(1.7), Some((0.0, 500.0))),
        spread(weibull(1.7), Some((3000.0, 9000.0))),
    ]
}

/// Uniforms in the middle and deep in both tails, rising.
fn uniforms() -> Vec<f64> {
    let tail = (10..160).rev().map(|tenth| libm::pow(10.0, -f64::from(tenth) * 0.1));
    let middle = (10..90).map(|percent| f64::from(percent) * 0.01 + 1e-9);
    let mut all: Vec<f64> = tail.chain(middle).collect();
    let upper: Vec<f64> = all.iter().take(150).rev().map(|u| 1.0 - u).collect();
    all.extend(upper);
    all
}

#[test]
fn the_distribution_function_undoes_the_quantile() {
    for spread in continuous() {
        for u in uniforms() {
            let x = spread.quantile(u);
            let again = spread.cdf(x);
            // 1e-9 is what is asked of tables; the value itself is rounded, which the density turns into probability.
            let rounding = 4.0 * f64::EPSILON * x.abs();
            let density = (spread.cdf(x + 1e4 * rounding) - spread.cdf(x - 1e4 * rounding)) / (2e4 * rounding);
            let tolerance = 1e-10 + density * rounding;
            assert!((again - u).abs() <= tolerance, "{spread:?} at {u}: {again}");
        }
    }
}

#[test]
fn tails_keep_their_digits() {
    // Untruncated families: a tail probability comes back to 1e-9 of itself, as far as x has the digits.
    for shape in [
        Shape::Normal { mean: 0.0, sd: 1.0 },
        Shape::Uniform { lo: 0.0, hi: 1.0 },
        Shape::Triangular {
            lo: 0.0,
            mode: 0.4,
            hi: 1.0,
        },
        Shape::Pert {
            lo: 0.0,
            mode: 0.3,
            hi: 1.0,
        },
        Shape::Lognormal { median: 1.0, cv: 0.5 },
        Shape::Exponential { mean: 1.0 },
        Shape::Weibull { scale: 1.0, shape: 1.6 },
    ] {
        let spread = spread(shape, None);
        for step in 1..160 {
            let u = libm::pow(10.0, -f64::from(step) * 0.1);
            let again = spread.cdf(spread.quantile(u));
            assert!((again / u - 1.0).abs() < 1e-9, "{spread:?} at {u}: {again}");
        }
    }
}

#[test]
fn quantiles_rise() {
    // Neighbours that differ by less than the rounding of exp, of a quintic or of the two sides may trade places.
    let rises = |last: f64, x: f64| x >= last - 8.0 * f64::EPSILON * last.abs();
    for spread in continuous() {
        let mut last = f64::NEG_INFINITY;
        for u in uniforms() {
            let x = spread.quantile(u);
            assert!(
                last == f64::NEG_INFINITY || rises(last, x),
                "{spread:?} at {u}: {x} after {last}"
            );
            last = x;
        }
        last = f64::NEG_INFINITY;
        for i in 0..100_000 {
            let x = spread.quantile((f64::from(i) + 0.5) / 1e5);
            assert!(
                last == f64::NEG_INFINITY || rises(last, x),
                "{spread:?} at {i}: {x} after {last}"
            );
            last = x;
        }
    }
}

#[test]
fn truncation_redistributes_and_never_clips() {
    for spread in continuous().into_iter().filter(|spread| spread.within().is_some()) {
        let (lo, hi) = spread.support();
        let (least, most) = spread.within().unwrap();
        assert!(lo >= least && hi <= most);
        let n = 100_000;
        let draws: Vec<f64> = (0..n)
            .map(|i| spread.quantile((f64::from(i) + 0.5) / f64::from(n)))
            .collect();
        assert!(
            draws.iter().all(|x| *x > lo && *x < hi),
            "an atom at a bound of {spread:?}"
        );
        // Shares agree with the distribution function in ten equal parts of the interval.
        for part in 1..10 {
            let x = draws[0] + (draws[n as usize - 1] - draws[0]) * f64::from(part) / 10.0;
            let share = draws.iter().filter(|&&draw| draw <= x).count() as f64 / f64::from(n);
            assert!((share - spread.cdf(x)).abs() < 2e-5, "{spread:?} up to {x}");
        }
        assert_eq!(spread.mass_outside(lo, hi), 0.0);
    }
}

#[test]
fn a_truncated_normal_has_its_known_mean() {
    // Mean of a standard normal above c: density(c) / upper(c) (Johnson, Kotz and Balakrishnan 1994, 13.10.1; from memory).
    let above = spread(Shape::Normal { mean: 0.0, sd: 1.0 }, Some((8.0, 40.0)));
    let n = 100_000;
    let mean = (0..n)
        .map(|i| above.quantile((f64::from(i) + 0.5) / f64::from(n)))
        .sum::<f64>()
        / f64::from(n);
    let density = libm::exp(-32.0) / libm::sqrt(2.0 * std::f64::consts::PI);
    let expected = density / (0.5 * libm::erfc(8.0 / std::f64::consts::SQRT_2));
    assert!((mean - expected).abs() < 1e-5, "{mean} against {expected}");
}

#[test]
fn medians_are_what_a_run_without_variation_uses() {
    let normal = Shape::Normal { mean: 11.5, sd: 0.4 };
    assert_eq!(spread(normal.clone(), None).median(), 11.5);
    assert!((spread(normal, Some((10.0, 13.0))).median() - 11.5).abs() < 1e-12);
    assert_eq!(
        spread(Shape::Lognormal { median: 360.0, cv: 0.6 }, None).median(),
        360.0
    );
    assert_eq!(spread(Shape::Uniform { lo: 2.0, hi: 5.0 }, None).median(), 3.5);
    let symmetric = spread(
        Shape::Pert {
            lo: 10.0,
            mode: 20.0,
            hi: 30.0,
        },
        None,
    );
    assert!((symmetric.median() - 20.0).abs() < 1e-12);
    let choice = Shape::Choice {
        values: vec![9.0, 1.0, 4.0],
        weights: vec![1.0, 1.0, 2.0],
    };
    assert_eq!(spread(choice, None).median(), 1.0);
    assert_eq!(
        spread(
            Shape::Data {
                values: vec![3.0, 1.0, 2.0]
            },
            None
        )
        .median(),
        2.0
    );
}

#[test]
fn zero_width_gives_one_value_to_the_bit() {
    let value = 0.1 + 0.2;
    for shape in [
        Shape::Normal { mean: value, sd: 0.0 },
        Shape::Uniform { lo: value, hi: value },
        Shape::Triangular {
            lo: value,
            mode: value,
            hi: value,
        },
        Shape::Pert {
            lo: value,
            mode: value,
            hi: value,
        },
        Shape::Lognormal { median: value, cv: 0.0 },
        Shape::Choice {
            values: vec![value, value],
            weights: vec![1.0, 2.0],
        },
        Shape::Data { values: vec![value] },
    ] {
        let spread = spread(shape, None);
        assert!(spread.is_point());
        for u in uniforms() {
            assert_eq!(spread.quantile(u).to_bits(), value.to_bits());
        }
        assert_eq!(spread.support(), (value, value));
        assert_eq!((spread.cdf(0.2), spread.cdf(value)), (0.0, 1.0));
        assert_eq!(
            (spread.mass_outside(0.0, 1.0), spread.mass_outside(0.5, 1.0)),
            (0.0, 1.0)
        );
    }
    let held = spread(Shape::Normal { mean: 5.0, sd: 1.0 }, Some((6.0, 6.0)));
    assert!(held.is_point() && held.median() == 6.0);
}

#[test]
fn mass_outside_the_physical_domain_keeps_its_digits() {
    // One-sided tail of a standard normal at 6 sd: 9.865876450e-10 (A&S table 26.2).
    let flow = spread(Shape::Normal { mean: 6.0, sd: 1.0 }, None);
    let mass = flow.mass_outside(0.0, f64::INFINITY);
    assert!((mass / 9.865_876_450e-10 - 1.0).abs() < 1e-9, "{mass}");
    let efficiency = spread(Shape::Normal { mean: 0.0, sd: 1.0 }, None);
    assert!((efficiency.mass_outside(f64::NEG_INFINITY, 6.0) / mass - 1.0).abs() < 1e-12);
    assert_eq!(
        spread(Shape::Lognormal { median: 1.0, cv: 2.0 }, None).mass_outside(0.0, f64::INFINITY),
        0.0
    );
}

#[test]
fn what_is_no_distribution_is_refused_in_words() {
    let inf = f64::INFINITY;
    let normal = Shape::Normal { mean: 5.0, sd: 1.0 };
    for (shape, within, error) in [
        (
            Shape::Normal { mean: 1.0, sd: -0.1 },
            None,
            SpreadError::NegativeDeviation,
        ),
        (
            Shape::Normal {
                mean: f64::NAN,
                sd: 1.0,
            },
            None,
            SpreadError::NotFinite,
        ),
        (Shape::Normal { mean: 1.0, sd: 1e307 }, None, SpreadError::NotFinite),
        (Shape::Uniform { lo: 2.0, hi: 1.0 }, None, SpreadError::EndsOutOfOrder),
        (
            Shape::Uniform {
                lo: -1.7e308,
                hi: 1.7e308,
            },
            None,
            SpreadError::NotFinite,
        ),
        (
            Shape::Triangular {
                lo: 1.0,
                mode: 0.5,
                hi: 2.0,
            },
            None,
            SpreadError::ModeOutsideEnds,
        ),
        (
            Shape::Pert {
                lo: 1.0,
                mode: 2.5,
                hi: 2.0,
            },
            None,
            SpreadError::ModeOutsideEnds,
        ),
        (
            Shape::Pert {
                lo: 3.0,
                mode: 2.5,
                hi: 2.0,
            },
            None,
            SpreadError::EndsOutOfOrder,
        ),
        (
            Shape::Lognormal { median: 0.0, cv: 0.1 },
            None,
            SpreadError::MedianNotPositive,
        ),
        (Shape::Exponential { mean: 0.0 }, None, SpreadError::MeanNotPositive),
        (
            Shape::Weibull {
                scale: -1.0,
                shape: 1.0,
            },
            None,
            SpreadError::ScaleNotPositive,
        ),
        (
            Shape::Weibull { scale: 1.0, shape: 0.0 },
            None,
            SpreadError::ShapeNotPositive,
        ),
        (
            Shape::Weibull {
                scale: 1.0,
                shape: 1e-3,
            },
            None,
            SpreadError::NotFinite,
        ),
        (
            Shape::Exponential { mean: 40.0 },
            Some((-3.0, -1.0)),
            SpreadError::NothingInside,
        ),
        (
            Shape::Lognormal { median: 1.0, cv: -0.1 },
            None,
            SpreadError::NegativeVariation,
        ),
        (
            Shape::Lognormal { median: 1.0, cv: 1e200 },
            None,
            SpreadError::NotFinite,
        ),
        (
            Shape::Choice {
                values: vec![],
                weights: vec![],
            },
            None,
            SpreadError::NoValues,
        ),
        (
            Shape::Choice {
                values: vec![1.0, 2.0],
                weights: vec![1.0],
            },
            None,
            SpreadError::WeightCount { values: 2, weights: 1 },
        ),
        (
            Shape::Choice {
                values: vec![1.0, 2.0],
                weights: vec![1.0, 0.0],
            },
            None,
            SpreadError::WeightNotPositive { index: 1 },
        ),
        (Shape::Data { values: vec![] }, None, SpreadError::NoValues),
        (Shape::Data { values: vec![1.0, inf] }, None, SpreadError::NotFinite),
        (
            Shape::Data { values: vec![1.0, 2.0] },
            Some((0.0, 1.0)),
            SpreadError::WithinNotAllowed,
        ),
        (normal.clone(), Some((6.0, 4.0)), SpreadError::WithinOutOfOrder),
        (normal.clone(), Some((4.0, inf)), SpreadError::NotFinite),
        (normal, Some((500.0, 600.0)), SpreadError::NothingInside),
        (
            Shape::Uniform { lo: 1.0, hi: 2.0 },
            Some((3.0, 4.0)),
            SpreadError::NothingInside,
        ),
        (
            Shape::Uniform { lo: 1.0, hi: 2.0 },
            Some((2.0, 4.0)),
            SpreadError::NothingInside,
        ),
        (
            Shape::Uniform { lo: 1.0, hi: 1.0 },
            Some((2.0, 4.0)),
            SpreadError::NothingInside,
        ),
    ] {
        assert_eq!(
            Spread::new(shape.clone(), within).err(),
            Some(error),
            "{shape:?} {within:?}"
        );
    }
    assert_eq!(
        SpreadError::WeightNotPositive { index: 1 }.to_string(),
        "weight 2 is not above 0"
    );
}

#[test]
fn a_uniform_outside_its_interval_does_no_harm() {
    for spread in continuous() {
        assert!(
            spread.quantile(0.0).is_finite() && spread.quantile(1.0).is_finite(),
            "{spread:?}"
        );
        assert!(spread.quantile(0.0) <= spread.median() && spread.quantile(1.0) >= spread.median());
        assert_eq!(spread.quantile(f64::NAN), spread.quantile(0.0));
    }
}

#[test]
fn clones_share_their_table() {
    let spread = spread(
        Shape::Pert {
            lo: 10.0,
            mode: 15.0,
            hi: 30.0,
        },
        None,
    );
    let clone = spread.clone();
    assert!(Arc::ptr_eq(&spread.0, &clone.0));
    assert_eq!(spread, clone);
}

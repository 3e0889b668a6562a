//! Bins keep the order, the error is as stated, and the order of merging leaves no trace.

use super::super::coverage_tests::Draws;
use super::*;
use crate::stats::quantiles;

/// Values over 40 factors of two and both signs, with zeros, infinities, subnormals and edges of bins among them.
fn values(n: u64) -> Vec<f64> {
    let draws = Draws::new("sketch");
    let value = |i: u64| {
        let [size, sign, kind] = [0, 1, 2].map(|part| draws.uniform(part, 0, i));
        let sign = if sign < 0.4 { -1.0 } else { 1.0 };
        match (kind * 40.0) as u32 {
            0 => f64::NEG_INFINITY,
            1 => f64::INFINITY,
            2 => 0.0,
            3 => -0.0,
            4 => sign * 2.0_f64.powi(-1022) * size,
            5 => sign * ((size * 10_000.0).floor() / 1024.0),
            _ => sign * (40.0 * size - 25.0).exp2(),
        }
    };
    (0..n).map(value).collect()
}

fn sketch(values: &[f64]) -> Sketch {
    let mut sketch = Sketch::new();
    values.iter().for_each(|&value| sketch.add(value));
    sketch
}

fn assert_near(read: f64, exact: f64) {
    // 2^-1033: half a bin of subnormals.
    let error = f64::from_bits(1 << (1074 - 1033)).max(RELATIVE_ERROR * exact.abs());
    assert!(read == exact || (read - exact).abs() <= error, "{read:e} for {exact:e}");
}

#[test]
fn every_order_statistic_is_within_the_stated_error() {
    let mut exact = values(5_000);
    let ranked = sketch(&exact).ranked();
    quantiles::sort(&mut exact);
    assert_eq!(ranked.count(), 5_000);
    for (i, &exact) in exact.iter().enumerate() {
        assert_near(ranked.order_statistic(i as u64 + 1), exact);
    }
    for p in [0.0, 0.01, 0.05, 0.1234, 0.5, 0.7, 0.95, 0.99, 1.0] {
        // Between two values the error is that of the larger one.
        let (read, exact_quantile) = (ranked.quantile(p), quantiles::quantile(&exact, p));
        let near = exact[(4_999.0 * p).ceil() as usize]
            .abs()
            .max(exact[(4_999.0 * p) as usize].abs());
        assert!(
            read == exact_quantile || (read - exact_quantile).abs() <= RELATIVE_ERROR * near,
            "{p}: {read} {exact_quantile}"
        );
    }
    assert!(ranked.order_statistic(0).is_nan() && ranked.order_statistic(5_001).is_nan());
}

#[test]
fn any_value_is_read_back_within_the_stated_error() {
    for exact in values(20_000)
        .into_iter()
        .chain([f64::MAX, f64::MIN, f64::MIN_POSITIVE, 5e-324, -5e-324])
    {
        // Three of a kind: the middle one is neither the first nor the last, and between wider ends it is not clamped.
        let ranked = sketch(&[f64::NEG_INFINITY, exact, exact, f64::INFINITY]).ranked();
        assert_near(ranked.order_statistic(2), exact);
        assert_eq!(ranked.order_statistic(2).is_sign_negative(), exact < 0.0, "{exact}");
    }
}

#[test]
fn counts_below_edges_are_exact() {
    let values = values(5_000);
    let ranked = sketch(&values).ranked();
    let below = |x: f64| values.iter().filter(|&&value| value < x).count() as u64;
    let edges = (-3_000..3_000).map(|i| f64::from(i) / 1024.0);
    // Bins are 1/1024 wide from 1 to 2 and finer nearer to 0, so that these are edges; those above 2 are every second
    // one.
    for x in edges.filter(|x| x.abs() <= 2.0 || (x * 512.0).fract() == 0.0) {
        assert_eq!(ranked.below(x), below(x), "{x}");
    }
    for x in [f64::NEG_INFINITY, f64::INFINITY, f64::MIN_POSITIVE, -f64::MIN_POSITIVE] {
        assert_eq!(ranked.below(x), below(x), "{x}");
    }
    let up_to = |x: f64| values.iter().filter(|&&value| value <= x).count() as u64;
    for x in [f64::NEG_INFINITY, 0.0, f64::INFINITY] {
        assert_eq!(ranked.up_to(x), up_to(x), "{x}");
    }
    for &x in &values[..500] {
        assert!(ranked.below(x) <= below(x) && ranked.up_to(x) >= up_to(x), "{x}");
    }
}

#[test]
fn merging_in_any_order_gives_the_same() {
    let values = values(3_000);
    let whole = sketch(&values);
    let mut reversed = values.clone();
    reversed.reverse();
    assert_eq!(sketch(&reversed), whole);
    for parts in [2, 7, 100] {
        let mut pieces: Vec<Sketch> = values.chunks(values.len().div_ceil(parts)).map(sketch).collect();
        let forward = pieces.iter().fold(Sketch::new(), |mut sum, piece| {
            sum.merge(piece);
            sum
        });
        assert_eq!(forward, whole);
        // As a tree, from the other end.
        while pieces.len() > 1 {
            let last = pieces.pop().expect("more than one");
            let middle = pieces.len() / 2;
            pieces[middle].merge(&last);
        }
        assert_eq!(pieces[0], whole);
        assert_eq!(
            serde_json::to_string(&pieces[0]).ok(),
            serde_json::to_string(&whole).ok()
        );
    }
}

#[test]
fn it_is_stored_whole_and_read_with_care() {
    for sketch in [sketch(&values(1_000)), Sketch::new()] {
        let text = serde_json::to_string(&sketch).expect("a text");
        assert_eq!(serde_json::from_str::<Sketch>(&text).expect("a sketch"), sketch);
    }
    let one = 1.0_f64.to_bits();
    let text = |count: u64, greatest: u64| {
        format!(
            r#"{{"least":{one},"greatest":{greatest},"bins":{{"{}":{count}}}}}"#,
            bin(1.0)
        )
    };
    assert!(serde_json::from_str::<Sketch>(&text(3, one)).is_ok());
    let said = |text: &str| serde_json::from_str::<Sketch>(text).expect_err("a fault").to_string();
    assert!(said(&text(0, one)).contains("empty bin"));
    assert!(said(&text(3, 2.0_f64.to_bits())).contains("2, is not in its outermost bin"));
    assert!(said(&text(3, f64::NAN.to_bits())).contains("outermost bin"));
}

#[test]
fn not_a_number_is_the_worst_and_nothing_is_nothing() {
    assert_eq!(sketch(&[f64::NAN, 1.0]), sketch(&[f64::NEG_INFINITY, 1.0]));
    assert_eq!(sketch(&[-0.0, 1.0]), sketch(&[0.0, 1.0]));
    let ranked = Sketch::new().ranked();
    assert_eq!((ranked.count(), ranked.below(0.0), ranked.up_to(0.0)), (0, 0, 0));
    assert!(ranked.quantile(0.5).is_nan());
}

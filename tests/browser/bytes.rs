//! A report does not grow with the number of variations, and is never large.

use super::made::{self, Made, made, scenario};

/// Most bytes that a report may have.
const MOST: u64 = 2_000_000;

fn bytes(made: &Made) -> u64 {
    std::fs::metadata(made.report()).expect("a report").len()
}

#[test]
fn five_times_the_variations_are_no_tenth_more() {
    let of = |runs: &str| {
        bytes(&made(
            &format!("degraded-{runs}"),
            &["vary", &scenario("degraded-scrubber"), "--runs", runs],
        ))
    };
    let (few, many) = (of("80") as f64, of("400") as f64);
    assert!(
        (many / few - 1.0).abs() < 0.1,
        "{few} bytes of 80 variations, {many} of 400"
    );
}

#[test]
fn no_report_is_large() {
    let all = [
        made::sortie(),
        made::sorties(),
        made::lock(),
        made::degraded(),
        made::stress(),
        made::trade(),
        made::rooms(),
        made::size(),
        made::boundary(),
    ];
    for made in all {
        assert!(
            bytes(&made) < MOST,
            "{}: {} bytes",
            made.report().display(),
            bytes(&made)
        );
    }
}

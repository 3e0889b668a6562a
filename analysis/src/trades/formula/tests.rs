//! Formulas as sums, and their faults with the places in the text.

use super::parse::{Fault, parse};
use super::*;

fn sum(text: &str) -> Option<f64> {
    let root = parse(text, &mut |_, _| None).unwrap_or_else(|f| panic!("{text}: {f:?}"));
    evaluate(&root, &|_| None).filter(|v| v.is_finite())
}

/// The part of the text that is at fault, and the message.
fn fault(text: &str) -> (String, String) {
    let Fault { at, message, .. } = parse(text, &mut |_, _| None).expect_err(text);
    (text[at].to_owned(), message)
}

#[test]
fn precedence_is_that_of_paper() {
    for (text, value) in [
        ("1 + 2 * 3", 7.0),
        ("(1 + 2) * 3", 9.0),
        ("8 - 3 - 2", 3.0),
        ("8 / 4 / 2", 1.0),
        ("2 ^ 3 ^ 2", 512.0),
        ("-2 ^ 2", -4.0),
        ("(-2) ^ 2", 4.0),
        ("2 ^ -1", 0.5),
        ("2 * -3", -6.0),
        ("--1", 1.0),
        ("1.5e1+.5", 15.5),
        ("min(3, 1, 2) + max(1, 4)", 5.0),
        ("abs(-2) + sqrt(9) + exp(0) + ln(1)", 6.0),
        ("ceil(1.2) * 100 + floor(1.8) * 10 + round(2.5)", 213.0),
    ] {
        assert_eq!(sum(text), Some(value), "{text}");
    }
}

#[test]
fn what_has_no_value_is_empty() {
    for text in [
        "1 / 0",
        "0 / 0",
        "1 / (1 / 0)",
        "min(1, 1 / 0)",
        "sqrt(-1)",
        "ln(-1)",
        "max(1, sqrt(-1))",
        "10 ^ 400",
    ] {
        assert_eq!(sum(text), None, "{text}");
    }
}

#[test]
fn faults_stand_where_they_are() {
    for (text, part, message) in [
        ("1 +", "", "the formula ends where a value is wanted"),
        ("", "", "the formula ends where a value is wanted"),
        ("(1 + 2", "(", "this `(` is not closed"),
        ("1 + 2)", ")", "a `)` that closes nothing"),
        ("1 2", "2", "`2` cannot stand here"),
        ("2 ** 3", "*", "`**` is not known"),
        ("2 * mass.dry", "mass.dry", "`mass.dry` stands alone"),
        ("sin(1)", "sin", "there is no function `sin`"),
        ("abs(1, 2)", "abs", "`abs` takes one value, not 2"),
        ("1 + [a in kg", "[", "this `[` is not closed"),
        ("1 + é", "é", "`é` stands alone"),
        ("1 + €", "€", "`€` cannot stand here"),
        ("1e999", "1e999", "`1e999` is no number"),
        ("max()", ")", "`)` cannot stand here"),
    ] {
        assert_eq!(fault(text), (part.to_owned(), message.to_owned()), "{text}");
    }
}

/// Neither depth nor length is without end: what walks through a formula goes as deep as it is.
#[test]
fn formulas_are_bounded() {
    let deep = format!("{}1{}", "(".repeat(50_000), ")".repeat(50_000));
    assert!(fault(&deep).1.contains("levels inside each other"));
    assert!(fault(&"-".repeat(50_000)).1.contains("levels inside each other"));
    assert!(
        fault(&format!("1{}", "^1".repeat(50_000)))
            .1
            .contains("levels inside each other")
    );
    assert!(fault(&format!("1{}", "+1".repeat(50_000))).1.contains("parts"));
    assert_eq!(sum(&format!("1{}", "+1".repeat(999))), Some(1000.0));
}

//! Courses as text, to the letter.

use super::*;

const AT_MOST: Mark = Mark {
    at: 3.0,
    at_least: false,
    word: "limit",
};

fn course<'a>(times_h: &'a [f64], values: &'a [f64], mark: Option<Mark>) -> Course<'a> {
    Course {
        times_h,
        values,
        mark,
        unit: "mmHg",
        heading: "CO2 in cabin [mmHg]",
        note: "",
    }
}

/// A value to a column, one hour each, and a last one.
fn hours(values: &[f64]) -> Vec<f64> {
    (0..values.len()).map(|hour| hour as f64).collect()
}

#[test]
fn within_the_limit_three_rows_end_at_it() {
    let values = [0.0, 0.125, 0.25, 0.5, 1.0, 1.5, 2.0, 2.5, 2.875, 3.0, 2.0, 1.0, 1.0];
    let text = draw(&course(&hours(&values), &values, Some(AT_MOST)), 12, true);
    let expected = "\
CO2 in cabin [mmHg]
      3│──────────── limit
       │       ▄▇█
       │     ▄█████
       │▁▁▂▄████████
      0└────────────
        0:00   12:00
Peak 3 mmHg at 9 h 00 min; limit 3 mmHg. A column is the highest of 1 h.
";
    assert_eq!(text, expected);
}

#[test]
fn what_is_beyond_breaks_through_the_limit_on_the_same_scale() {
    let values = [1.0, 2.0, 3.0, 3.5, 4.0, 3.1, 1.0, 1.0];
    let text = draw(&course(&hours(&values), &values, Some(AT_MOST)), 7, true);
    let expected = "\
CO2 in cabin [mmHg]
      4│   ▄█▁
      3│───███─ limit
       │  ████
       │ █████
       │███████
      0└───────
";
    assert!(text.starts_with(expected), "{text}");
    assert!(text.contains("Peak 4 mmHg at 4 h 00 min; limit 3 mmHg."), "{text}");
}

#[test]
fn far_beyond_there_are_fewer_rows_below_the_limit_and_then_it_is_cut_off_and_says_so() {
    let values = [3.0, 5.25, 3.0];
    let text = draw(&course(&hours(&values), &values, Some(AT_MOST)), 2, true);
    assert!(
        text.contains("\n      6│ ▄\n       │ █\n      3│─█ limit\n       │██\n       │██\n      0└──\n"),
        "{text}"
    );
    let values = [1.5, 90.0, 1.5];
    let text = draw(&course(&hours(&values), &values, Some(AT_MOST)), 2, true);
    let expected = "\n     12│ █\n       │ █\n       │ █\n      3│─█ limit\n       │▄█\n      0└──\n";
    assert!(text.contains(expected), "{text}");
    assert!(
        text.contains("Peak 90 mmHg at 1 h 00 min") && text.ends_with("What\nis above 12 mmHg is cut off.\n"),
        "{text}"
    );
}

#[test]
fn a_limit_that_is_far_above_is_dashed_and_leaves_the_rows_to_the_course() {
    let values = [0.1, 0.3, 0.6, 0.9, 0.3, 0.3];
    let times = hours(&values);
    let course = course(&times, &values, Some(AT_MOST));
    let text = draw(&course, 5, true);
    assert!(
        text.contains("\n      3│┄┄┄┄┄ limit\n    0.9│   █\n       │  ██\n       │▃████\n      0└─────\n"),
        "{text}"
    );
    assert!(text.ends_with(" The\nlimit is further up than drawn.\n"), "{text}");
    let text = draw(&course, 5, false);
    assert!(text.contains("\n      3|- - - limit\n    0.9|   #\n"), "{text}");
}

#[test]
fn without_utf8_there_is_ascii_alone() {
    let values = [0.2, 1.5, 2.0, 3.5, 2.5, f64::NAN, 1.0, 1.0];
    let text = draw(&course(&hours(&values), &values, Some(AT_MOST)), 7, false);
    let expected = "\
CO2 in cabin [mmHg]
      4|   :
      3|---#--- limit
       |   #:
       | :###
       |.#### #
      0+-------
";
    assert!(text.starts_with(expected), "{text}");
    assert!(text.is_ascii());
}

#[test]
fn a_gap_is_blank_and_nothing_is_not() {
    let values = [0.0, f64::NAN, 3.0, f64::NAN, f64::NAN, 0.0, 0.0];
    let text = draw(&course(&hours(&values), &values, Some(AT_MOST)), 6, true);
    assert!(text.contains("\n       │▁ █  ▁\n      0└──────\n"), "{text}");
}

#[test]
fn a_column_shows_its_highest_and_one_without_a_sample_lies_between() {
    // Ten samples to a column: the peak is one of them.
    let mut values = vec![0.0; 41];
    values[13] = 3.0;
    let text = draw(&course(&hours(&values), &values, Some(AT_MOST)), 4, true);
    assert!(text.contains("\n       │▁█▁▁\n"), "{text}");
    assert!(text.contains("A column is the highest of 10 h."), "{text}");
    // A straight line of two samples.
    let text = draw(&course(&[0.0, 8.0], &[0.0, 1.0], Some(AT_MOST)), 4, true);
    assert!(text.contains("\n       │▁▃▅█\n"), "{text}");
    // Beside a gap there is nothing to go by.
    let text = draw(&course(&[0.0, 8.0], &[1.0, f64::NAN], Some(AT_MOST)), 4, true);
    assert!(text.contains("\n       │█\n"), "{text}");
}

#[test]
fn of_what_must_not_be_too_low_the_lowest_counts() {
    let mark = Mark {
        at_least: true,
        ..AT_MOST
    };
    let mut values = vec![4.0; 21];
    values[7] = 2.0;
    let text = draw(&course(&hours(&values), &values, Some(mark)), 4, true);
    assert!(
        text.contains("\n      4│█ ██\n      3│█─██ limit\n       │█ ██\n       │████\n       │████\n      0└────\n"),
        "{text}"
    );
    assert!(
        text.contains("Lowest 2 mmHg at 7 h 00 min; limit 3 mmHg. A column is the lowest of 5 h."),
        "{text}"
    );
}

#[test]
fn without_a_limit_the_rows_end_at_the_peak() {
    let values = [0.0, 3.0, 6.0, 0.0];
    let text = draw(&course(&hours(&values), &values, None), 3, true);
    assert!(
        text.contains("\n      6│  █\n       │ ▄█\n       │▁██\n      0└───\n"),
        "{text}"
    );
    assert!(text.contains("Peak 6 mmHg at 2 h 00 min. A column"), "{text}");
    // A limit of nothing has no height above the axis.
    let zero = Mark { at: 0.0, ..AT_MOST };
    let text = draw(&course(&hours(&values), &values, Some(zero)), 3, true);
    assert!(
        text.contains("\n      6│  █\n") && text.contains("limit 0 mmHg"),
        "{text}"
    );
    let none = [0.0; 3];
    assert!(draw(&course(&hours(&none), &none, None), 2, true).contains("\n       │▁▁\n      0└──\n"));
}

#[test]
fn what_is_no_course_is_nothing() {
    for (times, values) in [
        (&[][..], &[][..]),
        (&[1.0][..], &[1.0][..]),
        (&[0.0, 1.0][..], &[f64::NAN, f64::NAN][..]),
        (&[1.0, 1.0][..], &[1.0, 2.0][..]),
    ] {
        assert_eq!(draw(&course(times, values, Some(AT_MOST)), 8, true), "");
    }
    assert_eq!(draw(&course(&[0.0, 1.0], &[1.0, 1.0], None), 0, true), "");
}

#[test]
fn a_full_width_keeps_within_80_columns_with_its_times_at_both_ends() {
    let times: Vec<f64> = (0..=1000).map(|index| 10_000.0 * f64::from(index) / 1000.0).collect();
    let values: Vec<f64> = times.iter().map(|time| 0.000_41 * time / 10_000.0).collect();
    let mark = Mark {
        at: 0.000_123,
        ..AT_MOST
    };
    let text = draw(&course(&times, &values, Some(mark)), CELLS, true);
    assert!(
        text.lines()
            .all(|line| line.chars().count() <= super::super::text::WIDTH),
        "{text}"
    );
    let clock = text.lines().find(|line| line.contains("h:min")).expect("times");
    assert_eq!(clock.chars().count(), LABEL + CELLS, "{clock:?}");
    assert!(
        clock.trim_start().starts_with("0:00 ") && clock.ends_with(" 10000:00"),
        "{clock:?}"
    );
}

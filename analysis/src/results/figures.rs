//! As many figures as the confidence of a number carries.
//!
//! The last place shown of a number known to within plus or minus u is that of the first figure of u, or of its second if
//! the first is 1 or 2: 2.4149 with u = 0.34 is 2.4, with u = 0.14 it is 2.41. So what is left out is at most a sixth of u.
//! Source: JCGM 100:2008 (GUM), 7.2.6: an uncertainty has at most two significant figures, and estimates are rounded to be
//! consistent with it; one figure or two by its first figure is the common practice.
//!
//! u = 0 says exact arithmetic: four figures, without zeros at the end. If u is not known (not finite), two figures.
//! Never more than six. From 1e-4 to 1e6 there is no exponent. A number below zero keeps its minus when it is rounded
//! to zero: it is beyond its limit all the same.

/// Figures of a number that is exact.
const OF_EXACT: i32 = 4;
/// Figures of a number of which nobody knows how far off it is.
const OF_UNKNOWN: i32 = 2;
/// Most figures: more is of no use to a reader, and the rounding of arithmetic is far below.
const MOST: i32 = 6;
/// Sizes that are written without an exponent.
const PLAIN: std::ops::Range<f64> = 1e-4..1e6;

/// A number as it is shown.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Shown {
    /// Its text, with `-` for a minus: `2.41`, `-0.080`, `12000`, `1.2e-7`.
    pub text: String,
    /// Places after the point, of its mantissa if it has an exponent.
    pub decimals: usize,
    /// Whether it has an exponent.
    pub exponent: bool,
}

/// A number that is known to within plus or minus `half_width`, and its places after the point; `-` if it is none.
#[must_use]
pub fn rounded(value: f64, half_width: f64) -> (String, usize) {
    let shown = shown(value, half_width);
    (shown.text, shown.decimals)
}

/// The same, and whether it has an exponent.
#[must_use]
pub fn shown(value: f64, half_width: f64) -> Shown {
    if !value.is_finite() {
        return plain("-".to_owned(), 0);
    }
    let first = place(value.abs()).map_or(0, |(place, _)| place);
    let last = match place(half_width.abs()) {
        _ if !half_width.is_finite() => first + 1 - OF_UNKNOWN,
        None => first + 1 - OF_EXACT,
        Some((place, 1 | 2)) => place - 1,
        Some((place, _)) => place,
    };
    let last = last.max(first + 1 - MOST);
    let exact = half_width == 0.0;
    if value == 0.0 {
        let decimals = if exact || last <= 1 - MOST { 0 } else { -last.min(0) };
        let decimals = usize::try_from(decimals).unwrap_or(0);
        return plain(format!("{:.decimals$}", 0.0), decimals);
    }
    if !PLAIN.contains(&value.abs()) {
        return with_exponent(value, usize::try_from(first - last).unwrap_or(0), exact);
    }
    if last >= 0 {
        return plain(format!("{:.0}", to_place(value, first, last)), 0);
    }
    let decimals = last.unsigned_abs() as usize;
    let text = format!("{value:.decimals$}");
    if exact {
        let text = without_zeros(&text).to_owned();
        let decimals = text.split_once('.').map_or(0, |(_, after)| after.len());
        return plain(text, decimals);
    }
    plain(text, decimals)
}

fn plain(text: String, decimals: usize) -> Shown {
    Shown {
        text,
        decimals,
        exponent: false,
    }
}

fn with_exponent(value: f64, decimals: usize, exact: bool) -> Shown {
    let text = format!("{value:.decimals$e}");
    let (mantissa, exponent) = text.split_once('e').unwrap_or((&text, "0"));
    let mantissa = if exact { without_zeros(mantissa) } else { mantissa };
    Shown {
        text: format!("{mantissa}e{exponent}"),
        decimals: mantissa.split_once('.').map_or(0, |(_, after)| after.len()),
        exponent: true,
    }
}

/// Where the first figure of a size stands (0: the ones, -1: the tenths), and which it is; none of zero.
fn place(size: f64) -> Option<(i32, u32)> {
    if size == 0.0 || !size.is_finite() {
        return None;
    }
    let text = format!("{size:e}");
    let (mantissa, exponent) = text.split_once('e')?;
    Some((exponent.parse().ok()?, mantissa.chars().next()?.to_digit(10)?))
}

/// A number rounded to a place before the point; its first figure stands at `first`.
fn to_place(value: f64, first: i32, last: i32) -> f64 {
    match usize::try_from(first - last) {
        // Through text, so that it is rounded once.
        Ok(figures) => format!("{value:.figures$e}").parse().unwrap_or(value),
        // Less than one of the place: a half or more of it is one.
        Err(_) => {
            let unit: f64 = format!("1e{last}").parse().unwrap_or(f64::INFINITY);
            (value / unit).round() * unit
        }
    }
}

/// Without the zeros, and the point, that a decimal fraction ends in.
fn without_zeros(text: &str) -> &str {
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.')
    } else {
        text
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_last_place_is_that_of_the_half_width() {
        for (value, half_width, text, decimals) in [
            (2.4149, 0.34, "2.4", 1),
            (2.4149, 0.14, "2.41", 2),
            (2.4149, 0.29, "2.41", 2),
            (2.4149, 0.3, "2.4", 1),
            (2.4149, 0.96, "2.4", 1),
            (2.4, 0.03, "2.40", 2),
            (-0.0796, 0.02, "-0.080", 3),
            (9.996, 0.05, "10.00", 2),
            (31.2, 4.0, "31", 0),
            (31.2, 1.4, "31.2", 1),
            (12_345.0, 600.0, "12300", 0),
            (12_345.0, 1_500.0, "12300", 0),
            (12_345.0, 40_000.0, "10000", 0),
            (4_345.0, 40_000.0, "0", 0),
            (7_345.0, 40_000.0, "10000", 0),
            (100.0, 12.0, "100", 0),
        ] {
            let told = rounded(value, half_width);
            assert_eq!(told, (text.to_owned(), decimals), "{value} +- {half_width}");
        }
    }

    #[test]
    fn below_zero_stays_below_zero_and_nothing_has_no_sign() {
        assert_eq!(rounded(-0.003, 0.5).0, "-0.0");
        assert_eq!(rounded(-0.003, 7.0).0, "-0");
        assert_eq!(rounded(-0.0, 0.5).0, "0.0");
        assert_eq!(rounded(-0.0, 0.0).0, "0");
        assert_eq!(rounded(0.0, 0.02).0, "0.000");
        assert_eq!(rounded(0.0, 1e-9).0, "0");
    }

    #[test]
    fn exact_numbers_have_four_figures_and_unknown_ones_two() {
        for (value, text, decimals) in [
            (2.4149, "2.415", 3),
            (0.72, "0.72", 2),
            (3.0, "3", 0),
            (12_345.6, "12350", 0),
            (0.000_123_456, "0.0001235", 7),
            (100.0, "100", 0),
            (999_960.0, "1000000", 0),
        ] {
            assert_eq!(rounded(value, 0.0), (text.to_owned(), decimals), "{value}");
        }
        for (value, text) in [(2.4149, "2.4"), (2.0, "2.0"), (0.0567, "0.057"), (1234.0, "1200")] {
            assert_eq!(rounded(value, f64::INFINITY).0, text);
            assert_eq!(rounded(value, f64::NAN).0, text);
        }
        for value in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
            assert_eq!(rounded(value, 0.1), ("-".to_owned(), 0));
        }
    }

    #[test]
    fn never_more_than_six_figures() {
        assert_eq!(rounded(2.0 / 3.0, 1e-12).0, "0.666667");
        assert_eq!(rounded(123_456.789, 1e-12).0, "123457");
    }

    #[test]
    fn exponents_only_outside_a_ten_thousandth_to_a_million() {
        for (value, half_width, text) in [
            (1.234_56e-7, 0.0, "1.235e-7"),
            (1.2e-7, 0.0, "1.2e-7"),
            (1.234_56e-7, 3e-9, "1.23e-7"),
            (1.234_56e7, 2e5, "1.235e7"),
            (-1.0e9, 0.0, "-1e9"),
            (1e-4, 0.0, "0.0001"),
            (999_999.0, 1.0, "999999"),
        ] {
            assert_eq!(rounded(value, half_width).0, text, "{value} +- {half_width}");
        }
        let shown = shown(1.234_56e-7, 3e-9);
        assert_eq!((shown.decimals, shown.exponent), (2, true));
    }

    /// What is left out is at most a sixth of the half-width, and the text reads back near the value.
    #[test]
    fn what_is_left_out_is_little_against_the_half_width() {
        for k in 0..2_000_u32 {
            let half_width = 1e-3 * 1.007_f64.powi(k as i32 % 1300);
            let value = (f64::from(k) - 1000.0) * 0.737_1;
            let back: f64 = rounded(value, half_width).0.parse().expect("a number");
            // Half a place, and a place is at most a third of the half-width; or six figures.
            let most = (half_width / 6.0).max(value.abs() * 0.5e-5);
            assert!(
                (back - value).abs() <= most * 1.000_001,
                "{value} +- {half_width}: {back}"
            );
        }
    }
}

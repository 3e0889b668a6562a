//! Where an axis has its marks: round numbers, and round times.

/// Marks at 1, 2 or 5 times a power of ten within `[lo, hi]`, some `most` of them at most.
#[must_use]
pub fn round(lo: f64, hi: f64, most: usize) -> Vec<f64> {
    let span = hi - lo;
    if !span.is_finite() || span <= 0.0 || most == 0 {
        return Vec::new();
    }
    let rough = span / most as f64;
    let power = libm::pow(10.0, libm::floor(libm::log10(rough)));
    let step = [1.0, 2.0, 5.0, 10.0]
        .map(|k| k * power)
        .into_iter()
        .find(|&step| step >= rough * 0.999_999);
    every(lo, hi, step.unwrap_or(10.0 * power))
}

/// Marks of time in hours: minutes, hours or days.
#[must_use]
pub fn of_time(lo: f64, hi: f64, most: usize) -> Vec<f64> {
    const STEPS_H: [f64; 17] = [
        1.0 / 60.0,
        2.0 / 60.0,
        5.0 / 60.0,
        10.0 / 60.0,
        0.25,
        0.5,
        1.0,
        2.0,
        3.0,
        6.0,
        12.0,
        24.0,
        48.0,
        96.0,
        168.0,
        336.0,
        672.0,
    ];
    let span = hi - lo;
    if !span.is_finite() || span <= 0.0 || most == 0 {
        return Vec::new();
    }
    match STEPS_H.into_iter().find(|step| span / step <= most as f64) {
        Some(step) => every(lo, hi, step),
        None => round(lo, hi, most),
    }
}

fn every(lo: f64, hi: f64, step: f64) -> Vec<f64> {
    let (first, last) = (libm::ceil(lo / step - 1e-9), libm::floor(hi / step + 1e-9));
    if !(first.is_finite() && last - first < 1e3) {
        return Vec::new();
    }
    (0..=(last - first) as usize)
        .map(|i| (first + i as f64) * step)
        .collect()
}

/// A mark's words: as many decimals as tell neighbours apart.
#[must_use]
pub fn label(value: f64, step: f64) -> String {
    let decimals = if step > 0.0 && step.is_finite() {
        (-libm::floor(libm::log10(step) + 1e-9)).clamp(0.0, 9.0) as usize
    } else {
        2
    };
    let text = format!("{value:.decimals$}");
    if text.trim_start_matches('-').trim_matches(['0', '.']).is_empty() {
        "0".to_owned()
    } else {
        text
    }
}

/// The words of a time in hours: "6", "1:30" below an hour's spacing.
#[must_use]
pub fn time_label(hours: f64, step: f64) -> String {
    if step >= 1.0 {
        return label(hours, 1.0);
    }
    let minutes = libm::round(hours * 60.0);
    let sign = if minutes < 0.0 { "-" } else { "" };
    let minutes = minutes.abs();
    format!("{sign}{}:{:02}", libm::floor(minutes / 60.0), (minutes % 60.0) as i64)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn marks_are_round_and_within() {
        assert_eq!(round(0.0, 10.0, 5), [0.0, 2.0, 4.0, 6.0, 8.0, 10.0]);
        let small = round(0.021, 0.038, 4);
        assert_eq!(
            small.iter().map(|&v| label(v, 0.005)).collect::<Vec<_>>(),
            ["0.025", "0.030", "0.035"]
        );
        assert_eq!(of_time(0.0, 72.0, 8), [0.0, 12.0, 24.0, 36.0, 48.0, 60.0, 72.0]);
        assert_eq!(
            of_time(1.1, 2.2, 5)
                .iter()
                .map(|&t| time_label(t, 0.25))
                .collect::<Vec<_>>(),
            ["1:15", "1:30", "1:45", "2:00"]
        );
        for empty in [
            round(1.0, 1.0, 4),
            round(f64::NAN, 1.0, 4),
            round(0.0, 1.0, 0),
            of_time(2.0, 1.0, 4),
        ] {
            assert!(empty.is_empty());
        }
    }

    #[test]
    fn nought_has_no_sign_and_no_decimals() {
        assert_eq!(
            (label(-0.0, 0.5), label(-0.5, 0.5), label(100.0, 50.0)),
            ("0".into(), "-0.5".into(), "100".into())
        );
        assert_eq!(time_label(0.0, 1.0), "0");
    }
}

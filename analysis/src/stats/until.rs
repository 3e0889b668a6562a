//! What a study is to reach before it stops, as a person writes it: `probability within 0.002`.
//!
//! Equation: none. `within` is half the width of the interval of every limit's chance of violation.
//! Symbols: a share, or per cent of all runs.
//! Source: none.
//! Valid above 0 and below 0.5: half of [0, 1] is reached without a run.
//! Left out: margins, whose unit differs from limit to limit.

/// A target for [`looks`](super::looks).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Until {
    /// Half width that the interval of every probability is to reach.
    pub probability_within: f64,
}

/// Reads `probability within 0.002` or `probability within 0.2 %`.
///
/// # Errors
/// What is wrong with the phrase, and what would be right.
pub fn parse(text: &str) -> Result<Until, String> {
    const RIGHT: &str = "write for example \"probability within 0.002\" or \"probability within 0.2 %\"";
    let mut words = text.split_whitespace();
    match words.next() {
        Some("probability") => {}
        Some(word) => {
            return Err(format!(
                "\"{word}\" cannot be waited for, only \"probability\": {RIGHT}"
            ));
        }
        None => return Err(format!("nothing to wait for: {RIGHT}")),
    }
    match words.next() {
        Some("within") => {}
        Some(word) => return Err(format!("\"{word}\" stands where \"within\" should: {RIGHT}")),
        None => return Err(format!("how close is missing: {RIGHT}")),
    }
    let amount = words.collect::<Vec<_>>().join(" ");
    if amount.is_empty() {
        return Err(format!("how close is missing: {RIGHT}"));
    }
    let (number, scale) = match amount.strip_suffix('%') {
        Some(number) => (number.trim_end(), 100.0),
        None => (amount.as_str(), 1.0),
    };
    let within = number
        .parse::<f64>()
        .map_err(|_| format!("\"{amount}\" is not a number or a percentage: {RIGHT}"))?
        / scale;
    if within > 0.0 && within < 0.5 {
        Ok(Until {
            probability_within: within,
        })
    } else {
        Err(format!("\"{amount}\" is not above 0 and below 0.5 (50 %): {RIGHT}"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_and_percentages_are_read() {
        for (text, within) in [
            ("probability within 0.002", 0.002),
            ("  probability   within 0.2 % ", 0.002),
            ("probability within 5%", 0.05),
            ("probability within 1e-3", 0.001),
        ] {
            assert_eq!(
                parse(text),
                Ok(Until {
                    probability_within: within
                }),
                "{text}"
            );
        }
    }

    #[test]
    fn faults_say_what_would_be_right() {
        for (text, part) in [
            ("", "nothing to wait for"),
            ("margin within 3", "\"margin\" cannot be waited for"),
            ("probability", "how close is missing"),
            ("probability below 0.1", "\"below\" stands where \"within\" should"),
            ("probability within", "how close is missing"),
            ("probability within x", "\"x\" is not a number"),
            ("probability within 0.1 kPa", "\"0.1 kPa\" is not a number"),
            ("probability within 0", "\"0\" is not above 0"),
            ("probability within 50 %", "\"50 %\" is not above 0 and below 0.5"),
            ("probability within -1 %", "\"-1 %\" is not above 0"),
            ("probability within nan", "is not above 0"),
        ] {
            let fault = parse(text).expect_err(text);
            assert!(
                fault.contains(part) && fault.contains("\"probability within 0.002\""),
                "{fault}"
            );
        }
    }
}

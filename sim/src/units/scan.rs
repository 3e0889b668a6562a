//! Reading a number and the word after it out of a text, with byte positions for messages.

use std::ops::Range;

use super::error::QuantityError;
use super::quantity::Dimension;

/// A number found in a text.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Found {
    pub(super) value: f64,
    pub(super) span: Range<usize>,
}

/// Most characters of a user's text that a message quotes.
const QUOTED_MOST: usize = 40;

/// A text as a message quotes it: whole, or its beginning.
pub(super) fn quoted(text: &str) -> String {
    match text.char_indices().nth(QUOTED_MOST) {
        Some((cut, _)) => format!("{}...", &text[..cut]),
        None => text.to_owned(),
    }
}

/// The range of `text[from..to]` without blanks at its ends.
pub(super) fn trimmed(text: &str, range: Range<usize>) -> Range<usize> {
    let part = &text[range.clone()];
    let start = range.start + (part.len() - part.trim_start().len());
    start..start + part.trim().len()
}

/// The number at the start of `range` (blanks skipped): sign, digits, decimal point, exponent.
pub(super) fn number(text: &str, range: Range<usize>, dimension: Dimension) -> Result<Found, QuantityError> {
    let range = trimmed(text, range);
    if range.is_empty() {
        return Err(QuantityError::Empty {
            span: 0..text.len(),
            dimension,
        });
    }
    let bytes = &text.as_bytes()[..range.end];
    let start = range.start;
    let unsigned = start + usize::from(matches!(bytes[start], b'+' | b'-'));
    let whole = digits(bytes, unsigned);
    let mut end = whole;
    let mut any = whole > unsigned;
    if bytes.get(end) == Some(&b'.') {
        let fraction = digits(bytes, end + 1);
        any |= fraction > end + 1;
        end = fraction;
    }
    if !any {
        return Err(no_digits(text, range, dimension));
    }
    if matches!(bytes.get(end), Some(b'e' | b'E')) {
        let sign = end + 1 + usize::from(matches!(bytes.get(end + 1), Some(b'+' | b'-')));
        let exponent = digits(bytes, sign);
        if exponent > sign {
            end = exponent;
        }
    }
    after_number(text, start..end, range.end, dimension)?;
    let span = start..end;
    match text[span.clone()].parse::<f64>() {
        Ok(value) if value.is_finite() => Ok(Found { value, span }),
        Ok(_) => Err(QuantityError::NotFinite {
            text: quoted(&text[span.clone()]),
            span,
        }),
        Err(_) => Err(QuantityError::NotANumber {
            text: quoted(&text[span.clone()]),
            span,
            dimension,
        }),
    }
}

/// The end of the run of digits that starts at `at`.
fn digits(bytes: &[u8], at: usize) -> usize {
    at + bytes[at.min(bytes.len())..]
        .iter()
        .take_while(|b| b.is_ascii_digit())
        .count()
}

/// The fault where no digit is found: a written infinity, or no number at all.
fn no_digits(text: &str, range: Range<usize>, dimension: Dimension) -> QuantityError {
    let word = text[range.clone()].split_whitespace().next().unwrap_or("");
    let span = range.start..range.start + word.len();
    let bare = word.trim_start_matches(['+', '-']).to_ascii_lowercase();
    match bare.as_str() {
        "nan" | "inf" | "infinity" => QuantityError::NotFinite {
            text: quoted(word),
            span,
        },
        _ => QuantityError::NotANumber {
            text: quoted(word),
            span,
            dimension,
        },
    }
}

/// Refuses what looks like more of the same number: a comma, a separator, a second point.
fn after_number(text: &str, span: Range<usize>, end: usize, dimension: Dimension) -> Result<(), QuantityError> {
    let rest = &text[span.end..end];
    if !rest.starts_with([',', '_', '\'', '.']) {
        return Ok(());
    }
    let more = rest.find(|c: char| !(c.is_ascii_digit() || matches!(c, ',' | '_' | '\'' | '.')));
    let word = span.start..span.end + more.unwrap_or(rest.len());
    let written = &text[word.clone()];
    let commas = written.matches(',').count();
    if commas == 1 && !written.ends_with(',') && !written.contains(['_', '\'']) {
        return Err(QuantityError::Comma {
            text: quoted(written),
            span: word,
        });
    }
    Err(QuantityError::NotANumber {
        text: quoted(written),
        span: word,
        dimension,
    })
}

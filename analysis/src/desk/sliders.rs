//! Sliders: which values get one, over which range, and what is written when one is moved.

use breathroom_sim::scenario::keys::{Domain, Key, Kind};
use breathroom_sim::scenario::{Amount, Resolved, Scenario};
use breathroom_sim::units::{Dimension, figures};
use serde_json::{Value, json};

use super::outline::Outline;
use crate::trades::about::{About, Spread};

/// Most sliders without a choice of one's own.
const MOST: usize = 8;
/// Steps over a slider's range.
const STEPS: f64 = 200.0;

/// A value that can be moved.
pub(super) struct Slider {
    /// In its unit.
    pub value: f64,
    /// The unit; empty of a plain number.
    pub unit: &'static str,
    /// Ends of the range, in the unit.
    pub range: [f64; 2],
    /// A step, in the unit: a round number.
    pub step: f64,
    /// How a spread is kept; none where there is a plain value.
    pub keeps: Option<Spread>,
}

impl Slider {
    /// The slider of a value of a scenario; none where there is no number to move.
    pub fn of(scenario: &Scenario, value: &Resolved, key: Option<&Key>) -> Option<Self> {
        let amount = value.amount?;
        let unit = amount.unit;
        let keeps = match value.input {
            None => None,
            Some(_) => Some(keeps(scenario, &value.path)?),
        };
        let domain = domain(key?)?;
        let now = unit.from_si(amount.si);
        let (lo, hi) = match value.input {
            Some(input) => {
                let spread = &scenario.inputs[input].spread;
                let [lo, hi] = [0.01, 0.99].map(|p| unit.from_si(spread.quantile(p)));
                (lo - (hi - lo) / 2.0, hi + (hi - lo) / 2.0)
            }
            None if now == 0.0 => (0.0, unit.from_si(domain.hi).min(1.0)),
            None => {
                let half = now.abs() / 2.0;
                (now - half, now + half)
            }
        };
        // Scaled values stay on their side of nothing.
        let lo = if keeps == Some(Spread::Scaled) && now > 0.0 {
            lo.max(now / 10.0)
        } else {
            lo
        };
        let (least, most) = (unit.from_si(domain.lo), unit.from_si(domain.hi));
        let (lo, hi) = (lo.max(least), hi.min(most));
        if !(lo.is_finite() && hi.is_finite() && lo < hi) {
            return None;
        }
        let step = round_down((hi - lo) / STEPS);
        let lo = if lo > 0.0 { (lo / step).ceil() * step } else { lo };
        let whole = amount.dimension == Dimension::Number && matches!(key?.kind, Kind::Whole(..));
        Some(Self {
            value: now,
            unit: unit.symbol,
            range: if whole { [lo.floor(), hi.ceil()] } else { [lo, hi] },
            step: if whole { 1.0 } else { step },
            keeps,
        })
    }

    /// As the page wants it.
    pub fn json(&self) -> Value {
        json!({
            "value": self.value, "unit": self.unit, "from": self.range[0], "to": self.range[1], "step": self.step,
            "keeps": self.keeps.map(Spread::name),
        })
    }
}

/// How the spread at a path can be kept about another median; none if it cannot.
fn keeps(scenario: &Scenario, path: &str) -> Option<Spread> {
    let ways = [Spread::Scaled, Spread::Shifted];
    ways.into_iter().find(|way| About::new(scenario, path, *way).is_ok())
}

/// What the reader takes as possible.
fn domain(key: &Key) -> Option<Domain> {
    match key.kind {
        Kind::Number(_, domain)
        | Kind::NumberOrTable(_, domain, _)
        | Kind::NumberOrName(_, domain, _)
        | Kind::Fixed(_, domain) => Some(domain),
        Kind::Whole(lo, hi) if hi > lo => Some(Domain {
            lo: lo as f64,
            hi: hi as f64,
        }),
        _ => None,
    }
}

/// The largest of 1, 2, 5 times a power of ten that is not above a number.
fn round_down(x: f64) -> f64 {
    let mut power = 1.0_f64;
    while power > x {
        power /= 10.0;
    }
    while power * 10.0 <= x {
        power *= 10.0;
    }
    let times = [5.0, 2.0, 1.0].into_iter().find(|times| times * power <= x);
    times.unwrap_or(1.0) * power
}

/// How a moved value is written: what is needed of the scenario as it was when the hand took hold of it.
#[derive(Clone, Debug)]
pub(super) struct Hold {
    about: About,
    amount: Amount,
    whole: bool,
}

impl Hold {
    /// Of a path of a scenario.
    ///
    /// # Errors
    /// If there is no number to move: why.
    pub fn new(scenario: &Scenario, path: &str, key: Option<&Key>) -> Result<Self, String> {
        let none = || format!("`{path}` is no number that could be moved");
        let value = resolved(scenario, path).ok_or_else(none)?;
        let slider = Slider::of(scenario, value, key).ok_or_else(none)?;
        Ok(Self {
            about: About::new(scenario, path, slider.keeps.unwrap_or(Spread::Exact))?,
            amount: value.amount.ok_or_else(none)?,
            whole: key.is_some_and(|key| matches!(key.kind, Kind::Whole(..))),
        })
    }

    /// The TOML of a value in its unit.
    pub fn written(&self, value: f64) -> String {
        if self.whole {
            return format!("{value:.0}");
        }
        rounded(&self.about.written(value, self.amount.unit))
    }
}

/// Digits of a number that a hand has moved: a spread that is scaled about it would have twelve.
const DIGITS: usize = 6;

/// TOML with its numbers rounded to [`DIGITS`]; what is in words stays.
fn rounded(toml: &str) -> String {
    let mut out = String::with_capacity(toml.len());
    let mut rest = toml;
    let mut in_word = false;
    while let Some(c) = rest.chars().next() {
        let length = number_length(rest);
        match rest[..length].parse::<f64>() {
            // The 3 of "m3" is no number.
            Ok(value) if c.is_ascii_digit() && !in_word => {
                out.push_str(&figures(value, DIGITS));
                rest = &rest[length..];
                in_word = false;
            }
            _ => {
                out.push(c);
                in_word = c.is_alphanumeric() || c == '_';
                rest = &rest[c.len_utf8()..];
            }
        }
    }
    out
}

/// How many bytes of a text are a number without its sign.
fn number_length(text: &str) -> usize {
    let bytes = text.as_bytes();
    let mut at = 0;
    while let Some(byte) = bytes.get(at) {
        let sign = usize::from(matches!(bytes.get(at + 1), Some(b'+' | b'-')));
        match byte {
            b'0'..=b'9' | b'.' => at += 1,
            b'e' | b'E' if at > 0 && bytes.get(at + 1 + sign).is_some_and(u8::is_ascii_digit) => at += 1 + sign,
            _ => break,
        }
    }
    at
}

/// A value of a scenario by its path.
pub(super) fn resolved<'s>(scenario: &'s Scenario, path: &str) -> Option<&'s Resolved> {
    scenario.resolved.iter().find(|value| value.path == path)
}

/// Paths that get a slider without a choice: volumes, what removal devices that are on do, then what is drawn once.
pub(super) fn usual(outline: &Outline, scenario: &Scenario) -> Vec<String> {
    let off = |path: &str| {
        let device = path.rsplit_once('.').map_or("", |(device, _)| device);
        let on = format!("{device}.on");
        outline.field(&on).is_some_and(|field| field.text == "false")
    };
    let matters = |path: &str| {
        let name = path.rsplit('.').next().unwrap_or_default();
        (path.starts_with("compartments.") && name == "free_volume")
            || (path.starts_with("removal.") && (name == "flow" || name.ends_with("efficiency")) && !off(path))
    };
    let fields = || outline.parts.iter().flat_map(|part| &part.fields);
    let movable = |path: &str, key: Option<&'static Key>| {
        resolved(scenario, path).is_some_and(|value| Slider::of(scenario, value, key).is_some())
    };
    let once = |path: &str| {
        let input = resolved(scenario, path).and_then(|value| value.input);
        input.is_some_and(|input| !scenario.inputs[input].per_turn)
    };
    let first = fields().filter(|field| matters(&field.path));
    let then = fields().filter(|field| !matters(&field.path) && once(&field.path));
    first
        .chain(then)
        .filter(|field| movable(&field.path, field.key))
        .map(|field| field.path.clone())
        .take(MOST)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_rounded_and_words_are_not() {
        let long = "{ normal = [\"0.741000045997 m3/min\", \"0.0390000024209 m3/min\"], within = [\"-1.23456789e-5 m3/min\", \"12345.678 m3/min\"] }";
        let short =
            "{ normal = [\"0.741 m3/min\", \"0.039 m3/min\"], within = [\"-1.23457e-5 m3/min\", \"12345.7 m3/min\"] }";
        assert_eq!(rounded(long), short);
        assert_eq!(rounded("\"4.2 m3\""), "\"4.2 m3\"");
        assert_eq!(
            rounded("{ choice = [\"b12345678901\", 3] }"),
            "{ choice = [\"b12345678901\", 3] }"
        );
    }

    #[test]
    fn a_step_is_a_round_number() {
        for (x, step) in [(0.003, 0.002), (0.0199, 0.01), (1.0, 1.0), (7.3, 5.0), (450.0, 200.0)] {
            let rounded = round_down(x);
            assert!((rounded / step - 1.0).abs() < 1e-12, "{x}: {rounded}");
        }
    }
}

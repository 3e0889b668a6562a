//! A value of a design that is not in a trade file: as an override, with the spread of the scenario kept about it or not.

use breathroom_sim::scenario::{Amount, Scenario};
use breathroom_sim::units::{Dimension, Unit};

use super::apply::resolved;
use super::kept::{Change, Keep, changed, number};

/// What becomes of the spread that stands where a value is set.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Spread {
    /// It goes: the value is all there is.
    #[default]
    Exact,
    /// It is multiplied by value / median.
    Scaled,
    /// It is moved by value - median.
    Shifted,
}

impl Spread {
    /// By its name.
    #[must_use]
    pub fn parse(text: &str) -> Option<Self> {
        Keep::of(text).map(|keep| match keep {
            Keep::Exact => Self::Exact,
            Keep::Scaled => Self::Scaled,
            Keep::Shifted => Self::Shifted,
        })
    }

    /// Its name.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Exact => "exact",
            Self::Scaled => "scaled",
            Self::Shifted => "shifted",
        }
    }
}

/// How values of one quantity are written.
#[derive(Clone, Debug)]
pub struct About {
    /// The spread that is kept, what it amounts to, and how.
    kept: Option<(String, Amount, Spread)>,
}

impl About {
    /// Of a path of a scenario.
    ///
    /// # Errors
    /// If its spread cannot be kept in this way: why.
    pub fn new(scenario: &Scenario, path: &str, spread: Spread) -> Result<Self, String> {
        if spread == Spread::Exact {
            return Ok(Self { kept: None });
        }
        let there = resolved(scenario, path).filter(|value| value.input.is_some());
        let Some((written, amount)) = there.and_then(|value| Some((value.written.clone(), value.amount?))) else {
            return Err(format!(
                "`{path}` has no spread in the scenario that could be {}",
                spread.name()
            ));
        };
        if spread == Spread::Scaled && (amount.dimension == Dimension::Temperature || amount.si == 0.0) {
            return Err(format!(
                "the spread of `{path}` cannot be scaled, since its zero is a matter of the unit: try shifted"
            ));
        }
        let about = Self {
            kept: Some((written, amount, spread)),
        };
        about
            .keep(amount.si)
            .map_err(|why| format!("the spread of `{path}` cannot be {}: {why}", spread.name()))?;
        Ok(about)
    }

    /// A value in a unit, as TOML.
    #[must_use]
    pub fn written(&self, value: f64, unit: Unit) -> String {
        let plain = || number(value, unit);
        match self.kept {
            None => plain(),
            // It was tried when this was made.
            Some(_) => self.keep(unit.to_si(value)).unwrap_or_else(|_| plain()),
        }
    }

    fn keep(&self, si: f64) -> Result<String, String> {
        let Some((written, amount, spread)) = &self.kept else {
            return Err("there is none".to_owned());
        };
        let change = match spread {
            Spread::Shifted => Change::Plus(si - amount.si),
            _ => Change::Times(si / amount.si),
        };
        changed(written, amount.dimension, change)
    }
}

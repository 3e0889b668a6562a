//! Formulas of columns: sums over a row's levels, constants of its options, values of its scenario and means of its results.
//!
//! ```text
//! sum = product (("+" | "-") product)*       power = atom ("^" minus)?
//! product = minus (("*" | "/") minus)*       atom = number | [NAME in UNIT] | [RESULT] | name(sum, ...) | (sum)
//! minus = "-" minus | power
//! ```
//!
//! So -2 ^ 2 is -4, 2 ^ -1 is a half and 2 ^ 3 ^ 2 is 2 ^ 9. Functions come from `libm`; `round` goes half away from zero. Left out: names
//! of other columns.

mod names;
mod parse;
#[cfg(test)]
mod tests;

use breathroom_sim::units::Unit;

use crate::study::measure::Measure;

use super::Trade;
use super::apply::resolved;
use super::factor::Factor;
use super::figure::Figure;
use super::trade::Row;

pub(super) use names::{Known, read};

/// A formula that was read, with the unit and the meaning of its result.
#[derive(Clone, Debug)]
pub struct Formula {
    /// As written.
    pub text: String,
    /// Unit of what comes out, as written; may be empty.
    pub unit: String,
    /// What comes out, in a sentence.
    pub meaning: String,
    pub(super) root: Expression,
}

/// A part of a formula.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Expression {
    Number(f64),
    Reference(Reference),
    Negative(Box<Expression>),
    Pair(Operation, Box<[Expression; 2]>),
    Call(Function, Vec<Expression>),
}

/// What stands in brackets.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Reference {
    /// The level of the factor of this index.
    Level(usize, Unit),
    /// A constant of the row's option, in a unit.
    Figure(String, String),
    /// A value of the row's scenario, in a unit.
    Path(String, Unit),
    /// A mean over the row's variations.
    Result(Measure),
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Operation {
    Plus,
    Minus,
    Times,
    Over,
    Power,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Function {
    Min,
    Max,
    Abs,
    Sqrt,
    Exp,
    Ln,
    Ceil,
    Floor,
    Round,
}

impl Function {
    pub const ALL: [(&'static str, Self); 9] = [
        ("min", Self::Min),
        ("max", Self::Max),
        ("abs", Self::Abs),
        ("sqrt", Self::Sqrt),
        ("exp", Self::Exp),
        ("ln", Self::Ln),
        ("ceil", Self::Ceil),
        ("floor", Self::Floor),
        ("round", Self::Round),
    ];

    fn of(self, values: &[f64]) -> f64 {
        // NaN goes through: `f64::min` would lose it.
        let fold = |pick: fn(f64, f64) -> f64| {
            let whole = |a: f64, b: &f64| {
                if a.is_nan() || b.is_nan() {
                    f64::NAN
                } else {
                    pick(a, *b)
                }
            };
            values[1..].iter().fold(values[0], whole)
        };
        let x = values[0];
        match self {
            Self::Min => fold(f64::min),
            Self::Max => fold(f64::max),
            Self::Abs => x.abs(),
            Self::Sqrt => x.sqrt(),
            Self::Exp => libm::exp(x),
            Self::Ln => libm::log(x),
            Self::Ceil => libm::ceil(x),
            Self::Floor => libm::floor(x),
            Self::Round => libm::round(x),
        }
    }
}

impl Formula {
    /// The results whose means it needs, each once.
    pub(super) fn measures(&self) -> Vec<Measure> {
        let mut all = Vec::new();
        collect(&self.root, &mut all);
        all
    }

    /// Its value in a row of a trade; none if it is not finite.
    pub(super) fn value(&self, trade: &Trade, row: usize, mean_of: &dyn Fn(&Measure) -> Option<f64>) -> Option<f64> {
        let row = trade.rows.get(row)?;
        let of = |reference: &Reference| value_of(reference, &trade.factors, row, mean_of);
        evaluate(&self.root, &of).filter(|value| value.is_finite())
    }
}

fn collect(expression: &Expression, into: &mut Vec<Measure>) {
    match expression {
        Expression::Number(_) => {}
        Expression::Reference(Reference::Result(measure)) => {
            if !into.contains(measure) {
                into.push(measure.clone());
            }
        }
        Expression::Reference(_) => {}
        Expression::Negative(inner) => collect(inner, into),
        Expression::Pair(_, pair) => pair.iter().for_each(|part| collect(part, into)),
        Expression::Call(_, parts) => parts.iter().for_each(|part| collect(part, into)),
    }
}

fn value_of(
    reference: &Reference,
    factors: &[Factor],
    row: &Row,
    mean_of: &dyn Fn(&Measure) -> Option<f64>,
) -> Option<f64> {
    match reference {
        Reference::Level(factor, unit) => {
            let own = factors[*factor].unit?;
            Some(unit.from_si(own.to_si(row.numbers[*factor]?)))
        }
        Reference::Figure(name, unit) => {
            let (_, written) = row.figures.iter().find(|(known, _)| known == name)?;
            let figure = Figure {
                name: String::new(),
                written: written.clone(),
            };
            figure.value_in(unit)
        }
        Reference::Path(path, unit) => {
            let amount = resolved(row.scenario.as_ref().ok()?, path)?.amount?;
            let fits = (amount.unit.symbol == "met") == (unit.symbol == "met");
            fits.then(|| unit.from_si(amount.si))
        }
        Reference::Result(measure) => mean_of(measure),
    }
}

/// The value of an expression, its references looked up.
pub(super) fn evaluate(expression: &Expression, of: &dyn Fn(&Reference) -> Option<f64>) -> Option<f64> {
    Some(match expression {
        Expression::Number(value) => *value,
        Expression::Reference(reference) => of(reference)?,
        Expression::Negative(inner) => -evaluate(inner, of)?,
        Expression::Pair(operation, pair) => {
            let (a, b) = (evaluate(&pair[0], of)?, evaluate(&pair[1], of)?);
            match operation {
                Operation::Plus => a + b,
                Operation::Minus => a - b,
                Operation::Times => a * b,
                // An infinity would come back finite out of min() or 1 / x.
                Operation::Over if b == 0.0 => return None,
                Operation::Over => a / b,
                Operation::Power => libm::pow(a, b),
            }
        }
        Expression::Call(function, parts) => {
            let values: Vec<f64> = parts.iter().map(|part| evaluate(part, of)).collect::<Option<_>>()?;
            function.of(&values)
        }
    })
}

//! Results of `compare`: which inputs differ between two scenarios or two results folders, which margins moved, whether beyond chance.
//!
//! ```text
//! scenario + its runs --Side::of--\
//!                                  Side, Side --compare--> Comparison --> summary.json, tables, sentences
//! results folder --folder::Told---/
//! ```

mod changes;
pub mod folder;
mod side;
mod summary;
mod tables;
#[cfg(test)]
mod tests;
mod words;

use breathroom_sim::units::{Dimension, Unit, unit};
use rayon::prelude::*;

use crate::study::Gate;
use crate::study::compare::{Compared, Luck, Verdict, compared, exact, is_judged};
use crate::study::trade::{Known, Statistic};

pub use changes::{Changed, How, RuleChanged};
pub use side::{InputOf, LimitOf, Side, TotalOf, gauges};
pub use summary::{CompareSummary, build};
pub use tables::{changed, limits, margins, totals};
pub use words::sentences;

/// What the two sides are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Of {
    /// Two scenarios, run here.
    Scenarios,
    /// Two results of `vary`.
    Variations,
    /// Two results of `run`: nothing is left to chance.
    Runs,
}

/// On which sides something is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum On {
    /// On both.
    Both,
    /// On A alone.
    OnlyA,
    /// On B alone.
    OnlyB,
}

/// One number of both sides.
#[derive(Clone, Debug, PartialEq)]
pub struct Figure {
    /// "kept", "mean", "beyond", "on the medians".
    pub name: &'static str,
    /// Its unit.
    pub unit: String,
    /// The number and its difference.
    pub of: Compared,
    /// Where it is.
    pub on: On,
    /// More is better, or worse; `None`: neither.
    pub more_is_better: Option<bool>,
}

impl Figure {
    /// What its difference says, in a word or two.
    #[must_use]
    pub fn verdict(&self) -> &'static str {
        match (self.on, self.of.verdict, self.more_is_better) {
            (On::OnlyA, ..) => "only in A",
            (On::OnlyB, ..) => "only in B",
            (_, Verdict::NotJudged, _) => "not judged",
            (_, Verdict::Same, _) => "the same",
            (_, Verdict::NotSeen, _) => "no difference seen",
            (_, Verdict::More, Some(true)) | (_, Verdict::Less, Some(false)) => "better",
            (_, Verdict::More, Some(false)) | (_, Verdict::Less, Some(true)) => "worse",
            (_, Verdict::More, None) => "more",
            (_, Verdict::Less, None) => "less",
        }
    }

    /// It has moved, by more than chance if there is any.
    #[must_use]
    pub fn has_moved(&self) -> bool {
        matches!(self.of.verdict, Verdict::More | Verdict::Less)
    }
}

/// A limit on both sides, or on one.
#[derive(Clone, Debug, PartialEq)]
pub struct LimitCompared {
    /// Its id.
    pub id: String,
    /// The unit of its margins.
    pub unit: String,
    /// Its figures.
    pub figures: Vec<Figure>,
    /// Whether it is met, on A and on B: at the gate, or in the run; `None` where that is not known.
    pub met: [Option<bool>; 2],
    /// Where it is.
    pub on: On,
}

/// A total on both sides.
#[derive(Clone, Debug, PartialEq)]
pub struct TotalCompared {
    /// Its name.
    pub name: String,
    /// It.
    pub figure: Figure,
}

/// Two sides compared.
#[derive(Clone, Debug)]
pub struct Comparison {
    /// What they are.
    pub of: Of,
    /// The first.
    pub a: Side,
    /// The second.
    pub b: Side,
    /// What their variations share; `None` without variations.
    pub luck: Option<Luck>,
    /// Variations of each that are compared; 1 of a run.
    pub runs: [u64; 2],
    /// The gate.
    pub gate: Gate,
    /// How many comparisons are judged together.
    pub comparisons: usize,
    /// Inputs and data files that differ; `None` if the inputs are not known.
    pub inputs: Option<Vec<Changed>>,
    /// Every limit, and what became of its rule.
    pub rules: Vec<RuleChanged>,
    /// Margins.
    pub limits: Vec<LimitCompared>,
    /// Totals and times.
    pub totals: Vec<TotalCompared>,
    /// What the two have that cannot be compared, and the like.
    pub notes: Vec<String>,
}

/// Compares two sides, on the threads of the pool that this is called in.
#[must_use]
pub fn compare(of: Of, a: Side, b: Side, gate: Gate) -> Comparison {
    let (luck, runs) = shared(of, &a, &b);
    let seed = a.seed.unwrap_or(0);
    let mut notes = Vec::new();
    let pairs = pairs(&a, &b, &mut notes);
    let statistics = [
        ("kept", Statistic::Kept(gate), Some(true)),
        ("mean", Statistic::Mean, Some(true)),
        ("beyond", Statistic::Beyond, Some(false)),
    ];
    let judged = luck.map_or(0, |luck| {
        statistics.iter().filter(|(_, of, _)| is_judged(*of, luck)).count()
    });
    let both = pairs.iter().filter(|(x, y)| x.is_some() && y.is_some()).count();
    let totals: Vec<(&TotalOf, &TotalOf)> = a
        .totals
        .iter()
        .filter_map(|x| Some((x, b.totals.iter().find(|y| y.name == x.name)?)))
        .collect();
    // Of results of `vary` totals are those of the run on the medians.
    let of_variations = of == Of::Scenarios;
    let comparisons = both * judged + if of_variations { totals.len() } else { 0 };
    let first = |values: &[f64], side: usize| values[..values.len().min(runs[side] as usize)].to_vec();
    let limit = |(x, y): &(Option<LimitOf>, Option<LimitOf>)| {
        let (on, named) = match (x, y) {
            (Some(x), Some(_)) => (On::Both, x),
            (Some(x), None) => (On::OnlyA, x),
            (None, Some(y)) => (On::OnlyB, y),
            (None, None) => return None,
        };
        let margins = |limit: &Option<LimitOf>, side| limit.as_ref().map(|limit| first(&limit.margins, side));
        let (x, y) = (margins(x, 0), margins(y, 1));
        let figure = |name, unit: &str, of, more_is_better| Figure {
            name,
            unit: unit.to_owned(),
            of,
            on,
            more_is_better,
        };
        let figures: Vec<Figure> = match luck {
            None => {
                let one = |values: &Option<Vec<f64>>| values.as_ref().and_then(|of| of.first()).copied();
                let of = exact(one(&x).unwrap_or(f64::NAN), one(&y).unwrap_or(f64::NAN));
                vec![figure("on the medians", &named.unit, of, Some(true))]
            }
            Some(luck) => statistics
                .iter()
                .map(|&(name, statistic, good)| {
                    let of = match (&x, &y) {
                        (Some(x), Some(y)) => compared(statistic, (x, y), luck, comparisons, seed),
                        _ => alone(statistic, (x.as_deref(), y.as_deref()), luck),
                    };
                    if name == "beyond" {
                        figure(name, "%", in_percent(of), good)
                    } else {
                        figure(name, &named.unit, of, good)
                    }
                })
                .collect(),
        };
        let met = |known: Known| (!known.value.is_nan()).then_some(known.value >= 0.0);
        Some(LimitCompared {
            id: named.id.clone(),
            unit: named.unit.clone(),
            met: [met(figures[0].of.a), met(figures[0].of.b)],
            figures,
            on,
        })
    };
    let limits = pairs.par_iter().filter_map(limit).collect();
    let total = |(x, y): &(&TotalOf, &TotalOf)| {
        let (name, of) = match luck.filter(|_| of_variations) {
            Some(luck) => {
                let of = compared(Statistic::Mean, (&x.values, &y.values), luck, comparisons, seed);
                ("mean", of)
            }
            None => {
                let one = |total: &TotalOf| total.values.first().copied().unwrap_or(f64::NAN);
                ("on the medians", exact(one(x), one(y)))
            }
        };
        TotalCompared {
            name: x.name.clone(),
            figure: Figure {
                name,
                unit: x.unit.clone(),
                of,
                on: On::Both,
                more_is_better: None,
            },
        }
    };
    let totals = totals.par_iter().map(total).collect();
    Comparison {
        of,
        inputs: changes::inputs(&a, &b),
        rules: changes::rules(&a, &b),
        luck,
        runs,
        gate,
        comparisons,
        limits,
        totals,
        notes,
        a,
        b,
    }
}

/// What the variations share, and how many of each are compared: those that both have, where they are on the same luck.
fn shared(of: Of, a: &Side, b: &Side) -> (Option<Luck>, [u64; 2]) {
    let runs = [a, b].map(|side| side.runs.unwrap_or(1));
    let is_plain = |side: &Side| side.design.as_deref() == Some(crate::chance::Design::Plain.name());
    match of {
        Of::Runs => (None, [1, 1]),
        _ if !is_plain(a) || !is_plain(b) => (Some(Luck::Unknown), runs),
        // Plain draws of a variation depend on the seed and its number alone.
        _ if a.seed == b.seed => (Some(Luck::Same), [runs[0].min(runs[1]); 2]),
        _ => (Some(Luck::Independent), runs),
    }
}

/// Limits by id: those of A, then those of B alone, all margins in the unit of A.
fn pairs(a: &Side, b: &Side, notes: &mut Vec<String>) -> Vec<(Option<LimitOf>, Option<LimitOf>)> {
    let mut pairs = Vec::new();
    for x in &a.limits {
        let other = b.limits.iter().find(|y| y.id == x.id);
        match other.map(|y| (y, in_unit(y, &x.unit))) {
            Some((_, Some(y))) => pairs.push((Some(x.clone()), Some(y))),
            None => pairs.push((Some(x.clone()), None)),
            Some((y, None)) => {
                notes.push(format!(
                    "The limit {} is in {} in A and in {} in B: its margins are not compared.",
                    x.id, x.unit, y.unit
                ));
                pairs.push((Some(x.clone()), None));
                pairs.push((None, Some(y.clone())));
            }
        }
    }
    let is_new = |y: &&LimitOf| a.limits.iter().all(|x| x.id != y.id);
    pairs.extend(b.limits.iter().filter(is_new).map(|y| (None, Some(y.clone()))));
    pairs
}

/// A limit with its margins in another unit; `None` if that measures something else.
fn in_unit(limit: &LimitOf, symbol: &str) -> Option<LimitOf> {
    if limit.unit == symbol {
        return Some(limit.clone());
    }
    let both = |dimension| Some((unit(&limit.unit, dimension)?, unit(symbol, dimension)?));
    let (from, to): (Unit, Unit) = [
        Dimension::Pressure,
        Dimension::TemperatureDifference,
        Dimension::Temperature,
        Dimension::Fraction,
        Dimension::Time,
        Dimension::Mass,
    ]
    .into_iter()
    .find_map(both)?;
    let turned = |margin: &f64| to.difference_from_si(from.to_si(*margin) - from.to_si(0.0));
    Some(LimitOf {
        unit: symbol.to_owned(),
        margins: limit.margins.iter().map(turned).collect(),
        ..limit.clone()
    })
}

/// A figure of a limit that one side has alone.
fn alone(statistic: Statistic, (a, b): (Option<&[f64]>, Option<&[f64]>), luck: Luck) -> Compared {
    let known = |values: Option<&[f64]>| {
        let of = values.map(|values| statistic.of(values));
        let nothing = Known {
            value: f64::NAN,
            interval: None,
        };
        of.map_or(nothing, |of| Known {
            interval: of.interval.filter(|_| luck != Luck::Unknown),
            ..of
        })
    };
    Compared {
        a: known(a),
        b: known(b),
        difference: None,
        interval: None,
        verdict: Verdict::NotJudged,
    }
}

fn in_percent(of: Compared) -> Compared {
    let interval = |interval: Option<[f64; 2]>| interval.map(|ends| ends.map(|end| 100.0 * end));
    let known = |known: Known| Known {
        value: 100.0 * known.value,
        interval: interval(known.interval),
    };
    Compared {
        a: known(of.a),
        b: known(of.b),
        difference: of.difference.map(|difference| 100.0 * difference),
        interval: interval(of.interval),
        verdict: of.verdict,
    }
}

impl Comparison {
    /// Nothing differs: neither what went in nor what came out.
    #[must_use]
    pub fn is_same(&self) -> bool {
        self.inputs.as_ref().is_some_and(Vec::is_empty)
            && self.rules.iter().all(|rule| rule.how == How::Same)
            && self
                .limits
                .iter()
                .flat_map(|limit| &limit.figures)
                .chain(self.totals.iter().map(|total| &total.figure))
                .all(|figure| figure.of.verdict == Verdict::Same)
    }

    /// Runs of either failed.
    #[must_use]
    pub fn has_failed(&self) -> bool {
        self.a.failed + self.b.failed > 0
    }
}

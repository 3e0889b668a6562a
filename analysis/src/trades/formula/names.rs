//! What the names in a formula mean: factors, constants of options, values of the scenario, results.

use std::ops::Range;

use breathroom_sim::scenario::{Amount, Scenario};
use breathroom_sim::text::{Spot, Texts};
use breathroom_sim::units::{Dimension, Unit, unit};

use crate::study::measure::{self, Measure};
use crate::trades::apply::resolved;
use crate::trades::factor::{Factor, Kind};
use crate::trades::sheet::inside;

use super::parse::{Fault, parse};
use super::{Expression, Reference};

/// What names may refer to: the factors, and the scenario as its file and as the options have it.
pub(in crate::trades) struct Known<'k> {
    pub factors: &'k [Factor],
    pub scenarios: Vec<&'k Scenario>,
}

impl<'k> Known<'k> {
    pub fn new(base: &'k Scenario, factors: &'k [Factor]) -> Self {
        let of_options = factors.iter().flat_map(|factor| &factor.levels);
        let of_options = of_options.filter_map(|level| level.scenario.as_deref());
        Self {
            factors,
            scenarios: std::iter::once(base).chain(of_options).collect(),
        }
    }

    /// Whether a measure can be had of any of the scenarios; else what there is instead.
    pub fn measure(&self, measure: &Measure) -> Result<(), measure::NoSuch> {
        let mut first = None;
        for scenario in &self.scenarios {
            match measure.of(scenario) {
                Ok(_) => return Ok(()),
                Err(none) => {
                    first.get_or_insert(none);
                }
            }
        }
        first.map_or(Ok(()), Err)
    }

    fn amount(&self, path: &str) -> Option<Result<Amount, String>> {
        let mut there = self
            .scenarios
            .iter()
            .filter_map(|scenario| resolved(scenario, path))
            .peekable();
        let first = there.peek()?.written.clone();
        Some(there.find_map(|value| value.amount).ok_or(first))
    }

    /// All names, for whoever mistyped one.
    fn all(&self) -> Vec<String> {
        let mut all: Vec<String> = self.factors.iter().map(|factor| factor.name.clone()).collect();
        for factor in self.factors {
            for level in &factor.levels {
                all.extend(
                    level
                        .figures
                        .iter()
                        .map(|figure| format!("{}.{}", factor.name, figure.name)),
                );
            }
        }
        for scenario in &self.scenarios {
            all.extend(measure::names(scenario));
            let numbers = scenario.resolved.iter().filter(|value| value.amount.is_some());
            all.extend(numbers.map(|value| value.path.clone()));
        }
        all.sort();
        all.dedup();
        all
    }
}

/// Reads a formula that stands at a spot; none after a fault. If nothing is known, only its form is checked.
pub(in crate::trades) fn read(
    texts: &mut Texts,
    known: Option<&Known<'_>>,
    text: &str,
    spot: &Spot,
) -> Option<Expression> {
    let mut faults: Vec<Fault> = Vec::new();
    let mut unknown: Vec<(Range<usize>, String)> = Vec::new();
    let mut lookup = |inner: &str, at: Range<usize>| match meaning(known?, inner, at.clone()) {
        Ok(reference) => Some(reference),
        Err(Wrong::Fault(fault)) => {
            faults.push(fault);
            None
        }
        Err(Wrong::Unknown(name)) => {
            unknown.push((at, name));
            None
        }
    };
    let root = parse(text, &mut lookup);
    let all = known.filter(|_| !unknown.is_empty()).map_or_else(Vec::new, Known::all);
    for (at, name) in unknown {
        let mut help = texts.meant(&name, all.iter().map(String::as_str));
        if help.is_empty() {
            "a factor, FACTOR.FIGURE, a path of the scenario, or a result such as totals.oxygen_used_kg"
                .clone_into(&mut help);
        }
        faults.push(Fault::new(at, format!("there is no `{name}`"), help));
    }
    let root = match root {
        Ok(root) => Some(root),
        Err(fault) => {
            faults.push(fault);
            None
        }
    };
    let good = faults.is_empty();
    for fault in faults {
        let place = inside(texts, spot, text, fault.at);
        texts.fault(&place, fault.message, fault.help);
    }
    root.filter(|_| good)
}

enum Wrong {
    Fault(Fault),
    Unknown(String),
}

/// What stands in brackets: NAME in UNIT, or a name alone.
fn meaning(known: &Known<'_>, inner: &str, at: Range<usize>) -> Result<Reference, Wrong> {
    let (name, asked) = match inner.rsplit_once(" in ") {
        Some((name, asked)) => (name.trim(), Some(asked.trim())),
        None => (inner.trim(), None),
    };
    let wrong = |message: String, help: String| Wrong::Fault(Fault::new(at.clone(), message, help));
    if name.is_empty() {
        return Err(wrong(
            "nothing stands in the brackets".to_owned(),
            "write [NAME in UNIT]".to_owned(),
        ));
    }
    if let Some(n) = known.factors.iter().position(|factor| factor.name == name) {
        let factor = &known.factors[n];
        let Some(amount) = factor.amount else {
            let help = if matches!(factor.kind, Kind::Options) {
                format!("name one of its figures: [{name}.mass in kg]")
            } else {
                "name a path of the scenario, or an option's figure".to_owned()
            };
            return Err(wrong(format!("the levels of `{name}` are not single numbers"), help));
        };
        return Ok(Reference::Level(n, in_unit(name, &amount, asked, &wrong)?));
    }
    if let Some(reference) = figure(known, name, asked, &wrong)? {
        return Ok(reference);
    }
    let result = Measure::Total(name.to_owned());
    if known.measure(&result).is_ok() {
        return match asked {
            None => Ok(Reference::Result(result)),
            Some(_) => Err(wrong(
                format!("`{name}` is a result, whose unit is in its name"),
                format!("write [{name}]"),
            )),
        };
    }
    match known.amount(name) {
        Some(Ok(amount)) => Ok(Reference::Path(name.to_owned(), in_unit(name, &amount, asked, &wrong)?)),
        Some(Err(written)) => Err(wrong(format!("`{name}` is no number: it is {written}"), String::new())),
        None => Err(Wrong::Unknown(name.to_owned())),
    }
}

/// The unit of a dimension that was asked for.
fn in_unit(
    name: &str,
    amount: &Amount,
    asked: Option<&str>,
    wrong: &dyn Fn(String, String) -> Wrong,
) -> Result<Unit, Wrong> {
    let dimension = amount.dimension;
    let Some(asked) = asked else {
        if dimension.is_plain() {
            return Ok(dimension.si_unit());
        }
        let help = format!("write [{name} in {}]", amount.unit.symbol);
        return Err(wrong(
            format!("`{name}` without its unit: it is {}", dimension.with_article()),
            help,
        ));
    };
    match unit(asked, dimension) {
        Some(unit) if (unit.symbol == "met") == (amount.unit.symbol == "met") => Ok(unit),
        _ => Err(wrong(
            format!(
                "`{name}` is {}, which is not measured in `{asked}`",
                dimension.with_article()
            ),
            units(dimension),
        )),
    }
}

fn units(dimension: Dimension) -> String {
    let list: Vec<String> = dimension
        .units()
        .filter(|unit| !unit.symbol.is_empty())
        .take(4)
        .map(|unit| format!("`{}`", unit.symbol))
        .collect();
    format!("such as {}", list.join(", "))
}

/// A constant of an option, if the name is one: every option must have it.
fn figure(
    known: &Known<'_>,
    name: &str,
    asked: Option<&str>,
    wrong: &dyn Fn(String, String) -> Wrong,
) -> Result<Option<Reference>, Wrong> {
    let Some((of, figure)) = name.rsplit_once('.') else {
        return Ok(None);
    };
    let Some(factor) = known
        .factors
        .iter()
        .find(|f| f.name == of && matches!(f.kind, Kind::Options))
    else {
        return Ok(None);
    };
    let has = |level: &&crate::trades::level::Level| level.figures.iter().any(|known| known.name == figure);
    if !factor.levels.iter().any(|level| has(&level)) {
        return Err(Wrong::Unknown(name.to_owned()));
    }
    if let Some(without) = factor.levels.iter().find(|level| !has(level)) {
        let help = format!("add it to the figures of `{}`", without.label);
        return Err(wrong(
            format!("the option `{}` has no figure `{figure}`", without.label),
            help,
        ));
    }
    let unit = asked.unwrap_or("");
    for level in &factor.levels {
        let own = level.figures.iter().find(|known| known.name == figure);
        if own.is_some_and(|own| own.value_in(unit).is_none()) {
            let written = own.map_or("", |own| own.written.as_str());
            let message = match asked {
                Some(unit) => format!(
                    "`{name}` of `{}` is {written}, which is not measured in `{unit}`",
                    level.label
                ),
                None => format!("`{name}` without its unit: of `{}` it is {written}", level.label),
            };
            return Err(wrong(message, format!("write [{name} in UNIT]")));
        }
    }
    Ok(Some(Reference::Figure(name.to_owned(), unit.to_owned())))
}

//! The reference page of the scenario file, in Markdown, from the table of keys.

use std::fmt::Write as _;

use crate::crew::BUILTINS;
use crate::limits::sets;
use crate::units::{Dimension, figures, show, unit};

use super::keys::{Domain, Key, Kind, Need, Section, sections};

/// One of each dimension, for the table of units.
const DIMENSIONS: [Dimension; 26] = [
    Dimension::Pressure,
    Dimension::PartialPressure,
    Dimension::Temperature,
    Dimension::TemperatureDifference,
    Dimension::Volume,
    Dimension::VolumeFlow,
    Dimension::Area,
    Dimension::Length,
    Dimension::Mass,
    Dimension::MassRate,
    Dimension::GasRate(0.044_009_5),
    Dimension::Time,
    Dimension::Power,
    Dimension::MetabolicPower,
    Dimension::Fraction,
    Dimension::Acceleration,
    Dimension::PressureRate,
    Dimension::HeatCapacity,
    Dimension::Conductance,
    Dimension::MassForMass,
    Dimension::Loading,
    Dimension::PerTime,
    Dimension::EnergyForMass,
    Dimension::FilmCoefficient,
    Dimension::FitnessUptake,
    Dimension::Number,
];

/// The page `scenarios/README.md`.
#[must_use]
pub fn reference_page() -> String {
    let mut out = String::from(HEAD);
    out.push_str("\n## Sections and keys\n");
    for section in sections() {
        one(&mut out, section);
    }
    out.push_str("\n## Not yet supported\n\nRefused, not ignored: `of = \"actual\"` in a rule.\n");
    units(&mut out);
    efforts(&mut out);
    limits(&mut out);
    out
}

const HEAD: &str = "# The scenario file

<!-- Written by the program from its table of keys (`reference_page`); a test holds this file to it. Do not edit by hand. -->

The files here are ready to run; each is headed with what it shows and where its figures come from. `broken/` holds files that
are wrong, each beside the message it must get. This page lists every key of a scenario, `format = 1`.

A scenario is TOML. Every number with a dimension is text with its unit, `\"56.5 kPa\"`; fractions and plain numbers may stand
without (`\"34 %\"` or `0.34`). Unknown keys, missing units and names that refer to nothing are faults; all of them are reported
at once, and nothing is run. `breathroom check FILE` shows how each value was understood, and where it comes from.

## Spreads

Wherever a number may stand, a spread may stand in its place, except where the table below says *fixed*:

| spread | meaning |
|---|---|
| `{ normal = [mean, sd] }` | normal |
| `{ uniform = [lo, hi] }` | the same density between two ends |
| `{ triangular = [lo, mode, hi] }` | rising to the mode and falling from it |
| `{ pert = [lo, mode, hi] }` | beta on [lo, hi] with mean (lo + 4 mode + hi) / 6 |
| `{ lognormal = [median, \"15 %\"] }` | lognormal; the second is the coefficient of variation |
| `{ gamma = [mean, \"15 %\"] }` | gamma; the second is the coefficient of variation |
| `{ exponential = mean }` | a constant rate of failure; the median is 0.693 of the mean |
| `{ weibull = [scale, shape] }` | times to failure: likelier with age for a shape above 1, rarer below; by the scale 63 % have failed |
| `{ choice = [a, b, c], weights = [2, 1, 1] }` | one of these; without `weights` all alike |
| `{ data = \"times.csv\", column = \"donning\" }` | a value of that column, at random; the column's header carries its unit, `donning [min]` |

All but the last two may add `within = [lo, hi]`: truncated, not clipped. A spread with more than one part in a million outside
what is physically possible is a fault that asks for `within`. A run without variation takes each spread's median (for `choice`
the first value whose cumulative weight reaches a half).

A spread is drawn once in a variation; those of a task (`at`, `duration`) anew in every turn, and for each person with `each`,
unless they add `draw = \"once\"`. Times of a response are drawn anew for each occurrence of its alarm, and the times of a fault
that comes and goes each time.

`trials = 6` in a `normal`, `lognormal`, `gamma`, `weibull` or `pert` says that its numbers are estimates from six observations: each
variation then draws what centre and width may truly be (`PATH.centre`, in standard errors; `PATH.width`, as a part of what is written), once for
all turns. `breathroom fit` writes it. It does not go with `within`.

## Overrides

`--set PATH=VALUE` on any command replaces one value, with the same checks. Paths go by names: `removal.scrubber.flow`,
`tasks.don.duration`, `limits.rule.co2-1h.at_most` (also for a rule of a named set). A quantity needs no quotes:
`--set compartments.cabin.free_volume=\"12 m3\"`.
";

fn one(out: &mut String, section: &Section) {
    let title = if section.path.is_empty() {
        "Top level".to_owned()
    } else {
        format!("`{}`", section.path)
    };
    let family = section.key("kind").is_some().then(|| family_of(section)).flatten();
    let _ = match family {
        Some(family) => writeln!(out, "\n### {title}, kind `{family}`\n"),
        None => writeln!(out, "\n### {title}\n"),
    };
    let _ = writeln!(out, "{}\n", section.meaning);
    out.push_str("| key | value | without it | meaning |\n|---|---|---|---|\n");
    for key in section.keys {
        let _ = writeln!(
            out,
            "| `{}` | {} | {} | {} |",
            key.name,
            value(key),
            without(key),
            cell(key.meaning)
        );
    }
}

fn family_of(section: &Section) -> Option<&'static str> {
    let Kind::Families(families) = super::keys::ROOT.key("removal")?.kind else {
        return None;
    };
    families
        .iter()
        .find(|(_, s)| std::ptr::eq(*s, section))
        .map(|(name, _)| *name)
}

/// What a key takes, in words: "volume", "fraction, 0 to 100 %", "name of a compartment".
#[must_use]
pub fn key_takes(key: &Key) -> String {
    value(key).replace(['`', '*'], "")
}

fn value(key: &Key) -> String {
    match key.kind {
        Kind::Number(dimension, domain) => format!("{}{}", dimension.name(), range(dimension, domain)),
        Kind::NumberOrName(dimension, domain, what) => {
            format!(
                "{}{}; or the name of a {}",
                dimension.name(),
                range(dimension, domain),
                what.words()
            )
        }
        Kind::NumberOrTable(dimension, domain, s) => {
            format!(
                "{}{}; or a table, see `{}`",
                dimension.name(),
                range(dimension, domain),
                s.path
            )
        }
        Kind::Fixed(dimension, domain) => format!("{}, *fixed*{}", dimension.name(), range(dimension, domain)),
        Kind::Numbers(dimension, domain) => format!("list of {}s{}", dimension.name(), range(dimension, domain)),
        Kind::Points(_) => "list of pairs: partial pressure, gas rate".to_owned(),
        Kind::Whole(lo, hi) if lo == hi => format!("`{lo}`"),
        Kind::Whole(lo, hi) => format!("whole number, {lo} to {hi}, *fixed*"),
        Kind::Flag => "`true` or `false`".to_owned(),
        Kind::Text => "text".to_owned(),
        Kind::Id => "a name".to_owned(),
        Kind::Word(words) => listed(words),
        Kind::WordOrTable(words, s) => format!("{}; or a table, see `{}`", listed(words), s.path),
        Kind::Who(words) => format!("{}; a person, or a list of people", listed(words)),
        Kind::Name(what) => {
            let words = what.words();
            let article = if words.starts_with(['a', 'e', 'i', 'o', 'u']) {
                "an"
            } else {
                "a"
            };
            format!("name of {article} {words}")
        }
        Kind::Names(what) => format!("list of names: {}", what.words()),
        Kind::TwoPlaces => "two places".to_owned(),
        Kind::Paths => "list of paths".to_owned(),
        Kind::PathOrPaths => "path, or list of paths".to_owned(),
        Kind::Correlations => "number, -1 to 1, *fixed*; or a square table of them".to_owned(),
        Kind::Table(s) => format!("table, see `{}`", s.path),
        Kind::Named(s) | Kind::ForCompartments(s) | Kind::ForPeople(s) => {
            format!("one table for each name, see `{}`", s.path)
        }
        Kind::Families(_) => "one table for each name, see `removal.X`".to_owned(),
        Kind::Tables(s) => format!("list of tables, see `{}`", s.path),
    }
}

fn listed(words: &[&str]) -> String {
    let list: Vec<String> = words.iter().map(|w| format!("`\"{w}\"`")).collect();
    list.join(", ")
}

/// The domain, where it says more than "not negative, not absurdly large".
fn range(dimension: Dimension, domain: Domain) -> String {
    let absurd = match dimension {
        Dimension::Time => domain.hi >= 1e8,
        Dimension::Pressure | Dimension::PartialPressure => domain.hi >= 1e6,
        Dimension::Volume | Dimension::Area => domain.hi >= 1e5,
        Dimension::VolumeFlow | Dimension::MassRate | Dimension::GasRate(_) => domain.hi >= 1.0,
        Dimension::Number => domain.hi >= 1e6,
        _ => false,
    };
    if dimension == Dimension::Fraction {
        let percent = |x: f64| figures(100.0 * x, 3);
        return format!(", {} to {} %", percent(domain.lo), percent(domain.hi));
    }
    let seconds = unit("s", Dimension::Time).filter(|_| dimension == Dimension::Time);
    let unit = seconds
        .or_else(|| dimension.units().next())
        .unwrap_or_else(|| dimension.si_unit());
    match (absurd, domain.lo > 0.0) {
        (true, false) => String::new(),
        (true, true) => format!(", at least {}", show(domain.lo, unit)),
        (false, _) => format!(", {} to {}", figures(unit.from_si(domain.lo), 4), show(domain.hi, unit)),
    }
}

fn without(key: &Key) -> String {
    match key.need {
        Need::Required => "**required**".to_owned(),
        Need::Absent("-") => String::new(),
        Need::Absent(words) => cell(words),
        Need::Default(value, source, memory) => {
            let memory = if memory { ", from memory" } else { "" };
            format!("`{}` ({}{memory})", value.trim_matches('"'), cell(source))
        }
    }
}

fn cell(text: &str) -> String {
    text.replace('|', "\\|")
}

fn units(out: &mut String) {
    out.push_str("\n## Units\n\n| dimension | units | example |\n|---|---|---|\n");
    for dimension in DIMENSIONS {
        let list: Vec<String> = dimension
            .units()
            .filter(|u| !u.symbol.is_empty())
            .map(|u| format!("`{}`", cell(u.symbol)))
            .collect();
        let list = if list.is_empty() {
            "none".to_owned()
        } else {
            list.join(", ")
        };
        let _ = writeln!(out, "| {} | {list} | `{}` |", dimension.name(), dimension.example());
    }
    out.push_str(
        "\nCO2 in ppm and % is a partial pressure: parts of 101.325 kPa. Times may be compounds, `\"1 h 30 min\"`. A gas rate by volume \
         states its reference: `\"0.31 L/min at 25 degC, 101.325 kPa\"`, `\"0.25 L/min STPD\"`. Pressures are absolute.\n",
    );
}

fn efforts(out: &mut String) {
    out.push_str("\n## Built-in efforts\n\n| name | what | space | source |\n|---|---|---|---|\n");
    for effort in BUILTINS {
        let memory = if effort.from_memory { " (from memory)" } else { "" };
        let _ = writeln!(
            out,
            "| `{}` | {} | {} m3 | {}{memory} |",
            effort.name,
            cell(effort.about),
            figures(effort.space_m3, 3),
            cell(effort.source)
        );
    }
    let _ = writeln!(out, "\nSpace: {}.", crate::crew::SPACE_SOURCE);
}

fn limits(out: &mut String) {
    out.push_str("\n## Named sets of limits\n");
    for set in sets() {
        let _ = writeln!(out, "\n### `{}`\n\n{}\n", set.name, set.about);
        out.push_str("| id | rule | source |\n|---|---|---|\n");
        for rule in set.rules {
            let memory = if rule.from_memory { " (from memory)" } else { "" };
            let _ = writeln!(
                out,
                "| `{}` | {} | {}{memory} |",
                rule.id,
                cell(&rule.words()),
                cell(rule.source)
            );
        }
    }
}

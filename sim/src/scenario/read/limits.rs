//! `[limits]`: named sets and rules of one's own, for each person or compartment.

use crate::limits::{Bound, LimitSet, Quantity, Rule, Scope, SetRule, SetStatistic, Statistic, Subject, set};
use crate::scenario::LimitInfo;
use crate::scenario::blueprint::{Parts, RuleNums};
use crate::scenario::fields::Fields;
use crate::scenario::keys::{Domain, RULE, What};
use crate::scenario::num::Num;
use crate::scenario::reader::Reader;
use crate::units::{Dimension, Time, Unit, parse, show, unit};

use super::names::proper;
use super::subjects::{everyone, everywhere, fits, stands, subjects};

/// A rule for one subject.
#[derive(Debug)]
pub(super) struct LimitRead {
    pub rule: Rule,
    pub info: LimitInfo,
}

/// Over which time, with what is shown of it.
#[derive(Clone, Debug)]
enum Over {
    Instant,
    Moving(Num, String),
    Shift(Num, String),
    Mission,
    /// Threshold (its text), each stretch alone.
    Allowance(Num, String, bool),
}

/// A rule before it is spread over its subjects.
struct Draft {
    id: String,
    subjects: Vec<(Subject, String)>,
    quantity: Quantity,
    over: Over,
    bound: Bound,
    limit: Num,
    limit_text: String,
    unit: Unit,
    source: String,
    from_memory: bool,
    set: Option<String>,
}

/// Reads the limits; what varies of them goes into the parts.
pub(super) fn read(r: &mut Reader<'_>, root: &Fields<'_>, parts: &mut Parts) -> Vec<LimitRead> {
    let Some(fields) = root.sub(r, "limits") else {
        return Vec::new();
    };
    let names: Vec<String> = fields
        .names(r, "use")
        .into_iter()
        .filter_map(|(name, node)| r.refer(What::LimitSet, name, &node.spot).map(|_| name.to_owned()))
        .collect();
    let used: Vec<&'static LimitSet> = names.iter().filter_map(|name| set(name)).collect();
    let mut own: Vec<Draft> = Vec::new();
    for (n, (node, table)) in fields.tables(r, "rule").into_iter().enumerate() {
        let id = table.get("id").and_then(|e| e.node.text()).unwrap_or("").to_owned();
        let path = if id.is_empty() {
            format!("limits.rule.{}", n + 1)
        } else {
            format!("limits.rule.{id}")
        };
        let rule = Fields::new(r, &RULE, table, &path, &node.spot);
        if !id.is_empty() {
            proper(r, &id, &rule.spot_of("id"));
            if own.iter().any(|o| o.id == id) {
                r.texts.fault(
                    &rule.spot_of("id"),
                    format!("there is another rule `{id}`"),
                    "give each rule an id of its own",
                );
            }
        }
        own.extend(one(r, &rule));
    }
    let mut drafts: Vec<Draft> = Vec::new();
    for named in used {
        for rule in named.rules {
            if own.iter().any(|o| o.id == rule.id) {
                continue;
            }
            let mut draft = of_set(r, named, rule);
            if let Some(draft) = &mut draft
                && drafts.iter().any(|d| d.id == draft.id)
            {
                draft.id = format!("{}.{}", named.name, draft.id);
            }
            drafts.extend(draft);
        }
    }
    drafts.extend(own);
    let mut list = Vec::new();
    for draft in drafts {
        for (subject, words) in &draft.subjects {
            parts.rules.push(RuleNums {
                limit: draft.limit,
                second: second(&draft.over),
            });
            list.push(LimitRead {
                rule: rule_of(r, &draft, *subject),
                info: info_of(&draft, words),
            });
        }
    }
    list
}

fn second(over: &Over) -> Option<Num> {
    match over {
        Over::Moving(n, _) | Over::Shift(n, _) | Over::Allowance(n, ..) => Some(*n),
        Over::Instant | Over::Mission => None,
    }
}

/// A rule of the file.
fn one(r: &mut Reader<'_>, fields: &Fields<'_>) -> Option<Draft> {
    let id = fields.text(r, "id");
    let word = fields.word(r, "quantity");
    let subjects = subjects(r, fields);
    let over_keys: Vec<&str> = ["average", "mean", "shift", "allowed"]
        .into_iter()
        .filter(|key| fields.entry(key).is_some())
        .collect();
    if let [_, second, ..] = over_keys.as_slice() {
        let message = format!(
            "`{}` has more than one of `average`, `mean`, `shift` and `allowed`",
            fields.path
        );
        r.texts.fault(&fields.spot_of(second), message, "make a rule of each");
    }
    let source = fields.text(r, "source");
    let quantity = word.and_then(Quantity::from_name);
    let bound = bound(r, fields);
    if let (Some(quantity), true) = (quantity, over_keys.iter().any(|k| *k != "allowed"))
        && !quantity.is_linear()
    {
        let message = format!("there are no averages of `{}`", quantity.name());
        r.texts.fault(
            &fields.spot_of(over_keys[0]),
            message,
            "co2, humidity, oxygen, pressure and temperature have them",
        );
    }
    let quantity = quantity?;
    if let Some(subjects) = &subjects {
        fits(r, fields, quantity, subjects);
    }
    let (name, bound) = bound?;
    stands(r, fields, quantity, bound);
    if over_keys.first() == Some(&"shift") && bound == Bound::AtLeast {
        r.texts.fault(
            &fields.spot_of("shift"),
            "`shift` adds up what was breathed over a day: a sum that starts at 0 cannot be `at_least` something",
            "use `at_most`, or `average` for a value that must not be too low",
        );
    }
    let dimension = quantity.dimension();
    let number = fields.number_in(r, name, dimension, domain_of(quantity), true);
    let of = |r: &mut Reader<'_>, key| fields.number_full(r, key);
    let mut over = Over::Instant;
    let mut allowed = None;
    match over_keys.first().copied() {
        Some("average") => over = of(r, "average").map(|n| Over::Moving(n.num, shown(n.median, n.unit)))?,
        Some("shift") => over = of(r, "shift").map(|n| Over::Shift(n.num, shown(n.median, n.unit)))?,
        Some("mean") => {
            fields.word(r, "mean")?;
            over = Over::Mission;
        }
        Some("allowed") => allowed = Some(of(r, "allowed")?),
        _ => {}
    }
    if allowed.is_none() && fields.entry("over").is_some() {
        r.texts
            .fault(&fields.spot_of("over"), "`over` goes with `allowed`", "remove it");
    }
    of_what(r, fields);
    let number = number?;
    let (limit, limit_text, unit) = match allowed {
        None => (number.num, shown(number.median, number.unit), number.unit),
        Some(time) => {
            let each = fields.entry("over").and_then(|_| fields.word(r, "over")) == Some("each");
            over = Over::Allowance(number.num, shown(number.median, number.unit), each);
            (time.num, shown(time.median, time.unit), hours())
        }
    };
    Some(Draft {
        id: id?.to_owned(),
        subjects: subjects?,
        quantity,
        over,
        bound,
        limit,
        limit_text,
        unit,
        source: source?.to_owned(),
        from_memory: false,
        set: None,
    })
}

/// `of = "actual"` would make a part of the actual pressure of a ppm.
fn of_what(r: &mut Reader<'_>, fields: &Fields<'_>) {
    let Some(entry) = fields.entry("of") else { return };
    if entry.node.text() == Some("actual") {
        let message = "of = \"actual\" is not yet supported";
        r.texts.fault(
            &entry.node.spot,
            message,
            "give the limit as a partial pressure; ppm and % are parts of 101.325 kPa",
        );
        return;
    }
    fields.word(r, "of");
}

/// Which of `at_most` and `at_least` is there.
fn bound(r: &mut Reader<'_>, fields: &Fields<'_>) -> Option<(&'static str, Bound)> {
    match (fields.entry("at_most"), fields.entry("at_least")) {
        (Some(_), None) => Some(("at_most", Bound::AtMost)),
        (None, Some(_)) => Some(("at_least", Bound::AtLeast)),
        (Some(_), Some(_)) => {
            r.texts.fault(
                &fields.spot_of("at_least"),
                format!("`{}` has both `at_most` and `at_least`", fields.path),
                "make a rule of each",
            );
            None
        }
        (None, None) => {
            r.texts.fault(
                &fields.spot,
                format!("`{}` has no number", fields.path),
                "add `at_most` or `at_least`",
            );
            None
        }
    }
}

pub(super) fn domain_of(quantity: Quantity) -> Domain {
    let (lo, hi) = match quantity {
        Quantity::Co2 | Quantity::Oxygen | Quantity::InspiredOxygen | Quantity::Pressure => (0.0, 1e7),
        Quantity::Humidity | Quantity::OxygenFraction => (0.0, 1.0),
        Quantity::Temperature | Quantity::ApparentTemperature => (173.15, 473.15),
        Quantity::DewPointGap => (-150.0, 150.0),
        Quantity::LiquidWater | Quantity::Stock => (0.0, 1e6),
        Quantity::PressureRate => (0.0, 1e6),
        Quantity::TissueRatio => (0.0, 100.0),
    };
    Domain { lo, hi }
}

/// A rule of a named set. Their texts are held by tests, so that none is lost here.
fn of_set(r: &mut Reader<'_>, named: &LimitSet, rule: &SetRule) -> Option<Draft> {
    let dimension = rule.quantity.dimension();
    let time = |text: &str| parse(text, Dimension::Time).ok().map(|q| Num::Fixed(q.si));
    let over = match rule.statistic {
        SetStatistic::Instant => Over::Instant,
        SetStatistic::Moving { window } => Over::Moving(time(window)?, window.to_owned()),
        SetStatistic::Shift { length } => Over::Shift(time(length)?, length.to_owned()),
        SetStatistic::Mission => Over::Mission,
        SetStatistic::Allowance { threshold, each } => {
            let value = parse(threshold, dimension).ok()?.si;
            Over::Allowance(Num::Fixed(value), threshold.to_owned(), each)
        }
    };
    let is_time = matches!(over, Over::Allowance(..));
    let limit = parse(rule.value, if is_time { Dimension::Time } else { dimension }).ok()?;
    let subjects = match rule.scope {
        Scope::BreathedAir => everyone(r),
        Scope::EachCompartment => everywhere(r),
    };
    r.assume(
        format!("limits.{}.{}", named.name, rule.id),
        &rule.words(),
        String::new(),
        rule.source,
        rule.from_memory,
    );
    Some(Draft {
        id: rule.id.to_owned(),
        subjects,
        quantity: rule.quantity,
        over,
        bound: rule.bound,
        limit: Num::Fixed(limit.si),
        limit_text: rule.value.to_owned(),
        unit: if is_time { hours() } else { limit.unit },
        source: rule.source.to_owned(),
        from_memory: rule.from_memory,
        set: Some(named.name.to_owned()),
    })
}

fn rule_of(r: &Reader<'_>, draft: &Draft, subject: Subject) -> Rule {
    let time = |n: Num| Time::from_seconds(super::median(r, n));
    let statistic = match draft.over {
        Over::Instant => Statistic::Instant,
        Over::Moving(n, _) => Statistic::Moving { window: time(n) },
        Over::Shift(n, _) => Statistic::Shift { length: time(n) },
        Over::Mission => Statistic::Mission,
        Over::Allowance(n, _, each) => Statistic::Allowance {
            threshold: super::median(r, n),
            each,
        },
    };
    Rule {
        quantity: draft.quantity,
        subject,
        statistic,
        bound: draft.bound,
        limit: super::median(r, draft.limit),
    }
}

fn info_of(draft: &Draft, subject: &str) -> LimitInfo {
    let what = draft.quantity.words();
    let (side, beyond) = match draft.bound {
        Bound::AtMost => ("at most", "above"),
        Bound::AtLeast => ("at least", "below"),
    };
    let value = &draft.limit_text;
    let words = match &draft.over {
        Over::Instant => format!("{what}, at every instant, {side} {value}"),
        Over::Moving(_, window) => format!("{what}, mean over {window}, {side} {value}"),
        Over::Shift(_, length) => format!("{what}, sum over a day divided by {length}, {side} {value}"),
        Over::Mission => format!("{what}, mean over the run, {side} {value}"),
        Over::Allowance(_, threshold, each) => {
            let over = if *each { "at a stretch" } else { "in all" };
            format!("{what} {beyond} {threshold}, for at most {value} {over}")
        }
    };
    let allowance = matches!(draft.over, Over::Allowance(..));
    let zero = matches!(draft.limit, Num::Fixed(value) if value == 0.0);
    LimitInfo {
        id: draft.id.clone(),
        subject: subject.to_owned(),
        words,
        unit: draft.unit,
        fraction_means_something: (allowance || draft.quantity.fraction_means_something()) && !zero,
        source: draft.source.clone(),
        from_memory: draft.from_memory,
        set: draft.set.clone(),
    }
}

fn hours() -> Unit {
    unit("h", Dimension::Time).unwrap_or_else(|| Dimension::Time.si_unit())
}

fn shown(si: f64, unit: Unit) -> String {
    show(si, unit)
}

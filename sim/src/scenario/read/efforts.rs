//! `[efforts]`: what the file adds to the built-in efforts, and which of all of them are used.

use crate::crew::builtin;
use crate::scenario::blueprint::{EffectNums, EffortNums, LoadNums, Parts, StageNums};
use crate::scenario::fields::Fields;
use crate::scenario::keys::{EFFORT, STAGE};
use crate::scenario::num::Num;
use crate::scenario::reader::Reader;
use crate::text::Spot;
use crate::timeline::{Effect, Plan};

use super::crew::CrewRead;
use super::measured;
use super::tasks::TaskRead;

/// Rates in the order of [`StageNums`].
const RATES: [&str; 5] = ["oxygen", "co2", "vapour", "runoff", "sensible"];

/// An effort as the file gives it, before `like` is followed.
#[derive(Clone, Debug)]
struct Own {
    name: String,
    spot: Spot,
    like: Option<String>,
    load: Option<LoadNums>,
    /// Rates in place of those of the effort it is like.
    instead: [Option<Num>; 5],
    space: Option<Num>,
    quotient: Option<Num>,
    towel: Option<bool>,
}

/// All efforts, by their index among the known ones.
pub(super) type Efforts = Vec<EffortNums>;

/// The efforts that someone takes up.
#[derive(Debug, Default)]
pub(super) struct Used {
    pub names: Vec<String>,
    /// For each known effort its index among the used ones.
    pub place: Vec<Option<usize>>,
    efforts: Vec<EffortNums>,
    idle: Vec<usize>,
    /// Whether one of them goes by power without a quotient of its own.
    pub by_power: bool,
}

/// Reads every effort of the file and follows `like`.
pub(super) fn read(r: &mut Reader<'_>, root: &Fields<'_>) -> Efforts {
    let mut own: Vec<Own> = Vec::new();
    for (entry, table) in root.named(r, "efforts") {
        let path = format!("efforts.{}", entry.key);
        let fields = Fields::new(r, &EFFORT, table, &path, &entry.key_spot);
        let effort = one(r, &fields, &entry.key);
        own.push(effort);
    }
    rings(r, &own);
    r.known
        .efforts
        .list
        .iter()
        .map(|name| followed(&own, name, true, 0))
        .collect()
}

fn one(r: &mut Reader<'_>, fields: &Fields<'_>, name: &str) -> Own {
    let like = fields.entry("like").and_then(|e| {
        fields.name(r, "like")?;
        e.node.text().map(str::to_owned)
    });
    let power = fields.entry("power").and_then(|_| fields.number_full(r, "power"));
    let rates: [Option<Num>; 5] = RATES.map(|rate| fields.number_if(r, rate));
    let stages = stages(r, fields);
    let measured = measured::measured(r, fields);
    let kinds = [
        fields.entry("power").is_some(),
        RATES.iter().any(|rate| fields.entry(rate).is_some()),
        fields.entry("stages").is_some(),
        fields.entry("measured").is_some(),
    ];
    let given = kinds.iter().filter(|k| **k).count();
    if given > 1 {
        let message = format!("`{}` is given in more than one way", fields.path);
        r.texts.fault(
            &fields.spot,
            message,
            "either `power`, or rates, or `stages`, or `measured`",
        );
    }
    if given == 0 && fields.entry("like").is_none() {
        let message = format!("`{}` says nothing of its load", fields.path);
        r.texts.fault(
            &fields.spot,
            message,
            "add `like`, `power`, rates (co2, oxygen, vapour ...), `stages` or `measured`",
        );
    }
    let load = match (power, kinds) {
        (Some(power), _) if power.is_per_body_area() => Some(LoadNums::PerArea(power.num)),
        (Some(power), _) => Some(LoadNums::Power(power.num)),
        // Like another, but for these rates.
        (None, [_, true, ..]) if like.is_some() => None,
        (None, [_, true, ..]) => Some(LoadNums::Stages(vec![StageNums { lasts: None, rates }])),
        (None, [_, _, true, _]) => Some(LoadNums::Stages(stages)),
        (None, [_, _, _, true]) => measured.map(LoadNums::Measured),
        _ => None,
    };
    Own {
        name: name.to_owned(),
        spot: fields.spot_of("like"),
        instead: if like.is_some() { rates } else { [None; 5] },
        like,
        load,
        space: fields.number_if(r, "space"),
        quotient: fields.number_if(r, "respiratory_quotient"),
        towel: fields
            .entry("runoff_to")
            .and_then(|_| fields.word(r, "runoff_to"))
            .map(|w| w == "towel"),
    }
}

fn stages(r: &mut Reader<'_>, fields: &Fields<'_>) -> Vec<StageNums> {
    let Some(entry) = fields.entry("stages") else {
        return Vec::new();
    };
    let tables = fields.tables(r, "stages");
    if tables.is_empty() {
        r.texts.fault(
            &entry.node.spot,
            "`stages` is empty",
            "add e.g. { for = \"15 min\", co2 = \"3 kg/d\" }",
        );
    }
    let last = tables.len();
    let mut list = Vec::new();
    for (n, (node, table)) in tables.into_iter().enumerate() {
        let path = format!("{}.stages.{}", fields.path, n + 1);
        let stage = Fields::new(r, &STAGE, table, &path, &node.spot);
        let lasts = stage.number_if(r, "for");
        if lasts.is_none() && n + 1 < last && stage.entry("for").is_none() {
            r.texts.fault(
                &node.spot,
                "only the last stage goes without `for`",
                "say how long it lasts: for = \"15 min\"",
            );
        }
        list.push(StageNums {
            lasts,
            rates: RATES.map(|rate| stage.number_if(r, rate)),
        });
    }
    list
}

/// Reports efforts that are like each other in a ring.
fn rings(r: &mut Reader<'_>, own: &[Own]) {
    let next = |n: usize| {
        let like = own[n].like.as_deref()?;
        let found = own.iter().position(|o| o.name == like)?;
        // An effort that has a built-in one's name can be like that one.
        (found != n || builtin(like).is_none()).then_some(found)
    };
    for start in 0..own.len() {
        let mut ring = vec![start];
        let mut at = start;
        while let Some(n) = next(at).filter(|_| ring.len() <= own.len()) {
            if n == start {
                // Told once, at its first effort.
                if ring.iter().all(|m| *m >= start) {
                    let names: Vec<&str> = ring.iter().chain([&start]).map(|m| own[*m].name.as_str()).collect();
                    let message = format!("efforts that are like each other: {}", names.join(" -> "));
                    r.texts.fault(
                        &own[start].spot,
                        message,
                        "give one of them a power, rates or stages and no `like`",
                    );
                }
                break;
            }
            ring.push(n);
            at = n;
        }
    }
}

/// An effort with all that it has of another. `outer`: the file's effort of a name comes before the built-in one.
/// `depth` ends a ring, which is reported elsewhere.
fn followed(own: &[Own], name: &str, outer: bool, depth: usize) -> EffortNums {
    let nothing = EffortNums {
        space: Num::Fixed(builtin("nominal").map_or(0.0, |b| b.space_m3)),
        load: LoadNums::Stages(Vec::new()),
        instead: [None; 5],
        quotient: None,
        towel: None,
    };
    let Some(effort) = own.iter().find(|o| outer && o.name == name) else {
        return match builtin(name) {
            Some(b) => EffortNums {
                space: Num::Fixed(b.space_m3),
                load: LoadNums::Builtin(b),
                ..nothing
            },
            None => nothing,
        };
    };
    let base = match &effort.like {
        Some(like) if depth <= own.len() => followed(own, like, like != name, depth + 1),
        _ => nothing,
    };
    EffortNums {
        space: effort.space.unwrap_or(base.space),
        // A load of its own puts all that was said of another's aside.
        instead: if effort.load.is_some() {
            [None; 5]
        } else {
            std::array::from_fn(|n| effort.instead[n].or(base.instead[n]))
        },
        load: effort.load.clone().unwrap_or(base.load),
        quotient: effort.quotient.or(base.quotient),
        towel: effort.towel.or(base.towel),
    }
}

/// Which efforts someone takes up, and what their built-in ones rest on.
/// `more`: those of responses, and those that people go easier at.
pub(super) fn used(r: &mut Reader<'_>, efforts: &Efforts, crew: &CrewRead, tasks: &[TaskRead], more: &[usize]) -> Used {
    let all = r.known.efforts.list.clone();
    let mut taken = vec![false; all.len()];
    let indices = crew.idle.iter().copied().chain(tasks.iter().filter_map(|t| t.effort));
    let indices = indices.chain(more.iter().copied());
    for index in indices {
        if let Some(flag) = taken.get_mut(index) {
            *flag = true;
        }
    }
    let mut used = Used {
        place: vec![None; all.len()],
        ..Used::default()
    };
    for (index, name) in all.iter().enumerate() {
        if !taken[index] {
            continue;
        }
        used.place[index] = Some(used.names.len());
        used.names.push(name.clone());
        used.efforts.push(efforts[index].clone());
        used.by_power |= by_power(&efforts[index]);
        note_builtin(r, name, &efforts[index]);
    }
    used.idle = crew
        .idle
        .iter()
        .map(|i| used.place.get(*i).copied().flatten().unwrap_or(0))
        .collect();
    used
}

fn by_power(effort: &EffortNums) -> bool {
    use crate::crew::Rates;
    effort.quotient.is_none()
        && match &effort.load {
            LoadNums::Power(_) | LoadNums::PerArea(_) | LoadNums::Measured(_) => true,
            LoadNums::Stages(_) => false,
            LoadNums::Builtin(b) => b.stages.iter().any(|s| {
                matches!(
                    s.rates,
                    Rates::Reference { .. } | Rates::PerArea { .. } | Rates::Power { .. }
                )
            }),
        }
}

/// Notes where a used built-in effort comes from.
fn note_builtin(r: &mut Reader<'_>, name: &str, effort: &EffortNums) {
    let LoadNums::Builtin(source) = &effort.load else {
        return;
    };
    let written = if source.name == name {
        "built in".to_owned()
    } else {
        format!("as the built-in `{}`", source.name)
    };
    r.assume(
        format!("efforts.{name}"),
        &written,
        source.about.to_owned(),
        source.source,
        source.from_memory,
    );
}

/// Puts the used efforts, and everyone's index among them, into the parts.
pub(super) fn settle(parts: &mut Parts, plan: &mut Plan, used: &Used) {
    parts.efforts.clone_from(&used.efforts);
    for (person, idle) in parts.people.iter_mut().zip(&used.idle) {
        person.idle = *idle;
    }
    let place = |effort: usize| used.place.get(effort).copied().flatten().unwrap_or(0);
    for task in &mut plan.tasks {
        task.effort = place(task.effort);
    }
    let lists = parts.tasks.iter_mut().flat_map(|t| [&mut t.starts, &mut t.ends]);
    for effect in lists.flatten() {
        if let EffectNums::Plain(Effect::Ease { effort, .. }) = effect {
            *effort = place(*effort);
        }
    }
}

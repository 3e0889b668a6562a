//! What a trade says, in sentences: which designs keep their limits, which stand out, what differs from the baseline.

use super::answered::{Answered, State};
use super::plan::Plan;
use super::tables::verdict;
use crate::results::numbers::percent;
use crate::results::words::count;
use crate::study::trade::{Standing, Verdict};
use crate::trades::{Trade, What};

/// So many rows are named; of more only their number is told.
const NAMED: usize = 6;

/// The sentences, the answer first.
#[must_use]
pub fn sentences(trade: &Trade, plan: &Plan, answered: &Answered) -> Vec<String> {
    let mut said = Vec::new();
    if !trade.question.is_empty() {
        said.push(trade.question.clone());
    }
    let all: Vec<usize> = (0..trade.rows.len()).collect();
    let of = |keep: &dyn Fn(usize) -> bool| -> Vec<usize> { all.iter().copied().filter(|row| keep(*row)).collect() };
    let met = of(&|row| answered.met(row) == Some(true));
    let (coverage, confidence) = (percent(trade.gate.coverage()), percent(trade.gate.confidence()));
    let gate = format!("at {coverage} of variations with {confidence} confidence, each limit for itself");
    said.push(match met.len() {
        0 => format!("NO ROW of {} keeps every limit ({gate}).", trade.rows.len()),
        kept if kept == trade.rows.len() => format!("All {kept} rows keep every limit ({gate})."),
        kept => format!(
            "{kept} of {} keep every limit ({gate}): {}.",
            count(trade.rows.len(), "row"),
            named(trade, &met)
        ),
    });
    said.extend(broken(trade, answered));
    said.extend(front(trade, answered));
    said.extend((0..trade.columns.len()).filter_map(|column| moved(trade, plan, answered, column)));
    for (row, state) in answered.states.iter().enumerate() {
        match state {
            State::Ran => {}
            State::Failed(failed, why) => said.push(format!(
                "In {} {} could not be finished and count as beyond every limit; the first, {why}.",
                named(trade, &[row]),
                count(*failed as usize, "variation")
            )),
            State::Refused(why) => said.push(format!("There is no such design as {}: {why}.", named(trade, &[row]))),
        }
    }
    said
}

/// What no row beats; of all rows, and of those that keep every limit.
fn front(trade: &Trade, answered: &Answered) -> Vec<String> {
    let Some(standings) = &answered.standings else {
        return Vec::new();
    };
    let mut said = Vec::new();
    let on = |row: &usize| matches!(standings[*row], Standing::Front | Standing::Knee);
    let front: Vec<usize> = (0..trade.rows.len()).filter(on).collect();
    let chosen: Vec<String> = trade
        .front
        .iter()
        .flat_map(|front| {
            let name = |column: &usize| trade.columns[*column].name.clone();
            let most = front.most.iter().map(move |column| format!("most {}", name(column)));
            most.chain(front.least.iter().map(move |column| format!("least {}", name(column))))
        })
        .collect();
    if front.is_empty() {
        return vec![format!(
            "There is no front: in every row a chosen column ({}) has no value.",
            chosen.join(", ")
        )];
    }
    let mut sentence = format!("No row beats {} ({})", named(trade, &front), chosen.join(", "));
    if let Some(knee) = standings.iter().position(|standing| *standing == Standing::Knee) {
        sentence.push_str(&format!("; the knee is {}", named(trade, &[knee])));
    }
    said.push(sentence + ".");
    let unkept: Vec<usize> = front
        .iter()
        .copied()
        .filter(|row| answered.met(*row) == Some(false))
        .collect();
    if !unkept.is_empty() {
        said.push(format!("Of these NOT within every limit: {}.", named(trade, &unkept)));
    }
    let (good, knee) = &answered.good;
    if !good.is_empty() && !unkept.is_empty() {
        let knee = knee.map_or(String::new(), |knee| format!("; the knee is {}", named(trade, &[knee])));
        said.push(format!(
            "Of the rows that keep every limit none beats {}{knee}.",
            named(trade, good)
        ));
    }
    said
}

/// "r03 (9 m3, swing beds)".
fn named(trade: &Trade, rows: &[usize]) -> String {
    let name = |row: &usize| {
        let of = &trade.rows[*row];
        format!("{} ({})", of.name, of.labels.join(", "))
    };
    let mut list: Vec<String> = rows.iter().take(NAMED).map(name).collect();
    if rows.len() > NAMED {
        list.push(format!("and {} more", rows.len() - NAMED));
    }
    list.join(", ")
}

/// Which limits are not met, and in how many rows.
fn broken(trade: &Trade, answered: &Answered) -> Option<String> {
    let mut counts: Vec<(String, usize)> = Vec::new();
    let mut count_one = |id: String| match counts.iter_mut().find(|(known, _)| *known == id) {
        Some((_, rows)) => *rows += 1,
        None => counts.push((id, 1)),
    };
    for (row, ids) in answered.not_met.iter().enumerate() {
        let told = answered.told_not_met(row);
        if ids.len() > 1 && ids.join(", ") != told {
            count_one(told);
        } else {
            ids.iter().cloned().for_each(&mut count_one);
        }
    }
    counts.sort_by_key(|(_, rows)| std::cmp::Reverse(*rows));
    let list: Vec<String> = counts
        .iter()
        .map(|(id, rows)| format!("{id} in {}", count(*rows, "row")))
        .collect();
    let few = trade.gate.runs_needed().is_some_and(|needed| trade.runs < needed);
    let too_few = if few {
        format!(
            " With {} nothing can be shown at that gate.",
            count(trade.runs as usize, "variation")
        )
    } else {
        String::new()
    };
    (!list.is_empty()).then(|| format!("Not met: {}.{too_few}", list.join(", ")))
}

/// What a column says against the baseline.
fn moved(trade: &Trade, plan: &Plan, answered: &Answered, column: usize) -> Option<String> {
    let asked = plan.of_column[column]?;
    let what = &trade.columns[column].what;
    if matches!(what, What::Result { .. }) {
        return None;
    }
    let told = |row: usize| {
        answered.answers[row]
            .as_ref()
            .and_then(|answer| answer.differences[asked])
    };
    let with = |wanted: Verdict| -> Vec<usize> {
        (0..trade.rows.len())
            .filter(|row| told(*row).is_some_and(|told| told.verdict == wanted))
            .collect()
    };
    let parts: Vec<String> = [Verdict::More, Verdict::Less]
        .into_iter()
        .filter_map(|wanted| {
            let rows = with(wanted);
            (!rows.is_empty()).then(|| format!("{} {}", named(trade, &rows), verdict(what, wanted)))
        })
        .collect();
    let same = with(Verdict::NotSeen).len();
    let baseline = named(trade, &[trade.baseline]);
    let name = &trade.columns[column].name;
    let none = match same {
        0 => String::new(),
        rows => format!(
            "no difference seen in {} at {}",
            count(rows, "row"),
            count(trade.runs as usize, "variation")
        ),
    };
    let list: Vec<String> = parts.into_iter().chain((!none.is_empty()).then_some(none)).collect();
    (!list.is_empty()).then(|| format!("{name} against {baseline}: {}.", list.join("; ")))
}

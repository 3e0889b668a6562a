//! `spreads.csv`: what is written; `families.csv`: what it was chosen from; `trials.csv`: every row of the list; `timeline.csv`, `margins.csv`, `held.csv`:
//! what the scenario makes of it.

use breathroom_sim::spread::Shape;

use super::{Simulated, Timed};
use crate::fits::families::Fitted;
use crate::fits::tasks::{FAR, Goodness, Task, Why};
use crate::results::table::{Cell, Column, Mark, Table};

fn whole(count: usize) -> Cell {
    Cell::Integer(count as i64)
}

/// What is written into the scenario, task by task.
#[must_use]
pub fn spreads(of: &Timed) -> Table<'_> {
    let columns = vec![
        Column::text("task", "Its id."),
        Column::text("spread", "As the scenario has it."),
        Column::integer("trials", "Trials that are used."),
        Column::integer("people", "People who did it."),
        Column::integer(
            "counts as",
            "As many independent trials say as much: fewer where people differ.",
        ),
        Column::number(
            "between people",
            "%",
            "Part of the variance of the logarithm that is between people; empty if it cannot be told.",
        )
        .detail(),
        Column::number("median", "min", "Median of the spread."),
        Column::number(
            "from",
            "min",
            "5 % of durations are shorter, if the numbers were known.",
        ),
        Column::number("to", "min", "5 % are longer."),
        Column::number(
            "practice",
            "%",
            "Duration after twice as many trials, as a part of before; empty if nobody did it twice.",
        ),
        Column::number("practice from", "%", "Lower end of its 95 % interval.").detail(),
        Column::number("practice to", "%", "Upper end.").detail(),
        Column::text("why", "Why this family."),
        Column::text("test", "Whether its trials contradict it."),
    ];
    let title = "What is written: a spread to a task, with the trials that it rests on.";
    Table::new("spreads", title, columns, of.tasks.len(), |row, cells| {
        let Task {
            id,
            used,
            people,
            written,
            learning,
            choice,
            ..
        } = &of.tasks[row];
        let percent = |part: f64| Cell::Number(100.0 * part);
        let learnt = |of: &dyn Fn(&crate::fits::tasks::Learning) -> f64| {
            learning.as_ref().map_or(Cell::Empty, |learning| percent(of(learning)))
        };
        cells.extend([
            id.as_str().into(),
            written.toml.as_str().into(),
            whole(used.len()),
            whole(people.count),
            Cell::Integer(i64::from(written.trials)),
            people.between.map_or(Cell::Empty, percent),
            (written.median_s / 60.0).into(),
            (written.range_s[0] / 60.0).into(),
            (written.range_s[1] / 60.0).into(),
            learnt(&|learning| learning.per_doubling),
            learnt(&|learning| learning.per_doubling_95[0]),
            learnt(&|learning| learning.per_doubling_95[1]),
            choice.why.as_str().into(),
            choice.test.as_str().into(),
        ]);
    })
}

/// Every family of every task.
#[must_use]
pub fn families(of: &Timed) -> Table<'_> {
    let rows: Vec<(&Task, usize, &(Fitted, Goodness))> = of
        .tasks
        .iter()
        .flat_map(|task| task.fits.iter().enumerate().map(move |(index, fit)| (task, index, fit)))
        .collect();
    let columns = vec![
        Column::text("task", "Its id."),
        Column::text("family", "The family."),
        Column::text("written", "yes: this is the one that is written.").marked(Mark::Front),
        Column::text(
            "parameters",
            "At the maximum of the likelihood: as a spread has them, times in min.",
        ),
        Column::number("log likelihood", "", "ln L there, durations in s."),
        Column::number("AIC", "", "Akaike's criterion; less is better."),
        Column::number(
            "AICc",
            "",
            "The same, corrected for few trials; empty if they are too few for it.",
        ),
        Column::number("A2", "", "Anderson and Darling's statistic."),
        Column::number(
            "p",
            "",
            "The chance of one as large if the family is right, by a bootstrap of the fit.",
        ),
        Column::text(
            "corner",
            "yes: the maximum lies where an end meets a trial; its criteria mean little.",
        )
        .detail(),
    ];
    let title = "What it was chosen from: families at the maximum of their likelihood.";
    Table::new("families", title, columns, rows.len(), move |row, cells| {
        let (task, index, (fit, test)) = rows[row];
        let seconds: Vec<f64> = task.used.iter().map(|&trial| of.trials[trial].seconds).collect();
        let yes = |is: bool| Cell::from(if is { "yes" } else { "no" });
        cells.extend([
            task.id.as_str().into(),
            fit.family.name().into(),
            yes(task.choice.index == index),
            parameters(&fit.shape).into(),
            fit.log_likelihood.into(),
            fit.aic().into(),
            fit.aicc().into(),
            test.a2.into(),
            test.p.into(),
            yes(!fit.is_regular(&seconds)),
        ]);
    })
}

fn parameters(shape: &Shape) -> String {
    let min = |seconds: f64| format!("{:.4}", seconds / 60.0);
    match *shape {
        Shape::Lognormal { median, cv } => format!("median {}, variation {:.4} %", min(median), 100.0 * cv),
        Shape::Gamma { mean, cv } => format!("mean {}, variation {:.4} %", min(mean), 100.0 * cv),
        Shape::Weibull { scale, shape } => format!("scale {}, shape {shape:.4}", min(scale)),
        Shape::Pert { lo, mode, hi } => format!("low {}, mode {}, high {}", min(lo), min(mode), min(hi)),
        _ => String::new(),
    }
}

/// Every row of the list: used or not, near or far.
#[must_use]
pub fn trials(of: &Timed) -> Table<'_> {
    let columns = vec![
        Column::integer("line", "Its line in the list."),
        Column::text("task", "The task."),
        Column::text("person", "Who did it."),
        Column::integer("trial", "Which time it was for them."),
        Column::number("duration", "min", "How long it took."),
        Column::text("suit", "In which suit.").detail(),
        Column::number("start", "min", "When it was begun, from the start of the timeline.").detail(),
        Column::number(
            "distance",
            "",
            "From the median of the task's trials, in robust standard deviations of the logarithm.",
        ),
        Column::text("far", "yes: beyond 3.5 of them."),
        Column::text("used", "Used; or why not."),
        Column::text("notes", "As they were written.").detail(),
    ];
    Table::new(
        "trials",
        "Every trial of the list.",
        columns,
        of.trials.len(),
        |row, cells| {
            let trial = &of.trials[row];
            let far = of.far[row];
            let used = match trial.left_out {
                None => "used",
                Some(Why::Named) => "left out: its line was named",
                Some(Why::Early) => "left out: an early trial",
                Some(Why::OtherSuit) => "left out: another suit",
            };
            cells.extend([
                whole(trial.line),
                trial.task.as_str().into(),
                trial.person.as_str().into(),
                Cell::Integer(i64::from(trial.trial)),
                (trial.seconds / 60.0).into(),
                trial.suit.as_str().into(),
                trial.start_s.map(|s| s / 60.0).into(),
                far.into(),
                if far.is_some_and(|z| z.abs() > FAR) {
                    "yes"
                } else {
                    "no"
                }
                .into(),
                used.into(),
                trial.notes.as_str().into(),
            ]);
        },
    )
}

/// Observed against simulated, task by task.
#[must_use]
pub fn timeline(of: &Simulated) -> Table<'_> {
    let mut columns = vec![
        Column::text("task", "Its id."),
        Column::integer("trials", "Observed durations."),
    ];
    for (name, low, high, meaning) in [
        ("observed", "least", "most", "Of the observed durations"),
        ("before", "5 %", "95 %", "Of the durations that the scenario had"),
        (
            "after",
            "5 %",
            "95 %",
            "Of the durations that it has now, what trials leave unsure included",
        ),
    ] {
        columns.push(Column::number(
            format!("{name} {low}"),
            "min",
            format!("{meaning}: {low}."),
        ));
        columns.push(Column::number(
            format!("{name} median"),
            "min",
            format!("{meaning}: median."),
        ));
        columns.push(Column::number(
            format!("{name} {high}"),
            "min",
            format!("{meaning}: {high}."),
        ));
    }
    columns.extend([
        Column::integer(
            "beyond before",
            "Observed durations beyond 5 to 95 % of what the scenario had.",
        ),
        Column::integer("beyond after", "Beyond those of now."),
        Column::number("observed start", "min", "Median of the observed starts.").detail(),
        Column::number("start before", "min", "Median start of the first turn, before.").detail(),
        Column::number("start after", "min", "The same now.").detail(),
        Column::number("start after 5 %", "min", "5 % of starts are earlier.").detail(),
        Column::number("start after 95 %", "min", "5 % are later.").detail(),
    ]);
    let title = "The timeline as it was observed, and as it is simulated before and after the fit.";
    Table::new("timeline", title, columns, of.timeline.len(), |row, cells| {
        let row = &of.timeline[row];
        cells.extend([row.id.as_str().into(), whole(row.trials)]);
        let ranges = [row.observed_s, row.before_s, row.after_s];
        cells.extend(ranges.iter().flatten().map(|s| Cell::Number(s / 60.0)));
        cells.extend([whole(row.beyond_before), whole(row.beyond_after)]);
        let start = |range: Option<[f64; 3]>, at: usize| Cell::from(range.map(|range| range[at] / 60.0));
        cells.extend([
            row.observed_start_s.map(|s| s / 60.0).into(),
            start(row.start_before_s, 1),
            start(row.start_after_s, 1),
            start(row.start_after_s, 0),
            start(row.start_after_s, 2),
        ]);
    })
}

/// Margins before and after, the tightest first.
#[must_use]
pub fn margins(of: &Simulated) -> Table<'_> {
    let rules = of.tightest();
    let columns = vec![
        Column::text("limit", "Its id."),
        Column::text("where", "Whom or what it is about."),
        Column::text("unit", "Of the margins."),
        Column::number(
            "kept before",
            "",
            "95 % of variations keep this margin or more, with the spreads of before.",
        ),
        Column::number("kept after", "", "The same now.").marked(Mark::Margin),
        Column::number("median before", "", "Median of the margin, before.").detail(),
        Column::number("median after", "", "The same now."),
        Column::number("beyond before", "%", "Variations beyond the limit, before."),
        Column::number("beyond after", "%", "The same now."),
    ];
    let title = "Margins before and after the fit, on the same luck; the tightest first.";
    Table::new("margins", title, columns, rules.len(), move |row, cells| {
        let rule = rules[row];
        let limit = &of.scenario.limits[rule];
        let [before, after] = of.kept[rule];
        let shown = |si: f64| Cell::Number(limit.unit.difference_from_si(si));
        cells.extend([
            limit.id.as_str().into(),
            limit.subject.as_str().into(),
            limit.unit.symbol.into(),
            shown(before.low),
            shown(after.low),
            shown(before.median),
            shown(after.median),
            Cell::Number(100.0 * before.beyond),
            Cell::Number(100.0 * after.beyond),
        ]);
    })
}

/// How margins go with tasks: what is more than chance.
#[must_use]
pub fn held(of: &Simulated) -> Table<'_> {
    let order = of.tightest();
    let mut rows: Vec<_> = of
        .held
        .iter()
        .filter(|held| held.is_seen() && order.contains(&held.rule))
        .collect();
    let place = |rule: usize| order.iter().position(|other| *other == rule);
    rows.sort_by(|a, b| place(a.rule).cmp(&place(b.rule)).then(b.doubt().total_cmp(&a.doubt())));
    let columns = vec![
        Column::text("limit", "Its id."),
        Column::text("where", "Whom or what it is about."),
        Column::text("task", "The task."),
        Column::number(
            "duration",
            "",
            "Rank correlation of the margin with how long the task takes this time or that: more trials do not narrow it.",
        ),
        Column::number(
            "centre",
            "",
            "With what trials leave unsure of its centre: more trials do.",
        ),
        Column::number("width", "", "With what they leave unsure of its width."),
        Column::number(
            "chance",
            "",
            "Correlations nearer to 0 than this are no more than chance, all comparisons together.",
        ),
    ];
    let title = "Which task's spread holds which margin: rank correlations, those that are more than chance.";
    Table::new("held", title, columns, rows.len(), move |row, cells| {
        let held = rows[row];
        let limit = &of.scenario.limits[held.rule];
        cells.extend([
            limit.id.as_str().into(),
            limit.subject.as_str().into(),
            held.id.as_str().into(),
            held.duration.into(),
            held.centre.into(),
            held.width.into(),
            held.chance.into(),
        ]);
    })
}

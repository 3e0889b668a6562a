//! Tables of `watch`.

use breathroom_sim::units::figures as short;

use super::{Caught, MethodFigures, Of};
use crate::results::table::{Cell, Column, Mark, Table};
use crate::watch::characterise::Watched;
use crate::watch::charts::{ALLOWANCE, TABLE_INTERVAL, TABLE_LIMIT, WEIGHT, run_length};
use crate::watch::detector::Method;

/// A share with its interval.
fn share(of: usize, all: usize, interval: [f64; 2]) -> Cell {
    Cell::Measured {
        value: 100.0 * of as f64 / all as f64,
        half_width: 50.0 * (interval[1] - interval[0]),
    }
}

/// By fault, severity and method.
#[must_use]
pub fn detection<'a>(of: &'a Of<'a>, caught: &'a [Caught]) -> Table<'a> {
    let columns = vec![
        Column::text("fault", "The mode of failure."),
        Column::text("severity", "How bad, on the mode's own scale."),
        Column::text("in the bank", "Whether the bank of fault models knows it."),
        Column::text("method", "Which statistic."),
        Column::integer("runs", "Runs with the fault."),
        Column::number(
            "detected",
            "%",
            "Runs with an alarm after the onset; half of its 95 % interval is its confidence.",
        ),
        Column::number(
            "time to alarm",
            "h",
            "From the onset to the alarm, median of runs with one.",
        ),
        Column::integer(
            "cross a limit",
            "Runs in which the fault crosses a limit that the same run without it does not, or later.",
        ),
        Column::number(
            "time to limit",
            "h",
            "From the onset to that limit, nobody responding, median of those runs.",
        ),
        Column::integer(
            "caught before",
            "Of those runs, the ones with the alarm before the limit.",
        ),
        Column::number(
            "detection margin",
            "min",
            "Time to the limit less time to the alarm, median of those runs; empty where that half has no alarm.",
        )
        .marked(Mark::Margin),
        Column::number(
            "least margin",
            "min",
            "The least of them; empty where one has no alarm.",
        )
        .marked(Mark::Margin)
        .detail(),
        Column::integer(
            "named at alarm",
            "Runs in which the bank, when its alarm comes, names this fault as the likeliest.",
        ),
        Column::integer("named at end", "The same at the end of the run.").detail(),
    ];
    Table::new(
        "detection",
        "What is detected of each fault, how soon, and how long before a limit.",
        columns,
        caught.len(),
        move |row, cells| {
            let one = &caught[row];
            let bank = Method::ALL[one.method] == Method::Bank;
            let named = |right: usize| {
                if bank && of.knows(one.mode) {
                    Cell::Integer(right as i64)
                } else {
                    Cell::Empty
                }
            };
            cells.extend([
                of.modes[one.mode].id.as_str().into(),
                of.severity(one.mode, one.severity).into(),
                yes(of.knows(one.mode)),
                Method::ALL[one.method].name().into(),
                Cell::Integer(one.runs as i64),
                share(one.detected, one.runs, one.interval),
                one.to_alarm_h.into(),
                Cell::Integer(one.crossed as i64),
                one.to_limit_h.into(),
                Cell::Integer(one.before as i64),
                one.margin_min.into(),
                one.least_min.into(),
                named(one.right[0]),
                named(one.right[1]),
            ]);
        },
    )
}

fn yes(flag: bool) -> Cell {
    if flag { "yes" } else { "no" }.into()
}

/// By method.
#[must_use]
pub fn methods<'a>(of: &'a Of<'a>, watched: &'a Watched, figures: &'a [MethodFigures]) -> Table<'a> {
    let mut columns = vec![
        Column::text("method", "Which statistic."),
        Column::number(
            "threshold",
            "",
            "From nominal tuning runs, on the statistic's own scale.",
        ),
        Column::integer("tuning alarms", "Alarms in the tuning runs at that threshold.").detail(),
        Column::integer("false alarms", "Alarms in held-out nominal runs."),
        Column::number("days", "d", "Days of held-out nominal runs."),
        Column::number("per day", "1/d", "False alarms a day."),
        Column::number("low", "1/d", "Lower end of its 95 % interval (Garwood)."),
        Column::number("high", "1/d", "Upper end."),
        Column::number("asked", "1/d", "What the threshold was set for."),
        Column::text(
            "kept",
            "Whether the interval holds what was asked for; NO: all of it is above.",
        )
        .marked(Mark::Met),
        Column::number(
            "limit of tables",
            "",
            "The limit that tables give, in standard deviations.",
        ),
        Column::number(
            "per day at it",
            "1/d",
            "False alarms a day of the same runs at that limit.",
        ),
        Column::number(
            "per day if independent",
            "1/d",
            "What the table promises for as many independent readings.",
        ),
    ];
    for severity in &of.job.severities {
        let name = format!("area at {}", crate::results::numbers::percent(*severity));
        columns.push(Column::number(
            name,
            "",
            "Area under the operating curve, faults of the bank at that severity.",
        ));
    }
    columns.push(Column::number(
        "area unmodelled",
        "",
        "The same, faults that the bank does not know.",
    ));
    columns.extend([
        Column::integer("cross a limit", "Runs whose fault crosses a limit."),
        Column::integer("caught before", "Those with the alarm before it."),
        Column::number("median margin", "min", "Time to the limit less time to the alarm.").marked(Mark::Margin),
    ]);
    Table::new(
        "methods",
        "False alarms, operating curves and margins of each method.",
        columns,
        figures.len(),
        move |row, cells| {
            let one = &figures[row];
            cells.extend([
                one.method.name().into(),
                watched.detector.thresholds[row].into(),
                Cell::Integer(watched.detector.tuned_alarms[row] as i64),
                Cell::Integer(watched.nominal.alarms[row] as i64),
                watched.nominal.days.into(),
                one.per_day.into(),
                one.interval[0].into(),
                one.interval[1].into(),
                of.job.per_day.into(),
                if one.above { "NO" } else { "yes" }.into(),
                watched.detector.table_limit(one.method).into(),
                one.table_per_day.into(),
                independent(of, one.method).into(),
            ]);
            cells.extend(one.areas.iter().map(|area| Cell::from(*area)));
            cells.extend([
                Cell::Integer(one.before[0] as i64),
                Cell::Integer(one.before[1] as i64),
                one.margin_min.into(),
            ]);
        },
    )
}

/// What a table promises for independent readings, of all instruments together, a day.
pub fn independent(of: &Of<'_>, method: Method) -> Option<f64> {
    let length = match method {
        Method::Cusum | Method::WhiteCusum => run_length::cusum(ALLOWANCE, TABLE_INTERVAL, 0.0),
        Method::Ewma | Method::WhiteEwma => run_length::ewma(WEIGHT, TABLE_LIMIT, 0.0),
        Method::Innovation | Method::Bank => return None,
    };
    let readings: f64 = of
        .instruments
        .iter()
        .map(|instrument| 86_400.0 / (of.step_s * instrument.stride(of.case, of.step_s) as f64))
        .sum();
    Some(readings / length)
}

/// Points of the operating curves.
#[must_use]
pub fn operating<'a>(of: &'a Of<'a>, watched: &'a Watched) -> Table<'a> {
    let points = &watched.nominal.points;
    let mut columns = vec![
        Column::text("method", "Which statistic."),
        Column::number("threshold", "", "On its own scale."),
        Column::number("false alarms", "1/d", "False alarms a day of held-out nominal runs."),
    ];
    for severity in &of.job.severities {
        let name = format!("detected at {}", crate::results::numbers::percent(*severity));
        columns.push(Column::number(
            name,
            "%",
            "Runs with a fault of the bank that are detected at all.",
        ));
    }
    columns.push(Column::number(
        "detected unmodelled",
        "%",
        "The same of faults that the bank does not know.",
    ));
    Table::new(
        "operating",
        "Chance of detection against false alarms a day.",
        columns,
        6 * points.len(),
        move |row, cells| {
            let (method, point) = (row / points.len(), row % points.len());
            let (threshold, alarms) = points[point][method];
            cells.extend([
                Method::ALL[method].name().into(),
                threshold.into(),
                Cell::Number(alarms as f64 / watched.nominal.days),
            ]);
            let chance = |keep: &dyn Fn(usize, usize) -> bool| {
                let trials = watched.trials.iter().filter(|trial| keep(trial.mode, trial.severity));
                let (seen, all) = trials.fold((0.0, 0.0), |(seen, all), trial| {
                    (seen + f64::from(u8::from(trial.at_points[point][method])), all + 1.0)
                });
                Cell::Number(100.0 * seen / all)
            };
            for severity in 0..of.job.severities.len() {
                cells.push(chance(&|mode, of_trial| of.knows(mode) && of_trial == severity));
            }
            cells.push(chance(&|mode, _| !of.knows(mode)));
        },
    )
}

/// What the bank names at its alarm, by what it was.
#[must_use]
pub fn naming<'a>(of: &'a Of<'a>, watched: &'a Watched) -> Table<'a> {
    let mut rows: Vec<(usize, Option<usize>, usize, usize)> = Vec::new();
    for &mode in &of.job.tried {
        let trials: Vec<_> = watched.trials.iter().filter(|trial| trial.mode == mode).collect();
        let mut named: Vec<(Option<usize>, usize)> = Vec::new();
        for trial in &trials {
            let name = trial.named.map(|(named, _)| named);
            match named.iter_mut().find(|(other, _)| *other == name) {
                Some((_, count)) => *count += 1,
                None => named.push((name, 1)),
            }
        }
        named.sort_by(|a, b| b.1.cmp(&a.1).then(a.0.cmp(&b.0)));
        rows.extend(named.into_iter().map(|(name, count)| (mode, name, count, trials.len())));
    }
    let columns = vec![
        Column::text("fault", "What it was."),
        Column::text("in the bank", "Whether the bank knows it."),
        Column::text("named", "What the bank names when its alarm comes; - where none comes."),
        Column::integer("runs", "In so many runs, all severities together."),
        Column::number("share", "%", "Of the runs with this fault."),
        Column::text(
            "right",
            "Whether that is the fault; place: another mode of the same place.",
        ),
    ];
    Table::new(
        "naming",
        "What the bank of faults names, by what it was.",
        columns,
        rows.len(),
        move |row, cells| {
            let (mode, named, count, all) = rows[row];
            let right = match named {
                None => "-",
                Some(named) if named == mode => "yes",
                Some(named) if of.modes[named].place == of.modes[mode].place => "place",
                Some(_) => "no",
            };
            cells.extend([
                of.modes[mode].id.as_str().into(),
                yes(of.knows(mode)),
                named.map_or("-", |named| of.modes[named].id.as_str()).into(),
                Cell::Integer(count as i64),
                Cell::Number(100.0 * count as f64 / all as f64),
                right.into(),
            ]);
        },
    )
}

/// The instruments, and how white their innovations are.
#[must_use]
pub fn instruments<'a>(of: &'a Of<'a>, watched: &'a Watched) -> Table<'a> {
    let columns = vec![
        Column::text("instrument", "Its name: that of its column in a file of measurements."),
        Column::text("watches", "What it reads."),
        Column::text("unit", "The unit of what follows."),
        Column::number("noise", "", "Standard deviation of a reading."),
        Column::number("lag", "s", "Time constant."),
        Column::number("every", "s", "From reading to reading; 0: every row."),
        Column::number("bias", "", "Standard deviation of an offset drawn once for a run."),
        Column::number("resolution", "", "Smallest step."),
        Column::text("source", "Whose figures these are."),
        Column::number(
            "residual",
            "",
            "Standard deviation of the residual in nominal runs: what nobody knows of the run.",
        ),
        Column::integer("order", "Order of the autoregression that makes it white."),
        Column::number(
            "mean square",
            "",
            "Of held-out innovations: 1 if they are as in the runs they were fitted on.",
        ),
        Column::number(
            "neighbours",
            "",
            "Correlation of neighbouring held-out innovations: 0 if they are white.",
        ),
    ];
    let whitener = &watched.detector.whitener;
    Table::new(
        "instruments",
        "What is read, how well, and what is left of it.",
        columns,
        of.instruments.len(),
        move |row, cells| {
            let instrument = &of.instruments[row];
            let figures = instrument.figures(of.case);
            let unit = instrument.reads.unit();
            let shown = |si: f64| Cell::Number(unit.difference_from_si(si));
            let [square, neighbours] = watched.whiteness.get(row).copied().unwrap_or([f64::NAN; 2]);
            cells.extend([
                instrument.name.as_str().into(),
                instrument.reads.words(&of.scenario.names).into(),
                unit.symbol.into(),
                shown(figures.noise),
                figures.lag_s.into(),
                figures.every_s.into(),
                shown(figures.bias),
                shown(figures.resolution),
                instrument.source.as_str().into(),
                shown(whitener.deviation[row]),
                Cell::Integer(whitener.order[row].len() as i64),
                square.into(),
                neighbours.into(),
            ]);
        },
    )
}

/// The modes of failure.
#[must_use]
pub fn modes<'a>(of: &'a Of<'a>) -> Table<'a> {
    let columns = vec![
        Column::text("fault", "Its name."),
        Column::text("place", "What fails."),
        Column::text("scale", "What a severity means."),
        Column::text("onset", "How it comes."),
        Column::text("in the bank", "Whether the bank of fault models knows it."),
    ];
    Table::new(
        "modes",
        "Ways to fail that were tried.",
        columns,
        of.job.tried.len(),
        move |row, cells| {
            let index = of.job.tried[row];
            let mode = &of.modes[index];
            cells.extend([
                mode.id.as_str().into(),
                mode.place.as_str().into(),
                mode.scale.as_str().into(),
                mode.onset.into(),
                yes(of.knows(index)),
            ]);
        },
    )
}

/// A course of each mode.
#[must_use]
pub fn examples<'a>(of: &'a Of<'a>, watched: &'a Watched) -> Table<'a> {
    let rows: Vec<(usize, usize)> = watched
        .examples
        .iter()
        .enumerate()
        .flat_map(|(example, of)| (0..of.time_s.len()).map(move |row| (example, row)))
        .collect();
    let mut columns = vec![
        Column::text("fault", "The mode; nominal: none."),
        Column::text("severity", "How bad."),
        Column::number("time", "h", "From the start of the run."),
        Column::text("instrument", "The one that moves most."),
        Column::text("unit", "Of its residual."),
        Column::number("residual", "", "Reading less reference."),
    ];
    for method in Method::ALL {
        let name = format!("{} over threshold", method.name());
        columns.push(Column::number(
            name,
            "",
            "The statistic over its threshold: an alarm above 1.",
        ));
    }
    Table::new(
        "examples",
        "A run of each fault: a residual, and every statistic over its threshold.",
        columns,
        rows.len(),
        move |row, cells| {
            let (example, at) = rows[row];
            let one = &watched.examples[example];
            let unit = of.instruments[one.instrument].reads.unit();
            cells.extend([
                one.mode.map_or("nominal", |mode| of.modes[mode].id.as_str()).into(),
                one.mode
                    .filter(|mode| of.modes[*mode].graded)
                    .map_or_else(String::new, |_| crate::results::numbers::percent(one.severity))
                    .into(),
                Cell::Number(one.time_s[at] / 3600.0),
                of.instruments[one.instrument].name.as_str().into(),
                unit.symbol.into(),
                Cell::Number(unit.difference_from_si(one.residual[at])),
            ]);
            cells.extend(one.over[at].map(Cell::Number));
        },
    )
}

/// Average run lengths of the charts' customary designs.
#[must_use]
pub fn run_lengths() -> Table<'static> {
    let columns = vec![
        Column::text("chart", "Its design."),
        Column::number("shift", "", "In standard deviations."),
        Column::number(
            "readings",
            "",
            "Average number of readings to an alarm, if they are independent.",
        ),
    ];
    const SHIFTS: [f64; 4] = [0.0, 0.5, 1.0, 2.0];
    Table::new(
        "run_lengths",
        "What tables say of the charts: of independent readings alone.",
        columns,
        2 * SHIFTS.len(),
        move |row, cells| {
            let shift = SHIFTS[row % SHIFTS.len()];
            let (name, length) = if row < SHIFTS.len() {
                let name = format!("cusum, k = {}, h = {}", short(ALLOWANCE, 3), short(TABLE_INTERVAL, 3));
                (name, run_length::cusum(ALLOWANCE, TABLE_INTERVAL, shift))
            } else {
                let name = format!("ewma, lambda = {}, L = {}", short(WEIGHT, 3), short(TABLE_LIMIT, 4));
                (name, run_length::ewma(WEIGHT, TABLE_LIMIT, shift))
            };
            cells.extend([name.into(), shift.into(), length.into()]);
        },
    )
}

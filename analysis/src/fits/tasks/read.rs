//! The list of timed tasks: which rows are used, and why others are not.

use breathroom_sim::units::Dimension;

use crate::measured::Sheet;

/// Longest duration that is believed, s: 30 d.
const LONGEST_S: f64 = 30.0 * 86_400.0;

/// One timed task.
#[derive(Clone, Debug, PartialEq)]
pub struct Trial {
    /// Line in the file, from 1.
    pub line: usize,
    /// Which task.
    pub task: String,
    /// Who did it, or several: as written.
    pub person: String,
    /// Which time it was for them, from 1.
    pub trial: u32,
    /// How long it took, s.
    pub seconds: f64,
    /// In which suit, as written; empty if not said.
    pub suit: String,
    /// When it began, s from the start of the timeline; none if not said.
    pub start_s: Option<f64>,
    /// Remarks.
    pub notes: String,
    /// Why it is not used; none if it is.
    pub left_out: Option<Why>,
}

/// Why a row is not used. Always something that was asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Why {
    /// Its line was named.
    Named,
    /// It was an earlier trial than those that are wanted.
    Early,
    /// It was in another suit, or in none.
    OtherSuit,
}

/// What is asked of a list.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Asked {
    /// Only rows with this in the column `suit`.
    pub suit: Option<String>,
    /// Only trials from this one on.
    pub from_trial: u32,
    /// Lines that are left out.
    pub leave_out: Vec<usize>,
}

/// Columns, of which the first four are needed.
struct Columns {
    task: usize,
    person: usize,
    trial: usize,
    seconds: (usize, bool),
    suit: Option<usize>,
    start: Option<usize>,
    notes: Option<usize>,
}

/// The trials of a list, in its order. `None` if something is wrong, which the sheet tells.
pub fn read(sheet: &mut Sheet, asked: &Asked) -> Option<Vec<Trial>> {
    let columns = columns(sheet)?;
    let seconds = seconds(sheet, columns.seconds);
    let starts = columns.start.map(|column| sheet.quantities(column, Dimension::Time));
    let mut trials = Vec::with_capacity(sheet.len());
    for row in 0..sheet.len() {
        let words =
            |column: Option<usize>| column.map_or_else(String::new, |column| sheet.text(row, column).into_owned());
        let trial = Trial {
            line: sheet.line(row),
            task: words(Some(columns.task)),
            person: words(Some(columns.person)),
            trial: sheet.text(row, columns.trial).parse().unwrap_or(0),
            seconds: seconds.as_ref().map_or(f64::NAN, |seconds| seconds[row]),
            suit: words(columns.suit),
            start_s: starts.as_ref().and_then(|starts| starts.as_ref()?.0[row]),
            notes: words(columns.notes),
            left_out: None,
        };
        for (column, name) in [(columns.task, "task"), (columns.person, "person")] {
            if sheet.is_gap(row, column) {
                sheet.fault(row, column, format!("a row without a {name}"), "every trial has one");
            }
        }
        if trial.trial == 0 {
            let message = format!("`{}` is no number of a trial", sheet.text(row, columns.trial));
            sheet.fault(
                row,
                columns.trial,
                message,
                "a whole number from 1: which time it was for this person",
            );
        }
        let twice = trials.iter().find(|other: &&Trial| {
            (&other.task, &other.person, other.trial, &other.suit)
                == (&trial.task, &trial.person, trial.trial, &trial.suit)
        });
        if let Some(other) = twice.filter(|_| trial.trial > 0) {
            let message = format!(
                "trial {} of `{}` by {} stands in line {} already",
                trial.trial, trial.task, trial.person, other.line
            );
            sheet.fault(
                row,
                columns.trial,
                message,
                "each trial of a person once; number them on",
            );
        }
        trials.push(trial);
    }
    leave_out(sheet, &columns, &mut trials, asked);
    sheet.is_sound().then_some(trials)
}

fn columns(sheet: &mut Sheet) -> Option<Columns> {
    let [task, person, trial] = ["task", "person", "trial"].map(|name| sheet.need(name));
    // A bare "seconds" says its unit by its name; "duration [min]" in its header.
    let seconds = match (sheet.find("duration"), sheet.find("seconds")) {
        (Some(column), _) => Some((column, false)),
        (None, Some(column)) => Some((column, sheet.unit(column).is_empty())),
        (None, None) => sheet.need("seconds").map(|column| (column, true)),
    };
    Some(Columns {
        task: task?,
        person: person?,
        trial: trial?,
        seconds: seconds?,
        suit: sheet.find("suit"),
        start: sheet.find("start"),
        notes: sheet.find("notes"),
    })
}

/// Durations, s, one to each row; none after a fault.
fn seconds(sheet: &mut Sheet, (column, bare): (usize, bool)) -> Option<Vec<f64>> {
    let values = if bare {
        sheet.quantities(column, Dimension::Number)?.0
    } else {
        sheet.quantities(column, Dimension::Time)?.0
    };
    for (row, value) in values.iter().enumerate() {
        let (message, help) = match value {
            None => ("a trial without a duration", "take the row out if it was not timed"),
            Some(value) if *value <= 0.0 => ("a duration that is not above 0", "how long the task took"),
            Some(value) if *value > LONGEST_S => {
                ("a duration of more than 30 days", "is the unit of the header right?")
            }
            Some(_) => continue,
        };
        sheet.fault(row, column, message, help);
    }
    values.into_iter().collect()
}

/// Marks the rows that were asked to be left out.
fn leave_out(sheet: &mut Sheet, columns: &Columns, trials: &mut [Trial], asked: &Asked) {
    for line in &asked.leave_out {
        if !trials.iter().any(|trial| trial.line == *line) {
            sheet.fault_of(
                columns.task,
                format!("there is no trial in line {line}, which is to be left out"),
                "lines count from 1, the header too",
            );
        }
    }
    match (&asked.suit, columns.suit) {
        (Some(suit), None) => {
            sheet.fault_of(
                columns.task,
                format!("only trials with suit `{suit}` are wanted, and there is no column `suit`"),
                "add the column, or leave out --suit",
            );
        }
        (Some(suit), Some(column)) if !trials.iter().any(|trial| trial.suit == *suit) => {
            let words: Vec<String> = trials.iter().map(|trial| trial.suit.clone()).collect();
            let help = sheet.meant(suit, words.iter().map(String::as_str).filter(|word| !word.is_empty()));
            sheet.fault_of(column, format!("no trial has `{suit}` in the column `suit`"), &help);
        }
        _ => {}
    }
    for trial in &mut *trials {
        trial.left_out = if asked.leave_out.contains(&trial.line) {
            Some(Why::Named)
        } else if trial.trial < asked.from_trial {
            Some(Why::Early)
        } else if asked.suit.as_ref().is_some_and(|suit| trial.suit != *suit) {
            Some(Why::OtherSuit)
        } else {
            None
        };
    }
    let Some(column) = columns.suit else { return };
    // With and without a suit are two tasks to a clock.
    let mut told: Vec<&str> = Vec::new();
    for (row, trial) in trials.iter().enumerate() {
        let other = trials.iter().find(|other| {
            let used = other.left_out.is_none() && trial.left_out.is_none();
            used && other.task == trial.task && other.suit != trial.suit
        });
        if let Some(other) = other.filter(|_| !told.contains(&trial.task.as_str())) {
            let message = format!(
                "`{}` was timed with suit \"{}\" and with \"{}\"",
                trial.task, trial.suit, other.suit
            );
            sheet.fault(
                row,
                column,
                message,
                "choose one with --suit; the other is a task of its own",
            );
            told.push(&trial.task);
        }
    }
}

//! What a detector says of measured readings: alarms with their times, the likely fault, and residuals.

use serde::Serialize;

use super::Of;
use crate::results::numbers::{clock, percent, short, with_unit};
use crate::results::table::{Cell, Column, Table};
use crate::watch::detector::{Detector, Method};
use crate::watch::measured::{Alarm, Found, Measured};

/// Faults told with an alarm.
const MOST_LIKELY: usize = 3;

/// What is said of measured readings.
#[derive(Clone, Debug, Serialize)]
pub struct MeasuredSummary {
    /// The file.
    pub file: String,
    /// Its SHA-256.
    pub sha256: String,
    /// Added to its times, s.
    pub clock_s: f64,
    /// Readings used, by instrument.
    pub readings: Vec<Used>,
    /// Alarms in order of time.
    pub alarms: Vec<AlarmSummary>,
    /// What the bank makes of all of it, likeliest first, whether it gave alarm or not.
    pub likely: Vec<Likely>,
    /// In sentences.
    pub answer: Vec<String>,
    /// What deserves a look.
    #[serde(skip)]
    pub notes: Vec<String>,
}

/// Readings of an instrument.
#[derive(Clone, Debug, Serialize)]
pub struct Used {
    /// Its name.
    pub instrument: String,
    /// Readings used.
    pub readings: usize,
    /// Unit of what follows.
    pub unit: &'static str,
    /// Mean of reading less reference; null without readings.
    pub mean_residual: f64,
    /// Largest of it, either way.
    pub largest_residual: f64,
    /// That in deviations of nominal runs.
    pub deviations: f64,
}

/// An alarm.
#[derive(Clone, Debug, Serialize)]
pub struct AlarmSummary {
    /// Hours from the start.
    pub at_h: f64,
    /// Which statistic.
    pub method: &'static str,
    /// The instrument whose chart it is.
    pub instrument: Option<String>,
    /// What the bank thinks, likeliest first.
    pub likely: Vec<Likely>,
}

/// A fault with its probability among the models of the bank.
#[derive(Clone, Debug, Serialize)]
pub struct Likely {
    /// Which.
    pub fault: String,
    /// If there is a fault and the bank knows it.
    pub probability: f64,
}

fn likely(of: &Of<'_>, shares: &[(usize, f64)]) -> Vec<Likely> {
    let one = |&(mode, probability): &(usize, f64)| Likely {
        fault: of.modes[mode].id.clone(),
        probability,
    };
    shares.iter().take(MOST_LIKELY).map(one).collect()
}

impl MeasuredSummary {
    /// Of readings.
    #[must_use]
    pub fn of(
        of: &Of<'_>,
        (file, sha256, clock_s): (String, String, f64),
        (measured, found): (&Measured, &Found),
        detector: &Detector,
    ) -> Self {
        let used = |(index, series): (usize, &Vec<f64>)| {
            let instrument = &of.instruments[index];
            let unit = instrument.reads.unit();
            let there: Vec<f64> = series.iter().copied().filter(|x| x.is_finite()).collect();
            let largest = there
                .iter()
                .copied()
                .fold(0.0, |most: f64, x| if x.abs() > most.abs() { x } else { most });
            Used {
                instrument: instrument.name.clone(),
                readings: measured.used[index],
                unit: unit.symbol,
                mean_residual: unit.difference_from_si(there.iter().sum::<f64>() / there.len() as f64),
                largest_residual: unit.difference_from_si(largest),
                deviations: (largest - detector.whitener.mean[index]) / detector.whitener.deviation[index],
            }
        };
        let readings: Vec<Used> = found.residuals.iter().enumerate().map(used).collect();
        let alarm = |alarm: &Alarm| AlarmSummary {
            at_h: alarm.at_s / 3600.0,
            method: alarm.method.name(),
            instrument: alarm.instrument.map(|index| of.instruments[index].name.clone()),
            likely: likely(of, &alarm.likely),
        };
        let mut told = Self {
            file,
            sha256,
            clock_s,
            readings,
            alarms: found.alarms.iter().map(alarm).collect(),
            likely: likely(of, &found.last),
            answer: Vec::new(),
            notes: measured.notes.clone(),
        };
        told.answer = told.sentences(found.last_s / 3600.0);
        told
    }

    fn sentences(&self, last_h: f64) -> Vec<String> {
        let mut said = Vec::new();
        let first = self.alarms.first();
        match first {
            None => said.push(format!(
                "No alarm in {}: up to {} nothing is beyond a threshold.",
                self.file,
                clock(last_h)
            )),
            Some(first) => {
                let by = |method: Method| {
                    let of = self.alarms.iter().find(|alarm| alarm.method == method.name())?;
                    let chart = of
                        .instrument
                        .as_ref()
                        .map(|name| format!(" ({name})"))
                        .unwrap_or_default();
                    Some(format!("{} at {}{chart}", method.name(), clock(of.at_h)))
                };
                let all: Vec<String> = Method::ALL.into_iter().filter_map(by).collect();
                said.push(format!(
                    "Alarm in {}, first at {}: {}.",
                    self.file,
                    clock(first.at_h),
                    all.join("; ")
                ));
            }
        }
        let words = |list: &[Likely]| {
            let one = |likely: &Likely| format!("{} ({})", likely.fault, percent(likely.probability));
            list.iter().map(one).collect::<Vec<_>>().join(", ")
        };
        if let Some(bank) = self.alarms.iter().find(|alarm| alarm.method == Method::Bank.name()) {
            said.push(format!(
                "When the bank's alarm comes the likeliest faults that it knows are {}; after the last reading {}.",
                words(&bank.likely),
                words(&self.likely)
            ));
        } else if first.is_some() {
            said.push(format!(
                "The bank gives no alarm; likeliest of what it knows would be {}.",
                words(&self.likely)
            ));
        }
        let far = |used: &&Used| used.readings > 0;
        let one = |used: &Used| {
            format!(
                "{} {} ({} deviations of nominal runs)",
                used.instrument,
                with_unit(used.largest_residual, used.unit),
                short(used.deviations)
            )
        };
        let list: Vec<String> = self.readings.iter().filter(far).map(one).collect();
        said.push(format!("Farthest from what is expected: {}.", list.join("; ")));
        said
    }
}

/// Alarms on measured readings.
#[must_use]
pub fn alarms(measured: &MeasuredSummary) -> Table<'_> {
    let columns = vec![
        Column::number("time", "h", "From the start of the scenario."),
        Column::text("method", "Which statistic."),
        Column::text("instrument", "The instrument whose chart it is."),
        Column::text("likely fault", "What the bank thinks likeliest."),
        Column::number("probability", "%", "If there is a fault that the bank knows."),
        Column::text("next", "The next likely."),
        Column::number("its probability", "%", "The same."),
    ];
    Table::new(
        "alarms",
        "Alarms on the measured readings.",
        columns,
        measured.alarms.len(),
        move |row, cells| {
            let alarm = &measured.alarms[row];
            cells.extend([
                alarm.at_h.into(),
                alarm.method.into(),
                alarm.instrument.as_deref().map_or(Cell::Empty, Cell::from),
            ]);
            for place in 0..2 {
                match alarm.likely.get(place) {
                    Some(likely) => {
                        cells.extend([likely.fault.as_str().into(), Cell::Number(100.0 * likely.probability)]);
                    }
                    None => cells.extend([Cell::Empty, Cell::Empty]),
                }
            }
        },
    )
}

/// Measured readings, what is expected, and every statistic over its threshold.
#[must_use]
pub fn residuals<'a>(
    of: &'a Of<'a>,
    measured: &'a Measured,
    reference: &'a [Vec<f64>],
    (found, detector): (&'a Found, &'a Detector),
) -> Table<'a> {
    let mut columns = vec![Column::number("time", "h", "From the start of the scenario.")];
    for instrument in of.instruments {
        let unit = instrument.reads.unit().symbol;
        let name = &instrument.name;
        columns.push(Column::number(name.clone(), unit, "As measured."));
        columns.push(Column::number(
            format!("{name} expected"),
            unit,
            "What the run on the medians reads.",
        ));
    }
    for method in Method::ALL {
        let name = format!("{} over threshold", method.name());
        columns.push(Column::number(name, "", "An alarm above 1."));
    }
    let rows = reference.first().map_or(0, Vec::len);
    Table::new(
        "residuals",
        "Measured readings beside what is expected, and every statistic over its threshold.",
        columns,
        rows,
        move |row, cells| {
            cells.push(Cell::Number(row as f64 * of.step_s / 3600.0));
            for (index, instrument) in of.instruments.iter().enumerate() {
                let unit = instrument.reads.unit();
                cells.push(Cell::Number(unit.from_si(measured.readings[index][row])));
                cells.push(Cell::Number(unit.from_si(reference[index][row])));
            }
            for method in 0..Method::ALL.len() {
                let statistic = f64::from(found.seen.courses[method].statistic[row]);
                cells.push(Cell::Number(statistic / detector.thresholds[method]));
            }
        },
    )
}

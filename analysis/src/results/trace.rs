//! Results of `traces`: labelled histories as two tables, their rows and their runs, and what they are in words.

use breathroom_sim::scenario::Scenario;
use serde::Serialize;

use super::caution;
use super::json;
use super::provenance::{Provenance, ScenarioFile};
use super::summarise::from_memory;
use super::summary::FORMAT;
use super::table::{Cell, Column, Table};
use crate::chance::Design;
use crate::watch::instruments::Instrument;
use crate::watch::modes::Mode;
use crate::watch::traces::{Labelled, TracesJob};

/// Values are shown to so many decimals of their unit: far below what instruments resolve.
const DECIMALS: f64 = 1e6;

/// What traces are made of.
#[derive(Clone, Copy)]
pub struct Of<'a> {
    /// The scenario.
    pub scenario: &'a Scenario,
    /// What is read.
    pub instruments: &'a [Instrument],
    /// Ways to fail.
    pub modes: &'a [Mode],
    /// What was asked.
    pub job: &'a TracesJob,
    /// Spacing of rows, s.
    pub step_s: f64,
    /// What is, beside what is read.
    pub truth: bool,
}

impl Of<'_> {
    /// Columns of the rows.
    #[must_use]
    pub fn row_columns(&self) -> Vec<Column> {
        let mut columns = vec![
            Column::integer("run", "The run, as in runs.csv."),
            Column::number("time", "s", "From the start of the scenario."),
        ];
        let names = &self.scenario.names;
        for instrument in self.instruments {
            let watches = instrument.reads.words(names);
            columns.push(Column::number(
                instrument.name.clone(),
                instrument.reads.unit().symbol,
                format!("What the instrument says of {watches}; empty where no reading is due."),
            ));
        }
        if self.truth {
            for instrument in self.instruments {
                let watches = instrument.reads.words(names);
                columns.push(Column::number(
                    format!("{} true", instrument.name),
                    instrument.reads.unit().symbol,
                    format!("What {watches} is."),
                ));
            }
        }
        for device in &names.devices {
            columns.push(Column::integer(
                format!("{device} on"),
                "1 while the device runs, 0 while it stands still.",
            ));
        }
        columns
    }

    /// The cells of a row of a run.
    pub fn row_into(&self, labelled: &Labelled, row: usize, cells: &mut Vec<Cell>) {
        cells.clear();
        cells.push(Cell::Integer(labelled.run as i64));
        cells.push(Cell::Number(libm::round(1e3 * row as f64 * self.step_s) / 1e3));
        let shown = |index: usize, si: f64| {
            let value = self.instruments[index].reads.unit().from_si(si);
            Cell::Number(libm::round(value * DECIMALS) / DECIMALS)
        };
        for (index, series) in labelled.readings.iter().enumerate() {
            cells.push(shown(index, series[row]));
        }
        if self.truth {
            for (index, series) in labelled.truth.iter().enumerate() {
                cells.push(shown(index, series[row]));
            }
        }
        for runs in &labelled.runs {
            cells.push(Cell::Integer(i64::from(runs[row])));
        }
    }

    /// The labels, one row to a run.
    #[must_use]
    pub fn runs<'a>(&'a self, labels: &'a [Labelled]) -> Table<'a> {
        let columns = vec![
            Column::integer("run", "Its number."),
            Column::text("label", "nominal, or the mode of failure."),
            Column::text("place", "What fails."),
            Column::number(
                "severity",
                "",
                "From 0 to 1, on the scale of the mode; 1 for a fault of the file as it stands.",
            ),
            Column::number(
                "onset",
                "s",
                "When the fault begins; empty where there is none, or it did not begin within the run.",
            ),
            Column::number(
                "time to limit",
                "s",
                "From the onset to the first limit that is crossed because of it, nobody responding; empty: none.",
            ),
            Column::integer(
                "variation",
                "The draw of crew, timeline, noise and offsets: that of `vary` with the same seed.",
            ),
            Column::text("split", "tune or held-out: no variation is in both."),
            Column::integer("rows", "Rows in traces.csv; 0 where the run could not be finished."),
        ];
        Table::new(
            "runs",
            "Labels of the runs in traces.csv.",
            columns,
            labels.len(),
            move |row, cells| {
                let one = &labels[row];
                let mode = one.mode.map(|mode| &self.modes[mode]);
                cells.extend([
                    Cell::Integer(one.run as i64),
                    mode.map_or("nominal", |mode| mode.id.as_str()).into(),
                    mode.map_or(Cell::Empty, |mode| mode.place.as_str().into()),
                    Cell::Number(one.severity),
                    one.onset_s.map(|s| libm::round(1e3 * s) / 1e3).into(),
                    one.to_limit_s.map(|s| libm::round(1e3 * s) / 1e3).into(),
                    Cell::Integer(one.variation as i64),
                    if one.tune { "tune" } else { "held-out" }.into(),
                    Cell::Integer(one.truth.first().map_or(0, Vec::len) as i64),
                ]);
            },
        )
    }
}

/// `summary.json` of `traces`.
#[derive(Clone, Debug, Serialize)]
pub struct TracesSummary {
    /// [`FORMAT`].
    pub format: u32,
    /// "traces".
    pub command: &'static str,
    /// Which scenario.
    pub scenario: ScenarioFile,
    /// Seed of all draws.
    pub seed: u64,
    /// Variations.
    pub variations: u64,
    /// Of these, for tuning.
    pub tuning: u64,
    /// Runs.
    pub runs: u64,
    /// Rows.
    pub rows: u64,
    /// Spacing of rows, s.
    pub row_s: f64,
    /// Severities.
    pub severities: Vec<f64>,
    /// Instruments.
    pub instruments: Vec<String>,
    /// Faults.
    pub faults: Vec<String>,
    /// Runs that could not be finished.
    pub failed: u64,
    /// In sentences.
    pub answer: Vec<String>,
    /// What deserves a look.
    pub warnings: Vec<String>,
    /// Defaults and limits whose source was recalled, not read again.
    pub from_memory: Vec<String>,
    /// What went in.
    pub provenance: Provenance,
    /// What this is not.
    pub caution: String,
}

impl TracesSummary {
    /// Of runs that were made; `varies` says whether crew and timeline do.
    #[must_use]
    pub fn of(
        of: &Of<'_>,
        (labels, rows, seed): (&[Labelled], u64, u64),
        [crew, timeline]: [bool; 2],
        (file, mut provenance): (ScenarioFile, Provenance),
    ) -> Self {
        provenance.seed = Some(seed);
        provenance.runs = Some(of.job.runs);
        provenance.design = Some(Design::Plain.name());
        let failed = labels.iter().filter(|one| one.failure.is_some()).count() as u64;
        let not_begun = labels
            .iter()
            .filter(|one| one.mode.is_some() && one.onset_s.is_none() && one.failure.is_none())
            .count();
        let mut answer = vec![format!(
            "{} labelled runs of {} variations ({} for tuning, {} held out): nominal and {} faults, {} rows of {} s from {} instruments.",
            labels.len(),
            of.job.runs,
            of.job.tuning(),
            of.job.runs - of.job.tuning(),
            of.job.modes.len(),
            rows,
            super::numbers::short(of.step_s),
            of.instruments.len()
        )];
        answer.push(
            match (crew, timeline) {
                (true, true) => "Crew and timeline vary by the scenario's own spreads.",
                (true, false) => "The crew varies by the scenario's own spreads; its tasks have none, so the timeline is the same in every run.",
                (false, true) => "The timeline varies by the scenario's own spreads; its crew has none and is the same in every run.",
                (false, false) => {
                    "The scenario has no spread on crew and tasks: they are the same in every run, and a method learnt here has seen one day only."
                }
            }
            .to_owned(),
        );
        answer.push("Nobody responds to alarms in these runs: what is seen is the fault.".to_owned());
        if not_begun > 0 {
            answer.push(format!(
                "In {not_begun} runs the fault of the file does not begin: they have no onset."
            ));
        }
        let mut warnings: Vec<String> = of
            .scenario
            .warnings
            .iter()
            .map(|warning| warning.message.clone())
            .collect();
        if failed > 0 {
            let first = labels.iter().find_map(|one| one.failure.as_ref());
            warnings.push(format!(
                "{failed} runs could not be finished and have no rows{}",
                super::watch::the_first(first, of.scenario)
            ));
        }
        let case = of.scenario.draw(&breathroom_sim::scenario::Medians).case;
        Self {
            format: FORMAT,
            command: "traces",
            scenario: file,
            seed,
            variations: of.job.runs,
            tuning: of.job.tuning(),
            runs: labels.len() as u64,
            rows,
            row_s: of.step_s,
            severities: of.job.severities.clone(),
            instruments: of
                .instruments
                .iter()
                .map(|instrument| instrument.name.clone())
                .collect(),
            faults: of.job.modes.iter().map(|&mode| of.modes[mode].id.clone()).collect(),
            failed,
            answer,
            warnings,
            from_memory: from_memory(of.scenario),
            provenance,
            caution: caution::of(&case),
        }
    }

    /// The text of `summary.json`, newline at the end.
    ///
    /// # Errors
    /// Never for these types; the signature is that of the encoder.
    pub fn to_json(&self) -> Result<String, serde_json::Error> {
        json::to_json(self)
    }

    /// The text of `summary.md`.
    #[must_use]
    pub fn markdown(&self) -> String {
        let mut text = format!("# {}: labelled histories\n\n", self.scenario.heading());
        for sentence in &self.answer {
            text.push_str(&format!("{sentence}\n\n"));
        }
        text.push_str("Columns and their units: datapackage.json. `traces.parquet` and `runs.parquet` hold the same as the CSV files.\n\n");
        for warning in &self.warnings {
            text.push_str(&format!("Warning: {warning}\n\n"));
        }
        text.push_str(&format!("{}\n", self.caution));
        text
    }
}

//! A results folder read back: `summary.json`, `inputs.csv`, `variations.csv`, as `run` and `vary` write them.
//!
//! The margin of a variation is that of whoever has the least, from the columns "ID WHERE margin \[UNIT\]": where all of them are empty it is
//! minus infinity if the variation failed, plus infinity if the limit never applied in it.

use std::io::Read;

use serde::Deserialize;
use serde::de::IgnoredAny;
use serde_json::Value;

use super::side::{InputOf, LimitOf, Side, TotalOf};
use crate::results::provenance::{FileDigest, ScenarioFile};
use crate::results::summary::FORMAT;

/// What results are of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// One run on the medians.
    Run,
    /// Many variations.
    Vary,
}

impl Kind {
    /// The command that makes them.
    #[must_use]
    pub fn command(self) -> &'static str {
        match self {
            Self::Run => "run",
            Self::Vary => "vary",
        }
    }
}

/// `summary.json`, before it is known whether the rest can be read.
#[derive(Deserialize)]
struct Head {
    format: u64,
    command: String,
    variation: Option<u64>,
    rare: Option<IgnoredAny>,
}

#[derive(Deserialize)]
struct Whole {
    scenario: File,
    #[serde(default)]
    failed: u64,
    #[serde(default)]
    failures: Vec<Failure>,
    end: End,
    limits: Vec<Limit>,
    totals: Value,
    schedule: Value,
    provenance: Made,
}

#[derive(Deserialize)]
struct File {
    title: String,
    file: String,
    sha256: String,
}

#[derive(Deserialize)]
struct Failure {
    variation: u64,
    error: String,
}

#[derive(Deserialize)]
struct End {
    completed: bool,
    cause: Option<String>,
}

#[derive(Deserialize)]
struct Limit {
    id: String,
    #[serde(rename = "where")]
    place: String,
    unit: String,
    margin: Option<f64>,
    words: String,
    source: String,
}

#[derive(Deserialize)]
struct Made {
    version: String,
    files: Vec<FileDigest>,
    overrides: Vec<String>,
    seed: Option<u64>,
    runs: Option<u64>,
    design: Option<String>,
}

/// A `summary.json` that was understood.
pub struct Told {
    /// What it is of.
    pub kind: Kind,
    whole: Whole,
}

/// Reads `summary.json`.
///
/// # Errors
/// If it is not one of `run` or `vary` in this format: what it is, and what would be right.
pub fn summary(bytes: &[u8]) -> Result<Told, String> {
    let damaged = |error: &serde_json::Error| format!("summary.json is damaged or none of this program: {error}");
    let head: Head = serde_json::from_slice(bytes).map_err(|error| damaged(&error))?;
    if head.format != u64::from(FORMAT) {
        return Err(format!(
            "summary.json has format {}, and this version reads format {FORMAT}",
            head.format
        ));
    }
    let kind = match head.command.as_str() {
        "run" => Kind::Run,
        "vary" => Kind::Vary,
        other => {
            return Err(format!(
                "these are results of `{other}`; those of `run` and of `vary` can be compared"
            ));
        }
    };
    if let Some(variation) = head.variation {
        return Err(format!(
            "this is variation {variation} alone (--only); the results of all variations, or of `run`, can be compared"
        ));
    }
    if head.rare.is_some() {
        return Err("these are results of `vary --rare`, which have no variations; run `vary` without it".to_owned());
    }
    let whole: Whole = serde_json::from_slice(bytes).map_err(|error| damaged(&error))?;
    let made = &whole.provenance;
    if kind == Kind::Vary && (made.seed.is_none() || made.runs.is_none() || made.design.is_none()) {
        return Err("summary.json is damaged: it does not say seed, runs and design of its variations".to_owned());
    }
    Ok(Told { kind, whole })
}

impl Told {
    /// The name of the scenario's file.
    #[must_use]
    pub fn file(&self) -> &str {
        &self.whole.scenario.file
    }

    /// The side, of the name that the folder has; the margins of variations come from [`Told::margins`], the inputs from [`inputs`].
    #[must_use]
    pub fn side(self, name: String, inputs: Option<Vec<InputOf>>, margins: Option<Vec<Vec<f64>>>) -> Side {
        let is_run = self.kind == Kind::Run;
        let mut limits = self.limits();
        match margins {
            Some(margins) => limits
                .iter_mut()
                .zip(margins)
                .for_each(|(limit, of)| limit.margins = of),
            None => {
                for limit in &mut limits {
                    let of_id = self.whole.limits.iter().filter(|other| other.id == limit.id);
                    let least = of_id.filter_map(|other| other.margin).fold(f64::INFINITY, f64::min);
                    limit.margins = vec![least];
                }
            }
        }
        let Whole {
            scenario,
            failed,
            failures,
            end,
            totals,
            schedule,
            provenance,
            ..
        } = self.whole;
        let own = |file: &FileDigest| file.name == scenario.file && file.sha256 == scenario.sha256;
        Side {
            name,
            data_files: provenance.files.iter().filter(|file| !own(file)).cloned().collect(),
            file: ScenarioFile {
                title: scenario.title,
                file: scenario.file,
                sha256: scenario.sha256,
            },
            overrides: provenance.overrides,
            version: provenance.version,
            seed: provenance.seed,
            runs: provenance.runs,
            design: provenance.design,
            failed,
            first_failed: failures
                .first()
                .map(|first| format!("variation {}: {}", first.variation, first.error)),
            ended: (is_run && !end.completed).then(|| end.cause.unwrap_or_default()),
            inputs,
            limits,
            totals: [("totals", &totals), ("schedule", &schedule)]
                .into_iter()
                .flat_map(|(name, value)| numbers(name, value))
                .collect(),
        }
    }

    /// Its limits by id, without margins.
    fn limits(&self) -> Vec<LimitOf> {
        let mut limits: Vec<LimitOf> = Vec::new();
        for limit in &self.whole.limits {
            match limits.iter_mut().find(|other| other.id == limit.id) {
                Some(other) => other.whose.push(limit.place.clone()),
                None => limits.push(LimitOf {
                    id: limit.id.clone(),
                    whose: vec![limit.place.clone()],
                    words: limit.words.clone(),
                    source: limit.source.clone(),
                    unit: limit.unit.clone(),
                    margins: Vec::new(),
                }),
            }
        }
        limits
    }

    /// The margins of its limits, by id and variation, from `variations.csv`; `stopped` is asked now and then.
    ///
    /// # Errors
    /// If a column or a variation is missing, or something is no number: what, and where.
    pub fn margins(&self, table: &mut dyn Read, stopped: &dyn Fn() -> bool) -> Result<Vec<Vec<f64>>, String> {
        const NAME: &str = "variations.csv";
        let mut reader = csv::Reader::from_reader(table);
        let damaged = |error: &csv::Error| format!("{NAME} is damaged: {error}");
        let headers = reader.headers().map_err(|error| damaged(&error))?.clone();
        let find = |name: &str| {
            let at = headers.iter().position(|header| header == name);
            at.ok_or_else(|| format!("{NAME} is damaged: it has no column `{name}`"))
        };
        let (which, end) = (find("variation")?, find("end")?);
        let limits = self.limits();
        let mut columns = Vec::new();
        for limit in &limits {
            let unit = if limit.unit.is_empty() {
                String::new()
            } else {
                format!(" [{}]", limit.unit)
            };
            let of = |place: &String| find(&format!("{} {place} margin{unit}", limit.id));
            columns.push(limit.whose.iter().map(of).collect::<Result<Vec<usize>, _>>()?);
        }
        let mut margins = vec![Vec::new(); limits.len()];
        let mut record = csv::StringRecord::new();
        let mut row = 0_u64;
        while reader.read_record(&mut record).map_err(|error| damaged(&error))? {
            let cell = |at: usize| record.get(at).unwrap_or_default();
            if cell(which).parse() != Ok(row) {
                return Err(format!(
                    "{NAME} is damaged: where variation {row} should be stands `{}`",
                    cell(which)
                ));
            }
            let nowhere = if cell(end) == "failed" {
                f64::NEG_INFINITY
            } else {
                f64::INFINITY
            };
            for (margins, columns) in margins.iter_mut().zip(&columns) {
                let mut least = f64::INFINITY;
                let mut is_known = false;
                for &at in columns {
                    let text = cell(at);
                    if text.is_empty() {
                        continue;
                    }
                    let number = text.parse::<f64>().ok().filter(|number| number.is_finite());
                    let number = number.ok_or_else(|| {
                        format!(
                            "{NAME} is damaged: variation {row} has `{text}` in the column `{}`",
                            &headers[at]
                        )
                    })?;
                    least = least.min(number);
                    is_known = true;
                }
                margins.push(if is_known { least } else { nowhere });
            }
            row += 1;
            if row.is_multiple_of(1024) && stopped() {
                return Err(String::new());
            }
        }
        match self.whole.provenance.runs {
            Some(runs) if runs != row => Err(format!(
                "{NAME} is damaged: it has {row} variations, and summary.json says {runs}"
            )),
            _ => Ok(margins),
        }
    }
}

/// The numbers in a section of a summary, those one level further down too.
fn numbers(name: &str, value: &Value) -> Vec<TotalOf> {
    let Value::Object(keys) = value else { return Vec::new() };
    let leaf = |name: String, value: &Value| {
        value.as_f64().map(|number| TotalOf {
            unit: unit(&name).to_owned(),
            name,
            values: vec![number],
        })
    };
    let of = |(key, value): (&String, &Value)| -> Vec<TotalOf> {
        let name = format!("{name}.{key}");
        match value {
            Value::Object(inner) => inner
                .iter()
                .filter_map(|(key, value)| leaf(format!("{name}.{key}"), value))
                .collect(),
            _ => leaf(name, value).into_iter().collect(),
        }
    };
    keys.iter().flat_map(of).collect()
}

/// The unit that a key's name carries.
fn unit(name: &str) -> &'static str {
    const UNITS: [(&str, &str); 3] = [("_kg", "kg"), ("_mj", "MJ"), ("_h", "h")];
    UNITS
        .iter()
        .find(|(end, _)| name.ends_with(end))
        .map_or("", |(_, unit)| unit)
}

/// Reads `inputs.csv`: every value that was given.
///
/// # Errors
/// If it is not such a table.
pub fn inputs(bytes: &[u8]) -> Result<Vec<InputOf>, String> {
    #[derive(Deserialize)]
    struct Row {
        path: String,
        #[serde(rename = "as written")]
        written: String,
        #[serde(rename = "in SI")]
        si: String,
    }
    let rows = csv::Reader::from_reader(bytes).into_deserialize::<Row>();
    rows.map(|row| {
        row.map(|row| InputOf {
            path: row.path,
            written: row.written,
            si: row.si,
            is_default: false,
        })
        .map_err(|error| format!("inputs.csv is damaged: {error}"))
    })
    .collect()
}

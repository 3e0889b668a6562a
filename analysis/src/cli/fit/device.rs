//! `fit device`: the parameters of a removal device from a bench test.

use std::path::{Path, PathBuf};

use breathroom_sim::engine::Case;
use breathroom_sim::scenario::{Medians, Scenario};
use breathroom_sim::text::{Diagnostic, Texts};

use crate::cli::console::{Console, Ended};
use crate::cli::job::Output;
use crate::cli::scenario_file::{self, Read};
use crate::cli::{Code, book, deliver, input, into, profile};
use crate::desk::{Edits, Together};
use crate::fits::device::fit_device;
use crate::fits::device::held_out::{band, held_out};
use crate::fits::device::model::Model;
use crate::fits::device::part::Beside;
use crate::fits::device::samples::{Window, samples};
use crate::fits::device::series::{Reference, Series};
use crate::measured::{MAX_BYTES, Sheet};
use crate::report::fitted;
use crate::results::book::Book;
use crate::results::fitted::{self as told, Foretold, Told, Written};
use crate::results::frame::Frame;
use crate::results::words::count;
use crate::results::{FileDigest, ScenarioFile, caution, sha256_hex, sheets};

/// What is asked of a fit of a device.
#[derive(Debug, PartialEq)]
pub struct DeviceJob {
    /// What was measured.
    pub data: PathBuf,
    /// The scenario.
    pub into: PathBuf,
    /// The device's name.
    pub device: String,
    /// A new file, in place of the scenario's own.
    pub new: Option<PathBuf>,
    /// Whether a scenario is written at all.
    pub writes: bool,
    /// Other tests.
    pub held_out: Vec<PathBuf>,
    /// What is looked at.
    pub window: Window,
    /// What is fitted beside.
    pub beside: Beside,
    /// The size of the tested piece.
    pub scale: f64,
    /// A bench file.
    pub bench: Option<PathBuf>,
    /// A date to stand on the tables.
    pub date: Option<String>,
    /// Where results go.
    pub output: Output,
}

/// Fits a device and writes what was fitted.
///
/// # Errors
/// If data or scenario are wrong, the device cannot be fitted, or something cannot be written.
pub fn device(job: &DeviceJob, console: &mut Console<'_>) -> Result<Code, Ended> {
    let read = scenario_file::read_file(&job.into, &[], console)?;
    let case = read.scenario.draw(&Medians).case;
    let index = index(&read.scenario, &job.device)?;
    let model = Model::of(&read.scenario, &case, index, job.scale).map_err(Ended::Wrong)?;
    let reference = job.bench.as_deref().map(reference).transpose()?;
    let stem = deliver::stem(&read, &format!("fit-{}", job.device));
    let target = deliver::target(&job.output, &stem)?;
    let (series, digest) = series(&job.data, &model, reference)?;
    let mut digests = vec![digest];
    let mut others = Vec::new();
    for path in &job.held_out {
        let (other, digest) = self::series(path, &model, reference)?;
        others.push((digest.file.clone(), other));
        digests.push(digest);
    }
    let (window, beside) = (job.window, job.beside.clone());
    let data = digests[0].file.clone();
    let (name, scale) = (job.device.clone(), job.scale);
    let told = console.interruptible(move || told_of((name, data, scale), model, series, others, (window, &beside)))?;
    let mut told = told.map_err(|why| {
        Ended::Wrong(format!(
            "`{}` cannot be fitted to {}: {why}",
            job.device,
            job.data.display()
        ))
    })?;
    let edits = edits(&told);
    let target_file = job.new.as_ref().unwrap_or(&job.into);
    if job.writes && !edits.values.is_empty() {
        let made = into::could(&job.into, job.new.as_deref(), &edits)?;
        told.into = Some(
            target_file
                .file_name()
                .map(|name| name.to_string_lossy().into_owned())
                .unwrap_or_default(),
        );
        told.left.extend(made.left);
        told.written = made
            .changes
            .into_iter()
            .map(|change| Written {
                path: change.path,
                line: change.line,
                before: change.before,
                after: change.after,
            })
            .collect();
    }
    deliver(job, &read, &case, &told, digests, (target, &stem), console)?;
    if told.into.is_some() {
        into::write(console, &job.into, job.new.as_deref(), &edits)?;
    }
    Ok(Code::Done)
}

/// The index of a device by its name.
///
/// # Errors
/// If there is none.
pub fn index(scenario: &Scenario, name: &str) -> Result<usize, Ended> {
    let names = &scenario.names.devices;
    names.iter().position(|other| other == name).ok_or_else(|| {
        let meant = Texts::new("", "", &[]).meant(name, names.iter().map(String::as_str));
        let help = if meant.is_empty() {
            format!("there are: {}", names.join(", "))
        } else {
            meant
        };
        Ended::Usage(if names.is_empty() {
            "the scenario has no removal device".to_owned()
        } else {
            format!("the scenario has no device `{name}`: {help}")
        })
    })
}

/// The condition that a bench states standard volumes for.
fn reference(path: &Path) -> Result<Reference, Ended> {
    let (bench, _) = profile::bench(path)?;
    Ok(Reference {
        temperature_k: bench.reference_k,
        pressure_pa: bench.reference_pa,
    })
}

/// A test from its file.
fn series(path: &Path, model: &Model, reference: Option<Reference>) -> Result<(Series, ScenarioFile), Ended> {
    let content = input::bytes(path, MAX_BYTES).map_err(Ended::Wrong)?;
    let name = path.display().to_string();
    let wrong = |faults: &[Diagnostic]| {
        let text: String = faults.iter().map(|fault| fault.render() + "\n").collect();
        let errors = count(faults.len(), "error");
        Ended::Wrong(format!("{text}{errors} in {name}: nothing was fitted\n"))
    };
    let mut sheet = Sheet::read(&name, &content).map_err(|faults| wrong(&faults))?;
    let read = Series::read(&mut sheet, &model.needs, reference);
    let file = ScenarioFile {
        title: String::new(),
        file: path
            .file_name()
            .map(|name| name.to_string_lossy().into_owned())
            .unwrap_or_default(),
        sha256: sha256_hex(&content),
    };
    match read {
        Some(series) => Ok((series, file)),
        None => Err(wrong(&sheet.faults())),
    }
}

/// The fit, and what it foretells.
fn told_of(
    (device, data, scale): (String, String, f64),
    model: Model,
    series: Series,
    others: Vec<(String, Series)>,
    (window, beside): (Window, &Beside),
) -> Result<Told, String> {
    let fit = fit_device(&model, &series, window, beside)?;
    let values = fit.values();
    let bands_pa = fit
        .parts
        .iter()
        .map(|part| band(&model, &values, part, &series, &part.samples.rows))
        .collect();
    let saturates = Window {
        saturates_pa: window.saturates_pa,
        ..Window::default()
    };
    let mut foretold = Vec::new();
    for (file, other) in others {
        let mut outlets = Vec::new();
        for part in &fit.parts {
            if other.outlet_pa[part.species].is_none() || other.inlet_pa[part.species].is_none() {
                continue;
            }
            let unit = other.unit[part.species].map_or("", |unit| unit.symbol);
            let found =
                samples(&other, part.species, saturates, unit).map_err(|why| format!("{file}, held out: {why}"))?;
            outlets.extend(held_out(&model, &values, part, &other, found));
        }
        if outlets.is_empty() {
            return Err(format!("{file}, held out, has no outlet of what was fitted"));
        }
        foretold.push(Foretold {
            file,
            series: other,
            outlets,
        });
    }
    Ok(Told {
        device,
        data,
        into: None,
        model,
        series,
        fit,
        bands_pa,
        held_out: foretold,
        written: Vec::new(),
        left: Vec::new(),
        scale,
    })
}

/// What is to be written: what was fitted, and what of it goes together.
fn edits(told: &Told) -> Edits {
    let fitted = told.fit.estimates.iter().filter(|of| of.is_fitted());
    let spreads: Vec<(usize, told::Spread)> = fitted.map(|of| (of.law, told::spread(told, of))).collect();
    Edits {
        together: told::groups(told, &spreads)
            .into_iter()
            .map(|(inputs, rank_correlation)| Together {
                inputs,
                rank_correlation,
            })
            .collect(),
        values: spreads
            .into_iter()
            .map(|(_, spread)| (spread.path, spread.toml))
            .collect(),
    }
}

fn deliver(
    job: &DeviceJob,
    read: &Read,
    case: &Case,
    told: &Told,
    digests: Vec<ScenarioFile>,
    (target, stem): (crate::results::Target, &str),
    console: &mut Console<'_>,
) -> Result<(), Ended> {
    let mut provenance = read.provenance("fit device", &[]);
    provenance.files.extend(digests.iter().map(|file| FileDigest {
        name: file.file.clone(),
        sha256: file.sha256.clone(),
    }));
    let mut stamp = vec![("device".to_owned(), told.device.clone())];
    for file in std::iter::once(&read.file).chain(&digests) {
        stamp.push((format!("SHA-256 of {}", file.file), file.sha256.clone()));
    }
    stamp.push((
        "version".to_owned(),
        format!("breathroom {}", env!("CARGO_PKG_VERSION")),
    ));
    stamp.extend(job.date.iter().map(|date| ("date".to_owned(), date.clone())));
    let summary = told::build(
        told,
        case,
        (read.file.clone(), digests),
        provenance,
        job.date.as_deref(),
    );
    let book = Book {
        name: "fit",
        title: format!("{}: {} fitted to {}", read.file.heading(), told.device, told.data),
        answer: summary.answer.clone(),
        stamp,
        caution: caution::of(case),
        sheets: vec![
            told::parameters(told),
            told::correlations(told),
            told::residuals(told),
            told::sensor(told),
            told::held_out(told),
            sheets::assumptions(&read.scenario),
        ],
    };
    let json = summary.to_json().map_err(|error| deliver::unencoded(&error))?;
    let course = told::course(told);
    let mut frames = book::frames(&book);
    frames.push(("course", Frame::of(&course)));
    let page = fitted::page(&summary, &frames, &book.stamp);
    book::deliver(
        console,
        &job.output,
        (target, stem),
        (&book, &[course], Some(&page)),
        (&json, &summary.warnings),
    )
}

//! `profile`: what a bench is to deliver so that a device on it meets the air of the simulation.

mod typed;

use std::path::{Path, PathBuf};

use breathroom_sim::engine::{Case, Engine, Trace};
use breathroom_sim::removal::Removal;
use breathroom_sim::scenario::{MAX_BYTES, Medians, decode};
use breathroom_sim::units::Time;

use super::console::{Console, Ended};
use super::fit::index;
use super::job::Output;
use super::scenario_file::{self, Read};
use super::{Code, book, deliver, input, run};
use crate::chance::Design;
use crate::profile::{Bench, deliver as delivered, demand, effect};
use crate::report::profiled;
use crate::results::book::Book;
use crate::results::frame::Frame;
use crate::results::profiled::{self as told, Profile};
use crate::results::{FileDigest, ScenarioFile, caution, sha256_hex, sheets};
use crate::study;

pub use typed::ProfileArguments;

/// Most set points of a profile.
const MOST_POINTS: f64 = 500_000.0;

/// What is asked of a profile.
#[derive(Debug, PartialEq)]
pub struct ProfileJob {
    /// The scenario file.
    pub file: PathBuf,
    /// Overrides, in order.
    pub overrides: Vec<String>,
    /// The device's name.
    pub device: String,
    /// The bench file.
    pub bench: Option<PathBuf>,
    /// The size of the tested piece.
    pub scale: f64,
    /// A variation and its seed, in place of the medians.
    pub only: Option<(u64, u64)>,
    /// A date to stand on the tables.
    pub date: Option<String>,
    /// Where results go.
    pub output: Output,
}

/// A bench from its file.
///
/// # Errors
/// If it cannot be read, or anything in it is wrong: every fault is told.
pub fn bench(path: &Path) -> Result<(Bench, ScenarioFile), Ended> {
    let content = input::bytes(path, MAX_BYTES).map_err(Ended::Wrong)?;
    let name = path.display().to_string();
    let text = decode(&content, &name).map_err(|fault| Ended::Wrong(fault.render()))?;
    let bench = Bench::read(&name, text).map_err(|faults| Ended::Wrong(scenario_file::told(&faults, &name)))?;
    let file = ScenarioFile {
        title: bench.title.clone(),
        file: path
            .file_name()
            .map(|name| name.to_string_lossy().into_owned())
            .unwrap_or_default(),
        sha256: sha256_hex(&content),
    };
    Ok((bench, file))
}

/// Makes a profile.
///
/// # Errors
/// If scenario or bench are wrong, the device has no flow, the run fails, or results cannot be written.
pub fn profile(job: &ProfileJob, console: &mut Console<'_>) -> Result<Code, Ended> {
    let read = scenario_file::read_file(&job.file, &job.overrides, console)?;
    let device = index(&read.scenario, &job.device)?;
    let of = read.scenario.draw(&Medians).case.devices.swap_remove(device);
    if matches!(of.removal, Removal::Curve { .. }) {
        return Err(no_flow(&job.device));
    }
    let given = job.bench.as_deref().map(bench).transpose()?;
    let bench = given.as_ref().map_or_else(Bench::default, |(bench, _)| bench.clone());
    let stem = deliver::stem(&read, &format!("profile-{}", job.device));
    let target = deliver::target(&job.output, &stem)?;
    let (case, trace) = ran(job, &read, &bench, console)?;
    let Some(demand) = demand(&case, &trace, device, job.scale) else {
        return Err(no_flow(&job.device));
    };
    let delivered = delivered(&bench, &demand);
    let effect = effect(&demand, &delivered);
    let told = Profile {
        device: job.device.clone(),
        family: family(&of.removal),
        sorbent_kg: match &of.removal {
            Removal::SwingBed(bed) => Some(2.0 * bed.bed_kg),
            Removal::Sorbent { .. } => {
                let path = format!("removal.{}.sorbent", job.device);
                let found = read.scenario.resolved.iter().find(|value| value.path == path);
                found.and_then(|value| value.amount).map(|amount| amount.si)
            }
            _ => None,
        },
        takes_turns: of.cycle.is_some() || matches!(of.removal, Removal::SwingBed(_)),
        in_suit: case.suits.iter().any(|suit| suit.compartment == of.serves),
        is_given: given.is_some(),
        scale: job.scale,
        run: match job.only {
            None => "the medians".to_owned(),
            Some((k, seed)) => format!("variation {k} of seed {seed}"),
        },
        faults: demand
            .faults
            .iter()
            .map(|&fault| format!("`{}`", read.scenario.names.faults[fault]))
            .collect(),
        bench,
        demand,
        delivered,
        effect,
    };
    written(
        job,
        &read,
        &case,
        &told,
        given.map(|(_, file)| file),
        (target, &stem),
        console,
    )?;
    Ok(Code::Done)
}

/// What is said of a device without a flow.
fn no_flow(device: &str) -> Ended {
    Ended::Wrong(format!(
        "`{device}` is a curve: it says what is taken at a partial pressure and has no flow that a bench could deliver"
    ))
}

/// The run that is reproduced, sampled at the bench's step.
fn ran(job: &ProfileJob, read: &Read, bench: &Bench, console: &Console<'_>) -> Result<(Case, Trace), Ended> {
    let mut case = read.scenario.draw(&Medians).case;
    let points = case.duration.seconds() / bench.step_s;
    if points > MOST_POINTS {
        return Err(Ended::Wrong(format!(
            "a run of {:.0} s in steps of {} s has more than {MOST_POINTS} set points: make the bench's step longer",
            case.duration.seconds(),
            bench.step_s
        )));
    }
    let Some((k, seed)) = job.only else {
        case.history_every = Time::from_seconds(bench.step_s);
        let (case, result, trace) = console.interruptible(move || {
            let mut trace = Trace::default();
            let result = Engine::new().run(&case, Some(&mut trace));
            (case, result, trace)
        })?;
        result.map_err(|error| run::failed("the run", &error, read))?;
        return Ok((case, trace));
    };
    let mut overrides = job.overrides.clone();
    overrides.push(format!("history.every={} s", bench.step_s));
    let stepped = scenario_file::read_file(&job.file, &overrides, console)?;
    let scenario = stepped.scenario.clone();
    let again = console.interruptible(move || study::only(&scenario, seed, (Design::Plain, None), k))??;
    again
        .outcome
        .map_err(|error| run::failed(&format!("variation {k}"), &error, read))?;
    Ok((again.drawn.case, again.trace))
}

/// A device's family, as `kind` has it.
fn family(removal: &Removal) -> &'static str {
    match removal {
        Removal::FlowThrough { .. } => "flow-through",
        Removal::Curve { .. } => "curve",
        Removal::Condenser { .. } => "condenser",
        Removal::Sorbent { .. } => "sorbent",
        Removal::SwingBed(_) => "swing-bed",
    }
}

fn written(
    job: &ProfileJob,
    read: &Read,
    case: &Case,
    profile: &Profile,
    bench: Option<ScenarioFile>,
    (target, stem): (crate::results::Target, &str),
    console: &mut Console<'_>,
) -> Result<(), Ended> {
    let mut provenance = read.provenance("profile", &job.overrides);
    if let Some((k, seed)) = job.only {
        provenance.seed = Some(seed);
        provenance.only = Some(k);
    }
    let mut stamp = vec![
        ("device".to_owned(), profile.device.clone()),
        ("run".to_owned(), profile.run.clone()),
        ("standard volumes are stated for".to_owned(), profile.reference()),
    ];
    for file in std::iter::once(&read.file).chain(&bench) {
        stamp.push((format!("SHA-256 of {}", file.file), file.sha256.clone()));
    }
    provenance.files.extend(bench.iter().map(|file| FileDigest {
        name: file.file.clone(),
        sha256: file.sha256.clone(),
    }));
    stamp.push((
        "version".to_owned(),
        format!("breathroom {}", env!("CARGO_PKG_VERSION")),
    ));
    stamp.extend(job.date.iter().map(|date| ("date".to_owned(), date.clone())));
    let summary = told::build(
        profile,
        case,
        (read.file.clone(), bench),
        provenance,
        job.date.as_deref(),
    );
    let book = Book {
        name: "bench",
        title: format!("{}: bench profile of {}", read.file.heading(), profile.device),
        answer: summary.answer.clone(),
        stamp,
        caution: caution::of(case),
        sheets: vec![told::misses(profile), sheets::assumptions(&read.scenario)],
    };
    let json = summary.to_json().map_err(|error| deliver::unencoded(&error))?;
    let more = [told::delivered(profile), told::wanted(profile)];
    let mut frames = book::frames(&book);
    frames.extend(more.iter().map(|table| (table.name, Frame::of(table))));
    let page = profiled::page(&summary, &frames, &book.stamp);
    book::deliver(
        console,
        &job.output,
        (target, stem),
        (&book, &more, Some(&page)),
        (&json, &summary.warnings),
    )
}

//! Variations under stress: each is drawn once, run without any fault, with every device degraded, and with each of its own faults.

use breathroom_sim::scenario::{Drawn, Scenario};
use rayon::prelude::*;

use super::bench::{Bench, Degraded, Rested};
use super::look::Look;
use super::singles::{Brief, Over, Row};
use super::spread::{self, Share, Spread};
use super::times::{After, Censored};
use super::usual::Usual;
use super::{Part, StressJob};
use crate::chance::Design;
use crate::study::{Gate, StudyError, draws};

/// Variations of a device with a part left.
#[derive(Clone, Debug, PartialEq)]
pub struct PartRuns {
    /// Each of them.
    pub looks: Vec<Look>,
    /// The time left when the response is completed; none if there is no response.
    pub margin: Option<Spread>,
    /// Time to the first limit without any response.
    pub to_limit: Spread,
    /// Time from the alarm to the first limit without any response.
    pub notice: Spread,
    /// Those in which the response is done in time, and a limit is crossed all the same.
    pub in_vain: Share,
    /// Those in which a limit is crossed in spite of the responses.
    pub crossed_with: Share,
    /// Those in which one is crossed without any.
    pub crossed_without: Share,
    /// Those in which an alarm came on after the onset.
    pub alarmed: u64,
    /// Those that could not be finished.
    pub failed: u64,
    /// The gate is passed: by the time left, if there is any response, and by the share in which a limit is crossed in spite of the responses.
    pub gate_met: bool,
}

impl PartRuns {
    /// What the looks of all variations say, where something is done after an alarm, or nothing.
    #[must_use]
    pub fn of(looks: Vec<Look>, responses: bool, gate: Gate) -> Self {
        let runs = looks.len() as u64;
        let count = |of: &dyn Fn(&Look) -> bool| looks.iter().filter(|look| of(look)).count() as u64;
        let spread = |of: fn(&Look) -> Censored| Spread::of(looks.iter().map(of).collect(), gate);
        let failed = count(&|look| look.failed.is_some());
        let crossed = |of: fn(&Look) -> After| count(&|look| look.failed.is_some() || of(look).came());
        let with = crossed(|look| look.first_with.after);
        let margin = responses.then(|| spread(Look::margin));
        let in_time = |margin: &Spread| margin.gate_bound.is_some_and(Censored::in_time);
        Self {
            gate_met: margin.as_ref().is_none_or(in_time) && spread::allows(gate, with, runs),
            margin,
            to_limit: spread(Look::to_limit),
            notice: spread(Look::notice),
            in_vain: Share::of(count(&Look::in_vain), runs),
            crossed_with: Share::of(with, runs),
            crossed_without: Share::of(crossed(|look| look.first.after), runs),
            alarmed: count(&|look| look.alarm.is_some()),
            failed,
            looks,
        }
    }
}

/// Runs the variations and adds what they say; what each crosses without any fault.
pub(super) fn vary(
    scenario: &Scenario,
    (job, responses): (&StressJob, bool),
    bench: &Bench<'_>,
    (parts, rows): (&mut [Part], &mut [Row]),
) -> Result<Vec<Usual>, StudyError> {
    let draws = draws(scenario, job.seed, Design::Plain, job.runs)?;
    let one = |drawn: &mut Drawn, k: u64| {
        scenario.draw_into(&draws.variation(k), drawn);
        let mut rested = Rested::of(std::mem::take(&mut drawn.case));
        let one = variation(bench, &mut rested, (parts, rows));
        drawn.case = rested.into_buffers();
        one
    };
    let all: Result<Vec<_>, StudyError> = (0..job.runs).into_par_iter().map_init(Drawn::default, one).collect();
    let (mut looks, mut briefs) = (by(parts.len()), by(rows.len()));
    let mut usual = Vec::new();
    for one in all? {
        usual.push(one.usual);
        looks.iter_mut().zip(one.looks).for_each(|(all, one)| all.push(one));
        briefs.iter_mut().zip(one.briefs).for_each(|(all, one)| all.push(one));
    }
    for (part, looks) in parts.iter_mut().zip(looks) {
        part.runs = Some(PartRuns::of(looks, responses, job.gate));
    }
    for (row, briefs) in rows.iter_mut().zip(briefs) {
        row.runs = Some(Over::of(&briefs));
    }
    Ok(usual)
}

fn by<T>(count: usize) -> Vec<Vec<T>> {
    (0..count).map(|_| Vec::new()).collect()
}

/// What is kept of a variation.
struct Varied {
    usual: Usual,
    /// By part.
    looks: Vec<Look>,
    /// By row.
    briefs: Vec<Brief>,
}

/// One variation: without any fault, then every part at its worst onset and every set of faults. Of one that cannot be finished
/// without any fault nothing more is known.
fn variation(bench: &Bench<'_>, rested: &mut Rested, (parts, rows): (&[Part], &[Row])) -> Result<Varied, StudyError> {
    let unharmed = match bench.unharmed(rested)? {
        Ok(unharmed) => unharmed,
        Err(error) => {
            let failed = |part: &Part| Look::failed(part.worst().onset, rested.case().duration, error.clone());
            return Ok(Varied {
                usual: Usual::default(),
                looks: parts.iter().map(failed).collect(),
                briefs: vec![Brief::FAILED; rows.len()],
            });
        }
    };
    let mut looks = Vec::with_capacity(parts.len());
    for part in parts {
        let (device, left) = (part.device, part.left);
        let onset = part.worst().onset;
        looks.push(if left < 1.0 {
            bench.look(rested, &unharmed.usual, &Degraded { device, left, onset })?
        } else {
            unharmed.look.clone()
        });
    }
    let mut brief = |row: &Row| match &row.faults[..] {
        [] => Ok(Brief::from(&unharmed.fared)),
        some => Ok(Brief::from(&bench.fare(rested, &unharmed, some)?)),
    };
    let briefs: Result<Vec<Brief>, StudyError> = rows.iter().map(&mut brief).collect();
    Ok(Varied {
        looks,
        briefs: briefs?,
        usual: unharmed.usual,
    })
}

//! Which family is written, and why.
//!
//! The smallest AICc; but where a family that comes earlier in [`Family::ALL`] is within 2 of it, that one: data that do not tell them apart
//! are no reason to leave the lognormal, which is the practice for durations. A difference of AICc below 2 tells little: Burnham and Anderson
//! 2002, Model Selection and Multimodel Inference, section 2.6 (from memory). A PERT whose maximum lies in a corner is not chosen unasked.

use super::Goodness;
use super::goodness::TELLING;
use crate::fits::families::{Family, Fitted};

/// Differences of AICc below this tell little.
pub const INDISTINGUISHABLE: f64 = 2.0;
/// A fit is contradicted below this chance.
const CONTRADICTED: f64 = 0.05;

/// What was chosen.
#[derive(Clone, Debug, PartialEq)]
pub struct Choice {
    /// Index of the fit.
    pub index: usize,
    /// Why, in a sentence.
    pub why: String,
    /// What the test of goodness of fit says, with its caveat.
    pub test: String,
}

/// Chooses among fits.
///
/// # Errors
/// If there is none, or the family that was asked for could not be fitted.
pub fn choose(fits: &[(Fitted, Goodness)], values: &[f64], asked: Option<Family>) -> Result<Choice, String> {
    if let Some(family) = asked {
        let index = fits.iter().position(|(fit, _)| fit.family == family);
        let index =
            index.ok_or_else(|| format!("a {} cannot be fitted to its {} trials", family.name(), values.len()))?;
        return Ok(Choice {
            index,
            why: format!("{} as asked for", family.name()),
            test: tested(&fits[index], values.len()),
        });
    }
    // With three trials no criterion has a meaning: the likelihoods themselves.
    let criterion = |fit: &Fitted| if fit.aicc().is_finite() { fit.aicc() } else { fit.aic() };
    let regular: Vec<usize> = (0..fits.len()).filter(|&i| fits[i].0.is_regular(values)).collect();
    let best = regular
        .iter()
        .copied()
        .min_by(|&a, &b| criterion(&fits[a].0).total_cmp(&criterion(&fits[b].0)));
    let best = best.ok_or("no family can be fitted to its durations")?;
    let least = criterion(&fits[best].0);
    let index = regular
        .iter()
        .copied()
        .find(|&i| criterion(&fits[i].0) < least + INDISTINGUISHABLE)
        .unwrap_or(best);
    let name = |i: usize| fits[i].0.family.name();
    let why = if index == best {
        let next = regular
            .iter()
            .filter(|i| **i != index)
            .map(|&i| criterion(&fits[i].0) - least)
            .fold(f64::INFINITY, f64::min);
        if next < INDISTINGUISHABLE {
            format!(
                "{} has the smallest AICc; others are within {INDISTINGUISHABLE} of it, so the data do not tell them apart",
                name(index)
            )
        } else if next.is_finite() {
            format!("{} has the smallest AICc, by {next:.1}", name(index))
        } else {
            format!("only {} can be fitted", name(index))
        }
    } else {
        format!(
            "{}: {} has a smaller AICc by {:.1}, which does not tell them apart",
            name(index),
            name(best),
            criterion(&fits[index].0) - least
        )
    };
    Ok(Choice {
        index,
        why,
        test: tested(&fits[index], values.len()),
    })
}

/// The test in words.
fn tested((fit, test): &(Fitted, Goodness), count: usize) -> String {
    let family = fit.family.name();
    if test.p.is_nan() || test.samples == 0 {
        return format!("whether a {family} fits could not be tested");
    }
    if test.p < CONTRADICTED {
        return format!(
            "the trials contradict a {family} (Anderson-Darling, p = {:.3}): look at them",
            test.p
        );
    }
    let said = format!("a {family} is not contradicted (Anderson-Darling, p = {:.2})", test.p);
    if count < TELLING {
        format!("{said}; with {count} trials only gross misfits would show")
    } else {
        said
    }
}

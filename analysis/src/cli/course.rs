//! The course of CO2 as it is shown below the margins, and whether it may be drawn in more than ASCII.

use std::ffi::OsString;
use std::sync::Arc;

use breathroom_sim::engine::{Case, Engine, Trace};
use breathroom_sim::scenario::{Medians, Scenario};
use breathroom_sim::units::Time;

use super::console::Console;
use super::job::Output;
use super::scenario_file::Read;
use crate::results::co2_course;
use crate::results::summary::Summary;

/// Samples that are enough for a course on a terminal.
const SAMPLES: i64 = 512;

/// The course of one run; nothing if no text is wanted.
pub fn of_run(console: &Console<'_>, output: &Output, summary: &Summary, traced: (&Scenario, &Case, &Trace)) -> String {
    if output.json || output.quiet {
        return String::new();
    }
    co2_course::sparkline(summary, traced, "", console.utf8)
}

/// The course of the run on the medians; nothing if no text is wanted. What keeps it from being drawn (an interruption, say)
/// is no reason not to tell of results that are there.
pub fn of_medians(console: &Console<'_>, output: &Output, summary: &Summary, read: &Arc<Read>) -> String {
    if output.json || output.quiet {
        return String::new();
    }
    let Some((case, trace)) = traced_medians(console, read) else {
        return String::new();
    };
    let of = (&read.scenario, &case, &trace);
    co2_course::sparkline(summary, of, "On the medians", console.utf8)
}

/// The run on the medians once more, with as many samples as a terminal shows: no sample changes a bit of it.
fn traced_medians(console: &Console<'_>, read: &Arc<Read>) -> Option<(Case, Trace)> {
    let shared = Arc::clone(read);
    let run = console.interruptible(move || {
        let mut case = shared.scenario.draw(&Medians).case;
        case.history_every = Time((case.duration.0 / SAMPLES).max(1));
        let mut trace = Trace::default();
        let result = Engine::new().run(&case, Some(&mut trace));
        result.ok().map(|_| (case, trace))
    });
    run.ok().flatten()
}

/// Whether the locale shows UTF-8: the first of its variables that is set decides, as it does for other programs.
pub fn utf8(variable: &dyn Fn(&str) -> Option<OsString>) -> bool {
    let set = |name: &&str| variable(name).filter(|value| !value.is_empty());
    let locale = ["LC_ALL", "LC_CTYPE", "LANG"].iter().find_map(set);
    locale.is_some_and(|locale| {
        let locale = locale.to_string_lossy().to_ascii_lowercase();
        locale.contains("utf-8") || locale.contains("utf8")
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_variable_of_the_locale_that_is_set_decides() {
        let locale = |set: &'static [(&str, &str)]| {
            utf8(&move |name| {
                set.iter()
                    .find(|(other, _)| *other == name)
                    .map(|(_, value)| (*value).into())
            })
        };
        assert!(locale(&[("LANG", "en_GB.UTF-8")]) && locale(&[("LC_CTYPE", "C.utf8")]));
        assert!(!locale(&[]) && !locale(&[("LANG", "C")]) && !locale(&[("LANG", "de_DE.ISO-8859-1")]));
        assert!(!locale(&[("LC_ALL", "C"), ("LANG", "en_GB.UTF-8")]));
        assert!(locale(&[("LC_ALL", ""), ("LC_CTYPE", "C.UTF-8"), ("LANG", "C")]));
    }
}

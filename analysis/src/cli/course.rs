//! The course of CO2 as it is shown below the margins, and whether it may be drawn in more than ASCII.

use std::ffi::OsString;

use breathroom_sim::engine::{Case, Trace};
use breathroom_sim::scenario::Scenario;

use super::console::Console;
use super::job::Output;
use crate::results::co2_course;
use crate::results::summary::Summary;

/// The course of a run, and which run that is; nothing if no text is wanted.
pub fn told(
    console: &Console<'_>,
    output: &Output,
    summary: &Summary,
    traced: (&Scenario, &Case, &Trace),
    which: &str,
) -> String {
    if output.json || output.quiet {
        return String::new();
    }
    co2_course::sparkline(summary, traced, which, console.utf8)
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

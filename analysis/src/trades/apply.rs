//! What a level sets, tried on the scenario; and what the scenario says to that, told in the trade file.

use breathroom_sim::scenario::{Diagnostic, Resolved, Scenario};
use breathroom_sim::text::{OVERRIDE, Spot, Texts};

use super::ReadWith;
use super::sheet::inside;
use super::written::Written;

/// A reading of a trade file.
pub(super) struct Reading<'s> {
    pub texts: Texts,
    /// None if the scenario could not be read: then only the form of the file is checked.
    pub base: Option<Base<'s>>,
}

/// The scenario as its file has it, and how to read it with more.
pub(super) struct Base<'s> {
    pub read: ReadWith<'s>,
    pub scenario: Scenario,
}

/// A path of the scenario, and where the trade file names it.
#[derive(Clone, Debug)]
pub(super) struct Path {
    /// Its parts, without blanks and quotes, joined by dots.
    pub text: String,
    pub spot: Spot,
}

impl Path {
    /// A path as written; none after a fault.
    pub fn read(texts: &mut Texts, text: &str, spot: &Spot) -> Option<Self> {
        let parts: Vec<&str> = text.split('.').map(|part| part.trim().trim_matches('"')).collect();
        if text.contains('=') || parts.iter().any(|part| part.is_empty()) {
            let help = "write a path of the scenario, e.g. \"compartments.cabin.free_volume\"";
            texts.fault(spot, format!("`{text}` is no path"), help);
            return None;
        }
        Some(Self {
            text: parts.join("."),
            spot: spot.clone(),
        })
    }
}

/// A path and the value that it gets.
#[derive(Clone, Debug)]
pub(super) struct Setting {
    pub path: Path,
    pub value: Written,
}

impl Setting {
    /// "PATH=VALUE".
    pub fn text(&self) -> String {
        format!("{}={}", self.path.text, self.value.text)
    }
}

/// A value of a scenario by its path.
pub(super) fn resolved<'s>(scenario: &'s Scenario, path: &str) -> Option<&'s Resolved> {
    scenario.resolved.iter().find(|value| value.path == path)
}

impl Reading<'_> {
    /// The scenario with these settings and everything else as its file has it; what it refuses is told where the settings
    /// stand, or at `spot`.
    pub fn alone(&mut self, settings: &[Setting], spot: &Spot) -> Option<Scenario> {
        let base = self.base.as_ref()?;
        if settings.is_empty() {
            return Some(base.scenario.clone());
        }
        let overrides: Vec<String> = settings.iter().map(Setting::text).collect();
        match (base.read)(&overrides) {
            Ok(scenario) => Some(scenario),
            Err(refused) => {
                for fault in refused {
                    self.tell(fault, settings, &overrides, spot);
                }
                None
            }
        }
    }

    /// Tells of a fault of an override in the trade file's own place.
    fn tell(&mut self, mut fault: Diagnostic, settings: &[Setting], overrides: &[String], spot: &Spot) {
        if let Some(start) = fault.message.strip_suffix(" in the file") {
            fault.message = format!("{start} in the scenario");
        }
        let own = overrides
            .iter()
            .position(|text| fault.file == OVERRIDE && *text == fault.source_line);
        let (place, message) = match own {
            Some(n) => (self.place(&settings[n], &fault), fault.message),
            None if fault.file == OVERRIDE => (spot.clone(), fault.message),
            None => (
                spot.clone(),
                format!("{} ({}:{}, with this)", fault.message, fault.file, fault.line),
            ),
        };
        self.texts.fault(&place, message, fault.help.unwrap_or_default());
    }

    fn place(&self, setting: &Setting, fault: &Diagnostic) -> Spot {
        let path = &setting.path;
        if fault.span.end <= path.text.len() {
            return inside(&self.texts, &path.spot, &path.text, fault.span.clone());
        }
        let shift = path.text.len() + 1;
        let part = fault.span.start.saturating_sub(shift)..fault.span.end.saturating_sub(shift);
        setting.value.spot(&self.texts, &part)
    }
}

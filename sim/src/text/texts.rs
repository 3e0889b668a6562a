//! The texts that a scenario is read from, and the faults found in them.

use std::ops::Range;

use super::Diagnostic;
use super::tree::Spot;

/// The name under which a fault of an override is reported.
pub const OVERRIDE: &str = "--set";
/// Names compared, at most, to find what may have been meant, over all of a file: a file full of faults stays quick.
const COMPARISONS: usize = 200_000;

/// A text with the starts of its lines.
#[derive(Debug)]
struct Text {
    name: String,
    text: String,
    line_starts: Vec<usize>,
}

impl Text {
    fn new(name: &str, text: &str) -> Self {
        let starts = text
            .bytes()
            .enumerate()
            .filter(|(_, b)| *b == b'\n')
            .map(|(at, _)| at + 1);
        Self {
            name: name.to_owned(),
            text: text.to_owned(),
            line_starts: std::iter::once(0).chain(starts).collect(),
        }
    }

    /// The line (from 0) of a byte, and the byte range of that line without its end.
    fn line(&self, at: usize) -> (usize, Range<usize>) {
        let line = self.line_starts.partition_point(|start| *start <= at).max(1) - 1;
        let start = self.line_starts[line];
        let end = self.line_starts.get(line + 1).map_or(self.text.len(), |next| next - 1);
        let text = &self.text[start..end];
        (line, start..start + text.trim_end_matches('\r').len())
    }

    fn diagnostic(&self, span: Range<usize>, message: String, help: Option<String>) -> Diagnostic {
        let mut start = span.start.min(self.text.len());
        while !self.text.is_char_boundary(start) {
            start -= 1;
        }
        let (line, range) = self.line(start);
        // A fault at the end of a line (a missing value) may start on its break.
        let column_end = start.min(range.end).max(range.start);
        Diagnostic {
            file: self.name.clone(),
            span: start..span.end.clamp(start, self.text.len()),
            line: line + 1,
            column: self.text[range.start..column_end].chars().count() + 1,
            // An absence in the file as a whole has no line to show.
            source_line: if span.end == 0 {
                String::new()
            } else {
                self.text[range].to_owned()
            },
            message,
            help,
        }
    }
}

/// The file, then every override; and what was found wrong.
#[derive(Debug)]
pub struct Texts {
    texts: Vec<Text>,
    /// What is wrong.
    pub faults: Vec<Diagnostic>,
    /// What deserves a look.
    pub warnings: Vec<Diagnostic>,
    comparisons: usize,
}

impl Texts {
    /// A file's name and text, and the overrides.
    #[must_use]
    pub fn new(name: &str, text: &str, overrides: &[String]) -> Self {
        let mut texts = vec![Text::new(name, text)];
        texts.extend(overrides.iter().map(|o| Text::new(OVERRIDE, o)));
        Self {
            texts,
            faults: Vec::new(),
            warnings: Vec::new(),
            comparisons: 0,
        }
    }

    /// The text that stands there.
    #[must_use]
    pub fn slice(&self, spot: &Spot) -> &str {
        self.texts[spot.source].text.get(spot.span.clone()).unwrap_or("")
    }

    /// Line, from 1.
    #[must_use]
    pub fn line(&self, spot: &Spot) -> usize {
        self.texts[spot.source].line(spot.span.start).0 + 1
    }

    /// Reports a fault; `help` says what would be right, or is empty.
    pub fn fault(&mut self, spot: &Spot, message: impl Into<String>, help: impl Into<String>) {
        let found = self.diagnostic(spot, message.into(), help.into());
        self.faults.push(found);
    }

    /// Reports what deserves a look.
    pub fn warn(&mut self, spot: &Spot, message: impl Into<String>, help: impl Into<String>) {
        let found = self.diagnostic(spot, message.into(), help.into());
        self.warnings.push(found);
    }

    fn diagnostic(&self, spot: &Spot, message: String, help: String) -> Diagnostic {
        let help = (!help.is_empty()).then_some(help);
        self.texts[spot.source].diagnostic(spot.span.clone(), message, help)
    }

    /// Whether one word may be a slip of the pen for another.
    #[must_use]
    pub fn near(word: &str, other: &str) -> bool {
        strsim::osa_distance(&word.to_lowercase(), &other.to_lowercase()) <= (word.chars().count() / 3).max(1)
    }

    /// "did you mean `x`?" for the nearest of the candidates, or a list of them if they are few, or nothing.
    pub fn meant<'c>(&mut self, word: &str, candidates: impl Iterator<Item = &'c str> + Clone) -> String {
        let mut best: Option<(usize, &str)> = None;
        let most = (word.chars().count() / 3).max(1);
        let folded = word.to_lowercase();
        let mut count = 0;
        for candidate in candidates.clone() {
            count += 1;
            self.comparisons += 1;
            if self.comparisons > COMPARISONS {
                return String::new();
            }
            if candidate.len().abs_diff(word.len()) > most + 3 {
                continue;
            }
            let distance = strsim::osa_distance(&folded, &candidate.to_lowercase());
            if distance <= most && best.is_none_or(|(least, _)| distance < least) {
                best = Some((distance, candidate));
            }
        }
        match best {
            Some((_, candidate)) => format!("did you mean `{candidate}`?"),
            None if count == 0 => String::new(),
            None if count <= 24 => {
                let list: Vec<String> = candidates.map(|c| format!("`{c}`")).collect();
                match list.as_slice() {
                    [only] => format!("there is only {only}"),
                    several => format!("there are {}", several.join(", ")),
                }
            }
            None => String::new(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn spot(span: Range<usize>) -> Spot {
        Spot { source: 0, span }
    }

    #[test]
    fn lines_and_columns_count_characters_from_one() {
        let mut texts = Texts::new("a.toml", "x = 1\r\ntitle = \"é\" # ü\n", &[]);
        texts.fault(&spot(15..19), "m", "");
        let fault = &texts.faults[0];
        assert_eq!(
            (fault.line, fault.column, fault.source_line.as_str()),
            (2, 9, "title = \"é\" # ü")
        );
        assert_eq!(fault.help, None);
    }

    #[test]
    fn a_span_beyond_the_end_is_survived() {
        let mut texts = Texts::new("a.toml", "", &[]);
        texts.fault(&spot(7..9), "m", "h");
        assert_eq!((texts.faults[0].line, texts.faults[0].column), (1, 1));
    }

    #[test]
    fn it_finds_what_was_meant() {
        let mut texts = Texts::new("a.toml", "", &[]);
        assert_eq!(
            texts.meant("free_volum", ["leak", "free_volume"].into_iter()),
            "did you mean `free_volume`?"
        );
        assert_eq!(
            texts.meant("qqqq", ["leak", "free_volume"].into_iter()),
            "there are `leak`, `free_volume`"
        );
    }
}

//! The text of a formula to its parts, by recursive descent; each fault with its place in the text.

use std::ops::Range;

use super::{Expression, Function, Operation, Reference};

/// Parentheses, signs and powers inside each other.
const DEEPEST: usize = 64;
/// Parts of one formula: what walks through them goes as deep as there are parts.
const MOST_PARTS: usize = 1000;

/// What is wrong in a formula, where, and what would be right.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Fault {
    pub at: Range<usize>,
    pub message: String,
    pub help: String,
}

impl Fault {
    pub fn new(at: Range<usize>, message: impl Into<String>, help: impl Into<String>) -> Self {
        Self {
            at,
            message: message.into(),
            help: help.into(),
        }
    }
}

/// Finds what stands in brackets; what it is not is noted by whoever looks.
pub(super) type Lookup<'l> = &'l mut dyn FnMut(&str, Range<usize>) -> Option<Reference>;

/// Parses a formula. `lookup` is asked for each reference, with its place; where it finds none, the formula stands for nothing.
pub(super) fn parse(text: &str, lookup: Lookup<'_>) -> Result<Expression, Fault> {
    let mut parser = Parser {
        text,
        at: 0,
        parts: 0,
        lookup,
    };
    let root = parser.sum(0)?;
    parser.blanks();
    match parser.rest().chars().next() {
        None => Ok(root),
        Some(')') => Err(parser.fault("a `)` that closes nothing", "remove it, or open it before")),
        Some(c) => Err(parser.fault(
            format!("`{c}` cannot stand here"),
            "between two values stands one of + - * / ^",
        )),
    }
}

struct Parser<'t, 'l> {
    text: &'t str,
    at: usize,
    parts: usize,
    lookup: Lookup<'l>,
}

impl<'t> Parser<'t, '_> {
    fn rest(&self) -> &'t str {
        &self.text[self.at..]
    }

    fn blanks(&mut self) {
        self.at = self.text.len() - self.rest().trim_start().len();
    }

    /// A fault at the next character.
    fn fault(&self, message: impl Into<String>, help: impl Into<String>) -> Fault {
        let length = self.rest().chars().next().map_or(0, char::len_utf8);
        Fault::new(self.at..self.at + length, message, help)
    }

    /// Takes a character if it is next.
    fn take(&mut self, wanted: char) -> bool {
        self.blanks();
        let there = self.rest().starts_with(wanted);
        if there {
            self.at += wanted.len_utf8();
        }
        there
    }

    fn count(&mut self, depth: usize) -> Result<(), Fault> {
        self.parts += 1;
        if depth > DEEPEST {
            return Err(self.fault(
                format!("more than {DEEPEST} levels inside each other"),
                "take it apart, or take parentheses out",
            ));
        }
        if self.parts > MOST_PARTS {
            return Err(self.fault(format!("more than {MOST_PARTS} parts"), "make several columns of it"));
        }
        Ok(())
    }

    fn sum(&mut self, depth: usize) -> Result<Expression, Fault> {
        let mut left = self.product(depth)?;
        loop {
            let operation = if self.take('+') {
                Operation::Plus
            } else if self.take('-') {
                Operation::Minus
            } else {
                return Ok(left);
            };
            left = pair(operation, left, self.product(depth)?);
        }
    }

    fn product(&mut self, depth: usize) -> Result<Expression, Fault> {
        let mut left = self.minus(depth)?;
        loop {
            let operation = if self.take('*') {
                Operation::Times
            } else if self.take('/') {
                Operation::Over
            } else {
                return Ok(left);
            };
            if self.rest().starts_with('*') {
                return Err(self.fault("`**` is not known", "a power is written with ^"));
            }
            left = pair(operation, left, self.minus(depth)?);
        }
    }

    fn minus(&mut self, depth: usize) -> Result<Expression, Fault> {
        self.count(depth)?;
        if self.take('-') {
            return Ok(Expression::Negative(Box::new(self.minus(depth + 1)?)));
        }
        let base = self.atom(depth)?;
        if self.take('^') {
            return Ok(pair(Operation::Power, base, self.minus(depth + 1)?));
        }
        Ok(base)
    }

    fn atom(&mut self, depth: usize) -> Result<Expression, Fault> {
        self.blanks();
        match self.rest().chars().next() {
            None => Err(Fault::new(
                self.text.trim_end().len()..self.text.trim_end().len(),
                "the formula ends where a value is wanted",
                "a value is a number, [NAME in UNIT], a function, or (..)",
            )),
            Some('(') => {
                let open = self.at;
                self.at += 1;
                let inner = self.sum(depth + 1)?;
                self.close(open)?;
                Ok(inner)
            }
            Some('[') => self.reference(),
            Some(c) if c.is_ascii_digit() || c == '.' => self.number(),
            Some(c) if c.is_alphabetic() || c == '_' => self.call(depth),
            Some(c) => Err(self.fault(
                format!("`{c}` cannot stand here"),
                "a value is a number, [NAME in UNIT], a function, or (..)",
            )),
        }
    }

    fn close(&mut self, open: usize) -> Result<(), Fault> {
        if self.take(')') {
            return Ok(());
        }
        if self.rest().is_empty() {
            return Err(Fault::new(open..open + 1, "this `(` is not closed", "add a `)`"));
        }
        Err(self.fault("a `)` is wanted here", "between two values stands one of + - * / ^"))
    }

    fn number(&mut self) -> Result<Expression, Fault> {
        let start = self.at;
        let digits = |text: &str| text.bytes().take_while(u8::is_ascii_digit).count();
        let mut end = start + digits(self.rest());
        if self.text[end..].starts_with('.') {
            end += 1 + digits(&self.text[end + 1..]);
        }
        let exponent = &self.text[end..];
        if exponent.starts_with(['e', 'E']) {
            let sign = usize::from(exponent[1..].starts_with(['+', '-']));
            let figures = digits(&exponent[1 + sign..]);
            if figures > 0 {
                end += 1 + sign + figures;
            }
        }
        self.at = end;
        match self.text[start..end].parse::<f64>() {
            Ok(value) if value.is_finite() => Ok(Expression::Number(value)),
            _ => Err(Fault::new(
                start..end,
                format!("`{}` is no number", &self.text[start..end]),
                "numbers have a decimal point: 0.5, 1.2e3",
            )),
        }
    }

    fn reference(&mut self) -> Result<Expression, Fault> {
        let start = self.at;
        let Some(length) = self.rest().find(']') else {
            return Err(Fault::new(
                start..start + 1,
                "this `[` is not closed",
                "write [NAME in UNIT]",
            ));
        };
        self.at += length + 1;
        let inner = start + 1..start + length;
        let found = (self.lookup)(&self.text[inner.clone()], inner);
        // Nothing was found: that is told; the rest of the formula may have faults of its own.
        Ok(found.map_or(Expression::Number(f64::NAN), Expression::Reference))
    }

    fn call(&mut self, depth: usize) -> Result<Expression, Fault> {
        let start = self.at;
        let part = |c: char| c.is_alphanumeric() || matches!(c, '_' | '.' | '-');
        let plain = |c: char| c.is_alphanumeric() || c == '_';
        let length = self.rest().find(|c| !plain(c)).unwrap_or(self.rest().len());
        let name = &self.rest()[..length];
        self.at += length;
        if !self.take('(') {
            let dotted = self.text[start..].find(|c| !part(c)).unwrap_or(self.text.len() - start);
            let word = self.text[start..start + dotted].trim_end_matches(['-', '.']);
            let end = start + word.len().max(length);
            return Err(Fault::new(
                start..end,
                format!("`{}` stands alone", &self.text[start..end]),
                format!(
                    "a reference stands in brackets with its unit: [{} in kg]",
                    &self.text[start..end]
                ),
            ));
        }
        let Some((_, function)) = Function::ALL.into_iter().find(|(known, _)| *known == name) else {
            let known: Vec<&str> = Function::ALL.iter().map(|(known, _)| *known).collect();
            let help = format!("there are {}", known.join(", "));
            return Err(Fault::new(
                start..start + length,
                format!("there is no function `{name}`"),
                help,
            ));
        };
        let open = self.at - 1;
        let mut parts = vec![self.sum(depth + 1)?];
        while self.take(',') {
            parts.push(self.sum(depth + 1)?);
        }
        self.close(open)?;
        let one = !matches!(function, Function::Min | Function::Max);
        if one && parts.len() != 1 {
            let message = format!("`{name}` takes one value, not {}", parts.len());
            return Err(Fault::new(start..start + length, message, "min and max take several"));
        }
        Ok(Expression::Call(function, parts))
    }
}

fn pair(operation: Operation, left: Expression, right: Expression) -> Expression {
    Expression::Pair(operation, Box::new([left, right]))
}

//! JSON for people and programs: indented, its numbers to 15 significant digits.
//!
//! A 16th digit tells what rounding left of a conversion ("80 degF" as 80.00000000000001), never anything of a cabin.

use std::io::{self, Write};

use serde::Serialize;
use serde_json::Serializer;
use serde_json::ser::{Formatter, PrettyFormatter};

/// A value as JSON, with a line end.
///
/// # Errors
/// If the value cannot be JSON.
pub fn to_json(value: &impl Serialize) -> Result<String, serde_json::Error> {
    let mut text = Vec::new();
    value.serialize(&mut Serializer::with_formatter(
        &mut text,
        Rounded(PrettyFormatter::new()),
    ))?;
    text.push(b'\n');
    Ok(String::from_utf8_lossy(&text).into_owned())
}

/// A number to 15 significant digits; no minus before a zero.
fn rounded(value: f64) -> f64 {
    let value: f64 = format!("{value:.14e}").parse().unwrap_or(value);
    if value == 0.0 { 0.0 } else { value }
}

struct Rounded<'a>(PrettyFormatter<'a>);

impl Formatter for Rounded<'_> {
    fn write_f64<W: ?Sized + Write>(&mut self, writer: &mut W, value: f64) -> io::Result<()> {
        self.0.write_f64(writer, rounded(value))
    }

    fn begin_array<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.0.begin_array(writer)
    }

    fn end_array<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.0.end_array(writer)
    }

    fn begin_array_value<W: ?Sized + Write>(&mut self, writer: &mut W, first: bool) -> io::Result<()> {
        self.0.begin_array_value(writer, first)
    }

    fn end_array_value<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.0.end_array_value(writer)
    }

    fn begin_object<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.0.begin_object(writer)
    }

    fn end_object<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.0.end_object(writer)
    }

    fn begin_object_key<W: ?Sized + Write>(&mut self, writer: &mut W, first: bool) -> io::Result<()> {
        self.0.begin_object_key(writer, first)
    }

    fn begin_object_value<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.0.begin_object_value(writer)
    }

    fn end_object_value<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.0.end_object_value(writer)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_rounding_left_is_not_shown() {
        let text = to_json(&[80.000_000_000_000_01, -0.0, 0.1 + 0.2, 1e300, 1.0 / 3.0]).expect("json");
        assert_eq!(text, "[\n  80.0,\n  0.0,\n  0.3,\n  1e+300,\n  0.333333333333333\n]\n");
        assert_eq!(to_json(&[f64::NAN]).expect("json"), "[\n  null\n]\n");
    }
}

//! The table model: columns that say what they hold, and rows made one at a time, so that a long history is never held
//! twice.

use std::borrow::Cow;

/// What a column's cells are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// A number, perhaps missing.
    Number,
    /// A whole number.
    Integer,
    /// Text, perhaps empty.
    Text,
}

/// What of a column's cells stands out, wherever a table is meant to be read: never by colour alone.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Mark {
    /// Nothing.
    #[default]
    None,
    /// Numbers below zero, which are beyond a limit.
    Margin,
    /// The text "NO" among "yes" and "n/a".
    Met,
    /// The texts "yes" and "knee" among "no" and others: rows that no other row beats in everything.
    Front,
}

/// One column.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Column {
    /// Its name without the unit: "cabin co2".
    pub name: String,
    /// Its unit, where it has one.
    pub unit: Option<Cow<'static, str>>,
    /// What it means, in a sentence.
    pub meaning: String,
    /// What its cells are.
    pub kind: Kind,
    /// What of its cells stands out.
    pub mark: Mark,
    /// Left out where a table has to fit a page (Markdown, LaTeX); CSV, XLSX and JSON have it.
    pub detail: bool,
}

impl Column {
    /// A column of numbers in a unit.
    pub fn number(name: impl Into<String>, unit: &'static str, meaning: impl Into<String>) -> Self {
        let unit = if unit.is_empty() {
            None
        } else {
            Some(Cow::Borrowed(unit))
        };
        Self::new(name.into(), unit, meaning.into(), Kind::Number)
    }

    /// A column of whole numbers.
    pub fn integer(name: impl Into<String>, meaning: impl Into<String>) -> Self {
        Self::new(name.into(), None, meaning.into(), Kind::Integer)
    }

    /// A column of text.
    pub fn text(name: impl Into<String>, meaning: impl Into<String>) -> Self {
        Self::new(name.into(), None, meaning.into(), Kind::Text)
    }

    fn new(name: String, unit: Option<Cow<'static, str>>, meaning: String, kind: Kind) -> Self {
        Self {
            name,
            unit,
            meaning,
            kind,
            mark: Mark::None,
            detail: false,
        }
    }

    /// The same in a unit that someone wrote; none if it is empty.
    #[must_use]
    pub fn in_unit(mut self, unit: String) -> Self {
        self.unit = (!unit.is_empty()).then_some(Cow::Owned(unit));
        self
    }

    /// The same with what stands out in it.
    #[must_use]
    pub fn marked(mut self, mark: Mark) -> Self {
        self.mark = mark;
        self
    }

    /// The same, left out where a table has to fit a page.
    #[must_use]
    pub fn detail(mut self) -> Self {
        self.detail = true;
        self
    }

    /// The header: `cabin co2 [mmHg]`.
    #[must_use]
    pub fn header(&self) -> String {
        match &self.unit {
            Some(unit) => format!("{} [{unit}]", self.name),
            None => self.name.clone(),
        }
    }
}

/// One cell.
#[derive(Clone, Debug, PartialEq)]
pub enum Cell {
    /// A number; what is not finite is written as empty.
    Number(f64),
    /// A number that is known to within plus or minus a half-width. Tables to compute with keep it exactly, tables to read
    /// show the figures that its confidence carries ([`super::figures`]).
    Measured {
        /// The number; what is not finite is written as empty.
        value: f64,
        /// How far off it may be, in its unit; 0 if it is exact, not finite if nobody knows.
        half_width: f64,
    },
    /// A whole number.
    Integer(i64),
    /// Text.
    Text(String),
    /// Nothing.
    Empty,
}

impl Cell {
    /// The number that it holds, if it holds a finite one.
    #[must_use]
    pub fn number(&self) -> Option<f64> {
        match self {
            Self::Number(value) | Self::Measured { value, .. } => Some(*value).filter(|value| value.is_finite()),
            Self::Integer(value) => Some(*value as f64),
            Self::Text(_) | Self::Empty => None,
        }
    }

    /// Whether a mark makes it stand out.
    #[must_use]
    pub fn stands_out(&self, mark: Mark) -> bool {
        match mark {
            Mark::None => false,
            Mark::Margin => self.number().is_some_and(|value| value < 0.0),
            Mark::Met => *self == Self::Text("NO".to_owned()),
            Mark::Front => ["yes", "knee"]
                .iter()
                .any(|word| *self == Self::Text((*word).to_owned())),
        }
    }
}

impl From<f64> for Cell {
    fn from(value: f64) -> Self {
        Self::Number(value)
    }
}

impl From<Option<f64>> for Cell {
    fn from(value: Option<f64>) -> Self {
        value.map_or(Self::Empty, Self::Number)
    }
}

impl From<&str> for Cell {
    fn from(text: &str) -> Self {
        Self::Text(text.to_owned())
    }
}

impl From<String> for Cell {
    fn from(text: String) -> Self {
        Self::Text(text)
    }
}

/// Makes the cells of the row of an index, in the order of the columns.
type Fill<'a> = Box<dyn Fn(usize, &mut Vec<Cell>) + 'a>;

/// A table: what it is, its columns, and how its rows are made.
pub struct Table<'a> {
    /// Its name: "history" becomes `history.csv`.
    pub name: &'static str,
    /// What it is, in a sentence.
    pub title: String,
    /// Its columns.
    pub columns: Vec<Column>,
    rows: usize,
    fill: Fill<'a>,
}

impl<'a> Table<'a> {
    /// A table of `rows` rows, made by `fill`, which must push one cell for each column.
    pub fn new(
        name: &'static str,
        title: impl Into<String>,
        columns: Vec<Column>,
        rows: usize,
        fill: impl Fn(usize, &mut Vec<Cell>) + 'a,
    ) -> Self {
        Self {
            name,
            title: title.into(),
            columns,
            rows,
            fill: Box::new(fill),
        }
    }

    /// How many rows it has.
    #[must_use]
    pub fn rows(&self) -> usize {
        self.rows
    }

    /// Makes the cells of a row into a buffer that is used again.
    pub fn row_into(&self, index: usize, cells: &mut Vec<Cell>) {
        cells.clear();
        (self.fill)(index, cells);
        debug_assert_eq!(
            cells.len(),
            self.columns.len(),
            "a cell for each column of {}",
            self.name
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_mark_makes_a_cell_stand_out_by_what_it_says() {
        let measured = |value| Cell::Measured { value, half_width: 0.5 };
        for (cell, mark, stands_out) in [
            (measured(-0.001), Mark::Margin, true),
            (measured(0.0), Mark::Margin, false),
            (Cell::Number(-1.0), Mark::Margin, true),
            (Cell::Integer(-1), Mark::Margin, true),
            (Cell::Number(f64::NEG_INFINITY), Mark::Margin, false),
            (Cell::Number(-1.0), Mark::None, false),
            ("NO".into(), Mark::Met, true),
            ("no".into(), Mark::Met, false),
            ("yes".into(), Mark::Front, true),
            ("NO".into(), Mark::Front, false),
        ] {
            assert_eq!(cell.stands_out(mark), stands_out, "{cell:?} {mark:?}");
        }
    }

    #[test]
    fn columns_are_plain_unless_they_say_otherwise() {
        let plain = Column::number("margin", "mmHg", "Margin.");
        assert_eq!((plain.mark, plain.detail), (Mark::None, false));
        let other = plain.clone().marked(Mark::Margin).detail();
        assert_eq!((other.mark, other.detail), (Mark::Margin, true));
        assert_eq!(other.header(), plain.header());
    }
}

//! The table model: columns that say what they hold, and rows made one at a time, so that a long history is never held
//! twice.

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

/// One column.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Column {
    /// Its name without the unit: "cabin co2".
    pub name: String,
    /// Its unit, where it has one.
    pub unit: Option<&'static str>,
    /// What it means, in a sentence.
    pub meaning: String,
    /// What its cells are.
    pub kind: Kind,
}

impl Column {
    /// A column of numbers in a unit.
    pub fn number(name: impl Into<String>, unit: &'static str, meaning: impl Into<String>) -> Self {
        let unit = if unit.is_empty() { None } else { Some(unit) };
        Self {
            name: name.into(),
            unit,
            meaning: meaning.into(),
            kind: Kind::Number,
        }
    }

    /// A column of whole numbers.
    pub fn integer(name: impl Into<String>, meaning: impl Into<String>) -> Self {
        Self {
            name: name.into(),
            unit: None,
            meaning: meaning.into(),
            kind: Kind::Integer,
        }
    }

    /// A column of text.
    pub fn text(name: impl Into<String>, meaning: impl Into<String>) -> Self {
        Self {
            name: name.into(),
            unit: None,
            meaning: meaning.into(),
            kind: Kind::Text,
        }
    }

    /// The header: `cabin co2 [mmHg]`.
    #[must_use]
    pub fn header(&self) -> String {
        match self.unit {
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
    /// A whole number.
    Integer(i64),
    /// Text.
    Text(String),
    /// Nothing.
    Empty,
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

//! What is wrong with a quantity's text, where in it, and what would be right.

use std::fmt;
use std::ops::Range;

use super::quantity::Dimension;

/// Why a text is not a quantity of the wanted dimension. Spans are byte ranges inside that text.
#[derive(Clone, Debug, PartialEq)]
pub enum QuantityError {
    /// Nothing, or only blanks.
    Empty {
        /// All of the text.
        span: Range<usize>,
        /// What is wanted.
        dimension: Dimension,
    },
    /// It does not start with a number, or a number is followed by what cannot follow one.
    NotANumber {
        /// The offending part, shortened if long.
        text: String,
        /// Where it is.
        span: Range<usize>,
        /// What is wanted.
        dimension: Dimension,
    },
    /// A comma inside a number, which may be meant as a decimal point or between thousands.
    Comma {
        /// The number with its comma, shortened if long.
        text: String,
        /// Where it is.
        span: Range<usize>,
    },
    /// Not a number, infinite, or too large for a double in SI.
    NotFinite {
        /// The offending number, shortened if long.
        text: String,
        /// Where it is.
        span: Range<usize>,
    },
    /// A number without its unit.
    MissingUnit {
        /// The number.
        span: Range<usize>,
        /// What is wanted.
        dimension: Dimension,
    },
    /// No dimension has this unit.
    UnknownUnit {
        /// As written, shortened if long.
        unit: String,
        /// Where it is.
        span: Range<usize>,
        /// What is wanted.
        dimension: Dimension,
        /// A unit of the wanted dimension that may be meant.
        suggestion: Option<&'static str>,
    },
    /// A unit of something else.
    WrongDimension {
        /// As written.
        unit: String,
        /// Where it is.
        span: Range<usize>,
        /// What that unit measures.
        measures: Dimension,
        /// What is wanted.
        dimension: Dimension,
    },
    /// A gauge pressure ("psig"), which is a difference from surroundings that are not stated.
    Gauge {
        /// As written.
        unit: String,
        /// Where it is.
        span: Range<usize>,
    },
    /// A volume rate of a gas that does not say at which temperature and pressure the volume is meant.
    MissingReference {
        /// The flow unit, or what follows it in place of a reference.
        span: Range<usize>,
    },
    /// A reference ("at 25 degC, 101.325 kPa") that is incomplete, impossible or not wanted.
    BadReference {
        /// The offending part.
        span: Range<usize>,
        /// What is wrong with it, in words.
        why: &'static str,
    },
    /// Parts of a time in another order than large to small, or a sign inside ("30 min 1 h").
    UnorderedTime {
        /// The part that comes too late.
        span: Range<usize>,
    },
}

impl QuantityError {
    /// The offending bytes of the text.
    #[must_use]
    pub fn span(&self) -> Range<usize> {
        match self {
            Self::Empty { span, .. }
            | Self::NotANumber { span, .. }
            | Self::Comma { span, .. }
            | Self::NotFinite { span, .. }
            | Self::MissingUnit { span, .. }
            | Self::UnknownUnit { span, .. }
            | Self::WrongDimension { span, .. }
            | Self::Gauge { span, .. }
            | Self::MissingReference { span }
            | Self::BadReference { span, .. }
            | Self::UnorderedTime { span } => span.clone(),
        }
    }

    /// What is wrong.
    #[must_use]
    pub fn message(&self) -> String {
        match self {
            Self::Empty { dimension, .. } => format!("nothing where {} is wanted", dimension.with_article()),
            Self::NotANumber { text, .. } => format!("`{text}` is not a number"),
            Self::Comma { text, .. } => format!("`{text}` has a comma; numbers take a decimal point and no separators"),
            Self::NotFinite { text, .. } => format!("`{text}` is not a finite number"),
            Self::MissingUnit { .. } => "a number without its unit".to_owned(),
            Self::UnknownUnit { unit, .. } => format!("unknown unit `{unit}`"),
            Self::WrongDimension { unit, measures, .. } => format!("`{unit}` measures {}", measures.with_article()),
            Self::Gauge { unit, .. } => format!("`{unit}` is a gauge pressure, which leaves out the surroundings"),
            Self::MissingReference { .. } => "a volume rate of gas without its temperature and pressure".to_owned(),
            Self::BadReference { why, .. } => (*why).to_owned(),
            Self::UnorderedTime { .. } => {
                "the parts of a time go from large to small, with one sign in front".to_owned()
            }
        }
    }

    /// What would be right.
    #[must_use]
    pub fn help(&self) -> String {
        match self {
            Self::Empty { dimension, .. } | Self::NotANumber { dimension, .. } | Self::MissingUnit { dimension, .. } => {
                format!("for {} write e.g. \"{}\"", dimension.with_article(), dimension.example())
            }
            Self::Comma { text, .. } => {
                format!("write `{}` or `{}`", text.replace(',', "."), text.replace(',', ""))
            }
            Self::NotFinite { .. } => "write a number of a size that can be met".to_owned(),
            Self::UnknownUnit { dimension, suggestion, .. } => match suggestion {
                Some(unit) => format!("did you mean `{unit}`? Units of {}: {}", dimension.with_article(), dimension.listed(99)),
                None if dimension.is_plain() => {
                    format!("{} has no unit, or is one of {}", dimension.with_article(), dimension.listed(99))
                }
                None => format!("{} is written in one of {}", dimension.with_article(), dimension.listed(99)),
            },
            Self::WrongDimension { dimension: Dimension::Number, .. } => "here a plain number is wanted".to_owned(),
            Self::WrongDimension { dimension, .. } => {
                format!("here {} is wanted, such as {}", dimension.with_article(), dimension.listed(3))
            }
            Self::Gauge { .. } => "write the absolute pressure, e.g. \"8.2 psia\"".to_owned(),
            Self::MissingReference { .. } => {
                "add it, e.g. \"0.31 L/min at 25 degC, 101.325 kPa\" or \"0.25 L/min STPD\" (0 degC, 101.325 kPa, dry)".to_owned()
            }
            Self::BadReference { .. } => {
                "write a mass rate (\"1.00 kg/d\"), or a volume rate \"0.31 L/min at 25 degC, 101.325 kPa\" where a gas rate is wanted"
                    .to_owned()
            }
            Self::UnorderedTime { .. } => "write e.g. \"1 h 30 min\"".to_owned(),
        }
    }
}

impl fmt::Display for QuantityError {
    /// The message and the help in one line.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let joint = if matches!(self, Self::MissingUnit { .. } | Self::Empty { .. }) {
            ": "
        } else {
            "; "
        };
        write!(f, "{}{joint}{}", self.message(), self.help())
    }
}

impl std::error::Error for QuantityError {}

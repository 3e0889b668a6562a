//! What a plot is made of: lines, bands, limits, bars, points.

use super::figure::{Drawn, Key};

/// Hues there are; each has a dash of its own too, so that no line is told by its colour alone.
pub const HUES: usize = 6;
/// How heavy a line is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Weight {
    /// One of the worst runs, behind the others.
    Faint,
    /// The value at each instant, where its mean is what counts.
    Thin,
    /// A line.
    Plain,
    /// A mean.
    Heavy,
}

/// Which side of a limit is bad.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Beyond {
    /// Above it.
    Above,
    /// Below it.
    Below,
}

/// What is drawn.
#[derive(Clone, Debug)]
pub enum Mark {
    /// A line through points; broken where one is not finite.
    Line {
        /// Its name in the keys and when pointed at; one that has been named before is not named again.
        name: String,
        /// Its hue and dash.
        hue: usize,
        /// How heavy.
        weight: Weight,
        /// Its points.
        points: Vec<[f64; 2]>,
    },
    /// An area between two lines over the same places; places where either is not finite are left out.
    Band {
        /// Its name.
        name: String,
        /// Its hue.
        hue: usize,
        /// The inner of two bands.
        inner: bool,
        /// Places.
        x: Vec<f64>,
        /// Lower edge.
        low: Vec<f64>,
        /// Upper edge.
        high: Vec<f64>,
    },
    /// A limit.
    Limit {
        /// In words.
        name: String,
        /// Where.
        at: f64,
        /// The bad side.
        beyond: Beyond,
    },
    /// A level that is no limit.
    Level {
        /// In words.
        name: String,
        /// Where.
        at: f64,
    },
    /// A place along the width.
    Upright {
        /// In words.
        name: String,
        /// Where.
        at: f64,
        /// It is a limit: beyond is on this side of it.
        beyond: Option<Beyond>,
    },
    /// Bars that stand on 0: from, to, height.
    Bars {
        /// Their name.
        name: String,
        /// Their hue.
        hue: usize,
        /// Bars.
        bars: Vec<[f64; 3]>,
    },
    /// Points of one look, each with what it says when pointed at.
    Points {
        /// Their name.
        name: String,
        /// Hue and shape.
        hue: usize,
        /// Points with their words, and whether they stand out.
        points: Vec<([f64; 2], String, bool)>,
    },
}

impl Mark {
    /// The values along the width (`of` 0) or upright (1) that the axes must have room for. Limits are fitted in afterwards.
    pub(super) fn values(&self, of: usize) -> Vec<f64> {
        match (self, of) {
            (Self::Line { points, .. }, _) => points.iter().map(|point| point[of]).collect(),
            (Self::Band { x, .. }, 0) => x.clone(),
            (Self::Band { low, high, .. }, _) => low.iter().chain(high).copied().collect(),
            (Self::Bars { bars, .. }, 0) => bars.iter().flat_map(|bar| [bar[0], bar[1]]).collect(),
            (Self::Bars { bars, .. }, _) => bars.iter().map(|bar| bar[2]).chain([0.0]).collect(),
            (Self::Points { points, .. }, _) => points.iter().map(|(point, ..)| point[of]).collect(),
            (Self::Upright { at, .. }, 0) | (Self::Level { at, .. }, 1) => vec![*at],
            _ => Vec::new(),
        }
    }

    /// Its entry in the keys.
    pub(super) fn key(&self) -> Option<Key> {
        let (name, class, drawn) = match self {
            Self::Line { name, hue, weight, .. } => (name, line_class(*hue, *weight), Drawn::Line),
            Self::Band { name, hue, inner, .. } => (name, band_class(*hue, *inner), Drawn::Area),
            Self::Bars { name, hue, .. } => (name, format!("bar h{}", hue % HUES), Drawn::Area),
            Self::Points { name, hue, .. } => (name, format!("point h{}", hue % HUES), Drawn::Point(*hue)),
            Self::Limit { .. } | Self::Level { .. } | Self::Upright { .. } => return None,
        };
        if matches!(
            self,
            Self::Line {
                weight: Weight::Faint,
                ..
            }
        ) {
            // Single runs: one entry for all of them.
            return Some(Key {
                name: "single variations among the worst".to_owned(),
                class,
                drawn,
            });
        }
        (!name.is_empty()).then(|| Key {
            name: name.clone(),
            class,
            drawn,
        })
    }
}

/// Classes of a line.
pub(super) fn line_class(hue: usize, weight: Weight) -> String {
    let weight = match weight {
        Weight::Faint => "faint",
        Weight::Thin => "thin",
        Weight::Plain => "plain",
        Weight::Heavy => "heavy",
    };
    format!("line h{} {weight}", hue % HUES)
}

/// Classes of a band.
pub(super) fn band_class(hue: usize, inner: bool) -> String {
    format!("band h{}{}", hue % HUES, if inner { " inner" } else { "" })
}

/// Shapes of points, by hue, about the origin.
const SHAPES: [&str; HUES] = [
    "M-4,0A4,4 0 1,0 4,0A4,4 0 1,0 -4,0Z",
    "M-4,-4H4V4H-4Z",
    "M0,-5L5,4H-5Z",
    "M0,-5.5L5.5,0L0,5.5L-5.5,0Z",
    "M0,5L5,-4H-5Z",
    "M-5,-1.6H-1.6V-5H1.6V-1.6H5V1.6H1.6V5H-1.6V1.6H-5Z",
];

/// The shape of points of a hue, as the `d` of a path about the origin.
#[must_use]
pub fn shape(hue: usize) -> &'static str {
    SHAPES[hue % HUES]
}

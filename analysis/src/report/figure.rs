//! A figure: a drawing with its title, what it says in words, its keys, and the numbers behind it.
//!
//! The same drawing stands in a page, where `figures.js` stretches it to the width there is and zooms it, and in a file of
//! its own for a paper, with its title, keys and looks inside.

use super::mark::shape;
use super::svg::{escaped, px, value};

/// Width of every figure, px: 174.6 mm, the text width of an A4 page.
pub const WIDTH: f64 = 660.0;
/// Where plots begin, px: room for the marks of an upright axis.
pub const LEFT: f64 = 52.0;
/// Where plots end, px.
pub const RIGHT: f64 = WIDTH - 14.0;
/// Millimetres in a px.
const MM: f64 = 25.4 / 96.0;
/// Height of a line of words, px.
const LINE: f64 = 15.0;
/// The looks of all drawings, in variables that a page sets.
pub const STYLE: &str = include_str!("figure.css");

/// The style sheet for programs that know no variables: each by what it is in daylight.
#[must_use]
pub fn plain_style(style: &str) -> String {
    let mut out = String::with_capacity(style.len());
    let mut rest = style;
    while let Some(at) = rest.find("var(") {
        let (before, from) = rest.split_at(at);
        out.push_str(before);
        let end = from.find(')').unwrap_or(from.len() - 1);
        out.push_str(from[..end].split_once(',').map_or("", |(_, plain)| plain));
        rest = &from[end + 1..];
    }
    out.push_str(rest);
    out
}

/// What runs along a figure's width.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Along {
    /// Time, h: such figures zoom together.
    Time,
    /// Any number.
    Number,
}

/// The horizontal axis: linear from its left end to [`RIGHT`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Across {
    /// What it is.
    pub along: Along,
    /// The value at the left end.
    pub from: f64,
    /// The value at the right end.
    pub to: f64,
    /// Where it begins, px: [`LEFT`] where there is an upright axis.
    pub left: f64,
}

impl Across {
    /// An axis over values; one of no width is widened.
    #[must_use]
    pub fn new(along: Along, from: f64, to: f64) -> Self {
        let wide = to - from > 1e-12 * from.abs().max(to.abs()).max(1e-6);
        let (from, to) = if wide { (from, to) } else { (from - 0.5, from + 0.5) };
        Self {
            along,
            from,
            to,
            left: LEFT,
        }
    }

    /// Where a value lies, px.
    #[must_use]
    pub fn at(&self, value: f64) -> f64 {
        self.left + (RIGHT - self.left) * (value - self.from) / (self.to - self.from)
    }
}

/// One entry of a figure's keys.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Key {
    /// What is drawn so.
    pub name: String,
    /// Classes of its look.
    pub class: String,
    /// What its sample is.
    pub drawn: Drawn,
}

/// What the sample of a key is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Drawn {
    /// A stroke.
    Line,
    /// A rectangle.
    Area,
    /// The shape of points of a hue.
    Point(usize),
}

/// Numbers behind a figure, as words.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Data {
    /// Headers, with units.
    pub headers: Vec<String>,
    /// Rows.
    pub rows: Vec<Vec<String>>,
    /// Which rows these are, and where all of them stand.
    pub note: String,
}

/// A figure.
#[derive(Clone, Debug, Default)]
pub struct Figure {
    /// Names it within a page, and its file: lower case, digits and hyphens.
    pub id: String,
    /// What it is of.
    pub title: String,
    /// What is drawn, and what to look for.
    pub says: String,
    /// What is drawn how.
    pub keys: Vec<Key>,
    /// Height of the drawing, px.
    pub height: f64,
    /// Its horizontal axis, if it has one.
    pub across: Option<Across>,
    /// The drawing, [`WIDTH`] by its height.
    pub body: String,
    /// The numbers behind it.
    pub data: Data,
}

impl Figure {
    /// The drawing for a page: its title and keys stand beside it there.
    #[must_use]
    pub fn svg(&self) -> String {
        let (id, width, height) = (escaped(&self.id), px(WIDTH), px(self.height));
        format!(
            "<svg class=\"drawing\" role=\"img\" aria-labelledby=\"{id}-t {id}-d\" viewBox=\"0 0 {width} {height}\" \
             data-width=\"{width}\" data-height=\"{height}\"{}><title id=\"{id}-t\">{}</title><desc id=\"{id}-d\">{}</desc>{}</svg>",
            self.axis(),
            escaped(&self.title),
            escaped(&self.says),
            self.body
        )
    }

    /// The figure as a file of its own, its size in mm.
    #[must_use]
    pub fn file(&self) -> String {
        let lines = self.key_lines();
        let head = 24.0 + LINE * lines.len() as f64;
        let height = head + self.height;
        let mut keys = String::new();
        for (row, line) in lines.iter().enumerate() {
            let y = 32.0 + LINE * row as f64;
            for (key, x) in line {
                keys.push_str(&sample(key, *x, y - 4.0));
                keys.push_str(&format!(
                    "<text class=\"word\" x=\"{}\" y=\"{}\">{}</text>",
                    px(x + 27.0),
                    px(y),
                    escaped(&key.name)
                ));
            }
        }
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"drawing\" width=\"{}mm\" height=\"{}mm\" viewBox=\"0 0 {} {}\"{}>\
             <title>{}</title><desc>{}</desc><style>{}</style>{PATTERNS}<rect class=\"sheet\" width=\"100%\" height=\"100%\"/>\
             <text class=\"name\" x=\"2\" y=\"14\">{}</text>{keys}<g transform=\"translate(0,{})\">{}</g></svg>\n",
            px(WIDTH * MM),
            px(height * MM),
            px(WIDTH),
            px(height),
            self.axis(),
            escaped(&self.title),
            escaped(&self.says),
            plain_style(STYLE),
            escaped(&self.title),
            px(head),
            self.body
        )
    }

    fn axis(&self) -> String {
        self.across.map_or_else(String::new, |across| {
            let along = match across.along {
                Along::Time => "time",
                Along::Number => "number",
            };
            format!(
                " data-along=\"{along}\" data-x0=\"{}\" data-x1=\"{}\" data-left=\"{}\" data-right=\"{}\"",
                value(across.from),
                value(across.to),
                px(across.left),
                px(RIGHT)
            )
        })
    }

    /// Keys in lines that fit the width, each with where it begins.
    fn key_lines(&self) -> Vec<Vec<(&Key, f64)>> {
        let mut lines: Vec<Vec<(&Key, f64)>> = Vec::new();
        let mut x = f64::INFINITY;
        for key in &self.keys {
            let wide = 27.0 + width_of(&key.name) + 14.0;
            if x + wide > WIDTH {
                lines.push(Vec::new());
                x = 2.0;
            }
            if let Some(line) = lines.last_mut() {
                line.push((key, x));
            }
            x += wide;
        }
        lines
    }
}

/// Hatches that any figure may use.
pub const PATTERNS: &str = "<defs><pattern id=\"hatch-beyond\" width=\"5\" height=\"5\" patternUnits=\"userSpaceOnUse\" \
    patternTransform=\"rotate(45)\"><path class=\"hatch-beyond\" d=\"M0,0V5\"/></pattern><pattern id=\"hatch-away\" width=\"6\" height=\"6\" \
    patternUnits=\"userSpaceOnUse\" patternTransform=\"rotate(-45)\"><path class=\"hatch-away\" d=\"M0,0V6\"/></pattern></defs>";

/// A sample of how a key is drawn, from `x` on, with its middle at `y`.
#[must_use]
pub fn sample(key: &Key, x: f64, y: f64) -> String {
    let class = &key.class;
    match key.drawn {
        Drawn::Line => format!("<path class=\"{class}\" d=\"M{},{}H{}\"/>", px(x), px(y), px(x + 22.0)),
        Drawn::Area => format!(
            "<rect class=\"{class}\" x=\"{}\" y=\"{}\" width=\"22\" height=\"9\"/>",
            px(x),
            px(y - 4.5)
        ),
        Drawn::Point(hue) => {
            let shape = shape(hue);
            format!(
                "<path class=\"{class}\" transform=\"translate({},{})\" d=\"{shape}\"/>",
                px(x + 11.0),
                px(y)
            )
        }
    }
}

/// About how wide words of 11 px are: nobody measures type here, and too wide does no harm.
#[must_use]
pub fn width_of(words: &str) -> f64 {
    6.3 * words.chars().count() as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_says_its_size_its_title_and_its_scale() {
        let figure = Figure {
            id: "co2".into(),
            title: "CO2 <cabin>".into(),
            says: "Says.".into(),
            keys: (0..12)
                .map(|k| Key {
                    name: format!("a key of some length {k}"),
                    class: "line".into(),
                    drawn: if k % 2 == 0 { Drawn::Area } else { Drawn::Line },
                })
                .collect(),
            height: 100.0,
            across: Some(Across::new(Along::Time, 0.0, 72.0)),
            ..Figure::default()
        };
        let file = figure.file();
        assert!(file.contains("width=\"174.63mm\""), "{file}");
        assert!(
            file.contains("<title>CO2 &lt;cabin&gt;</title>")
                && file.contains("data-along=\"time\" data-x0=\"0\" data-x1=\"72\"")
        );
        // Four to a line.
        assert_eq!(
            figure.key_lines().iter().map(Vec::len).collect::<Vec<_>>(),
            [3, 3, 3, 3]
        );
        assert!(figure.svg().contains("role=\"img\"") && !figure.svg().contains("<style>"));
    }

    #[test]
    fn a_file_needs_no_variables() {
        assert_eq!(plain_style("a{fill:var(--x,#fff);b:url(#c)}"), "a{fill:#fff;b:url(#c)}");
        let style = plain_style(STYLE);
        assert!(
            !style.contains("var(") && !style.contains(":;") && !style.contains(":}"),
            "{style}"
        );
    }

    #[test]
    fn an_axis_of_no_width_is_widened() {
        let across = Across::new(Along::Number, 3.0, 3.0);
        assert_eq!(
            (across.from, across.to, across.at(3.0)),
            (2.5, 3.5, (LEFT + RIGHT) / 2.0)
        );
    }
}

//! What an SVG figure says, read back from its paths: pixels to data by the attributes that the figure carries.
//!
//! The root has `data-x0` and `data-x1`, the values at the pixels `data-left` and `data-right`; each `<g class="panel">` has
//! `data-y0` and `data-y1`, the values at the pixels `data-bottom` and `data-top`. Both scales are straight lines.

#![allow(dead_code)]

use serde_json::Value;

use super::browser::Browser;

/// A straight line from pixels to data.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scale {
    /// A value and its pixel.
    pub from: (f64, f64),
    /// Another one.
    pub to: (f64, f64),
}

impl Scale {
    /// The value at a pixel.
    pub fn value(&self, pixel: f64) -> f64 {
        let ((v0, p0), (v1, p1)) = (self.from, self.to);
        v0 + (v1 - v0) * (pixel - p0) / (p1 - p0)
    }

    /// The pixel of a value.
    pub fn pixel(&self, value: f64) -> f64 {
        let ((v0, p0), (v1, p1)) = (self.from, self.to);
        p0 + (p1 - p0) * (value - v0) / (v1 - v0)
    }
}

/// A path of a panel.
#[derive(Clone, Debug)]
pub struct Path {
    /// Its class.
    pub class: String,
    /// What it is of: `data-name`; empty if it has none.
    pub name: String,
    /// Of a band: how many points of it are its upper edge, the first ones. 0 of a line.
    pub split: usize,
    /// Its stretches, pixels: a new one at each `M`.
    pub stretches: Vec<Vec<(f64, f64)>>,
}

/// A panel of a figure.
#[derive(Clone, Debug)]
pub struct Panel {
    /// Its vertical scale.
    pub y: Scale,
    /// Its lines, bands and limits, in the order of the file.
    pub paths: Vec<Path>,
}

/// A figure.
#[derive(Clone, Debug)]
pub struct Figure {
    /// Its horizontal scale.
    pub x: Scale,
    /// Its panels, in the order of the file.
    pub panels: Vec<Panel>,
}

impl Figure {
    /// Reads the figure that a selector finds on the page.
    ///
    /// # Panics
    /// If there is none, or it lacks an attribute.
    pub fn read(browser: &Browser, selector: &str) -> Self {
        let selector = Value::from(selector);
        let found = browser.js(&format!(
            "(() => {{ const svg = document.querySelector({selector}); if (!svg) return null; \
             const data = (of) => Object.assign({{}}, of.dataset); \
             const path = (of) => ({{ class: of.getAttribute('class') || '', d: of.getAttribute('d') || '', data: data(of) }}); \
             const drawn = 'path.line, path.band, path.limit'; \
             const panel = (of) => ({{ data: data(of), paths: [...of.querySelectorAll(drawn)].map(path) }}); \
             return {{ data: data(svg), panels: [...svg.querySelectorAll('g.panel')].map(panel) }}; }})()"
        ));
        assert!(!found.is_null(), "there is no {selector}");
        let panel = |panel: &Value| Panel {
            y: scale(&panel["data"], ["y0", "bottom"], ["y1", "top"]),
            paths: list(&panel["paths"]).iter().map(path).collect(),
        };
        Self {
            x: scale(&found["data"], ["x0", "left"], ["x1", "right"]),
            panels: list(&found["panels"]).iter().map(panel).collect(),
        }
    }

    /// The stretches of a path of a panel in data, `(x, y)`.
    pub fn data(&self, panel: &Panel, path: &Path) -> Vec<Vec<(f64, f64)>> {
        let point = |&(x, y): &(f64, f64)| (self.x.value(x), panel.y.value(y));
        let stretch = |stretch: &Vec<(f64, f64)>| stretch.iter().map(point).collect();
        path.stretches.iter().map(stretch).collect()
    }
}

impl Panel {
    /// The path whose classes have this one.
    ///
    /// # Panics
    /// If there is none.
    pub fn path(&self, class: &str) -> &Path {
        let has = |path: &&Path| path.class.split_whitespace().any(|one| one == class);
        let there = || self.paths.iter().map(|path| path.class.as_str()).collect::<Vec<_>>();
        self.paths
            .iter()
            .find(has)
            .unwrap_or_else(|| panic!("no path of class {class}; there are {:?}", there()))
    }

    /// The paths whose classes have this one.
    pub fn all(&self, class: &str) -> Vec<&Path> {
        let has = |path: &&Path| path.class.split_whitespace().any(|one| one == class);
        self.paths.iter().filter(has).collect()
    }
}

fn list(value: &Value) -> &[Value] {
    value.as_array().expect("a list")
}

fn path(value: &Value) -> Path {
    let text = |key: &str| value[key].as_str().expect("a text");
    let data = |key: &str| value["data"][key].as_str().unwrap_or_default();
    Path {
        class: text("class").to_owned(),
        name: data("name").to_owned(),
        split: data("split").parse().unwrap_or(0),
        stretches: stretches(text("d")),
    }
}

/// A scale from the values and pixels of two attributes each.
fn scale(data: &Value, from: [&str; 2], to: [&str; 2]) -> Scale {
    let number = |key: &str| {
        let text = data[key].as_str().unwrap_or_else(|| panic!("no data-{key}: {data}"));
        text.parse::<f64>()
            .unwrap_or_else(|_| panic!("data-{key} is \"{text}\", no number"))
    };
    let [from, to] = [from, to].map(|[value, pixel]| (number(value), number(pixel)));
    Scale { from, to }
}

/// The stretches of a path's `d`, of absolute `M`, `L`, `H`, `V` and `Z` alone. What follows an `M` without a letter is an `L`, as
/// the standard has it; a `Z` goes back to the start of its stretch.
///
/// # Panics
/// If there is anything else in it.
pub fn stretches(d: &str) -> Vec<Vec<(f64, f64)>> {
    let mut all: Vec<Vec<(f64, f64)>> = Vec::new();
    let mut rest = d.trim_start();
    while let Some(letter) = rest.chars().next() {
        assert!("MLHVZ".contains(letter), "`{letter}` in a path: {d}");
        let end = rest[1..].find(|c: char| c.is_ascii_alphabetic() && !"eE".contains(c));
        let (own, after) = rest[1..].split_at(end.unwrap_or(rest.len() - 1));
        rest = after;
        let numbers: Vec<f64> = own
            .split(|c: char| c == ',' || c.is_whitespace())
            .filter(|text| !text.is_empty())
            .map(|text| text.parse().unwrap_or_else(|_| panic!("`{text}` in a path: {d}")))
            .collect();
        if letter == 'M' {
            all.push(Vec::new());
        }
        let stretch = all.last_mut().unwrap_or_else(|| panic!("a path without a start: {d}"));
        match letter {
            'M' | 'L' => {
                assert!(
                    numbers.len().is_multiple_of(2) && !numbers.is_empty(),
                    "half a point in a path: {d}"
                );
                stretch.extend(numbers.chunks(2).map(|pair| (pair[0], pair[1])));
            }
            'Z' => {
                assert!(numbers.is_empty(), "a number behind `Z` in a path: {d}");
                let first = stretch[0];
                stretch.push(first);
            }
            _ => {
                for number in numbers {
                    let (x, y) = *stretch.last().expect("a start");
                    stretch.push(if letter == 'H' { (number, y) } else { (x, number) });
                }
            }
        }
    }
    all
}

#[test]
fn a_path_is_read_point_by_point() {
    assert_eq!(
        stretches("M 1,2 L 3.5,-4 L 5e1 6 M7,8L9,10"),
        [
            vec![(1.0, 2.0), (3.5, -4.0), (50.0, 6.0)],
            vec![(7.0, 8.0), (9.0, 10.0)]
        ]
    );
    assert_eq!(
        stretches("M0,0 1,1 H 3 V 5 Z"),
        [vec![(0.0, 0.0), (1.0, 1.0), (3.0, 1.0), (3.0, 5.0), (0.0, 0.0)]]
    );
    assert!(stretches("").is_empty());
}

#[test]
#[should_panic(expected = "`m` in a path")]
fn a_relative_path_is_refused() {
    stretches("m 1,2");
}

#[test]
#[should_panic(expected = "half a point")]
fn half_a_point_is_refused() {
    stretches("M 1,2 L 3");
}

#[test]
fn scales_go_both_ways() {
    let y = Scale {
        from: (0.0, 100.0),
        to: (4.0, 20.0),
    };
    assert_eq!((y.value(100.0), y.value(60.0), y.value(20.0)), (0.0, 2.0, 4.0));
    assert_eq!((y.pixel(1.0), y.pixel(5.0)), (80.0, 0.0));
}

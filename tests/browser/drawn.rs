//! Whether what is drawn is what a table says, and nothing else.

use serde_json::Value;

use super::browser::Browser;
use super::svg::{Figure, Panel, Path};

/// How far a sample may lie from its line, px: the 0.05 by which lines are thinned, and the two decimals that corners have.
const WITHIN_PX: f64 = 0.06;

/// How far a corner may lie from the sample that it is, px: two decimals in each direction.
const CORNER_PX: f64 = 0.0075;

/// How far a length that is written with two decimals may lie from what it says, px.
pub const WRITTEN_PX: f64 = 0.0051;

type Point = (f64, f64);

/// How far a point lies from a line of straight pieces.
fn distance(line: &[Point], (x, y): Point) -> f64 {
    let of_piece = |pair: &[Point]| {
        let ((x0, y0), (x1, y1)) = (pair[0], pair[1]);
        let (dx, dy) = (x1 - x0, y1 - y0);
        let long = dx * dx + dy * dy;
        let part = if long > 0.0 {
            (((x - x0) * dx + (y - y0) * dy) / long).clamp(0.0, 1.0)
        } else {
            0.0
        };
        (x - x0 - part * dx).hypot(y - y0 - part * dy)
    };
    match line {
        [] => f64::INFINITY,
        [only] => (x - only.0).hypot(y - only.1),
        _ => line.windows(2).map(of_piece).fold(f64::INFINITY, f64::min),
    }
}

/// Samples without those that are no numbers, cut there.
fn runs(samples: &[Point]) -> Vec<Vec<Point>> {
    let is_number = |point: &Point| point.0.is_finite() && point.1.is_finite();
    samples
        .split(|point| !is_number(point))
        .filter(|run| !run.is_empty())
        .map(<[Point]>::to_vec)
        .collect()
}

/// Fails unless a line goes through all samples, turns only at samples, and is broken where one is missing.
pub fn goes_through(figure: &Figure, panel: &Panel, lines: &[Vec<Point>], samples: &[Point], what: &str) {
    let runs = runs(samples);
    assert!(!runs.is_empty(), "{what}: nothing to compare");
    assert_eq!(lines.len(), runs.len(), "{what}: stretches");
    for (line, run) in lines.iter().zip(&runs) {
        let px: Vec<Point> = run
            .iter()
            .map(|&(x, y)| (figure.x.pixel(x), panel.y.pixel(y)))
            .collect();
        for (at, sample) in px.iter().zip(run) {
            let far = distance(line, *at);
            assert!(far <= WITHIN_PX, "{what}: {sample:?} lies {far} px from the line");
        }
        for &(x, y) in line {
            let near = px
                .iter()
                .map(|at| (at.0 - x).hypot(at.1 - y))
                .fold(f64::INFINITY, f64::min);
            assert!(
                near <= CORNER_PX,
                "{what}: a corner at {x}, {y} px is no sample: {near} px from the nearest"
            );
        }
    }
}

/// The same for the one line of a path.
pub fn line_is(figure: &Figure, panel: &Panel, path: &Path, samples: &[Point], what: &str) {
    goes_through(figure, panel, &path.stretches, samples, what);
}

/// Fails unless bands of one name have these edges.
pub fn band_is(figure: &Figure, panel: &Panel, paths: &[&Path], edges: [&[Point]; 2], what: &str) {
    let edge = |lower: bool| -> Vec<Vec<Point>> {
        let one = |path: &&Path| {
            assert_eq!(path.stretches.len(), 1, "{what}: a band is one stretch");
            // The last point closes it.
            let points = &path.stretches[0][..path.stretches[0].len() - 1];
            let (upper, under) = points.split_at(path.split);
            if lower {
                under.iter().rev().copied().collect()
            } else {
                upper.to_vec()
            }
        };
        paths.iter().map(one).collect()
    };
    let [low, high] = edges;
    goes_through(figure, panel, &edge(false), high, &format!("{what}, upper edge"));
    goes_through(figure, panel, &edge(true), low, &format!("{what}, lower edge"));
}

/// All elements of a selector: `data`, `class`, `attr`, `text`.
pub fn elements(browser: &Browser, selector: &str) -> Vec<Value> {
    let selector = Value::from(selector);
    let found = browser.js(&format!(
        "[...document.querySelectorAll({selector})].map((of) => ({{ data: Object.assign({{}}, of.dataset), class: of.getAttribute('class') || '', \
         attr: Object.fromEntries([...of.attributes].map((one) => [one.name, one.value])), text: of.textContent }}))"
    ));
    found.as_array().expect("a list").clone()
}

/// A number of an element: `number(&rect["data"], "from")`.
pub fn number(of: &Value, key: &str) -> f64 {
    let text = of[key].as_str().unwrap_or_else(|| panic!("no {key} in {of}"));
    text.parse().unwrap_or_else(|_| panic!("{key} is {text}"))
}

/// The ids of the figures that begin with some letters, of all with none.
pub fn figures(browser: &Browser, begin: &str) -> Vec<String> {
    let found = elements(browser, "figure[id]");
    let ids = found
        .iter()
        .map(|of| of["attr"]["id"].as_str().expect("an id").to_owned());
    ids.filter(|id| id.starts_with(begin)).collect()
}

/// The drawing of a figure.
pub fn drawing(id: &str) -> String {
    format!("figure[id=\"{id}\"] svg.drawing")
}

/// Words as a part of an id.
pub fn slug(words: &str) -> String {
    words.replace([' ', '_', ':'], "-").to_lowercase()
}

/// Fails unless two numbers agree but for the last of fifteen figures.
pub fn same(found: f64, expected: f64, what: &str) {
    assert!(
        (found - expected).abs() <= 1e-13 * expected.abs().max(found.abs()) * 50.0,
        "{what}: {found}, not {expected}"
    );
}

#[test]
fn a_line_that_strays_is_seen() {
    let line = [(0.0, 0.0), (10.0, 0.0), (10.0, 5.0)];
    assert_eq!(distance(&line, (4.0, 0.5)), 0.5);
    assert_eq!(distance(&line, (10.5, 3.0)), 0.5);
    assert_eq!(distance(&line[..1], (3.0, 4.0)), 5.0);
    assert_eq!(
        runs(&[(0.0, 1.0), (1.0, f64::NAN), (2.0, 3.0), (3.0, 4.0)]),
        [vec![(0.0, 1.0)], vec![(2.0, 3.0), (3.0, 4.0)]]
    );
}

//! Colours: what is read can be read, in light and dark.

use serde_json::Value;

use super::browser::Browser;
use super::made;

/// What is read, and whether it is drawn. All of it is there in the report of variations.
const READ: [&str; 12] = [
    "p",
    "h1",
    "h2",
    ".kind",
    ".answer p",
    ".caution p",
    "nav a",
    "figcaption p",
    ".readout",
    "td",
    "svg.drawing text.limit-word",
    "svg.drawing text.tick",
];

/// Colours of text and of what lies behind it: of the first ancestor that has one.
const COLOURS: &str = "((of) => { const style = getComputedStyle(of); const ink = of instanceof SVGElement ? style.fill : style.color; \
    for (let up = of; up; up = up.parentElement) { const paper = getComputedStyle(up).backgroundColor; \
    if (!/, 0\\)$/.test(paper) && paper !== 'transparent') return [ink, paper]; } return [ink, 'rgb(255, 255, 255)']; })";

/// Red, green and blue of "rgb(1, 2, 3)", 0 to 1. Nothing that is read is transparent.
fn parts(colour: &str) -> [f64; 3] {
    let inside = colour.strip_prefix("rgb(").and_then(|rest| rest.strip_suffix(')'));
    let inside = inside.unwrap_or_else(|| panic!("{colour} is not opaque"));
    let numbers: Vec<f64> = inside
        .split(", ")
        .map(|part| part.parse::<f64>().expect("a number") / 255.0)
        .collect();
    numbers.try_into().expect("three parts")
}

/// Equation: L = 0.2126 R + 0.7152 G + 0.0722 B of linear parts, from sRGB by its two-part curve. Symbols: relative luminance, 0 to 1.
/// Source: Web Content Accessibility Guidelines 2.2, "relative luminance". Valid for sRGB.
fn luminance(colour: [f64; 3]) -> f64 {
    let linear = colour.map(|part| {
        if part <= 0.04045 {
            part / 12.92
        } else {
            ((part + 0.055) / 1.055).powf(2.4)
        }
    });
    0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
}

/// Equation: (L1 + 0.05) / (L2 + 0.05), the lighter above. Source: as above, "contrast ratio"; 4.5 is its level AA for text
/// (success criterion 1.4.3).
fn contrast(one: [f64; 3], other: [f64; 3]) -> f64 {
    let (one, other) = (luminance(one), luminance(other));
    (one.max(other) + 0.05) / (one.min(other) + 0.05)
}

/// Colours of all elements of a selector, each pair once.
fn colours(browser: &Browser, selector: &str) -> Vec<[String; 2]> {
    let found = browser.js(&format!(
        "[...new Set([...document.querySelectorAll('{selector}')].map((of) => {COLOURS}(of).join('|')))].map((pair) => pair.split('|'))"
    ));
    let pairs = found.as_array().expect("a list").iter();
    let text = |pair: &Value, at: usize| pair[at].as_str().expect("a colour").to_owned();
    pairs.map(|pair| [text(pair, 0), text(pair, 1)]).collect()
}

fn can_be_read(browser: &Browser, how: &str) {
    for selector in READ {
        let pairs = colours(browser, selector);
        assert!(!pairs.is_empty(), "no {selector}");
        for [ink, paper] in pairs {
            let found = contrast(parts(&ink), parts(&paper));
            assert!(found >= 4.5, "{selector}, {how}: {ink} on {paper} is {found:.2} to 1");
        }
    }
}

#[test]
fn words_can_be_read_in_light_and_in_dark() {
    let browser = made::sorties().opened();
    let body = || colours(&browser, "body").remove(0);
    let light = body();
    can_be_read(&browser, "light");
    browser.dark(true);
    let dark = body();
    assert!(light[0] != dark[0] && light[1] != dark[1], "{light:?} {dark:?}");
    assert!(
        luminance(parts(&light[1])) > 0.5 && luminance(parts(&dark[1])) < 0.1,
        "{light:?} {dark:?}"
    );
    can_be_read(&browser, "dark");
}

/// Lines are seen against their card: 3 to 1, as the guidelines ask of graphics (success criterion 1.4.11).
#[test]
fn lines_stand_out_from_their_card() {
    let browser = made::sortie().opened();
    for dark in [false, true] {
        browser.dark(dark);
        let found = browser.js("[...new Set([...document.querySelectorAll('#co2 path.line, #co2 path.limit')].map((of) => getComputedStyle(of).stroke))]");
        let card = browser.text("getComputedStyle(document.querySelector('#co2')).backgroundColor");
        let strokes = found.as_array().expect("a list");
        assert!(strokes.len() >= 2, "{found}");
        for stroke in strokes {
            let stroke = stroke.as_str().expect("a colour");
            let found = contrast(parts(stroke), parts(&card));
            assert!(found >= 3.0, "dark {dark}: {stroke} on {card} is {found:.2} to 1");
        }
    }
}

#[test]
fn the_formula_is_that_of_the_guidelines() {
    let (white, black, grey) = ([1.0; 3], [0.0; 3], parts("rgb(119, 119, 119)"));
    assert!((contrast(white, black) - 21.0).abs() < 1e-9);
    assert!(
        (contrast(grey, white) - 4.48).abs() < 0.005,
        "#777 on white is just too little"
    );
}

//! All drawings over time zoom together, by dragging and by keys, and back.

use serde_json::{Value, json};

use super::browser::Browser;
use super::made;
use super::pointing::{View, clock, readout};

/// Of each drawing over time that is seen: id, width, transform of what is scaled, ticks.
fn zoomed(browser: &Browser) -> Vec<(String, f64, [f64; 2], Vec<String>)> {
    let found = browser.js(
        "[...document.querySelectorAll('svg.drawing[data-along=\"time\"]')].filter((svg) => svg.getBoundingClientRect().width > 0).map((svg) => { \
         const scaled = [...svg.querySelectorAll('.scaled')].map((of) => { const m = of.transform.baseVal.consolidate().matrix; return [m.a, m.e]; }); \
         const [x0, x1, left, right] = ['x0', 'x1', 'left', 'right'].map((name) => Number(svg.dataset[name])); \
         const made = (hours) => left + (hours - x0) / (x1 - x0) * (right - left); \
         const boxes = [...svg.querySelectorAll('.boxes rect[data-from]')].map((of) => ['from', 'to'].map((name) => made(Number(of.dataset[name]))).concat(['x', 'width'].map((name) => Number(of.getAttribute(name))))); \
         const wide = boxes.filter(([from, to]) => to - from > 1).map(([from, to, x, width]) => [width / (to - from), x - from * width / (to - from)]); \
         if (!scaled.length) scaled.push(wide[0]); \
         return [svg.closest('figure').id, svg.viewBox.baseVal.width, scaled, [...svg.querySelectorAll('.ticks text')].map((of) => of.textContent)]; })",
    );
    let one = |of: &Value| {
        let number = |value: &Value| value.as_f64().expect("a number");
        let scaled: Vec<[f64; 2]> = of[2]
            .as_array()
            .expect("scaled")
            .iter()
            .map(|m| [number(&m[0]), number(&m[1])])
            .collect();
        assert!(
            scaled.windows(2).all(|pair| pair[0] == pair[1]),
            "one scale to a drawing: {of}"
        );
        let ticks = of[3]
            .as_array()
            .expect("ticks")
            .iter()
            .map(|tick| tick.as_str().expect("a text").to_owned());
        (
            of[0].as_str().expect("an id").to_owned(),
            number(&of[1]),
            scaled[0],
            ticks.collect(),
        )
    };
    let all: Vec<_> = found.as_array().expect("a list").iter().map(one).collect();
    assert!(all.len() >= 8, "{all:?}");
    all
}

/// Hours of a tick: "36" or "36:30".
fn hours(tick: &str) -> f64 {
    let mut parts = tick.split(':').map(|part| part.parse::<f64>().expect("a number"));
    parts.next().expect("hours") + parts.next().unwrap_or(0.0) / 60.0
}

/// Fails unless all drawings show the same stretch of time.
fn all_show(browser: &Browser, from: f64, to: f64) {
    let whole = browser.number("Number(document.querySelector('#co2 svg.drawing').dataset.x1)");
    for (id, width, [scale, shift], ticks) in zoomed(browser) {
        // The plot is from 52 px to 14 px before the right end, and was made from 52 px to 646 px.
        let expected = (width - 14.0 - 52.0) / (646.0 - 52.0) * whole / (to - from);
        assert!(
            (scale / expected - 1.0).abs() < 0.01,
            "{id}: scale {scale}, not {expected}"
        );
        // Where `from` was made is now at 52 px, give or take a px of the pointer.
        let begin = scale * (52.0 + (646.0 - 52.0) * from / whole) + shift;
        assert!(
            (begin - 52.0).abs() < 0.02 * (646.0 - 52.0),
            "{id}: begins at {begin} px"
        );
        assert!(ticks.len() >= 2, "{id}: {ticks:?}");
        for tick in &ticks {
            let at = hours(tick);
            assert!(
                at > from - 0.01 * (to - from) && at < to + 0.01 * (to - from),
                "{id}: {tick} in {from} to {to} h"
            );
        }
    }
}

fn bar_is_shown(browser: &Browser) -> bool {
    browser.js("getComputedStyle(document.querySelector('.zoomed')).display !== 'none'") == json!(true)
}

fn drag(browser: &Browser, id: &str, from: f64, to: f64) {
    let view = View::of(browser, id);
    browser.drag(view.place(from), view.place(to));
}

#[test]
fn dragging_zooms_all_and_the_button_and_a_double_click_go_back() {
    let browser = made::sortie().opened();
    let whole = zoomed(&browser);
    all_show(&browser, 0.0, 72.0);
    assert!(!bar_is_shown(&browser));
    drag(&browser, "co2", 30.0, 48.0);
    all_show(&browser, 30.0, 48.0);
    assert!(bar_is_shown(&browser));
    let said = browser.text("document.querySelector('.zoomed output').textContent");
    let (from, to) = said.split_once(" to ").expect("a stretch");
    assert!(
        (clock(from) - 30.0).abs() < 0.2 && (clock(to) - 48.0).abs() < 0.2,
        "{said}"
    );
    // Zoomed once more, from another figure and from right to left.
    drag(&browser, "who-does-what", 40.0, 36.0);
    all_show(&browser, 36.0, 40.0);
    let view = View::of(&browser, "humidity");
    let (x, y) = view.place(37.5);
    browser.hover(x, y);
    let said = readout(&browser, "humidity");
    assert!((clock(&said) - view.hours_at(x)).abs() < 0.6 / 60.0, "{said}");
    let (x, y) = browser.middle_of(".zoomed button");
    browser.click(x, y);
    assert_eq!(zoomed(&browser), whole, "the button");
    assert!(!bar_is_shown(&browser));
    drag(&browser, "who-does-what", 10.0, 20.0);
    all_show(&browser, 10.0, 20.0);
    let view = View::of(&browser, "humidity");
    let (x, y) = view.place(15.0);
    browser.double_click(x, y);
    assert_eq!(zoomed(&browser), whole, "a double click");
    assert_eq!(browser.errors(), Vec::<String>::new());
}

#[test]
fn a_click_zooms_nothing() {
    let browser = made::sortie().opened();
    let whole = zoomed(&browser);
    let view = View::of(&browser, "co2");
    let (x, y) = view.place(20.0);
    browser.click(x, y);
    assert_eq!(zoomed(&browser), whole);
}

#[test]
fn keys_zoom_about_the_cursor_and_back() {
    let browser = made::sortie().opened();
    let whole = zoomed(&browser);
    View::of(&browser, "co2");
    browser.js("document.querySelector('#co2 svg.drawing').focus({ preventScroll: true })");
    browser.key('+');
    all_show(&browser, 18.0, 54.0);
    browser.key('+');
    all_show(&browser, 27.0, 45.0);
    browser.key('-');
    all_show(&browser, 18.0, 54.0);
    browser.key('0');
    assert_eq!(zoomed(&browser), whole);
    assert!(!bar_is_shown(&browser));
}

//! Points of a trade are those of its table, and those that no row beats stand out.

use serde_json::Value;

use super::drawn::{WRITTEN_PX, drawing, elements, figures, number};
use super::made;
use super::svg::Figure;

#[test]
fn points_are_the_rows_of_the_table() {
    let made = made::rooms();
    let (browser, table) = (made.opened(), made.table("trade.csv"));
    let ids = figures(&browser, "front-");
    assert_eq!(ids.len(), 1, "a pair of objectives: {ids:?}");
    let headers = browser.js(&format!(
        "[...document.querySelectorAll('figure[id=\"{}\"] table th')].map((of) => of.textContent)",
        ids[0]
    ));
    let header = |at: usize| headers[at].as_str().expect("a header");
    assert_eq!([header(1), header(2)], ["mass [kg]", "co2 [mmHg]"]);
    let expected = table.points(header(1), header(2));
    let (names, front) = (table.words("row"), table.words("front"));
    let read = Figure::read(&browser, &drawing(&ids[0]));
    let y = read.panels[0].y;
    let points = browser.js(&format!(
        "[...document.querySelectorAll('{} g.at')].filter((of) => of.querySelector('.point')).map((of) => \
         [of.dataset.x, of.dataset.y, of.querySelector('title').textContent, of.querySelector('.point').classList.contains('chosen')])",
        drawing(&ids[0])
    ));
    let points = points.as_array().expect("a list");
    let known = expected
        .iter()
        .filter(|point| point.0.is_finite() && point.1.is_finite())
        .count();
    assert!(
        known >= 6 && known < expected.len(),
        "some rows can be drawn, one cannot: {expected:?}"
    );
    assert_eq!(points.len(), known);
    let mut ringed = 0;
    for point in points {
        let words = point[2].as_str().expect("words");
        let row = names
            .iter()
            .position(|name| words.starts_with(&format!("{name}:")))
            .unwrap_or_else(|| panic!("no row: {words}"));
        let px = |at: usize| point[at].as_str().expect("a text").parse::<f64>().expect("a number");
        assert!((px(0) - read.x.pixel(expected[row].0)).abs() < WRITTEN_PX, "{words}");
        assert!((px(1) - y.pixel(expected[row].1)).abs() < WRITTEN_PX, "{words}");
        let on_front = ["yes", "knee"].contains(&front[row]);
        assert_eq!(point[3], Value::Bool(on_front), "{words}");
        ringed += usize::from(on_front);
    }
    assert!(ringed >= 1 && ringed < known, "{ringed} of {known} on the front");
    // No row on the front is beaten by another that was drawn.
    for (row, &(mass, margin)) in expected
        .iter()
        .enumerate()
        .filter(|(row, _)| ["yes", "knee"].contains(&front[*row]))
    {
        let beats = |&(m, g): &(f64, f64)| m <= mass && g >= margin && (m < mass || g > margin);
        assert!(!expected.iter().any(beats), "{} is beaten", names[row]);
    }
}

/// A bar for each design, with its margin.
#[test]
fn margins_of_designs_are_those_of_the_table() {
    let made = made::rooms();
    let (browser, table) = (made.opened(), made.table("trade.csv"));
    let margins = table.numbers("co2 [mmHg]");
    let rows = elements(&browser, &format!("{} g.row", drawing("margins-co2")));
    assert_eq!(rows.len(), margins.len());
    let middles = browser.js(&format!(
        "[...document.querySelectorAll('{} g.row')].map((of) => {{ const x = (path) => path && Number(path.getAttribute('d').match(/^M([-\\d.]+),/)[1]); \
         return [x(of.querySelector('.middle')), x(of.nextElementSibling), Number(of.closest('svg').dataset.right)]; }})",
        drawing("margins-co2")
    ));
    for (k, margin) in margins.iter().enumerate() {
        let [middle, zero, right] = [0, 1, 2].map(|at| middles[k][at].as_f64());
        assert_eq!(middle.is_some(), margin.is_finite(), "row {k}");
        let (Some(middle), Some(zero), Some(right)) = (middle, zero, right) else {
            continue;
        };
        let part = margin / number(&rows[k]["data"], "scale");
        assert!(
            (middle - (zero + part * (right - zero))).abs() < 0.011,
            "row {k}: {middle} {part}"
        );
    }
}

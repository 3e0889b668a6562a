//! Bars are those of the summary and of the distribution.

use serde_json::Value;

use super::browser::Browser;
use super::drawn::{WRITTEN_PX, drawing, elements, figures, number, same, slug};
use super::made;
use super::svg::Figure;

/// The rows of a figure of bars that lie: names, scales, rects; where nought, the middle and the right end stand, px.
fn rows(browser: &Browser, id: &str) -> Vec<Value> {
    let selector = Value::from(format!("{} g.row", drawing(id)));
    let found = browser.js(&format!(
        "[...document.querySelectorAll({selector})].map((of) => {{ const x = (path) => path && Number(path.getAttribute('d').match(/^M([-\\d.]+),/)[1]); \
         const rect = (of) => ({{ class: of.getAttribute('class'), from: Number(of.dataset.from), to: Number(of.dataset.to), \
         x: Number(of.getAttribute('x')), width: Number(of.getAttribute('width')) }}); \
         return {{ name: of.dataset.name, scale: Number(of.dataset.scale), rects: [...of.querySelectorAll('rect[data-from]')].map(rect), \
         middle: x(of.querySelector('.middle')), zero: x(of.nextElementSibling), right: Number(of.closest('svg').dataset.right) }}; }})"
    ));
    found.as_array().expect("a list").clone()
}

fn at(of: &Value, key: &str) -> f64 {
    of[key].as_f64().unwrap_or_else(|| panic!("no number {key} in {of}"))
}

/// Where a part of a row's scale lies, px, as the row says.
fn px(row: &Value, part: f64) -> f64 {
    at(row, "zero") + part * (at(row, "right") - at(row, "zero"))
}

/// The solid bar of a row, or none.
fn solid(row: &Value) -> Option<&Value> {
    let rects = row["rects"].as_array().expect("a list").iter();
    let mut solid = rects.filter(|rect| !rect["class"].as_str().expect("a class").contains("soft"));
    let only = solid.next();
    assert!(solid.next().is_none(), "one solid bar to a row: {row}");
    only
}

/// Fails unless a bar begins and ends at two parts of its scale, in numbers and px.
fn bar_is(row: &Value, rect: &Value, [from, to]: [f64; 2]) {
    let scale = at(row, "scale");
    same(at(rect, "from") * scale, from, "where a bar begins");
    same(at(rect, "to") * scale, to, "where a bar ends");
    let (left, right) = (from.min(to) / scale, from.max(to) / scale);
    assert!((at(rect, "x") - px(row, left)).abs() < 0.011, "{rect} of {row}");
    let width = px(row, right) - px(row, left);
    // What would not be seen is a pixel wide.
    assert!((at(rect, "width") - width.max(1.0)).abs() < 0.011, "{rect} of {row}");
}

/// The limit of the summary that a row is of: "co2-1h · crew:lead +1".
fn limit<'a>(summary: &'a Value, row: &Value) -> &'a Value {
    let name = row["name"].as_str().expect("a name");
    let is_its = |limit: &&Value| {
        let begin = format!(
            "{} \u{b7} {}",
            limit["id"].as_str().expect("an id"),
            limit["where"].as_str().expect("a place")
        );
        name == begin || name.strip_prefix(&begin).is_some_and(|rest| rest.starts_with(" +"))
    };
    let mut all = summary["limits"].as_array().expect("limits").iter().filter(is_its);
    all.next().unwrap_or_else(|| panic!("no limit is {name}"))
}

#[test]
fn margins_over_variations_are_the_quantiles_of_the_summary() {
    for made in [made::sorties(), made::degraded()] {
        let (browser, summary) = (made.opened(), made.summary());
        let rows = rows(&browser, "margins");
        assert!(rows.len() >= 3, "{rows:?}");
        let mut compared = 0;
        for row in &rows {
            let quantile = |p: &str| limit(&summary, row)["margin_quantiles"][p].as_f64();
            let (Some(low), Some(median), Some(high)) = (quantile("0.05"), quantile("0.5"), quantile("0.95")) else {
                assert!(solid(row).is_none(), "{row}");
                continue;
            };
            bar_is(row, solid(row).expect("a bar"), [low, high]);
            assert!(
                (at(row, "middle") - px(row, median / at(row, "scale"))).abs() < 0.011,
                "{row}"
            );
            compared += 1;
        }
        assert!(compared >= 3, "{rows:?}");
    }
}

#[test]
fn margins_of_one_run_are_parts_of_their_limits() {
    let made = made::sortie();
    let (browser, summary) = (made.opened(), made.summary());
    let mut compared = 0;
    for row in rows(&browser, "margins") {
        let limit = limit(&summary, &row);
        let Some(fraction) = limit["margin_fraction"].as_f64() else {
            continue;
        };
        let rect = solid(&row).expect("a bar");
        same(at(rect, "to"), fraction.clamp(-1.0, 1.0), "the end of a bar");
        assert_eq!(at(rect, "from"), 0.0);
        same(
            at(&row, "scale"),
            limit["limit"].as_f64().expect("a limit").abs(),
            "the whole of a bar",
        );
        compared += 1;
    }
    assert!(compared >= 3, "only {compared}");
}

#[test]
fn distributions_are_those_of_their_table_and_count_every_variation() {
    for made in [made::sorties(), made::degraded()] {
        let (browser, table, variations) = (
            made.opened(),
            made.table("distribution.csv"),
            made.table("variations.csv"),
        );
        let mut compared = 0;
        for (limit, place) in table.pairs("limit", "where") {
            let id = format!("distribution-{}", slug(&format!("{limit}-{place}")));
            let rows = table.of(&[("limit", limit), ("where", place)]);
            let unit = rows.words("unit")[0];
            let margins = variations.numbers(&format!("{limit} {place} margin [{unit}]"));
            let known: Vec<f64> = margins.into_iter().filter(|margin| margin.is_finite()).collect();
            let (from, to, count) = (rows.numbers("from"), rows.numbers("to"), rows.numbers("variations"));
            assert_eq!(
                count.iter().sum::<f64>(),
                known.len() as f64,
                "{limit} {place}: all are counted"
            );
            if !figures(&browser, &id).contains(&id) {
                continue;
            }
            let read = Figure::read(&browser, &drawing(&id));
            let y = read.panels[0].y;
            let bars = elements(&browser, &format!("{} rect.bar", drawing(&id)));
            assert_eq!(bars.len(), rows.rows(), "{id}");
            let last = bars.len() - 1;
            for (k, bar) in bars.iter().enumerate() {
                assert_eq!(
                    [
                        number(&bar["data"], "from"),
                        number(&bar["data"], "to"),
                        number(&bar["data"], "value")
                    ],
                    [from[k], to[k], count[k]]
                );
                let (x, width) = (number(&bar["attr"], "x"), number(&bar["attr"], "width"));
                let (top, height) = (number(&bar["attr"], "y"), number(&bar["attr"], "height"));
                assert!((x - read.x.pixel(from[k])).abs() < WRITTEN_PX, "{id}: {bar}");
                assert!(
                    (x + width - read.x.pixel(to[k])).abs() < 2.0 * WRITTEN_PX,
                    "{id}: {bar}"
                );
                assert!((top - y.pixel(count[k])).abs() < WRITTEN_PX, "{id}: {bar}");
                assert!((top + height - y.pixel(0.0)).abs() < 2.0 * WRITTEN_PX, "{id}: {bar}");
                // By counting: edges belong to one of their bins, the outermost to theirs, give or take the last digit.
                let near = |a: f64, b: f64| (a - b).abs() <= 1e-9 * (to[last] - from[0]).abs();
                let inside = known.iter().filter(|&&margin| {
                    margin > from[k] && margin < to[k] && !near(margin, from[k]) && !near(margin, to[k])
                });
                let on_edges = known
                    .iter()
                    .filter(|&&margin| near(margin, from[k]) || near(margin, to[k]))
                    .count() as f64;
                let inside = inside.count() as f64;
                assert!(
                    inside <= count[k] && count[k] <= inside + on_edges,
                    "{id}: {inside} to {} in {bar}",
                    inside + on_edges
                );
            }
            compared += 1;
        }
        assert_eq!(compared, figures(&browser, "distribution-").len());
        assert!(compared >= 2, "only {compared}");
    }
}

//! Every kind of report opens, on a wide page and on a narrow one, and stands for itself.

use serde_json::{Value, json};

use super::browser::Browser;
use super::drawn::figures;
use super::made::{self, Made};

/// Each kind with ids of figures that it has whatever else is drawn.
fn kinds() -> Vec<(&'static str, Made, Vec<&'static str>)> {
    vec![
        (
            "run",
            made::sortie(),
            vec!["margins", "breathed-co2", "co2", "who-does-what", "space"],
        ),
        (
            "vary",
            made::sorties(),
            vec![
                "margins",
                "fan-cabin-co2",
                "who-does-what",
                "distribution-co2-1h-crew-lead",
            ],
        ),
        ("vary with faults", made::degraded(), vec!["margins", "who-does-what"]),
        (
            "stress",
            made::stress(),
            vec!["time-to-spare-scrubber", "times-scrubber", "each-fault"],
        ),
        ("trade", made::trade(), vec!["margins-co2--hour"]),
        ("trade with a front", made::rooms(), vec!["margins-co2"]),
        ("size", made::size(), vec!["margin-over-value-1"]),
        (
            "size over a second quantity",
            made::boundary(),
            vec!["boundary", "margin-over-value-1"],
        ),
        ("timed tasks", made::times(), vec!["trials-1-don", "practice-doff"]),
        (
            "bench profile",
            made::profile(),
            vec!["over-time-co2-standard--l-min", "miss-water-standard--l-min"],
        ),
        ("device fitted", made::fitted(), vec!["course-canister-csv-co2-out"]),
        ("watch", made::watched(), vec!["operating-1", "false-alarms"]),
    ]
}

/// What would be fetched, and what is named twice.
fn stands_for_itself(browser: &Browser, kind: &str) {
    let fetched = browser.js(
        "performance.getEntriesByType('resource').map((one) => one.name).filter((name) => !name.startsWith('data:'))",
    );
    assert_eq!(fetched, json!([]), "{kind}");
    let elsewhere = browser.js(
        "[...document.querySelectorAll('[src], [href]')].map((of) => of.getAttribute('src') || of.getAttribute('href')).filter((to) => !/^(#|data:)/.test(to))",
    );
    assert_eq!(elsewhere, json!([]), "{kind}");
    let lost = browser.js(
        "[...document.querySelectorAll('a[href^=\"#\"]')].map((of) => of.getAttribute('href')).filter((to) => !document.getElementById(to.slice(1)))",
    );
    assert_eq!(lost, json!([]), "{kind}: links to nothing");
    let twice = browser.js("(() => { const ids = [...document.querySelectorAll('[id]')].map((of) => of.id); return ids.filter((id, at) => ids.indexOf(id) !== at); })()");
    assert_eq!(twice, json!([]), "{kind}: ids that stand twice");
}

/// What each figure says to those who do not see it: title, words, role; and the rows of its table.
fn are_told(browser: &Browser, kind: &str) {
    let found = browser.js(
        "[...document.querySelectorAll('figure')].map((of) => { const svg = of.querySelector('svg.drawing'); \
         const words = (selector) => (svg.querySelector(selector) || { textContent: '' }).textContent.trim().length; \
         const labels = (svg.getAttribute('aria-labelledby') || '').split(' ').map((id) => document.getElementById(id)); \
         return { id: of.id, role: svg.getAttribute('role'), title: words(':scope > title'), says: words(':scope > desc'), \
         labelled: labels.length === 2 && labels.every((label) => label && svg.contains(label)), \
         rows: of.querySelectorAll('table tbody tr').length, heads: of.querySelectorAll('table thead th').length }; })",
    );
    for figure in found.as_array().expect("a list") {
        assert_eq!(figure["role"], "img", "{kind}: {figure}");
        assert_eq!(figure["labelled"], true, "{kind}: {figure}");
        for key in ["title", "says", "rows", "heads"] {
            assert!(figure[key].as_u64().expect("a count") > 0, "{kind}: no {key}: {figure}");
        }
    }
}

/// What reaches beyond the right edge of the view and cannot be scrolled to within something narrower.
const TOO_WIDE: &str = "[...document.body.querySelectorAll('*')].filter((of) => of.getBoundingClientRect().right > innerWidth + 0.5 \
    && !of.closest('svg svg, svg *')).filter((of) => { for (let up = of.parentElement; up; up = up.parentElement) \
    if (['auto', 'scroll', 'hidden'].includes(getComputedStyle(up).overflowX)) return false; return true; })\
    .map((of) => of.tagName + '.' + (of.getAttribute('class') || '') + '#' + of.id)";

fn fits(browser: &Browser, kind: &str, width: u32) {
    browser.size(width, 900);
    browser.wait_until(&format!("innerWidth === {width}"));
    for open in [false, true] {
        browser.js(&format!(
            "document.querySelectorAll('details').forEach((of) => {{ of.open = {open}; }})"
        ));
        browser.js("new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))");
        assert_eq!(browser.js(TOO_WIDE), json!([]), "{kind} at {width} px");
        let wide = browser.number("document.documentElement.scrollWidth");
        assert!(wide <= f64::from(width), "{kind} at {width} px: {wide} px wide");
    }
    // Every drawing has taken the width that it has.
    let strayed = browser.js(
        "[...document.querySelectorAll('svg.drawing')].filter((of) => Math.abs(of.viewBox.baseVal.width - of.getBoundingClientRect().width) > 1.01 \
         && of.getBoundingClientRect().width > 240).map((of) => of.parentElement.id)",
    );
    assert_eq!(
        strayed,
        json!([]),
        "{kind} at {width} px: drawings that were not laid out"
    );
}

#[test]
fn each_report_opens_stands_for_itself_and_fits_wide_and_narrow_pages() {
    let browser = Browser::start();
    for (kind, made, ids) in kinds() {
        browser.size(1280, 900);
        browser.open(&made.report());
        assert_eq!(browser.errors(), Vec::<String>::new(), "{kind}");
        stands_for_itself(&browser, kind);
        let there = figures(&browser, "");
        for id in ids {
            assert!(there.contains(&id.to_owned()), "{kind}: no {id} in {there:?}");
        }
        are_told(&browser, kind);
        fits(&browser, kind, 1280);
        fits(&browser, kind, 390);
        assert_eq!(browser.errors(), Vec::<String>::new(), "{kind}");
    }
}

/// Tables of designs and of what each differs by.
#[test]
fn a_trade_has_its_tables_in_the_page() {
    for made in [made::trade(), made::rooms()] {
        let browser = made.opened();
        for (id, file) in [("designs", "trade.csv"), ("differences", "differences.csv")] {
            let rows = browser.js(&format!("document.querySelectorAll('table#{id} tbody tr').length"));
            assert_eq!(rows, Value::from(made.table(file).rows()), "{id}");
        }
    }
}

/// What is looked for above would be seen.
#[test]
fn what_is_too_wide_is_seen() {
    let browser = made::size().opened();
    assert_eq!(browser.js(TOO_WIDE), json!([]));
    browser.js("document.querySelector('h1').style.width = '3000px'");
    assert_eq!(browser.js(TOO_WIDE), json!(["H1.#"]));
}

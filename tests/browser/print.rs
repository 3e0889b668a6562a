//! On paper: what is of no use there is gone, drawings are whole and at their own scale.

use serde_json::json;

use super::browser::Browser;
use super::made::{self, scenario};

/// Elements of a selector that take room.
fn shown(browser: &Browser, selector: &str) -> f64 {
    browser.number(&format!(
        "[...document.querySelectorAll('{selector}')].filter((of) => of.getBoundingClientRect().height > 0 && getComputedStyle(of).visibility === 'visible').length"
    ))
}

/// What each drawing's box and scale are, and whether it was made so.
fn drawings(browser: &Browser) -> serde_json::Value {
    browser.js(
        "[...document.querySelectorAll('svg.drawing')].map((svg) => [svg.getAttribute('viewBox') === `0 0 ${svg.dataset.width} ${svg.dataset.height}`, \
         [...svg.querySelectorAll('.scaled')].every((of) => { const m = of.transform.baseVal.consolidate().matrix; return m.a === 1 && m.e === 0; })])",
    )
}

#[test]
fn what_is_of_no_use_on_paper_is_gone_and_drawings_are_whole() {
    let browser = made::sortie().opened();
    browser.dark(true);
    let count = browser.number("document.querySelectorAll('svg.drawing').length");
    browser.js("breathroomFigures.zoom(30, 40)");
    assert!(shown(&browser, "nav") == 1.0 && shown(&browser, ".readout") > 0.0 && shown(&browser, ".zoomed") == 1.0);
    let zoomed = drawings(&browser);
    assert!(
        zoomed
            .as_array()
            .expect("a list")
            .iter()
            .any(|one| one != &json!([true, true])),
        "{zoomed}"
    );
    browser.print_media(true);
    browser.js("window.dispatchEvent(new Event('beforeprint'))");
    for selector in ["nav", ".readout", ".filter", ".zoomed", "figure details"] {
        assert_eq!(shown(&browser, selector), 0.0, "{selector} is printed");
    }
    assert_eq!(shown(&browser, "figure svg.drawing"), count, "figures are printed");
    let folded = || browser.js("document.querySelectorAll('details.printed:not([open])').length");
    assert_eq!(folded(), json!(0), "inputs are printed");
    let printed = drawings(&browser);
    assert!(
        printed
            .as_array()
            .expect("a list")
            .iter()
            .all(|one| one == &json!([true, true])),
        "{printed}"
    );
    let paper = browser.text("getComputedStyle(document.body).backgroundColor");
    assert_eq!(paper, "rgb(255, 255, 255)", "paper is white, whatever the screen is");
    // And back as it was.
    browser.print_media(false);
    browser.js("window.dispatchEvent(new Event('afterprint'))");
    assert_eq!(drawings(&browser), zoomed);
    assert_eq!(folded(), json!(3), "inputs, assumptions and limits are folded again");
    assert_eq!(browser.errors(), Vec::<String>::new());
}

#[test]
fn filters_of_tables_are_not_printed() {
    let browser = made::rooms().opened();
    assert!(shown(&browser, ".filter") >= 1.0);
    browser.print_media(true);
    assert_eq!(shown(&browser, ".filter"), 0.0);
    assert!(shown(&browser, "table#designs") == 1.0);
}

/// `--pdf` prints it by the same browser.
#[test]
fn a_pdf_of_several_pages_is_written() {
    let made = made::made("printed", &["run", &scenario("mock-up-day"), "--pdf"]);
    let pdf = std::fs::read(made.file("report.pdf")).expect("a PDF");
    assert!(pdf.starts_with(b"%PDF-"));
    let text = String::from_utf8_lossy(&pdf);
    // Each page is an object of type Page; their list is one of type Pages.
    let pages = text
        .match_indices("/Type /Page")
        .filter(|(at, found)| !text[at + found.len()..].starts_with('s'))
        .count();
    assert!(pages > 1, "{pages} pages");
}

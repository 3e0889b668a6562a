//! The bench sees what it is to see: held to a page whose answers are known.

use std::path::PathBuf;

use fantoccini::key::Key;
use tempfile::TempDir;

use super::browser::Browser;
use super::svg::Figure;

/// A page with everything that the bench looks at.
const PAGE: &str = r#"<!doctype html>
<html lang="en">
<meta charset="utf-8">
<title>Own page</title>
<style>
body { margin: 0; background: rgb(255, 255, 255); }
#bar { position: absolute; left: 100px; top: 40px; width: 200px; height: 60px; background: rgb(200, 0, 0); }
#bar:hover { background: rgb(0, 0, 200); }
@media (prefers-color-scheme: dark) { body { background: rgb(10, 20, 30); } }
@media print { #bar { display: none; } }
svg { position: absolute; left: 0; top: 200px; }
</style>
<div id="bar"></div>
<svg width="300" height="120" data-x0="0" data-x1="72" data-left="20" data-right="260">
  <g class="panel" data-y0="0" data-y1="4" data-top="10" data-bottom="110">
    <path class="line median" fill="none" stroke="black" d="M 20,110 L 60,60 L 260,10 M 20,35 L 30,35"/>
  </g>
</svg>
<script>
const said = [];
for (const kind of ["pointerdown", "pointerup", "keydown"]) {
  addEventListener(kind, (event) => said.push(kind === "keydown" ? event.key : `${kind} ${event.clientX},${event.clientY}`));
}
console.log("no error");
</script>
</html>
"#;

/// A browser with a page that has a name which an address must write in another way.
fn opened(page: &str) -> (TempDir, PathBuf, Browser) {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("own page #1.html");
    std::fs::write(&file, page).expect("written");
    let browser = Browser::start();
    browser.open(&file);
    assert_eq!(browser.text("document.title"), "Own page");
    (folder, file, browser)
}

fn colour(browser: &Browser, selector: &str) -> String {
    browser.text(&format!(
        "getComputedStyle(document.querySelector('{selector}')).backgroundColor"
    ))
}

#[test]
fn errors_of_scripts_the_console_and_what_is_missing_are_seen_and_nothing_else() {
    let (folder, file, browser) = opened(PAGE);
    assert_eq!(browser.errors(), Vec::<String>::new());
    browser.js("console.warn('a warning')");
    assert_eq!(browser.errors(), Vec::<String>::new());
    browser.js("console.error('first thing')");
    browser.js("setTimeout(() => { throw new Error('second thing'); }, 0)");
    browser.js("new Promise((done) => setTimeout(done, 50))");
    let errors = browser.errors();
    assert_eq!(errors.len(), 2, "{errors:?}");
    assert!(
        errors[0].contains("first thing") && errors[1].contains("second thing"),
        "{errors:?}"
    );
    // Those that were read are not forgotten, and a page that loads what is not there adds its own.
    let page = PAGE.replace("<div id", "<img src=\"missing.png\" alt=\"\"><div id");
    std::fs::write(&file, page).expect("written");
    browser.open(&file);
    let errors = browser.errors();
    assert_eq!(errors.len(), 3, "{errors:?}");
    assert!(errors[2].contains("missing.png"), "{errors:?}");
    drop(folder);
}

#[test]
fn dark_print_and_size_are_what_is_asked_for() {
    let (_folder, file, browser) = opened(PAGE);
    assert_eq!(browser.js("[innerWidth, innerHeight]"), serde_json::json!([1280, 900]));
    browser.size(375, 700);
    assert_eq!(browser.js("[innerWidth, innerHeight]"), serde_json::json!([375, 700]));
    let display = "getComputedStyle(document.querySelector('#bar')).display";
    assert_eq!(colour(&browser, "body"), "rgb(255, 255, 255)");
    assert_eq!(browser.text(display), "block");
    browser.dark(true);
    assert_eq!(colour(&browser, "body"), "rgb(10, 20, 30)");
    browser.print_media(true);
    assert_eq!(browser.text(display), "none");
    assert_eq!(colour(&browser, "body"), "rgb(10, 20, 30)", "still dark");
    // As asked for on the next page too.
    browser.open(&file);
    assert_eq!(browser.text(display), "none");
    browser.print_media(false);
    browser.dark(false);
    assert_eq!(browser.text(display), "block");
    assert_eq!(colour(&browser, "body"), "rgb(255, 255, 255)");
}

#[test]
fn the_pointer_and_keys_come_where_they_are_sent() {
    let (_folder, _file, browser) = opened(PAGE);
    assert_eq!(browser.middle_of("#bar"), (200.0, 70.0));
    assert_eq!(colour(&browser, "#bar"), "rgb(200, 0, 0)");
    browser.hover(299.0, 99.0);
    assert_eq!(colour(&browser, "#bar"), "rgb(0, 0, 200)");
    browser.hover(301.0, 99.0);
    assert_eq!(colour(&browser, "#bar"), "rgb(200, 0, 0)");
    assert_eq!(browser.js("said"), serde_json::json!([]));
    browser.drag((110.0, 50.0), (290.0, 90.0));
    browser.click(5.0, 6.0);
    browser.key('q');
    browser.key(char::from(Key::Right));
    let expected = [
        "pointerdown 110,50",
        "pointerup 290,90",
        "pointerdown 5,6",
        "pointerup 5,6",
        "q",
        "ArrowRight",
    ];
    assert_eq!(browser.js("said"), serde_json::json!(expected));
}

#[test]
fn a_figure_is_read_back_as_data() {
    let (_folder, _file, browser) = opened(PAGE);
    let figure = Figure::read(&browser, "svg");
    let panel = &figure.panels[0];
    let data = figure.data(panel, panel.path("median"));
    assert_eq!(
        data,
        [vec![(0.0, 0.0), (12.0, 2.0), (72.0, 4.0)], vec![(0.0, 3.0), (3.0, 3.0)]]
    );
}

#[test]
fn a_screenshot_is_of_the_page() {
    let (_folder, _file, browser) = opened(PAGE);
    browser.size(400, 300);
    let file = browser.screenshot("own-page");
    let picture = std::fs::read(&file).expect("a picture");
    assert_eq!(&picture[..8], b"\x89PNG\r\n\x1a\n");
    // Width and height are the first numbers of a PNG.
    let number = |at: usize| u32::from_be_bytes(picture[at..at + 4].try_into().expect("four bytes"));
    assert_eq!((number(16), number(20)), (400, 300));
}

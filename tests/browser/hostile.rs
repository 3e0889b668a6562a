//! Words of a file are words in a page, whatever stands in them.

use std::path::PathBuf;

use serde_json::{Value, json};

use super::browser::Browser;
use super::made::{Made, made};

/// Everything that could end an element, an attribute, a script, a style or a template.
const WORDS: &str =
    "</title></script><script>hacked=1</script><img src=x onerror=hacked=2> \" ' & &lt; ${hacked=3} ]]> --> </style>";

/// A scenario with these words wherever its file may have any.
fn scenario() -> String {
    let text = std::fs::read_to_string(here().join("room.toml")).expect("there");
    let words = Value::from(WORDS).to_string();
    let changed = text
        .replace("\"One person in a room\"", &words)
        .replace("\"this test\"", &words);
    assert_eq!(changed.matches(&words).count(), 2);
    changed
}

fn here() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("browser")
}

/// Writes a file into a folder of its own; gives its path.
fn written(name: &str, text: &str) -> PathBuf {
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("hostile");
    std::fs::create_dir_all(&folder).expect("a folder");
    let file = folder.join(name);
    std::fs::write(&file, text).expect("written");
    file
}

/// Fails if anything ran, or an element came out of words.
fn nothing_runs(browser: &Browser, made: &Made, shown: &str) {
    browser.open(&made.report());
    browser.js("new Promise((done) => setTimeout(done, 100))");
    assert_eq!(browser.js("typeof hacked"), json!("undefined"));
    assert_eq!(
        browser.js("document.querySelectorAll('img, iframe, object, foreignObject').length"),
        json!(0)
    );
    assert_eq!(
        browser.js("document.querySelectorAll('script').length"),
        json!(2),
        "the page's own"
    );
    assert_eq!(browser.js("[...document.querySelectorAll('*')].filter((of) => [...of.attributes].some((one) => one.name.startsWith('on'))).length"), json!(0));
    let shown = Value::from(shown);
    assert_eq!(
        browser.js(&format!("document.body.textContent.includes({shown})")),
        json!(true),
        "they are shown as they are"
    );
    assert_eq!(browser.errors(), Vec::<String>::new());
}

#[test]
fn words_of_a_scenario_are_shown_and_do_nothing() {
    let file = written("scenario.toml", &scenario()).display().to_string();
    let browser = Browser::start();
    for (name, words) in [
        ("hostile-run", &["run", &file][..]),
        ("hostile-vary", &["vary", &file, "--runs", "60"]),
        ("hostile-stress", &["stress", &file, "--onsets", "4"]),
    ] {
        nothing_runs(&browser, &made(name, words), WORDS);
        assert_eq!(
            browser.text("document.querySelector('h1').textContent"),
            WORDS,
            "{name}"
        );
        assert!(browser.text("document.title").starts_with(WORDS), "{name}");
    }
}

/// A trade has names of options and columns, and their meanings.
#[test]
fn words_of_a_trade_are_shown_and_do_nothing() {
    written("room.toml", &scenario());
    let words = Value::from(WORDS).to_string();
    let text = format!(
        "format = 1\ntitle = {words}\nquestion = {words}\nscenario = \"room.toml\"\nruns = 60\nbaseline = {{ flow = \"plain\" }}\n\
         [factors.flow.options.plain]\nfigures = {{ mass = \"3 kg\" }}\n\
         [factors.flow.options.{words}]\nfigures = {{ mass = \"4 kg\" }}\nset = {{ \"removal.scrubber.flow\" = \"0.4 m3/min\" }}\n\
         [columns]\n\"co2\" = {{ margin = \"co2-ceiling\" }}\n\"mass\" = {{ formula = \"[flow.mass in kg]\", unit = \"kg\", meaning = {words} }}\n\
         [front]\nmost = [\"co2\"]\nleast = [\"mass\"]\n"
    );
    let file = written("trade.toml", &text).display().to_string();
    let browser = Browser::start();
    nothing_runs(&browser, &made("hostile-trade", &["trade", &file]), WORDS);
    // Sorted and filtered, the words are still words.
    browser.js("document.querySelectorAll('table.sorts th button').forEach((of) => of.click())");
    assert_eq!(browser.js("typeof hacked"), json!("undefined"));
    assert_eq!(browser.js("document.querySelectorAll('img').length"), json!(0));
}

//! The desk in a browser: a value is changed and the curve goes to where `run` puts it; a wrong one is told beside its field; what is
//! saved is there when it is opened again; another tab sees the same.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread::{self, JoinHandle};

use breathroom_analysis::cli;
use breathroom_analysis::desk::{Bound, Opening};
use serde_json::Value;

use super::browser::Browser;
use super::made::scenario;
use super::svg::Figure;

/// A desk over a copy of a shipped scenario, until it is dropped.
struct Served {
    folder: tempfile::TempDir,
    file: PathBuf,
    address: String,
    stop: Arc<AtomicBool>,
    thread: Option<JoinHandle<()>>,
}

impl Served {
    fn of(name: &str) -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let file = folder.path().join(format!("{name}.toml"));
        fs::copy(scenario(name), &file).expect("copied");
        Self::over(folder, file)
    }

    fn over(folder: tempfile::TempDir, file: PathBuf) -> Self {
        let stop = Arc::new(AtomicBool::new(false));
        let opening = Opening {
            file: Some(file.clone()),
            port: 0,
            reads: |path, _most| fs::read(path).map_err(|error| error.to_string()),
        };
        let bound = Bound::open(&opening).expect("a desk");
        let address = bound.address();
        let of = Arc::clone(&stop);
        let thread = thread::spawn(move || {
            let left = bound.serve(&of).expect("served");
            assert!(left.lost.is_empty(), "{:?}", left.lost);
        });
        Self {
            folder,
            file,
            address,
            stop,
            thread: Some(thread),
        }
    }

    fn end(&mut self) {
        self.stop.store(true, Ordering::SeqCst);
        if let Some(thread) = self.thread.take() {
            thread.join().expect("the desk ended well");
        }
    }
}

impl Drop for Served {
    fn drop(&mut self) {
        self.stop.store(true, Ordering::SeqCst);
        if let Some(thread) = self.thread.take() {
            let _a_panic_is_told_by_the_test = thread.join();
        }
    }
}

/// Opens the page and waits for its first curves.
fn opened(browser: &Browser, desk: &Served) {
    browser.open_address(&desk.address);
    browser.wait_until("document.querySelectorAll('#figures svg.drawing').length > 5");
}

/// The field of a path of variant A, as an expression.
fn field(path: &str) -> String {
    let id: String = path.chars().fold("f-A-".to_owned(), |id, c| match c {
        'a'..='z' | 'A'..='Z' | '0'..='9' | '_' => format!("{id}{c}"),
        other => format!("{id}_{:x}", u32::from(other)),
    });
    format!("document.getElementById('{id}')")
}

/// Types a text into the field of a path of variant A, as someone does who then leaves it.
fn typed(browser: &Browser, path: &str, text: &str) {
    let (field, text) = (field(path), Value::from(text));
    browser.js(&format!(
        "(() => {{ const input = {field}; input.focus(); input.value = {text}; input.dispatchEvent(new Event('input', {{ bubbles: true }})); \
         input.dispatchEvent(new Event('change', {{ bubbles: true }})); input.blur(); return true; }})()"
    ));
}

/// The line of a name in the figure `co2`, as (hours, mmHg).
fn line(browser: &Browser, name: &str) -> Vec<(f64, f64)> {
    let figure = Figure::read(browser, "#co2 svg.drawing");
    let panel = &figure.panels[0];
    let path = panel
        .paths
        .iter()
        .find(|path| path.name == name && path.class.starts_with("line"));
    let stretches = figure.data(panel, path.unwrap_or_else(|| panic!("no line {name}")));
    stretches.into_iter().flatten().collect()
}

/// CO2 of a compartment at each hour of `history.csv`, of a run with an override.
fn history(file: &Path, set: &str, column: &str) -> Vec<(f64, f64)> {
    let out = tempfile::tempdir().expect("a folder");
    let into = out.path().join("results");
    let words = [
        "breathroom",
        "run",
        file.to_str().expect("a path"),
        "--set",
        set,
        "--out",
        into.to_str().expect("a path"),
        "--quiet",
    ];
    let code = cli::main_with(words.map(std::ffi::OsString::from), &mut Vec::new(), &mut Vec::new());
    assert!(code == 0 || code == 3, "{code}");
    let mut reader = csv::Reader::from_path(into.join("history.csv")).expect("a table");
    let headers = reader.headers().expect("headers").clone();
    let at = |name: &str| headers.iter().position(|header| header == name).expect("a column");
    let (time, value) = (at("time [h]"), at(column));
    let number = |text: &str| text.parse::<f64>().expect("a number");
    let rows = reader.records().map(|row| row.expect("a row"));
    rows.map(|row| (number(&row[time]), number(&row[value]))).collect()
}

/// The greatest distance of a table's values from a line, upwards.
fn distance(line: &[(f64, f64)], table: &[(f64, f64)]) -> f64 {
    let on = |x: f64| {
        let next = line.partition_point(|point| point.0 < x).clamp(1, line.len() - 1);
        let ((x0, y0), (x1, y1)) = (line[next - 1], line[next]);
        if x1 > x0 {
            y0 + (y1 - y0) * ((x - x0) / (x1 - x0)).clamp(0.0, 1.0)
        } else {
            y1
        }
    };
    table.iter().map(|&(x, y)| (on(x) - y).abs()).fold(0.0, f64::max)
}

#[test]
fn a_value_is_changed_and_the_curve_is_that_of_run() {
    let desk = Served::of("two-crew-sortie");
    let browser = Browser::start();
    opened(&browser, &desk);
    assert_eq!(browser.errors(), Vec::<String>::new());
    let before = line(&browser, "cabin");
    let drawn = browser.text("document.getElementById('co2').outerHTML");
    typed(&browser, "removal.scrubber.flow", "0.6 m3/min");
    browser.wait_until(&format!(
        "document.getElementById('co2').outerHTML !== {}",
        Value::from(drawn)
    ));
    let after = line(&browser, "cabin");
    let table = history(&desk.file, "removal.scrubber.flow=0.6 m3/min", "cabin co2 [mmHg]");
    // 0.06 px of a panel of 150 px over some 8 mmHg; the file's own courses are some tenths of a mmHg away.
    assert!(distance(&after, &table) < 0.004, "{}", distance(&after, &table));
    assert!(distance(&before, &table) > 0.1, "{}", distance(&before, &table));
    assert_eq!(browser.errors(), Vec::<String>::new());
}

/// A slider is moved: what is in view is drawn by the answer to it, the rest follows, and all of it is of that value.
#[test]
fn a_slider_moves_the_curves_in_view_and_then_all_others() {
    let desk = Served::of("two-crew-sortie");
    let browser = Browser::start();
    opened(&browser, &desk);
    // One is in view, the other far below.
    assert!(browser.number("document.getElementById('co2-by-source').getBoundingClientRect().top") > 900.0);
    let first = "document.getElementById('breathed-co2').outerHTML";
    let below = "document.getElementById('co2-by-source').outerHTML";
    let drawn = [browser.text(first), browser.text(below)];
    browser.js(
        "(() => { const slider = document.querySelector('[aria-label=\"removal.scrubber.flow of A\"]'); slider.value = 0.6; \
         for (const kind of ['input', 'change']) slider.dispatchEvent(new Event(kind, { bubbles: true })); return true; })()",
    );
    browser.wait_until(&format!("{first} !== {}", Value::from(drawn[0].as_str())));
    browser.wait_until("/curves in view \\d+ ms after the change/.test(document.getElementById('state').textContent)");
    browser.wait_until(&format!("{below} !== {}", Value::from(drawn[1].as_str())));
    let field = field("removal.scrubber.flow");
    browser.wait_until(&format!("{field}.value.includes('0.6')"));
    let value = browser.text(&format!("{field}.value"));
    let table = history(
        &desk.file,
        &format!("removal.scrubber.flow={value}"),
        "cabin co2 [mmHg]",
    );
    let after = line(&browser, "cabin");
    assert!(distance(&after, &table) < 0.004, "{}", distance(&after, &table));
    assert_eq!(browser.errors(), Vec::<String>::new());
}

#[test]
fn a_wrong_value_is_told_at_its_field_in_the_words_of_check() {
    let desk = Served::of("two-crew-sortie");
    let browser = Browser::start();
    opened(&browser, &desk);
    typed(&browser, "removal.scrubber.co2_efficiency", "120 %");
    let told = field("removal.scrubber.co2_efficiency");
    browser.wait_until(&format!("{told}.getAttribute('aria-invalid') === 'true'"));
    let words = browser.text(&format!(
        "document.getElementById({told}.getAttribute('aria-describedby').split(' ')[0]).textContent"
    ));
    // What `check` says of it.
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let words_of_check = [
        "breathroom",
        "check",
        desk.file.to_str().expect("a path"),
        "--set",
        "removal.scrubber.co2_efficiency=120 %",
    ];
    let code = cli::main_with(words_of_check.map(std::ffi::OsString::from), &mut out, &mut err);
    assert_eq!(code, 1);
    let check = String::from_utf8(err).expect("text");
    let message = check
        .lines()
        .next()
        .and_then(|line| line.split_once(": "))
        .expect("a message")
        .1;
    assert!(words.contains(message), "{words}\n{check}");
    // The text stays as it was typed, and the curves as they were.
    assert_eq!(browser.text(&format!("{told}.value")), "120 %");
    assert!(browser.number("document.querySelectorAll('#figures svg.drawing').length") > 5.0);
    browser.wait_until("document.getElementById('figures').classList.contains('old')");
    typed(&browser, "removal.scrubber.co2_efficiency", "88 %");
    browser.wait_until(&format!("{told}.getAttribute('aria-invalid') !== 'true'"));
}

#[test]
fn what_is_saved_is_there_again_with_its_comments_and_a_second_tab_sees_the_same() {
    let mut desk = Served::of("two-crew-sortie");
    let browser = Browser::start();
    opened(&browser, &desk);
    let original = fs::read_to_string(&desk.file).expect("read");
    let there = format!("{}?.value === '5.1 m3'", field("compartments.lock.free_volume"));
    typed(&browser, "compartments.lock.free_volume", "5.1 m3");
    browser.wait_until(&there);
    // Another tab, opened afterwards, has what was typed.
    browser.open_address(&desk.address);
    browser.wait_until(&there);
    // The original is not written over without a question.
    browser.js("document.querySelector('#saving').requestSubmit() === undefined");
    browser.wait_until("!document.getElementById('question').hidden");
    assert_eq!(fs::read_to_string(&desk.file).expect("read"), original);
    browser.js("document.getElementById('question-no').click() === undefined");
    browser.wait_until("document.getElementById('question').hidden");
    browser.js("(() => { document.getElementById('save-name').value = 'mine.toml'; document.getElementById('saving').requestSubmit(); return true; })()");
    let saved = desk.folder.path().join("mine.toml");
    let begun = std::time::Instant::now();
    while !saved.is_file() {
        assert!(begun.elapsed().as_secs() < 20, "nothing was saved");
        thread::sleep(std::time::Duration::from_millis(50));
    }
    let text = fs::read_to_string(&saved).expect("read");
    let (before, after): (Vec<&str>, Vec<&str>) = (original.lines().collect(), text.lines().collect());
    assert_eq!(before.len(), after.len());
    let differ: Vec<(&str, &str)> = before
        .iter()
        .zip(&after)
        .filter(|(a, b)| a != b)
        .map(|(a, b)| (*a, *b))
        .collect();
    assert_eq!(differ.len(), 1, "{differ:?}");
    assert!(differ[0].1.contains("\"5.1 m3\""), "{differ:?}");
    assert_eq!(fs::read_to_string(&desk.file).expect("read"), original);
    desk.end();
    // Opened again.
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("mine.toml");
    fs::copy(&saved, &file).expect("copied");
    let again = Served::over(folder, file);
    opened(&browser, &again);
    browser.wait_until(&there);
    // The question was an answer with 409, and the first desk has ended under its page.
    let expected = |error: &&String| error.contains("409 (Conflict)") || error.contains("ERR_CONNECTION_REFUSED");
    let errors = browser.errors();
    assert_eq!(errors.iter().filter(|error| !expected(error)).count(), 0, "{errors:?}");
}

#[test]
fn two_variants_lie_over_each_other_and_their_margins_side_by_side() {
    let desk = Served::of("degraded-scrubber");
    let browser = Browser::start();
    opened(&browser, &desk);
    browser.js(
        "[...document.querySelectorAll('button')].find((of) => of.textContent === 'Copy as B').click() === undefined",
    );
    browser.wait_until("document.querySelectorAll('#co2 path.line.second').length > 0");
    assert!(browser.number("document.querySelectorAll('#co2 path.line.first').length") > 0.0);
    browser.wait_until("document.getElementById('margins').textContent.includes('B')");
    // No drawing is wider than its place, and none refers to another's clip.
    let shared = browser.number(
        "(() => { const ids = [...document.querySelectorAll('#figures clipPath')].map((of) => of.id); return ids.length - new Set(ids).size; })()",
    );
    assert_eq!(shared, 0.0);
    // The column of results is narrower now, and every drawing is laid out for it.
    browser.wait_until(
        "[...document.querySelectorAll('#figures svg.drawing')].every((of) => Math.abs(of.viewBox.baseVal.width - of.getBoundingClientRect().width) < 1)",
    );
    assert_eq!(browser.errors(), Vec::<String>::new());
}

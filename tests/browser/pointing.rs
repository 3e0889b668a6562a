//! Pointing at a curve, or going along it with keys, tells what is there.

use fantoccini::key::Key;
use serde_json::{Value, json};

use super::browser::Browser;
use super::drawn::drawing;
use super::made::{self, Made, Table};

/// What a drawing shows: its place in the view, and hours at two places, by its own ticks: "6" and "6:30" alike.
const SHOWN: &str = "((svg) => { const area = svg.getBoundingClientRect(); const ticks = [...svg.querySelectorAll('.ticks text')].map((of) => { \
    const [h, m] = of.textContent.split(':').map(Number); return [Number(of.getAttribute('x')), h + (m || 0) / 60]; }); \
    return { x: area.x, y: area.y, width: area.width, height: area.height, wide: svg.viewBox.baseVal.width, ticks }; })";

/// A drawing in the view, and how its px are hours.
#[derive(Clone, Debug)]
pub struct View {
    x: f64,
    y: f64,
    height: f64,
    /// A px of the drawing in px of the page.
    zoom: f64,
    ticks: [(f64, f64); 2],
}

impl View {
    /// The drawing of a figure, brought into the view.
    pub fn of(browser: &Browser, id: &str) -> Self {
        let selector = Value::from(drawing(id));
        browser.js(&format!(
            "document.querySelector({selector}).scrollIntoView({{ block: 'center' }})"
        ));
        browser.js("new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))");
        Self::from(&browser.js(&format!("{SHOWN}(document.querySelector({selector}))")), id)
    }

    fn from(shown: &Value, id: &str) -> Self {
        let number = |key: &str| shown[key].as_f64().unwrap_or_else(|| panic!("no {key} of {id}"));
        let ticks = shown["ticks"].as_array().expect("ticks");
        assert!(ticks.len() >= 2, "{id} has ticks: {shown}");
        let tick = |of: &Value| (of[0].as_f64().expect("px"), of[1].as_f64().expect("hours"));
        Self {
            x: number("x"),
            y: number("y"),
            height: number("height"),
            zoom: number("width") / number("wide"),
            ticks: [tick(&ticks[0]), tick(&ticks[ticks.len() - 1])],
        }
    }

    /// The hours at a px of the drawing.
    pub fn hours(&self, px: f64) -> f64 {
        let [(p0, h0), (p1, h1)] = self.ticks;
        h0 + (h1 - h0) * (px - p0) / (p1 - p0)
    }

    /// Where hours lie in the view, to a whole px.
    pub fn place(&self, hours: f64) -> (f64, f64) {
        let [(p0, h0), (p1, h1)] = self.ticks;
        let px = p0 + (p1 - p0) * (hours - h0) / (h1 - h0);
        ((self.x + px * self.zoom).round(), (self.y + 0.4 * self.height).round())
    }

    /// The hours at a place in the view.
    pub fn hours_at(&self, x: f64) -> f64 {
        self.hours((x - self.x) / self.zoom)
    }
}

/// What the readout of a figure says.
pub fn readout(browser: &Browser, id: &str) -> String {
    browser.text(&format!(
        "document.querySelector('figure[id=\"{id}\"] .readout').textContent"
    ))
}

/// Hours of "12 h 34 min" at the beginning.
pub fn clock(said: &str) -> f64 {
    let (hours, rest) = said.split_once(" h ").unwrap_or_else(|| panic!("no time: {said}"));
    let (minutes, _) = rest.split_once(" min").unwrap_or_else(|| panic!("no time: {said}"));
    hours.parse::<f64>().expect("hours") + minutes.parse::<f64>().expect("minutes") / 60.0
}

/// The least and most of a column over a minute on either side of a time, with straight lines between samples.
fn around(history: &Table, header: &str, hours: f64) -> (f64, f64) {
    let samples = history.points("time [h]", header);
    let at = |t: f64| {
        let next = samples
            .partition_point(|sample| sample.0 < t)
            .clamp(1, samples.len() - 1);
        let ((t0, v0), (t1, v1)) = (samples[next - 1], samples[next]);
        v0 + (v1 - v0) * ((t - t0) / (t1 - t0)).clamp(0.0, 1.0)
    };
    let inside = samples
        .iter()
        .filter(|sample| (sample.0 - hours).abs() < 1.0 / 60.0)
        .map(|sample| sample.1);
    let values = inside.chain([at(hours - 1.0 / 60.0), at(hours), at(hours + 1.0 / 60.0)]);
    values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| {
        (low.min(value), high.max(value))
    })
}

/// Fails unless a readout tells the values of these columns at a time, to three figures and a hundredth of the picture's height.
fn tells_values(said: &str, made: &Made, columns: &[(&str, &str)], hours: f64, coarse: f64) {
    let history = made.table("history.csv");
    for (name, header) in columns {
        let (low, high) = around(&history, header, hours);
        let after = said
            .split(&format!("{name} "))
            .nth(1)
            .unwrap_or_else(|| panic!("no {name}: {said}"));
        let text: String = after
            .chars()
            .take_while(|c| c.is_ascii_digit() || ".-e".contains(*c))
            .collect();
        let value: f64 = text.parse().unwrap_or_else(|_| panic!("no value of {name}: {said}"));
        let rounding = 0.005 * high.abs().max(low.abs()) + coarse;
        assert!(
            low - rounding <= value && value <= high + rounding,
            "{name} at {hours} h: {value}, not {low} to {high}: {said}"
        );
    }
}

/// Fails unless a readout tells what each person does then.
fn tells_people(said: &str, made: &Made, people: &[&str], hours: f64) {
    let log = made.table("events.csv");
    for person in people {
        let does = log.of(&[("event", "does"), ("person", person)]);
        let times = does.numbers("time [h]");
        let now = times.iter().rposition(|&time| time <= hours).expect("does something");
        let said = said
            .split(&format!("{person}: "))
            .nth(1)
            .unwrap_or_else(|| panic!("nothing of {person}: {said}"));
        let said = said.split(';').next().expect("words");
        assert!(
            said.contains(does.words("effort")[now]) && said.contains(does.words("place")[now]),
            "{person} at {hours} h: {said}"
        );
    }
}

/// Hours at which each drawing over time has its cursor; `None` where it is hidden.
fn cursors(browser: &Browser) -> Vec<(String, Option<f64>)> {
    let found = browser.js(&format!(
        "[...document.querySelectorAll('svg.drawing[data-along=\"time\"]')].filter((svg) => svg.getBoundingClientRect().width > 0).map((svg) => {{ \
         const line = svg.querySelector('.cursor'); const shown = line.getAttribute('visibility') === 'visible'; \
         return {{ id: svg.closest('figure').id, shown: {SHOWN}(svg), px: shown ? Number(line.getAttribute('d').match(/^M([-\\d.]+),/)[1]) : null }}; }})"
    ));
    let one = |of: &Value| {
        let id = of["id"].as_str().expect("an id").to_owned();
        let view = View::from(&of["shown"], &id);
        (id, of["px"].as_f64().map(|px| view.hours(px)))
    };
    found.as_array().expect("a list").iter().map(one).collect()
}

/// Fails unless all cursors stand at a time.
fn all_at(browser: &Browser, hours: f64) {
    let cursors = cursors(browser);
    assert!(cursors.len() >= 8, "{cursors:?}");
    for (id, at) in cursors {
        let at = at.unwrap_or_else(|| panic!("{id} shows no cursor"));
        assert!((at - hours).abs() < 0.02, "{id}: {at} h, not {hours} h");
    }
}

#[test]
fn pointing_tells_time_values_and_who_does_what() {
    let made = made::sortie();
    let browser = made.opened();
    let columns = [("cabin", "cabin co2 [mmHg]"), ("lock", "lock co2 [mmHg]")];
    // One px of 150 over at most 4 mmHg, drawn within 0.06 px.
    for hours in [3.0, 20.3, 33.7, 40.0, 61.1] {
        let view = View::of(&browser, "co2");
        let (x, y) = view.place(hours);
        browser.hover(x, y);
        let (said, at) = (readout(&browser, "co2"), view.hours_at(x));
        assert!((clock(&said) - at).abs() < 0.6 / 60.0 + 1e-3, "{said}, at {at} h");
        tells_values(&said, &made, &columns, at, 0.005);
        tells_people(&said, &made, &["lead", "second"], at);
        all_at(&browser, at);
        assert_eq!(
            browser.js("document.querySelector('#co2 .readout').getAttribute('aria-live')"),
            json!("off")
        );
    }
    // Away from it, nothing is told any longer.
    browser.hover(2.0, 2.0);
    assert_eq!(readout(&browser, "co2"), "");
    assert!(cursors(&browser).iter().all(|(_, at)| at.is_none()));
}

/// The humidity's readout has its own values.
#[test]
fn each_figure_tells_its_own_values() {
    let made = made::sortie();
    let browser = made.opened();
    let view = View::of(&browser, "humidity");
    let (x, y) = view.place(30.0);
    browser.hover(x, y);
    let columns = [("cabin", "cabin humidity [%]"), ("lock", "lock humidity [%]")];
    tells_values(&readout(&browser, "humidity"), &made, &columns, view.hours_at(x), 0.05);
    assert_eq!(readout(&browser, "co2"), "");
}

#[test]
fn keys_move_the_cursor_and_what_is_told_is_spoken() {
    let made = made::sortie();
    let browser = made.opened();
    View::of(&browser, "co2");
    browser.js("document.querySelector('#co2 svg.drawing').focus({ preventScroll: true })");
    all_at(&browser, 36.0);
    let press = |key: char| browser.key(key);
    press(char::from(Key::Right));
    all_at(&browser, 36.72);
    let said = readout(&browser, "co2");
    assert!((clock(&said) - 36.72).abs() < 0.6 / 60.0, "{said}");
    tells_values(&said, &made, &[("cabin", "cabin co2 [mmHg]")], 36.72, 0.005);
    assert_eq!(
        browser.js("document.querySelector('#co2 .readout').getAttribute('aria-live')"),
        json!("polite")
    );
    press(char::from(Key::Left));
    press(char::from(Key::Left));
    all_at(&browser, 35.28);
    press(char::from(Key::End));
    all_at(&browser, 72.0);
    press(char::from(Key::Home));
    all_at(&browser, 0.0);
}

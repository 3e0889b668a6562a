//! Figures as files of their own: what any program reads that knows SVG.

use serde_json::{Value, json};

use super::browser::Browser;
use super::drawn::figures;
use super::made;

/// What a text is as XML.
fn read(browser: &Browser, text: &str) -> Value {
    let text = Value::from(text);
    browser.js(&format!(
        "(() => {{ const page = new DOMParser().parseFromString({text}, 'image/svg+xml'); const root = page.documentElement; \
         const ids = [...page.querySelectorAll('[id]')].map((of) => of.id); \
         const uses = [...{text}.matchAll(/url\\(#([^)]+)\\)/g)].map((found) => found[1]); \
         return {{ wrong: page.querySelector('parsererror') !== null, root: root.localName, space: root.namespaceURI, width: root.getAttribute('width'), \
         height: root.getAttribute('height'), box: root.getAttribute('viewBox'), \
         texts: [...page.querySelectorAll('text')].filter((of) => of.textContent.trim()).length, scripts: page.querySelectorAll('script, image, foreignObject').length, \
         twice: ids.filter((id, at) => ids.indexOf(id) !== at), lost: uses.filter((id) => !ids.includes(id)) }}; }})()"
    ))
}

fn mm(found: &Value, key: &str) -> f64 {
    let text = found[key].as_str().unwrap_or_else(|| panic!("no {key}: {found}"));
    text.strip_suffix("mm")
        .unwrap_or_else(|| panic!("{key} is {text}"))
        .parse()
        .expect("a number")
}

#[test]
fn each_figure_is_a_file_in_mm_with_real_text_and_nothing_that_runs() {
    let made = made::sortie();
    let browser = made.opened();
    let ids = figures(&browser, "");
    let mut names: Vec<String> = std::fs::read_dir(made.file("figures"))
        .expect("a folder")
        .map(|entry| entry.expect("an entry").file_name().to_string_lossy().into_owned())
        .collect();
    names.sort();
    let mut expected: Vec<String> = ids.iter().map(|id| format!("{id}.svg")).collect();
    expected.sort();
    assert_eq!(names, expected, "one file to a figure of the report");
    for name in names {
        let text = std::fs::read_to_string(made.file("figures").join(&name)).expect("text");
        let found = read(&browser, &text);
        assert_eq!(
            (&found["wrong"], &found["root"]),
            (&json!(false), &json!("svg")),
            "{name}"
        );
        assert_eq!(found["space"], "http://www.w3.org/2000/svg", "{name}");
        assert!((mm(&found, "width") - 174.6).abs() < 0.1, "{name}: {found}");
        // Not stretched: as many mm to a px in both directions.
        let edges: Vec<f64> = found["box"]
            .as_str()
            .expect("a box")
            .split(' ')
            .map(|edge| edge.parse().expect("a number"))
            .collect();
        assert!(
            (mm(&found, "width") / edges[2] - mm(&found, "height") / edges[3]).abs() < 1e-4,
            "{name}: {found}"
        );
        assert!(found["texts"].as_u64().expect("a count") >= 5, "{name}: {found}");
        assert_eq!(found["scripts"], 0, "{name}");
        assert_eq!((&found["twice"], &found["lost"]), (&json!([]), &json!([])), "{name}");
        assert!(
            !text.contains("var(") && !text.contains("http://www.w3.org/1999/xlink") && !text.contains("@import"),
            "{name}"
        );
    }
}

/// What is no XML would be seen.
#[test]
fn a_broken_file_is_seen() {
    let browser = made::sortie().opened();
    let broken = read(
        &browser,
        "<svg xmlns=\"http://www.w3.org/2000/svg\"><text>a & b</text></svg>",
    );
    assert_eq!(broken["wrong"], true);
}

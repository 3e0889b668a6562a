//! How likely a limit is broken: `vary --rare`.

use std::fs;

use breathroom_tests::rooms::SIX_TURNS;

use crate::calls::{Place, Said, call, names, same, set};

fn rare(place: &Place, text: &str, out: &str, limit: &str, more: &[&str]) -> Said {
    let file = place.file("room.toml", text);
    place.job("vary", &file, out, &[&["--rare", limit], more].concat())
}

/// Text without its line breaks.
fn words(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Within three standard deviations of the two estimates' ratio, in the logarithm.
#[test]
fn it_is_as_likely_as_plain_variations_say() {
    let place = Place::new();
    let said = rare(&place, SIX_TURNS, "rare", "co2-ceiling", &["--rare-runs", "500"]);
    assert_eq!(said.code, 0, "{}", said.err);
    let file = place.word("room.toml");
    let plain = place.job("vary", &file, "plain", &["--runs", "10000"]);
    assert!(plain.code == 0 || plain.code == 3, "{}", plain.err);
    let found = place.summary("rare")["rare"].clone();
    let number = |key: &str| found[key].as_f64().unwrap_or_else(|| panic!("no {key} in {found:#}"));
    let violations = place.summary("plain")["limits"][0]["violations"]
        .as_f64()
        .expect("a count");
    let (estimate, variation) = (number("probability"), number("coefficient_of_variation"));
    let off = (estimate * 10_000.0 / violations).ln() / (variation * variation + 1.0 / violations).sqrt();
    assert!(off.abs() < 3.0, "{estimate} against {violations} of 10000");
    assert!(
        (5e-4..2e-2).contains(&estimate),
        "rare, but within reach of both: {estimate}"
    );

    assert_eq!(found["limit"], "co2-ceiling");
    assert_eq!(found["where"], "crew:lead");
    assert_eq!(found["method"], "subset simulation (Au and Beck 2001)");
    assert_eq!(found["ended"], "reached");
    assert!(
        found.get("below").is_none() && found["interval_exact"] == false,
        "{found:#}"
    );
    let [low, high] = [0, 1].map(|end| found["interval_95"][end].as_f64().expect("an end"));
    assert!(low < estimate && estimate < high, "{found:#}");
    let levels = found["levels"].as_array().expect("levels");
    let shares: f64 = levels
        .iter()
        .map(|level| level["share"].as_f64().expect("a share"))
        .product();
    assert!((shares / estimate - 1.0).abs() < 1e-12, "the product of the shares");
    assert!(levels[0]["threshold"].is_null() && levels[1]["threshold"].as_f64().expect("mmHg") > 0.0);
}

#[test]
fn it_gives_the_same_bytes_on_any_threads_and_says_what_it_found() {
    let place = Place::new();
    let more = ["--rare-runs", "200", "--seed", "5", "--threads"];
    let said = rare(
        &place,
        SIX_TURNS,
        "one",
        "co2-ceiling@crew:lead",
        &[&more[..], &["1"]].concat(),
    );
    assert_eq!(said.code, 0, "{}", said.err);
    rare(
        &place,
        SIX_TURNS,
        "two",
        "co2-ceiling@crew:lead",
        &[&more[..], &["2"]].concat(),
    );
    same(&place.path("one"), &place.path("two"));
    assert_eq!(
        names(&place.path("one")),
        set(&["report.html", "summary.json", "summary.md"])
    );
    let summary = place.summary("one");
    assert_eq!(
        (&summary["command"], &summary["rare"]["seed"]),
        (&"vary".into(), &5.into())
    );
    assert_eq!(summary["provenance"]["rare"], 200);
    assert!(summary.get("runs").is_none(), "there are no variations");

    let markdown = fs::read_to_string(place.path("one").join("summary.md")).expect("summary.md");
    let out = words(&said.out);
    for text in [&markdown, &out] {
        for told in [
            "co2-ceiling (crew:lead) is broken with a probability between ",
            "(95 % interval, approximate)",
            "none of the first 200 runs leans to would be missed",
            "On the medians the limit is met",
        ] {
            assert!(text.contains(told), "no `{told}` in {text}");
        }
    }
    assert!(markdown.contains("## Rare violations"), "{markdown}");
}

#[test]
fn what_is_never_seen_is_a_bound() {
    let place = Place::new();
    let text = SIX_TURNS.replace("6.35 mmHg", "60 mmHg");
    let said = rare(&place, &text, "out", "co2-ceiling", &["--rare-runs", "100"]);
    assert_eq!(said.code, 0, "{}", said.err);
    let found = place.summary("out")["rare"].clone();
    assert!(
        found.get("probability").is_none() && found["interval_95"].is_null(),
        "{found:#}"
    );
    assert!(found["below"].as_f64().expect("a bound") < 1e-4, "{found:#}");
    assert!(
        words(&said.out).contains("No violation of co2-ceiling (crew:lead) was seen"),
        "{}",
        said.out
    );
}

/// The exit code is that of the run on the medians: a limit that is not met there is not rare.
#[test]
fn a_limit_not_met_on_the_medians_is_3() {
    let place = Place::new();
    let text = SIX_TURNS.replace("6.35 mmHg", "3 mmHg");
    let said = rare(&place, &text, "out", "co2-ceiling", &["--rare-runs", "100"]);
    assert_eq!(said.code, 3, "{}", said.err);
    let found = place.summary("out")["rare"].clone();
    assert!(found["probability"].as_f64().expect("a share") > 0.9, "{found:#}");
    assert_eq!(found["interval_exact"], true, "plain runs are enough");
}

#[test]
fn a_limit_is_named_so_that_there_is_one() {
    let place = Place::new();
    let text = SIX_TURNS.replace("6.35 mmHg", "9 mmHg") + "\n[crew.second]\nidle = \"calm\"\n";
    let said = rare(&place, &text, "out", "co2-ceiling", &[]);
    assert_eq!(said.code, 2, "{}", said.err);
    let list = "co2-ceiling@crew:lead, co2-ceiling@crew:second";
    assert!(
        said.err.contains("is about several") && said.err.contains(list),
        "{}",
        said.err
    );
    let said = rare(&place, &text, "out", "co2-day", &[]);
    assert_eq!(said.code, 2, "{}", said.err);
    assert!(
        said.err.contains("there is no limit `co2-day`") && said.err.contains(list),
        "{}",
        said.err
    );
    assert!(!place.path("out").exists());
    let said = rare(&place, &text, "out", "co2-ceiling@crew:lead", &["--rare-runs", "100"]);
    assert_eq!(said.code, 0, "{}", said.err);
}

/// Alone, and of plain draws.
#[test]
fn what_cannot_be_asked_with_it_is_refused() {
    for more in [
        &["--runs", "100"][..],
        &["--gate", "99/95"],
        &["--only", "3"],
        &["--shard", "1/2"],
        &["--resume"],
        &["--drivers", "128"],
        &["--design", "sobol"],
        &["--design", "latin-hypercube"],
        &["--until", "probability within 0.002"],
        &["--rare-runs", "99"],
    ] {
        let place = Place::new();
        let said = rare(&place, SIX_TURNS, "out", "co2-ceiling", more);
        assert_eq!(said.code, 2, "{more:?}: {}", said.err);
        assert!(!place.path("out").exists());
    }
    assert_eq!(call(&["vary", "x.toml", "--rare-runs", "500"]).code, 2, "of nothing");
    let place = Place::new();
    let said = rare(
        &place,
        SIX_TURNS,
        "out",
        "co2-ceiling",
        &["--design", "plain", "--rare-runs", "100"],
    );
    assert!(
        said.code == 0 || said.code == 3,
        "what goes without saying may be said: {}",
        said.err
    );
}

//! Lanes are those of the event log; cells of stress are those of its table.

use serde_json::Value;

use super::drawn::{WRITTEN_PX, drawing, elements, figures, number};
use super::made::{self, Made};
use super::svg::Scale;

/// The stretches of a lane: from, to, what is said, class; and where the rect is, px.
#[derive(Clone, Debug)]
struct Stretch {
    from: f64,
    to: f64,
    says: String,
    class: String,
    px: [f64; 2],
}

fn lane(made: &Made, figure: &str, name: &str) -> (Vec<Stretch>, Scale) {
    let browser = made.opened();
    let of = drawing(figure);
    let svg = &elements(&browser, &of)[0]["data"];
    // Boxes stand where the page has laid them: its right end keeps its distance from the edge.
    let edge = number(svg, "width") - number(svg, "right");
    let width = browser.number(&format!(
        "document.querySelector({}).viewBox.baseVal.width",
        Value::from(of.as_str())
    ));
    let across = Scale {
        from: (number(svg, "x0"), number(svg, "left")),
        to: (number(svg, "x1"), width - edge),
    };
    let name = Value::from(name);
    let stretch = |rect: &Value| {
        let x = number(&rect["attr"], "x");
        Stretch {
            from: number(&rect["data"], "from"),
            to: number(&rect["data"], "to"),
            says: rect["data"]["says"].as_str().expect("words").to_owned(),
            class: rect["class"].as_str().expect("a class").to_owned(),
            px: [x, x + number(&rect["attr"], "width")],
        }
    };
    let found = elements(&browser, &format!("{of} g.lane[data-name={name}] rect[data-says]"));
    (found.iter().map(stretch).collect(), across)
}

/// Each stretch stands where it says.
fn stand_in_place(stretches: &[Stretch], across: Scale) {
    for of in stretches {
        assert!((of.px[0] - across.pixel(of.from)).abs() < WRITTEN_PX, "{of:?}");
        assert!((of.px[1] - across.pixel(of.to)).abs() < 2.0 * WRITTEN_PX, "{of:?}");
    }
}

/// Each "does" of a person begins a stretch that lasts until their next, and says effort and place.
fn are_what_people_do(made: &Made, people: &[&str]) {
    let log = made.table("events.csv");
    let end = *made.table("history.csv").numbers("time [h]").last().expect("an end");
    for person in people {
        let does = log.of(&[("event", "does"), ("person", person)]);
        let (times, efforts, places) = (does.numbers("time [h]"), does.words("effort"), does.words("place"));
        assert!(times.len() > 3, "{person} does something");
        let (stretches, across) = lane(made, "who-does-what", person);
        let mut expected = Vec::new();
        for k in 0..times.len() {
            let until = times.get(k + 1).copied().unwrap_or(end);
            // What is changed at the same instant never was.
            if until > times[k] {
                expected.push((times[k], until, efforts[k], places[k]));
            }
        }
        let found: Vec<(f64, f64)> = stretches.iter().map(|of| (of.from, of.to)).collect();
        let wanted: Vec<(f64, f64)> = expected.iter().map(|of| (of.0, of.1)).collect();
        assert_eq!(found, wanted, "{person}");
        for (of, (_, _, effort, place)) in stretches.iter().zip(expected) {
            assert!(
                of.says.starts_with(&format!("{person}: ")) && of.says.contains(effort) && of.says.ends_with(place),
                "{of:?}: {effort}, {place}"
            );
        }
        stand_in_place(&stretches, across);
    }
}

#[test]
fn each_does_of_the_log_begins_a_stretch() {
    are_what_people_do(&made::sortie(), &["lead", "second"]);
}

/// Where someone is follows their "does" in the log, one stretch for as long as the place stays the same.
#[test]
fn places_are_those_of_the_log() {
    let made = made::sortie();
    let log = made.table("events.csv");
    let end = *made.table("history.csv").numbers("time [h]").last().expect("an end");
    for person in ["lead", "second"] {
        let does = log.of(&[("event", "does"), ("person", person)]);
        let (times, places) = (does.numbers("time [h]"), does.words("place"));
        let mut expected: Vec<(f64, f64, &str)> = Vec::new();
        for k in 0..times.len() {
            let until = times.get(k + 1).copied().unwrap_or(end);
            match expected.last_mut() {
                _ if until <= times[k] => {}
                Some((_, to, place)) if *place == places[k] => *to = until,
                _ => expected.push((times[k], until, places[k])),
            }
        }
        let (stretches, across) = lane(&made, "who-does-what", &format!("where {person} is"));
        let found: Vec<(f64, f64)> = stretches.iter().map(|of| (of.from, of.to)).collect();
        let wanted: Vec<(f64, f64)> = expected.iter().map(|of| (of.0, of.1)).collect();
        assert_eq!(found, wanted, "{person}");
        assert!(expected.iter().any(|of| of.2 == "outside") && expected.iter().any(|of| of.2 == "lock"));
        for (of, (_, _, place)) in stretches.iter().zip(expected) {
            assert!(
                of.says.starts_with(&format!("{person} is ")) && of.says.ends_with(place),
                "{of:?}: {place}"
            );
            assert_eq!(of.class.contains("out"), place == "outside", "{of:?}");
        }
        stand_in_place(&stretches, across);
    }
}

/// The tasks that run are named: each stretch that says a task lies within that task's time.
#[test]
fn tasks_that_are_named_are_at_work_then() {
    let made = made::lock();
    let log = made.table("events.csv");
    let people: Vec<String> = {
        let does = log.of(&[("event", "does")]);
        let mut names: Vec<String> = does.words("person").into_iter().map(str::to_owned).collect();
        names.sort();
        names.dedup();
        names
    };
    let times = |event: &str, task: &str| log.of(&[("event", event), ("task", task)]).numbers("time [h]");
    let mut named = 0;
    for person in people {
        let (stretches, _) = lane(&made, "who-does-what", &person);
        for of in stretches {
            let what = of.says.strip_prefix(&format!("{person}: ")).expect("whose");
            let Some((task, _)) = what.split_once(" (") else {
                continue;
            };
            let began = times("task started", task);
            let ended = times("task ended", task);
            assert!(began.iter().any(|&at| at <= of.from), "{of:?} begins before {task}");
            assert!(
                ended.is_empty() || ended.iter().any(|&at| at >= of.to),
                "{of:?} goes on after {task}"
            );
            named += 1;
        }
    }
    assert!(named > 5, "only {named} stretches name a task");
}

/// Every onset that was looked at has a cell, by what is left then.
#[test]
fn cells_of_stress_are_those_of_its_table() {
    let made = made::stress();
    let looks = made.table("stress.csv");
    let ids = figures(&made.opened(), "time-to-spare-");
    let (mut shades, mut drawn) = (Vec::new(), 0);
    for (device, left) in looks.pairs("device", "left [%]") {
        let id = format!("time-to-spare-{}", super::drawn::slug(device));
        if left == "100" || !ids.contains(&id) {
            continue;
        }
        let rows = looks.of(&[("device", device), ("left [%]", left)]);
        let (cells, across) = lane(&made, &id, &format!("{device}, {left} % left"));
        stand_in_place(&cells, across);
        let (onset, margin, limit) = (
            rows.numbers("onset [h]"),
            rows.numbers("margin [h]"),
            rows.numbers("to limit [h]"),
        );
        let (end, is) = (rows.words("end"), rows.words("margin is"));
        for k in 0..rows.rows() {
            let here = |cell: &&Stretch| cell.from <= onset[k] && (onset[k] < cell.to || cell.to == across.to.0);
            let cell = cells
                .iter()
                .find(here)
                .unwrap_or_else(|| panic!("{device} {left} %: no cell at {} h", onset[k]));
            let expected = if end[k] == "failed" {
                "box wrong"
            } else if limit[k].is_nan() {
                "cell heat-none"
            } else if is[k] == "not in time" || margin[k] < 0.0 {
                "box wrong"
            } else {
                ["cell heat0", "cell heat1", "cell heat2", "cell heat3"]
                    [usize::from(margin[k] < 4.0) + usize::from(margin[k] < 1.0) + usize::from(margin[k] < 0.25)]
            };
            assert_eq!(
                cell.class, expected,
                "{device} {left} % from {} h on: {} h",
                onset[k], margin[k]
            );
            shades.push(expected);
            drawn += 1;
        }
    }
    shades.sort_unstable();
    shades.dedup();
    assert!(drawn > 50 && shades.len() >= 2, "{drawn} cells of {shades:?}");
}

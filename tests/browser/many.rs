//! Curves of many variations, and of sizes, are those of their tables.

use super::browser::Browser;
use super::drawn::{band_is, drawing, figures, line_is, slug};
use super::made::{self, Made, Table};
use super::svg::Figure;

/// A band whose edges are columns, and a line that is one, all in the classes of the drawing.
struct Fan<'a> {
    table: &'a Table,
    x: &'a str,
    scale: f64,
}

impl Fan<'_> {
    fn points(&self, column: &str) -> Vec<(f64, f64)> {
        let scaled = |(x, y): (f64, f64)| (x, self.scale * y);
        self.table.points(self.x, column).into_iter().map(scaled).collect()
    }
}

fn fans(made: &Made, browser: &Browser, least: usize) {
    let (fans, worst) = (made.table("fans.csv"), made.table("worst.csv"));
    let mut found = Vec::new();
    for header in fans.headers() {
        let Some((of, unit)) = header.split_once(" 50 % ") else {
            continue;
        };
        let id = format!("fan-{}", slug(of));
        if !figures(browser, &id).contains(&id) {
            continue;
        }
        let read = Figure::read(browser, &drawing(&id));
        let panel = &read.panels[0];
        let fan = Fan {
            table: &fans,
            x: "time [h]",
            scale: 1.0,
        };
        let at = |share: u32| fan.points(&format!("{of} {share} % {unit}"));
        let plain: Vec<_> = panel
            .all("line")
            .into_iter()
            .filter(|path| path.class.contains("plain"))
            .collect();
        assert_eq!(plain.len(), 1, "{id} has one median");
        line_is(&read, panel, plain[0], &at(50), &format!("{id}, median"));
        let (inner, outer): (Vec<_>, Vec<_>) = panel
            .all("band")
            .into_iter()
            .partition(|path| path.class.contains("inner"));
        band_is(&read, panel, &outer, [&at(5), &at(95)], &format!("{id}, 5 to 95 %"));
        band_is(&read, panel, &inner, [&at(25), &at(75)], &format!("{id}, 25 to 75 %"));
        for path in panel.all("faint") {
            let variation = path.name.strip_prefix("variation ").expect("a variation");
            let course = worst.of(&[("variation", variation)]);
            assert!(course.rows() > 0, "{id}: variation {variation} is in worst.csv");
            line_is(
                &read,
                panel,
                path,
                &course.points("time [h]", &format!("{of} {unit}")),
                &format!("{id}, {}", path.name),
            );
        }
        found.push(id);
    }
    found.sort();
    let mut there = figures(browser, "fan-");
    there.sort();
    assert_eq!(found, there, "every fan has been held against its columns");
    assert!(found.len() >= least, "{found:?}");
}

#[test]
fn fans_are_those_of_the_quantiles() {
    let made = made::sorties();
    fans(&made, &made.opened(), 6);
    let made = made::degraded();
    fans(&made, &made.opened(), 4);
}

/// The share beyond as variations are added.
#[test]
fn convergence_is_that_of_its_table() {
    let made = made::degraded();
    let (browser, table) = (made.opened(), made.table("convergence.csv"));
    let mut compared = 0;
    for (limit, place) in table.pairs("limit", "where") {
        let id = format!("convergence-{}", slug(&format!("{limit}-{place}")));
        if !figures(&browser, &id).contains(&id) {
            continue;
        }
        let rows = table.of(&[("limit", limit), ("where", place)]);
        let fan = Fan {
            table: &rows,
            x: "runs",
            scale: 100.0,
        };
        let read = Figure::read(&browser, &drawing(&id));
        let panel = &read.panels[0];
        line_is(&read, panel, panel.path("line"), &fan.points("probability"), &id);
        band_is(
            &read,
            panel,
            &panel.all("band"),
            [&fan.points("lower"), &fan.points("upper")],
            &id,
        );
        compared += 1;
    }
    assert_eq!(compared, figures(&browser, "convergence-").len());
    assert!(compared >= 1, "no figure of convergence");
}

/// Steps: a share holds until the next row, the last to the end.
#[test]
fn survival_is_that_of_its_table() {
    let made = made::degraded();
    let (browser, table) = (made.opened(), made.table("survival.csv"));
    let mut compared = 0;
    for (limit, place) in table.pairs("limit", "where") {
        let id = format!("survival-{}", slug(&format!("{limit}-{place}")));
        if !figures(&browser, &id).contains(&id) {
            continue;
        }
        let rows = table.of(&[("limit", limit), ("where", place)]);
        let fan = Fan {
            table: &rows,
            x: "time [h]",
            scale: 100.0,
        };
        let read = Figure::read(&browser, &drawing(&id));
        let end = read.x.to.0;
        let stepped = |column: &str| -> Vec<(f64, f64)> {
            let points = fan.points(column);
            let until = points.iter().skip(1).map(|point| point.0).chain([end]);
            points
                .iter()
                .zip(until)
                .flat_map(|(&(x, y), to)| [(x, y), (to, y)])
                .collect()
        };
        let panel = &read.panels[0];
        line_is(&read, panel, panel.path("line"), &stepped("survival"), &id);
        band_is(
            &read,
            panel,
            &panel.all("band"),
            [&stepped("lower"), &stepped("upper")],
            &id,
        );
        compared += 1;
    }
    assert_eq!(compared, figures(&browser, "survival-").len());
    assert!(compared >= 1, "no figure of survival");
}

/// The margin over what was tried, from the smallest value on.
#[test]
fn the_margin_over_a_size_is_that_of_its_table() {
    let made = made::size();
    let (browser, table) = (made.opened(), made.table("size.csv"));
    let header = table.headers()[0].clone();
    let fan = Fan {
        table: &table,
        x: &header,
        scale: 1.0,
    };
    let sorted = |column: &str| {
        let mut points = fan.points(column);
        points.sort_by(|a, b| a.0.total_cmp(&b.0));
        points
    };
    let read = Figure::read(&browser, &drawing("margin-over-value-1"));
    let panel = &read.panels[0];
    line_is(
        &read,
        panel,
        panel.path("plain"),
        &sorted("margin kept [mmHg]"),
        "margin kept",
    );
    line_is(
        &read,
        panel,
        panel.path("thin"),
        &sorted("median margin [mmHg]"),
        "median",
    );
    band_is(
        &read,
        panel,
        &panel.all("band"),
        [&sorted("quantile low [mmHg]"), &sorted("quantile high [mmHg]")],
        "interval",
    );
}

/// The value over a second quantity.
#[test]
fn a_boundary_is_that_of_its_table() {
    let made = made::boundary();
    let (browser, table) = (made.opened(), made.table("boundary.csv"));
    let over = "removal.scrubber.co2_efficiency";
    let percent = |text: &str| text.trim_end_matches(" %").parse::<f64>().expect("a percentage");
    let found = table.numbers("smallest removal.scrubber.flow [m3/min]");
    let points: Vec<(f64, f64)> = table.words(over).into_iter().map(percent).zip(found).collect();
    assert_eq!(points.len(), 3);
    let read = Figure::read(&browser, &drawing("boundary"));
    let panel = &read.panels[0];
    line_is(&read, panel, panel.path("line"), &points, "boundary");
}

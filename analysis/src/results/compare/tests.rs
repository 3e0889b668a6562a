//! Of two sides made by hand: what is paired, what is judged, what is told first.

use super::*;
use crate::results::provenance::FileDigest;

fn side(name: &str, margins: Vec<f64>) -> Side {
    Side {
        name: name.to_owned(),
        seed: Some(1),
        runs: Some(margins.len() as u64),
        design: Some("plain".to_owned()),
        inputs: Some(vec![input("flow", "1 m3/h", "1 m3/h")]),
        limits: vec![limit("co2", "mmHg", margins)],
        ..Side::default()
    }
}

fn limit(id: &str, unit: &str, margins: Vec<f64>) -> LimitOf {
    LimitOf {
        id: id.to_owned(),
        whose: vec!["cabin".to_owned()],
        words: "at most".to_owned(),
        source: "this test".to_owned(),
        unit: unit.to_owned(),
        margins,
    }
}

fn input(path: &str, written: &str, si: &str) -> InputOf {
    InputOf {
        path: path.to_owned(),
        written: written.to_owned(),
        si: si.to_owned(),
        is_default: false,
    }
}

fn margins(shift: f64) -> Vec<f64> {
    (0..400).map(|i| f64::from((i * 193) % 400) / 400.0 + shift).collect()
}

fn compared(a: Side, b: Side) -> Comparison {
    compare(Of::Variations, a, b, Gate::USUAL)
}

#[test]
fn luck_is_shared_by_seed_and_plain_draws_as_far_as_both_go() {
    let a = side("a", margins(0.0));
    let mut b = side("b", margins(0.1)[..300].to_vec());
    let of = compared(a.clone(), b.clone());
    assert_eq!((of.luck, of.runs), (Some(Luck::Same), [300, 300]));
    let mean = &of.limits[0].figures[1];
    assert!((mean.of.difference.expect("told") - 0.1).abs() < 1e-12 && mean.verdict() == "better");
    b.seed = Some(2);
    let of = compared(a.clone(), b.clone());
    assert_eq!((of.luck, of.runs), (Some(Luck::Independent), [400, 300]));
    // Of three figures the kept margin is not judged.
    assert_eq!(of.comparisons, 2);
    b.design = Some("sobol".to_owned());
    assert_eq!(compared(a, b).luck, Some(Luck::Unknown));
}

#[test]
fn a_limit_that_is_lost_comes_first_then_one_that_is_met_again() {
    let mut a = side("a", margins(0.1));
    let mut b = side("b", margins(-0.5));
    a.limits.insert(0, limit("heat", "K", margins(-0.5)));
    b.limits.insert(0, limit("heat", "K", margins(0.1)));
    let said = sentences(&compared(a, b));
    assert!(
        said[1].starts_with("NOT MET in B and met in A at 95/95: co2"),
        "{said:#?}"
    );
    assert!(
        said[2].starts_with("Met in B and NOT MET in A at 95/95: heat"),
        "{said:#?}"
    );
    assert!(said[3].starts_with("Of 2 limits 2 have moved."), "{said:#?}");
    assert!(said[4].starts_with("heat is better: from -0.4"), "{said:#?}");
}

#[test]
fn margins_in_another_unit_are_turned_and_others_are_left_alone() {
    let a = side("a", vec![1.0, 2.0]);
    let mut b = side("b", vec![]);
    b.runs = Some(2);
    b.limits = vec![limit("co2", "kPa", vec![0.2, f64::INFINITY])];
    let mut notes = Vec::new();
    let of = pairs(&a, &b, &mut notes);
    let turned = of[0].1.as_ref().expect("turned");
    // 200 Pa, at 133.322 Pa to the mmHg.
    assert!((turned.margins[0] - 200.0 / 133.322).abs() < 1e-6, "{turned:?}");
    assert_eq!(turned.margins[1], f64::INFINITY);
    b.limits = vec![limit("co2", "K", vec![0.2, 0.3])];
    let of = pairs(&a, &b, &mut notes);
    assert_eq!((of.len(), notes.len()), (2, 1));
    assert!(of[0].1.is_none() && of[1].0.is_none());
}

#[test]
fn inputs_differ_by_path_and_data_files_by_what_is_in_them() {
    let mut a = side("a", margins(0.0));
    let mut b = a.clone();
    a.inputs = Some(vec![
        input("flow", "1 m3/h", "1 m3/h"),
        input("wait", "60 min", "1 h"),
        input("gone", "1", "1"),
        input("twice", "1", "1"),
        input("twice", "2", "2"),
    ]);
    b.inputs = Some(vec![
        input("new", "1", "1"),
        input("twice", "1", "1"),
        input("twice", "3", "3"),
        input("wait", "1 h", "1 h"),
        input("flow", "2 m3/h", "2 m3/h"),
    ]);
    let file = |sha256: &str| FileDigest {
        name: "times.csv".to_owned(),
        sha256: sha256.to_owned(),
    };
    (a.data_files, b.data_files) = (vec![file("01")], vec![file("02")]);
    let of = compared(a, b);
    let found: Vec<(&str, How)> = of
        .inputs
        .as_ref()
        .expect("known")
        .iter()
        .map(|one| (one.path.as_str(), one.how))
        .collect();
    assert_eq!(
        found,
        [
            ("flow", How::Changed),
            ("wait", How::Written),
            ("gone", How::OnlyA),
            ("twice", How::Changed),
            ("new", How::OnlyB),
            ("file times.csv", How::Changed),
        ]
    );
    let said = &sentences(&of)[0];
    assert!(
        said.starts_with("5 inputs differ: flow (1 m3/h in A, 2 m3/h in B); gone (1, only in A)"),
        "{said}"
    );
    assert!(
        said.contains("and 1 more in changed.csv (1 only written in another way)"),
        "{said}"
    );
}

#[test]
fn a_side_that_failed_is_told_and_has_no_mean() {
    let a = side("a", margins(0.1));
    let mut b = side("b", margins(0.1));
    b.limits[0].margins[..40].fill(f64::NEG_INFINITY);
    b.failed = 40;
    b.first_failed = Some("variation 0: it broke".to_owned());
    let of = compared(a, b);
    assert!(of.has_failed() && of.limits[0].met == [Some(true), Some(false)]);
    assert_eq!(of.limits[0].figures[1].verdict(), "not judged");
    assert_eq!(of.limits[0].figures[2].verdict(), "worse");
    let said = sentences(&of).join("\n");
    assert!(said.contains("In B 40 variations could not be finished"), "{said}");
    assert!(said.contains("from 0.0 to 10 % of variations beyond"), "{said}");
}

#[test]
fn a_folder_is_read_back_by_its_columns() {
    let json = r#"{"format":1,"command":"vary","scenario":{"title":"T","file":"t.toml","sha256":"ab"},"failed":1,
        "failures":[{"variation":2,"error":"it broke"}],"end":{"completed":true,"cause":null},
        "limits":[{"id":"co2","where":"cabin","unit":"mmHg","margin":1.0,"words":"w","source":"s"},
                  {"id":"co2","where":"lock","unit":"mmHg","margin":2.0,"words":"w","source":"s"}],
        "totals":{"co2_made_kg":1.5,"leaked":{"co2_kg":0.25}},"schedule":{"waits_h":2,"late_h":{}},
        "provenance":{"version":"1","files":[{"name":"t.toml","sha256":"ab"},{"name":"d.csv","sha256":"cd"}],"overrides":[],
                      "seed":1,"runs":4,"design":"plain"}}"#;
    let told = folder::summary(json.as_bytes()).expect("read");
    let table = "variation,end,co2 cabin margin [mmHg],co2 lock margin [mmHg]\n0,completed,0.5,0.25\n1,not survivable,-1,\n2,failed,,\n3,completed,,\n";
    let margins = told.margins(&mut table.as_bytes(), &|| false).expect("read");
    assert_eq!(margins, [[0.25, -1.0, f64::NEG_INFINITY, f64::INFINITY]]);
    let wrong = |table: &str| told.margins(&mut table.as_bytes(), &|| false).expect_err("damaged");
    assert!(wrong(&table.replace("0.25", "NaN")).contains("variation 0 has `NaN`"));
    assert!(wrong(&table.replace("\n1,", "\n7,")).contains("where variation 1 should be stands `7`"));
    assert!(wrong("").contains("it has no column `variation`"));
    let side = told.side("f".to_owned(), None, Some(margins));
    assert_eq!(side.limits[0].whose, ["cabin", "lock"]);
    assert_eq!(side.data_files.len(), 1);
    assert_eq!(side.first_failed.as_deref(), Some("variation 2: it broke"));
    let totals: Vec<(&str, &str, f64)> = side
        .totals
        .iter()
        .map(|total| (total.name.as_str(), total.unit.as_str(), total.values[0]))
        .collect();
    assert_eq!(
        totals,
        [
            ("totals.co2_made_kg", "kg", 1.5),
            ("totals.leaked.co2_kg", "kg", 0.25),
            ("schedule.waits_h", "h", 2.0)
        ]
    );
}

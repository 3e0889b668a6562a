//! What scenarios read as, on small files.

mod devices;
mod draws;
mod estimates;
mod gases;
mod hardware;
mod limits;
mod measured;
mod mutations;
mod overrides;
mod sorties;
mod spreads;
mod tasks;
mod together;
mod upset;
mod warnings;

use super::*;

/// The least that reads, with people.
const SMALL: &str = r#"
format = 1
duration = "1 d"
respiratory_quotient = 0.87
[air]
pressure = "56.5 kPa"
oxygen = "34 %"
co2 = "0.5 mmHg"
[compartments.cabin]
free_volume = "11.5 m3"
[control.cabin]
oxygen = { hold = "18.8 kPa" }
[crew.lead]
[crew.second]
"#;

/// Data files by name.
fn files(name: &str) -> Result<Vec<u8>, String> {
    match name {
        "times.csv" => Ok(b"donning [min],\"doffing [h]\",none\r\n40,0.25,1\r\n\r\n90,,2\n50,0.5,3\n".to_vec()),
        "climb.csv" => Ok(b"time [min],heart rate [1/min]\n0,100\n1,120\n".to_vec()),
        "bytes.csv" => Ok(vec![0xff, 0xfe]),
        _ => Err("there is no such file".to_owned()),
    }
}

fn try_read(text: &str, overrides: &[&str]) -> Result<Scenario, Vec<Diagnostic>> {
    let overrides: Vec<String> = overrides.iter().map(|o| (*o).to_owned()).collect();
    read(&Source {
        name: "a.toml",
        text,
        overrides: &overrides,
        files: &files,
    })
}

/// A scenario that must read.
fn good(text: &str, overrides: &[&str]) -> Scenario {
    try_read(text, overrides).unwrap_or_else(|f| panic!("{}", f.iter().map(Diagnostic::render).collect::<String>()))
}

/// The messages of one that must not.
fn bad(text: &str, overrides: &[&str]) -> Vec<String> {
    match try_read(text, overrides) {
        Ok(_) => panic!("it reads"),
        Err(faults) => faults.into_iter().map(|f| f.message).collect(),
    }
}

fn with(more: &str) -> String {
    format!("{SMALL}{more}")
}

/// A case in full, to compare two.
fn shown(drawn: &Drawn) -> String {
    format!("{:?}", drawn.case)
}

#[test]
fn every_default_reads() {
    for section in keys::sections() {
        for key in section.keys {
            let keys::Need::Default(text, source, _) = key.need else {
                continue;
            };
            assert!(!source.is_empty());
            let node = fields::default_node(text).unwrap_or_else(|| panic!("{}.{}", section.path, key.name));
            if let keys::Kind::Number(dimension, domain) | keys::Kind::Fixed(dimension, domain) = key.kind {
                let mut r = reader::Reader::new(crate::text::Texts::new("", "", &[]), &files);
                let wanted = value::Wanted {
                    path: "a.b",
                    dimension,
                    domain,
                    spread: true,
                    per_turn: false,
                };
                assert!(
                    value::number(&mut r, &node, &wanted).is_some(),
                    "{}.{}",
                    section.path,
                    key.name
                );
            }
        }
    }
}

#[test]
fn the_reference_person_is_the_default() {
    use crate::crew::Body;
    let body = Body::reference();
    let scenario = good(SMALL, &[]);
    let default = |path: &str| scenario.resolved.iter().find(|r| r.path == path).map(|r| r.si.clone());
    assert_eq!(default("crew.lead.mass"), Some(format!("{} kg", body.mass_kg)));
    assert_eq!(default("crew.lead.height"), Some(format!("{} m", body.height_m)));
    assert_eq!(default("crew.lead.age"), Some(body.age_y.to_string()));
    assert_eq!(default("lags.gas"), Some(format!("{} s", crate::crew::GAS_LAG_S)));
}

#[test]
fn every_value_is_told_with_where_it_comes_from() {
    let scenario = good(SMALL, &["duration=2 d"]);
    let find = |path: &str| scenario.resolved.iter().find(|r| r.path == path).expect(path);
    assert_eq!(find("duration").origin, Origin::Override);
    assert_eq!(
        (find("duration").written.as_str(), find("duration").si.as_str()),
        ("2 d", "172800 s")
    );
    assert_eq!(find("air.co2").origin, Origin::File { line: 8 });
    assert_eq!(find("air.co2").si, "66.661 Pa");
    assert!(matches!(&find("history.every").origin, Origin::Default { source, .. } if source == "assumption"));
    assert_eq!(find("compartments.cabin.usable_volume").si, "11.5 m3");
    assert!(matches!(
        find("efforts.rest").origin,
        Origin::Default { from_memory: true, .. }
    ));
}

#[test]
fn the_title_is_the_files_name_if_there_is_none() {
    assert_eq!(good(SMALL, &[]).title, "a.toml");
    assert_eq!(good(&format!("title = \"x\"\n{SMALL}"), &[]).title, "x");
}

#[test]
fn bytes_that_are_no_text_and_a_file_too_large_are_told() {
    let fault = decode(b"a = 1\nb = \"\xe9\"", "x").expect_err("not UTF-8");
    assert_eq!((fault.line, fault.column), (2, 6));
    assert!(decode(b" \n", "x").is_err());
    assert_eq!(decode("é = 1".as_bytes(), "x"), Ok("é = 1"));
    let large = " ".repeat(MAX_BYTES as usize + 1);
    assert!(bad(&large, &[])[0].contains("bytes"));
    assert!(bad("\u{feff}  ", &[])[0].contains("empty"));
}

#[test]
fn ten_thousand_tasks_read() {
    let mut text = with("");
    for n in 0..10_000 {
        text.push_str(&format!(
            "[[tasks]]\nid = \"t{n}\"\ncrew = [\"lead\"]\neffort = \"nominal\"\nduration = \"8 s\"\n"
        ));
    }
    let scenario = good(&text, &[]);
    assert_eq!(scenario.draw(&Medians).case.plan.tasks.len(), 10_000);
}

#[test]
fn ten_thousand_faults_are_all_told() {
    let mut text = with("");
    for n in 0..10_000 {
        text.push_str(&format!(
            "[[tasks]]\nid = \"t{n}\"\ncrew = [\"leat\"]\neffort = \"nominl\"\nduration = 8\n"
        ));
    }
    assert_eq!(bad(&text, &[]).len(), 30_000);
}

#[test]
fn a_file_of_brackets_is_survived() {
    for text in [
        "[".repeat(50_000),
        "a = ".to_owned() + &"[".repeat(50_000),
        "a.".repeat(20_000) + "b = 1",
        "{".repeat(10_000),
    ] {
        assert!(!bad(&text, &[]).is_empty());
    }
}

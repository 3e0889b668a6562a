//! A made-up study, told in sentences, Markdown and tables.

use breathroom_sim::engine::{Case, RunError};
use breathroom_sim::scenario::{LimitInfo, Scenario};
use breathroom_sim::units::{Dimension, Time};

use super::*;
use crate::results::provenance::{Provenance, ScenarioFile};
use crate::results::table::Table;
use crate::study::Gate;
use crate::study::stress::look::{Alarm, Cause, First, Look};
use crate::study::stress::runs::PartRuns;
use crate::study::stress::singles::{Fared, Row};
use crate::study::stress::times::After;
use crate::study::stress::usual::{Crossings, Usual};
use crate::study::stress::worst::Looked;
use crate::study::stress::{NoFault, Part, Stress, StressJob};

fn min(minutes: i64) -> Time {
    Time(minutes * 60_000_000_000)
}

fn scenario() -> Scenario {
    let mut scenario = Scenario {
        title: "A room".to_owned(),
        limits: vec![LimitInfo {
            id: "co2-1h".to_owned(),
            subject: "crew:lead".to_owned(),
            words: String::new(),
            unit: Dimension::Pressure.si_unit(),
            fraction_means_something: true,
            source: String::new(),
            from_memory: false,
            set: None,
        }],
        ..Scenario::default()
    };
    scenario.names.devices = vec!["scrubber".to_owned()];
    scenario.names.alarms = vec!["co2_high".to_owned()];
    scenario.names.faults = vec!["slow-loss".to_owned(), "leak".to_owned()];
    scenario
}

/// Onset 9 h 12 min in a run of a day; the limit without response after so many minutes, the response done after 63.
fn look(limit: Option<i64>) -> Look {
    let first = limit.map_or_else(First::default, |minutes| First {
        cause: Some(Cause::Rule(0)),
        after: After::Came(min(minutes)),
    });
    Look {
        onset: min(552),
        rest: min(1440 - 552),
        alarm: Some(Alarm {
            alarm: 0,
            after: min(41),
            is_false: false,
        }),
        first,
        done: After::Came(min(63)),
        limits: vec![first.after],
        effects: vec![[After::Came(min(10)), After::Not]; 7],
        ..Look::default()
    }
}

fn failed() -> Look {
    Look::failed(min(552), min(1440), RunError::Invalid("x"))
}

fn study(looks: &[Look]) -> Stress {
    part_study(0.5, looks)
}

/// With a part left; on the medians the limit comes after 125 min.
fn part_study(left: f64, looks: &[Look]) -> Stress {
    let row = |faults: &[usize], broken: bool| Row {
        faults: faults.to_vec(),
        medians: Fared {
            broken: if broken { vec![0] } else { Vec::new() },
            least: Some((if broken { -0.12 } else { 0.3 }, 0)),
            ..Fared::default()
        },
        runs: None,
    };
    let part = Part {
        device: 0,
        left,
        looked: Looked {
            looks: vec![(min(552), look(Some(125)))],
            worst: 0,
        },
        runs: (!looks.is_empty()).then(|| PartRuns::of(looks.to_vec(), true, Gate::USUAL)),
    };
    Stress {
        no_fault: NoFault {
            medians: Usual::default(),
            runs: (!looks.is_empty()).then(|| vec![Usual::default(); looks.len()]),
        },
        parts: vec![part],
        singles: vec![row(&[], false), row(&[0], true), row(&[1], false), row(&[0, 1], true)],
        responses: true,
        failed: looks.iter().filter(|look| look.failed.is_some()).count() as u64,
    }
}

fn told(stress: &Stress) -> StressSummary {
    let scenario = scenario();
    let job = StressJob {
        devices: vec![0],
        left: vec![0.5],
        onsets: 24,
        runs: stress.parts[0].runs.as_ref().map_or(0, |runs| runs.looks.len() as u64),
        seed: 1,
        pairs: true,
        gate: Gate::USUAL,
    };
    let of = Of {
        scenario: &scenario,
        case: &Case::default(),
        job: &job,
        gated: true,
    };
    let file = ScenarioFile {
        title: scenario.title.clone(),
        file: "room.toml".to_owned(),
        sha256: "00".to_owned(),
    };
    let provenance = Provenance::new("stress", &scenario, &file, &[]);
    build(&of, stress, file, provenance)
}

#[test]
fn the_sentence_leads_from_the_onset_to_the_low_percentile() {
    // Limits after 81 to 181 min: the margin runs from 18 to 118 min, 5 % of it is 23, the median 68.
    let looks: Vec<Look> = (0..=100).map(|i| look(Some(81 + i))).collect();
    let said = sentences(&told(&study(&looks)));
    assert_eq!(
        said[0],
        "With half of scrubber's capacity gone at the worst moment (onset 9 h 12 min, the worst of 1 onset on the medians), the \
         warning co2_high comes after 41 min, the limit co2-1h after 2 h 05 min if nothing is done, the crew is done after 63 min: at least 23 min to \
         spare in 95 of 100 cases (68 min in the median), if the air is mixed as assumed."
    );
    let all = said.join("\n");
    for words in [
        "the file's own faults are at rest (slow-loss, leak)",
        "Single-fault tolerant: NO",
        "Worst alone: slow-loss breaks co2-1h (crew:lead) on the medians",
        "Worst pair: slow-loss with leak",
        "The gate is passed.",
    ] {
        assert!(all.contains(words), "no {words} in {all}");
    }
}

#[test]
fn who_is_late_is_told_so_and_the_rest_of_the_run_is_only_a_bound() {
    let first = |looks: Vec<Look>| sentences(&told(&study(&looks)));
    let said = first(vec![look(Some(50)); 100]);
    assert!(
        said[0].contains("13 min TOO LATE or more in 5 of 100 cases (13 min too late in the median)"),
        "{}",
        said[0]
    );
    // 888 min of run are left, less 63.
    let said = first(vec![look(None); 100]);
    assert!(
        said[0].contains("more than 13 h 45 min to spare in 95 of 100 cases (more than 13 h 45 min in the median)")
            && !said[0].contains("at least more"),
        "{}",
        said[0]
    );
    let said = first(vec![failed(); 60]).join("\n");
    for words in [
        "NOT IN TIME in 5 of 100 cases or more",
        "60 runs could not be finished",
        "The gate is NOT passed",
    ] {
        assert!(said.contains(words), "no {words} in {said}");
    }
}

/// All of the device gone, and half: the first is worse, the second comes first.
fn two_parts(half: &[Look], none: &[Look]) -> Stress {
    let mut stress = part_study(0.0, none);
    stress.parts.extend(part_study(0.5, half).parts);
    stress
}

#[test]
fn the_worst_that_is_no_total_loss_comes_first_then_what_no_fault_crosses_and_quiet_parts_go_together() {
    let (bad, worse) = (vec![look(Some(100)); 100], vec![look(Some(50)); 100]);
    let mut stress = two_parts(&bad, &worse);
    let quiet = |left| {
        let mut part = part_study(left, &vec![look(None); 100]).parts.remove(0);
        part.looked.looks[0].1 = look(None);
        part
    };
    stress.parts.extend([quiet(0.9), quiet(0.75)]);
    let crossings = |minutes| Crossings {
        rules: vec![Some(min(minutes))],
        end: None,
    };
    stress.no_fault.medians.with = crossings(303);
    let runs = stress.no_fault.runs.as_mut().expect("runs");
    runs[..22].iter_mut().for_each(|run| run.with = crossings(200));
    let said = sentences(&told(&stress));
    let begins = [
        "With half of scrubber's capacity gone at the worst moment",
        "With all of scrubber's capacity gone at the worst moment",
        "Without any fault limits are crossed already: co2-1h in 22 % of the variations, after 5 h 03 min on the medians. Under a fault",
        "With 10 % or a quarter of scrubber's capacity gone no limit is crossed that would not be without: at none of 1 onset on the \
         medians, and in no variation, whatever is done.",
    ];
    for (sentence, begin) in said.iter().zip(begins) {
        assert!(sentence.starts_with(begin), "{sentence}\nfor {begin}");
    }
}

#[test]
fn done_in_time_and_yet_a_limit_is_said_plainly() {
    let with = |minutes| Look {
        first_with: First {
            cause: Some(Cause::Rule(0)),
            after: After::Came(min(minutes)),
        },
        ..look(Some(125))
    };
    let mut looks = vec![look(Some(125)); 78];
    looks.extend(vec![with(90); 22]);
    let all = sentences(&told(&study(&looks))).join("\n");
    let words = "A limit is crossed in spite of what is done in 22 % of the variations (95 % interval 14.3 % to 31.4 %), in each of them \
                 though it is done in time.";
    assert!(all.contains(words), "{all}");
    assert_eq!(all.matches("may not undo what has gathered").count(), 1, "{all}");
    let mut stress = study(&[]);
    stress.parts[0].looked.looks[0].1 = with(90);
    let all = sentences(&told(&stress)).join("\n");
    assert!(
        all.contains("It is done in time on the medians, yet co2-1h is crossed after 90 min."),
        "{all}"
    );
}

#[test]
fn where_nothing_is_done_the_question_is_how_long_there_is() {
    let looks: Vec<Look> = (0..=100).map(|i| look(Some(81 + i))).collect();
    let mut stress = study(&looks);
    stress.responses = false;
    let part = &mut stress.parts[0];
    part.runs = Some(PartRuns::of(looks, false, Gate::USUAL));
    let summary = told(&stress);
    let said = sentences(&summary);
    assert_eq!(
        said[0],
        "With half of scrubber's capacity gone at the worst moment (onset 9 h 12 min, the worst of 1 onset on the medians), the \
         warning co2_high comes after 41 min, the limit co2-1h after 2 h 05 min: at least 45 min from the alarm to the limit in 95 of 100 \
         cases (90 min in the median), at least 86 min from the onset to the limit in 95 of 100 cases (2 h 11 min in the median), if the \
         air is mixed as assumed."
    );
    let all = said.join("\n") + &markdown(&summary);
    assert!(all.contains("No alarm has a response: these are the times"), "{all}");
    assert!(!all.to_lowercase().contains("in time"), "{all}");
    let json = summary.to_json().expect("JSON");
    assert!(
        json.contains("\"margin\": null") && json.contains("\"margin_quantiles\": null"),
        "{json}"
    );
    stress.parts[0].runs = None;
    stress.no_fault.runs = None;
    let said = sentences(&told(&stress));
    assert!(
        said[0].contains("84 min from the alarm to the limit and 2 h 05 min from the onset"),
        "{}",
        said[0]
    );
}

#[test]
fn medians_alone_say_that_they_are() {
    let said = sentences(&told(&study(&[])));
    assert!(said[0].contains("62 min to spare on the medians"), "{}", said[0]);
    assert!(
        said.iter().any(|line| line.contains("--runs gives margins")),
        "{said:?}"
    );
}

#[test]
fn json_has_its_keys_and_what_is_not_in_time_is_null() {
    let text = told(&study(&[look(None), failed()])).to_json().expect("JSON");
    let json: serde_json::Value = serde_json::from_str(&text).expect("JSON");
    assert_eq!(
        (json["format"].as_u64(), json["command"].as_str()),
        (Some(1), Some("stress"))
    );
    let part = &json["devices"][0]["left"][0];
    assert!((part["worst_onset_h"].as_f64().expect("an onset") - 9.2).abs() < 1e-9);
    assert_eq!(part["medians"]["alarm"]["id"], "co2_high");
    assert_eq!(part["medians"]["without"]["limit"], "co2-1h");
    assert!(part["variations"]["margin_quantiles"]["0.05"]["h"].is_null());
    assert_eq!(part["variations"]["in_time"]["count"], 1);
    assert_eq!(part["variations"]["effects"]["co2-fatigue"]["without"], 1);
    assert_eq!(json["single_fault_tolerant"], false);
}

#[test]
fn tables_have_a_cell_for_each_column_and_markdown_a_caution() {
    let (stress, scenario) = (study(&[look(Some(125)), failed()]), scenario());
    let tables = [
        Some(looks(&stress, &scenario)),
        runs(&stress, &scenario),
        faults(&stress, &scenario),
    ];
    let rows: Vec<usize> = tables.iter().flatten().map(Table::rows).collect();
    assert_eq!(rows, [1, 2, 4]);
    let mut cells = Vec::new();
    for table in tables.iter().flatten() {
        for row in 0..table.rows() {
            table.row_into(row, &mut cells);
            assert_eq!(cells.len(), table.columns.len(), "{} {row}", table.name);
        }
    }
    let summary = told(&stress);
    let text = markdown(&summary);
    assert!(text.trim_end().ends_with(&summary.caution));
    for words in [
        "## scrubber degrades",
        "## Single faults",
        "## Pairs of faults",
        "No medical claim",
        "29 CFR 1910.134",
    ] {
        assert!(text.contains(words), "no {words} in {text}");
    }
    let mut columns = None;
    for line in text.lines() {
        let cells = line.replace("\\|", "").matches('|').count();
        columns = line.starts_with('|').then(|| columns.unwrap_or(cells));
        assert!(columns.is_none_or(|columns| columns == cells), "{line}");
    }
}

//! Rows: the grid, those listed, the sample, the baseline.

use super::*;

const TWO: &str = "[factors.volume]\npath = \"compartments.cabin.free_volume\"\nlevels = [\"9 m3\", \"10 m3\"]\n\
                   [factors.spare.options.off]\n[factors.spare.options.on]\nset = { \"removal.backup.on\" = true }\n";

#[test]
fn a_grid_turns_its_last_factor_fastest() {
    let trade = good(TWO);
    assert_eq!(labels(&trade), ["9 m3 | off", "9 m3 | on", "10 m3 | off", "10 m3 | on"]);
    assert_eq!(
        trade.rows.iter().map(|r| r.name.as_str()).collect::<Vec<_>>(),
        ["r01", "r02", "r03", "r04"]
    );
    assert_eq!(trade.baseline, 0);
    let shown = (
        trade.runs,
        trade.seed,
        trade.gate,
        trade.title.as_str(),
        trade.question.as_str(),
    );
    assert_eq!(shown, (1000, 1, crate::study::Gate::USUAL, "trade.toml", ""));
    let on = trade.rows[1].scenario.as_ref().expect("a scenario");
    assert!(
        on.resolved
            .iter()
            .any(|v| v.path == "removal.backup.on" && v.written == "true")
    );
}

#[test]
fn a_baseline_is_found_or_added() {
    let found = good(&format!("baseline = {{ volume = \"10000 L\", spare = \"on\" }}\n{TWO}"));
    assert_eq!((found.rows.len(), found.baseline), (4, 3));
    let partly = good(&format!("baseline = {{ spare = \"on\" }}\n{TWO}"));
    assert_eq!(partly.baseline, 1, "a factor that is not named is at its first level");
    let added = good(&format!("baseline = {{ volume = \"11 m3\", spare = \"off\" }}\n{TWO}"));
    assert_eq!((added.rows.len(), added.baseline), (5, 0));
    assert_eq!(
        (added.rows[0].name.as_str(), added.rows[0].labels[0].as_str()),
        ("baseline", "11 m3")
    );
    assert_eq!(added.rows[1].name, "r01");
    assert_eq!(good(&format!("baseline = \"r03\"\n{TWO}")).baseline, 2);
}

#[test]
fn listed_rows_take_any_value_and_fall_back() {
    let text = format!(
        "baseline = {{ volume = \"10 m3\", spare = \"on\" }}\n{TWO}\
         [[rows]]\nname = \"tight\"\nvolume = \"8.5 m3\"\n[[rows]]\nspare = \"off\"\n[[rows]]\n"
    );
    let trade = good(&text);
    assert_eq!(labels(&trade), ["8.5 m3 | on", "10 m3 | off", "10 m3 | on"]);
    assert_eq!(
        trade.rows.iter().map(|r| r.name.as_str()).collect::<Vec<_>>(),
        ["tight", "r02", "r03"]
    );
    assert_eq!(trade.baseline, 2);
    // Without a baseline: as in the first row, then the first level.
    let free = good(&format!(
        "{VOLUME}[[rows]]\nvolume = \"9 m3\"\n[[rows]]\nvolume = \"8.8 m3\"\n[[rows]]\n"
    ));
    assert_eq!(labels(&free), ["9 m3", "8.8 m3", "9 m3"]);
    assert!(
        free.warnings
            .iter()
            .any(|w| w.message == "the row `r03` has the levels of the row `r01`")
    );
}

#[test]
fn a_sample_is_even_and_comes_again() {
    let text = "sample = { count = 8, seed = 5 }\n[factors.volume]\npath = \"compartments.cabin.free_volume\"\n\
                levels = { from = \"8 m3\", to = \"12 m3\" }\nspread = \"shifted\"\n\
                [factors.flow]\npath = \"removal.scrubber.flow\"\n\
                levels = { from = \"0.5 m3/min\", to = \"0.8 m3/min\", step = \"0.1 m3/min\" }\n";
    let trade = good(text);
    assert_eq!(labels(&trade), labels(&good(text)));
    assert_ne!(labels(&trade), labels(&good(&text.replace("seed = 5", "seed = 6"))));
    // One of eight in each eighth of the range; each of the four flows twice.
    let numbers = |f: usize| -> Vec<f64> { trade.rows.iter().map(|r| r.numbers[f].expect("a number")).collect() };
    let mut eighths: Vec<usize> = numbers(0).iter().map(|v| ((v - 8.0) / 0.5) as usize).collect();
    eighths.sort_unstable();
    assert_eq!(eighths, (0..8).collect::<Vec<_>>());
    let mut flows = numbers(1);
    flows.sort_by(f64::total_cmp);
    assert_eq!(flows, [0.5, 0.5, 0.6, 0.6, 0.7, 0.7, 0.8, 0.8]);
    for row in &trade.rows {
        let digits = row.labels[0].bytes().filter(u8::is_ascii_digit).count();
        assert!(digits <= 5, "{}", row.labels[0]);
        assert!(row.scenario.is_ok());
    }
}

#[test]
fn points_that_are_there_already_are_left_out() {
    let trade = good(
        "sample = { count = 9 }\n[factors.spare.options.off]\n[factors.spare.options.on]\nset = { \"removal.backup.on\" = true }\n",
    );
    assert_eq!(trade.rows.len(), 2);
    assert_eq!(
        trade.warnings[0].message,
        "7 of 9 points fall on rows that are there already and are left out"
    );
}

#[test]
fn levels_that_do_not_go_together_are_told_in_their_row() {
    let trade = good(
        "[factors.reserve]\npath = \"tanks.oxygen.reserve\"\nlevels = [\"1 kg\", \"20 kg\"]\n\
         [factors.amount]\npath = \"tanks.oxygen.amount\"\nlevels = [\"10 kg\", \"24 kg\"]",
    );
    let told: Vec<bool> = trade.rows.iter().map(|r| r.scenario.is_err()).collect();
    assert_eq!(told, [false, false, true, false]);
}

#[test]
fn a_whole_may_stand_before_its_part_only() {
    let whole = "[factors.scrubber.options.a]\n[factors.scrubber.options.b]\nset = { \"removal.scrubber\" = { kind = \"flow-through\", \
                 serves = \"cabin\", flow = \"1 m3/min\", co2_efficiency = \"50 %\" } }\n";
    let part = "[factors.flow]\npath = \"removal.scrubber.flow\"\nlevels = [\"0.5 m3/min\"]\n";
    assert_eq!(labels(&good(&format!("{whole}{part}"))).len(), 2);
    assert_eq!(
        bad(&format!("{part}{whole}")),
        ["\"removal.scrubber\": `removal.scrubber` replaces what the factor `flow` sets in it"]
    );
}

//! Data packages of results: valid by the standard's own validator, metadata and data, and read by pandas as they are described.

use std::fs;
use std::path::Path;

use crate::place::{Said, compared, python, readme_block, results};

const SCENARIO: &str = "two-crew-sortie.toml";
/// More than one block of variations, so that some have values that others lack.
const RUNS: [&str; 2] = ["--runs", "70"];

/// What the validator says of a folder's data package.
pub fn validate(folder: &Path) -> Said {
    python(&["-m", "frictionless", "validate", "datapackage.json"], folder)
}

#[track_caller]
fn assert_valid(folder: &Path) {
    let said = validate(folder);
    assert!(said.well, "not valid:\n{}", said.text);
}

/// Changes the file of a package and puts it back: meanwhile it must not be valid, for the reason given.
fn assert_noticed(folder: &Path, file: &str, change: impl Fn(&mut Vec<u8>), reason: &str) {
    let path = folder.join(file);
    let before = fs::read(&path).expect("a file");
    let mut after = before.clone();
    change(&mut after);
    assert_ne!(before, after, "nothing was changed");
    fs::write(&path, after).expect("written");
    let said = validate(folder);
    // Tables are broken over lines by width.
    let text: String = said.text.split_whitespace().collect();
    assert!(
        !said.well && text.contains(reason),
        "{file} was changed, and: {}",
        said.text
    );
    fs::write(&path, before).expect("written");
}

#[test]
fn a_run_is_a_valid_data_package_that_pandas_reads_exactly() {
    let folder = results("run", SCENARIO, &[]);
    let folder = folder.path().join("out");
    assert_valid(&folder);
    assert!(
        compared("read.py", &[], &folder) > 10_000,
        "history has more cells than that"
    );
}

#[test]
fn variations_are_a_valid_data_package_that_the_readme_s_script_reads_exactly() {
    let folder = results("vary", SCENARIO, &RUNS);
    let folder = folder.path().join("out");
    assert_valid(&folder);
    let block = folder.with_file_name("block.py");
    fs::write(&block, readme_block()).expect("written");
    let block = block.display().to_string();
    assert!(
        compared("read.py", &[&block], &folder) > 10_000,
        "fans have more cells than that"
    );
}

#[test]
fn traces_are_a_valid_data_package_whose_parquet_files_pandas_reads_as_their_csv_files() {
    let more = [
        "--runs",
        "2",
        "--every",
        "5 min",
        "--fault",
        "coil.coil",
        "--fault",
        "fault.fan-stop",
        "--truth",
    ];
    let folder = results("traces", "degraded-scrubber.toml", &more);
    let folder = folder.path().join("out");
    assert_valid(&folder);
    assert!(compared("read.py", &[], &folder) > 10_000);
    assert!(
        compared("parquet.py", &[], &folder) > 10_000,
        "traces have more cells than that"
    );
}

#[test]
fn the_validator_sees_a_byte_that_changed_a_row_that_is_gone_and_a_type_that_is_wrong() {
    let folder = results("vary", "sealed-refuge.toml", &["--runs", "3"]);
    let folder = folder.path().join("out");
    assert_valid(&folder);
    let digit = |bytes: &mut Vec<u8>| {
        let last = bytes.iter().rposition(u8::is_ascii_digit).expect("a digit");
        bytes[last] = if bytes[last] == b'1' { b'2' } else { b'1' };
    };
    assert_noticed(&folder, "variations.csv", digit, "hash-count");
    let shorten = |bytes: &mut Vec<u8>| {
        let end = bytes[..bytes.len() - 1].iter().rposition(|byte| *byte == b'\n');
        bytes.truncate(end.expect("a line") + 1);
    };
    assert_noticed(&folder, "variations.csv", shorten, "byte-count");
    let retype = |bytes: &mut Vec<u8>| {
        let text = String::from_utf8_lossy(bytes).replacen("\"type\": \"string\"", "\"type\": \"number\"", 1);
        *bytes = text.into_bytes();
    };
    assert_noticed(&folder, "datapackage.json", retype, "type-error");
    assert_valid(&folder);
}

/// What a design team gets: the workbook of the shipped trade with what stands out in it, its package and its pages.
#[test]
fn a_trade_a_size_and_a_comparison_are_valid_packages_and_open_as_workbooks() {
    let trade = results("trade", "trades/volume-by-scrubber.toml", &["--runs", "60"]);
    let folder = trade.path().join("out");
    assert_valid(&folder);
    assert!(compared("read.py", &[], &folder) > 1_000);
    let marked = [
        "trade",
        "margin=co2, hour [mmHg]",
        "margin=humid hours [h]",
        "met=limits met",
        "front=front",
    ];
    assert!(compared("workbook.py", &marked, &folder) > 500);
    let size = results(
        "size",
        "degraded-scrubber.toml",
        &[
            "--what",
            "removal.scrubber.flow",
            "--keep",
            "co2-1h",
            "--runs",
            "60",
            "--from",
            "0.8 m3/min",
            "--to",
            "1.6 m3/min",
        ],
    );
    assert_valid(&size.path().join("out"));
    assert!(compared("read.py", &[], &size.path().join("out")) > 100);
    let other = super::place::root()
        .join("scenarios/fan-out.toml")
        .display()
        .to_string();
    let compare = results("compare", "degraded-scrubber.toml", &[&other, "--runs", "60"]);
    assert_valid(&compare.path().join("out"));
}

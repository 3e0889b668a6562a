//! What chance may and may not change.

use crate::command::job;

/// Every family of spread at zero width, in a file whose efforts give their own rates (an effort by power would bring in the
/// default spread of the respiratory quotient).
const NO_WIDTH: &str = r#"
format = 1
title = "Spreads without width"
duration = "12 h"

[air]
pressure = "70 kPa"
oxygen = "28 %"
co2 = { normal = ["0.5 mmHg", "0 mmHg"] }

[compartments.cabin]
free_volume = { uniform = ["9 m3", "9 m3"] }

[compartments.lock]
free_volume = { triangular = ["4 m3", "4 m3", "4 m3"] }

[openings.hatch]
between = ["cabin", "lock"]
exchange = { pert = ["2 m3/min", "2 m3/min", "2 m3/min"] }

[removal.scrubber]
kind = "flow-through"
serves = "cabin"
flow = { lognormal = ["0.4 m3/min", "0 %"] }
co2_efficiency = { choice = ["86 %"] }
water_efficiency = "20 %"

[control.cabin]
oxygen = { hold = "19.4 kPa" }

[efforts.calm]
co2 = "0.9 kg/d"
oxygen = "0.8 kg/d"
vapour = "1.5 kg/d"

[efforts.busy]
co2 = { normal = ["2.2 kg/d", "0 kg/d"] }
oxygen = "2 kg/d"
vapour = "3 kg/d"

[crew.one]
idle = "calm"

[[tasks]]
id = "work"
crew = ["one"]
effort = "busy"
in = "lock"
at = "1 h"
duration = { lognormal = ["70 min", "0 %"] }
repeat = { every = "3 h", times = 3 }

[[limits.rule]]
id = "co2"
quantity = "co2"
average = "1 h"
at_most = "3 mmHg"
source = "this test"
"#;

#[test]
fn spreads_without_width_make_every_variation_the_run() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let file = folder.path().join("no-width.toml");
    std::fs::write(&file, NO_WIDTH).expect("a file");
    let run = job("run", &file, &[]);
    assert_eq!(run.code, 0, "{}", run.err);
    let margin = run.limit("co2", "margin").as_f64().expect("a margin");
    let vary = job("vary", &file, &["--runs", "70"]);
    assert_eq!(vary.code, 0, "{}", vary.err);
    for quantile in ["0.01", "0.05", "0.5", "0.95"] {
        let found = vary.limit("co2", "margin_quantiles")[quantile].as_f64();
        assert_eq!(found.map(f64::to_bits), Some(margin.to_bits()), "{quantile}");
    }
    // Every row, not only what the summary makes of them.
    let mut table = csv::Reader::from_path(vary.file("variations.csv")).expect("variations.csv");
    let headers = table.headers().expect("headers").clone();
    let columns: Vec<usize> = (0..headers.len())
        .filter(|&n| headers[n].contains("margin [") || headers[n].contains("worst ["))
        .collect();
    assert_eq!(columns.len(), 2);
    let rows: Vec<csv::StringRecord> = table.records().map(|row| row.expect("a row")).collect();
    assert_eq!(rows.len(), 70);
    for row in &rows {
        for &n in &columns {
            assert_eq!(row[n], rows[0][n]);
            let value: f64 = row[n].parse().expect("a number");
            let key = if headers[n].contains("margin") {
                "margin"
            } else {
                "worst"
            };
            let told = run.limit("co2", key).as_f64().expect("a number");
            assert!((value - told).abs() <= 1e-14 * told.abs(), "{value} {told}");
        }
    }
}

#[test]
fn threads_change_no_byte_of_a_busy_week() {
    let file = std::path::PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../scenarios/reference-week.toml");
    let tables: Vec<Vec<u8>> = ["1", "2", "3"]
        .map(|threads| {
            let job = job("vary", &file, &["--runs", "7", "--threads", threads]);
            assert!(matches!(job.code, 0 | 3), "{}", job.err);
            std::fs::read(job.file("variations.csv")).expect("variations.csv")
        })
        .into();
    assert!(tables[0].len() > 1000);
    assert_eq!(tables[0], tables[1]);
    assert_eq!(tables[0], tables[2]);
}

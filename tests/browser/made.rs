//! Results whose reports are looked at: each job is run once, in-process, for all tests.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, OnceLock};

use serde_json::Value;

use super::browser::Browser;

/// A folder of results.
#[derive(Clone, Debug)]
pub struct Made {
    folder: PathBuf,
}

/// A table of results.
#[derive(Clone, Debug)]
pub struct Table {
    headers: Vec<String>,
    rows: Vec<Vec<String>>,
}

/// Two crew, three days: one run on the medians, with its figures.
pub fn sortie() -> Made {
    made("sortie", &["run", &scenario("two-crew-sortie"), "--figures"])
}

/// The same, varied.
pub fn sorties() -> Made {
    made("sorties", &["vary", &scenario("two-crew-sortie"), "--runs", "80"])
}

/// A sortie with tanks, suits and a lock, where people breathe what is no modelled air.
pub fn lock() -> Made {
    made("lock", &["run", &scenario("lock-sortie")])
}

/// A scrubber that degrades: variations of which some cross limits.
pub fn degraded() -> Made {
    made("degraded", &["vary", &scenario("degraded-scrubber"), "--runs", "64"])
}

/// The same, its devices degraded at their worst moments.
pub fn stress() -> Made {
    made("stress", &["stress", &scenario("degraded-scrubber"), "--onsets", "24"])
}

/// The trade that ships, on as few variations as keep a margin at the gate.
pub fn trade() -> Made {
    made(
        "trade",
        &["trade", &scenario("trades/crew-by-duration"), "--runs", "60"],
    )
}

/// A small trade with a front, and a row that cannot be.
pub fn rooms() -> Made {
    made("rooms", &["trade", &beside("rooms.toml")])
}

/// How small a sealed cabin may be.
pub fn size() -> Made {
    let what = ["--what", "compartments.cabin.free_volume", "--keep", "co2"];
    made(
        "size",
        &[&["size", &beside("../scenarios/size/sealed.toml")], &what[..]].concat(),
    )
}

/// How small a flow may be over an efficiency.
pub fn boundary() -> Made {
    let what = [
        "--what",
        "removal.scrubber.flow",
        "--keep",
        "co2",
        "--over",
        "removal.scrubber.co2_efficiency=70 %,85 %,100 %",
    ];
    made(
        "boundary",
        &[&["size", &beside("../scenarios/size/steady.toml")], &what[..]].concat(),
    )
}

/// Spreads of timed tasks.
pub fn times() -> Made {
    made("times", &["fit", "tasks", &laboratory("times.csv")])
}

/// What a bench is to deliver to a scrubber.
pub fn profile() -> Made {
    let bench = [
        "--device",
        "scrubber",
        "--bench",
        &laboratory("bench.toml"),
        "--scale",
        "25 %",
    ];
    made(
        "profile",
        &[&["profile", &scenario("two-crew-sortie")], &bench[..]].concat(),
    )
}

/// A canister fitted to a bench test, and another test foretold.
pub fn fitted() -> Made {
    let into = [
        "--into",
        &scenario("degraded-scrubber"),
        "--device",
        "backup",
        "--no-write",
    ];
    let held_out = ["--scale", "25 %", "--held-out", &laboratory("canister-held-out.csv")];
    let data = laboratory("canister.csv");
    made(
        "fitted",
        &[&["fit", "device", &data], &into[..], &held_out[..]].concat(),
    )
}

/// A detector on few runs and two faults.
pub fn watched() -> Made {
    let few = ["--tune", "20", "--held-out", "20", "--runs", "4", "--every", "5 min"];
    let faults = ["--fault", "scrubber.capacity", "--fault", "cabin.leak"];
    made(
        "watched",
        &[&["watch", &scenario("degraded-scrubber")], &few[..], &faults[..]].concat(),
    )
}

/// A file of the laboratory.
fn laboratory(name: &str) -> String {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../scenarios/laboratory");
    folder.join(name).display().to_string()
}

/// A scenario that ships.
pub fn scenario(name: &str) -> String {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../scenarios");
    folder.join(name).with_extension("toml").display().to_string()
}

/// A file beside this one.
fn beside(name: &str) -> String {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("browser");
    folder.join(name).display().to_string()
}

/// Runs `breathroom WORDS --quiet --out (a folder of this name)`, unless that has been done.
///
/// # Panics
/// If there are no results, or they have no report.
pub fn made(name: &str, words: &[&str]) -> Made {
    static DONE: OnceLock<Mutex<BTreeMap<String, &'static OnceLock<Made>>>> = OnceLock::new();
    let one: &'static OnceLock<Made> = {
        let mut done = DONE.get_or_init(Mutex::default).lock().expect("no panic inside");
        done.entry(name.to_owned()).or_insert_with(|| Box::leak(Box::default()))
    };
    one.get_or_init(|| job(name, words)).clone()
}

fn job(name: &str, words: &[&str]) -> Made {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("reports").join(name);
    if folder.exists() {
        fs::remove_dir_all(&folder).expect("results of an earlier time");
    }
    fs::create_dir_all(folder.parent().expect("has one")).expect("a folder");
    let out_folder = folder.display().to_string();
    let words = [&["breathroom"], words, &["--quiet", "--out", &out_folder]].concat();
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let code = breathroom_analysis::cli::main_with(&words, &mut out, &mut err);
    let made = Made { folder };
    assert!(
        [0, 1, 3].contains(&code) && made.report().is_file(),
        "{words:?} ended with {code}: {}",
        String::from_utf8_lossy(&err)
    );
    made
}

impl Made {
    /// A file of the results.
    pub fn file(&self, name: &str) -> PathBuf {
        self.folder.join(name)
    }

    /// The report.
    pub fn report(&self) -> PathBuf {
        self.file("report.html")
    }

    /// A table.
    pub fn table(&self, name: &str) -> Table {
        let mut reader = csv::Reader::from_path(self.file(name)).unwrap_or_else(|error| panic!("{name}: {error}"));
        let headers = reader.headers().expect("headers").iter().map(str::to_owned).collect();
        let rows = reader
            .records()
            .map(|row| row.expect("whole").iter().map(str::to_owned).collect());
        Table {
            headers,
            rows: rows.collect(),
        }
    }

    /// `summary.json`.
    pub fn summary(&self) -> Value {
        let text = fs::read_to_string(self.file("summary.json")).expect("a summary");
        serde_json::from_str(&text).expect("JSON")
    }

    /// A browser with the report.
    pub fn opened(&self) -> Browser {
        let browser = Browser::start();
        browser.open(&self.report());
        browser
    }
}

impl Table {
    /// The headers, in order.
    pub fn headers(&self) -> &[String] {
        &self.headers
    }

    /// How many rows it has.
    pub fn rows(&self) -> usize {
        self.rows.len()
    }

    /// A column.
    ///
    /// # Panics
    /// If there is none.
    pub fn words(&self, header: &str) -> Vec<&str> {
        let at = self.headers.iter().position(|other| other == header);
        let at = at.unwrap_or_else(|| panic!("no column {header}; there are {:?}", self.headers));
        self.rows.iter().map(|row| row[at].as_str()).collect()
    }

    /// A column of numbers; what is empty is none.
    pub fn numbers(&self, header: &str) -> Vec<f64> {
        let number = |text: &str| match text {
            "" => f64::NAN,
            text => text.parse().unwrap_or_else(|_| panic!("{text} in {header}")),
        };
        self.words(header).into_iter().map(number).collect()
    }

    /// The rows in which these columns have these words.
    pub fn of(&self, wanted: &[(&str, &str)]) -> Self {
        let columns: Vec<(Vec<&str>, &str)> = wanted
            .iter()
            .map(|(header, word)| (self.words(header), *word))
            .collect();
        let is_wanted = |row: usize| columns.iter().all(|(column, word)| column[row] == *word);
        let rows = (0..self.rows())
            .filter(|&row| is_wanted(row))
            .map(|row| self.rows[row].clone());
        Self {
            headers: self.headers.clone(),
            rows: rows.collect(),
        }
    }

    /// Two columns as points.
    pub fn points(&self, x: &str, y: &str) -> Vec<(f64, f64)> {
        self.numbers(x).into_iter().zip(self.numbers(y)).collect()
    }

    /// The pairs of words that two columns have, each once, in order.
    pub fn pairs(&self, one: &str, other: &str) -> Vec<(&str, &str)> {
        let mut pairs = Vec::new();
        for pair in self.words(one).into_iter().zip(self.words(other)) {
            if !pairs.contains(&pair) {
                pairs.push(pair);
            }
        }
        pairs
    }
}

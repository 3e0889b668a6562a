//! What a scenario reads as, on small files.

use super::*;

fn no_files(name: &str) -> Result<Vec<u8>, String> {
    Err(format!("no file {name}"))
}

fn read_text(text: &str, overrides: &[&str]) -> Result<Scenario, Vec<Diagnostic>> {
    let overrides: Vec<String> = overrides.iter().map(|o| (*o).to_owned()).collect();
    read(&Source { name: "a.toml", text, overrides: &overrides, files: &no_files })
}

fn told(faults: &[Diagnostic]) -> String {
    faults.iter().map(Diagnostic::render).collect()
}

fn good(text: &str, overrides: &[&str]) -> Scenario {
    read_text(text, overrides).unwrap_or_else(|faults| panic!("{}", told(&faults)))
}

#[test]
fn the_starter_reads() {
    let scenario = good(&starter(), &[]);
    assert_eq!(scenario.names.compartments, ["cabin", "lock"]);
}

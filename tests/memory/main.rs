//! What a variation allocates once the engine is warm: nothing.
//!
//! A target of its own, for its allocator counts for the whole process; one test, so that no other thread counts with it.

use std::alloc::System;

use breathroom_analysis::chance::Streams;
use breathroom_analysis::study::Simulate as _;
use breathroom_sim::engine::{Engine, Outcome};
use breathroom_sim::scenario::{Drawn, Scenario, Source, read};
use stats_alloc::{INSTRUMENTED_SYSTEM, Region, StatsAlloc};

#[global_allocator]
static ALLOCATOR: &StatsAlloc<System> = &INSTRUMENTED_SYSTEM;

/// Variations that warm it up, and again as many that are new to it.
const WARM: u64 = 6;

fn shipped(name: &str) -> Scenario {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../scenarios/").to_owned() + name;
    let text = std::fs::read_to_string(path).expect("a shipped scenario");
    let source = Source {
        name,
        text: &text,
        overrides: &[],
        files: &|file| Err(format!("{file} is not read here")),
    };
    read(&source).unwrap_or_else(|faults| panic!("{faults:?}"))
}

/// Allocations while the variations are drawn and run.
fn allocations(scenario: &Scenario, variations: std::ops::Range<u64>, buffers: &mut (Engine, Drawn, Outcome)) -> usize {
    let streams = Streams::new(1, &scenario.paths());
    let (engine, drawn, outcome) = buffers;
    let region = Region::new(ALLOCATOR);
    for k in variations {
        scenario.draw_into(&streams.variation(k), drawn);
        engine.run_into(&drawn.case, None, outcome).expect("a run");
    }
    let change = region.change();
    change.allocations + change.reallocations
}

#[test]
fn a_warm_engine_allocates_nothing() {
    for name in ["reference-week.toml", "two-crew-sortie.toml", "sealed-refuge.toml"] {
        let scenario = shipped(name);
        let mut buffers = Default::default();
        // What is counted is there to be counted.
        assert!(allocations(&scenario, 0..WARM, &mut buffers) > 100, "{name}");
        assert_eq!(allocations(&scenario, 0..WARM, &mut buffers), 0, "{name}: again");
        // A variation that needs more of something than any before makes room for it, once.
        let fresh = allocations(&scenario, WARM..2 * WARM, &mut buffers);
        assert!(fresh < 40 * WARM as usize, "{name}: {fresh} in {WARM} that are new");
        assert_eq!(
            allocations(&scenario, 0..2 * WARM, &mut buffers),
            0,
            "{name}: all again"
        );
    }
}

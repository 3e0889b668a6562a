//! How time grows: with variations, with events, with compartments. A line is asked; what is printed is the time of each size over that
//! of a line through the others' middle, so that 1.00 is on it.
//!
//! `cargo bench -p breathroom-benches --bench scaling`. All from one run, sizes in turn, the middle of the rounds.

use std::fmt::Write as _;
use std::hint::black_box;
use std::time::Instant;

use breathroom_benches::{Hashed, read_text, reference_week};
use breathroom_sim::engine::{Engine, Outcome};
use breathroom_sim::scenario::{Drawn, Scenario};

/// Rounds of which the middle time is taken.
const ROUNDS: usize = 9;
/// Days over which the events are spread, few to many.
const DAYS: [usize; 4] = [2, 4, 8, 16];
/// Compartments, one to the most.
const ROOMS: [usize; 5] = [1, 2, 4, 6, 8];
/// Variations.
const VARIATIONS: [u64; 4] = [4, 8, 16, 32];

/// People who rise, work and sleep in `rooms` compartments for `days` days; every compartment but the first has its own device and
/// someone's work in it, so that events and limits grow with them.
fn days_in_rooms(days: usize, rooms: usize) -> Scenario {
    let mut text = format!(
        "format = 1\ntitle = \"{rooms} rooms, {days} days\"\nduration = \"{days} d\"\n[air]\npressure = \"101.3 kPa\"\noxygen = \"21 %\"\n\
         co2 = \"0.5 mmHg\"\nhumidity = \"40 %\"\ntemperature = \"22 degC\"\n[limits]\nuse = [\"surface-sortie\"]\n"
    );
    for room in 0..rooms {
        let _ = write!(
            text,
            "[compartments.room{room}]\nfree_volume = {{ normal = [\"12 m3\", \"0.3 m3\"], within = [\"10 m3\", \"14 m3\"] }}\n\
             [removal.device{room}]\nkind = \"flow-through\"\nserves = \"room{room}\"\nflow = \"0.5 m3/min\"\nco2_efficiency = \"80 %\"\n\
             water_efficiency = \"40 %\"\n[control.room{room}]\noxygen = {{ hold = \"21 kPa\" }}\n[crew.person{room}]\nhome = \"room{room}\"\n\
             [[tasks]]\nid = \"sleep{room}\"\ncrew = [\"person{room}\"]\neffort = \"sleep\"\nin = \"room{room}\"\nat = \"0 h\"\n\
             duration = {{ lognormal = [\"8 h\", \"5 %\"] }}\nrepeat = {{ every = \"24 h\", times = {days} }}\n"
        );
        for task in 0..12 {
            let after = if task == 0 { format!("sleep{room}") } else { format!("work{room}-{}", task - 1) };
            let effort = ["nominal", "rest", "maintenance", "meal"][task % 4];
            let _ = write!(
                text,
                "[[tasks]]\nid = \"work{room}-{task}\"\ncrew = [\"person{room}\"]\neffort = \"{effort}\"\nin = \"room{room}\"\n\
                 after = [\"{after}\"]\nduration = {{ lognormal = [\"50 min\", \"20 %\"] }}\nrepeat = {{ every = \"24 h\", times = {days} }}\n"
            );
        }
        if room > 0 {
            let _ = write!(
                text,
                "[openings.door{room}]\nbetween = [\"room{}\", \"room{room}\"]\nexchange = \"3 m3/min\"\nopen = true\n",
                room - 1
            );
        }
    }
    read_text(&text)
}

/// Something timed: its size in the number that time should be a line of.
struct Sized {
    name: String,
    size: f64,
    work: Box<dyn FnMut()>,
}

fn runs(scenario: Scenario, variations: u64) -> (u64, Box<dyn FnMut()>) {
    let (mut engine, mut drawn, mut outcome) = (Engine::new(), Drawn::default(), Outcome::default());
    let mut all = move || {
        let mut events = 0;
        for k in 0..variations {
            scenario.draw_into(&Hashed(k + 1), &mut drawn);
            engine.run_into(&drawn.case, None, &mut outcome).expect("it runs");
            events += black_box(&outcome).counters.events;
        }
        events
    };
    // Warm.
    let events = all();
    (
        events,
        Box::new(move || {
            black_box(all());
        }),
    )
}

fn compare(title: &str, mut all: Vec<Sized>) {
    let mut times = vec![Vec::new(); all.len()];
    for _ in 0..ROUNDS {
        for (sized, times) in all.iter_mut().zip(&mut times) {
            let start = Instant::now();
            (sized.work)();
            times.push(start.elapsed().as_secs_f64());
        }
    }
    let each: Vec<f64> = times
        .iter_mut()
        .zip(&all)
        .map(|(times, sized)| {
            times.sort_by(f64::total_cmp);
            times[ROUNDS / 2] / sized.size
        })
        .collect();
    let mut sorted = each.clone();
    sorted.sort_by(f64::total_cmp);
    let middle = 0.5 * (sorted[(sorted.len() - 1) / 2] + sorted[sorted.len() / 2]);
    println!("{title}");
    for (sized, each) in all.iter().zip(&each) {
        println!("  {:<28} {:10.2} us each, {:.2} of the middle", sized.name, each * 1e6, each / middle);
    }
}

fn main() {
    // `cargo bench -- --test` only asks whether it runs.
    let short = std::env::args().any(|argument| argument == "--test");
    let cut = |n: usize| if short { 1 } else { n };
    let variations = VARIATIONS.iter().take(cut(VARIATIONS.len())).map(|&n| Sized {
        name: format!("{n} variations"),
        size: n as f64,
        work: runs(reference_week(), n).1,
    });
    compare("the reference week, time for a variation", variations.collect());
    let events = DAYS.iter().take(cut(DAYS.len())).map(|&days| {
        let (events, work) = runs(days_in_rooms(days, 2), 1);
        Sized {
            name: format!("{events} events in {days} days"),
            size: events as f64,
            work,
        }
    });
    compare("two rooms, time for an event", events.collect());
    let rooms = ROOMS.iter().take(cut(ROOMS.len())).map(|&rooms| Sized {
        name: format!("{rooms} compartments"),
        size: rooms as f64,
        work: runs(days_in_rooms(4, rooms), 1).1,
    });
    compare("four days, time for a compartment and its person", rooms.collect());
}

//! How time grows: with variations, with events, with compartments.
//!
//! `cargo bench -p breathroom-benches --bench scaling`. All from one run, sizes in turn, the middle of the rounds. Beside each time stands
//! what it is of the straight line from the smallest size to the largest (for variations and events: of the line through nothing that
//! fits all best), so that 1.00 is on it.

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
/// Compartments, up to the most. One alone stays out of the line: nothing is joined, so there is no bulk flow, and time is a
/// fraction of that of two.
const ROOMS: [usize; 4] = [2, 4, 6, 8];
/// Variations.
const VARIATIONS: [u64; 4] = [4, 8, 16, 32];

/// Two people who sleep, work and rest for `days` days, one in the first of `rooms` compartments in a row and one in the last; each
/// compartment has its own device.
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
             water_efficiency = \"40 %\"\n[control.room{room}]\noxygen = {{ hold = \"21 kPa\" }}\n"
        );
        if room > 0 {
            let _ = write!(
                text,
                "[openings.door{room}]\nbetween = [\"room{}\", \"room{room}\"]\nexchange = \"3 m3/min\"\nopen = true\n",
                room - 1
            );
        }
    }
    for (person, room) in [0, rooms - 1].into_iter().enumerate() {
        let _ = write!(
            text,
            "[crew.person{person}]\nhome = \"room{room}\"\n[[tasks]]\nid = \"sleep{person}\"\ncrew = [\"person{person}\"]\neffort = \"sleep\"\n\
             in = \"room{room}\"\nat = \"0 h\"\nduration = {{ lognormal = [\"8 h\", \"5 %\"] }}\nrepeat = {{ every = \"24 h\", times = {days} }}\n"
        );
        let mut after = format!("sleep{person}");
        for task in 0..12 {
            let effort = ["nominal", "rest", "maintenance", "meal"][task % 4];
            let _ = write!(
                text,
                "[[tasks]]\nid = \"work{person}-{task}\"\ncrew = [\"person{person}\"]\neffort = \"{effort}\"\nin = \"room{room}\"\n\
                 after = [\"{after}\"]\nduration = {{ lognormal = [\"50 min\", \"20 %\"] }}\nrepeat = {{ every = \"24 h\", times = {days} }}\n"
            );
            after = format!("work{person}-{task}");
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

/// What the sizes are held against.
#[derive(Clone, Copy)]
enum Line {
    /// The line through nothing that fits best.
    ThroughNothing,
    /// That from the first size to the last.
    FirstToLast,
}

fn compare(title: &str, line: Line, mut all: Vec<Sized>) {
    let mut rounds = vec![Vec::new(); all.len()];
    for _ in 0..ROUNDS {
        for (sized, times) in all.iter_mut().zip(&mut rounds) {
            let start = Instant::now();
            (sized.work)();
            times.push(start.elapsed().as_secs_f64());
        }
    }
    let times: Vec<f64> = rounds
        .iter_mut()
        .map(|times| {
            times.sort_by(f64::total_cmp);
            times[ROUNDS / 2]
        })
        .collect();
    let (first, last) = (0, all.len() - 1);
    let on_line = |size: f64| match line {
        Line::ThroughNothing => {
            let each: f64 = times.iter().zip(&all).map(|(time, sized)| time / sized.size).sum();
            size * each / all.len() as f64
        }
        Line::FirstToLast if first == last => times[first],
        Line::FirstToLast => {
            let part = (size - all[first].size) / (all[last].size - all[first].size);
            times[first] + part * (times[last] - times[first])
        }
    };
    println!("{title}");
    for (sized, time) in all.iter().zip(&times) {
        println!(
            "  {:<28} {:10.3} ms, {:.2} of the line",
            sized.name,
            time * 1e3,
            time / on_line(sized.size)
        );
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
    compare(
        "the reference week, variations",
        Line::ThroughNothing,
        variations.collect(),
    );
    let events = DAYS.iter().take(cut(DAYS.len())).map(|&days| {
        let (events, work) = runs(days_in_rooms(days, 2), 1);
        Sized {
            name: format!("{events} events in {days} days"),
            size: events as f64,
            work,
        }
    });
    compare("two rooms, events", Line::ThroughNothing, events.collect());
    let rooms = ROOMS.iter().take(cut(ROOMS.len())).map(|&rooms| Sized {
        name: format!("{rooms} compartments"),
        size: rooms as f64,
        work: runs(days_in_rooms(4, rooms), 1).1,
    });
    compare("four days, compartments", Line::FirstToLast, rooms.collect());
}

//! A piece as bytes and back, bit for bit.
//!
//! Whole numbers and the bits of floating-point numbers, little-endian, one after the other without padding: the counters; of
//! each variation how it ended; the inputs; of each limit worst, when, margin, first crossing, time beyond; what stores
//! hold. Courses are kept apart, so that they can be read one series at a time.

use breathroom_sim::air::Species;
use breathroom_sim::engine::{Counters, End, RuleOutcome};
use breathroom_sim::units::Time;

use crate::study::{Ended, Piece};

/// In place of a first crossing that never came: no run starts 292 years before its start.
const NEVER: i64 = i64::MIN;

/// Appends all but the courses.
pub fn encode(piece: &Piece, out: &mut Vec<u8>) {
    let Counters {
        events,
        segments,
        crossings,
        passes,
        modes,
        steps,
        rejected_steps,
        ruled_out,
        looked_into,
    } = piece.counters;
    let counters = [
        events,
        segments,
        crossings,
        passes,
        modes,
        steps,
        rejected_steps,
        ruled_out,
        looked_into,
    ];
    for count in counters {
        out.extend(count.to_le_bytes());
    }
    for end in &piece.ends {
        encode_end(end, out);
    }
    floats(&piece.values, out);
    for rule in &piece.rules {
        out.extend(rule.worst.to_bits().to_le_bytes());
        out.extend(rule.at.0.to_le_bytes());
        out.extend(rule.margin.to_bits().to_le_bytes());
        out.extend(rule.first_crossing.map_or(NEVER, |at| at.0).to_le_bytes());
        out.extend(rule.beyond_s.to_bits().to_le_bytes());
    }
    floats(&piece.stores, out);
}

/// Appends the courses.
pub fn encode_courses(piece: &Piece, out: &mut Vec<u8>) {
    for value in &piece.courses {
        out.extend(value.to_bits().to_le_bytes());
    }
}

fn floats(values: &[f64], out: &mut Vec<u8>) {
    for value in values {
        out.extend(value.to_bits().to_le_bytes());
    }
}

fn encode_end(end: &Ended, out: &mut Vec<u8>) {
    let mut put = |tag: u8, at: Time, one: usize, two: usize| {
        out.push(tag);
        out.extend(at.0.to_le_bytes());
        out.extend((one as u64).to_le_bytes());
        out.extend((two as u64).to_le_bytes());
    };
    match end {
        Ended::Run(End::Completed) => out.push(0),
        Ended::Run(End::OxygenFloor {
            at,
            compartment,
            person,
        }) => put(1, *at, *compartment, *person),
        Ended::Run(End::Exhausted {
            at,
            compartment,
            species,
        }) => put(2, *at, *compartment, *species as usize),
        Ended::Failed(why) => {
            out.push(3);
            out.extend((why.len() as u64).to_le_bytes());
            out.extend(why.as_bytes());
        }
    }
}

/// Fills a piece, which has its place made, from bytes; `None` if they are not those of such a piece. Courses stay unknown.
#[must_use]
pub fn decode(mut bytes: &[u8], piece: &mut Piece) -> Option<()> {
    let from = &mut bytes;
    let Counters {
        events,
        segments,
        crossings,
        passes,
        modes,
        steps,
        rejected_steps,
        ruled_out,
        looked_into,
    } = &mut piece.counters;
    let counters = [
        events,
        segments,
        crossings,
        passes,
        modes,
        steps,
        rejected_steps,
        ruled_out,
        looked_into,
    ];
    for count in counters {
        *count = whole(from)?;
    }
    for end in &mut piece.ends {
        *end = decode_end(from)?;
    }
    for value in &mut piece.values {
        *value = float(from)?;
    }
    for rule in &mut piece.rules {
        *rule = RuleOutcome {
            worst: float(from)?,
            at: time(from)?,
            margin: float(from)?,
            first_crossing: Some(time(from)?).filter(|at| at.0 != NEVER),
            beyond_s: float(from)?,
        };
    }
    for value in &mut piece.stores {
        *value = float(from)?;
    }
    from.is_empty().then_some(())
}

fn decode_end(from: &mut &[u8]) -> Option<Ended> {
    let (&tag, rest) = from.split_first()?;
    *from = rest;
    Some(match tag {
        0 => Ended::Run(End::Completed),
        1 => Ended::Run(End::OxygenFloor {
            at: time(from)?,
            compartment: index(from)?,
            person: index(from)?,
        }),
        2 => Ended::Run(End::Exhausted {
            at: time(from)?,
            compartment: index(from)?,
            species: *Species::ALL.get(index(from)?)?,
        }),
        3 => {
            let len = index(from)?;
            let text = from.get(..len)?;
            *from = &from[len..];
            Ended::Failed(std::str::from_utf8(text).ok()?.to_owned())
        }
        _ => return None,
    })
}

fn whole(from: &mut &[u8]) -> Option<u64> {
    let (number, rest) = from.split_first_chunk::<8>()?;
    *from = rest;
    Some(u64::from_le_bytes(*number))
}

fn index(from: &mut &[u8]) -> Option<usize> {
    whole(from).and_then(|number| usize::try_from(number).ok())
}

fn float(from: &mut &[u8]) -> Option<f64> {
    whole(from).map(f64::from_bits)
}

fn time(from: &mut &[u8]) -> Option<Time> {
    whole(from).map(|number| Time(number as i64))
}

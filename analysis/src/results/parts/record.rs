//! A piece as bytes and back, bit for bit.
//!
//! Whole numbers and the bits of floating-point numbers, little-endian, one after the other without padding: the counters; of
//! each variation how it ended, then of each when; the inputs; of each limit worst, when, margin, first crossing, time beyond; what stores
//! hold; of each fault when it began; of each alarm when it first came on, its trips, false trips, occasions, those missed, the first
//! occasion, time on; of the responses to each alarm those called, done, given up, when the first was done, how long it took. Courses are kept apart, so that they can be read one series at a time.

use breathroom_sim::air::Species;
use breathroom_sim::engine::{AlarmOutcome, End, RuleOutcome};
use breathroom_sim::units::Time;

use crate::study::{Ended, Piece, Responded};

/// In place of a time that never came: no run starts 292 years before its start.
const NEVER: i64 = i64::MIN;

/// Appends all but the courses.
pub fn encode(piece: &Piece, out: &mut Vec<u8>) {
    let mut counters = piece.counters;
    for count in counters.each() {
        out.extend(count.to_le_bytes());
    }
    for end in &piece.ends {
        encode_end(end, out);
    }
    for at in &piece.ended_at {
        out.extend(at.0.to_le_bytes());
    }
    floats(&piece.values, out);
    for rule in &piece.rules {
        out.extend(rule.worst.to_bits().to_le_bytes());
        out.extend(rule.at.0.to_le_bytes());
        out.extend(rule.margin.to_bits().to_le_bytes());
        moment(rule.first_crossing, out);
        out.extend(rule.beyond_s.to_bits().to_le_bytes());
    }
    floats(&piece.stores, out);
    for began in &piece.began {
        moment(*began, out);
    }
    for of in &piece.alarms {
        moment(of.first_on, out);
        for count in [of.trips, of.false_trips, of.occasions, of.missed] {
            out.extend(count.to_le_bytes());
        }
        moment(of.first_occasion, out);
        out.extend(of.on_s.to_bits().to_le_bytes());
    }
    for of in &piece.responded {
        for count in [of.called, of.done, of.given_up] {
            out.extend(count.to_le_bytes());
        }
        moment(of.first_done, out);
        moment(of.first_took, out);
    }
}

fn moment(at: Option<Time>, out: &mut Vec<u8>) {
    out.extend(at.map_or(NEVER, |at| at.0).to_le_bytes());
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
    for count in piece.counters.each() {
        *count = whole(from)?;
    }
    for end in &mut piece.ends {
        *end = decode_end(from)?;
    }
    for at in &mut piece.ended_at {
        *at = time(from)?;
    }
    for value in &mut piece.values {
        *value = float(from)?;
    }
    for rule in &mut piece.rules {
        *rule = RuleOutcome {
            worst: float(from)?,
            at: time(from)?,
            margin: float(from)?,
            first_crossing: perhaps(from)?,
            beyond_s: float(from)?,
        };
    }
    for value in &mut piece.stores {
        *value = float(from)?;
    }
    for began in &mut piece.began {
        *began = perhaps(from)?;
    }
    for of in &mut piece.alarms {
        *of = AlarmOutcome {
            first_on: perhaps(from)?,
            trips: count(from)?,
            false_trips: count(from)?,
            occasions: count(from)?,
            missed: count(from)?,
            first_occasion: perhaps(from)?,
            on_s: float(from)?,
        };
    }
    for of in &mut piece.responded {
        *of = Responded {
            called: count(from)?,
            done: count(from)?,
            given_up: count(from)?,
            first_done: perhaps(from)?,
            first_took: perhaps(from)?,
        };
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

fn count(from: &mut &[u8]) -> Option<u32> {
    let (number, rest) = from.split_first_chunk::<4>()?;
    *from = rest;
    Some(u32::from_le_bytes(*number))
}

/// A time that may never have come.
fn perhaps(from: &mut &[u8]) -> Option<Option<Time>> {
    time(from).map(|at| (at.0 != NEVER).then_some(at))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::study::Shape;

    /// Every kind of end, and numbers that compare with nothing, come back as the same bits.
    #[test]
    fn pieces_come_back_bit_for_bit() {
        let mut piece = Piece::new(Shape {
            inputs: 1,
            limits: 1,
            tanks: 1,
            devices: 0,
            series: 0,
            faults: 2,
            alarms: 1,
        });
        piece.reset(64..68);
        piece.counters.looked_into = u64::MAX;
        piece.ends = vec![
            Ended::Run(End::Completed),
            Ended::Run(End::OxygenFloor {
                at: Time(-5),
                compartment: 3,
                person: 1,
            }),
            Ended::Run(End::Exhausted {
                at: Time::NEVER,
                compartment: 0,
                species: Species::Diluent,
            }),
            Ended::Failed("at 1 h: `t\u{fc}r`".to_owned()),
        ];
        piece.ended_at = [9, -5, i64::MAX, 0].map(Time).to_vec();
        let odd = f64::from_bits(0xfff8_0000_0000_1234);
        piece.values = vec![odd, f64::NEG_INFINITY, -0.0, 5e-324];
        piece.stores = vec![f64::INFINITY, 0.1 + 0.2, odd, 1.0];
        piece.rules[1] = RuleOutcome {
            worst: odd,
            at: Time(7),
            margin: -0.0,
            first_crossing: Some(Time::ZERO),
            beyond_s: 1e300,
        };
        piece.began[3] = Some(Time(-1));
        piece.alarms[2] = AlarmOutcome {
            first_on: Some(Time::ZERO),
            trips: 1,
            false_trips: u32::MAX,
            occasions: 3,
            missed: 4,
            first_occasion: None,
            on_s: odd,
        };
        piece.responded[1] = Responded {
            called: 5,
            done: 6,
            given_up: 7,
            first_done: Some(Time(8)),
            first_took: None,
        };
        let (mut bytes, mut again) = (Vec::new(), Vec::new());
        encode(&piece, &mut bytes);
        let mut back = Piece::new(piece.shape);
        back.reset(64..68);
        assert!(decode(&bytes, &mut back).is_some());
        encode(&back, &mut again);
        assert_eq!(bytes, again);
        assert_eq!((&back.ends, &back.ended_at), (&piece.ends, &piece.ended_at));
        assert_eq!(back.values[0].to_bits(), odd.to_bits());
        assert_eq!(
            (back.rules[0].first_crossing, back.rules[1].first_crossing),
            (None, Some(Time::ZERO))
        );
        assert_eq!((&back.began, &back.responded), (&piece.began, &piece.responded));
        assert_eq!(back.alarms[2].on_s.to_bits(), odd.to_bits());
        assert_eq!(
            (back.alarms[2].false_trips, back.alarms[2].first_on),
            (u32::MAX, Some(Time::ZERO))
        );
        // Too short, too long, or with a kind of end that there is not: not such a piece.
        assert!(decode(&bytes[..bytes.len() - 1], &mut back).is_none());
        assert!(decode(&[&bytes[..], &[0]].concat(), &mut back).is_none());
        bytes[72] = 9;
        assert!(decode(&bytes, &mut back).is_none());
    }
}

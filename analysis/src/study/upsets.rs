//! What the variations say of faults, alarms and responses: in how many, and when.
//!
//! Equation: a share is k of n, k the variations in which something was so at least once, n those that ended: of one that
//! failed nothing is known of its alarms, and it is in neither. Times are one to a variation, of those in which there is one;
//! the delay of an alarm is its first coming on less the moment at which the first occasion had lasted as long as its
//! persistence (below 0: it came on before).
//! Symbols: shares without unit; times in s.
//! Source: intervals by [`method::interval`], from what each replicate of the design has counted.
//! Valid for all designs. Left out: intervals of the quantiles of times.

use breathroom_sim::engine::ResponseOutcome;
use breathroom_sim::units::Time;

use super::judge::QUANTILES;
use super::method;
use super::piece::{Piece, Shape};
use super::tally::CONFIDENCE;
use crate::chance::Design;
use crate::stats::sample::{Gathering, Sample};

/// Times that are kept of an alarm in a variation: its first coming on, its delay, its response.
pub(super) const TIMES: usize = 3;

/// What became of the responses to one alarm in one variation.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Responded {
    /// How often people were called.
    pub called: u32,
    /// Of these, responses that were done.
    pub done: u32,
    /// Of these, responses that were given up.
    pub given_up: u32,
    /// When the first that was done was done.
    pub first_done: Option<Time>,
    /// How long that took from its alarm.
    pub first_took: Option<Time>,
}

impl Responded {
    /// Adds the response that came next.
    pub(super) fn add(&mut self, of: &ResponseOutcome) {
        self.called += 1;
        self.given_up += u32::from(of.failed);
        if let Some(done) = of.done {
            self.done += 1;
            if self.first_done.is_none() {
                (self.first_done, self.first_took) = (Some(done), Some(done - of.tripped));
            }
        }
    }
}

/// Variations in which something was so.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Share {
    /// How many.
    pub count: u64,
    /// Over those that ended; not a number if none did.
    pub share: f64,
    /// Its two-sided 95 % interval.
    pub interval_95: [f64; 2],
}

/// When something happened, in the variations in which it did.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Times {
    /// How many these are.
    pub count: u64,
    /// Quantiles at [`QUANTILES`], s; not numbers if there are none.
    pub quantiles_s: [f64; QUANTILES.len()],
}

/// What the variations say of faults, alarms and responses.
#[derive(Clone, Debug, PartialEq)]
pub struct UpsetStatistics {
    /// Variations that ended: what the shares are of.
    pub ended: u64,
    /// Of each fault, variations in which it began.
    pub faults: Vec<Share>,
    /// Of each alarm.
    pub alarms: Vec<AlarmStatistics>,
    /// Of the responses to each alarm.
    pub responses: Vec<ResponseStatistics>,
}

/// One alarm over all variations.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AlarmStatistics {
    /// It came on.
    pub came_on: Share,
    /// It came on falsely at least once.
    pub falsely: Share,
    /// There was an occasion at least once.
    pub occasion: Share,
    /// It missed an occasion at least once.
    pub missed: Share,
    /// When it first came on.
    pub first_on: Times,
    /// How long after the first occasion, where there are both.
    pub delay: Times,
}

/// The responses to one alarm over all variations.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ResponseStatistics {
    /// People were called.
    pub called: Share,
    /// They were called, and every response was done.
    pub done: Share,
    /// A response was given up.
    pub given_up: Share,
    /// How long the first that was done took from its alarm.
    pub took: Times,
}

/// Counts and times of the variations so far, in order.
#[derive(Clone, Debug, Default)]
pub(super) struct Upsets {
    design: Design,
    /// By replicate of the design, variations that ended.
    ended: Vec<u64>,
    faults: Vec<Vec<u64>>,
    alarms: Vec<AlarmTally>,
}

/// The part of one alarm and of the responses to it: by replicate, variations in which something was so, and times, s.
#[derive(Clone, Debug)]
struct AlarmTally {
    /// Came on, falsely, an occasion, a missed one; called, all done, given up.
    counts: [Vec<u64>; 7],
    /// First on, delay, from alarm to done.
    times: [Vec<Gathering>; TIMES],
}

impl Upsets {
    /// Of no variations.
    pub fn new(shape: Shape, exact: bool, design: Design) -> Self {
        let replicates = design.replicates() as usize;
        let none = || vec![0; replicates];
        let alarm = || AlarmTally {
            counts: std::array::from_fn(|_| none()),
            times: std::array::from_fn(|_| vec![Gathering::new(exact); replicates]),
        };
        Self {
            design,
            ended: none(),
            faults: (0..shape.faults).map(|_| none()).collect(),
            alarms: (0..shape.alarms).map(|_| alarm()).collect(),
        }
    }

    /// Adds those that come next.
    pub fn add(&mut self, piece: &Piece) {
        for i in 0..piece.len() {
            if piece.end(i).is_err() {
                continue;
            }
            let replicate = self.design.replicate_of(piece.first + i as u64) as usize;
            self.ended[replicate] += 1;
            for (counts, began) in self.faults.iter_mut().zip(piece.began(i)) {
                counts[replicate] += u64::from(began.is_some());
            }
            let alarms = piece.alarms(i).iter().zip(piece.responded(i));
            for (tally, (alarm, responded)) in self.alarms.iter_mut().zip(alarms) {
                let so = [
                    alarm.first_on.is_some(),
                    alarm.false_trips > 0,
                    alarm.occasions > 0,
                    alarm.missed > 0,
                    responded.called > 0,
                    responded.called > 0 && responded.done == responded.called,
                    responded.given_up > 0,
                ];
                for (counts, so) in tally.counts.iter_mut().zip(so) {
                    counts[replicate] += u64::from(so);
                }
                let delay = alarm.first_on.zip(alarm.first_occasion).map(|(on, from)| on - from);
                let times = [alarm.first_on, delay, responded.first_took];
                for (gathered, time) in tally.times.iter_mut().zip(times) {
                    if let Some(time) = time {
                        gathered[replicate].add(time.seconds());
                    }
                }
            }
        }
    }

    /// What they say.
    pub fn into_statistics(self) -> UpsetStatistics {
        let Self {
            design,
            ended,
            faults,
            alarms,
        } = self;
        let all: u64 = ended.iter().sum();
        let share = |counts: &Vec<u64>| {
            let count: u64 = counts.iter().sum();
            let with: Vec<(u64, u64)> = counts.iter().copied().zip(ended.iter().copied()).collect();
            Share {
                count,
                share: count as f64 / all as f64,
                interval_95: method::interval(design, &with, CONFIDENCE),
            }
        };
        let of = |tally: AlarmTally| {
            let [came_on, falsely, occasion, missed, called, done, given_up] = tally.counts.each_ref().map(share);
            let [first_on, delay, took] = tally.times.map(times);
            let alarm = AlarmStatistics {
                came_on,
                falsely,
                occasion,
                missed,
                first_on,
                delay,
            };
            let response = ResponseStatistics {
                called,
                done,
                given_up,
                took,
            };
            (alarm, response)
        };
        let (alarms, responses) = alarms.into_iter().map(of).unzip();
        UpsetStatistics {
            ended: all,
            faults: faults.iter().map(share).collect(),
            alarms,
            responses,
        }
    }
}

fn times(gathered: Vec<Gathering>) -> Times {
    let samples: Vec<Sample> = gathered.into_iter().map(Gathering::into_sample).collect();
    Times {
        count: samples.iter().map(Sample::len).sum(),
        quantiles_s: QUANTILES.map(|p| method::quantile(&samples, p)),
    }
}

#[cfg(test)]
mod tests {
    use breathroom_sim::engine::{AlarmOutcome, End};

    use super::super::Ended;
    use super::*;
    use crate::stats::proportion;

    fn seconds(s: f64) -> Option<Time> {
        Some(Time::from_seconds(s))
    }

    /// Variations 0 .. 64 in which the alarm comes on at 100 s + k unless k is a multiple of 8, of which every other one has an
    /// occasion, which it misses; the last failed.
    fn piece() -> Piece {
        let mut piece = Piece::new(Shape {
            alarms: 1,
            faults: 2,
            ..Shape::default()
        });
        piece.reset(0..64);
        for k in 0..64 {
            piece.ends[k] = Ended::Run(End::Completed);
            piece.began[2 * k] = seconds(5.0);
            let on = !k.is_multiple_of(8);
            let occasions = u32::from(on || k.is_multiple_of(16));
            piece.alarms[k] = AlarmOutcome {
                first_on: if on { seconds(100.0 + k as f64) } else { None },
                trips: u32::from(on),
                false_trips: u32::from(k == 3),
                occasions,
                missed: u32::from(!on) * occasions,
                first_occasion: if occasions > 0 { seconds(110.0) } else { None },
                on_s: 0.0,
            };
        }
        piece.ends[63] = Ended::Failed("no".to_owned());
        piece
    }

    fn gathered(design: Design) -> UpsetStatistics {
        let piece = piece();
        let mut upsets = Upsets::new(piece.shape, true, design);
        upsets.add(&piece);
        upsets.into_statistics()
    }

    #[test]
    fn shares_are_of_the_variations_that_ended_and_times_of_those_that_have_one() {
        let of = gathered(Design::Plain);
        assert_eq!(of.ended, 63);
        assert_eq!([of.faults[0].count, of.faults[1].count], [63, 0]);
        let alarm = &of.alarms[0];
        let counts = [alarm.came_on, alarm.falsely, alarm.occasion, alarm.missed].map(|share| share.count);
        assert_eq!(counts, [55, 1, 59, 4]);
        assert_eq!(alarm.missed.share, 4.0 / 63.0);
        assert_eq!(alarm.missed.interval_95, proportion::interval(4, 63, 0.95));
        assert_eq!((alarm.first_on.count, alarm.delay.count), (55, 55));
        // 101 .. 162 s but for the multiples of 8: the median is the 28th, of k = 31.
        assert_eq!(alarm.first_on.quantiles_s[3], 131.0);
        assert_eq!(alarm.delay.quantiles_s[3], 21.0);
        assert!(alarm.delay.quantiles_s[0] < 0.0, "it came on before the first occasion");
    }

    #[test]
    fn other_designs_count_the_same_and_have_intervals_of_their_replicates() {
        let (plain, sobol) = (gathered(Design::Plain), gathered(Design::Sobol));
        let missed = |of: &UpsetStatistics| of.alarms[0].missed;
        assert_eq!(missed(&plain).count, missed(&sobol).count);
        assert_ne!(missed(&plain).interval_95, missed(&sobol).interval_95);
        assert_eq!(plain.alarms[0].first_on, sobol.alarms[0].first_on);
    }

    #[test]
    fn a_response_counts_as_done_if_every_one_was() {
        let response = |tripped, done: Option<Time>, failed| ResponseOutcome {
            tripped: Time::from_seconds(tripped),
            done,
            failed,
            ..ResponseOutcome::default()
        };
        let mut piece = piece();
        for (k, responses) in [
            vec![response(10.0, seconds(70.0), false)],
            vec![response(10.0, None, true), response(100.0, seconds(150.0), false)],
            vec![response(10.0, None, false)],
        ]
        .iter()
        .enumerate()
        {
            responses.iter().for_each(|of| piece.responded[k].add(of));
        }
        let mut upsets = Upsets::new(piece.shape, true, Design::Plain);
        upsets.add(&piece);
        let of = upsets.into_statistics().responses[0];
        assert_eq!([of.called, of.done, of.given_up].map(|share| share.count), [3, 1, 1]);
        assert_eq!((of.took.count, of.took.quantiles_s[3]), (2, 55.0));
        assert_eq!(piece.responded[1].first_done, seconds(150.0));
    }

    #[test]
    fn without_variations_that_ended_nothing_is_said() {
        let upsets = Upsets::new(
            Shape {
                alarms: 1,
                faults: 1,
                ..Shape::default()
            },
            true,
            Design::Plain,
        );
        let of = upsets.into_statistics();
        assert!(of.faults[0].share.is_nan() && of.alarms[0].first_on.quantiles_s[3].is_nan());
        assert_eq!(of.faults[0].interval_95, [0.0, 1.0]);
    }
}

//! Where regulators and relief valves stand at the start of a segment.

use crate::air::Regulation;
use crate::units::Time;

use super::Case;
use super::mode::Mode;
use super::state::Stocks;
use super::trace::{Entry, Event, Trace};

/// A quantity within this fraction of its set point is at it.
const AT_SET_POINT: f64 = 1e-12;

/// How a hold stands at the start of a segment.
pub(crate) struct Standing {
    /// It lets gas in.
    pub flows: bool,
    /// All that it can.
    pub full: bool,
    /// It may: its quantity is at the set point, and it was not left at this very instant.
    pub may_flow: bool,
}

/// Where a regulator stands with its quantity at `is` and its set point at `set`, Pa; `was` flowing and full; `left` at this very
/// instant.
pub(crate) fn regulated(by: Regulation, is: f64, set: f64, noise: f64, was: (bool, bool), left: bool) -> Standing {
    let at = is <= set * (1.0 + AT_SET_POINT) + noise;
    match by {
        Regulation::Ideal => Standing {
            flows: at && (was.0 || !left),
            full: false,
            may_flow: at && !left,
        },
        Regulation::Limited { .. } => {
            // One that lets in all it can does so until its quantity rises above the set point.
            let below = is < set * (1.0 - AT_SET_POINT) - noise || (was.1 && at);
            Standing {
                flows: at && (was.0 || !left),
                full: below,
                may_flow: at && !below && !left,
            }
        }
        Regulation::Band { width_pa, .. } => {
            let on = is <= (set - width_pa) * (1.0 + AT_SET_POINT) || (was.1 && is < set);
            Standing {
                flows: on,
                full: on,
                may_flow: false,
            }
        }
        Regulation::Proportional { .. } => Standing {
            flows: false,
            full: false,
            may_flow: false,
        },
    }
}

/// Opens and closes relief valves whose pressure is beyond their set points.
pub(crate) fn settle_reliefs(case: &Case, mode: &mut Mode, stocks: &Stocks, now: Time, mut trace: Option<&mut Trace>) {
    for (compartment, spec) in case.compartments.iter().enumerate() {
        let Some(relief) = spec.relief else { continue };
        let pressure = stocks.pressure(compartment);
        let opened = if mode.relief[compartment] {
            pressure > relief.closes_pa
        } else {
            pressure > relief.opens_pa * (1.0 + AT_SET_POINT)
        };
        if opened != mode.relief[compartment] {
            mode.relief[compartment] = opened;
            if let Some(trace) = trace.as_deref_mut() {
                trace.log.push(Entry {
                    at: now,
                    event: Event::Relief { compartment, opened },
                });
            }
        }
    }
}

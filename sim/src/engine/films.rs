//! Which surfaces are wet at the start of a segment.

use crate::units::Time;

use super::Case;
use super::accuracy::{ALONG, allowed_at_end};
use super::indices::WATER;
use super::mode::{Mode, SURFACES};
use super::state::Stocks;
use super::system::System;
use super::trace::{Entry, Event, Trace};

/// A film of more than this, mol, is there even if vapour does not exceed saturation: a suit that is put on again has kept it.
const KEPT_MOL: f64 = 1e-9;

/// Wets surfaces that vapour exceeds and dries those without a film.
pub(crate) fn settle_films(
    case: &Case,
    mode: &mut Mode,
    system: &System,
    stocks: &mut Stocks,
    now: Time,
    mut trace: Option<&mut Trace>,
) {
    for (a, compartment) in case.compartments.iter().enumerate().filter(|&(a, _)| !mode.inert[a]) {
        for (s, surface) in compartment.surfaces.iter().enumerate().take(SURFACES) {
            let (vapour, saturation) = (stocks.p[WATER][a], stocks.saturation_pa(case, a, surface));
            let wet = &mut mode.wet[a][s];
            // Where saturation goes with a temperature, it is known as well as a step is.
            let warm = if compartment.heat.is_some() {
                4.0 * ALONG * allowed_at_end(saturation)
            } else {
                0.0
            };
            let noise = system.noise_pa(saturation).max(warm);
            let left = stocks.film_mol[a][s] > KEPT_MOL;
            let event = if !*wet && (vapour > saturation + noise || left) {
                *wet = true;
                Event::FilmBegan {
                    compartment: a,
                    surface: s,
                }
            } else if *wet && stocks.film_mol[a][s] <= 0.0 && vapour < saturation - noise {
                *wet = false;
                dry(system, stocks, a, s);
                Event::FilmDried {
                    compartment: a,
                    surface: s,
                }
            } else {
                continue;
            };
            if let Some(trace) = trace.as_deref_mut() {
                trace.log.push(Entry { at: now, event });
            }
        }
    }
}

/// What is left of a film that has dried, a rounding of zero, goes back to the vapour.
pub(crate) fn dry(system: &System, stocks: &mut Stocks, a: usize, s: usize) {
    stocks.p[WATER][a] += stocks.film_mol[a][s] / system.capacity[a];
    stocks.film_mol[a][s] = 0.0;
}

//! When a surface gets wet, and when its film has gone.

use super::super::course::Piece;
use super::super::indices::WATER;
use super::super::search::{Level, Stock, first_above, first_below};
use super::super::segment::Sum;
use super::super::whole::{Follows, Maker, Plumbing};
use super::{Exit, Watch};

/// A film thinner than this is gone, mol (2e-11 kg).
const FILM_BAND_MOL: f64 = 1e-9;

impl Watch<'_> {
    pub(super) fn surfaces(&mut self) {
        let inert = self.view.mode.inert;
        let rooms = self.view.case.compartments.iter().enumerate();
        for (a, compartment) in rooms.filter(|&(a, _)| !inert[a]) {
            let vapour = self.view.ranges.p[WATER][a];
            for (s, surface) in compartment.surfaces.iter().enumerate() {
                if let Some((plumbing, maker)) = self.view.whole
                    && (plumbing.follows(a, surface.kind) != Follows::Fixed || self.view.mode.wet[a][s])
                {
                    self.warm_surface(plumbing, maker, a, s);
                    continue;
                }
                let saturation = surface.saturation_pa;
                if !self.view.mode.wet[a][s] {
                    if vapour.hi > saturation {
                        let level = self.level(saturation);
                        self.rises(&Sum::partial(WATER, a), level, Exit::Film(a, s, true));
                    }
                    continue;
                }
                let film = self.view.stocks.film_mol[a][s];
                let least = film
                    + surface.conductance_mol_s_pa * (vapour.lo - saturation).min(0.0) * self.view.segment.length_s;
                if least < -FILM_BAND_MOL {
                    let mut sum = Sum {
                        constant: -surface.conductance_mol_s_pa * saturation,
                        ..Sum::default()
                    };
                    sum.p[WATER][a] = surface.conductance_mol_s_pa;
                    self.view.segment.course(&sum, self.course);
                    self.dries(a, s, film);
                }
            }
        }
    }

    /// A surface whose saturation goes with a temperature, or any wet one in a segment integrated whole.
    fn warm_surface(&mut self, plumbing: &Plumbing, maker: &Maker, a: usize, s: usize) {
        let segment = self.view.segment;
        let surface = &self.view.case.compartments[a].surfaces[s];
        if let Some(tap) = plumbing.film_tap[a][s] {
            let film = self.view.stocks.film_mol[a][s];
            if film + maker.range(segment, tap).lo.min(0.0) * segment.length_s >= -FILM_BAND_MOL {
                return;
            }
            self.course.clear();
            maker.add_course(segment, tap, 1.0, self.course);
            self.dries(a, s, film);
            return;
        }
        // Dry: what vapour exceeds saturation by.
        self.course.clear();
        for (step, heat) in segment.steps.iter().zip(&segment.heat) {
            let poly = match plumbing.follows(a, surface.kind) {
                Follows::Wall => heat.over_wall_pa[a],
                _ => heat.over_air_pa[a],
            };
            self.course.pieces.push(Piece {
                from_s: step.from_s,
                length_s: step.length_s,
                poly,
            });
        }
        let level = Level {
            at: 0.0,
            band: self.view.system.noise_pa(surface.saturation_pa),
        };
        let horizon = self.horizon();
        let t = first_above(&*self.course, level, 0.0, horizon, self.work);
        self.found(t, Exit::Film(a, s, true));
    }

    /// Looks for when a film of `film_mol` has gone, which grows by what the course says, mol/s.
    fn dries(&mut self, a: usize, s: usize, film_mol: f64) {
        let horizon = self.horizon();
        let stock = Stock {
            start: film_mol,
            rate: self.course,
        };
        let level = Level {
            at: 0.0,
            band: FILM_BAND_MOL,
        };
        let t = first_below(&stock, level, 0.0, horizon, self.work);
        self.found(t, Exit::Film(a, s, false));
    }
}

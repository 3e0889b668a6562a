//! Lays out what is connected in the present mode.

use crate::air::{GAS_CONSTANT_J_MOL_K, MOST, Place, Regulation, Species};
use crate::removal::Removal;
use crate::timeline::{Effect, Pace, SuitUse};

use super::super::Case;
use super::super::indices::OXYGEN;
use super::super::mode::{Knee, Mode, SURFACES};
use super::super::people::Crew;
use super::super::scene::suit_source;
use super::super::state::Stocks;
use super::super::system::add_people;
use super::super::transfer::pressure_of;
use super::super::watch::WHOLE_BAND_MOL_S;
use super::parts::{
    Feed, FeedLaw, Film, Gas, Group, Held, Join, Levelling, Orifice, SuitValve, Taker, Valve, Wait, Worn, tap,
};
use super::plumbing::Plumbing;
use super::redone::{Redone, Standing, law, numbers_of};
use crate::upset::Target;

impl Plumbing {
    /// Lays out the present mode.
    pub fn lay(case: &Case, mode: &Mode, crew: &Crew, stocks: &Stocks) -> Self {
        let n = case.compartments.len();
        let mut out = Self {
            n,
            taps: tap::FIRST,
            live: [true; MOST],
            void: mode.void,
            drifts: mode.drifts.clone(),
            outside_pa: case.outside.partial_pa.iter().sum(),
            ..Self::default()
        };
        for (a, compartment) in case.compartments.iter().enumerate() {
            out.per_k[a] = compartment.volume_m3 / GAS_CONSTANT_J_MOL_K;
            out.fixed_k[a] = stocks.temperature_k[a];
            out.leak_m3_s[a] = compartment.leak_m3_s;
            out.leak_drift[a] = out.drift_of(Target::Leak(a));
        }
        for a in 0..n {
            out.live[a] = !mode.inert[a];
        }
        out.size = 4 * n;
        out.lay_states(case);
        out.lay_people(case, crew, stocks);
        out.lay_groups(case, mode, crew);
        out.lay_devices(case, mode);
        out.lay_films(case, mode);
        out.lay_orifices(case, mode);
        out.lay_holds(case, mode);
        out.lay_suits(case, mode, crew, stocks);
        out.lay_transfers(case, mode);
        for group in &mut out.groups {
            group.grow();
        }
        out
    }

    /// The drift that a number is under.
    fn drift_of(&self, target: Target) -> Option<usize> {
        self.drifts.iter().position(|drift| drift.target == target)
    }

    fn taps(&mut self, count: usize) -> usize {
        self.taps += count;
        self.taps - count
    }

    fn states(&mut self, count: usize) -> usize {
        self.size += count;
        self.size - count
    }

    fn lay_states(&mut self, case: &Case) {
        for (a, compartment) in case.compartments.iter().enumerate() {
            if let (Some(heat), true) = (&compartment.heat, self.live[a]) {
                self.air_state[a] = Some(self.states(1));
                if heat.wall.is_some() {
                    self.wall_state[a] = Some(self.states(1));
                }
            }
        }
    }

    fn lay_people(&mut self, case: &Case, crew: &Crew, stocks: &Stocks) {
        add_people(case, crew, stocks, &mut self.source, &mut self.dying);
        for person in crew.by_size(case) {
            let doing = &crew.people[person];
            if let Place::Compartment(a) = doing.air {
                self.people_w[a] += doing.target(case, person).sensible_w;
            }
        }
    }

    fn lay_groups(&mut self, case: &Case, mode: &Mode, crew: &Crew) {
        let mut joins = Vec::new();
        for (index, (opening, &open)) in case.openings.iter().zip(&mode.open).enumerate() {
            let drift = self.drift_of(Target::Exchange(index));
            match opening.between {
                [Place::Compartment(a), Place::Compartment(b)] if open => joins.push(Join {
                    a,
                    b,
                    exchange_m3_s: opening.exchange_m3_s,
                    drift,
                    tap: self.taps(1),
                }),
                [Place::Compartment(a), Place::Outside] | [Place::Outside, Place::Compartment(a)] if open => {
                    self.outs.push((a, opening.exchange_m3_s, drift));
                }
                _ => {}
            }
        }
        for suit in &case.suits {
            let doing = &crew.people[suit.wearer];
            if let (SuitUse::Ventilated, Place::Compartment(a)) = (doing.suit, doing.place) {
                joins.push(Join {
                    a,
                    b: suit.compartment,
                    exchange_m3_s: suit.ventilation_m3_s,
                    drift: None,
                    tap: self.taps(1),
                });
            }
        }
        let mut group: [usize; MOST] = std::array::from_fn(|a| a);
        for _ in 0..self.n {
            for join in &joins {
                let low = group[join.a].min(group[join.b]);
                (group[join.a], group[join.b]) = (low, low);
            }
        }
        for first in (0..self.n).filter(|&a| group[a] == a && self.live[a] && !self.void[a]) {
            let members: Vec<usize> = (0..self.n).filter(|&a| group[a] == first).collect();
            for &a in &members {
                self.group_of[a] = self.groups.len();
            }
            self.groups.push(Group {
                members,
                joins: joins.iter().filter(|join| group[join.a] == first).copied().collect(),
                ..Group::default()
            });
        }
    }

    fn lay_devices(&mut self, case: &Case, mode: &Mode) {
        for (d, device) in case.devices.iter().enumerate() {
            self.device_tap.push(None);
            self.held_state.push(None);
            let a = device.serves;
            let still = mode.factor(case, d) == 0.0 && !(mode.on[d] && mode.device_drifts(d) && self.live[a]);
            if still || self.void[a] {
                continue;
            }
            let tap = self.taps(3);
            let held = match &device.removal {
                Removal::Sorbent { .. } => 1,
                Removal::SwingBed(_) => 4,
                _ => 0,
            };
            let state = self.states(held);
            if held > 0 {
                self.held_state[d] = Some(state);
            }
            let one_way = mode.coil_drifts(case, d);
            let mut piece = mode.piece[d];
            if one_way {
                piece[1] = 1;
            }
            let standing = Standing {
                factor: mode.turn_factor(case, d),
                piece,
                at_k: case.compartments[a].temperature_k,
                state,
                turn: mode.beds_turn[d],
                one_way,
            };
            let numbers = numbers_of(&mode.drifts, d);
            let redo = (!numbers.is_empty()).then(|| {
                self.redone.push(Redone {
                    device: device.clone(),
                    standing,
                    numbers,
                });
                self.redone.len() - 1
            });
            self.device_tap[d] = Some(tap);
            self.takers.push(Taker {
                a,
                tap,
                power_w: device.power_w,
                law: law(device, &standing),
                redo,
            });
        }
    }

    fn lay_films(&mut self, case: &Case, mode: &Mode) {
        for (a, compartment) in case.compartments.iter().enumerate() {
            for (s, surface) in compartment.surfaces.iter().enumerate().take(SURFACES) {
                if !mode.wet[a][s] || !self.live[a] {
                    continue;
                }
                let tap = self.taps(1);
                self.film_tap[a][s] = Some(tap);
                self.films.push(Film {
                    a,
                    conductance: surface.conductance_mol_s_pa,
                    saturation_pa: surface.saturation_pa,
                    follows: self.follows(a, surface.kind),
                    tap,
                });
            }
        }
    }

    fn lay_orifices(&mut self, case: &Case, mode: &Mode) {
        for (a, compartment) in case.compartments.iter().enumerate() {
            if self.void[a] || !self.live[a] {
                continue;
            }
            let leak_drift = self.drift_of(Target::LeakArea(a));
            let mut orifice = |area_m2: f64, tap: usize| {
                self.orifices.push(Orifice {
                    a,
                    b: None,
                    area_m2,
                    drift: leak_drift.filter(|_| tap == tap::LEAK),
                    tap,
                    also: None,
                    one_way: tap == tap::RELIEF,
                });
            };
            if compartment.leak_area_m2 > 0.0 || leak_drift.is_some() {
                orifice(compartment.leak_area_m2, tap::LEAK);
            }
            if let (Some(relief), true) = (compartment.relief, mode.relief[a]) {
                orifice(relief.area_m2, tap::RELIEF);
            }
        }
    }

    fn lay_holds(&mut self, case: &Case, mode: &Mode) {
        self.oxygen_tap.resize(case.holds.len(), None);
        self.pressure_tap.resize(case.holds.len(), None);
        for (index, hold) in case.holds.iter().enumerate() {
            let c = hold.compartment;
            if let (Some(set_pa), true) = (hold.oxygen_pa, mode.oxygen_works(case, index)) {
                let full = mode.oxygen_full[index];
                self.lay_wait(
                    c,
                    hold.oxygen_by,
                    (mode.oxygen_flows[index], full),
                    mode.oxygen_knee[index],
                    set_pa,
                    true,
                );
                if mode.oxygen_flows[index] && !full {
                    let tap = self.taps(1);
                    self.oxygen_tap[index] = Some(tap);
                    self.oxygen_held[c] = true;
                    self.held.push(Held { compartment: c, tap });
                } else if let Some(law) = feed_law(hold.oxygen_by, full, mode.oxygen_knee[index], true, set_pa) {
                    let tap = self.taps(1);
                    self.oxygen_tap[index] = Some(tap);
                    self.feeds.push(Feed {
                        compartment: c,
                        species: OXYGEN,
                        tap,
                        law,
                    });
                }
            }
            let governs = mode.governing_hold(case, mode.group[c]) == Some(index);
            if let (Some(set_pa), true) = (hold.pressure_pa, governs) {
                let gas = hold.pressure_from.map_or(Species::Diluent, |tank| case.tanks[tank].gas) as usize;
                let full = mode.pressure_full[index];
                self.lay_wait(
                    c,
                    hold.pressure_by,
                    (mode.pressure_flows[index], full),
                    mode.pressure_knee[index],
                    set_pa,
                    false,
                );
                if mode.pressure_flows[index] && !full {
                    let tap = self.taps(1);
                    self.pressure_tap[index] = Some(tap);
                    self.groups[self.group_of[c]].valve = Some(Valve {
                        inlet: c,
                        ramp_pa_s: 0.0,
                        gas: Gas::Hold(gas),
                        tap,
                    });
                } else if let Some(law) = feed_law(hold.pressure_by, full, mode.pressure_knee[index], false, set_pa) {
                    let tap = self.taps(1);
                    self.pressure_tap[index] = Some(tap);
                    self.feeds.push(Feed {
                        compartment: c,
                        species: gas,
                        tap,
                        law,
                    });
                }
            }
        }
    }

    /// What a hold waits for; one that flows takes the next tap.
    fn lay_wait(
        &mut self,
        a: usize,
        by: Regulation,
        (flows, full): (bool, bool),
        knee: Knee,
        set_pa: f64,
        oxygen: bool,
    ) {
        let pressure = |up: bool, at_pa: f64| Wait::Pressure { a, oxygen, up, at_pa };
        let wait = match by {
            Regulation::Proportional { .. } => {
                let ways_out = knee.ways_out(by, set_pa).into_iter().flatten();
                self.waits.extend(ways_out.map(|(up, at_pa, _)| pressure(up, at_pa)));
                return;
            }
            _ if full => pressure(true, set_pa),
            Regulation::Band { width_pa, .. } => pressure(false, set_pa - width_pa),
            _ if flows => Wait::Flow {
                tap: self.taps,
                least: -WHOLE_BAND_MOL_S,
                most: match by {
                    Regulation::Limited { most_mol_s } => most_mol_s + WHOLE_BAND_MOL_S,
                    _ => f64::INFINITY,
                },
            },
            _ => pressure(false, set_pa),
        };
        self.waits.push(wait);
    }

    fn lay_suits(&mut self, case: &Case, mode: &Mode, crew: &Crew, stocks: &Stocks) {
        for (index, suit) in case.suits.iter().enumerate() {
            let doing = &crew.people[suit.wearer];
            if matches!(doing.suit, SuitUse::Off | SuitUse::Ventilated) {
                self.suit_tap.push(None);
                continue;
            }
            let room = match doing.place {
                Place::Compartment(a) if !self.void[a] => Some(a),
                _ => None,
            };
            let tank = suit_source(case, mode, index, doing.place);
            let own = self.taps(1);
            self.suit_tap.push(Some(own));
            let supplied = tank.is_none_or(|tank| !mode.dry[tank]);
            let through = self.taps(1);
            self.waits.push(Wait::Flow {
                tap: through,
                least: -WHOLE_BAND_MOL_S,
                most: f64::INFINITY,
            });
            self.worn.push(Worn {
                suit: index,
                s: suit.compartment,
                room,
                valve: match (supplied, mode.suit_relieves[index]) {
                    (_, true) => SuitValve::Relieving,
                    (true, false) => SuitValve::Supplying,
                    (false, false) => SuitValve::Closed,
                },
                leak_m3_s: suit.leak_m3_s,
                purge_mol_s: if doing.suit == SuitUse::Purged && supplied {
                    suit.purge_mol_s
                } else {
                    0.0
                },
                above_pa: doing.suit.held_above_pa(suit),
                around_pa: pressure_of(case, stocks, doing.place),
                lost: match doing.place {
                    Place::Outside => tap::LEAK,
                    Place::Compartment(_) => tap::VENT,
                },
                tap: own,
                through,
            });
        }
    }

    fn lay_transfers(&mut self, case: &Case, mode: &Mode) {
        for running in &mode.transfers {
            let first = self.taps(4);
            self.transfer_tap.push(first);
            match running.effect {
                Effect::Vent {
                    compartment,
                    pace: Pace::Through(area_m2),
                    ..
                } => self.orifices.push(Orifice {
                    drift: None,
                    a: compartment,
                    b: None,
                    area_m2,
                    tap: first,
                    also: Some(tap::VENT),
                    one_way: true,
                }),
                Effect::Vent { compartment, .. } => {
                    self.groups[self.group_of[compartment]].valve = Some(Valve {
                        inlet: compartment,
                        ramp_pa_s: running.ramp_pa_s,
                        gas: Gas::Vent,
                        tap: first,
                    });
                }
                Effect::Fill {
                    compartment,
                    pace,
                    oxygen,
                    ..
                } => {
                    let mut parts = [0.0; 4];
                    parts[OXYGEN] = oxygen;
                    parts[Species::Diluent as usize] = 1.0 - oxygen;
                    for &a in &self.groups[self.group_of[compartment]].members {
                        self.filled_with[a] = parts;
                    }
                    match pace {
                        Pace::At(flow) => self.fills.push((compartment, parts, flow, first)),
                        _ => {
                            self.groups[self.group_of[compartment]].valve = Some(Valve {
                                inlet: compartment,
                                ramp_pa_s: running.ramp_pa_s,
                                gas: Gas::Fill(parts),
                                tap: first,
                            });
                        }
                    }
                }
                Effect::Equalise { opening, pace } => {
                    let [a, b] = case.openings[opening].between.map(|place| match place {
                        Place::Compartment(a) => Some(a),
                        Place::Outside => None,
                    });
                    if let Pace::Through(area_m2) = pace {
                        let (a, b) = match (a, b) {
                            (Some(a), b) => (a, b),
                            (None, Some(b)) => (b, None),
                            (None, None) => continue,
                        };
                        self.orifices.push(Orifice {
                            drift: None,
                            a,
                            b,
                            area_m2,
                            tap: first,
                            also: b.is_none().then_some(tap::LEAK),
                            one_way: false,
                        });
                    } else {
                        self.levellings.push(Levelling {
                            a,
                            b,
                            ramp_pa_s: running.ramp_pa_s,
                            tap: first,
                            lost: (a.is_none() || b.is_none()).then_some(tap::LEAK),
                        });
                    }
                }
                _ => {}
            }
        }
    }
}

/// What a regulator that does not hold lets in, if anything.
fn feed_law(by: Regulation, full: bool, knee: Knee, oxygen: bool, set_pa: f64) -> Option<FeedLaw> {
    match by {
        Regulation::Limited { most_mol_s } if full => Some(FeedLaw::Steady(most_mol_s)),
        Regulation::Band { flow_mol_s, .. } if full => Some(FeedLaw::Steady(flow_mol_s)),
        Regulation::Proportional {
            gain_mol_s_pa,
            most_mol_s,
        } => match knee {
            Knee::Rests => None,
            Knee::Follows => Some(FeedLaw::Proportional {
                oxygen,
                set_pa,
                gain: gain_mol_s_pa,
            }),
            Knee::Most => Some(FeedLaw::Steady(most_mol_s)),
        },
        _ => None,
    }
}

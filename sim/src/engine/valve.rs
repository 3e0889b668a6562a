//! The flow that a hold needs, as a linear function of the state: the multiplier of its mode.
//!
//! ```text
//! oxygen hold in c:      v = -s_c(t) + G_c p_c - sum_b g_cb (p_b - p_c) - (bulk inflow of oxygen)
//! pressure hold:         w = -(sum of S_a over the joined group)
//! ```
//!
//! Both in mol/s. While a hold flows its quantity stands still, and its flow must not be negative (gas is added, never taken):
//! the pair is a complementarity, left when the flow reaches zero and entered when the quantity falls to the set point.
//! Symbols as in `system`; `S_a` is the net molar production of compartment `a`.

use super::indices::{CO2, DILUENT, OXYGEN, WATER};
use super::segment::Sum;
use super::system::{PressureLaw, System};

/// Flow of the oxygen valve in compartment `c`, mol/s.
pub(crate) fn oxygen_flow(system: &System, c: usize) -> Sum {
    let mut sum = Sum {
        constant: -system.source[OXYGEN][c],
        ..Sum::default()
    };
    sum.p[OXYGEN][c] += system.sink[OXYGEN][c];
    sum.dying[OXYGEN][c] = -1.0;
    add_exchange(system, c, -1.0, &mut sum);
    sum.oxygen_inflow[c] = -1.0;
    sum
}

/// Flow of the diluent valve that holds a group's pressure, mol/s; where the group drifts, what it would need.
pub(crate) fn diluent_flow(system: &System, group: usize) -> Sum {
    let mut sum = Sum::default();
    for a in (0..system.n).filter(|&a| system.group[a] == group) {
        sum.constant -= system.source[DILUENT][a];
        sum.p[DILUENT][a] += system.sink[DILUENT][a];
        for i in [CO2, WATER] {
            take_production(system, i, a, &mut sum);
        }
        if system.oxygen_held[a].is_some() {
            // The valve there cancels use, sinks and all; what it adds to the group is what flows on to its neighbours.
            add_exchange(system, a, 1.0, &mut sum);
            sum.oxygen_inflow[a] += 1.0;
        } else {
            take_production(system, OXYGEN, a, &mut sum);
        }
    }
    sum
}

/// Whether a group's pressure is held now.
pub(crate) fn is_held(system: &System, group: usize) -> bool {
    matches!(system.law[group], PressureLaw::Held(_))
}

fn take_production(system: &System, i: usize, a: usize, sum: &mut Sum) {
    sum.constant -= system.source[i][a];
    sum.p[i][a] += system.sink[i][a];
    sum.dying[i][a] -= 1.0;
}

/// Adds `sign` times the exchange inflow of oxygen into `c`.
fn add_exchange(system: &System, c: usize, sign: f64, sum: &mut Sum) {
    for b in 0..system.n {
        sum.p[OXYGEN][b] += sign * system.exchange[c][b];
        sum.p[OXYGEN][c] -= sign * system.exchange[c][b];
    }
}

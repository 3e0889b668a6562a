//! Bulk flow against balances on paper.

use super::super::system::Join;
use super::*;

/// Two rooms of capacity 4 and 1 mol/Pa; the first makes 0.3 mol/s of CO2, nothing is held.
fn two_rooms() -> System {
    let mut system = System {
        n: 2,
        ..System::default()
    };
    system.capacity[0] = 4.0;
    system.capacity[1] = 1.0;
    system.group = [0; MOST];
    system.group_size[0] = 2;
    system.law = [PressureLaw::Shared(0); MOST];
    system.joins.push(Join {
        a: 0,
        b: 1,
        conductance: 0.5,
    });
    system.exchange[0][1] = 0.5;
    system.exchange[1][0] = 0.5;
    system
}

type Rooms = [[f64; 2]; 3];

fn rates(bulk: &mut Bulk, system: &System, p: &Rooms, s: &Rooms, pressure: f64) -> BulkRates<2, 1> {
    bulk.reset(system);
    again(bulk, system, p, s, pressure)
}

fn again(bulk: &mut Bulk, system: &System, p: &Rooms, s: &Rooms, pressure: f64) -> BulkRates<2, 1> {
    let one = |rooms: &Rooms| rooms.map(|species| species.map(|value| [value]));
    let at = Instants {
        p: &one(p),
        sources: &one(s),
        pressure: &[[pressure]; 2],
    };
    let mut out = BulkRates::default();
    bulk.rates(system, &at, &mut out);
    out
}

#[test]
fn what_goes_on_at_one_instant_does_not_touch_another() {
    let mut system = two_rooms();
    system.oxygen_held[0] = Some(2000.0);
    // Oxygen used in the second room, CO2 made there: flows the one way, and the other.
    let used = [[0.0; 2], [0.0; 2], [0.0, -0.1]];
    let made = [[0.0, 0.3], [0.0; 2], [0.0; 2]];
    let p = [[0.0, 400.0], [100.0; 2], [2000.0; 2]];
    let both = |one: &Rooms, other: &Rooms| -> [[[f64; 2]; 2]; 3] {
        std::array::from_fn(|i| std::array::from_fn(|a| [one[i][a], other[i][a]]))
    };
    let mut bulk = Bulk::default();
    bulk.reset(&system);
    let at = Instants {
        p: &both(&p, &p),
        sources: &both(&used, &made),
        pressure: &[[10_000.0; 2]; 2],
    };
    let mut out = BulkRates::default();
    bulk.rates(&system, &at, &mut out);
    assert!(bulk.flow[0][0] > 0.0 && bulk.flow[0][1] < 0.0);
    for (place, sources) in [used, made].iter().enumerate() {
        let alone = rates(&mut Bulk::default(), &system, &p, sources, 10_000.0);
        for i in 0..3 {
            for a in 0..2 {
                assert_eq!(out.inflow[i][a][place], alone.inflow[i][a][0]);
            }
        }
        assert_eq!(out.held_oxygen[0][place], alone.held_oxygen[0][0]);
    }
}

#[test]
fn a_source_in_one_room_lifts_both_and_its_share_flows_over() {
    let system = two_rooms();
    let p = [[400.0, 100.0], [0.0; 2], [2000.0; 2]];
    let mut s = [[0.0; 2]; 3];
    s[CO2][0] = 0.3;
    let out = rates(&mut Bulk::default(), &system, &p, &s, 10_000.0);
    // A fifth of the gas is in the second room, so a fifth of the new gas flows there, with 4 % of it CO2.
    assert!((out.inflow[CO2][1][0] - 0.06 * 0.04).abs() < 1e-15);
    assert!((out.inflow[CO2][0][0] + out.inflow[CO2][1][0]).abs() < 1e-18);
}

#[test]
fn a_tree_and_a_loop_agree_where_both_apply() {
    let mut system = two_rooms();
    let mut p = [[300.0; 2], [900.0; 2], [2000.0; 2]];
    p[OXYGEN][1] = 2100.0;
    let s = [[0.0; 2], [0.05, 0.03], [-0.02, -0.1]];
    for (oxygen, law) in [
        (None, PressureLaw::Shared(0)),
        (Some(2000.0), PressureLaw::Shared(0)),
        (Some(2000.0), PressureLaw::Held(10_000.0)),
    ] {
        system.oxygen_held[0] = oxygen;
        system.law = [law; MOST];
        let mut bulk = Bulk::default();
        let tree = rates(&mut bulk, &system, &p, &s, 10_000.0);
        bulk.shapes[0] = Shape::Looped;
        let looped = again(&mut bulk, &system, &p, &s, 10_000.0);
        for i in 0..3 {
            for a in 0..2 {
                assert!((tree.inflow[i][a][0] - looped.inflow[i][a][0]).abs() < 1e-15);
            }
        }
        assert!((tree.held_oxygen[0][0] - looped.held_oxygen[0][0]).abs() < 1e-15);
    }
}

#[test]
fn where_oxygen_is_held_the_flow_leaves_no_gas_over() {
    let mut system = two_rooms();
    system.oxygen_held[0] = Some(2000.0);
    system.law = [PressureLaw::Held(10_000.0); MOST];
    let p = [[0.0; 2], [0.0; 2], [2000.0; 2]];
    let mut s = [[0.0; 2]; 3];
    // The second room uses oxygen; the valve is in the first.
    s[OXYGEN][1] = -0.1;
    let out = rates(&mut Bulk::default(), &system, &p, &s, 10_000.0);
    // 0.1 mol/s must flow over, a fifth of it oxygen, which the oxygen valve makes up.
    assert!((out.inflow[OXYGEN][1][0] - 0.02).abs() < 1e-15);
    assert!((out.held_oxygen[0][0] + 0.02).abs() < 1e-15);
}

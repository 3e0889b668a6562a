//! What is not booked must show.

use crate::air::Compartment;
use crate::removal::{Device, Removal};

use super::*;

#[test]
fn a_flow_that_is_not_booked_shows() {
    let mut system = System {
        n: 1,
        ..System::default()
    };
    system.capacity[0] = 2.0;
    let mut stocks = Stocks::default();
    stocks.p[CO2][0] = 100.0;
    let mut ledger = Ledger::default();
    ledger.reset(&Case::default(), &system, &stocks);
    ledger.made(CO2, 50.0);
    stocks.p[CO2][0] = 125.0;
    assert!(ledger.balance(&system, &stocks).carbon.abs() < 1e-15);
    stocks.p[CO2][0] = 125.001;
    assert!(ledger.balance(&system, &stocks).carbon.abs() > 1e-6);
}

/// Solves an hour with a scrubber, books it with another flow, and gives the residual.
fn booked_with(flow_m3_s: f64) -> f64 {
    let scrubber = |flow_m3_s| Device {
        serves: 0,
        on: true,
        power_w: 0.0,
        capacity: 1.0,
        removal: Removal::FlowThrough {
            flow_m3_s,
            co2_efficiency: 0.9,
            water_efficiency: 0.2,
        },
        cycle: None,
    };
    let mut case = Case {
        compartments: vec![Compartment {
            volume_m3: 10.0,
            usable_m3: 10.0,
            temperature_k: 295.0,
            partial_pa: [400.0, 1000.0, 20_000.0, 40_000.0],
            saturation_pa: 2600.0,
            leak_m3_s: 0.0,
            surfaces: vec![],
            ..Compartment::default()
        }],
        devices: vec![scrubber(0.01)],
        towel_drying_s: 3600.0,
        ..Case::default()
    };
    let (mut mode, mut crew, mut stocks) = (Mode::default(), Crew::default(), Stocks::default());
    mode.reset(&case);
    crew.reset(&case);
    stocks.reset(&case);
    let mut system = System::default();
    system.assemble(&case, &mode, &crew, &stocks);
    let mut ledger = Ledger::default();
    ledger.reset(&case, &system, &stocks);
    let mut segment = Segment::default();
    segment.length_s = 3600.0;
    segment.begin(&system, &stocks, &mut Default::default(), 0, &[[0.0; MOST]; 3]);
    let mut integrals = Integrals {
        length_s: 3600.0,
        ..Integrals::default()
    };
    segment.integral(3600.0, &mut integrals.p);
    let mut end = [[0.0; MOST]; 4];
    segment.at(3600.0, &mut end);
    case.devices[0] = scrubber(flow_m3_s);
    ledger.book(&case, &mode, &system, &segment, &integrals, &mut stocks, &mut crew);
    stocks.p = end;
    ledger.balance(&system, &stocks).carbon.abs()
}

#[test]
fn a_wrong_coefficient_shows() {
    assert!(booked_with(0.01) < 1e-14);
    assert!(booked_with(0.01 * (1.0 + 1e-6)) > 1e-7);
}

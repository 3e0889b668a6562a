//! Laws of gas, beds and canisters, written for the reference alone: each in another form than the engine's where there is
//! one.
//!
//! Sources: orifice, isentropic flow by the Mach number (Anderson, Modern Compressible Flow, ch. 3 and 5, from memory);
//! saturation, IAPWS R7-97 equation 30 (water) and R14-08 equation 6 (ice); isotherms, Toth and Langmuir; beds, linear
//! driving force (Glueckauf 1955, from memory).

use breathroom_sim::removal::Isotherm;

/// Gas constant, J/mol/K.
pub const R: f64 = 8.314_462_618;
/// Molar heat capacities of CO2, vapour, oxygen, diluent, J/mol/K.
pub const CP: [f64; 4] = [37.1, 33.6, 29.4, 29.1];
/// Heat capacity of the gas that open openings exchange, J/mol/K.
pub const CP_EXCHANGED: f64 = 29.3;
/// Molar masses of the same, kg/mol.
pub const MASS: [f64; 4] = [0.044_009_5, 0.018_015_28, 0.031_998_8, 0.028_013_4];
/// Heat of evaporation, J/mol.
pub const EVAPORATION: f64 = 2.43e6 * MASS[1];
/// Stefan and Boltzmann's constant, W/m2/K4.
pub const RADIATION: f64 = 5.670_374_419e-8;

/// Mean of a molar property over a gas of these amounts.
pub fn mean(amounts: &[f64], of: &[f64; 4]) -> f64 {
    let total: f64 = amounts.iter().sum();
    amounts.iter().zip(of).map(|(n, v)| n * v).sum::<f64>() / total
}

/// Heat capacity ratio of a gas of these amounts.
pub fn heat_ratio(amounts: &[f64]) -> f64 {
    let cp = mean(amounts, &CP);
    cp / (cp - R)
}

/// What limits an orifice's flow.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Law {
    Choked,
    Subsonic,
    Laminar,
}

/// Pressure ratio above which an orifice's flow falls linearly to zero.
pub const LAMINAR: f64 = 0.999;

/// Pressure ratio below which the flow is choked: that of Mach 1.
pub fn critical(g: f64) -> f64 {
    (1.0 + 0.5 * (g - 1.0)).powf(-g / (g - 1.0))
}

/// Flow function at a Mach number: `sqrt(g) Ma (1 + (g - 1) / 2 Ma^2)^(-(g + 1) / (2 (g - 1)))`.
fn at_mach(g: f64, squared: f64) -> f64 {
    (g * squared).sqrt() * (1.0 + 0.5 * (g - 1.0) * squared).powf(-(g + 1.0) / (2.0 * (g - 1.0)))
}

/// Flow function of one law, continued beyond where it holds.
pub fn flow_function(law: Law, g: f64, ratio: f64) -> f64 {
    let subsonic = |r: f64| at_mach(g, 2.0 / (g - 1.0) * (r.powf(-(g - 1.0) / g) - 1.0).max(0.0));
    match law {
        Law::Choked => at_mach(g, 1.0),
        Law::Subsonic => subsonic(ratio),
        Law::Laminar => subsonic(LAMINAR) * (1.0 - ratio) / (1.0 - LAMINAR),
    }
}

/// The law that holds at a pressure ratio.
pub fn law_at(g: f64, ratio: f64) -> Law {
    if ratio <= critical(g) {
        Law::Choked
    } else if ratio <= LAMINAR {
        Law::Subsonic
    } else {
        Law::Laminar
    }
}

/// Saturation pressure of water, Pa.
pub fn saturation_pa(temperature_k: f64) -> f64 {
    if temperature_k < 273.16 {
        let theta = temperature_k / 273.16;
        let sum = -21.214_400_6 * theta.powf(0.003_333_333_33) + 27.320_381_9 * theta.powf(1.206_666_67)
            - 6.105_981_3 * theta.powf(1.703_333_33);
        return 611.657 * (sum / theta).exp();
    }
    let theta = temperature_k - 0.238_555_575_678_49 / (temperature_k - 650.175_348_447_98);
    let a = theta * theta + 1_167.052_145_276_7 * theta - 724_213.167_032_06;
    let b = -17.073_846_940_092 * theta * theta + 12_020.824_702_47 * theta - 3_232_555.032_233_3;
    let c = 14.915_108_613_53 * theta * theta - 4_823.265_736_159_1 * theta + 405_113.405_420_57;
    1e6 * (2.0 * c / (-b + (b * b - 4.0 * a * c).sqrt())).powi(4)
}

/// Equilibrium loading, mol/kg, at a partial pressure in Pa.
pub fn loading(isotherm: &Isotherm, p_pa: f64, temperature_k: f64) -> f64 {
    let p = p_pa.max(0.0);
    match *isotherm {
        Isotherm::Toth { a0, b0, e_k, t0, c_k } => {
            let (rise, t) = ((e_k / temperature_k).exp(), t0 + c_k / temperature_k);
            let kpa = p / 1000.0;
            a0 * rise * kpa * (1.0 + (b0 * rise * kpa).powf(t)).powf(-1.0 / t)
        }
        Isotherm::Langmuir { most_mol_kg, half_pa } => most_mol_kg * p / (half_pa + p),
        Isotherm::Linear { slope_mol_kg_pa } => slope_mol_kg_pa * p,
    }
}

/// Uptake, mol/s, of a bed in a flow: `flow (p_in - p) = exchange (q*(p) - q)`, solved for the pressure around the bed by
/// bisection. `flow` in mol/s/Pa, `exchange` (sorbent times rate) in kg/s, `held` in mol/kg.
pub fn uptake(flow: f64, inlet_pa: f64, exchange: f64, held: f64, equilibrium: &dyn Fn(f64) -> f64) -> f64 {
    if flow <= 0.0 {
        return 0.0;
    }
    // There the bed's loading would have to be below nothing.
    let (mut low, mut high) = (0.0, (inlet_pa + exchange * held / flow).max(0.0));
    loop {
        let middle = 0.5 * (low + high);
        if middle <= low || middle >= high {
            // Of the two sides the one whose terms are smaller has the smaller rounding.
            return if flow * inlet_pa < exchange * held.abs().max(equilibrium(middle)) {
                flow * (inlet_pa - middle)
            } else {
                exchange * (equilibrium(middle) - held)
            };
        }
        if flow * (inlet_pa - middle) > exchange * (equilibrium(middle) - held) {
            low = middle;
        } else {
            high = middle;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(is: f64, should: f64, relative: f64) {
        assert!((is / should - 1.0).abs() < relative, "{is} is not {should}");
    }

    #[test]
    fn saturation_meets_the_table() {
        // IAPWS-IF97, table 35 (printed): 300, 500 K.
        near(saturation_pa(300.0), 3_536.589_41, 1e-8);
        near(saturation_pa(500.0), 2.638_897_76e6, 1e-8);
        near(saturation_pa(273.16 - 1e-9), saturation_pa(273.16), 1e-6);
        // ASHRAE Fundamentals 2017, -20 C (printed in open test suites).
        near(saturation_pa(253.15), 103.24, 3e-4);
    }

    #[test]
    fn choked_air_flows_as_the_textbook_says() {
        // 0.040418 A p0 / sqrt(T0), g 1.4, R 287 (printed).
        near(flow_function(Law::Choked, 1.4, 0.0) / 287.0_f64.sqrt(), 0.040_418, 1e-4);
        near(critical(1.4), 0.528_282, 1e-6);
        // The usual form of subsonic flow.
        for r in [0.55, 0.8, 0.99_f64] {
            let usual = (2.8 / 0.4 * (r.powf(2.0 / 1.4) - r.powf(2.4 / 1.4))).sqrt();
            near(flow_function(Law::Subsonic, 1.4, r), usual, 1e-12);
        }
        near(
            flow_function(Law::Subsonic, 1.3, critical(1.3)),
            flow_function(Law::Choked, 1.3, 0.0),
            1e-14,
        );
    }

    #[test]
    fn zeolite_holds_what_its_table_says() {
        // Toth, zeolite 5A (coefficients from memory, table derived from them): 25 C, mmHg against mol/kg.
        let co2 = Isotherm::Toth {
            a0: 9.875e-7,
            b0: 6.761e-8,
            e_k: 5625.0,
            t0: 0.27,
            c_k: -20.02,
        };
        for (mmhg, mol_kg) in [(0.5, 0.4008), (3.0, 0.9345), (7.6, 1.3612)] {
            near(loading(&co2, mmhg * 133.322, 298.15), mol_kg, 2e-4);
        }
        near(loading(&co2, 3.0 * 133.322, 283.15), 1.3185, 2e-4);
        near(loading(&co2, 3.0 * 133.322, 323.15), 0.5169, 2e-4);
    }

    #[test]
    fn a_bed_of_linear_sorbent_takes_what_its_equation_says() {
        let (flow, exchange, slope, held, inlet): (f64, f64, f64, f64, f64) = (4e-6, 0.02, 2e-3, 0.3, 400.0);
        let p = (flow * inlet + exchange * held) / (flow + exchange * slope);
        let is = uptake(flow, inlet, exchange, held, &|p| slope * p);
        near(is, flow * (inlet - p), 1e-12);
        assert!(uptake(flow, inlet, exchange, 3.0, &|p| slope * p) < 0.0);
    }
}

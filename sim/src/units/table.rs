//! The units of each dimension.
//!
//! `si = factor * x + offset`. Factors are exact by definition where no other source is named; those written with
//! few digits are the project's settled values (mmHg, psi, ft3) and agree with NIST SP 811 (2008) to its last kept digit.
//! The unit a reader of messages will want first stands first.

use super::quantity::{Dimension, MET, Unit};

/// A unit without a zero point of its own.
const fn unit_of(symbol: &'static str, factor: f64) -> Unit {
    Unit {
        symbol,
        factor,
        offset: 0.0,
    }
}

/// A unit with its zero point.
const fn with_zero(symbol: &'static str, factor: f64, offset: f64) -> Unit {
    Unit { symbol, factor, offset }
}

/// Standard atmosphere, Pa (10th CGPM 1954).
pub(super) const ATMOSPHERE_PA: f64 = 101_325.0;
/// Volume of a mole at 0 degC, 101.325 kPa, dry, as physiology rounds it, m3/mol (an ideal gas has 22.41397 L).
pub(super) const STPD_M3_MOL: f64 = 0.022_414;

const MINUTE_S: f64 = 60.0;
const HOUR_S: f64 = 3600.0;
const DAY_S: f64 = 86_400.0;
/// Avoirdupois pound, kg (international yard and pound agreement 1959).
const POUND_KG: f64 = 0.453_592_37;
/// International foot, m (the same agreement).
const FOOT_M: f64 = 0.3048;
/// International inch, m (the same agreement).
const INCH_M: f64 = 0.0254;
/// Cubic foot, m3 (NIST SP 811, rounded to six figures).
const FOOT3_M3: f64 = 0.028_316_8;
/// Pound-force per square inch, Pa (NIST SP 811).
const PSI_PA: f64 = 6894.757;
/// International Table British thermal unit, J (NIST SP 811).
const BTU_J: f64 = 1_055.055_852_62;
/// Thermochemical kilocalorie, J (NIST SP 811); the one of nutrition tables.
const KCAL_J: f64 = 4184.0;

static PRESSURE: [Unit; 11] = [
    unit_of("kPa", 1e3),
    unit_of("mmHg", 133.322),
    unit_of("psi", PSI_PA),
    unit_of("Pa", 1.0),
    unit_of("torr", ATMOSPHERE_PA / 760.0),
    unit_of("hPa", 1e2),
    unit_of("mbar", 1e2),
    unit_of("bar", 1e5),
    unit_of("atm", ATMOSPHERE_PA),
    unit_of("psia", PSI_PA),
    unit_of("MPa", 1e6),
];
static PARTS_OF_ATMOSPHERE: [Unit; 2] = [unit_of("ppm", ATMOSPHERE_PA * 1e-6), unit_of("%", ATMOSPHERE_PA * 1e-2)];
static TEMPERATURE: [Unit; 3] = [
    with_zero("degC", 1.0, 273.15),
    with_zero("degF", 5.0 / 9.0, 459.67 * 5.0 / 9.0),
    unit_of("K", 1.0),
];
static TEMPERATURE_DIFFERENCE: [Unit; 3] = [unit_of("K", 1.0), unit_of("degC", 1.0), unit_of("degF", 5.0 / 9.0)];
static VOLUME: [Unit; 5] = [
    unit_of("m3", 1.0),
    unit_of("ft3", FOOT3_M3),
    unit_of("L", 1e-3),
    unit_of("mL", 1e-6),
    unit_of("cm3", 1e-6),
];
static VOLUME_FLOW: [Unit; 8] = [
    unit_of("m3/min", 1.0 / MINUTE_S),
    unit_of("m3/h", 1.0 / HOUR_S),
    unit_of("ft3/min", FOOT3_M3 / MINUTE_S),
    unit_of("L/min", 1.0 / (1e3 * MINUTE_S)),
    unit_of("L/s", 1e-3),
    unit_of("L/h", 1.0 / (1e3 * HOUR_S)),
    unit_of("mL/min", 1.0 / (1e6 * MINUTE_S)),
    unit_of("m3/s", 1.0),
];
static AREA: [Unit; 5] = [
    unit_of("m2", 1.0),
    unit_of("ft2", FOOT_M * FOOT_M),
    unit_of("cm2", 1e-4),
    unit_of("mm2", 1e-6),
    unit_of("in2", INCH_M * INCH_M),
];
static LENGTH: [Unit; 5] = [
    unit_of("m", 1.0),
    unit_of("cm", 1e-2),
    unit_of("mm", 1e-3),
    unit_of("ft", FOOT_M),
    unit_of("in", INCH_M),
];
static MASS: [Unit; 4] = [
    unit_of("kg", 1.0),
    unit_of("g", 1e-3),
    unit_of("lb", POUND_KG),
    unit_of("mg", 1e-6),
];
static MASS_RATE: [Unit; 11] = [
    unit_of("kg/d", 1.0 / DAY_S),
    unit_of("kg/h", 1.0 / HOUR_S),
    unit_of("g/h", 1.0 / (1e3 * HOUR_S)),
    unit_of("g/min", 1.0 / (1e3 * MINUTE_S)),
    unit_of("lb/h", POUND_KG / HOUR_S),
    unit_of("lb/d", POUND_KG / DAY_S),
    unit_of("kg/min", 1.0 / MINUTE_S),
    unit_of("kg/s", 1.0),
    unit_of("g/s", 1e-3),
    unit_of("g/d", 1.0 / (1e3 * DAY_S)),
    unit_of("mg/min", 1.0 / (1e6 * MINUTE_S)),
];
static AMOUNT_RATE: [Unit; 4] = [
    unit_of("mol/s", 1.0),
    unit_of("mol/h", 1.0 / HOUR_S),
    unit_of("mol/min", 1.0 / MINUTE_S),
    unit_of("mol/d", 1.0 / DAY_S),
];
/// Flows of gas stated at STPD, in mol/s; the order of [`VOLUME_FLOW`].
static STPD_RATE: [Unit; 8] = [
    unit_of("m3/min STPD", 1.0 / (MINUTE_S * STPD_M3_MOL)),
    unit_of("m3/h STPD", 1.0 / (HOUR_S * STPD_M3_MOL)),
    unit_of("ft3/min STPD", FOOT3_M3 / (MINUTE_S * STPD_M3_MOL)),
    unit_of("L/min STPD", 1e-3 / (MINUTE_S * STPD_M3_MOL)),
    unit_of("L/s STPD", 1e-3 / STPD_M3_MOL),
    unit_of("L/h STPD", 1e-3 / (HOUR_S * STPD_M3_MOL)),
    unit_of("mL/min STPD", 1e-6 / (MINUTE_S * STPD_M3_MOL)),
    unit_of("m3/s STPD", 1.0 / STPD_M3_MOL),
];
static TIME: [Unit; 5] = [
    unit_of("h", HOUR_S),
    unit_of("min", MINUTE_S),
    unit_of("s", 1.0),
    unit_of("d", DAY_S),
    unit_of("ms", 1e-3),
];
static POWER: [Unit; 7] = [
    unit_of("W", 1.0),
    unit_of("kW", 1e3),
    unit_of("Btu/h", BTU_J / HOUR_S),
    unit_of("kcal/h", KCAL_J / HOUR_S),
    unit_of("kJ/h", 1e3 / HOUR_S),
    unit_of("MJ/d", 1e6 / DAY_S),
    unit_of("kcal/d", KCAL_J / DAY_S),
];
/// ISO 8996 (2004) and ASHRAE Standard 55: 1 met = 58.2 W/m2.
static PER_BODY_AREA: [Unit; 1] = [unit_of(MET, 58.2)];
static PARTS: [Unit; 3] = [unit_of("%", 1e-2), unit_of("", 1.0), unit_of("ppm", 1e-6)];
static PLAIN: [Unit; 2] = [unit_of("", 1.0), unit_of("%", 1e-2)];
static ACCELERATION: [Unit; 1] = [unit_of("m/s2", 1.0)];
static PRESSURE_RATE: [Unit; 6] = [
    unit_of("kPa/min", 1000.0 / MINUTE_S),
    unit_of("psi/min", 6_894.757 / MINUTE_S),
    unit_of("mmHg/min", 133.322 / MINUTE_S),
    unit_of("kPa/s", 1000.0),
    unit_of("psi/s", 6_894.757),
    unit_of("Pa/s", 1.0),
];
static HEAT_CAPACITY: [Unit; 2] = [unit_of("kJ/K", 1000.0), unit_of("J/K", 1.0)];
static CONDUCTANCE: [Unit; 2] = [unit_of("W/K", 1.0), unit_of("kW/K", 1000.0)];
static MASS_FOR_MASS: [Unit; 3] = [unit_of("kg/kg", 1.0), unit_of("g/kg", 0.001), unit_of("lb/lb", 1.0)];
static LOADING: [Unit; 2] = [unit_of("mol/kg", 1.0), unit_of("mmol/g", 1.0)];
static PER_TIME: [Unit; 3] = [
    unit_of("1/s", 1.0),
    unit_of("1/min", 1.0 / MINUTE_S),
    unit_of("1/h", 1.0 / 3600.0),
];
static ENERGY_FOR_MASS: [Unit; 4] = [
    unit_of("kJ/kg", 1000.0),
    unit_of("MJ/kg", 1e6),
    unit_of("J/kg", 1.0),
    unit_of("Btu/lb", 2326.0),
];
static FILM_COEFFICIENT: [Unit; 1] = [unit_of("W/m2/K", 1.0)];
static FITNESS_UPTAKE: [Unit; 2] = [unit_of("mL/kg/min", 1.0 / (1e6 * MINUTE_S)), unit_of("m3/kg/s", 1.0)];
static NONE: [Unit; 0] = [];

/// What a unit is looked for in when it does not fit: a dimension that has it, the likeliest first.
const ALL: [Dimension; 24] = [
    Dimension::Pressure,
    Dimension::Temperature,
    Dimension::Volume,
    Dimension::VolumeFlow,
    Dimension::Area,
    Dimension::Length,
    Dimension::Mass,
    Dimension::MassRate,
    Dimension::GasRate(1.0),
    Dimension::Time,
    Dimension::Power,
    Dimension::MetabolicPower,
    Dimension::Fraction,
    Dimension::Acceleration,
    Dimension::PressureRate,
    Dimension::HeatCapacity,
    Dimension::Conductance,
    Dimension::MassForMass,
    Dimension::Loading,
    Dimension::PerTime,
    Dimension::EnergyForMass,
    Dimension::FilmCoefficient,
    Dimension::FitnessUptake,
    Dimension::Number,
];

/// The units a dimension takes, the likeliest first; factors of a gas rate's masses by its molar mass.
pub(super) fn units_of(dimension: Dimension) -> impl Iterator<Item = Unit> {
    let (first, per_first, then): (&[Unit], f64, [&[Unit]; 2]) = match dimension {
        Dimension::Pressure => (&PRESSURE, 1.0, [&NONE, &NONE]),
        Dimension::PartialPressure => (&PRESSURE, 1.0, [&PARTS_OF_ATMOSPHERE, &NONE]),
        Dimension::Temperature => (&TEMPERATURE, 1.0, [&NONE, &NONE]),
        Dimension::TemperatureDifference => (&TEMPERATURE_DIFFERENCE, 1.0, [&NONE, &NONE]),
        Dimension::Volume => (&VOLUME, 1.0, [&NONE, &NONE]),
        Dimension::VolumeFlow => (&VOLUME_FLOW, 1.0, [&NONE, &NONE]),
        Dimension::Area => (&AREA, 1.0, [&NONE, &NONE]),
        Dimension::Length => (&LENGTH, 1.0, [&NONE, &NONE]),
        Dimension::Mass => (&MASS, 1.0, [&NONE, &NONE]),
        Dimension::MassRate => (&MASS_RATE, 1.0, [&NONE, &NONE]),
        Dimension::GasRate(molar_mass_kg_mol) => (&MASS_RATE, molar_mass_kg_mol, [&AMOUNT_RATE, &STPD_RATE]),
        Dimension::Time => (&TIME, 1.0, [&NONE, &NONE]),
        Dimension::Power => (&POWER, 1.0, [&NONE, &NONE]),
        Dimension::MetabolicPower => (&POWER, 1.0, [&PER_BODY_AREA, &NONE]),
        Dimension::Fraction => (&PARTS, 1.0, [&NONE, &NONE]),
        Dimension::Acceleration => (&ACCELERATION, 1.0, [&NONE, &NONE]),
        Dimension::PressureRate => (&PRESSURE_RATE, 1.0, [&NONE, &NONE]),
        Dimension::HeatCapacity => (&HEAT_CAPACITY, 1.0, [&NONE, &NONE]),
        Dimension::Conductance => (&CONDUCTANCE, 1.0, [&NONE, &NONE]),
        Dimension::MassForMass => (&MASS_FOR_MASS, 1.0, [&NONE, &NONE]),
        Dimension::Loading => (&LOADING, 1.0, [&NONE, &NONE]),
        Dimension::PerTime => (&PER_TIME, 1.0, [&NONE, &NONE]),
        Dimension::EnergyForMass => (&ENERGY_FOR_MASS, 1.0, [&NONE, &NONE]),
        Dimension::FilmCoefficient => (&FILM_COEFFICIENT, 1.0, [&NONE, &NONE]),
        Dimension::FitnessUptake => (&FITNESS_UPTAKE, 1.0, [&NONE, &NONE]),
        Dimension::Number => (&PLAIN, 1.0, [&NONE, &NONE]),
    };
    let scaled = first.iter().map(move |unit| Unit {
        factor: unit.factor / per_first,
        ..*unit
    });
    scaled.chain(then.into_iter().flatten().copied())
}

/// The unit of a dimension by its symbol; other spellings of the same symbol ("m³", "°C", "m^3") are taken too.
///
/// The empty symbol is the plain number of a fraction or a count.
#[must_use]
pub fn unit(symbol: &str, dimension: Dimension) -> Option<Unit> {
    let plain = spelled_plainly(symbol);
    units_of(dimension).find(|unit| unit.symbol == plain)
}

/// A dimension that has this unit, where the wanted one has not.
pub(super) fn dimension_with(symbol: &str) -> Option<Dimension> {
    (!symbol.is_empty())
        .then(|| ALL.into_iter().find(|&dimension| unit(symbol, dimension).is_some()))
        .flatten()
}

/// A unit's symbol without superscripts, degree signs, carets and blanks around a stroke.
pub(super) fn spelled_plainly(symbol: &str) -> String {
    let mut plain = String::with_capacity(symbol.len());
    for c in symbol.trim().chars() {
        match c {
            '³' => plain.push('3'),
            '²' => plain.push('2'),
            '°' | 'º' => plain.push_str("deg"),
            '℃' => plain.push_str("degC"),
            '℉' => plain.push_str("degF"),
            '^' => {}
            _ => plain.push(c),
        }
    }
    let parts: Vec<&str> = plain.split('/').map(str::trim).collect();
    parts.join("/")
}

#[cfg(test)]
mod tests {
    use super::*;

    /// One of each unit in SI, typed again from NIST SP 811 (2008) appendix B.8 and the BIPM SI brochure (9th ed., 2019,
    /// tables 7 and 8), both from memory. The tolerance is the rounding of what is printed there or of what is kept above: mmHg 133.3224
    /// against 133.322, ft3 2.831 685 E-02 against 0.028 316 8.
    const SOURCED: [(&str, Dimension, f64, f64); 97] = [
        ("Pa", Dimension::Pressure, 1.0, 0.0),
        ("kPa", Dimension::Pressure, 1000.0, 0.0),
        ("MPa", Dimension::Pressure, 1e6, 0.0),
        ("hPa", Dimension::Pressure, 100.0, 0.0),
        ("mbar", Dimension::Pressure, 100.0, 0.0),
        ("bar", Dimension::Pressure, 100_000.0, 0.0),
        ("atm", Dimension::Pressure, 101_325.0, 0.0),
        ("torr", Dimension::Pressure, 133.3224, 3e-7),
        ("mmHg", Dimension::Pressure, 133.3224, 4e-6),
        ("psi", Dimension::Pressure, 6894.757, 0.0),
        ("psia", Dimension::Pressure, 6894.757, 0.0),
        ("ppm", Dimension::PartialPressure, 0.101_325, 1e-15),
        ("%", Dimension::PartialPressure, 1013.25, 1e-15),
        ("degC", Dimension::Temperature, 274.15, 0.0),
        ("degF", Dimension::Temperature, 255.927_777_777_777_8, 1e-15),
        ("K", Dimension::Temperature, 1.0, 0.0),
        ("K", Dimension::TemperatureDifference, 1.0, 0.0),
        ("degC", Dimension::TemperatureDifference, 1.0, 0.0),
        ("degF", Dimension::TemperatureDifference, 0.555_555_6, 1e-7),
        ("m3", Dimension::Volume, 1.0, 0.0),
        ("ft3", Dimension::Volume, 2.831_685e-2, 2e-6),
        ("L", Dimension::Volume, 1e-3, 0.0),
        ("mL", Dimension::Volume, 1e-6, 0.0),
        ("cm3", Dimension::Volume, 1e-6, 0.0),
        ("m3/s", Dimension::VolumeFlow, 1.0, 0.0),
        ("m3/min", Dimension::VolumeFlow, 1.666_666_7e-2, 1e-7),
        ("m3/h", Dimension::VolumeFlow, 2.777_777_8e-4, 1e-7),
        ("ft3/min", Dimension::VolumeFlow, 4.719_474e-4, 2e-6),
        ("L/min", Dimension::VolumeFlow, 1.666_666_7e-5, 1e-7),
        ("L/s", Dimension::VolumeFlow, 1e-3, 0.0),
        ("L/h", Dimension::VolumeFlow, 2.777_777_8e-7, 1e-7),
        ("mL/min", Dimension::VolumeFlow, 1.666_666_7e-8, 1e-7),
        ("m2", Dimension::Area, 1.0, 0.0),
        ("ft2", Dimension::Area, 9.290_304e-2, 1e-15),
        ("cm2", Dimension::Area, 1e-4, 0.0),
        ("mm2", Dimension::Area, 1e-6, 1e-15),
        ("in2", Dimension::Area, 6.4516e-4, 1e-15),
        ("m", Dimension::Length, 1.0, 0.0),
        ("cm", Dimension::Length, 0.01, 0.0),
        ("mm", Dimension::Length, 0.001, 0.0),
        ("ft", Dimension::Length, 0.3048, 0.0),
        ("in", Dimension::Length, 0.0254, 0.0),
        ("kg", Dimension::Mass, 1.0, 0.0),
        ("g", Dimension::Mass, 1e-3, 0.0),
        ("mg", Dimension::Mass, 1e-6, 0.0),
        ("lb", Dimension::Mass, 4.535_924e-1, 1e-7),
        ("kg/s", Dimension::MassRate, 1.0, 0.0),
        ("kg/min", Dimension::MassRate, 1.666_666_7e-2, 1e-7),
        ("kg/h", Dimension::MassRate, 2.777_777_8e-4, 1e-7),
        ("kg/d", Dimension::MassRate, 1.157_407_41e-5, 1e-8),
        ("g/s", Dimension::MassRate, 1e-3, 0.0),
        ("g/min", Dimension::MassRate, 1.666_666_7e-5, 1e-7),
        ("g/h", Dimension::MassRate, 2.777_777_8e-7, 1e-7),
        ("g/d", Dimension::MassRate, 1.157_407_41e-8, 1e-8),
        ("mg/min", Dimension::MassRate, 1.666_666_7e-8, 1e-7),
        ("lb/h", Dimension::MassRate, 1.259_979e-4, 1e-6),
        ("lb/d", Dimension::MassRate, 1.259_979e-4 / 24.0, 1e-6),
        ("s", Dimension::Time, 1.0, 0.0),
        ("ms", Dimension::Time, 1e-3, 0.0),
        ("min", Dimension::Time, 60.0, 0.0),
        ("h", Dimension::Time, 3600.0, 0.0),
        ("d", Dimension::Time, 86_400.0, 0.0),
        ("W", Dimension::Power, 1.0, 0.0),
        ("kW", Dimension::Power, 1000.0, 0.0),
        ("Btu/h", Dimension::Power, 2.930_711e-1, 2e-7),
        ("kcal/h", Dimension::Power, 6.973_333e1 / 60.0, 1e-7), // printed for kcal/min
        ("kcal/d", Dimension::Power, 4.184e3 / 86_400.0, 1e-15),
        ("kJ/h", Dimension::Power, 0.277_777_78, 1e-7),
        ("MJ/d", Dimension::Power, 11.574_074_1, 1e-8),
        ("%", Dimension::Fraction, 0.01, 0.0),
        ("ppm", Dimension::Fraction, 1e-6, 0.0),
        ("", Dimension::Number, 1.0, 0.0),
        ("m/s2", Dimension::Acceleration, 1.0, 0.0),
        ("kPa/min", Dimension::PressureRate, 16.666_667, 1e-7),
        ("psi/min", Dimension::PressureRate, 6894.757 / 60.0, 1e-15),
        ("mmHg/min", Dimension::PressureRate, 133.3224 / 60.0, 4e-6),
        ("kPa/s", Dimension::PressureRate, 1000.0, 0.0),
        ("psi/s", Dimension::PressureRate, 6894.757, 0.0),
        ("Pa/s", Dimension::PressureRate, 1.0, 0.0),
        ("kJ/K", Dimension::HeatCapacity, 1000.0, 0.0),
        ("J/K", Dimension::HeatCapacity, 1.0, 0.0),
        ("W/K", Dimension::Conductance, 1.0, 0.0),
        ("kW/K", Dimension::Conductance, 1000.0, 0.0),
        ("kg/kg", Dimension::MassForMass, 1.0, 0.0),
        ("g/kg", Dimension::MassForMass, 1e-3, 0.0),
        ("lb/lb", Dimension::MassForMass, 1.0, 0.0),
        ("mol/kg", Dimension::Loading, 1.0, 0.0),
        ("mmol/g", Dimension::Loading, 1.0, 0.0),
        ("1/s", Dimension::PerTime, 1.0, 0.0),
        ("1/min", Dimension::PerTime, 1.666_666_7e-2, 1e-7),
        ("1/h", Dimension::PerTime, 2.777_777_8e-4, 1e-7),
        ("kJ/kg", Dimension::EnergyForMass, 1000.0, 0.0),
        ("MJ/kg", Dimension::EnergyForMass, 1e6, 0.0),
        ("J/kg", Dimension::EnergyForMass, 1.0, 0.0),
        ("Btu/lb", Dimension::EnergyForMass, 2.326e3, 0.0), // NIST SP 811: Btu(IT)/lb is 2326 J/kg exactly
        ("W/m2/K", Dimension::FilmCoefficient, 1.0, 0.0),
        ("mL/kg/min", Dimension::FitnessUptake, 1.666_666_7e-8, 1e-7),
    ];

    #[test]
    fn every_factor_agrees_with_its_source() {
        for (symbol, dimension, si, tolerance) in SOURCED {
            let found = unit(symbol, dimension).unwrap_or_else(|| panic!("no `{symbol}` in {dimension:?}"));
            let error = (found.to_si(1.0) - si).abs() / si;
            assert!(error <= tolerance, "{symbol}: {} against {si}", found.to_si(1.0));
        }
    }

    #[test]
    fn every_unit_is_in_the_sourced_list_or_tested_by_name() {
        // met and gas rates have tests of their own; the SI unit of fitness is one by construction.
        let by_name = ["met", "m3/kg/s"];
        for dimension in ALL {
            if matches!(dimension, Dimension::GasRate(_)) {
                continue;
            }
            for found in units_of(dimension) {
                let sourced = SOURCED.iter().any(|row| row.0 == found.symbol);
                assert!(sourced || by_name.contains(&found.symbol), "{}", found.symbol);
            }
        }
    }

    #[test]
    fn met_is_power_per_body_area() {
        // ASHRAE Standard 55 (2017) section 3, "met": 58.2 W/m2; from memory.
        assert_eq!(
            unit("met", Dimension::MetabolicPower).map(|u| u.to_si(2.0)),
            Some(116.4)
        );
        assert_eq!(unit("met", Dimension::Power), None);
    }

    #[test]
    fn gas_rates_take_masses_amounts_and_stpd() {
        let co2 = Dimension::GasRate(0.044_009_5);
        // 1 kg/d of CO2 is 22.7224 mol/d: arithmetic from M = 44.0095 g/mol (IUPAC 2021).
        let per_day = unit("kg/d", co2).unwrap().to_si(1.0) * 86_400.0;
        assert!((per_day - 22.722_366).abs() < 1e-5, "{per_day}");
        assert_eq!(unit("mol/h", co2).unwrap().to_si(3600.0), 1.0);
        // 22.414 L/min STPD is a mole a minute: the definition used in respiratory physiology.
        assert!((unit("L/min STPD", co2).unwrap().to_si(22.414) * 60.0 - 1.0).abs() < 1e-14);
        for (flow, stpd) in VOLUME_FLOW.iter().zip(&STPD_RATE) {
            assert_eq!(format!("{} STPD", flow.symbol), stpd.symbol);
            assert!((flow.factor / stpd.factor / 0.022_414 - 1.0).abs() < 1e-14);
        }
    }

    #[test]
    fn other_spellings_are_the_same_unit() {
        for (written, symbol, dimension) in [
            ("m³", "m3", Dimension::Volume),
            ("m^3/min", "m3/min", Dimension::VolumeFlow),
            ("°C", "degC", Dimension::Temperature),
            ("℉", "degF", Dimension::Temperature),
            ("kg / d", "kg/d", Dimension::MassRate),
        ] {
            assert_eq!(unit(written, dimension).map(|u| u.symbol), Some(symbol));
        }
        assert_eq!(unit("PA", Dimension::Pressure), None);
    }

    #[test]
    fn percent_is_exact() {
        for percent in 0..=100 {
            let typed: f64 = format!("{:.2}", f64::from(percent) / 100.0).parse().unwrap();
            assert_eq!(unit("%", Dimension::Fraction).unwrap().to_si(f64::from(percent)), typed);
        }
    }
}

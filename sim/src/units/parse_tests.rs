use super::*;

fn si(text: &str, dimension: Dimension) -> f64 {
    parse(text, dimension)
        .unwrap_or_else(|error| panic!("{text}: {error}"))
        .si
}

fn wrong(text: &str, dimension: Dimension) -> (String, &str) {
    let error = parse(text, dimension).expect_err(text);
    (error.to_string(), &text[error.span()])
}

const CO2: Dimension = Dimension::GasRate(0.044_009_5);

#[test]
fn numbers_in_every_form() {
    for (text, pa) in [
        ("56.5 kPa", 56_500.0),
        ("56.5kPa", 56_500.0),
        ("  56.5\tkPa ", 56_500.0),
        ("+5e1 Pa", 50.0),
        ("1e-3 Pa", 0.001),
        ("-5 Pa", -5.0),
        (".5 Pa", 0.5),
        ("5. Pa", 5.0),
        ("1E2Pa", 100.0),
        ("2 bar", 200_000.0),
    ] {
        assert_eq!(si(text, Dimension::Pressure), pa, "{text}");
    }
    assert_eq!(si("32 °F", Dimension::Temperature), 273.15);
    assert_eq!(
        si("-40 degF", Dimension::Temperature),
        si("-40 degC", Dimension::Temperature)
    );
    assert_eq!(si("9 degF", Dimension::TemperatureDifference), 5.0);
    assert_eq!(si("11.5 m³", Dimension::Volume), 11.5);
}

#[test]
fn fractions_and_counts_stand_without_a_unit() {
    assert_eq!(si("34 %", Dimension::Fraction), 0.34);
    assert_eq!(si("0.34", Dimension::Fraction), 0.34);
    assert_eq!(si("30 %", Dimension::Number), 0.3);
    assert_eq!(si("3", Dimension::Number), 3.0);
}

#[test]
fn parts_of_an_atmosphere_are_partial_pressures() {
    // Trade practice: 5000 ppm is 506.6 Pa whatever the cabin pressure.
    assert!((si("5000 ppm", Dimension::PartialPressure) - 506.625).abs() < 1e-10);
    assert!((si("0.5 %", Dimension::PartialPressure) - 506.625).abs() < 1e-10);
    let (message, part) = wrong("34 %", Dimension::Pressure);
    assert_eq!(
        message,
        "`%` measures a fraction; here a pressure is wanted, such as `kPa`, `mmHg`, `psi`"
    );
    assert_eq!(part, "%");
}

#[test]
fn times_may_have_parts() {
    for (text, s, unit) in [
        ("1 h 30 min", 5400.0, "min"),
        ("1h30min", 5400.0, "min"),
        ("2 d 4 h", 187_200.0, "h"),
        ("-1 h 30 min", -5400.0, "min"),
        ("1 min 0.5 s", 60.5, "s"),
        ("60 s", 60.0, "s"),
        ("250 ms", 0.25, "ms"),
    ] {
        let read = parse(text, Dimension::Time).unwrap();
        assert_eq!((read.si, read.unit.symbol), (s, unit), "{text}");
    }
    let (message, part) = wrong("30 min 1 h", Dimension::Time);
    assert_eq!(part, "1 h");
    assert_eq!(
        message,
        "the parts of a time go from large to small, with one sign in front; write e.g. \"1 h 30 min\""
    );
    assert_eq!(wrong("1 h -30 min", Dimension::Time).1, "-30 min");
    assert_eq!(wrong("1 h 30", Dimension::Time).1, "30");
    assert_eq!(wrong("1 000 s", Dimension::Time).1, "1 000 s");
    assert_eq!(wrong("1 h x", Dimension::Time).1, "x");
    assert_eq!(
        wrong("5 m", Dimension::Time).0,
        "`m` measures a length; here a time is wanted, such as `h`, `min`, `s`"
    );
}

#[test]
fn metabolic_rates_tell_watts_from_watts_per_area() {
    let met = parse("1.2 met", Dimension::MetabolicPower).unwrap();
    assert!(met.is_per_body_area());
    assert!((met.si - 69.84).abs() < 1e-12);
    let watts = parse("310 W", Dimension::MetabolicPower).unwrap();
    assert!(!watts.is_per_body_area());
    assert_eq!(watts.si, 310.0);
}

#[test]
fn gas_rates_by_volume_state_their_reference() {
    // Molar volume of an ideal gas at 25 degC, 101.325 kPa: 24.465 L/mol (as general chemistry texts print it).
    let warm = si("0.31 L/min at 25 degC, 101.325 kPa", CO2);
    assert!((warm / (0.31 / 24.465 / 60.0) - 1.0).abs() < 3e-5, "{warm}");
    assert_eq!(si("0.31 L/min at 101.325 kPa, 25 degC", CO2), warm);
    // 0.25 L/min over 22.414 L/mol.
    let stpd = si("0.25 L/min STPD", CO2);
    assert!((stpd - 0.25 / 22.414 / 60.0).abs() < 1e-18);
    assert_eq!(si("0.25 L/min at STPD", CO2), stpd);
    assert_eq!(si("0.25  L/min  stpd", CO2), stpd);
    assert_eq!(
        parse("0.31 L/min at 25 degC, 101.325 kPa", CO2).unwrap().unit.symbol,
        "L/min STPD"
    );
    assert!((si("1.00 kg/d", CO2) - 1.0 / 0.044_009_5 / 86_400.0).abs() < 1e-18);
    assert_eq!(si("2 mol/h", CO2), 2.0 / 3600.0);
}

#[test]
fn gas_rates_without_a_whole_reference_are_refused() {
    let (message, part) = wrong("0.31 L/min", CO2);
    assert_eq!(part, "L/min");
    assert_eq!(
        message,
        "a volume rate of gas without its temperature and pressure; add it, e.g. \"0.31 L/min at 25 degC, 101.325 kPa\" or \
         \"0.25 L/min STPD\" (0 degC, 101.325 kPa, dry)"
    );
    assert_eq!(wrong("0.31 L/min BTPS", CO2).1, "BTPS");
    assert_eq!(wrong("0.31 L/min at 25 degC", CO2), {
        let why = "the reference lacks a pressure; write a mass rate (\"1.00 kg/d\"), or a volume rate \
                   \"0.31 L/min at 25 degC, 101.325 kPa\" where a gas rate is wanted";
        (why.to_owned(), "25 degC")
    });
    assert_eq!(wrong("0.31 L/min at 101.325 kPa", CO2).1, "101.325 kPa");
    assert_eq!(wrong("0.31 L/min at 25 degC, 25 degC", CO2).1, "25 degC");
    assert_eq!(wrong("0.31 L/min at -300 degC, 1 atm", CO2).1, "-300 degC");
    assert_eq!(wrong("0.31 L/min at 25 degC, 0 kPa", CO2).1, "0 kPa");
    assert_eq!(wrong("0.31 L/min at 25 degC, 3 kg", CO2).1, "3 kg");
    assert_eq!(wrong("0.31 L/min at noon", CO2).1, "noon");
    assert_eq!(wrong("1 kg/d at 25 degC, 1 atm", CO2).1, "25 degC, 1 atm");
    assert_eq!(wrong("1 furlong at 25 degC, 1 atm", CO2).1, "furlong");
    assert_eq!(wrong("5 m3/min STPD", Dimension::VolumeFlow).1, "STPD");
}

#[test]
fn a_missing_unit_shows_how_to_write_it() {
    let (message, part) = wrong("56.5", Dimension::Pressure);
    assert_eq!(
        message,
        "a number without its unit: for a pressure write e.g. \"56.5 kPa\""
    );
    assert_eq!(part, "56.5");
    assert_eq!(wrong("0", Dimension::Time).1, "0");
    assert_eq!(wrong(" 7 ", Dimension::Volume).1, "7");
}

#[test]
fn a_wrong_dimension_names_both() {
    let (message, part) = wrong("12 kg", Dimension::Volume);
    assert_eq!(
        message,
        "`kg` measures a mass; here a volume is wanted, such as `m3`, `ft3`, `L`"
    );
    assert_eq!(part, "kg");
    let (message, _) = wrong("3 kg", Dimension::Number);
    assert_eq!(message, "`kg` measures a mass; here a plain number is wanted");
}

#[test]
fn unknown_units_get_a_suggestion() {
    for (text, dimension, meant) in [
        ("5 mmhg", Dimension::Pressure, Some("mmHg")),
        ("5 kpa", Dimension::Pressure, Some("kPa")),
        ("5 mmHgg", Dimension::Pressure, Some("mmHg")),
        ("5 cfm", Dimension::VolumeFlow, Some("ft3/min")),
        ("5 l/min", Dimension::VolumeFlow, Some("L/min")),
        ("5 hours", Dimension::Time, Some("h")),
        ("5 C", Dimension::Temperature, Some("degC")),
        ("5 lbs", Dimension::Mass, Some("lb")),
        ("5 kg/day", Dimension::MassRate, Some("kg/d")),
        ("5 furlongs", Dimension::Pressure, None),
        ("5 hours", Dimension::Volume, None),
    ] {
        match parse(text, dimension) {
            Err(QuantityError::UnknownUnit { suggestion, .. }) => assert_eq!(suggestion, meant, "{text}"),
            other => panic!("{text}: {other:?}"),
        }
    }
    let (message, part) = wrong("5 mmhg", Dimension::Pressure);
    assert!(
        message.starts_with("unknown unit `mmhg`; did you mean `mmHg`? Units of a pressure: `kPa`, `mmHg`"),
        "{message}"
    );
    assert_eq!(part, "mmhg");
    let (message, _) = wrong("5 psig", Dimension::Pressure);
    assert!(message.contains("gauge") && message.contains("psia"), "{message}");
}

#[test]
fn what_is_no_number_is_refused() {
    for (text, part) in [
        ("kPa 5", "kPa"),
        ("five kPa", "five"),
        ("1_000 Pa", "1_000"),
        ("1'000 Pa", "1'000"),
        ("1.2.3 Pa", "1.2.3"),
        ("1 000 Pa", "1 000 Pa"),
        ("5-6 kPa", "5-6 kPa"),
        ("1,234,567 Pa", "1,234,567"),
        ("- Pa", "-"),
        (". Pa", "."),
        ("−5 Pa", "−5"),
    ] {
        let error = parse(text, Dimension::Pressure).expect_err(text);
        assert!(matches!(error, QuantityError::NotANumber { .. }), "{text}: {error:?}");
        assert_eq!(&text[error.span()], part, "{text}");
    }
    let (message, part) = wrong("1,5 kPa", Dimension::Pressure);
    assert_eq!(part, "1,5");
    assert_eq!(
        message,
        "`1,5` has a comma; numbers take a decimal point and no separators; write `1.5` or `15`"
    );
    assert_eq!(
        wrong("", Dimension::Pressure).0,
        "nothing where a pressure is wanted: for a pressure write e.g. \"56.5 kPa\""
    );
    assert_eq!(wrong("   ", Dimension::Time).1, "   ");
}

#[test]
fn what_is_not_finite_is_refused() {
    for text in [
        "NaN Pa",
        "inf kPa",
        "-Infinity Pa",
        "1e400 Pa",
        "1e308 bar",
        "-1e308 atm",
    ] {
        let error = parse(text, Dimension::Pressure).expect_err(text);
        assert!(matches!(error, QuantityError::NotFinite { .. }), "{text}: {error:?}");
    }
    assert!(matches!(
        parse("1e308 d", Dimension::Time),
        Err(QuantityError::NotFinite { .. })
    ));
    assert!(matches!(
        parse("1e308 m3/s at 1 K, 1 atm", CO2),
        Err(QuantityError::NotFinite { .. })
    ));
}

#[test]
fn no_text_whatever_panics() {
    // Every prefix and every single-byte change of a few texts, at every dimension that has a path of its own.
    let seeds = [
        "1 h 30 min",
        "0.31 L/min at 25 degC, 101.325 kPa",
        "11.5 m³",
        "−1,5e+3 °C",
        "0.25 L/min STPD",
        " at , ",
    ];
    for seed in seeds {
        for cut in (0..=seed.len()).filter(|&cut| seed.is_char_boundary(cut)) {
            for insert in ["", "é", ",", " ", "e", "-", "9", "at", "\u{0}"] {
                let text = format!("{}{insert}{}", &seed[..cut], &seed[cut..]);
                for text in [text.as_str(), &seed[..cut], &seed[cut..]] {
                    for dimension in [Dimension::Time, CO2, Dimension::VolumeFlow, Dimension::Fraction] {
                        if let Err(error) = parse(text, dimension) {
                            assert!(text.get(error.span()).is_some(), "{text}: {error:?}");
                        }
                    }
                }
            }
        }
    }
    let long = "x".repeat(1_000_000);
    assert!(parse(&long, Dimension::Mass).expect_err("long").to_string().len() < 200);
    assert!(
        parse(&format!("5 {long}"), Dimension::Mass)
            .expect_err("long")
            .to_string()
            .len()
            < 200
    );
}

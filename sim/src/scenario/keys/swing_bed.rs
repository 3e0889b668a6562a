//! Pairs of beds.

use super::removal::{FAN_KEY, FAN_PART, FLOW, KIND, ON, POWER, SERVES};
use super::*;
use Dimension::{
    Fraction, Loading, Mass, Number, PartialPressure, PerTime, Temperature, TemperatureDifference, Time, Volume,
};

/// Loading of a sorbent: no solid holds its own mass of CO2.
const LOADING_MOL_KG: Domain = domain(0.0, 50.0);
/// Partial pressure around a desorbing bed. Toth's form is not fitted above an atmosphere.
const DESORB_PA: Domain = domain(0.0, 101_325.0);
/// Rate of approach to equilibrium.
const RATE_1_S: Domain = domain(1e-7, 10.0);

/// `removal.X` of kind swing-bed.
pub static SWING_BED: Section = Section {
    path: "removal.X",
    meaning: "Two beds that take turns: one adsorbs CO2 and water from the cabin while the other desorbs overboard. A bed approaches the \
              loading in equilibrium with the gas around it at its rate; held water hinders CO2. The first bed adsorbs from time zero.",
    keys: &[
        KIND,
        SERVES,
        FLOW,
        FAN_KEY,
        FAN_PART,
        key(
            "bed",
            Kind::Number(Mass, domain(1e-3, 1e4)),
            Need::Required,
            "\"12 kg\"",
            "Mass of sorbent in each bed.",
        ),
        key(
            "half_cycle",
            Kind::Number(Time, SPAN_S),
            Need::Required,
            "\"30 min\"",
            "Time for which a bed adsorbs before it turns.",
        ),
        key(
            "bed_temperature",
            Kind::Number(Temperature, TEMPERATURE_K),
            Need::Absent("that of the air it serves"),
            "\"25 degC\"",
            "Temperature of both beds.",
        ),
        key(
            "isotherm",
            Kind::Word(&["zeolite-5a"]),
            Need::Default("\"zeolite-5a\"", "Toth's form, NASA TM-1998-208752", true),
            "\"zeolite-5a\"",
            "The sorbent, for what `co2_isotherm` and `water_isotherm` do not say.",
        ),
        key(
            "co2_isotherm",
            Kind::Table(&ISOTHERM),
            Need::Absent("that of `isotherm`"),
            "{ most = \"3 mol/kg\", half = \"1 kPa\" }",
            "Loading with CO2 in equilibrium with its partial pressure.",
        ),
        key(
            "water_isotherm",
            Kind::Table(&ISOTHERM),
            Need::Absent("that of `isotherm`"),
            "{ loading = \"4 mol/kg\", at = \"1 kPa\" }",
            "Loading with water in equilibrium with its partial pressure.",
        ),
        key(
            "competition",
            Kind::Number(Number, domain(0.0, 1000.0)),
            Need::Default(
                "1",
                "assumption: 1 mol of water on 1 kg halves the loading with CO2",
                false,
            ),
            "0.5",
            "How much held water hinders CO2, kg/mol: the loading in equilibrium is divided by 1 + competition times that of water.",
        ),
        key(
            "rates",
            Kind::Table(&RATES),
            Need::Absent("its defaults"),
            "{ co2 = \"0.005 1/s\", water = \"0.005 1/s\" }",
            "How fast the beds approach equilibrium.",
        ),
        key(
            "desorb",
            Kind::Table(&DESORB),
            Need::Absent("its defaults"),
            "{ co2 = \"0.1 mmHg\", water = \"0.1 mmHg\" }",
            "Partial pressures around a desorbing bed.",
        ),
        key(
            "lost",
            Kind::Number(Volume, domain(0.0, 1e3)),
            Need::Absent("what `ullage` and `saved` leave; without those none"),
            "\"2 L\"",
            "Cabin gas lost overboard at each turn, as volume at cabin pressure.",
        ),
        key(
            "ullage",
            Kind::Number(Volume, domain(0.0, 1e3)),
            Need::Absent("`lost` says what is lost"),
            "\"8 L\"",
            "Gas volume in a bed, in place of `lost`.",
        ),
        key(
            "saved",
            Kind::Number(Fraction, PART),
            Need::Absent("none of it; half can be, by letting the pressures of both beds meet before a turn"),
            "\"50 %\"",
            "Part of the gas in the ullage that is saved at each turn.",
        ),
        key(
            "loaded",
            Kind::Table(&LOADED),
            Need::Absent("clean beds"),
            "{ second_co2 = \"0.8 mol/kg\", second_water = \"2 mol/kg\" }",
            "Loadings at the start.",
        ),
        key(
            "valves",
            Kind::Word(&[
                "turning",
                "first stuck",
                "second stuck",
                "first isolated",
                "second isolated",
            ]),
            Need::Default("\"turning\"", "assumption: they work", false),
            "\"first stuck\"",
            "What the valves do. Stuck: that bed adsorbs for ever. Isolated: that bed is shut off, and nothing is taken in its turns.",
        ),
        POWER,
        ON,
    ],
};

/// `removal.X.co2_isotherm` and `removal.X.water_isotherm`.
pub static ISOTHERM: Section = Section {
    path: "removal.X.co2_isotherm | water_isotherm",
    meaning: "Loading in equilibrium with a partial pressure p, in one of three forms: `most` and `half` (Langmuir), `loading` and `at` \
              (a line from the origin), or `a0`, `b0`, `e`, `t0` and `c` (Toth, q = a p / (1 + (b p)^t)^(1/t) with a = a0 e^(E/T), \
              b = b0 e^(E/T), t = t0 + c/T; up to 1 atm).",
    keys: &[
        key(
            "most",
            Kind::Number(Loading, domain(1e-6, 50.0)),
            Need::Absent("-"),
            "\"3 mol/kg\"",
            "Langmuir: the loading that no pressure exceeds.",
        ),
        key(
            "half",
            Kind::Number(PartialPressure, domain(1e-3, 1e7)),
            Need::Absent("-"),
            "\"1 kPa\"",
            "Langmuir: the partial pressure at which half of that is held.",
        ),
        key(
            "loading",
            Kind::Number(Loading, domain(1e-6, 50.0)),
            Need::Absent("-"),
            "\"1.2 mol/kg\"",
            "A line: its loading at the partial pressure `at`.",
        ),
        key(
            "at",
            Kind::Number(PartialPressure, domain(1e-3, 1e7)),
            Need::Absent("-"),
            "\"3 mmHg\"",
            "A line: the partial pressure of `loading`.",
        ),
        key(
            "a0",
            Kind::Number(Number, domain(1e-30, 1e6)),
            Need::Absent("-"),
            "9.875e-7",
            "Toth: a0 in mol/kg/kPa.",
        ),
        key(
            "b0",
            Kind::Number(Number, domain(1e-30, 1e6)),
            Need::Absent("-"),
            "6.761e-8",
            "Toth: b0 in 1/kPa.",
        ),
        key(
            "e",
            Kind::Number(TemperatureDifference, domain(0.0, 3e4)),
            Need::Absent("-"),
            "\"5625 K\"",
            "Toth: E, the heat of sorption over the gas constant.",
        ),
        key(
            "t0",
            Kind::Number(Number, domain(-10.0, 10.0)),
            Need::Absent("-"),
            "0.27",
            "Toth: t0.",
        ),
        key(
            "c",
            Kind::Number(TemperatureDifference, domain(-2000.0, 2000.0)),
            Need::Absent("-"),
            "\"-20.02 K\"",
            "Toth: c.",
        ),
    ],
};

/// `removal.X.rates`.
pub static RATES: Section = Section {
    path: "removal.X.rates",
    meaning: "Rates of the linear driving force: dq/dt = rate times what is missing to equilibrium.",
    keys: &[
        key(
            "co2",
            Kind::Number(PerTime, RATE_1_S),
            Need::Default(
                "\"0.003 1/s\"",
                "the middle of 0.001 to 0.01 1/s in the literature on zeolites",
                true,
            ),
            "\"0.005 1/s\"",
            "Of CO2.",
        ),
        key(
            "water",
            Kind::Number(PerTime, RATE_1_S),
            Need::Default(
                "\"0.003 1/s\"",
                "the middle of 0.001 to 0.01 1/s in the literature on zeolites",
                true,
            ),
            "\"0.002 1/s\"",
            "Of water.",
        ),
    ],
};

/// `removal.X.desorb`.
pub static DESORB: Section = Section {
    path: "removal.X.desorb",
    meaning: "Partial pressures around a desorbing bed.",
    keys: &[
        key(
            "co2",
            Kind::Number(PartialPressure, DESORB_PA),
            Need::Default("\"0 mmHg\"", "assumption: open to a vacuum", false),
            "\"0.1 mmHg\"",
            "Of CO2.",
        ),
        key(
            "water",
            Kind::Number(PartialPressure, DESORB_PA),
            Need::Default("\"0 mmHg\"", "assumption: open to a vacuum", false),
            "\"0.1 mmHg\"",
            "Of water.",
        ),
    ],
};

/// `removal.X.loaded`.
pub static LOADED: Section = Section {
    path: "removal.X.loaded",
    meaning: "Loadings of the beds at the start.",
    keys: &[
        loaded("first_co2", "Of the first bed, which adsorbs first, with CO2."),
        loaded("first_water", "Of the first bed with water."),
        loaded("second_co2", "Of the second bed with CO2."),
        loaded("second_water", "Of the second bed with water."),
    ],
};

const fn loaded(name: &'static str, meaning: &'static str) -> Key {
    key(
        name,
        Kind::Number(Loading, LOADING_MOL_KG),
        Need::Default("\"0 mol/kg\"", "a clean bed", false),
        "\"0.8 mol/kg\"",
        meaning,
    )
}

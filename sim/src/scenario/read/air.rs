//! `[air]`, `[outside]` and a compartment's own air.

use crate::air::{CompositionError, partials};
use crate::scenario::blueprint::AirNums;
use crate::scenario::fields::Fields;
use crate::scenario::num::Num;
use crate::scenario::reader::Reader;
use crate::units::show;

use super::{kilopascal, median};

/// All of `[air]` or `[outside]`.
pub(super) fn whole(r: &mut Reader<'_>, fields: &Fields<'_>) -> AirNums {
    let air = AirNums {
        pressure: fields.number(r, "pressure"),
        oxygen: fields.number(r, "oxygen"),
        co2: fields.number(r, "co2"),
        humidity: fields.number(r, "humidity"),
        temperature: fields.number(r, "temperature"),
    };
    possible(r, fields, &air);
    air
}

/// A compartment's own air over the common one.
pub(super) fn own(r: &mut Reader<'_>, fields: &Fields<'_>, common: &AirNums) -> AirNums {
    let mut get = |name, usual: Num| fields.number_if(r, name).unwrap_or(usual);
    let air = AirNums {
        pressure: get("pressure", common.pressure),
        oxygen: get("oxygen", common.oxygen),
        co2: get("co2", common.co2),
        humidity: get("humidity", common.humidity),
        temperature: get("temperature", common.temperature),
    };
    possible(r, fields, &air);
    air
}

/// Reports an air whose parts exceed the whole, at the medians.
fn possible(r: &mut Reader<'_>, fields: &Fields<'_>, air: &AirNums) {
    let m = |num| median(r, num);
    let (pressure, oxygen, co2) = (m(air.pressure), m(air.oxygen), m(air.co2));
    let (humidity, temperature) = (m(air.humidity), m(air.temperature));
    if let Err(CompositionError::Overfull { sum_pa, .. }) = partials(pressure, oxygen, co2, humidity, temperature) {
        let message = format!(
            "`{}`: CO2, vapour and oxygen add up to {}, more than the pressure of {}",
            fields.path,
            show(sum_pa, kilopascal()),
            show(pressure, kilopascal())
        );
        let spot = if fields.entry("oxygen").is_some() {
            fields.spot_of("oxygen")
        } else {
            fields.spot.clone()
        };
        r.texts.fault(
            &spot,
            message,
            "oxygen is a part of the dry gas, CO2 included: there must be room for both",
        );
    }
}

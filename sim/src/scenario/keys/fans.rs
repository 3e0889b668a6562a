//! Fans.

use super::*;
use Dimension::{Power, VolumeFlow};

/// `fans.X`.
pub static FAN: Section = Section {
    path: "fans.X",
    meaning: "Gives the devices that it feeds their flow. Its inlet is the air that they serve, and a device downstream of another \
              meets that air too (assumption: little is taken in one pass). To switch it is to switch them all.",
    keys: &[
        key(
            "flow",
            Kind::Number(VolumeFlow, FLOW_M3_S),
            Need::Required,
            "\"1.5 m3/min\"",
            "Actual volume at its inlet.",
        ),
        key(
            "power",
            Kind::Number(Power, POWER_W),
            Need::Default("\"0 W\"", "assumption: no heat that counts", false),
            "\"30 W\"",
            "Electric power: heat to the air, counted in equal parts with the devices that it feeds, while they are on.",
        ),
    ],
};

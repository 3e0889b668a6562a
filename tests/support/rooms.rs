//! Scenario files that several tests take.

/// One person in a sealed room; how long each of six turns of work takes is drawn by itself.
pub const SIX_TURNS: &str = r#"format = 1
title = "Six turns of work in a sealed room"
duration = "7 h"

[air]
pressure = "101.325 kPa"
oxygen = "20.9 %"
co2 = "0.3 mmHg"
humidity = "40 %"
temperature = "22 degC"

[compartments.room]
free_volume = { normal = ["40 m3", "0.5 m3"], within = ["37 m3", "43 m3"] }

[control.room]
oxygen = { hold = "20.5 kPa" }

[efforts.calm]
oxygen = "0.6 kg/d"
co2 = "0.7 kg/d"
vapour = "1 kg/d"

[efforts.busy]
oxygen = "2.4 kg/d"
co2 = "2.8 kg/d"
vapour = "2 kg/d"

[crew.lead]
idle = "calm"

[[tasks]]
id = "work"
crew = ["lead"]
effort = "busy"
in = "room"
at = "0 h"
duration = { uniform = ["10 min", "50 min"] }
repeat = { every = "1 h", times = 6 }

[[limits.rule]]
id = "co2-ceiling"
quantity = "co2"
at_most = "6.35 mmHg"
source = "this test"
"#;

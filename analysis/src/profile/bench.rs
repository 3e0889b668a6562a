//! A bench: the condition that it states volumes for, its step, and what each of its channels can do.
//!
//! ```toml
//! format = 1
//! title = "Gas-mixing bench 2"
//! step = "1 min"
//! reference = { temperature = "0 degC", pressure = "101.325 kPa" }
//! [channels]
//! co2 = { range = ["0 L/min", "3 L/min"], sweep = "20 s" }
//! temperature = { range = ["10 degC", "40 degC"], sweep = "1 h" }
//! ```
//!
//! `range` is what a channel can deliver, of flows as standard volume; `sweep` the time that it takes from one end of its range to the
//! other. Channels: co2, water, oxygen, diluent, total (flows); temperature, dew_point, pressure. What is not named is not limited.

use breathroom_sim::text::{Diagnostic, Entry, Node, Spot, Table, Texts, Value, parse};
use breathroom_sim::units::{Dimension, parse as parse_quantity};

/// A channel of a bench.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Channel {
    /// Flow of CO2.
    Co2,
    /// Flow of water vapour.
    Water,
    /// Flow of oxygen.
    Oxygen,
    /// Flow of the diluent.
    Diluent,
    /// Flow of all gas.
    Total,
    /// Temperature at the device's inlet.
    Temperature,
    /// Dew point at it.
    DewPoint,
    /// Total pressure at it.
    Pressure,
}

impl Channel {
    /// All, in the order of the file's documentation; flows of species come first, by their index.
    pub const ALL: [Self; 8] = [
        Self::Co2,
        Self::Water,
        Self::Oxygen,
        Self::Diluent,
        Self::Total,
        Self::Temperature,
        Self::DewPoint,
        Self::Pressure,
    ];

    /// Its key.
    #[must_use]
    pub fn key(self) -> &'static str {
        match self {
            Self::Co2 => "co2",
            Self::Water => "water",
            Self::Oxygen => "oxygen",
            Self::Diluent => "diluent",
            Self::Total => "total",
            Self::Temperature => "temperature",
            Self::DewPoint => "dew_point",
            Self::Pressure => "pressure",
        }
    }

    /// What its range is stated in.
    #[must_use]
    pub fn dimension(self) -> Dimension {
        match self {
            Self::Temperature | Self::DewPoint => Dimension::Temperature,
            Self::Pressure => Dimension::Pressure,
            _ => Dimension::VolumeFlow,
        }
    }

    /// Its place in [`Bench::limits`].
    #[must_use]
    pub fn index(self) -> usize {
        Self::ALL.iter().position(|other| *other == self).unwrap_or(0)
    }
}

/// What a channel can do; flows are standard volumes, m3/s.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limits {
    /// Least and largest.
    pub range: [f64; 2],
    /// Fastest change, per second; infinite if it is at once.
    pub slew: f64,
}

impl Limits {
    /// Of a channel that is not limited.
    pub const NONE: Self = Self {
        range: [f64::NEG_INFINITY, f64::INFINITY],
        slew: f64::INFINITY,
    };
}

/// A bench.
#[derive(Clone, Debug, PartialEq)]
pub struct Bench {
    /// Its title.
    pub title: String,
    /// Step of its set points, s.
    pub step_s: f64,
    /// What a standard volume is stated for, K.
    pub reference_k: f64,
    /// Pa.
    pub reference_pa: f64,
    /// By the order of [`Channel::ALL`].
    pub limits: [Limits; 8],
}

impl Default for Bench {
    /// One without limits: a step of 1 min, volumes at 0 degC and 101.325 kPa.
    fn default() -> Self {
        Self {
            title: String::new(),
            step_s: 60.0,
            reference_k: 273.15,
            reference_pa: 101_325.0,
            limits: [Limits::NONE; 8],
        }
    }
}

impl Bench {
    /// Reads a bench file.
    ///
    /// # Errors
    /// Everything that is wrong with it.
    pub fn read(name: &str, text: &str) -> Result<Self, Vec<Diagnostic>> {
        let mut texts = Texts::new(name, text, &[]);
        let parsed = parse(&mut texts, text);
        let mut reader = Reader { texts };
        let bench = reader.bench(&parsed.tree);
        if reader.texts.faults.is_empty() {
            Ok(bench)
        } else {
            Err(reader.texts.faults)
        }
    }

    /// The limits of a channel.
    #[must_use]
    pub fn of(&self, channel: Channel) -> Limits {
        self.limits[channel.index()]
    }

    /// Standard volume of an amount, m3/mol.
    #[must_use]
    pub fn standard_m3_mol(&self) -> f64 {
        breathroom_sim::air::GAS_CONSTANT_J_MOL_K * self.reference_k / self.reference_pa
    }
}

struct Reader {
    texts: Texts,
}

impl Reader {
    fn bench(&mut self, root: &Table) -> Bench {
        let top = Spot { source: 0, span: 0..0 };
        let mut bench = Bench::default();
        self.known(root, &["format", "title", "step", "reference", "channels"]);
        match root.get("format").map(|entry| &entry.node) {
            None => self.texts.fault(&top, "the file has no `format`", "add format = 1"),
            Some(node) if !matches!(node.value, Value::Integer(1)) => {
                self.texts.fault(&node.spot, "`format` is not 1", "format = 1");
            }
            Some(_) => {}
        }
        if let Some(entry) = root.get("title") {
            match entry.node.text() {
                Some(text) => text.clone_into(&mut bench.title),
                None => self.texts.fault(
                    &entry.node.spot,
                    format!("`title` takes text, not {}", entry.node.kind()),
                    "",
                ),
            }
        }
        match root.get("step") {
            Some(entry) => bench.step_s = self.span(entry).unwrap_or(bench.step_s),
            None => self.texts.fault(
                &top,
                "the file has no `step`",
                "add step = \"1 min\": how often its set points change",
            ),
        }
        match self.table(root, "reference") {
            Some((table, spot)) => self.reference(&table, &spot, &mut bench),
            None if root.get("reference").is_none() => {
                let help = "add reference = { temperature = \"0 degC\", pressure = \"101.325 kPa\" }: what its standard volumes are stated for";
                self.texts.fault(&top, "the file has no `reference`", help);
            }
            None => {}
        }
        if let Some((channels, _)) = self.table(root, "channels") {
            let keys: Vec<&'static str> = Channel::ALL.map(Channel::key).to_vec();
            self.known(&channels, &keys);
            for channel in Channel::ALL {
                if let Some((table, spot)) = self.table(&channels, channel.key()) {
                    bench.limits[channel.index()] = self.limits(&table, &spot, channel);
                }
            }
        }
        bench
    }

    fn reference(&mut self, table: &Table, spot: &Spot, bench: &mut Bench) {
        self.known(table, &["temperature", "pressure"]);
        for (key, dimension, value, [lo, hi]) in [
            (
                "temperature",
                Dimension::Temperature,
                &mut bench.reference_k,
                [200.0, 400.0],
            ),
            ("pressure", Dimension::Pressure, &mut bench.reference_pa, [1e3, 1e6]),
        ] {
            match table.get(key) {
                None => {
                    let help = format!(
                        "add {key} = \"{}\"",
                        if key == "pressure" { "101.325 kPa" } else { "0 degC" }
                    );
                    self.texts.fault(spot, format!("`reference` has no `{key}`"), help);
                }
                Some(entry) => {
                    if let Some(si) = self.quantity(&entry.node, key, dimension) {
                        if (lo..=hi).contains(&si) {
                            *value = si;
                        } else {
                            self.texts.fault(
                                &entry.node.spot,
                                format!("`{key}` of a reference cannot be that"),
                                "as in \"0 degC\" and \"101.325 kPa\"",
                            );
                        }
                    }
                }
            }
        }
    }

    fn limits(&mut self, table: &Table, spot: &Spot, channel: Channel) -> Limits {
        self.known(table, &["range", "sweep"]);
        let mut limits = Limits::NONE;
        let key = channel.key();
        let example = format!("range = [\"{0}\", \"{0}\"]", channel.dimension().example());
        match table.get("range").map(|entry| &entry.node) {
            None => self
                .texts
                .fault(spot, format!("`{key}` has no `range`"), format!("add {example}")),
            Some(Node {
                value: Value::List(ends),
                ..
            }) if ends.len() == 2 => {
                let [lo, hi] = [0, 1].map(|n| self.quantity(&ends[n], "range", channel.dimension()));
                if let (Some(lo), Some(hi)) = (lo, hi) {
                    let is_flow = channel.dimension() == Dimension::VolumeFlow;
                    if lo >= hi {
                        self.texts
                            .fault(&ends[1].spot, "the range is empty", "the lower end, then the upper one");
                    } else if is_flow && lo < 0.0 {
                        self.texts
                            .fault(&ends[0].spot, "a flow cannot be negative", "0 or more");
                    } else {
                        limits.range = [lo, hi];
                    }
                }
            }
            Some(node) => self.texts.fault(&node.spot, "`range` is a list of two ends", example),
        }
        if let Some(entry) = table.get("sweep")
            && let Some(sweep) = self.span(entry)
        {
            limits.slew = (limits.range[1] - limits.range[0]) / sweep;
            if !limits.slew.is_finite() {
                limits.slew = f64::INFINITY;
            }
        }
        limits
    }

    /// A time above 0 and up to 30 days.
    fn span(&mut self, entry: &Entry) -> Option<f64> {
        let si = self.quantity(&entry.node, &entry.key, Dimension::Time)?;
        if si > 0.0 && si <= 30.0 * 86_400.0 {
            return Some(si);
        }
        self.texts.fault(
            &entry.node.spot,
            format!("`{}` cannot be that", entry.key),
            "more than 0 and at most 30 d",
        );
        None
    }

    fn quantity(&mut self, node: &Node, key: &str, dimension: Dimension) -> Option<f64> {
        let Some(text) = node.text() else {
            let message = format!("`{key}` takes {}, not {}", dimension.with_article(), node.kind());
            self.texts
                .fault(&node.spot, message, format!("write e.g. \"{}\"", dimension.example()));
            return None;
        };
        match parse_quantity(text, dimension) {
            Ok(read) => Some(read.si),
            Err(error) => {
                self.texts.fault(&node.spot, error.message(), error.help());
                None
            }
        }
    }

    fn known(&mut self, table: &Table, keys: &[&str]) {
        for entry in table.entries.iter().filter(|entry| !keys.contains(&entry.key.as_str())) {
            let help = self.texts.meant(&entry.key, keys.iter().copied());
            self.texts
                .fault(&entry.key_spot, format!("unknown key `{}`", entry.key), help);
        }
    }

    fn table(&mut self, of: &Table, key: &str) -> Option<(Table, Spot)> {
        let entry = of.get(key)?;
        match entry.node.table() {
            Some(table) => Some((table.clone(), entry.node.spot.clone())),
            None => {
                self.texts.fault(
                    &entry.node.spot,
                    format!("`{key}` is a table, not {}", entry.node.kind()),
                    format!("{key} = {{ .. }}"),
                );
                None
            }
        }
    }
}

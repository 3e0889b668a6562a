//! Numbers of a case that a fault may change.

/// A number of a case. Indices refer to the case.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Target {
    /// Of a removal device.
    Device {
        /// Index of the device.
        device: usize,
        /// Which.
        number: DeviceNumber,
    },
    /// Exchange flow of an opening, m3/s.
    Exchange(usize),
    /// Leak of a compartment as actual volume, m3/s.
    Leak(usize),
    /// Effective area of a compartment's leak, m2.
    LeakArea(usize),
    /// Of a hold.
    Hold {
        /// Index of the hold.
        hold: usize,
        /// Of its oxygen, else of its total pressure.
        oxygen: bool,
        /// Which.
        number: HoldNumber,
    },
    /// What a tank holds, mol: changed at once, by the factor or amount, when the fault begins.
    TankAmount(usize),
    /// What a tank cannot deliver, mol.
    TankResidue(usize),
    /// Of a sensor.
    Sensor {
        /// Index of the sensor.
        sensor: usize,
        /// Which.
        number: SensorNumber,
    },
}

/// A number of a removal device; those that its family has.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DeviceNumber {
    /// The part of what it would take at the same inlet that it still takes: of its flow past bed or coil, or of its curve.
    Capacity,
    /// m3/s.
    Flow,
    /// Fraction.
    Co2Efficiency,
    /// Fraction.
    WaterEfficiency,
    /// Fraction.
    Bypass,
    /// Coil temperature, K.
    Coil,
    /// Fraction.
    CarryOver,
    /// What a canister takes in all, mol.
    Holds,
    /// `N` of Bohart and Adams.
    Sharpness,
    /// Sorbent in each bed, kg.
    BedMass,
    /// K.
    BedTemperature,
    /// kg/mol.
    Competition,
    /// 1/s.
    Co2Rate,
    /// 1/s.
    WaterRate,
    /// Pa.
    Co2Desorbs,
    /// Pa.
    WaterDesorbs,
    /// Cabin gas lost at a turn, m3.
    Lost,
    /// W.
    Power,
}

/// A number of a hold.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum HoldNumber {
    /// Set point, Pa.
    Set,
    /// The most that it lets in, mol/s.
    Flow,
    /// Width of its band, Pa.
    Width,
    /// Of a proportional one: mol/s/Pa.
    Gain,
}

/// A number of a sensor.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SensorNumber {
    /// Factor.
    Gain,
    /// In the quantity's SI unit.
    Bias,
    /// The same per second since the fault's onset: the reading walks away.
    Drift,
    /// Standard deviation, in the quantity's SI unit.
    Noise,
    /// s.
    Lag,
}

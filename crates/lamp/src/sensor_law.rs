//! What a sensor and its logger are, as their makers and the lamp's maker state them. How an output turns into a
//! temperature is the bench's business.

/// What a sensor puts out for a temperature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SensorLaw {
    /// A voltage that grows evenly with the temperature.
    LinearOutput {
        /// Output at 0 degC, V.
        at_0_degc_v: f64,
        /// Slope, V/K; not 0.
        slope_v_per_k: f64,
    },
    /// A thermistor of negative temperature coefficient (NTC).
    Thermistor {
        /// Resistance over temperature.
        curve: ThermistorCurve,
        /// The divider it is read in; without one the resistance itself is logged.
        divider: Option<Divider>,
    },
    /// A platinum resistor after IEC 60751.
    Platinum {
        /// Resistance at 0 degC, ohm: 100 for a Pt100.
        at_0_degc_ohm: f64,
        /// Resistance of the leads that is read along with it, ohm, both ways together; 0 with four wires.
        lead_ohm: f64,
        /// The divider it is read in; without one the resistance itself is logged.
        divider: Option<Divider>,
    },
    /// A thermocouple after the ITS-90 reference functions, read as the voltage between its cold ends.
    Thermocouple {
        /// Its pair of metals.
        kind: ThermocoupleType,
        /// Temperature of the cold junction, degC, where it is a fixed value and not a column of the log.
        cold_junction_c: Option<f64>,
    },
    /// The emitters' own forward voltage at a small current.
    ForwardVoltage {
        /// Temperature at which the voltage was read cold, degC.
        reference_c: f64,
        /// Voltage read there, V.
        reference_v: f64,
        /// Change of the voltage with the junction temperature, V/K; not 0, negative for emitters.
        slope_v_per_k: f64,
    },
    /// The logger gives degC itself.
    DegreesCelsius,
}

/// Resistance of a thermistor over temperature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ThermistorCurve {
    /// `R = R25 exp(B (1/T - 1/298.15 K))`.
    Beta {
        /// Resistance at 25 degC, ohm.
        at_25_degc_ohm: f64,
        /// B, K.
        beta_k: f64,
    },
    /// `1/T = a + b ln R + c (ln R)^3`, R in ohm, T in K.
    SteinhartHart {
        /// a, 1/K.
        a: f64,
        /// b, 1/K.
        b: f64,
        /// c, 1/K.
        c: f64,
    },
}

/// A sensor and a fixed resistor in series across a supply; the voltage between them is read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Divider {
    /// The fixed resistor, ohm.
    pub fixed_ohm: f64,
    /// How far it may be off, as a part of it: 0.01 for 1 %.
    pub fixed_tolerance: f64,
    /// Supply across both, V.
    pub supply_v: f64,
    /// How far the supply may be off, as a part of it.
    pub supply_tolerance: f64,
    /// Which end of the supply the sensor sits at.
    pub side: DividerSide,
}

/// Which end of the supply the sensor of a divider sits at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DividerSide {
    /// Sensor between reading and ground.
    Ground,
    /// Sensor between supply and reading.
    Supply,
}

/// Pairs of metals of thermocouples.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ThermocoupleType {
    /// Nickel-chromium against nickel-aluminium.
    K,
    /// Copper against copper-nickel.
    T,
    /// Iron against copper-nickel.
    J,
    /// Nickel-chromium-silicon against nickel-silicon.
    N,
}

/// Classes of thermometers by their limits of error.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AccuracyClass {
    /// Platinum, IEC 60751 class AA.
    PlatinumAa,
    /// Platinum, IEC 60751 class A.
    PlatinumA,
    /// Platinum, IEC 60751 class B.
    PlatinumB,
    /// Platinum, IEC 60751 class C.
    PlatinumC,
    /// Thermocouple, IEC 60584-1 class 1.
    Thermocouple1,
    /// Thermocouple, IEC 60584-1 class 2.
    Thermocouple2,
    /// Thermocouple, IEC 60584-1 class 3, for the cold; there is none of type J.
    Thermocouple3,
}

/// How far a sensor's reading may be off, by class or as its sheet states it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Accuracy {
    /// By class.
    Class(AccuracyClass),
    /// `fixed_k + per_k |t|`, t in degC.
    Stated {
        /// Part that is the same everywhere, K.
        fixed_k: f64,
        /// Part that grows with the temperature, K per degC.
        per_k: f64,
    },
}

/// What reads the sensor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Logger {
    /// Bits of the converter.
    pub bits: f64,
    /// Lowest voltage it can read, V.
    pub low_v: f64,
    /// Highest voltage it can read, V.
    pub high_v: f64,
    /// How far its reference may be off, as a part of it.
    pub reference_error: f64,
    /// Noise of one reading, V rms.
    pub noise_v: f64,
    /// Readings averaged into one sample.
    pub averaged: f64,
    /// Whether a divider's supply is also the converter's reference, so that its error cancels.
    pub ratiometric: bool,
}

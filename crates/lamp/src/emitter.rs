//! Emitter sheets: what an emitter's datasheet says, as values with units.

/// One emitter class.
#[derive(Debug, Clone, PartialEq)]
pub struct EmitterSheet {
    /// Short name, as used in the project text and as file name.
    pub name: String,
    /// One line for headings.
    pub title: String,
    /// Where the values come from.
    pub source: String,
    /// Forward voltage over current at the reference junction temperature: (A, V), currents ascending, at least one.
    pub forward_v_by_current: Vec<(f64, f64)>,
    /// Junction temperature at which the voltages hold, degC.
    pub voltage_reference_c: f64,
    /// Change of forward voltage with junction temperature, V/K (negative).
    pub forward_v_per_k: f64,
    /// How far an emitter's forward voltage may lie above or below the table, V; >= 0.
    pub forward_v_tolerance_v: f64,
    /// Luminous flux at the binning point, lm.
    pub flux_lm: f64,
    /// Current of the binning point, A.
    pub binning_current_a: f64,
    /// Junction temperature of the binning point, degC.
    pub binning_junction_c: f64,
    /// Flux relative to the binning point over current: (A, -), currents ascending.
    pub relative_flux_by_current: Vec<(f64, f64)>,
    /// Flux relative to the binning point over junction temperature: (degC, -), ascending.
    pub relative_flux_by_junction: Vec<(f64, f64)>,
    /// How much of the electrical power becomes radiation.
    pub radiation: Radiation,
    /// Factor on the heat that follows from voltage and light; 1 as the sheet says. What is more heat is less light.
    pub heat_factor: f64,
    /// Junction to solder point, K/W.
    pub junction_to_solder_k_per_w: f64,
    /// What the K/W is per.
    pub resistance_basis: ResistanceBasis,
    /// Electrical-to-radiant efficiency at which an 'electrical' resistance was stated, 0..1 (JESD51-51 conversion);
    /// `None`: computed from the sheet at the binning point.
    pub resistance_stated_at_efficiency: Option<f64>,
    /// Highest junction temperature, degC.
    pub junction_limit_c: f64,
    /// Highest current, A.
    pub current_limit_a: f64,
    /// Highest solder point temperature, degC, where stated.
    pub solder_limit_c: Option<f64>,
    /// The maker's ageing tests, where typed in.
    pub ageing_tests: Vec<crate::lumen_maintenance::AgeingTest>,
    /// Body size seen from above, m: x, y.
    pub body_m: [f64; 2],
    /// Lands relative to the centre at rotation 0.
    pub lands: Vec<SheetLand>,
}

/// Radiant power: from the flux, or given.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Radiation {
    /// Efficacy of radiation, lm per radiant W.
    EfficacyOfRadiation {
        /// lm/W.
        lm_per_w: f64,
    },
    /// Radiant over electrical power at the binning point, 0..1; follows the flux curves from there.
    Efficiency {
        /// 0..1.
        fraction: f64,
    },
}

/// What a junction-to-solder resistance is stated per.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ResistanceBasis {
    /// Per watt of heat.
    Real,
    /// Per watt of electrical power.
    Electrical,
}

/// A rectangular land of the package.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SheetLand {
    /// What it is for.
    pub role: crate::as_built::LandRole,
    /// Centre relative to the package's, m: x, y.
    pub at_m: [f64; 2],
    /// Size, m: x, y.
    pub size_m: [f64; 2],
}

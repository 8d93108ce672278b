//! Copper's resistivity, the trace-width rule of IPC-2221, and round conductors.

/// Resistivity of annealed copper at 20 °C, Ω·m: 1/58 Ω·mm²/m (IEC 60028).
pub const ANNEALED_20C_OHM_M: f64 = 1e-6 / 58.0;
/// Temperature coefficient of annealed copper's resistance at 20 °C and constant mass, 1/K (IEC 60028).
pub const ANNEALED_COEFFICIENT_PER_K: f64 = 0.00393;
/// Temperatures, °C, in which the straight line of [`annealed_ohm_m`] holds to about 1 % (compared with tables of copper's
/// resistivity, from memory). Below, the resistivity bends away; above, boards do not last.
pub const ANNEALED_RANGE_C: [f64; 2] = [-60.0, 200.0];

/// A value, and whether its relation was used inside the range it is known for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct InRange {
    /// The value.
    pub value: f64,
    /// `false` when it is extrapolated.
    pub in_range: bool,
}

/// Resistivity, Ω·m, of annealed copper at a temperature: ρ = ρ20 (1 + α20 (T − 20)), IEC 60028.
///
/// Range [`ANNEALED_RANGE_C`]. Far below the range the line falls to zero: it is held at a tenth of ρ20. Plated copper is
/// some percent poorer than annealed copper.
#[must_use]
pub fn annealed_ohm_m(temperature_c: f64) -> InRange {
    let [low, high] = ANNEALED_RANGE_C;
    let line = 1.0 + ANNEALED_COEFFICIENT_PER_K * (temperature_c - 20.0);
    InRange { value: ANNEALED_20C_OHM_M * line.max(0.1), in_range: (low..=high).contains(&temperature_c) }
}

/// What the trace-width rule is, to stand beside every value of it.
pub const RULE_LABEL: &str =
    "IPC-2221, a rule for single traces on FR4 in still air (0 to 35 A, 10 to 100 K, widths to 10 mm)";

/// Which traces of the IPC-2221 rule: the constant k of its fit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TraceKind {
    /// On an outer face: k = 0.048.
    External,
    /// Between layers: k = 0.024.
    Internal,
}

impl TraceKind {
    fn k(self) -> f64 {
        match self {
            Self::External => 0.048,
            Self::Internal => 0.024,
        }
    }
}

/// Exponent of the rise, K.
const RISE_POWER: f64 = 0.44;
/// Exponent of the section, mil².
const SECTION_POWER: f64 = 0.725;
/// A mil, m.
const MIL_M: f64 = 25.4e-6;
/// Largest current, A, of the rule's charts (from memory).
const RULE_CURRENT_A: f64 = 35.0;
/// Rises, K, of the rule's charts (from memory).
const RULE_RISE_K: [f64; 2] = [10.0, 100.0];
/// Widest trace, mm, of the rule's charts: 0.4 inch (from memory).
const RULE_WIDTH_MM: f64 = 10.16;

/// Width, mm, that IPC-2221 asks of a trace of a thickness that carries a current at a rise above the board around it.
///
/// I = k ΔT^0.44 A^0.725 with A in mil², k = 0.048 outside, 0.024 inside (from memory). Charts: up to 35 A, 10 to 100 K,
/// up to 0.4 inch. A rule for FR4 in still air: a trace on a metal core runs far cooler. 0 for no current, NaN unless rise
/// and thickness are positive.
#[must_use]
pub fn trace_width_mm(kind: TraceKind, current_a: f64, rise_k: f64, thickness_um: f64) -> InRange {
    if !(rise_k > 0.0 && thickness_um > 0.0) {
        return InRange { value: f64::NAN, in_range: false };
    }
    let section_mil2 = (current_a.abs() / (kind.k() * rise_k.powf(RISE_POWER))).powf(1.0 / SECTION_POWER);
    let width_mm = section_mil2 * MIL_M * MIL_M / (thickness_um * 1e-6) * 1e3;
    InRange { value: width_mm, in_range: in_charts(current_a, rise_k, width_mm) }
}

/// Rise, K, that IPC-2221 gives a trace: the same relation solved for the rise.
#[must_use]
pub fn trace_rise_k(kind: TraceKind, current_a: f64, width_mm: f64, thickness_um: f64) -> InRange {
    if !(width_mm > 0.0 && thickness_um > 0.0) {
        return InRange { value: f64::NAN, in_range: false };
    }
    let section_mil2 = width_mm * 1e-3 * thickness_um * 1e-6 / (MIL_M * MIL_M);
    let rise_k = (current_a.abs() / (kind.k() * section_mil2.powf(SECTION_POWER))).powf(1.0 / RISE_POWER);
    InRange { value: rise_k, in_range: in_charts(current_a, rise_k, width_mm) }
}

fn in_charts(current_a: f64, rise_k: f64, width_mm: f64) -> bool {
    current_a.abs() <= RULE_CURRENT_A
        && (RULE_RISE_K[0]..=RULE_RISE_K[1]).contains(&rise_k)
        && width_mm <= RULE_WIDTH_MM
}

/// AWG numbers that [`awg_mm2`] takes: −3 stands for 4/0, −2 for 3/0, −1 for 2/0, 0 for 1/0.
pub const AWG_NUMBERS: [i32; 2] = [-3, 50];

/// Section, mm², of a solid round wire of an AWG number: d = 0.127 mm · 92^((36 − n)/39), ASTM B258 (from memory).
/// `None` outside [`AWG_NUMBERS`].
#[must_use]
pub fn awg_mm2(number: i32) -> Option<f64> {
    if !(AWG_NUMBERS[0]..=AWG_NUMBERS[1]).contains(&number) {
        return None;
    }
    let diameter_mm = 0.127 * 92f64.powf(f64::from(36 - number) / 39.0);
    Some(0.25 * std::f64::consts::PI * diameter_mm * diameter_mm)
}

/// A conductor of copper: a lead there and back counts twice its length.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Conductor {
    /// Length of copper that the current goes through, m; 0 or more.
    pub length_m: f64,
    /// Section, mm²; above 0.
    pub section_mm2: f64,
}

/// What a conductor does with a current.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ConductorLoss {
    /// Resistance per metre, Ω/m.
    pub ohm_per_m: f64,
    /// Resistance, Ω.
    pub resistance_ohm: f64,
    /// Voltage drop, V.
    pub drop_v: f64,
    /// Loss, W.
    pub loss_w: f64,
}

impl Conductor {
    /// Resistance, drop and loss of annealed copper at a temperature: R = ρ(T) l / A. `None` for a section that is not
    /// above 0 or a length that is negative or not finite.
    #[must_use]
    pub fn carrying(&self, current_a: f64, temperature_c: f64) -> Option<ConductorLoss> {
        let sound = self.section_mm2 > 0.0
            && self.section_mm2.is_finite()
            && self.length_m >= 0.0
            && self.length_m.is_finite();
        if !sound {
            return None;
        }
        let ohm_per_m = annealed_ohm_m(temperature_c).value / (self.section_mm2 * 1e-6);
        let resistance_ohm = ohm_per_m * self.length_m;
        let drop_v = resistance_ohm * current_a;
        Some(ConductorLoss { ohm_per_m, resistance_ohm, drop_v, loss_w: drop_v * current_a })
    }
}

//! Forward voltage over current as a line that rises everywhere.

use super::sharing::SharingError;
use crate::emitter::EmitterSheet;

/// Boltzmann's constant over the elementary charge, V/K (exact by the definitions of the SI units, 2019).
const BOLTZMANN_OVER_CHARGE_V_PER_K: f64 = 1.380_649e-23 / 1.602_176_634e-19;
/// Least current of a table's row that has a logarithm, A; as [`crate::emitter_physics::forward_v`] has it.
const LEAST_A: f64 = 1e-9;

/// Forward voltage at one junction temperature, straight between the sheet's rows over the logarithm of the current:
/// `V(I) = V_k + b_k ln(I / I_k)`, `dV/dI = b_k / I`, continued below and above the table.
///
/// It is [`crate::emitter_physics::forward_v`] wherever that is above 0 V; below, this one goes on falling, so that an emitter
/// at a low voltage carries a current next to nothing.
pub(super) struct Curve {
    /// `ln I` and V, ascending both.
    rows: Vec<(f64, f64)>,
}

impl Curve {
    /// The curve of a sheet at a junction temperature (degC), shifted by `offset_v`. A table of one row is given the slope
    /// `k T / q`, the least that a diode has (Shockley's law).
    ///
    /// # Errors
    /// When the table's voltage does not rise with the current: nothing then tells how branches share.
    pub fn new(sheet: &EmitterSheet, junction_c: f64, offset_v: f64) -> Result<Self, SharingError> {
        let shift = sheet.forward_v_per_k * (junction_c - sheet.voltage_reference_c) + offset_v;
        let row = |&(current_a, v): &(f64, f64)| (current_a.max(LEAST_A).ln(), v + shift);
        let mut rows: Vec<(f64, f64)> = sheet.forward_v_by_current.iter().map(row).collect();
        if let [(ln, v)] = rows[..] {
            let least = BOLTZMANN_OVER_CHARGE_V_PER_K * (junction_c + 273.15).max(1.0);
            rows.push((ln + 1.0, v + least));
        }
        let rises =
            rows.len() > 1 && rows.windows(2).all(|pair| pair[1].0 > pair[0].0 && pair[1].1 > pair[0].1);
        if rises && rows.iter().all(|(ln, v)| ln.is_finite() && v.is_finite()) {
            Ok(Self { rows })
        } else {
            Err(SharingError::VoltageFalls { sheet: sheet.name.clone() })
        }
    }

    /// Forward voltage, V, and its change with the current, V/A, at a current above 0.
    pub fn at(&self, current_a: f64) -> (f64, f64) {
        let ln = current_a.max(f64::MIN_POSITIVE).ln();
        let last = self.rows.len() - 2;
        let row = self.rows.windows(2).position(|pair| ln <= pair[1].0).unwrap_or(last);
        let (a, b) = (self.rows[row], self.rows[row + 1]);
        let slope = (b.1 - a.1) / (b.0 - a.0);
        (a.1 + slope * (ln - a.0), slope / current_a.max(f64::MIN_POSITIVE))
    }
}

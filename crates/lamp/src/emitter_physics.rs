//! Forward voltage, light and heat of one emitter by current and junction temperature.
//!
//! `heat = V I - radiant`, `radiant = flux / efficacy of radiation` or from a given efficiency; both by energy
//! conservation. Between the points of a table values follow straight lines (the forward voltage over the logarithm of the
//! current, as a diode's does); outside they continue straight, which is told.

use crate::emitter::{EmitterSheet, Radiation, ResistanceBasis};

/// What an emitter does at one current and junction temperature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EmitterState {
    /// Forward voltage, V.
    pub forward_v: f64,
    /// Electrical power, W.
    pub electrical_w: f64,
    /// Luminous flux, lm.
    pub flux_lm: f64,
    /// Radiant power, W.
    pub radiant_w: f64,
    /// Heat, W; never negative.
    pub heat_w: f64,
}

/// Forward voltage, V, at `current_a` and `junction_c`.
#[must_use]
pub fn forward_v(sheet: &EmitterSheet, current_a: f64, junction_c: f64) -> f64 {
    let at_reference = through(&sheet.forward_v_by_current, current_a, |a| a.max(1e-9).ln());
    (at_reference + sheet.forward_v_per_k * (junction_c - sheet.voltage_reference_c)).max(0.0)
}

/// Luminous flux, lm; below the first current of the table it falls evenly to nothing at no current.
#[must_use]
pub fn flux_lm(sheet: &EmitterSheet, current_a: f64, junction_c: f64) -> f64 {
    let by_current = match sheet.relative_flux_by_current.first() {
        Some(&(first_a, first)) if current_a < first_a => first * current_a.max(0.0) / first_a,
        _ => through(&sheet.relative_flux_by_current, current_a, |a| a).max(0.0),
    };
    sheet.flux_lm * by_current * relative_flux_at_junction(sheet, junction_c)
}

/// Flux relative to the binning junction; may be negative where the table's straight continuation crosses zero.
fn relative_flux_at_junction(sheet: &EmitterSheet, junction_c: f64) -> f64 {
    through(&sheet.relative_flux_by_junction, junction_c, |c| c)
}

/// Whether the emitter still gives light at this junction temperature, by the continued table.
#[must_use]
pub fn gives_light(sheet: &EmitterSheet, junction_c: f64) -> bool {
    relative_flux_at_junction(sheet, junction_c) > 0.0
}

/// The whole state at `current_a` and `junction_c`.
#[must_use]
pub fn emitter_state(sheet: &EmitterSheet, current_a: f64, junction_c: f64) -> EmitterState {
    let forward = forward_v(sheet, current_a, junction_c);
    let electrical = forward * current_a;
    let flux = flux_lm(sheet, current_a, junction_c);
    let radiant = flux * radiant_w_per_lm(sheet);
    let as_stated = EmitterState {
        forward_v: forward,
        electrical_w: electrical,
        flux_lm: flux,
        radiant_w: radiant.min(electrical),
        heat_w: (electrical - radiant).max(0.0),
    };
    if sheet.heat_factor == 1.0 { as_stated } else { with_heat_factor(as_stated, sheet.heat_factor) }
}

/// A factor on the heat of a state: what becomes heat does not become light, and the light's colour stays.
fn with_heat_factor(as_stated: EmitterState, factor: f64) -> EmitterState {
    let heat_w = (as_stated.heat_w * factor).min(as_stated.electrical_w);
    let radiant_w = as_stated.electrical_w - heat_w;
    let light = if as_stated.radiant_w > 0.0 { radiant_w / as_stated.radiant_w } else { 0.0 };
    EmitterState { heat_w, radiant_w, flux_lm: as_stated.flux_lm * light, ..as_stated }
}

/// Change of heat with junction temperature at constant current, W/K.
#[must_use]
pub fn heat_w_per_k(sheet: &EmitterSheet, current_a: f64, junction_c: f64) -> f64 {
    let heat = |c: f64| emitter_state(sheet, current_a, c).heat_w;
    heat(junction_c + 0.5) - heat(junction_c - 0.5)
}

/// Radiant watts per lumen.
fn radiant_w_per_lm(sheet: &EmitterSheet) -> f64 {
    match sheet.radiation {
        Radiation::EfficacyOfRadiation { lm_per_w } => 1.0 / lm_per_w,
        Radiation::Efficiency { fraction } => {
            let electrical =
                sheet.binning_current_a * forward_v(sheet, sheet.binning_current_a, sheet.binning_junction_c);
            let flux = flux_lm(sheet, sheet.binning_current_a, sheet.binning_junction_c);
            if flux > 0.0 { fraction * electrical / flux } else { 0.0 }
        }
    }
}

/// Radiant over electrical power at the binning point, 0..1.
#[must_use]
pub fn binning_efficiency(sheet: &EmitterSheet) -> f64 {
    let at = emitter_state(sheet, sheet.binning_current_a, sheet.binning_junction_c);
    if at.electrical_w > 0.0 { at.radiant_w / at.electrical_w } else { 0.0 }
}

/// Junction to solder point per watt of heat, K/W. An 'electrical' resistance is per watt of electrical power, of
/// which only the part `1 - efficiency` is heat: `R_real = R_electrical / (1 - efficiency)` (JESD51-51, section on
/// the real thermal resistance).
#[must_use]
pub fn real_junction_to_solder_k_per_w(sheet: &EmitterSheet) -> f64 {
    match sheet.resistance_basis {
        ResistanceBasis::Real => sheet.junction_to_solder_k_per_w,
        ResistanceBasis::Electrical => {
            let efficiency =
                sheet.resistance_stated_at_efficiency.unwrap_or_else(|| binning_efficiency(sheet));
            sheet.junction_to_solder_k_per_w / (1.0 - efficiency).max(0.05)
        }
    }
}

/// What must be said about using the sheet at this point: tables left behind, or more light than power.
#[must_use]
pub fn sheet_remarks(sheet: &EmitterSheet, current_a: f64, junction_c: f64) -> Vec<String> {
    let mut remarks = Vec::new();
    let tables = [
        ("forward voltage by current", "A", &sheet.forward_v_by_current, current_a),
        ("flux by current", "A", &sheet.relative_flux_by_current, current_a),
        ("flux by junction temperature", "degC", &sheet.relative_flux_by_junction, junction_c),
    ];
    for (what, unit, table, at) in tables {
        let (Some(first), Some(last)) = (table.first(), table.last()) else { continue };
        if table.len() > 1 && (at < first.0 - 1e-9 || at > last.0 + 1e-9) {
            remarks.push(format!(
                "emitter sheet {}: {what} was continued straight to {at:.3} {unit}; its table covers {} to {} {unit}",
                sheet.name, first.0, last.0
            ));
        }
    }
    let at = emitter_state(sheet, current_a, junction_c);
    if at.radiant_w >= at.electrical_w && at.electrical_w > 0.0 {
        remarks.push(format!(
            "emitter sheet {}: at {current_a} A its light carries at least the whole electrical power, so no heat is \
             left; check flux, efficacy of radiation and forward voltage",
            sheet.name
        ));
    }
    remarks
}

/// Value at `at` of a table with ascending first column, straight over `scale` of it, continued straight outside.
fn through(table: &[(f64, f64)], at: f64, scale: impl Fn(f64) -> f64) -> f64 {
    match table {
        [] => 0.0,
        [only] => only.1,
        _ => {
            let row = table.windows(2).position(|w| at <= w[1].0).unwrap_or(table.len() - 2);
            let (a, b) = (table[row], table[row + 1]);
            let width = scale(b.0) - scale(a.0);
            if width.abs() < 1e-300 { a.1 } else { a.1 + (scale(at) - scale(a.0)) / width * (b.1 - a.1) }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sheet(v: f64, lm: f64, radiation: Radiation) -> EmitterSheet {
        EmitterSheet {
            name: "test".into(),
            title: String::new(),
            source: String::new(),
            forward_v_by_current: vec![(0.35, v - 0.1), (0.7, v), (1.4, v + 0.1)],
            voltage_reference_c: 85.0,
            forward_v_per_k: -0.002,
            forward_v_tolerance_v: 0.0,
            flux_lm: lm,
            binning_current_a: 0.7,
            binning_junction_c: 85.0,
            relative_flux_by_current: vec![(0.35, 0.55), (0.7, 1.0), (1.4, 1.7)],
            relative_flux_by_junction: vec![(25.0, 1.1), (85.0, 1.0), (150.0, 0.9)],
            radiation,
            heat_factor: 1.0,
            junction_to_solder_k_per_w: 3.0,
            resistance_basis: ResistanceBasis::Electrical,
            resistance_stated_at_efficiency: None,
            junction_limit_c: 150.0,
            current_limit_a: 1.5,
            solder_limit_c: None,
            ageing_tests: Vec::new(),
            body_m: [3.5e-3, 3.5e-3],
            lands: Vec::new(),
        }
    }

    /// 0.7 A, 2.85 V, 262 lm, 364.883893253 lm/W: 1.995 W electrical, 0.718036627 W radiant, 1.276963373 W heat,
    /// efficiency 0.359918109 (energy balance; the efficacy of radiation is that of a two-peak white spectrum by CIE 15 sums).
    #[test]
    fn heat_is_electrical_less_radiant() {
        let s = sheet(2.85, 262.0, Radiation::EfficacyOfRadiation { lm_per_w: 364.883893253 });
        let at = emitter_state(&s, 0.7, 85.0);
        assert!((at.electrical_w - 1.995).abs() < 1e-12);
        assert!((at.radiant_w - 0.718036627114).abs() < 1e-10, "{at:?}");
        assert!((at.heat_w - 1.27696337289).abs() < 1e-10, "{at:?}");
        assert!((binning_efficiency(&s) - 0.359918108829).abs() < 1e-10);
        // JESD51-51: per watt of heat the resistance is larger by 1 / (1 - efficiency).
        assert!((real_junction_to_solder_k_per_w(&s) - 3.0 / (1.0 - 0.359918108829)).abs() < 1e-8);
        // Stated at another efficiency, that one counts; per watt of heat it stays as it is.
        let stated = EmitterSheet { resistance_stated_at_efficiency: Some(0.25), ..s.clone() };
        assert!((real_junction_to_solder_k_per_w(&stated) - 4.0).abs() < 1e-12);
        let real = EmitterSheet { resistance_basis: ResistanceBasis::Real, ..stated };
        assert_eq!(real_junction_to_solder_k_per_w(&real), 3.0);
    }

    /// A royal-blue emitter given by its radiant power: 0.5 A, 2.95 V, 0.735 W radiant: 1.475 W, heat 0.74 W, efficiency
    /// 0.498305084746 (energy balance).
    #[test]
    fn heat_from_a_given_efficiency() {
        let mut s = sheet(2.95, 40.0, Radiation::Efficiency { fraction: 0.498305084746 });
        s.binning_current_a = 0.5;
        s.forward_v_by_current = vec![(0.25, 2.8), (0.5, 2.95), (1.0, 3.2)];
        s.relative_flux_by_current = vec![(0.25, 0.55), (0.5, 1.0), (1.0, 1.7)];
        let at = emitter_state(&s, 0.5, 85.0);
        assert!((at.heat_w - 0.74).abs() < 1e-9 && (at.radiant_w - 0.735).abs() < 1e-9, "{at:?}");
    }

    #[test]
    fn tables_are_met_at_their_points_and_rise_between() {
        let s = sheet(2.85, 262.0, Radiation::EfficacyOfRadiation { lm_per_w: 320.0 });
        assert!((forward_v(&s, 0.35, 85.0) - 2.75).abs() < 1e-12);
        assert!((forward_v(&s, 1.4, 85.0) - 2.95).abs() < 1e-12);
        // Straight over ln I: the geometric mean of two currents has the arithmetic mean of their voltages.
        assert!((forward_v(&s, (0.35f64 * 0.7).sqrt(), 85.0) - 2.80).abs() < 1e-12);
        assert!((forward_v(&s, 0.7, 105.0) - 2.81).abs() < 1e-12);
        assert!((flux_lm(&s, 0.175, 85.0) - 262.0 * 0.275).abs() < 1e-9);
        // Flux is straight over current and over the junction's temperature, in each span of its tables by that span's slope.
        assert!((flux_lm(&s, 0.525, 85.0) - 262.0 * 0.775).abs() < 1e-9);
        assert!((flux_lm(&s, 1.05, 85.0) - 262.0 * 1.35).abs() < 1e-9);
        assert!((flux_lm(&s, 0.7, 55.0) - 262.0 * 1.05).abs() < 1e-9);
        assert!((flux_lm(&s, 0.7, 117.5) - 262.0 * 0.95).abs() < 1e-9);
        let mut last = 0.0;
        for step in 1..200 {
            let v = forward_v(&s, 0.01 * f64::from(step), 85.0);
            assert!(v > last);
            last = v;
        }
    }

    #[test]
    fn what_leaves_the_tables_is_told_and_heat_stays_positive() {
        let s = sheet(2.85, 262.0, Radiation::EfficacyOfRadiation { lm_per_w: 50.0 });
        assert_eq!(emitter_state(&s, 0.7, 85.0).heat_w, 0.0);
        let remarks = sheet_remarks(&s, 2.0, 170.0);
        assert_eq!(remarks.len(), 4, "{remarks:?}");
        assert!(
            sheet_remarks(&sheet(2.85, 262.0, Radiation::Efficiency { fraction: 0.4 }), 0.7, 85.0).is_empty()
        );
    }
}

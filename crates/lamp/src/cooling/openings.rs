//! Pressure lost where air goes in, out and through openings, and the draught of warm air through them.

use super::natural_convection::GRAVITY;

/// Discharge coefficient of a sharp-edged opening in a large wall, 0.60 to 0.62 (ISO 5167-2: 0.596 at small diameter ratio;
/// handbooks of building ventilation use 0.61).
pub const DISCHARGE_OF_A_SHARP_OPENING: f64 = 0.61;

/// Loss coefficient of a sharp turn by 90 degrees, on the velocity in it. From 1.42 at Re 1e4 to 1.13 at 2e5 in Miller's mitre bends
/// (library `fluids`); at the Re of channels between fins, mostly below 1e4, it is a rough value.
pub const LOSS_OF_A_SHARP_TURN: f64 = 1.2;

/// Loss coefficient of a sudden contraction, on the velocity in the narrow part: `0.5 (1 - s)`, s the narrow over the wide area.
/// Crane Co., Flow of Fluids, 2009 (abrupt end of formula 2).
#[must_use]
pub fn loss_sudden_contraction_crane(area_ratio: f64) -> f64 {
    0.5 * (1.0 - area_ratio.clamp(0.0, 1.0))
}

/// Loss coefficient of a sudden expansion, on the velocity in the narrow part: `(1 - s)²` (Borda-Carnot, exact momentum balance).
#[must_use]
pub fn loss_sudden_expansion_borda_carnot(area_ratio: f64) -> f64 {
    (1.0 - area_ratio.clamp(0.0, 1.0)).powi(2)
}

/// Loss coefficient of a sharp-edged perforated wall in a duct, on the velocity in front of it:
/// `((1 + 0.707 sqrt(1 - f) - f) / f)²`, f the free share of the area.
/// Idelchik, Handbook of Hydraulic Resistance, diagram 8-1 (from memory; within 35 % of a table of bar grids in the library `fluids`).
#[must_use]
pub fn loss_perforated_wall_idelchik(free_share: f64) -> f64 {
    let f = free_share.clamp(1e-6, 1.0);
    ((1.0 + 0.5f64.sqrt() * (1.0 - f).sqrt() - f) / f).powi(2)
}

/// Loss coefficient of an opening in a large wall, on the velocity in its free area: `1 / Cd²`; 2.7 for a sharp edge.
#[must_use]
pub fn loss_opening_in_wall(discharge: f64) -> f64 {
    1.0 / (discharge * discharge).max(1e-12)
}

/// Area, m², of one opening that passes as much as two in series: `1/A² = 1/A1² + 1/A2²`.
#[must_use]
pub fn area_of_two_openings_in_series(first_m2: f64, second_m2: f64) -> f64 {
    if first_m2 <= 0.0 || second_m2 <= 0.0 {
        0.0
    } else {
        (first_m2.powi(-2) + second_m2.powi(-2)).powf(-0.5)
    }
}

/// Flow of warm air through a housing with a low and a high opening, m³/s of inside air:
/// `Q = Cd A sqrt(2 g H (Ti - Ta) / Ta)`, A both openings in series, H the height between them, temperatures in kelvin.
/// Bernoulli's equation with the weight of the ideal gas; ASHRAE Handbook, Fundamentals, ch. 16, stack effect.
#[must_use]
pub fn flow_chimney_two_openings(
    discharge: f64,
    area_m2: f64,
    height_m: f64,
    inside_k: f64,
    outside_k: f64,
) -> f64 {
    let drive = 2.0 * GRAVITY * height_m.max(0.0) * (inside_k - outside_k).max(0.0) / outside_k.max(1.0);
    discharge * area_m2.max(0.0) * drive.sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: ends of the contraction and expansion, an opening of Cd 0.61, equal openings in series.
    #[test]
    fn losses_by_hand() {
        assert_eq!([loss_sudden_contraction_crane(0.0), loss_sudden_contraction_crane(1.0)], [0.5, 0.0]);
        assert_eq!(
            [loss_sudden_expansion_borda_carnot(0.0), loss_sudden_expansion_borda_carnot(1.0)],
            [1.0, 0.0]
        );
        assert!((loss_opening_in_wall(DISCHARGE_OF_A_SHARP_OPENING) - 2.687).abs() < 1e-3);
        assert!((area_of_two_openings_in_series(1.0, 1.0) - 0.5f64.sqrt()).abs() < 1e-12);
        assert_eq!(area_of_two_openings_in_series(0.0, 1.0), 0.0);
    }

    /// In a large wall the perforated wall becomes the sharp opening: Cd = 1 / 1.707 = 0.586, 4 % below ISO 5167's.
    #[test]
    fn a_small_hole_is_an_opening_in_a_wall() {
        let f = 1e-3;
        let cd = 1.0 / (loss_perforated_wall_idelchik(f) * f * f).sqrt();
        assert!((cd / 0.596 - 1.0).abs() < 0.02, "{cd}");
    }

    /// 1 m between openings, 20 K, 300 K outside, 100 cm² effective: sqrt(2 x 9.80665 x 20 / 300) = 1.1435 m/s; 6.98 l/s at 0.61.
    #[test]
    fn chimney_by_hand() {
        let q = flow_chimney_two_openings(0.61, 0.01, 1.0, 320.0, 300.0);
        assert!((q - 6.975e-3).abs() < 2e-6, "{q}");
        assert_eq!(flow_chimney_two_openings(0.61, 0.01, 1.0, 290.0, 300.0), 0.0);
    }
}

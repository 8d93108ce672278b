//! View factors of the faces of a channel between fins, and what such a channel radiates.

use std::f64::consts::PI;

/// View factor between two equal rectangles `a` by `b` that face one another at distance `gap`; any one unit of length.
/// Howell, Catalog of Radiation Heat Transfer Configuration Factors, C-11; Incropera et al., 6th ed., table 13.2.
#[must_use]
pub fn view_factor_parallel_rectangles(a: f64, b: f64, gap: f64) -> f64 {
    let (x, y) = (a / gap, b / gap);
    if !(x.is_finite() && y.is_finite() && x > 1e-9 && y > 1e-9) {
        return if gap <= 0.0 { 1.0 } else { 0.0 };
    }
    let (x1, y1) = ((1.0 + x * x).sqrt(), (1.0 + y * y).sqrt());
    let sum = (x1 * x1 * y1 * y1 / (1.0 + x * x + y * y)).ln() * 0.5
        + x * y1 * (x / y1).atan()
        + y * x1 * (y / x1).atan()
        - x * x.atan()
        - y * y.atan();
    (2.0 / (PI * x * y) * sum).clamp(0.0, 1.0)
}

/// View factor from a rectangle `width` by `along` to another `height` by `along` that stands at right angles on their common edge
/// `along`; any one unit of length.
/// Howell, C-14; Incropera et al., 6th ed., table 13.2.
#[must_use]
pub fn view_factor_rectangles_at_right_angles(along: f64, height: f64, width: f64) -> f64 {
    let (h, w) = (height / along, width / along);
    if !(h.is_finite() && w.is_finite() && h > 1e-9 && w > 1e-9) {
        return 0.0;
    }
    let (h2, w2) = (h * h, w * w);
    let s2 = h2 + w2;
    let s = s2.sqrt();
    let logs = ((1.0 + w2) * (1.0 + h2) / (1.0 + s2)).ln()
        + w2 * (w2 * (1.0 + s2) / ((1.0 + w2) * s2)).ln()
        + h2 * (h2 * (1.0 + s2) / ((1.0 + h2) * s2)).ln();
    let sum = w * (1.0 / w).atan() + h * (1.0 / h).atan() - s * (1.0 / s).atan() + 0.25 * logs;
    (sum / (PI * w)).clamp(0.0, 1.0)
}

/// Emissive area of a channel between two fins over the area of the base in it: what a black plate of this many times the channel's
/// foot would radiate to the room. The walls (fins and base) count as one grey diffuse wall of one temperature:
/// `A_open / A_foot`, with `A_open = 1 / ((1 - e) / (e A_wall) + 1 / (A_wall F))`, F the part of what the walls send that
/// leaves the channel, by the view factors above.
/// Network of two surfaces, Incropera et al., 6th ed., equation 13.18.
#[must_use]
pub fn radiating_area_fin_channel(emissivity: f64, along: f64, height: f64, gap: f64) -> f64 {
    let foot = gap * along;
    if !(emissivity > 0.0 && foot > 0.0) {
        return 0.0;
    }
    let fin = height.max(0.0) * along;
    let wall = foot + 2.0 * fin;
    let between_fins = view_factor_parallel_rectangles(along, height, gap);
    let from_foot = view_factor_rectangles_at_right_angles(along, height, gap);
    let to_room = foot * (1.0 - 2.0 * from_foot).max(0.0)
        + 2.0 * (fin * (1.0 - between_fins) - foot * from_foot).max(0.0);
    if to_room <= 0.0 {
        return 0.0;
    }
    1.0 / ((1.0 - emissivity.min(1.0)) / (emissivity * wall) + 1.0 / to_room) / foot
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Equal squares one side apart: 0.199824895698 (fourfold quadrature; Incropera et al., table 13.2: 0.1998, from memory).
    /// Squares at right angles: 0.20004 (Howell C-14, from memory).
    #[test]
    fn squares_have_their_known_factors() {
        let parallel = view_factor_parallel_rectangles(1.0, 1.0, 1.0);
        assert!((parallel - 0.199_824_895_698).abs() < 1e-10, "{parallel}");
        let right = view_factor_rectangles_at_right_angles(1.0, 1.0, 1.0);
        assert!((right - 0.200_04).abs() < 5e-6, "{right}");
    }

    /// Reciprocity, and what a long channel's foot sees of itself through its mouth: crossed strings give
    /// `sqrt(1 + (H/b)²) - H/b` (Hottel), to 1 % at a length of 300 gaps.
    #[test]
    fn reciprocity_and_crossed_strings() {
        let (l, h, w) = (3.0, 1.0, 0.4);
        let there = w * l * view_factor_rectangles_at_right_angles(l, h, w);
        let back = h * l * view_factor_rectangles_at_right_angles(l, w, h);
        assert!((there / back - 1.0).abs() < 1e-10);
        let mouth = 1.0 - 2.0 * view_factor_rectangles_at_right_angles(300.0, 2.0, 1.0);
        let strings = 5f64.sqrt() - 2.0;
        assert!((mouth / strings - 1.0).abs() < 0.02, "{mouth} against {strings}");
    }

    /// A black long channel radiates as its mouth, whatever its depth; a very shallow one as its foot; a grey one less.
    #[test]
    fn channels_radiate_as_their_mouths() {
        let long = radiating_area_fin_channel(1.0, 1e4, 3.0, 1.0);
        assert!((long - 1.0).abs() < 2e-3, "{long}");
        let shallow = radiating_area_fin_channel(0.5, 10.0, 1e-6, 1.0);
        assert!((shallow - 0.5).abs() < 1e-3, "{shallow}");
        assert_eq!(radiating_area_fin_channel(0.0, 1.0, 1.0, 1.0), 0.0);
        assert!(radiating_area_fin_channel(0.1, 10.0, 5.0, 1.0) > 2.0 * 0.1);
    }
}

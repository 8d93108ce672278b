//! The film between two even faces: thickness over conductivity, and how far off it may be.

/// Resistance times area of an even film, m²K/W: `R = t / k` (Fourier's law; Incropera et al., section 3.1), with `t` its
/// thickness, m, and `k` its conductivity, W/m/K. Contact resistance at its two faces is not in it: makers of greases and pads
/// often state a conductivity that holds it already.
#[must_use]
pub fn film_resistance_m2k_per_w(thickness_m: f64, conductivity_w_per_m_k: f64) -> f64 {
    thickness_m / conductivity_w_per_m_k
}

/// How much more and how much less than its nominal value a film's resistance may be.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Tolerance {
    /// Part of the thickness by which it may be thicker or thinner, 0 to less than 1.
    pub thickness: f64,
    /// Part of the conductivity by which it may conduct better or worse, 0 to less than 1.
    pub conductivity: f64,
}

impl Tolerance {
    /// Least and greatest resistance over the nominal one: `(1 - a) / (1 + b)` and `(1 + a) / (1 - b)`, both values at their
    /// worst together.
    #[must_use]
    pub fn factors(self) -> [f64; 2] {
        let (a, b) = (self.thickness.clamp(0.0, 0.99), self.conductivity.clamp(0.0, 0.99));
        [(1.0 - a) / (1.0 + b), (1.0 + a) / (1.0 - b)]
    }

    /// Whether it leaves nothing open.
    #[must_use]
    pub fn is_none(self) -> bool {
        self.thickness == 0.0 && self.conductivity == 0.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_film_has_its_resistance_and_its_spread() {
        // 50 µm of 3 W/m/K: 1/60000 m²K/W by hand.
        assert!((film_resistance_m2k_per_w(50e-6, 3.0) * 60_000.0 - 1.0).abs() < 1e-12);
        let [low, high] = Tolerance { thickness: 0.5, conductivity: 0.25 }.factors();
        // 25 µm of 3.75 W/m/K and 75 µm of 2.25 W/m/K against 50 µm of 3 W/m/K.
        assert!((low - (25.0 / 3.75) / (50.0 / 3.0)).abs() < 1e-12);
        assert!((high - (75.0 / 2.25) / (50.0 / 3.0)).abs() < 1e-12);
        assert_eq!(Tolerance::default().factors(), [1.0, 1.0]);
        assert!(Tolerance::default().is_none());
        let either = [(0.1, 0.0), (0.0, 0.1)];
        assert!(either.iter().all(|(t, c)| !Tolerance { thickness: *t, conductivity: *c }.is_none()));
    }
}

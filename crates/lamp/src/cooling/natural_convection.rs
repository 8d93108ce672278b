//! Natural convection from a plate to still air, by the direction in which its face looks.
//!
//! Every form holds for an isothermal plate on its own; air properties are taken at the film temperature, the mean
//! of surface and room.

use super::air::{AIR_RANGE_K, air};

/// Standard acceleration of free fall, m/s².
pub const GRAVITY: f64 = 9.806_65;

/// How a warm face looks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Orientation {
    /// Up: the warm air leaves freely.
    Up,
    /// Down: the warm air must slide out sideways.
    Down,
    /// To the side: a vertical plate.
    Sideways,
}

impl Orientation {
    /// Range of Rayleigh numbers for which the source states its form.
    #[must_use]
    pub fn stated_rayleigh_range(self) -> (f64, f64) {
        match self {
            Self::Up => (1e4, 1e11),
            Self::Down => (1e5, 1e10),
            Self::Sideways => (0.0, 1e12),
        }
    }

    /// The words for messages.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Up => "looking up",
            Self::Down => "looking down",
            Self::Sideways => "upright",
        }
    }
}

/// Natural convection found for one face.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NaturalConvection {
    /// Heat transfer coefficient, W/m²/K.
    pub h_w_per_m2_k: f64,
    /// Rayleigh number.
    pub rayleigh: f64,
    /// Nusselt number.
    pub nusselt: f64,
    /// Whether the Rayleigh number lies in the range the source states.
    pub in_stated_range: bool,
    /// Whether the film temperature lies in the range of the air properties.
    pub air_in_range: bool,
}

/// Nusselt number of a vertical plate, `Nu = (0.825 + 0.387 Ra^(1/6) / (1 + (0.492/Pr)^(9/16))^(8/27))²`, length =
/// height, Ra up to 1e12.
/// Churchill & Chu, Int. J. Heat Mass Transfer 18 (1975) 1323-1329.
#[must_use]
pub fn nusselt_vertical_plate_churchill_chu(rayleigh: f64, prandtl: f64) -> f64 {
    let pr = (1.0 + (0.492 / prandtl).powf(9.0 / 16.0)).powf(8.0 / 27.0);
    (0.825 + 0.387 * rayleigh.max(0.0).powf(1.0 / 6.0) / pr).powi(2)
}

/// Nusselt number of a horizontal plate's warm upper face, `0.54 Ra^(1/4)` up to Ra = 1e7 and `0.15 Ra^(1/3)` above,
/// length = area / perimeter; stated for Ra 1e4 to 1e11.
/// McAdams, Heat Transmission, 3rd ed. 1954, as in Incropera et al., ch. 9.
#[must_use]
pub fn nusselt_horizontal_plate_up_mcadams(rayleigh: f64) -> f64 {
    let ra = rayleigh.max(0.0);
    if ra <= 1e7 { 0.54 * ra.powf(0.25) } else { 0.15 * ra.cbrt() }
}

/// Nusselt number of a horizontal plate's warm lower face, `0.27 Ra^(1/4)`, length = area / perimeter; stated for Ra
/// 1e5 to 1e10.
/// McAdams, Heat Transmission, 3rd ed. 1954, as in Incropera et al., ch. 9.
#[must_use]
pub fn nusselt_horizontal_plate_down_mcadams(rayleigh: f64) -> f64 {
    0.27 * rayleigh.max(0.0).powf(0.25)
}

/// Natural convection of a plate face at `surface_k` in still air at `ambient_k`; `length_m` is the height of an
/// upright face and area over perimeter of a horizontal one.
///
/// A face colder than the room is treated as the mirror image (a cold face looking down is like a warm one up).
#[must_use]
pub fn natural_convection(
    orientation: Orientation,
    length_m: f64,
    surface_k: f64,
    ambient_k: f64,
) -> NaturalConvection {
    let film = 0.5 * (surface_k + ambient_k);
    let a = air(film);
    let rise = surface_k - ambient_k;
    let rayleigh =
        GRAVITY * a.beta_per_k * rise.abs() * length_m.powi(3) / (a.nu_m2_per_s * a.alpha_m2_per_s);
    let seen = match (orientation, rise < 0.0) {
        (Orientation::Up, true) => Orientation::Down,
        (Orientation::Down, true) => Orientation::Up,
        (as_is, _) => as_is,
    };
    let nusselt = match seen {
        Orientation::Up => nusselt_horizontal_plate_up_mcadams(rayleigh),
        Orientation::Down => nusselt_horizontal_plate_down_mcadams(rayleigh),
        Orientation::Sideways => nusselt_vertical_plate_churchill_chu(rayleigh, a.pr),
    };
    let (low, high) = seen.stated_rayleigh_range();
    NaturalConvection {
        h_w_per_m2_k: nusselt * a.k_w_per_m_k / length_m.max(1e-6),
        rayleigh,
        nusselt,
        in_stated_range: (low..=high).contains(&rayleigh),
        air_in_range: (AIR_RANGE_K.0..=AIR_RANGE_K.1).contains(&film),
    }
}

#[cfg(test)]
mod tests {
    use super::super::radiation::h_radiation;
    use super::*;

    /// Incropera et al., 6th ed., example 9.2: fire screen 0.71 m high, 1.02 m wide, 232 degC in a room at 23 degC:
    /// Ra 1.813e9, Nu 147, h 7.0 W/m²/K, 1060 W (printed); the properties are the book's, at 400 K.
    #[test]
    fn fire_screen_of_the_worked_example() {
        let (k, nu, alpha, pr, beta) = (0.0338, 2.64e-5, 3.83e-5, 0.69, 0.0025);
        let ra = 9.8 * beta * 209.0 * 0.71f64.powi(3) / (nu * alpha);
        assert!((ra / 1.813e9 - 1.0).abs() < 2e-3, "{ra}");
        let nusselt = nusselt_vertical_plate_churchill_chu(ra, pr);
        assert!((nusselt - 147.0).abs() < 0.5, "{nusselt}");
        let q = nusselt * k / 0.71 * 0.71 * 1.02 * 209.0;
        assert!((q - 1060.0).abs() < 5.0, "{q}");
        // And with our own air, which the book rounds to 400 K: within the 1.3 % of the property tables.
        let ours = natural_convection(Orientation::Sideways, 0.71, 505.15, 296.15);
        assert!((ours.h_w_per_m2_k / 7.005 - 1.0).abs() < 0.013, "{ours:?}");
        assert!(ours.in_stated_range);
    }

    /// Vertical plate, 0.1 m, 40 K, properties given: Ra 2.698e6, Nu 21.6267698614 (Churchill & Chu 1975; `ht` gives the
    /// same to all figures).
    #[test]
    fn vertical_plate_agrees_with_the_reference_library() {
        let nusselt = nusselt_vertical_plate_churchill_chu(2698077.12557, 0.7042);
        assert!((nusselt / 21.6267698614 - 1.0).abs() < 1e-10, "{nusselt}");
    }

    /// Horizontal plate, Ra 21523.7664243: Nu up 6.54068640756, down 3.27034320378 (McAdams; `ht` gives the same).
    #[test]
    fn horizontal_plates_agree_with_the_reference_library() {
        assert!((nusselt_horizontal_plate_up_mcadams(21523.7664243) / 6.54068640756 - 1.0).abs() < 1e-10);
        assert!((nusselt_horizontal_plate_down_mcadams(21523.7664243) / 3.27034320378 - 1.0).abs() < 1e-10);
        // On both sides of Ra 1e7: 0.54 (0.81e7)^(1/4), 0.15 (1.331e7)^(1/3) and 0.15 (1e9)^(1/3) by hand.
        for (rayleigh, exact) in [(0.81e7, 28.808_126), (1.331e7, 35.548_172), (1e9, 150.0)] {
            let nusselt = nusselt_horizontal_plate_up_mcadams(rayleigh);
            assert!((nusselt / exact - 1.0).abs() < 1e-7, "{rayleigh}: {nusselt} is not {exact}");
        }
    }

    /// Every way a face looks, at 370 K in air at 330 K, 0.1 m: film at 350 K, where CoolProp 6 (Lemmon & Jacobsen 2004) gives
    /// k 0.0300032801543 W/m/K, nu 2.06907505182e-5 and alpha 2.94781383223e-5 m²/s, Pr 0.701901534352; ideal gas 1/350 per
    /// kelvin; Churchill & Chu and McAdams by hand: Ra 1837538, h 5.8413, 5.9652 and 2.9826 W/m²/K. Our air's joining lines and
    /// ideal gas cost 0.1 %.
    #[test]
    fn each_way_of_looking_takes_its_relation_at_the_film() {
        for (orientation, exact) in
            [(Orientation::Sideways, 5.8413), (Orientation::Up, 5.9652), (Orientation::Down, 2.9826)]
        {
            let found = natural_convection(orientation, 0.1, 370.0, 330.0);
            assert!((found.rayleigh / 1_837_538.0 - 1.0).abs() < 1e-3, "{found:?}");
            assert!((found.h_w_per_m2_k / exact - 1.0).abs() < 1e-3, "{orientation:?}: {found:?}");
            // A cold face is the mirror image: looking up it is a warm one looking down.
            let cold = natural_convection(orientation, 0.1, 330.0, 370.0);
            let seen = match orientation {
                Orientation::Up => 2.9826,
                Orientation::Down => 5.9652,
                Orientation::Sideways => exact,
            };
            assert!((cold.h_w_per_m2_k / seen - 1.0).abs() < 1e-3, "{orientation:?}: {cold:?}");
        }
    }

    /// Incropera et al., 6th ed., equations 9.30 to 9.32 (the upper limit of Churchill & Chu: 1e12, from memory).
    #[test]
    fn the_ranges_are_those_of_the_sources() {
        assert_eq!(Orientation::Up.stated_rayleigh_range(), (1e4, 1e11));
        assert_eq!(Orientation::Down.stated_rayleigh_range(), (1e5, 1e10));
        assert_eq!(Orientation::Sideways.stated_rayleigh_range(), (0.0, 1e12));
    }

    /// Cengel, example 9-2(b, c): 0.6 m square plate, 90 degC, room 30 degC, area/perimeter 0.15 m: 128 W up and 64.2 W down
    /// (from memory, three figures). The book keeps the form for Ra up to 1e7 a little above it, at 1.195e7.
    #[test]
    fn horizontal_plate_of_the_worked_example() {
        let ra: f64 = 9.81 * 0.003003003003 * 60.0 * 0.15f64.powi(3) / 1.896e-5f64.powi(2) * 0.7202;
        assert!((ra / 11951605.5823 - 1.0).abs() < 1e-9, "{ra}");
        // Half that Rayleigh number is well below 1e7, and the form goes with its fourth root.
        let nusselt = 2f64.powf(0.25) * nusselt_horizontal_plate_up_mcadams(0.5 * ra);
        let up = nusselt * 0.02808 / 0.15 * 0.36 * 60.0;
        assert!((up - 128.4).abs() < 0.1, "{up}");
        let down = nusselt_horizontal_plate_down_mcadams(ra) * 0.02808 / 0.15 * 0.36 * 60.0;
        assert!((down - 64.2).abs() < 0.1, "{down}");
        // With our own air at 60 degC, whose conductivity lies 2.4 % above the book's 0.02808 W/m/K.
        let ours = natural_convection(Orientation::Down, 0.15, 363.15, 303.15);
        assert!((ours.h_w_per_m2_k * 0.36 * 60.0 / 64.2 - 1.0).abs() < 0.024, "{ours:?}");
    }

    /// Upright plate 0.08 m x 0.06 m, 4 W from both faces, e = 0.85, room 298.15 K: 332.600021122 K with fixed properties
    /// (Churchill & Chu 1975 and Stefan-Boltzmann; bisection); ours lets the properties follow the film, whose values
    /// differ by less than 1 % from the fixed ones: 1 % of the rise of 34.4 K.
    #[test]
    fn upright_plate_in_equilibrium() {
        let (mut low, mut high) = (298.15, 500.0);
        for _ in 0..60 {
            let t: f64 = 0.5 * (low + high);
            let h = natural_convection(Orientation::Sideways, 0.08, t, 298.15).h_w_per_m2_k
                + h_radiation(0.85, t, 298.15);
            if 2.0 * 0.08 * 0.06 * h * (t - 298.15) < 4.0 { low = t } else { high = t }
        }
        assert!((low - 332.600021122).abs() < 0.34, "{low}");
    }

    #[test]
    fn a_small_board_is_outside_the_stated_range_and_says_so() {
        let small = natural_convection(Orientation::Down, 0.01, 350.0, 300.0);
        assert!(!small.in_stated_range && small.h_w_per_m2_k > 0.0);
        assert!(!natural_convection(Orientation::Up, 0.05, 900.0, 300.0).air_in_range);
    }
}

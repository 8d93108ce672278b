//! Prints values of the cooling relations as JSON lines; for comparisons with reference libraries.

use lamp::cooling::air::air;
use lamp::cooling::channel_natural::{
    nusselt_isothermal_channel_bar_cohen_rohsenow, nusselt_isothermal_channel_elenbaas,
};
use lamp::cooling::duct_friction::{
    apparent_fanning_re_duct_muzychka_yovanovich, fanning_re_rectangular_duct_shah_london,
    fanning_turbulent_duct_petukhov,
};
use lamp::cooling::duct_heat::{
    mean_nusselt_parallel_plates_stephan, nusselt_t_rectangular_duct_shah_london,
    nusselt_turbulent_duct_gnielinski,
};
use lamp::cooling::fins::{efficiency_pin_fin_incropera, efficiency_straight_fin_harper_brown};
use lamp::cooling::mixed::{Meeting, film_mixed_incropera};
use lamp::cooling::natural_convection::{
    nusselt_horizontal_plate_down_mcadams, nusselt_horizontal_plate_up_mcadams,
    nusselt_vertical_plate_churchill_chu,
};
use lamp::cooling::natural_cylinder::nusselt_horizontal_cylinder_churchill_chu;

use lamp::cooling::openings::{
    LOSS_OF_A_SHARP_TURN, loss_perforated_wall_idelchik, loss_sudden_contraction_crane,
    loss_sudden_expansion_borda_carnot,
};
use lamp::cooling::pin_bank::{euler_row_of_pins_in_line_jakob, nusselt_pins_in_line_zukauskas};
use lamp::cooling::plate_fin_forced::nusselt_plate_fin_forced_teertstra;
use lamp::cooling::radiation::h_radiation;
use lamp::cooling::spreading::resistance_disc_on_plate_lee;
use lamp::cooling::view_factor::{view_factor_parallel_rectangles, view_factor_rectangles_at_right_angles};

/// Even steps on a logarithmic scale.
fn decades(low: f64, high: f64, steps: i32) -> impl Iterator<Item = f64> {
    (0..=steps).map(move |k| low * (high / low).powf(f64::from(k) / f64::from(steps)))
}

fn row(relation: &str, at: &[f64], value: f64) {
    println!(r#"{{"relation": "{relation}", "at": {at:?}, "value": {value}}}"#);
}

fn main() {
    natural();
    ducts();
    fins();
    openings();
    pins();
    spreading();
    together();
    for k in 0..=16 {
        let kelvin = 260.0 + 15.0 * f64::from(k);
        let a = air(kelvin);
        println!(
            r#"{{"relation": "air by CoolProp", "kelvin": {kelvin}, "k": {}, "nu": {}, "pr": {}, "rho": {}, "cp": {}, "beta": {}}}"#,
            a.k_w_per_m_k, a.nu_m2_per_s, a.pr, a.density_kg_per_m3, a.cp_j_per_kg_k, a.beta_per_k
        );
    }
}

fn ducts() {
    for k in 0..=20 {
        let aspect = f64::from(k) / 20.0;
        row("duct friction", &[aspect], fanning_re_rectangular_duct_shah_london(aspect));
        row("duct heat", &[aspect], nusselt_t_rectangular_duct_shah_london(aspect));
    }
    for x_plus in decades(1e-4, 1.0, 24) {
        row("entrance friction", &[x_plus], apparent_fanning_re_duct_muzychka_yovanovich(x_plus, 24.0));
    }
    for x_star in decades(1e-4, 1.0, 24) {
        row("entrance heat", &[x_star, 0.7], mean_nusselt_parallel_plates_stephan(x_star, 0.7));
    }
    for re in decades(4e3, 1e6, 24) {
        let f = fanning_turbulent_duct_petukhov(re);
        row("turbulent friction", &[re], f);
        row("turbulent heat", &[re, 0.7], nusselt_turbulent_duct_gnielinski(re, 0.7, f));
    }
    for re_star in decades(0.1, 100.0, 24) {
        row("plate fins", &[re_star, 0.71], nusselt_plate_fin_forced_teertstra(re_star, 0.71));
    }
}

fn fins() {
    for h in decades(2.0, 200.0, 6) {
        for height in [0.01, 0.03, 0.08] {
            let eta = efficiency_straight_fin_harper_brown(h, 201.0, 1e-3, 1e9, height, true);
            row("fin", &[h, 201.0, 1e-3, height], eta);
            row("pin", &[h, 201.0, 3e-3, height], efficiency_pin_fin_incropera(h, 201.0, 3e-3, height));
        }
    }
    for a in [0.2, 1.0, 5.0] {
        for b in [0.3, 1.0, 4.0] {
            row("facing rectangles", &[a, b], view_factor_parallel_rectangles(a, b, 1.0));
            row("rectangles at right angles", &[a, b], view_factor_rectangles_at_right_angles(1.0, a, b));
        }
    }
    for el in decades(0.1, 1e5, 30) {
        row("channel", &[el], nusselt_isothermal_channel_bar_cohen_rohsenow(el));
        row("channel by Elenbaas", &[el], nusselt_isothermal_channel_elenbaas(el));
    }
}

fn openings() {
    // Miller's bends begin at Re 1e4.
    for re in decades(1e4, 2e5, 8) {
        row("sharp turn", &[re], LOSS_OF_A_SHARP_TURN);
    }
    for k in 1..=18 {
        let share = 0.05 * f64::from(k);
        row("contraction", &[share], loss_sudden_contraction_crane(share));
        row("expansion", &[share], loss_sudden_expansion_borda_carnot(share));
        // From 0.85 on the references' tables hold two digits.
        if share < 0.86 {
            row("perforated wall", &[share], loss_perforated_wall_idelchik(share));
        }
    }
}

fn pins() {
    for re in decades(1.0, 1.9e5, 40) {
        row("pins", &[re, 0.7], nusselt_pins_in_line_zukauskas(re, 0.7));
    }
    // Grimison's tests reach from 2000 to 40,000 and are tabled at these pitches, Jakob's reach to 32,000.
    for re in decades(2e3, 3.2e4, 8) {
        for pitch in [1.5, 2.0, 3.0] {
            row("pins by Grimison", &[re, 0.7, pitch], nusselt_pins_in_line_zukauskas(re, 0.7));
        }
        for pitch in [1.5, 2.0, 2.5] {
            row("pressure of pins", &[re, pitch], euler_row_of_pins_in_line_jakob(re, pitch, pitch));
        }
    }
}

/// Plates no thinner than a tenth of their radius, sources from a tenth of it on; radius and conductivity 1.
fn spreading() {
    for share in [0.1, 0.2, 0.4, 0.6, 0.8, 0.95] {
        for tau in [0.1, 0.2, 0.5, 1.0] {
            for biot in [1e-3, 1e-2, 0.1, 1.0] {
                let (mean, highest) = resistance_disc_on_plate_lee(share, 1.0, tau, 1.0, biot);
                row("spreading, mean", &[share, tau, biot], mean);
                row("spreading, highest", &[share, tau, biot], highest);
            }
        }
    }
}

/// Natural over forced convection up to where the equations still have a layer on the plate.
fn together() {
    for ratio in decades(0.2, 2.2, 12) {
        row("mixed", &[ratio], film_mixed_incropera(1.0, ratio, Meeting::Assisting));
        row("mixed, local", &[ratio], film_mixed_incropera(1.0, ratio, Meeting::Assisting));
        if ratio < 0.49 {
            row("opposed", &[ratio], film_mixed_incropera(1.0, ratio, Meeting::Opposing));
        }
    }
    for surface_k in [290.0, 300.0, 330.0, 360.0, 400.0, 450.0] {
        for emissivity in [0.05, 0.4, 0.95] {
            let h = h_radiation(emissivity, surface_k, 298.15);
            row("radiation", &[emissivity, surface_k, 298.15], h);
        }
    }
}

fn natural() {
    for exponent in 1..=11 {
        let rayleigh = 10f64.powi(exponent) * 1.37;
        for prandtl in [0.70, 0.72, 7.0] {
            let value = nusselt_vertical_plate_churchill_chu(rayleigh, prandtl);
            println!(
                r#"{{"relation": "vertical", "rayleigh": {rayleigh}, "prandtl": {prandtl}, "value": {value}}}"#
            );
        }
        row("level cylinder", &[rayleigh, 0.7], nusselt_horizontal_cylinder_churchill_chu(rayleigh, 0.7));
        row(
            "level cylinder",
            &[1e-5 * rayleigh, 0.72],
            nusselt_horizontal_cylinder_churchill_chu(1e-5 * rayleigh, 0.72),
        );
        let up = nusselt_horizontal_plate_up_mcadams(rayleigh);
        println!(r#"{{"relation": "up", "rayleigh": {rayleigh}, "prandtl": 0.7, "value": {up}}}"#);
        let down = nusselt_horizontal_plate_down_mcadams(rayleigh);
        println!(r#"{{"relation": "down", "rayleigh": {rayleigh}, "prandtl": 0.7, "value": {down}}}"#);
    }
    for kelvin in [273.15, 300.0, 325.0, 340.0, 350.0, 360.0, 380.0, 400.0] {
        let a = air(kelvin);
        println!(
            r#"{{"relation": "air", "kelvin": {kelvin}, "k": {}, "nu": {}, "pr": {}}}"#,
            a.k_w_per_m_k, a.nu_m2_per_s, a.pr
        );
    }
}

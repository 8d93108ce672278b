//! Prints values of the cooling relations as JSON lines; for comparisons with reference libraries.

use lamp::cooling::air::air;
use lamp::cooling::natural_convection::{
    nusselt_horizontal_plate_down_mcadams, nusselt_horizontal_plate_up_mcadams,
    nusselt_vertical_plate_churchill_chu,
};

fn main() {
    for exponent in 1..=11 {
        let rayleigh = 10f64.powi(exponent) * 1.37;
        for prandtl in [0.70, 0.72, 7.0] {
            let value = nusselt_vertical_plate_churchill_chu(rayleigh, prandtl);
            println!(
                r#"{{"relation": "vertical", "rayleigh": {rayleigh}, "prandtl": {prandtl}, "value": {value}}}"#
            );
        }
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

//! Air across rows of pins that stand in line.

/// Nusselt number (diameter, velocity in the narrowest gap) of rows of round pins in line: `0.9 Re^0.4 Pr^0.36` up to Re 100,
/// `0.52 Re^0.5 Pr^0.36` to 1000, `0.27 Re^0.63 Pr^0.36` above, up to 2e5; for 16 rows or more.
/// Zukauskas 1972, as in Bejan, Convection Heat Transfer (checked against the library `ht`). Ten rows give 2 % less, four 9 % less.
#[must_use]
pub fn nusselt_pins_in_line_zukauskas(reynolds: f64, prandtl: f64) -> f64 {
    let re = reynolds.max(1e-12);
    let part = if re < 100.0 {
        0.9 * re.powf(0.4)
    } else if re < 1000.0 {
        0.52 * re.sqrt()
    } else {
        0.27 * re.powf(0.63)
    };
    part * prandtl.powf(0.36)
}

/// Euler number of one row of pins in line, pressure drop over `rho V² / 2` in the narrowest gap:
/// `4 (0.044 + 0.08 (SL/D) / (ST/D - 1)^(0.43 + 1.13 D/SL)) Re^-0.15`, Re 2000 to 32,000; SL and ST the pitches along and across.
/// Jakob 1938, as in Holman, Heat Transfer, equation 6-37 (from memory; within 35 % of Zukauskas' graphs in the library `ht` for pitches
/// of 1.5 to 2.5 diameters; at 1.25 it gives up to 1.7 times as much as they).
#[must_use]
pub fn euler_row_of_pins_in_line_jakob(reynolds: f64, along_over_d: f64, across_over_d: f64) -> f64 {
    let gap = (across_over_d - 1.0).max(1e-3);
    let shape = 0.044 + 0.08 * along_over_d / gap.powf(0.43 + 1.13 / along_over_d.max(1e-3));
    4.0 * shape * reynolds.max(1.0).powf(-0.15)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand from the printed factors, one in each range: Pr 0.7, 0.7^0.36 = 0.87950.
    #[test]
    fn each_range_by_hand() {
        for (re, by_hand) in [(50.0, 0.9 * 4.781_762), (400.0, 0.52 * 20.0), (1e4, 0.27 * 331.13112)] {
            let ours = nusselt_pins_in_line_zukauskas(re, 0.7);
            assert!((ours / (by_hand * 0.879499) - 1.0).abs() < 1e-5, "{re}: {ours}");
        }
    }

    /// Holman, 6-37, at pitches of twice the diameter and Re 1e4 by hand: 4 (0.044 + 0.16) 1e4^-0.15 = 0.20497.
    #[test]
    fn pressure_of_a_row_by_hand() {
        let ours = euler_row_of_pins_in_line_jakob(1e4, 2.0, 2.0);
        assert!((ours - 0.816 * 0.251_188_6).abs() < 1e-6, "{ours}");
    }
}

//! Thermocouples K, T, J and N.
//!
//! Equation: `E(t) = sum c_i t^i`, for type K above 0 degC plus `a0 exp(a1 (t - a2)^2)`; E in mV with the reference junction at
//! 0 degC, t in degC (ITS-90). Ranges: K -270 to 1372, T -270 to 400, J -210 to 1200, N -270 to 1300 degC.
//!
//! With the cold ends at `t_cold` the pair puts out `E(t) - E(t_cold)`, so voltages are added, never temperatures.
//!
//! Source: NIST Monograph 175 (1993), the reference functions of ITS-90 (also IEC 60584-1).

use lamp::sensor_law::ThermocoupleType;

use super::NoReading;

struct Piece {
    below_c: f64,
    /// Coefficients of ascending powers of t, mV.
    c_mv: &'static [f64],
    hump: Option<[f64; 3]>,
}

const K: &[Piece] = &[
    Piece {
        below_c: 0.0,
        c_mv: &[
            0.000000000000,
            3.9450128025e-2,
            2.3622373598e-5,
            -3.2858906784e-7,
            -4.9904828777e-9,
            -6.7509059173e-11,
            -5.7410327428e-13,
            -3.1088872894e-15,
            -1.0451609365e-17,
            -1.9889266878e-20,
            -1.6322697486e-23,
        ],
        hump: None,
    },
    Piece {
        below_c: 1372.0,
        c_mv: &[
            -1.7600413686e-2,
            3.8921204975e-2,
            1.8558770032e-5,
            -9.9457592874e-8,
            3.1840945719e-10,
            -5.6072844889e-13,
            5.6075059059e-16,
            -3.2020720003e-19,
            9.7151147152e-23,
            -1.2104721275e-26,
        ],
        hump: Some([0.1185976, -0.0001183432, 126.9686]),
    },
];
const T: &[Piece] = &[
    Piece {
        below_c: 0.0,
        c_mv: &[
            0.000000000000,
            3.8748106364e-2,
            4.4194434347e-5,
            1.1844323105e-7,
            2.0032973554e-8,
            9.0138019559e-10,
            2.2651156593e-11,
            3.6071154205e-13,
            3.8493939883e-15,
            2.8213521925e-17,
            1.4251594779e-19,
            4.8768662286e-22,
            1.079553927e-24,
            1.3945027062e-27,
            7.9795153927e-31,
        ],
        hump: None,
    },
    Piece {
        below_c: 400.0,
        c_mv: &[
            0.000000000000,
            3.8748106364e-2,
            3.329222788e-5,
            2.0618243404e-7,
            -2.1882256846e-9,
            1.0996880928e-11,
            -3.0815758772e-14,
            4.547913529e-17,
            -2.7512901673e-20,
        ],
        hump: None,
    },
];
const J: &[Piece] = &[
    Piece {
        below_c: 760.0,
        c_mv: &[
            0.000000000000,
            5.0381187815e-2,
            3.047583693e-5,
            -8.568106572e-8,
            1.3228195295e-10,
            -1.7052958337e-13,
            2.0948090697e-16,
            -1.2538395336e-19,
            1.5631725697e-23,
        ],
        hump: None,
    },
    Piece {
        below_c: 1200.0,
        c_mv: &[
            2.9645625681e2,
            -1.497612778600,
            3.1787103924e-3,
            -3.1847686701e-6,
            1.5720819004e-9,
            -3.0691369056e-13,
        ],
        hump: None,
    },
];
const N: &[Piece] = &[
    Piece {
        below_c: 0.0,
        c_mv: &[
            0.000000000000,
            2.6159105962e-2,
            1.0957484228e-5,
            -9.3841111554e-8,
            -4.6412039759e-11,
            -2.6303357716e-12,
            -2.2653438003e-14,
            -7.6089300791e-17,
            -9.3419667835e-20,
        ],
        hump: None,
    },
    Piece {
        below_c: 1300.0,
        c_mv: &[
            0.000000000000,
            2.5929394601e-2,
            1.571014188e-5,
            4.3825627237e-8,
            -2.5261169794e-10,
            6.4311819339e-13,
            -1.0063471519e-15,
            9.9745338992e-19,
            -6.0863245607e-22,
            2.0849229339e-25,
            -3.0682196151e-29,
        ],
        hump: None,
    },
];

/// Temperatures between which the reference function of this pair holds, degC.
#[must_use]
pub fn range_c(kind: ThermocoupleType) -> [f64; 2] {
    match kind {
        ThermocoupleType::K => [-270.0, 1372.0],
        ThermocoupleType::T => [-270.0, 400.0],
        ThermocoupleType::J => [-210.0, 1200.0],
        ThermocoupleType::N => [-270.0, 1300.0],
    }
}

/// Voltage with the reference junction at 0 degC, mV, at `temperature_c` (degC).
///
/// # Errors
/// Outside [`range_c`] there is no reference function.
pub fn emf_mv(kind: ThermocoupleType, temperature_c: f64) -> Result<f64, NoReading> {
    let [low, high] = range_c(kind);
    if !(low..=high).contains(&temperature_c) {
        return Err(NoReading::OutsideTemperatures { temperature_c, low_c: low, high_c: high });
    }
    Ok(reference_mv(kind, temperature_c))
}

fn reference_mv(kind: ThermocoupleType, t: f64) -> f64 {
    let pieces = match kind {
        ThermocoupleType::K => K,
        ThermocoupleType::T => T,
        ThermocoupleType::J => J,
        ThermocoupleType::N => N,
    };
    let Some(piece) = pieces.iter().find(|piece| t <= piece.below_c).or(pieces.last()) else {
        return f64::NAN;
    };
    let sum = piece.c_mv.iter().rev().fold(0.0, |sum, c| sum * t + c);
    sum + piece.hump.map_or(0.0, |[a0, a1, a2]| a0 * (a1 * (t - a2).powi(2)).exp())
}

/// Temperature of the hot junction, degC, from the voltage between the cold ends, V, and their temperature, degC. The
/// reference function itself is solved, not the inverse polynomials, which are off by up to 0.06 K.
///
/// # Errors
/// When the cold junction or the answer lies outside [`range_c`].
pub fn temperature_c(kind: ThermocoupleType, volts: f64, cold_junction_c: f64) -> Result<f64, NoReading> {
    let wanted_mv = 1e3 * volts + emf_mv(kind, cold_junction_c)?;
    let [low, high] = range_c(kind);
    let [lowest, highest] = [low, high].map(|t| reference_mv(kind, t));
    if !(lowest..=highest).contains(&wanted_mv) {
        let shift = wanted_mv - 1e3 * volts;
        return Err(NoReading::OutsideOutputs {
            output: volts,
            low: 1e-3 * (lowest - shift),
            high: 1e-3 * (highest - shift),
            unit: "V",
        });
    }
    Ok(super::solve_rising(|t| reference_mv(kind, t) - wanted_mv, low, high))
}

#[cfg(test)]
mod tests {
    use super::*;
    use ThermocoupleType::{J, K, N, T};

    /// Source: NIST Monograph 175, printed tables in steps of 0.001 mV (from memory; all agree with the reference
    /// functions of a library, see checks/compare_sensors.py, which compares the full ranges).
    const PRINTED: [(ThermocoupleType, f64, f64); 17] = [
        (K, -50.0, -1.889),
        (K, 25.0, 1.000),
        (K, 50.0, 2.023),
        (K, 100.0, 4.096),
        (K, 150.0, 6.138),
        (K, 250.0, 10.153),
        (T, -100.0, -3.379),
        (T, -50.0, -1.819),
        (T, 25.0, 0.992),
        (T, 100.0, 4.279),
        (T, 200.0, 9.288),
        (T, 250.0, 12.013),
        (J, 100.0, 5.269),
        (J, 200.0, 10.779),
        (N, 100.0, 2.774),
        (N, 200.0, 5.913),
        (J, 25.0, 1.277),
    ];

    #[test]
    fn thermocouples_give_the_printed_tables() {
        for (kind, celsius, printed_mv) in PRINTED {
            let found = emf_mv(kind, celsius).unwrap();
            assert!((found - printed_mv).abs() <= 0.000_51, "{kind:?} {celsius} degC: {found} mV");
        }
    }

    #[test]
    fn thermocouples_come_back_over_their_whole_range() {
        for kind in [K, T, J, N] {
            let [low, high] = range_c(kind);
            for step in 0..=1000 {
                let celsius = low + (high - low) * f64::from(step) / 1000.0;
                // Close to absolute zero the functions are so flat that rounding spoils the way back.
                if celsius < -255.0 {
                    continue;
                }
                let volts = 1e-3 * (emf_mv(kind, celsius).unwrap() - emf_mv(kind, 23.4).unwrap());
                let back = temperature_c(kind, volts, 23.4).unwrap();
                assert!((back - celsius).abs() < 1e-8, "{kind:?} {celsius}: {back}");
            }
        }
    }

    /// Sources: magnitudes of a printed worked example, E. E. Mikhailov and I. Novikova, Physics 251 course page, William
    /// & Mary 2020: type T, cold junction at 22 degC; and the hot junction by NIST Monograph 175 solved independently.
    #[test]
    fn the_cold_junction_adds_voltages() {
        let printed = [
            (-200.0, 6.4733),
            (-100.0, 4.2489),
            (-20.0, 1.6271),
            (0.0, 0.8703),
            (10.0, 0.4793),
            (20.0, 0.0807),
        ];
        for (celsius, magnitude) in printed {
            let found = emf_mv(T, celsius).unwrap() - emf_mv(T, 22.0).unwrap();
            assert!((found + magnitude).abs() < 1e-4, "{celsius} degC: {found} mV");
        }
        assert!((temperature_c(K, 3.25e-3, 24.6).unwrap() - 103.333_366).abs() < 1e-5);
        assert!((temperature_c(T, 2.875e-3, 23.0).unwrap() - 89.379_219).abs() < 1e-5);
    }

    #[test]
    fn what_no_pair_can_give_is_told() {
        let text = temperature_c(T, 0.05, 25.0).unwrap_err().to_string();
        assert!(text.contains("50 mV") && text.contains("19.88 mV"), "{text}");
        assert!(emf_mv(J, -250.0).is_err());
        assert!(temperature_c(K, f64::NAN, 25.0).is_err());
    }
}

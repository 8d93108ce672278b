//! A lamp as two lumps of heat capacity: the board, and the heatsink under it; what they store and how soon they settle.
//!
//! Board (capacity `C1`) - `R1` - heatsink (`C2`) - `R2` - room; heat `P` enters at the board. Equations:
//! `C1 T1' = P - (T1 - T2) / R1`, `C2 T2' = (T1 - T2) / R1 - T2 / R2` (heat balance of two lumps, such as in Incropera et al.,
//! section 5.1 and 5.2 for one). The time constants are the roots of `R1 C1 R2 C2 / t^2 - (R1 C1 + R2 C1 + R2 C2) / t + 1 = 0`,
//! exact for two such lumps. A lamp is more: what the heat takes its time for inside board and fins is not in them, which is why a
//! plan says that they are estimates.

/// A lamp as one or two lumps.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TwoBodies {
    /// The board, J/K; > 0.
    pub board_j_per_k: f64,
    /// From the board to the heatsink, K/W; without a heatsink from the board to the room.
    pub board_k_per_w: f64,
    /// The heatsink, J/K; 0 without one.
    pub heatsink_j_per_k: f64,
    /// From the heatsink to the room, K/W.
    pub heatsink_k_per_w: f64,
    /// Where the sensor stands between heatsink (0) and board (1).
    pub sensor_part: f64,
}

/// How a rise settles: a slow part and a fast one, each exponential.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Settling {
    /// Time constant of the slow part, s.
    pub slow_s: f64,
    /// Time constant of the fast part, s; that of the slow one where there is one alone.
    pub fast_s: f64,
    /// Part of the sensor's settled rise that comes slowly; a little above 1 where it lags at first.
    pub slow_part: f64,
}

impl TwoBodies {
    /// How the sensor's rise settles after a step of the heat.
    #[must_use]
    pub fn settling(&self) -> Settling {
        let [c1, r1, c2, r2] =
            [self.board_j_per_k, self.board_k_per_w, self.heatsink_j_per_k, self.heatsink_k_per_w];
        let alone = c2 <= 0.0 || r2 <= 0.0 || r1 <= 0.0;
        if alone {
            let one_s = (c1 + c2) * (r1 + r2).max(0.0);
            return Settling { slow_s: one_s, fast_s: one_s, slow_part: 1.0 };
        }
        let sum = r1 * c1 + r2 * c1 + r2 * c2;
        let product = r1 * c1 * r2 * c2;
        // The larger root first; the smaller from their product, so that nothing is lost by the difference.
        let slow_s = 0.5 * (sum + (sum * sum - 4.0 * product).max(0.0).sqrt());
        let fast_s = product / slow_s;
        let apart_s = slow_s - fast_s;
        if apart_s <= 0.0 {
            return Settling { slow_s, fast_s, slow_part: 1.0 };
        }
        // Per watt: the board begins with a slope of 1 / C1 and ends at R1 + R2; the heatsink begins with none and ends at R2.
        let board_slow = (r1 + r2 - fast_s / c1) * slow_s / apart_s;
        let sink_slow = r2 * slow_s / apart_s;
        let part = self.sensor_part.clamp(0.0, 1.0);
        let slow = sink_slow + part * (board_slow - sink_slow);
        Settling { slow_s, fast_s, slow_part: slow / (r2 + part * r1) }
    }
}

impl Settling {
    /// Part of a step of the rise that is there after `time_s`, 0 to 1.
    #[must_use]
    pub fn there_after(&self, time_s: f64) -> f64 {
        let left = |tau_s: f64| if tau_s > 0.0 { (-time_s / tau_s).exp() } else { 0.0 };
        1.0 - self.slow_part * left(self.slow_s) - (1.0 - self.slow_part) * left(self.fast_s)
    }

    /// When less than `within_k` is left of a step of `step_k`, s; 0 where the step is no larger.
    ///
    /// Equation: `t = slow ln(a / within)`, `a` the slow part of the step: the fast one is gone by then.
    #[must_use]
    pub fn until_within_s(&self, step_k: f64, within_k: f64) -> f64 {
        let slow_k = (self.slow_part * step_k).abs();
        if slow_k > within_k { self.slow_s * (slow_k / within_k).ln() } else { 0.0 }
    }

    /// The same with time constants longer by a part.
    #[must_use]
    pub fn slower_by(&self, part: f64) -> Self {
        Self { slow_s: self.slow_s * (1.0 + part), fast_s: self.fast_s * (1.0 + part), ..*self }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const BENCH: TwoBodies = TwoBodies {
        board_j_per_k: 14.0,
        board_k_per_w: 0.9,
        heatsink_j_per_k: 139.0,
        heatsink_k_per_w: 1.3,
        sensor_part: 1.0,
    };

    /// Exact: one lump of capacity C behind a resistance R settles with R C (Incropera et al., equation 5.7).
    #[test]
    fn a_lumped_lamp_settles_with_r_times_c() {
        let alone = TwoBodies { heatsink_j_per_k: 0.0, heatsink_k_per_w: 0.0, ..BENCH }.settling();
        assert_eq!((alone.slow_s, alone.slow_part), (14.0 * 0.9, 1.0));
        assert!((alone.there_after(12.6) - (1.0 - (-1.0f64).exp())).abs() < 1e-12);
        // The limit of no resistance between the lumps: they are one.
        let near = TwoBodies { board_k_per_w: 1e-9, ..BENCH }.settling();
        assert!((near.slow_s / (153.0 * 1.3) - 1.0).abs() < 1e-6 && (near.slow_part - 1.0).abs() < 1e-6);
    }

    /// Source: the two differential equations themselves, integrated by the classical fourth-order Runge-Kutta steps of 0.05 s; its
    /// error at such steps is 1e-10 of the rise.
    #[test]
    fn both_lumps_follow_their_differential_equations() {
        let heat_w = 16.0;
        let slope = |[board, sink]: [f64; 2]| {
            let over = (board - sink) / BENCH.board_k_per_w;
            [
                (heat_w - over) / BENCH.board_j_per_k,
                (over - sink / BENCH.heatsink_k_per_w) / BENCH.heatsink_j_per_k,
            ]
        };
        let parts = [1.0, 0.3, 0.0];
        let settlings = parts.map(|sensor_part| TwoBodies { sensor_part, ..BENCH }.settling());
        let (mut at, step_s) = ([0.0; 2], 0.05);
        for step in 1..=40_000 {
            let along = |from: [f64; 2], by: [f64; 2], h: f64| [from[0] + h * by[0], from[1] + h * by[1]];
            let one = slope(at);
            let two = slope(along(at, one, 0.5 * step_s));
            let three = slope(along(at, two, 0.5 * step_s));
            let four = slope(along(at, three, step_s));
            for k in 0..2 {
                at[k] += step_s / 6.0 * (one[k] + 2.0 * two[k] + 2.0 * three[k] + four[k]);
            }
            for (part, settling) in parts.iter().zip(&settlings) {
                let end_k = heat_w * (part * BENCH.board_k_per_w + BENCH.heatsink_k_per_w);
                let found_k = end_k * settling.there_after(f64::from(step) * step_s);
                let there_k = at[1] + part * (at[0] - at[1]);
                assert!((found_k - there_k).abs() < 1e-7 * end_k, "step {step}, {part}: {found_k} {there_k}");
            }
        }
    }

    /// By definition: at the time said, just so much is left (the fast part gone but for rounding).
    #[test]
    fn the_dwell_leaves_just_what_was_asked() {
        let settling = BENCH.settling();
        for step_k in [0.5, 4.0, 30.0] {
            let at_s = settling.until_within_s(step_k, 0.1);
            let left_k = step_k * (1.0 - settling.there_after(at_s));
            // What the fast part leaves, at most: it is no more than the slow one.
            let fast_k = step_k * (1.0 - settling.slow_part).abs() * (-at_s / settling.fast_s).exp();
            assert!((left_k - 0.1).abs() <= fast_k + 1e-9, "{step_k} K: {left_k} K after {at_s} s");
        }
        assert_eq!(settling.until_within_s(0.05, 0.1), 0.0);
        let longer = settling.slower_by(0.2);
        assert!((longer.until_within_s(30.0, 0.1) / settling.until_within_s(30.0, 0.1) - 1.2).abs() < 1e-12);
    }
}

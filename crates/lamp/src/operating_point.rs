//! Junction temperature, forward voltage, light and heat of all emitters together.
//!
//! The field answers linearly (but for its open faces, which are solved around this): solder rise = base + R (q - q0),
//! with the response matrix R, K/W. The emitters answer with their heat q(T). Both are joined by Newton's method on the
//! junction temperatures, from ambient upwards, so that of several solutions the coolest is found: the one a lamp
//! reaches when it is switched on.

use crate::emitter::EmitterSheet;
use crate::emitter_physics::{emitter_state, gives_light, heat_w_per_k, real_junction_to_solder_k_per_w};
use crate::uncertain::{Departures, Value};

/// Junction temperature, degC, above which no steady state is accepted: nothing of an emitter is left there.
pub const HOTTEST_JUNCTION_C: f64 = 500.0;

/// Going up from ambient, a junction may pass the temperature it would take by this much, K; a step that goes farther is halved.
const PASSED_K: f64 = 1.0;
/// How often a step is halved at most.
const HALVINGS: usize = 12;

/// An emitter as the operating point sees it.
#[derive(Debug, Clone)]
pub(crate) struct CoupledEmitter {
    pub sheet: EmitterSheet,
    /// Part of the drive current.
    pub share: f64,
    /// Junction to solder point per watt of heat, K/W.
    pub package_k_per_w: f64,
}

impl CoupledEmitter {
    pub fn new(sheet: &EmitterSheet, share: f64) -> Self {
        Self { sheet: sheet.clone(), share, package_k_per_w: real_junction_to_solder_k_per_w(sheet) }
    }

    /// The same with heat and resistance that depart.
    pub fn departing(mut self, departures: &Departures) -> Self {
        self.sheet.heat_factor *= departures.factor(Value::HeatShare);
        self.package_k_per_w *= departures.factor(Value::JunctionResistance);
        self
    }

    /// Heat at a drive current and junction temperature, W.
    pub fn heat_w(&self, drive_a: f64, junction_c: f64) -> f64 {
        emitter_state(&self.sheet, self.share * drive_a, junction_c).heat_w
    }
}

/// How the solder points answer to the emitters' heats.
#[derive(Debug, Clone, Default)]
pub(crate) struct Response {
    /// Solder rise of emitter i per watt of emitter j, K/W, row by row.
    pub k_per_w: Vec<f64>,
    /// Solder rises, K, at the heats `at_heat_w`.
    pub rise_k: Vec<f64>,
    /// Heats, W, at which the rises hold.
    pub at_heat_w: Vec<f64>,
}

impl Response {
    fn count(&self) -> usize {
        self.rise_k.len()
    }

    pub fn row(&self, i: usize) -> &[f64] {
        let n = self.count();
        self.k_per_w.get(i * n..(i + 1) * n).unwrap_or(&[])
    }

    /// Takes over the rises found at these heats, and scales each row of the matrix as they differ from what it foretold.
    pub fn rescale(&mut self, rise_k: &[f64], heat_w: &[f64]) {
        let foretold = self.rises_k(heat_w);
        let n = self.count();
        for (i, (found, foretold)) in rise_k.iter().zip(&foretold).enumerate() {
            let factor =
                if *foretold > 1e-6 && *found > 1e-6 { (found / foretold).clamp(0.2, 5.0) } else { 1.0 };
            self.k_per_w.iter_mut().skip(i * n).take(n).for_each(|r| *r *= factor);
        }
        self.rise_k = rise_k.to_vec();
        self.at_heat_w = heat_w.to_vec();
    }

    /// Solder rises at other heats, K.
    pub fn rises_k(&self, heat_w: &[f64]) -> Vec<f64> {
        let change = |i: usize| -> f64 {
            self.row(i).iter().zip(heat_w.iter().zip(&self.at_heat_w)).map(|(r, (q, q0))| r * (q - q0)).sum()
        };
        self.rise_k.iter().enumerate().map(|(i, rise)| rise + change(i)).collect()
    }
}

/// The state all emitters settle at.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Settled {
    pub junction_c: Vec<f64>,
    pub heat_w: Vec<f64>,
    /// Current of each emitter, A.
    pub current_a: Vec<f64>,
}

/// The coolest steady state at a drive current, or `None` when there is none (thermal runaway).
pub(crate) fn settle(
    emitters: &[CoupledEmitter],
    response: &Response,
    drive_a: f64,
    ambient_c: f64,
) -> Option<Settled> {
    let n = emitters.len();
    let mut junction_c = vec![ambient_c; n];
    let heats = |junction_c: &[f64]| -> Vec<f64> {
        emitters.iter().zip(junction_c).map(|(e, t)| e.heat_w(drive_a, *t)).collect()
    };
    // How much hotter each junction would become than it is taken to be; from ambient upwards this comes down to nothing.
    let excess_k = |junction_c: &[f64]| -> Vec<f64> {
        let heat_w = heats(junction_c);
        let rises = response.rises_k(&heat_w);
        (0..n)
            .map(|i| ambient_c + rises[i] + emitters[i].package_k_per_w * heat_w[i] - junction_c[i])
            .collect()
    };
    let not_passed = |excess_k: &[f64]| excess_k.iter().all(|e| *e > -PASSED_K);
    for _ in 0..80 {
        let excess = excess_k(&junction_c);
        let gain = gain_matrix(emitters, response, drive_a, &junction_c);
        let jacobian: Vec<f64> = gain
            .iter()
            .enumerate()
            .map(|(k, g)| if n > 0 && k / n == k % n { 1.0 - g } else { -g })
            .collect();
        let from_below = not_passed(&excess);
        let step = solve_dense(jacobian, excess)?;
        let largest = step.iter().fold(0.0f64, |m, s| m.max(s.abs()));
        if !largest.is_finite() {
            return None;
        }
        let moved =
            |part: f64| -> Vec<f64> { junction_c.iter().zip(&step).map(|(t, s)| t + part * s).collect() };
        let mut part = (80.0 / largest).min(1.0);
        let mut next = moved(part);
        // A step that passes the coolest state might end at a hotter one, or at none.
        for _ in 0..HALVINGS {
            if !from_below || not_passed(&excess_k(&next)) {
                break;
            }
            part *= 0.5;
            next = moved(part);
        }
        junction_c = next;
        if largest < 1e-9 {
            let heat_w = heats(&junction_c);
            let current_a = emitters.iter().map(|e| e.share * drive_a).collect();
            let settled = Settled { junction_c, heat_w, current_a };
            return accepted(emitters, &gain, &settled.junction_c).then_some(settled);
        }
        if junction_c.iter().any(|t| t.abs() > 5.0 * HOTTEST_JUNCTION_C) {
            return None;
        }
    }
    None
}

/// Change of each junction's balance temperature per kelvin of each junction: row by row; a lamp is stable while the
/// largest eigenvalue stays below 1.
fn gain_matrix(
    emitters: &[CoupledEmitter],
    response: &Response,
    drive_a: f64,
    junction_c: &[f64],
) -> Vec<f64> {
    let slopes: Vec<f64> =
        emitters.iter().zip(junction_c).map(|(e, t)| heat_w_per_k(&e.sheet, e.share * drive_a, *t)).collect();
    let mut gain = Vec::with_capacity(slopes.len() * slopes.len());
    for (i, emitter) in emitters.iter().enumerate() {
        let own = |j: usize| if i == j { emitter.package_k_per_w } else { 0.0 };
        gain.extend(response.row(i).iter().zip(&slopes).enumerate().map(|(j, (r, s))| (r + own(j)) * s));
    }
    gain
}

fn accepted(emitters: &[CoupledEmitter], gain: &[f64], junction_c: &[f64]) -> bool {
    alive(emitters, junction_c) && largest_eigenvalue(gain, junction_c.len()) < 1.0
}

/// Whether every emitter still works at its junction temperature.
pub(crate) fn alive(emitters: &[CoupledEmitter], junction_c: &[f64]) -> bool {
    emitters.iter().zip(junction_c).all(|(e, t)| {
        *t < HOTTEST_JUNCTION_C && (*t <= e.sheet.junction_limit_c || gives_light(&e.sheet, *t))
    })
}

fn largest_eigenvalue(matrix: &[f64], n: usize) -> f64 {
    largest_mode(matrix, vec![1.0; n]).0
}

/// Largest eigenvalue of a matrix whose eigenvalues are real, and its vector, by the power method on the matrix shifted by its
/// norm, from a vector that the one sought must not be at right angles to.
pub(crate) fn largest_mode(matrix: &[f64], mut x: Vec<f64>) -> (f64, Vec<f64>) {
    let n = x.len();
    if n == 0 {
        return (0.0, x);
    }
    let row_sum = |row: &[f64]| row.iter().map(|v| v.abs()).sum::<f64>();
    let shift = matrix.chunks(n).map(row_sum).fold(0.0f64, f64::max);
    let mut value = 0.0;
    for _ in 0..300 {
        let y: Vec<f64> = matrix
            .chunks(n)
            .zip(&x)
            .map(|(row, own)| shift * own + row.iter().zip(&x).map(|(m, v)| m * v).sum::<f64>())
            .collect();
        let norm = y.iter().fold(0.0f64, |m, v| m.max(v.abs()));
        if norm == 0.0 {
            return (0.0, x);
        }
        value = norm - shift;
        x = y.into_iter().map(|v| v / norm).collect();
    }
    (value, x)
}

/// Solves a small dense system by elimination with row exchange; `None` when it is singular.
fn solve_dense(a: Vec<f64>, b: Vec<f64>) -> Option<Vec<f64>> {
    let n = b.len();
    solve_dense_many(a, b, n)
}

/// The same for several right sides: `b` has `n` rows.
pub(crate) fn solve_dense_many(mut a: Vec<f64>, mut b: Vec<f64>, n: usize) -> Option<Vec<f64>> {
    let m = b.len().checked_div(n).unwrap_or(0);
    for k in 0..n {
        let pivot = (k..n).max_by(|p, q| a[p * n + k].abs().total_cmp(&a[q * n + k].abs()))?;
        if a[pivot * n + k].abs() < 1e-12 {
            return None;
        }
        if pivot != k {
            for column in 0..n {
                a.swap(k * n + column, pivot * n + column);
            }
            for column in 0..m {
                b.swap(k * m + column, pivot * m + column);
            }
        }
        for row in k + 1..n {
            let factor = a[row * n + k] / a[k * n + k];
            if factor != 0.0 {
                for column in k..n {
                    a[row * n + column] -= factor * a[k * n + column];
                }
                for column in 0..m {
                    b[row * m + column] -= factor * b[k * m + column];
                }
            }
        }
    }
    for k in (0..n).rev() {
        for column in 0..m {
            let known: f64 = (k + 1..n).map(|c| a[k * n + c] * b[c * m + column]).sum();
            b[k * m + column] = (b[k * m + column] - known) / a[k * n + k];
        }
    }
    Some(b)
}

/// Smallest drive current up to `up_to_a` at which nothing settles, A, to one part in 10⁴; `None` when all settle.
pub(crate) fn runaway_current_a(
    emitters: &[CoupledEmitter],
    response: &Response,
    ambient_c: f64,
    up_to_a: f64,
) -> Option<f64> {
    first_unsettled_a(up_to_a, |drive_a| settle(emitters, response, drive_a, ambient_c).is_some())
        .filter(|_| !emitters.is_empty())
}

/// Smallest drive current up to `up_to_a` that does not settle, A, to one part in 10⁴.
pub(crate) fn first_unsettled_a(up_to_a: f64, settles: impl Fn(f64) -> bool) -> Option<f64> {
    if up_to_a <= 0.0 {
        return None;
    }
    let steps = 60;
    let at = |step: i32| up_to_a * f64::from(step) / f64::from(steps);
    let first = (1..=steps).find(|s| !settles(at(*s)))?;
    let (mut low, mut high) = (at(first - 1), at(first));
    while high - low > 1e-4 * high {
        let middle = 0.5 * (low + high);
        if settles(middle) { low = middle } else { high = middle }
    }
    Some(high)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::emitter::{Radiation, ResistanceBasis};

    /// Forward voltage and flux both straight in the junction temperature.
    fn linear_emitter(v25: f64, v_per_k: f64, lm25: f64, lm_per_k: f64, package: f64) -> CoupledEmitter {
        let sheet = EmitterSheet {
            name: "linear".into(),
            title: String::new(),
            source: "invented".into(),
            forward_v_by_current: vec![(0.7, v25)],
            voltage_reference_c: 25.0,
            forward_v_per_k: v_per_k,
            forward_v_tolerance_v: 0.0,
            flux_lm: lm25,
            binning_current_a: 0.7,
            binning_junction_c: 25.0,
            relative_flux_by_current: vec![(0.7, 1.0), (1.4, 2.0)],
            relative_flux_by_junction: vec![(25.0, 1.0), (125.0, 1.0 + 100.0 * lm_per_k / lm25)],
            radiation: Radiation::EfficacyOfRadiation { lm_per_w: 320.0 },
            heat_factor: 1.0,
            junction_to_solder_k_per_w: package,
            resistance_basis: ResistanceBasis::Real,
            resistance_stated_at_efficiency: None,
            junction_limit_c: 150.0,
            current_limit_a: 1.5,
            solder_limit_c: None,
            ageing_tests: Vec::new(),
            body_m: [3e-3, 3e-3],
            lands: Vec::new(),
        };
        CoupledEmitter::new(&sheet, 1.0)
    }

    fn alone(k_per_w: f64) -> Response {
        Response { k_per_w: vec![k_per_w], rise_k: vec![0.0], at_heat_w: vec![0.0] }
    }

    /// 0.7 A, 2.9 V - 1.6 mV/K, 270 lm falling by 0.19 % of it per kelvin from 25 degC, 320 lm/W, 14 K/W in all, ambient 40 degC.
    /// All is linear in Tj: Tj = (Ta + R (I (V25 + 25 s) - lm25 (1 + 25 d) / 320)) / (1 - R (I (-s) ... )), by hand below.
    #[test]
    fn one_linear_emitter_by_hand() {
        let (i, v25, s, lm25, d, r, ta) = (0.7, 2.9, -0.0016, 270.0, 0.0019, 14.0, 40.0);
        let q25 = i * v25 - lm25 / 320.0;
        let slope = i * s + lm25 * d / 320.0;
        let exact = (ta + r * (q25 - 25.0 * slope)) / (1.0 - r * slope);
        let e = linear_emitter(v25, s, lm25, -lm25 * d, 4.0);
        let found = settle(&[e], &alone(10.0), i, ta).expect("settles");
        assert!((found.junction_c[0] - exact).abs() < 1e-6, "{found:?} against {exact}");
    }

    /// Flux straight in T and gone at 275 degC, voltage constant: there the heat is V I, so the last current that settles is
    /// I = (275 - Ta) / (R V), by hand.
    #[test]
    fn runaway_where_the_light_is_gone() {
        let e = linear_emitter(2.9, 0.0, 100.0, -0.4, 5.0);
        let exact = (275.0 - 25.0) / (105.0 * 2.9);
        let found = runaway_current_a(&[e], &alone(100.0), 25.0, 3.0).expect("runs away");
        assert!((found / exact - 1.0).abs() < 3e-4, "{found} against {exact}");
    }

    /// Heat falls out of step at a kink: flux 1.0 at 25 degC, 0.9 at 100 degC, 0.3 at 200 degC, constant voltage and R large
    /// enough that the gain exceeds 1 beyond the kink and not before: the branch ends where the junction reaches 100 degC, at
    /// I = (100 - Ta) / (R (V - 0.9 lm_per_A / 320)), by hand.
    #[test]
    fn runaway_where_the_gain_passes_one() {
        let mut e = linear_emitter(2.9, 0.0, 560.0, 0.0, 5.0);
        e.sheet.relative_flux_by_junction = vec![(25.0, 1.0), (100.0, 0.9), (200.0, 0.3)];
        let resistance = 155.0;
        let exact = (100.0 - 25.0) / (resistance * (2.9 - 0.9 * 800.0 / 320.0));
        let gain = |per_k: f64| resistance * exact * 800.0 / 320.0 * per_k;
        assert!(gain(0.1 / 75.0) < 1.0 && gain(0.006) > 1.0);
        let found = runaway_current_a(&[e], &alone(150.0), 25.0, 3.0).expect("runs away");
        assert!((found / exact - 1.0).abs() < 0.01, "{found} against {exact}");
    }

    #[test]
    fn a_cool_lamp_does_not_run_away() {
        let e = linear_emitter(2.9, -0.0016, 270.0, -0.5, 4.0);
        assert_eq!(runaway_current_a(&[e], &alone(5.0), 25.0, 3.0), None);
    }

    /// Two emitters that share a string's current are one that has it all, at twice the drive current.
    #[test]
    fn a_share_of_the_current_is_a_lower_current() {
        let whole = linear_emitter(2.9, -0.0016, 270.0, -0.5, 4.0);
        let half = CoupledEmitter { share: 0.5, ..whole.clone() };
        let single = settle(std::slice::from_ref(&whole), &alone(10.0), 0.7, 40.0).expect("settles");
        let shared = settle(std::slice::from_ref(&half), &alone(10.0), 1.4, 40.0).expect("settles");
        assert!((single.junction_c[0] - shared.junction_c[0]).abs() < 1e-7, "{single:?} {shared:?}");
        let gain = |e: &CoupledEmitter, drive_a: f64| {
            gain_matrix(std::slice::from_ref(e), &alone(10.0), drive_a, &[90.0])[0]
        };
        assert!((gain(&whole, 0.7) / gain(&half, 1.4) - 1.0).abs() < 1e-12);
    }

    /// By hand: heat changes by 0.7 A x -1.6 mV/K + 0.5 lm/K / 320 lm/W = 0.0004425 W/K; each junction answers to its own heat
    /// with its package and row 8 or 6 K/W, to the other's with 3 or 2 K/W. Eigenvalues by the quadratic formula.
    #[test]
    fn the_gain_is_resistance_times_slope() {
        let e = linear_emitter(2.9, -0.0016, 270.0, -0.5, 4.0);
        let unlike =
            Response { k_per_w: vec![8.0, 3.0, 2.0, 6.0], rise_k: vec![1.0, 2.0], at_heat_w: vec![0.5, 0.5] };
        let gain = gain_matrix(&[e.clone(), e.clone()], &unlike, 0.7, &[80.0, 90.0]);
        for (found, k_per_w) in gain.iter().zip([12.0, 3.0, 2.0, 10.0]) {
            assert!((found - k_per_w * 0.000_442_5).abs() < 1e-9, "{gain:?}");
        }
        assert_eq!(unlike.rises_k(&[1.5, 2.5]), [1.0 + 8.0 + 6.0, 2.0 + 2.0 + 12.0]);
        assert!((largest_eigenvalue(&[12.0, 3.0, 2.0, 10.0], 2) - (11.0 + 7f64.sqrt())).abs() < 1e-9);
        // A lamp settles while the largest eigenvalue stays below 1.
        let both = [e.clone(), e];
        assert!(accepted(&both, &[0.5, 0.49, 0.49, 0.5], &[80.0, 90.0]));
        assert!(!accepted(&both, &[0.5, 0.51, 0.51, 0.5], &[80.0, 90.0]));
    }

    /// 200 K/W on a heat of 0.05 W at 25 degC that grows by 0.0049 W/K to 50 degC, stays to 100 degC and grows by 0.01 W/K above:
    /// gains of 0.98, 0 and 2. By hand the states are 25 + 200 (0.05 + 25 x 0.0049) = 59.5 degC and, unstable, 140.5 degC.
    #[test]
    fn the_coolest_of_several_states_is_found() {
        let mut e = linear_emitter(1.5, 0.0, 320.0, 0.0, 0.0);
        e.sheet.relative_flux_by_junction =
            vec![(25.0, 1.0), (50.0, 0.8775), (100.0, 0.8775), (150.0, 0.3775)];
        let found = settle(&[e], &alone(200.0), 0.7, 25.0).expect("settles");
        assert!((found.junction_c[0] - 59.5).abs() < 1e-6, "{found:?}");
    }

    /// After a field has been solved, the response holds there and goes on in proportion.
    #[test]
    fn a_rescaled_response_foretells_what_was_found() {
        let mut response = alone(10.0);
        response.rescale(&[12.0], &[1.0]);
        assert_eq!(response.rises_k(&[1.0]), [12.0]);
        assert!((response.rises_k(&[2.0])[0] - 24.0).abs() < 1e-12);
    }

    /// Constant voltage and flux: the heat is 0.7 x 2.9 - 270 / 320 = 1.18625 W at any temperature.
    #[test]
    fn no_state_above_the_hottest_junction() {
        let e = linear_emitter(2.9, 0.0, 270.0, 0.0, 5.0);
        let at = |junction_c: f64| {
            settle(std::slice::from_ref(&e), &alone((junction_c - 25.0) / 1.18625 - 5.0), 0.7, 25.0)
        };
        assert!((at(499.0).expect("settles").junction_c[0] - 499.0).abs() < 1e-6);
        assert_eq!(at(501.0), None);
    }

    #[test]
    fn two_equal_emitters_settle_alike_and_warm_each_other() {
        let e = linear_emitter(2.9, -0.0016, 270.0, -0.5, 4.0);
        let pair =
            Response { k_per_w: vec![8.0, 3.0, 3.0, 8.0], rise_k: vec![0.0; 2], at_heat_w: vec![0.0; 2] };
        let both = settle(&[e.clone(), e.clone()], &pair, 0.7, 25.0).expect("settles");
        let single = settle(&[e], &alone(11.0), 0.7, 25.0).expect("settles");
        assert!((both.junction_c[0] - both.junction_c[1]).abs() < 1e-9);
        assert!((both.junction_c[0] - single.junction_c[0]).abs() < 1e-7);
    }
}

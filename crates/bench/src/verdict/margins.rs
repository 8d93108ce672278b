//! How near a lamp is to its limits, and the current and room at which it meets the first of them.

use lamp::as_built::{Lamp, Variant};
use lamp::reduced::{NoState, ReducedLamp, ReducedState};

/// What a limit is of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LimitOf {
    /// An emitter's junction.
    Junction,
    /// A solder point.
    Solder,
    /// The board.
    Board,
    /// The emitters' highest current.
    Current,
    /// Thermal runaway.
    Runaway,
}

impl LimitOf {
    /// In words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Junction => "junction",
            Self::Solder => "solder",
            Self::Board => "board",
            Self::Current => "current",
            Self::Runaway => "runaway",
        }
    }
}

/// The limits of a variant.
#[derive(Debug, Clone)]
pub struct Limits {
    /// Of each emitter's junction, degC.
    junction_c: Vec<f64>,
    /// Of each emitter's solder point, degC; infinite where none is stated.
    solder_c: Vec<f64>,
    /// Of the board, degC.
    board_c: Option<f64>,
    /// Highest drive current that the emitters' sheets allow, A.
    pub drive_a: f64,
}

impl Limits {
    /// From sheets and lamp.toml.
    #[must_use]
    pub fn of(lamp: &Lamp, variant: &Variant) -> Self {
        let solder = |e: &lamp::as_built::PlacedEmitter| e.solder_limit_c(lamp).unwrap_or(f64::INFINITY);
        let drive = |e: &lamp::as_built::PlacedEmitter| e.sheet.current_limit_a / e.current_share.max(1e-9);
        Self {
            junction_c: variant.emitters.iter().map(|e| e.sheet.junction_limit_c).collect(),
            solder_c: variant.emitters.iter().map(solder).collect(),
            board_c: lamp.board_limit_c,
            drive_a: variant.emitters.iter().map(drive).fold(f64::INFINITY, f64::min),
        }
    }

    /// How far the state lies above its nearest limit, K (less than 0: below), which it is, and at which emitter; `spread_k` is
    /// added to each junction.
    #[must_use]
    pub fn excess_k(&self, state: &ReducedState, spread_k: &[f64]) -> (f64, LimitOf, usize) {
        let mut worst = self.junction_excess_k(state, spread_k);
        let mut take = |excess_k: f64, of: LimitOf, at: usize| {
            if excess_k > worst.0 {
                worst = (excess_k, of, at);
            }
        };
        for (k, (solder_c, limit_c)) in state.solder_c.iter().zip(&self.solder_c).enumerate() {
            take(solder_c - limit_c, LimitOf::Solder, k);
        }
        if let Some((board_c, limit_c)) = state.board_c.zip(self.board_c) {
            take(board_c - limit_c, LimitOf::Board, 0);
        }
        worst
    }

    /// The same of the junctions alone.
    fn junction_excess_k(&self, state: &ReducedState, spread_k: &[f64]) -> (f64, LimitOf, usize) {
        let spread = |k: usize| spread_k.get(k).copied().unwrap_or(0.0);
        let junctions = state.junction_c.iter().zip(&self.junction_c).enumerate();
        junctions.map(|(k, (c, limit_c))| (c + spread(k) - limit_c, LimitOf::Junction, k)).fold(
            (f64::NEG_INFINITY, LimitOf::Junction, 0),
            |worst, next| if next.0 > worst.0 { next } else { worst },
        )
    }
}

/// One lamp as it may have been built.
pub struct Built<'a> {
    /// The reduced lamp.
    pub reduced: &'a ReducedLamp,
    /// Index of the variant.
    pub variant: usize,
    /// Its limits.
    pub limits: &'a Limits,
    /// Departures of the uncertain values.
    pub departures: &'a [f64],
    /// By how much each junction is hotter than an emitter of the sheet's voltage, K per ampere of drive.
    pub spread_k_per_a: &'a [f64],
    /// What the grid hides of every rise on the board, as a part of it.
    pub grid_part: f64,
}

/// Currents are found to this part.
const CURRENT_PART: f64 = 1e-4;
/// Steps of a search.
const STEPS: usize = 40;
/// Excess that stands for a lamp that has run away, K.
const RUN_AWAY_K: f64 = 1000.0;

impl Built<'_> {
    /// Its state at a drive current, A, and room, degC.
    ///
    /// # Errors
    /// As the reduced lamp's.
    pub fn state(&self, drive_a: f64, ambient_c: f64) -> Result<ReducedState, NoState> {
        let mut state = self.reduced.state(self.variant, self.departures, drive_a, ambient_c)?;
        let hidden = |c: &mut f64| *c += self.grid_part * (*c - ambient_c);
        state.junction_c.iter_mut().chain(&mut state.solder_c).chain(&mut state.board_c).for_each(hidden);
        Ok(state)
    }

    /// By how much each junction is hotter at a drive current, A, than an emitter of the sheet's voltage, K.
    fn spread_k(&self, drive_a: f64) -> Vec<f64> {
        self.spread_k_per_a.iter().map(|s| s * drive_a).collect()
    }

    /// How far above its nearest limit, K, which, and where.
    #[must_use]
    pub fn excess_k(&self, drive_a: f64, ambient_c: f64) -> (f64, LimitOf, usize) {
        match self.state(drive_a, ambient_c) {
            Ok(state) => self.limits.excess_k(&state, &self.spread_k(drive_a)),
            Err(_) => (RUN_AWAY_K, LimitOf::Runaway, 0),
        }
    }

    /// The highest drive current, A, at which no limit is passed in a room, degC, and what limits it; 0 where even no current
    /// keeps to the limits. It is looked for near `near_a`, A, first.
    #[must_use]
    pub fn safe_current(&self, ambient_c: f64, near_a: f64) -> (f64, LimitOf, usize) {
        let top = self.limits.drive_a.min(1e4);
        let (excess, of, at) = self.excess_k(top, ambient_c);
        if excess <= 0.0 {
            return (top, LimitOf::Current, at);
        }
        let (mut low, mut below) = (0.0, self.excess_k(1e-6 * top, ambient_c).0);
        if below > 0.0 {
            return (0.0, of, at);
        }
        let (mut high, mut above) = ((top, excess, of, at), excess);
        for part in [0.85, 1.15] {
            let near = part * near_a;
            if near > low && near < high.0 {
                let (excess, of, at) = self.excess_k(near, ambient_c);
                if excess > 0.0 {
                    high = (near, excess, of, at);
                    above = excess;
                    break;
                }
                low = near;
                below = excess;
            }
        }
        // Regula falsi in its Illinois form: brackets always, and never creeps.
        let mut side = 0;
        for _ in 0..STEPS {
            let part = if above >= RUN_AWAY_K { 0.5 } else { (below / (below - above)).clamp(0.02, 0.98) };
            let middle = low + part * (high.0 - low);
            let (excess, of, at) = self.excess_k(middle, ambient_c);
            if excess > 0.0 {
                high = (middle, excess, of, at);
                above = excess;
                if side == 1 {
                    below *= 0.5;
                }
                side = 1;
            } else {
                low = middle;
                below = excess;
                if side == -1 && above < RUN_AWAY_K {
                    above *= 0.5;
                }
                side = -1;
            }
            if high.0 - low <= CURRENT_PART * top || excess.abs() < 0.01 {
                break;
            }
        }
        let safe = if self.excess_k(high.0, ambient_c).0 <= 0.01 { high.0 } else { low };
        (safe, high.2, high.3)
    }

    /// The room, degC, in which the hottest junction meets its limit at a drive current, A; `None` where it does so in none within
    /// -60 to 200 degC.
    #[must_use]
    pub fn room_at_junction_limit(&self, drive_a: f64) -> Option<f64> {
        let spread_k = self.spread_k(drive_a);
        self.room_where(drive_a, &|state| self.limits.junction_excess_k(state, &spread_k).0)
    }

    /// The room, degC, in which the first of all temperature limits is met, likewise.
    #[must_use]
    pub fn room_at_first_limit(&self, drive_a: f64) -> Option<f64> {
        let spread_k = self.spread_k(drive_a);
        self.room_where(drive_a, &|state| self.limits.excess_k(state, &spread_k).0)
    }

    /// The room in which an excess, K, is nothing: by secants, as temperatures follow the room nearly one to one.
    fn room_where(&self, drive_a: f64, excess_k: &dyn Fn(&ReducedState) -> f64) -> Option<f64> {
        let mut ambient_c = 25.0;
        let mut slope = 1.0;
        let mut last: Option<(f64, f64)> = None;
        for _ in 0..STEPS {
            let Ok(state) = self.state(drive_a, ambient_c) else {
                ambient_c -= 20.0;
                last = None;
                continue;
            };
            let found = excess_k(&state);
            if found.abs() < 1e-3 {
                return (-60.0..=200.0).contains(&ambient_c).then_some(ambient_c);
            }
            if let Some((before_c, before)) = last {
                let secant = (found - before) / (ambient_c - before_c);
                if secant.is_finite() && secant > 0.2 {
                    slope = secant;
                }
            }
            last = Some((ambient_c, found));
            ambient_c = (ambient_c - found / slope).clamp(-100.0, 240.0);
        }
        None
    }
}

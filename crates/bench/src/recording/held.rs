//! Rows at the start of a recording in which a channel was held: the logger repeats its first value, or reads a constant before the run begins.
//!
//! A channel whose readings change from row to row even where it is steadiest does not repeat a value many times by chance. A coarse or quiet
//! channel may, and nothing is said of it.

/// Neighbouring rows that are looked at together for how often readings change.
const WINDOW: usize = 50;
/// Such windows that are needed.
const LEAST_WINDOWS: usize = 2;
/// Held is what chance does more rarely than this.
const CHANCE: f64 = 1e-6;
/// A window of fifty rows tells no larger part than this.
const MOST_CHANGES: f64 = 0.98;

/// A channel that was held.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Held {
    /// Rows from the first one on that are not to be used, rows without a reading among them.
    pub rows: usize,
    /// The value that was repeated.
    pub value: f64,
    /// In the steadiest part of the rest, how many of the rows differ from the row before, as a part.
    pub changing: f64,
}

/// Whether a channel was held at the start; NaN where missing.
#[must_use]
pub fn held(values: &[f64]) -> Option<Held> {
    let first = values.iter().position(|value| value.is_finite())?;
    let value = *values.get(first)?;
    let differs = |other: &f64| other.is_finite() && *other != value;
    let rows = first + values.get(first..)?.iter().position(differs)?;
    let repeats = values.get(first..rows)?.iter().filter(|other| other.is_finite()).count();
    if repeats < 3 {
        return None;
    }
    let changing = least_changing(values.get(rows..)?)?.min(MOST_CHANGES);
    // Each row after the first repeats it with the chance that a row does where the channel is steadiest.
    let chance = (1.0 - changing).powf((repeats - 1) as f64);
    (chance < CHANCE).then_some(Held { rows, value, changing })
}

/// The least part of changing rows over all windows.
fn least_changing(values: &[f64]) -> Option<f64> {
    let (mut windows, mut least) = (0, 1.0f64);
    let (mut pairs, mut changes) = (0usize, 0usize);
    let mut before = f64::NAN;
    for &value in values.iter().filter(|value| value.is_finite()) {
        if before.is_finite() {
            pairs += 1;
            changes += usize::from(value != before);
        }
        before = value;
        if pairs == WINDOW {
            windows += 1;
            least = least.min(changes as f64 / WINDOW as f64);
            (pairs, changes) = (0, 0);
        }
    }
    (windows >= LEAST_WINDOWS).then_some(least)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::approach::testing::Random;

    /// A board that warms up after an hour off, with this noise, in these steps, K.
    fn log(seed: u64, noise_k: f64, step_k: f64, rows: usize) -> Vec<f64> {
        let mut random = Random::new(seed);
        let warm = |row: usize| 30.0 * (1.0 - (-(row.saturating_sub(rows / 4) as f64) / 100.0).exp());
        (0..rows)
            .map(|row| ((22.0 + warm(row) + noise_k * random.normal()) / step_k).round() * step_k)
            .collect()
    }

    #[test]
    fn a_held_first_value_is_recognised() {
        for seed in 0..50 {
            let mut values = log(seed, 0.05, 0.01, 1200);
            assert_eq!(held(&values), None, "{seed}");
            let first = values[0];
            values[..40].fill(first);
            let found = held(&values).unwrap();
            assert!(found.rows >= 40 && found.rows <= 42 && found.value == first, "{seed}: {found:?}");
            // A constant that the sensor never had, with rows in between that have none.
            values[..60].fill(0.0);
            values[10..14].fill(f64::NAN);
            values[..2].fill(f64::NAN);
            assert_eq!(held(&values).map(|held| (held.rows, held.value)), Some((60, 0.0)), "{seed}");
        }
    }

    /// In a run the rows are left out of that channel alone, and told.
    #[test]
    fn a_run_leaves_out_what_was_held() {
        use crate::mapping::Names;
        let mut board = log(3, 0.05, 0.01, 400);
        let first = board[0];
        board[..30].fill(first);
        let mut text = String::from("t (s),T (degC),I (A)\n");
        for (row, celsius) in board.iter().enumerate() {
            text += &format!("{row},{celsius:.2},0.70\n");
        }
        let sheet = "[run]\nlogs = [\"a.csv\"]\n[[channel]]\ncolumn = \"T\"\nis = \"sensor\"\n[[channel]]\ncolumn = \"I\"\nis = \"drive current\"\n";
        let folder = lamp::project::MemoryFolder::new([
            ("bench/a.toml".to_owned(), sheet.as_bytes().to_vec()),
            ("bench/a.csv".to_owned(), text.into_bytes()),
        ]);
        let names = Names { variants: vec!["plain".to_owned()], sensors: vec!["U1".to_owned()] };
        let run = crate::run::read(&folder, "bench/a.toml", &names);
        assert!(run.remarks.iter().any(|r| r.text.contains("over the first 30 rows")), "{:?}", run.remarks);
        let recording = run.recording.unwrap();
        let missing = |column: &str| recording.channel(column).unwrap().statistics().missing;
        assert_eq!((missing("T"), missing("I"), recording.rows()), (30, 0, 400));
    }

    /// Readings that stand still because the logger is coarse or the lamp is off are readings.
    #[test]
    fn a_quiet_or_coarse_start_is_kept() {
        for seed in 0..50 {
            assert_eq!(held(&log(seed, 0.02, 0.1, 1200)), None, "coarse {seed}");
            assert_eq!(held(&log(seed, 0.0, 0.01, 1200)), None, "without noise {seed}");
        }
        // A step of a set current is no noise.
        let current: Vec<f64> = (0..600).map(|row| f64::from(row / 200)).collect();
        assert_eq!(held(&current), None);
        assert_eq!((held(&[]), held(&[1.0; 500]), held(&[f64::NAN; 9])), (None, None, None));
    }
}

//! What the bench test of a lamp says, for terminal, JSON, tables and page alike: all runs together.

pub mod csv;
mod gather;

use bench::evaluation::comparing::{ComparisonFinding, compare};
use bench::evaluation::{OffFinding, PlateauFinding, RunFindings};
use lamp::as_built::Lamp;
use serde::Serialize;

pub use gather::{Benched, BenchedJson, HOW_TO_ADD_LOGS, sheets};

/// What all runs together say; the JSON is this, field for field.
#[derive(Debug, Default, Serialize)]
pub struct Findings {
    /// The answer in sentences.
    pub answers: Vec<String>,
    /// Plateaus: variants in the order of lamp.toml, then run by run.
    pub plateaus: Vec<PlateauFinding>,
    /// Sensors with the lamp off.
    pub lamp_off: Vec<OffFinding>,
    /// Variants side by side.
    pub comparisons: Vec<ComparisonFinding>,
    /// What else there is to say.
    pub remarks: Vec<String>,
}

impl Findings {
    /// Those of a lamp's runs.
    #[must_use]
    pub fn of(runs: Vec<(String, RunFindings)>, lamp: &Lamp) -> Self {
        let mut found = Self::default();
        for (run, of_run) in runs {
            found.plateaus.extend(of_run.plateaus);
            found.lamp_off.extend(of_run.lamp_off);
            found.remarks.extend(of_run.remarks.into_iter().map(|remark| format!("Run {run}: {remark}")));
        }
        let priced = |variant: &lamp::as_built::Variant| (variant.name.clone(), variant.board_price);
        let variants: Vec<(String, Option<f64>)> = lamp.variants.iter().map(priced).collect();
        // Boards in the order of lamp.toml; runs and times of one keep theirs.
        found.plateaus.sort_by_key(|one| {
            variants.iter().position(|(name, _)| Some(name) == one.variant.as_ref()).unwrap_or(variants.len())
        });
        found.comparisons = compare(&found.plateaus, &found.lamp_off, &variants);
        if found.plateaus.iter().any(|plateau| plateau.rise_k.is_some()) {
            found.remarks.push(
                "Intervals are of 95 % and hold what the log can tell: noise, an approach cut off, the room's drift. What sensor and room \
                 thermometer are off by throughout is not in the tables of the boards"
                    .to_owned(),
            );
        }
        found.answers = found.answers();
        found
    }

    /// Whether a plateau settled above a limit.
    #[must_use]
    pub fn is_over_limit(&self) -> bool {
        self.plateaus.iter().any(|plateau| plateau.above_board_limit)
    }

    /// Variant and sensor of each table, in the order in which they appear.
    #[must_use]
    pub fn tables(&self) -> Vec<(Option<&str>, &str)> {
        let mut found = Vec::new();
        for plateau in &self.plateaus {
            let key = (plateau.variant.as_deref(), plateau.sensor.as_str());
            if !found.contains(&key) {
                found.push(key);
            }
        }
        found
    }

    /// Plateaus of a variant by a sensor.
    pub fn plateaus_of<'a>(
        &'a self,
        variant: Option<&'a str>,
        sensor: &'a str,
    ) -> impl Iterator<Item = &'a PlateauFinding> {
        self.plateaus.iter().filter(move |one| one.variant.as_deref() == variant && one.sensor == sensor)
    }

    /// What was asked first: which board is cooler; without a comparison, what the highest current settled to. Then what went wrong.
    fn answers(&self) -> Vec<String> {
        let mut said: Vec<String> = self
            .comparisons
            .iter()
            .filter_map(|comparison| comparison.sentences.first())
            .map(|text| format!("{text}."))
            .collect();
        if said.is_empty() {
            for (variant, sensor) in self.tables() {
                let highest =
                    self.plateaus_of(variant, sensor).filter(|one| one.rise_k.is_some()).max_by(|a, b| {
                        a.drive_current_a.partial_cmp(&b.drive_current_a).unwrap_or(std::cmp::Ordering::Equal)
                    });
                said.extend(highest.and_then(|one| settled(variant, one)));
            }
        }
        let troubled: Vec<&PlateauFinding> =
            self.plateaus.iter().filter(|one| !one.anomalies.is_empty()).collect();
        for one in troubled {
            let mut kinds: Vec<&str> = one.anomalies.iter().map(|anomaly| anomaly.kind).collect();
            kinds.dedup();
            let at = one.drive_current_a.map_or_else(String::new, |current| format!(" at {current:.3} A"));
            said.push(format!("Look at the run {}{at}: {}; see below.", one.run, kinds.join(", ")));
        }
        said
    }
}

fn settled(variant: Option<&str>, one: &PlateauFinding) -> Option<String> {
    let board = variant.map_or_else(|| "The board".to_owned(), |name| format!("The {name} board"));
    let at = one.drive_current_a.map_or_else(String::new, |current| format!(" at {current:.3} A"));
    Some(format!(
        "{board} settles{at} to {:.1} degC by {}, {:.1} ± {:.1} K above the room.",
        one.settled_sensor_c?,
        one.sensor,
        one.rise_k?,
        (10.0 * one.rise_doubt_k()?).ceil().max(1.0) / 10.0
    ))
}

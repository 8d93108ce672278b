//! The plateaus that a fit takes, as readings of the reduced variants.

use lamp::as_built::Lamp;
use lamp::reduced::ReducedLamp;

use crate::evaluation::PlateauFinding;

/// What the model may be off by besides what is uncertain, as a part of the rise: what the reduced variant leaves.
const MODEL_PART: f64 = 2.5e-3;
/// Least standard deviation of a reading, K: plateaus repeated on another day agree no better (common practice, no source).
const LEAST_K: f64 = 0.05;

/// A settled rise of a sensor.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// Run and variant by name.
    pub run: String,
    /// Begin of the plateau in its run, s: what the sensors of a run read at one time is one plateau.
    pub from_s: f64,
    /// Index of the variant.
    pub variant: usize,
    /// Index of the sensor.
    pub sensor: usize,
    /// Drive current, A.
    pub drive_current_a: f64,
    /// Room as logged, degC.
    pub ambient_c: f64,
    /// Rise above the room, K.
    pub rise_k: f64,
    /// Its standard deviation, K.
    pub standard_k: f64,
}

/// Readings that can be fitted, what could not be taken and why, and junctions measured by forward voltage.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Readings {
    /// Sensors on board and heatsink.
    pub fitted: Vec<Reading>,
    /// Sensors that read a junction by its forward voltage.
    pub junctions: Vec<Reading>,
    /// Plateaus left out, in words.
    pub left_out: Vec<String>,
}

impl Readings {
    /// From the plateaus of a lamp's runs.
    #[must_use]
    pub fn of(plateaus: &[PlateauFinding], lamp: &Lamp, reduced: &ReducedLamp) -> Self {
        let mut found = Self::default();
        for plateau in plateaus {
            match reading(plateau, lamp, reduced) {
                Ok((reading, true)) => found.junctions.push(reading),
                Ok((reading, false)) => found.fitted.push(reading),
                Err(why) => found.left_out.push(format!("{}: {why}", name(plateau))),
            }
        }
        for readings in [&mut found.fitted, &mut found.junctions] {
            readings.sort_by(|a, b| {
                let current = a.drive_current_a.total_cmp(&b.drive_current_a);
                a.variant.cmp(&b.variant).then(current).then(a.sensor.cmp(&b.sensor))
            });
        }
        found
    }

    /// The number of each fitted reading's plateau.
    #[must_use]
    pub fn plateaus(&self) -> Vec<usize> {
        let mut seen: Vec<&Reading> = Vec::new();
        let number = |reading| {
            let known = seen.iter().position(|other: &&Reading| other.is_beside(reading));
            known.unwrap_or_else(|| {
                seen.push(reading);
                seen.len() - 1
            })
        };
        self.fitted.iter().map(number).collect()
    }
}

impl Reading {
    /// Whether the other is of the same plateau.
    #[must_use]
    pub fn is_beside(&self, other: &Self) -> bool {
        self.run == other.run && self.variant == other.variant && self.from_s == other.from_s
    }
}

fn name(plateau: &PlateauFinding) -> String {
    match plateau.drive_current_a {
        Some(a) => format!("run {}, {} at {a:.3} A", plateau.run, plateau.sensor),
        None => format!("run {}, {}", plateau.run, plateau.sensor),
    }
}

/// The reading, and whether it is a junction's.
fn reading(plateau: &PlateauFinding, lamp: &Lamp, reduced: &ReducedLamp) -> Result<(Reading, bool), String> {
    let named = plateau.variant.as_ref().ok_or("its run does not say which variant it was")?;
    let variant = lamp
        .variants
        .iter()
        .position(|v| v.name == *named)
        .filter(|v| *v < reduced.variants.len())
        .ok_or_else(|| format!("the lamp has no variant {named}"))?;
    let sensor = lamp
        .sensors
        .iter()
        .position(|s| s.name == plateau.sensor)
        .ok_or_else(|| format!("the lamp has no sensor {}", plateau.sensor))?;
    let drive_current_a = plateau.drive_current_a.ok_or("its current is not known")?;
    let ambient_c = plateau.ambient_c.ok_or("the room's temperature is not known")?;
    let (rise_k, standard_k) =
        plateau.rise_k.zip(plateau.rise_standard_k).ok_or("it has no settled value")?;
    let trouble = plateau
        .anomalies
        .iter()
        .find(|a| a.kind != crate::evaluation::kind_word(crate::anomaly::Kind::FanLoss));
    if let Some(trouble) =
        trouble.filter(|_| plateau.used_to_s - plateau.used_from_s < 0.3 * (plateau.to_s - plateau.from_s))
    {
        return Err(format!("{} disturbs most of it", trouble.kind));
    }
    let standard_k = standard_k.hypot(LEAST_K).hypot(MODEL_PART * rise_k);
    let reading = Reading {
        run: plateau.run.clone(),
        from_s: plateau.from_s,
        variant,
        sensor,
        drive_current_a,
        ambient_c,
        rise_k,
        standard_k,
    };
    Ok((reading, !lamp.sensors[sensor].reads_its_place()))
}

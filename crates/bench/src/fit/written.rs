//! What is known of the uncertain values, as plain text that can be read again: results/fitted.toml.

use std::fmt;
use std::fmt::Write as _;

use lamp::as_built::Lamp;
use lamp::uncertain::{Departs, Uncertain, Value};
use nalgebra::DMatrix;
use serde::Deserialize;

/// What is known of the departures of the uncertain values: a normal distribution.
#[derive(Debug, Clone, PartialEq)]
pub struct Posterior {
    /// The values, in the order of departures and covariance.
    pub uncertain: Vec<Uncertain>,
    /// Their likeliest departures: logarithms of factors, or K.
    pub departures: Vec<f64>,
    /// Covariance of the departures.
    pub covariance: DMatrix<f64>,
    /// Whether plateaus are in it; else it is what the tolerances say.
    pub fitted: bool,
}

/// Why a text is no posterior of a lamp, in words.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PosteriorError(pub String);

impl fmt::Display for PosteriorError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl std::error::Error for PosteriorError {}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Text {
    fitted: Vec<Row>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    value: String,
    variant: Option<String>,
    sensor: Option<String>,
    departure: f64,
    covariance: Vec<f64>,
}

impl Posterior {
    /// As text: a table for each value, in words and in full.
    #[must_use]
    pub fn to_text(&self, lamp: &Lamp) -> String {
        let mut text = String::from(
            "# What the plateaus of the bench test told of the values that are not known exactly. Written by `lampwright fit`, read by\n\
             # `lampwright verdict`; safe to delete. `departure`: natural logarithm of the factor on what lamp.toml says, or K.\n\
             # `covariance`: with every value, in this order.\n",
        );
        for (j, u) in self.uncertain.iter().enumerate() {
            let (x, deviation) = (self.departures[j], self.covariance[(j, j)].max(0.0).sqrt());
            let words = match u.value.departs() {
                Departs::ByFactor => {
                    format!("{:.3} times, within {:.1} % (95 %)", x.exp(), 196.0 * deviation)
                }
                Departs::ByKelvin => format!("{x:+.3} K, within {:.2} K (95 %)", 1.96 * deviation),
            };
            // Writing to a text does not fail.
            let _ = writeln!(text, "\n[[fitted]] # {words}\nvalue = \"{}\"", u.value.name());
            if let Some(variant) = u.variant.and_then(|v| lamp.variants.get(v)) {
                let _ = writeln!(text, "variant = {}", toml::Value::from(variant.name.as_str()));
            }
            if let Some(sensor) = u.sensor.and_then(|s| lamp.sensors.get(s)) {
                let _ = writeln!(text, "sensor = {}", toml::Value::from(sensor.name.as_str()));
            }
            let row: Vec<String> = self.covariance.row(j).iter().map(|c| format!("{c:e}")).collect();
            let _ = writeln!(text, "departure = {x:?}\ncovariance = [{}]", row.join(", "));
        }
        text
    }

    /// From such a text, for a lamp whose uncertain values are these.
    ///
    /// # Errors
    /// When it is no such text, or belongs to other values than the lamp now has: then fit again.
    pub fn from_text(text: &str, lamp: &Lamp, uncertain: &[Uncertain]) -> Result<Self, PosteriorError> {
        let read: Text = toml::from_str(text).map_err(|error| PosteriorError(error.to_string()))?;
        let stale = |why: String| {
            PosteriorError(format!("{why}; lamp.toml has changed since: run `lampwright fit` again"))
        };
        if read.fitted.len() != uncertain.len() {
            return Err(stale(format!(
                "it has {} values and the lamp {}",
                read.fitted.len(),
                uncertain.len()
            )));
        }
        let count = uncertain.len();
        let mut found = Self {
            uncertain: uncertain.to_vec(),
            departures: Vec::with_capacity(count),
            covariance: DMatrix::zeros(count, count),
            fitted: true,
        };
        for (j, (row, u)) in read.fitted.iter().zip(uncertain).enumerate() {
            let name = u.variant.and_then(|v| lamp.variants.get(v)).map(|v| v.name.clone());
            let sensor = u.sensor.and_then(|s| lamp.sensors.get(s)).map(|s| s.name.clone());
            if Value::named(&row.value) != Some(u.value) || row.variant != name || row.sensor != sensor {
                return Err(stale(format!("its value {} is \"{}\"", j + 1, row.value)));
            }
            if row.covariance.len() != count
                || !row.covariance.iter().chain([&row.departure]).all(|v| v.is_finite())
            {
                return Err(PosteriorError(format!(
                    "{}: {} covariances of {count} are needed, all finite",
                    row.value,
                    row.covariance.len()
                )));
            }
            found.departures.push(row.departure);
            for (k, c) in row.covariance.iter().enumerate() {
                found.covariance[(j, k)] = *c;
            }
        }
        let uneven = (0..count).any(|j| {
            found.covariance[(j, j)] < 0.0
                || (0..j).any(|k| {
                    (found.covariance[(j, k)] - found.covariance[(k, j)]).abs()
                        > 1e-9 * (found.covariance[(j, j)] * found.covariance[(k, k)]).abs().sqrt()
                })
        });
        if uneven {
            return Err(PosteriorError(
                "its covariances are not those of values: they differ across the diagonal".to_owned(),
            ));
        }
        Ok(found)
    }
}

//! Plateaus: where they are ([`spans`]), what each settles to ([`crate::approach`]), repeats of one taken together ([`repeats`]).

pub mod repeats;
pub mod spans;
pub mod splitting;

#[cfg(test)]
mod tests;

use crate::approach::{CannotSettle, Settled, Wanted, settle};
use spans::Span;

/// A plateau with what it settles to.
#[derive(Debug, Clone, PartialEq)]
pub struct Plateau {
    /// Where it is.
    pub span: Span,
    /// Its settled rise above ambient, K, or why there is none.
    pub rise: Result<Settled, CannotSettle>,
    /// Standard uncertainty of the rise from an ambient that was not logged, K; 0 when it was.
    pub unlogged_ambient_k: f64,
    /// What there is to say about it, in sentences.
    pub remarks: Vec<String>,
}

impl Plateau {
    /// Standard uncertainty of the rise, K.
    #[must_use]
    pub fn standard_k(&self) -> Option<f64> {
        self.rise.as_ref().ok().map(|rise| rise.standard.hypot(self.unlogged_ambient_k))
    }

    /// 95 % interval of the rise, K.
    #[must_use]
    pub fn interval_k(&self) -> Option<[f64; 2]> {
        let rise = self.rise.as_ref().ok()?;
        let extra = 1.96 * self.unlogged_ambient_k;
        let [low, high] = rise.interval;
        Some([rise.value - (rise.value - low).hypot(extra), rise.value + (high - rise.value).hypot(extra)])
    }
}

/// Ambient of a log.
#[derive(Debug, Clone, Copy)]
pub enum Ambient<'a> {
    /// Logged, degC, NaN where missing.
    Logged(&'a [f64]),
    /// Only stated: degC, and how far it may have been off, K.
    Stated {
        /// Temperature, degC.
        celsius: f64,
        /// Limit of error, K.
        within_k: f64,
    },
}

/// What each of the spans settles to. `temperature_c` is the board sensor's, degC, NaN where missing.
#[must_use]
pub fn plateaus(
    time_s: &[f64],
    temperature_c: &[f64],
    ambient: Ambient<'_>,
    spans: &[Span],
    wanted: &Wanted,
) -> Vec<Plateau> {
    spans.iter().map(|span| plateau(time_s, temperature_c, ambient, span, wanted)).collect()
}

fn plateau(
    time_s: &[f64],
    temperature_c: &[f64],
    ambient: Ambient<'_>,
    span: &Span,
    wanted: &Wanted,
) -> Plateau {
    let range = span.first..=span.last;
    let cut = |column: &[f64]| column.get(range.clone()).map(<[f64]>::to_vec).unwrap_or_default();
    let wanted = Wanted { dead_s: wanted.dead_s + span.begin_doubt_s, ..*wanted };
    let (logged, stated) = match ambient {
        Ambient::Logged(column) => (Some(cut(column)), None),
        Ambient::Stated { celsius, within_k } => (None, Some((celsius, within_k))),
    };
    let mut rise = settle(&cut(time_s), &cut(temperature_c), logged.as_deref(), &wanted);
    let mut remarks = Vec::new();
    let mut unlogged_ambient_k = 0.0;
    // A column that is mostly missing counts as none.
    let ambient_used = rise.as_ref().is_ok_and(|rise| rise.ambient_drift_k.is_some());
    match (stated, &mut rise) {
        (Some((celsius, within_k)), Ok(rise)) => {
            rise.value -= celsius;
            rise.interval = rise.interval.map(|end| end - celsius);
            unlogged_ambient_k = within_k / 3f64.sqrt();
            remarks.push(format!(
                "no ambient was logged: the rise counts from the stated {celsius} degC, and what the room differed or drifted is a kelvin of \
                 error for a kelvin; {within_k} K of it is in the interval. Log the ambient beside the lamp"
            ));
        }
        (None, Ok(_)) if !ambient_used => {
            rise = Err(CannotSettle::NoAmbient);
        }
        _ => {}
    }
    match &rise {
        Ok(rise) => remarks.extend(told(rise, &wanted)),
        Err(why) => remarks.push(why.to_string()),
    }
    Plateau { span: *span, rise, unlogged_ambient_k, remarks }
}

/// What is to be said of a settled value.
fn told(rise: &Settled, wanted: &Wanted) -> Vec<String> {
    let mut said = Vec::new();
    if !rise.is_settled() {
        let more = match rise.minutes_more {
            more if more < 1.5 => "about a minute more".to_owned(),
            more if more < 120.0 => format!("about {more:.0} more minutes"),
            more => format!("about {:.0} more hours", more / 60.0),
        };
        said.push(format!(
            "not settled: {:.1} K are left of the approach; it needs {more} until less than {} K are left. The settled value is extrapolated",
            rise.remaining_k.abs(),
            wanted.still_k
        ));
    }
    if rise.independent_samples < 10.0 {
        said.push(format!(
            "the samples hang together so much that {} of them are worth only {:.0}: something in the lamp or the room moves slowly; hold the \
             current longer rather than log faster",
            rise.samples, rise.independent_samples
        ));
    }
    if let Some(drift) = rise.ambient_drift_k.filter(|drift| drift.abs() > 0.5) {
        said.push(format!(
            "the room drifted by {drift:+.1} K while it was held; that is taken off as the lamp follows it, which leaves ± {:.2} K of doubt",
            1.96 * rise.drift_standard_k
        ));
    }
    said
}

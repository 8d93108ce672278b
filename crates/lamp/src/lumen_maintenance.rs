//! How long an emitter keeps its light: the projection of a maker's ageing test (LM-80) by the procedure of IES TM-21.
//!
//! Mean relative flux of the later part of the test is fitted as `B exp(-alpha t)` by least squares of its logarithm; the time to
//! a part `p` of the first flux is `ln(B / p) / alpha`, reported only up to a multiple of the tested time. Between two case
//! temperatures `alpha` follows Arrhenius' law. Source: IES TM-21-11 and ANSI/IES TM-21-21 (procedure from memory). It projects the
//! emitter's light alone: drivers, solder joints and optics have lives of their own.

#[cfg(test)]
mod tests;

/// 0 degC in K.
const ZERO_C: f64 = 273.15;
/// Shortest test that may be projected, h (TM-21, from memory).
const SHORTEST_H: f64 = 6000.0;
/// Fewest units (TM-21, from memory).
const FEWEST_UNITS: u32 = 10;
/// Boltzmann's constant over the elementary charge, eV/K (CODATA 2018, exact by definition of the units).
const EV_PER_K: f64 = 8.617_333_262e-5;
/// Currents alike to this part are one current, and temperatures to this many kelvin one temperature.
const SAME: f64 = 1e-3;

/// A set of units aged together.
#[derive(Debug, Clone, PartialEq)]
pub struct AgeingTest {
    /// Case (solder point) temperature, degC.
    pub case_c: f64,
    /// Drive current of a unit, A.
    pub current_a: f64,
    /// Number of units.
    pub units: u32,
    /// Hours, ascending, and flux relative to that at 0 h, mean over the units, above 0.
    pub relative_flux: Vec<(f64, f64)>,
}

/// Flux fading as `initial exp(-rate t)`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Decay {
    /// `alpha`, per hour; may be 0 or negative: no fading was seen.
    pub rate_per_h: f64,
    /// `B`, relative to the flux at 0 h.
    pub initial: f64,
    /// How long was tested, h.
    pub tested_h: f64,
    /// Longest time that may be reported, h: a multiple of the time tested.
    pub limit_h: f64,
    /// From where on the readings were used, h, and how many.
    pub used_from_h: f64,
    /// Number of readings used.
    pub used: usize,
}

/// Time to a part of the first flux.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Life {
    /// Part of the flux that is left then, such as 0.7.
    pub part: f64,
    /// By the fitted curve, h; `None`: it never falls so far.
    pub calculated_h: Option<f64>,
    /// What may be reported, h: three digits, no more than the limit.
    pub reported_h: f64,
    /// Whether the report ends at the limit: the life is longer than reported.
    pub beyond_limit: bool,
    /// How long was tested, h.
    pub tested_h: f64,
}

impl Life {
    /// As the procedure writes it: "reported L70(6k) > 36000 h".
    #[must_use]
    pub fn told(&self) -> String {
        let sign = if self.beyond_limit { ">" } else { "=" };
        let (part, tested) = (100.0 * self.part, (self.tested_h / 1000.0).round());
        format!("reported L{part:.0}({tested:.0}k) {sign} {:.0} h", self.reported_h)
    }
}

/// A decay at a case temperature and current, with what is to be said of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Maintenance {
    /// The decay.
    pub decay: Decay,
    /// Current of the tests it comes from, A.
    pub tested_current_a: f64,
    /// Case temperatures of the tests it comes from, degC; one, or the two it lies between.
    pub tested_case_c: Vec<f64>,
    /// Activation energy between the two, eV.
    pub activation_ev: Option<f64>,
    /// What was assumed.
    pub remarks: Vec<String>,
}

/// `value` to three digits, as a report gives it; 0 where it is none.
fn three_digits(value: f64) -> f64 {
    if value <= 0.0 || !value.is_finite() {
        return 0.0;
    }
    let size = 10_f64.powi(value.log10().floor() as i32 - 2);
    (value / size).round() * size
}

/// Fits a test.
///
/// # Errors
/// Why the procedure does not allow it: too short, too few units, too few readings, values that are no flux.
pub fn decay(test: &AgeingTest) -> Result<Decay, String> {
    let place = format!("the test at {} degC and {} A", test.case_c, test.current_a);
    let tested_h = test.relative_flux.last().map_or(0.0, |(hours, _)| *hours);
    if test.relative_flux.iter().any(|(hours, flux)| !(*hours >= 0.0 && *flux > 0.0 && flux.is_finite())) {
        return Err(format!("{place} has hours below 0 or a flux that is not above 0"));
    }
    if tested_h < SHORTEST_H {
        return Err(format!("{place} ends at {tested_h} h; a projection needs at least {SHORTEST_H} h"));
    }
    if test.units < FEWEST_UNITS {
        return Err(format!("{place} has {} units; a projection needs at least {FEWEST_UNITS}", test.units));
    }
    let begin = first_used(&test.relative_flux, tested_h);
    let readings = &test.relative_flux[begin..];
    if readings.len() < 3 {
        return Err(format!(
            "{place} has {} readings in the part to be fitted; 3 are needed",
            readings.len()
        ));
    }
    let first = test.relative_flux.first().filter(|(hours, _)| *hours == 0.0).map_or(1.0, |(_, flux)| *flux);
    let (slope, level) = straight(readings.iter().map(|(hours, flux)| (*hours, (flux / first).ln())));
    Ok(Decay {
        rate_per_h: -slope,
        initial: level.exp(),
        tested_h,
        limit_h: if test.units >= 20 { 6.0 } else { 5.5 } * tested_h,
        used_from_h: readings[0].0,
        used: readings.len(),
    })
}

/// Where the part to be fitted begins: the last 5000 h of up to 10 000 h, the last half of longer tests.
fn first_used(readings: &[(f64, f64)], tested_h: f64) -> usize {
    let from = if tested_h <= 10_000.0 { tested_h - 5000.0 } else { tested_h / 2.0 };
    let at = readings.partition_point(|(hours, _)| *hours < from - 1e-6 * tested_h);
    let met = readings.get(at).is_some_and(|(hours, _)| *hours <= from + 1e-6 * tested_h);
    // Of a longer test the reading before its middle counts where there is none at the middle.
    if tested_h > 10_000.0 && !met { at.saturating_sub(1) } else { at }
}

/// Slope and level at 0 of the straight line through points by least squares.
fn straight(points: impl Iterator<Item = (f64, f64)> + Clone) -> (f64, f64) {
    let count = points.clone().count() as f64;
    let middle = points.clone().map(|(x, _)| x).sum::<f64>() / count;
    let mean = points.clone().map(|(_, y)| y).sum::<f64>() / count;
    let (mut across, mut along) = (0.0, 0.0);
    for (x, y) in points {
        across += (x - middle) * (y - mean);
        along += (x - middle) * (x - middle);
    }
    let slope = across / along;
    (slope, mean - slope * middle)
}

impl Decay {
    /// Time to `part` (0..1) of the first flux.
    #[must_use]
    pub fn life(&self, part: f64) -> Life {
        let calculated_h =
            (self.rate_per_h > 0.0).then(|| ((self.initial / part).ln() / self.rate_per_h).max(0.0));
        let beyond_limit = calculated_h.is_none_or(|hours| hours > self.limit_h);
        let reported_h = three_digits(calculated_h.map_or(self.limit_h, |hours| hours.min(self.limit_h)));
        Life { part, calculated_h, reported_h, beyond_limit, tested_h: self.tested_h }
    }
}

/// The decay at a case temperature (degC) and drive current (A) from a maker's tests.
///
/// # Errors
/// Why none can be told: no tests, hotter than any, more current than any, or a test that cannot be projected.
pub fn maintenance(tests: &[AgeingTest], case_c: f64, current_a: f64) -> Result<Maintenance, String> {
    let mut remarks = Vec::new();
    let tested_current_a = tested_current(tests, current_a, &mut remarks)?;
    let same = |test: &&AgeingTest| (test.current_a / tested_current_a - 1.0).abs() < SAME;
    let mut set: Vec<&AgeingTest> = tests.iter().filter(same).collect();
    set.sort_by(|a, b| a.case_c.total_cmp(&b.case_c));
    let Some(above) = set.iter().position(|test| test.case_c > case_c - SAME) else {
        let hottest = set.last().map_or(f64::NAN, |test| test.case_c);
        return Err(format!(
            "a case of {case_c:.1} degC is hotter than the hottest test at {tested_current_a} A ({hottest} degC); light is not \
             projected beyond what was tested"
        ));
    };
    let upper = set[above];
    let of = |decay, tested_case_c, activation_ev, remarks| {
        Ok(Maintenance { decay, tested_current_a, tested_case_c, activation_ev, remarks })
    };
    if above == 0 || upper.case_c < case_c + SAME {
        if upper.case_c > case_c + SAME {
            remarks.push(format!(
                "a case of {case_c:.1} degC is cooler than any test: the one at {} degC is taken, which is on the safe side",
                upper.case_c
            ));
        }
        return of(decay(upper)?, vec![upper.case_c], None, remarks);
    }
    let lower = set[above - 1];
    let (cool, hot) = (decay(lower)?, decay(upper)?);
    let limit_h = cool.limit_h.min(hot.limit_h);
    let tested_h = cool.tested_h.min(hot.tested_h);
    let cases = vec![lower.case_c, upper.case_c];
    if cool.rate_per_h <= 0.0 || hot.rate_per_h <= cool.rate_per_h {
        remarks.push(format!(
            "light does not fade faster at {} degC than at {} degC as Arrhenius' law has it: the faster of the two is taken",
            upper.case_c, lower.case_c
        ));
        let faster = if hot.rate_per_h > cool.rate_per_h { hot } else { cool };
        return of(Decay { limit_h, tested_h, ..faster }, cases, None, remarks);
    }
    let [t1, t2, t] = [lower.case_c, upper.case_c, case_c].map(|celsius| celsius + ZERO_C);
    let activation_k = (cool.rate_per_h / hot.rate_per_h).ln() / (1.0 / t2 - 1.0 / t1);
    let rate_per_h = cool.rate_per_h * (activation_k * (1.0 / t1 - 1.0 / t)).exp();
    let between = Decay {
        rate_per_h,
        initial: (cool.initial * hot.initial).sqrt(),
        tested_h,
        limit_h,
        used_from_h: cool.used_from_h.min(hot.used_from_h),
        used: cool.used.min(hot.used),
    };
    of(between, cases, Some(activation_k * EV_PER_K), remarks)
}

/// The tested current to take: the next one not below the drive current.
fn tested_current(tests: &[AgeingTest], current_a: f64, remarks: &mut Vec<String>) -> Result<f64, String> {
    if tests.is_empty() {
        return Err("the emitter sheet has no ageing test: add its maker's as [[lumen_maintenance]]".into());
    }
    let currents = || tests.iter().map(|test| test.current_a);
    let enough =
        currents().filter(|tested| *tested >= current_a * (1.0 - SAME)).fold(f64::INFINITY, f64::min);
    if enough.is_infinite() {
        let most = currents().fold(0.0, f64::max);
        return Err(format!(
            "{current_a} A is more than any current tested ({most} A); light is not projected beyond what was tested"
        ));
    }
    if enough > current_a * (1.0 + SAME) {
        remarks.push(format!(
            "{current_a} A was not tested: the test at {enough} A is taken, which is on the safe side"
        ));
    }
    Ok(enough)
}

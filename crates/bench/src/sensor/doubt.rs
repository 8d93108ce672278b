//! How well a sensor and its logger can tell a temperature, and what spoils it.
//!
//! Standard uncertainties are combined after the Guide to the expression of uncertainty in measurement (JCGM 100:2008): a limit
//! of error a stands for a rectangular distribution, `u = a / sqrt(3)`; a step q of the converter for `u = q / sqrt(12)`; all are
//! turned into kelvin by the law's slope at the temperature asked and added in squares (4.3.7, 5.1.2). The 95 % interval takes
//! twice the sum.

use lamp::sensor_law::{Accuracy, Divider, Logger, SensorLaw};

use super::{NoReading, accuracy, output, sensitivity_per_k};

/// A sensor in its circuit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SetUp {
    /// Law of the sensor.
    pub law: SensorLaw,
    /// Its limits of error.
    pub accuracy: Option<Accuracy>,
    /// What reads it.
    pub logger: Option<Logger>,
    /// Limit of error of the cold junction's temperature, K, for a thermocouple.
    pub cold_junction_limit_k: f64,
    /// Current through a resistor sensor read without a divider, A.
    pub sensing_current_a: Option<f64>,
    /// Heat that warms the sensor by 1 K above its place, W/K.
    pub dissipation_w_per_k: Option<f64>,
    /// Difference of temperature that shall be told apart, K.
    pub resolve_k: f64,
}

/// A part of the doubt.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// Where it comes from, in words.
    pub from: &'static str,
    /// Standard uncertainty, K.
    pub standard_k: f64,
    /// Whether it is the same for all readings, so that it drops out of a difference of two temperatures near each other.
    pub common: bool,
}

/// How well a temperature can be told.
#[derive(Debug, Clone, PartialEq)]
pub struct Doubt {
    /// Temperature asked, degC.
    pub temperature_c: f64,
    /// Output there, in the law's unit.
    pub output: f64,
    /// One step of the converter, K.
    pub step_k: Option<f64>,
    /// Temperatures at the ends of the converter's range, degC, where the sensor can put them out.
    pub range_c: Option<[f64; 2]>,
    /// By how much the sensing current warms the sensor above its place, K.
    pub self_heating_k: Option<f64>,
    /// Parts of the doubt.
    pub parts: Vec<Part>,
    /// What spoils the reading, in sentences with what to do.
    pub warnings: Vec<String>,
}

impl Doubt {
    /// Combined standard uncertainty of one sample, K.
    #[must_use]
    pub fn standard_k(&self) -> f64 {
        self.parts.iter().map(|part| part.standard_k.powi(2)).sum::<f64>().sqrt()
    }

    /// Half width of the 95 % interval of one sample, K.
    #[must_use]
    pub fn expanded_k(&self) -> f64 {
        2.0 * self.standard_k()
    }

    /// Standard uncertainty of what differs from sample to sample, K.
    #[must_use]
    pub fn scatter_k(&self) -> f64 {
        self.parts.iter().filter(|part| !part.common).map(|part| part.standard_k.powi(2)).sum::<f64>().sqrt()
    }
}

/// What one step of a converter is, in V.
#[must_use]
pub fn step_v(logger: &Logger) -> f64 {
    (logger.high_v - logger.low_v) / 2f64.powf(logger.bits)
}

fn divider_of(law: SensorLaw) -> Option<Divider> {
    match law {
        SensorLaw::Thermistor { divider, .. } | SensorLaw::Platinum { divider, .. } => divider,
        _ => None,
    }
}

/// How well this set-up can tell `temperature_c` (degC).
///
/// # Errors
/// Where the law gives no output there.
pub fn doubt(setup: &SetUp, temperature_c: f64, cold_junction_c: Option<f64>) -> Result<Doubt, NoReading> {
    let law = setup.law;
    let at = output(law, temperature_c, cold_junction_c)?;
    let slope = sensitivity_per_k(law, temperature_c, cold_junction_c)?.abs();
    if slope == 0.0 {
        return Err(NoReading::Flat);
    }
    let mut found = Doubt {
        temperature_c,
        output: at,
        step_k: None,
        range_c: None,
        self_heating_k: None,
        parts: Vec::new(),
        warnings: Vec::new(),
    };
    accuracy_part(setup, &mut found);
    if let Some(divider) = divider_of(law) {
        divider_parts(setup, divider, slope, &mut found)?;
    }
    if let (Some(logger), true) = (&setup.logger, super::output_unit(law) == super::OutputUnit::Volt) {
        logger_parts(setup, logger, slope, cold_junction_c, &mut found);
    }
    cold_junction_part(setup, slope, cold_junction_c, &mut found)?;
    if let SensorLaw::Platinum { lead_ohm, divider: None, .. } = law
        && lead_ohm > 0.0
    {
        found.warnings.push(format!(
            "the two wires add {lead_ohm} ohm, which is taken off as {:.2} K; their own warming and the plugs do not come \
             off: use four wires where {:.2} K matter",
            lead_ohm / slope,
            0.1 * lead_ohm / slope
        ));
        found.parts.push(Part {
            from: "the two wires",
            standard_k: 0.1 * lead_ohm / slope / 3f64.sqrt(),
            common: true,
        });
    }
    self_heating(setup, &mut found);
    Ok(found)
}

fn accuracy_part(setup: &SetUp, found: &mut Doubt) {
    let Some(stated) = setup.accuracy else { return };
    match accuracy::limit_k(stated, setup.law, found.temperature_c) {
        Some(limit) => {
            found.parts.push(Part { from: "the sensor's class", standard_k: limit / 3f64.sqrt(), common: true });
        }
        None => found.warnings.push(format!(
            "the sensor's class says nothing of {:.0} degC, so its own error is not in the doubt; take a class that covers it",
            found.temperature_c
        )),
    }
}

fn divider_parts(setup: &SetUp, divider: Divider, slope: f64, found: &mut Doubt) -> Result<(), NoReading> {
    let shift = |changed: Divider| -> Result<f64, NoReading> {
        let law = match setup.law {
            SensorLaw::Thermistor { curve, .. } => SensorLaw::Thermistor { curve, divider: Some(changed) },
            SensorLaw::Platinum { at_0_degc_ohm, lead_ohm, .. } => {
                SensorLaw::Platinum { at_0_degc_ohm, lead_ohm, divider: Some(changed) }
            }
            other => other,
        };
        Ok((output(law, found.temperature_c, None)? - found.output).abs() / slope)
    };
    // The effect of a small change is scaled up, so that a large tolerance stays a linear part as the Guide has it.
    const SMALL: f64 = 1e-4;
    let fixed = shift(Divider { fixed_ohm: divider.fixed_ohm * (1.0 + SMALL), ..divider })? / SMALL;
    let supply = shift(Divider { supply_v: divider.supply_v * (1.0 + SMALL), ..divider })? / SMALL;
    let part = |from, limit: f64| Part { from, standard_k: limit / 3f64.sqrt(), common: true };
    found.parts.push(part("the fixed resistor", fixed * divider.fixed_tolerance));
    if setup.logger.is_none_or(|logger| !logger.ratiometric) {
        let limit = supply * divider.supply_tolerance;
        found.parts.push(part("the divider's supply", limit));
        if limit > setup.resolve_k {
            found.warnings.push(format!(
                "the divider's supply may be off by {:.1} %, which is {limit:.1} K at {:.0} degC: take the logger's reference as its \
                 supply (then it cancels) or log the supply",
                100.0 * divider.supply_tolerance,
                found.temperature_c
            ));
        }
    }
    Ok(())
}

fn logger_parts(setup: &SetUp, logger: &Logger, slope: f64, cold_junction_c: Option<f64>, found: &mut Doubt) {
    let step_k = step_v(logger) / slope;
    found.step_k = Some(step_k);
    found.parts.push(Part { from: "the logger's steps", standard_k: step_k / 12f64.sqrt(), common: false });
    let noise_k = logger.noise_v / slope / logger.averaged.max(1.0).sqrt();
    if noise_k > 0.0 {
        found.parts.push(Part { from: "the logger's noise", standard_k: noise_k, common: false });
    }
    if !(logger.ratiometric && divider_of(setup.law).is_some()) {
        let limit_k = found.output.abs() * logger.reference_error / slope;
        let standard_k = limit_k / 3f64.sqrt();
        found.parts.push(Part { from: "the logger's reference", standard_k, common: true });
    }
    if step_k > setup.resolve_k && noise_k < 0.5 * step_k {
        let bits = (logger.bits + (step_k / setup.resolve_k).log2()).ceil();
        found.warnings.push(format!(
            "one step of the logger is {step_k:.2} K at {:.0} degC, and {} K are to be told apart: {bits:.0} bits or a narrower range \
             are needed",
            found.temperature_c, setup.resolve_k
        ));
    } else if noise_k > setup.resolve_k {
        let readings = (noise_k / setup.resolve_k).powi(2) * logger.averaged.max(1.0);
        found.warnings.push(format!(
            "the logger's noise is {noise_k:.2} K at {:.0} degC, and {} K are to be told apart: average {:.0} readings into each sample",
            found.temperature_c,
            setup.resolve_k,
            (readings - 1e-9).ceil()
        ));
    }
    let ends =
        [logger.low_v, logger.high_v].map(|v| super::temperature_of(setup.law, v, cold_junction_c).ok());
    if let [Some(a), Some(b)] = ends {
        found.range_c = Some([a.min(b), a.max(b)]);
    }
    if !(logger.low_v + step_v(logger) <= found.output && found.output <= logger.high_v - step_v(logger)) {
        found.warnings.push(format!(
            "at {:.0} degC the sensor puts out {:.4} V and the logger reads {} V to {} V: it saturates; take a wider range",
            found.temperature_c, found.output, logger.low_v, logger.high_v
        ));
    }
}

fn cold_junction_part(
    setup: &SetUp,
    slope: f64,
    cold_junction_c: Option<f64>,
    found: &mut Doubt,
) -> Result<(), NoReading> {
    let SensorLaw::Thermocouple { cold_junction_c: stated, .. } = setup.law else { return Ok(()) };
    let cold_c = cold_junction_c.or(stated).ok_or(NoReading::NoColdJunction)?;
    // What the cold junction is off counts by the ratio of the two slopes of the reference function.
    let there = sensitivity_per_k(setup.law, cold_c, Some(cold_c))?.abs();
    let standard_k = setup.cold_junction_limit_k * there / slope / 3f64.sqrt();
    found.parts.push(Part { from: "the cold junction", standard_k, common: true });
    if cold_junction_c.is_none() {
        found.warnings.push(format!(
            "the cold junction is taken as {cold_c} degC throughout: every kelvin the room differs or drifts is about a kelvin of \
             error; log its temperature in a column of its own"
        ));
    }
    Ok(())
}

fn self_heating(setup: &SetUp, found: &mut Doubt) {
    let (power_w, what_to_do) = match (setup.law, setup.sensing_current_a) {
        (
            SensorLaw::Thermistor { divider: Some(divider), .. }
            | SensorLaw::Platinum { divider: Some(divider), .. },
            _,
        ) => {
            let across = match divider.side {
                lamp::sensor_law::DividerSide::Ground => found.output,
                lamp::sensor_law::DividerSide::Supply => divider.supply_v - found.output,
            };
            (
                across * (divider.supply_v - across) / divider.fixed_ohm,
                "a larger fixed resistor or a lower supply",
            )
        }
        (SensorLaw::Thermistor { .. } | SensorLaw::Platinum { .. }, Some(current_a)) => (
            current_a * current_a * found.output,
            "a smaller sensing current, or one switched on for the reading only",
        ),
        _ => return,
    };
    let Some(dissipation) = setup.dissipation_w_per_k.filter(|d| *d > 0.0) else { return };
    let warming_k = power_w / dissipation;
    found.self_heating_k = Some(warming_k);
    if warming_k > 0.5 * setup.resolve_k {
        found.warnings.push(format!(
            "its own current warms the sensor by {warming_k:.2} K ({:.2} mW), and {} K are to be told apart: {what_to_do} helps",
            1e3 * power_w,
            setup.resolve_k
        ));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use lamp::sensor_law::{AccuracyClass, DividerSide, ThermistorCurve, ThermocoupleType};

    const LINEAR: SensorLaw = SensorLaw::LinearOutput { at_0_degc_v: 0.5, slope_v_per_k: 0.01 };
    const LOGGER: Logger = Logger {
        bits: 12.0,
        low_v: 0.0,
        high_v: 3.3,
        reference_error: 0.002,
        noise_v: 0.0,
        averaged: 1.0,
        ratiometric: false,
    };

    fn set_up(law: SensorLaw, logger: Option<Logger>) -> SetUp {
        SetUp {
            law,
            accuracy: None,
            logger,
            cold_junction_limit_k: 0.5,
            sensing_current_a: None,
            dissipation_w_per_k: None,
            resolve_k: 0.1,
        }
    }

    /// Source: definition, 3.3 V / 4096 over 10 mV/K = 0.08056640625 K; the sum by hand after JCGM 100:2008.
    #[test]
    fn a_step_is_a_part_of_the_range() {
        let setup = SetUp {
            accuracy: Some(Accuracy::Stated { fixed_k: 1.0, per_k: 0.0 }),
            ..set_up(LINEAR, Some(LOGGER))
        };
        let found = doubt(&setup, 60.0, None).unwrap();
        assert!((found.step_k.unwrap() - 0.080_566_406_25).abs() < 1e-9);
        // 1.1 V with 0.2 % is 0.22 K; (1/3 + 0.22^2/3 + 0.0806^2/12)^(1/2)
        let by_hand = (1.0 / 3.0 + 0.22f64.powi(2) / 3.0 + 0.080_566_4f64.powi(2) / 12.0).sqrt();
        assert!((found.standard_k() - by_hand).abs() < 1e-6, "{}", found.standard_k());
        assert!((found.scatter_k() - 0.080_566_4 / 12f64.sqrt()).abs() < 1e-6);
        let [low, high] = found.range_c.unwrap();
        assert!((low + 50.0).abs() < 1e-9 && (high - 280.0).abs() < 1e-9);
        assert!(found.warnings.is_empty(), "{:?}", found.warnings);
    }

    #[test]
    fn coarse_steps_noise_and_saturation_are_told() {
        let coarse = doubt(&set_up(LINEAR, Some(Logger { bits: 8.0, ..LOGGER })), 60.0, None).unwrap();
        assert!(
            coarse.warnings[0].contains("1.29 K") && coarse.warnings[0].contains("12 bits"),
            "{:?}",
            coarse.warnings
        );
        let noisy = doubt(&set_up(LINEAR, Some(Logger { noise_v: 0.004, ..LOGGER })), 60.0, None).unwrap();
        assert!(
            noisy.warnings[0].contains("0.40 K") && noisy.warnings[0].contains("16 readings"),
            "{:?}",
            noisy.warnings
        );
        let short = doubt(&set_up(LINEAR, Some(Logger { high_v: 1.0, ..LOGGER })), 60.0, None).unwrap();
        assert!(short.warnings.iter().any(|w| w.contains("saturates")), "{:?}", short.warnings);
    }

    /// Source: by hand; at R = Rf the divider moves by V/4 for each part of R, and R by -B/T^2 a kelvin.
    #[test]
    fn a_divider_has_the_doubt_of_its_resistor_and_supply() {
        let divider = Divider {
            fixed_ohm: 10e3,
            fixed_tolerance: 0.01,
            supply_v: 3.3,
            supply_tolerance: 0.05,
            side: DividerSide::Ground,
        };
        let curve = ThermistorCurve::Beta { at_25_degc_ohm: 10e3, beta_k: 3950.0 };
        let law = SensorLaw::Thermistor { curve, divider: Some(divider) };
        let setup = SetUp { dissipation_w_per_k: Some(2e-3), ..set_up(law, None) };
        let found = doubt(&setup, 25.0, None).unwrap();
        let per_k = 3950.0 / 298.15f64.powi(2);
        let part = |from| found.parts.iter().find(|part| part.from == from).unwrap().standard_k * 3f64.sqrt();
        assert!((part("the fixed resistor") - 0.01 / per_k).abs() < 1e-4);
        // The reading is half the supply: 5 % of 1.65 V over 3.3 V/4 times the slope.
        assert!((part("the divider's supply") - 0.05 * 2.0 / per_k).abs() < 1e-4);
        assert!(found.warnings[0].contains("cancels"), "{:?}", found.warnings);
        // 1.65 V squared over 10 kohm is 0.27 mW, over 2 mW/K 0.136 K.
        assert!((found.self_heating_k.unwrap() - 1.65 * 1.65 / 10e3 / 2e-3).abs() < 1e-9);
        assert!(
            found.warnings.iter().any(|w| w.contains("warms the sensor by 0.14 K")),
            "{:?}",
            found.warnings
        );
        let same =
            doubt(&SetUp { logger: Some(Logger { ratiometric: true, ..LOGGER }), ..setup }, 25.0, None)
                .unwrap();
        assert!(
            same.parts.iter().all(|part| !part.from.contains("supply") && !part.from.contains("reference"))
        );
    }

    #[test]
    fn a_thermocouple_has_its_cold_junctions_doubt() {
        let law = SensorLaw::Thermocouple { kind: ThermocoupleType::K, cold_junction_c: Some(24.0) };
        let setup =
            SetUp { accuracy: Some(Accuracy::Class(AccuracyClass::Thermocouple1)), ..set_up(law, None) };
        let found = doubt(&setup, 80.0, None).unwrap();
        let cold = found.parts.iter().find(|part| part.from == "the cold junction").unwrap();
        // Slopes of type K near 24 and 80 degC: 40.5 and 41.3 uV/K (NIST tables, differences, from memory).
        assert!((cold.standard_k * 3f64.sqrt() - 0.5 * 40.5 / 41.3).abs() < 0.005, "{cold:?}");
        assert!(found.warnings[0].contains("log its temperature"), "{:?}", found.warnings);
        assert!(doubt(&setup, 80.0, Some(23.0)).unwrap().warnings.is_empty());
    }

    #[test]
    fn leads_and_classes_that_do_not_reach_are_told() {
        let law = SensorLaw::Platinum { at_0_degc_ohm: 100.0, lead_ohm: 0.4, divider: None };
        let setup = SetUp {
            accuracy: Some(Accuracy::Class(AccuracyClass::PlatinumAa)),
            sensing_current_a: Some(5e-3),
            dissipation_w_per_k: Some(4e-3),
            ..set_up(law, None)
        };
        let found = doubt(&setup, 300.0, None).unwrap();
        assert!(found.warnings[0].contains("300 degC"), "{:?}", found.warnings);
        assert!(found.warnings[1].contains("four wires"), "{:?}", found.warnings);
        assert!(found.warnings[2].contains("smaller sensing current"), "{:?}", found.warnings);
    }
}

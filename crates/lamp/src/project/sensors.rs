//! Board sensors and what reads them.

use super::document::Section;
use super::variant;
use crate::as_built::{Sensor, SitsOn, Variant};
use crate::sensor_law::{
    Accuracy, AccuracyClass, Divider, DividerSide, Logger, SensorLaw, ThermistorCurve, ThermocoupleType,
};

/// Keys that belong to some kinds only, and those kinds.
const BELONGS: &[(&str, &[&str])] = &[
    ("at_0_degC", &["linear output"]),
    ("slope", &["linear output", "forward voltage"]),
    ("resistance_at_25_degC", &["NTC"]),
    ("beta", &["NTC"]),
    ("steinhart_hart", &["NTC"]),
    ("series_resistor", &["NTC", "Pt100", "Pt1000"]),
    ("supply", &["NTC", "Pt100", "Pt1000"]),
    ("lead_resistance", &["Pt100", "Pt1000"]),
    ("pair", &["thermocouple"]),
    ("cold_junction", &["thermocouple"]),
    ("cold_voltage", &["forward voltage"]),
    ("cold_temperature", &["forward voltage"]),
];

pub(super) fn sensor(section: &Section<'_>, places: Option<&variant::Places>) -> Option<Sensor> {
    let name = section.text_or_default("name");
    let on = if section.choice_or_default("on") == "heatsink" { SitsOn::Heatsink } else { SitsOn::Board };
    if on == SitsOn::Heatsink && section.has("ref") {
        section.error("ref", "a part of the board does not sit on the heatsink; give \"at\" instead, such as at = [\"5 mm\", \"5 mm\"]");
    }
    let at = match (section.pair("at"), section.text("ref")) {
        (Some([x, y]), None) => Some(artwork::shape::Point::rounded(x * 1e9, y * 1e9)),
        (None, Some(reference)) => {
            let found = places.and_then(|places| places.get(&reference)).map(|place| place.at);
            if found.is_none() && places.is_some() {
                section.error(
                    "ref",
                    format!("{reference} is not in the centroid file of the variants; give \"at\" instead"),
                );
            }
            found
        }
        (Some(_), Some(_)) => {
            section.error("ref", "give either \"at\" or \"ref\" for a sensor, not both");
            None
        }
        (None, None) => {
            if !section.has("at") && !section.has("ref") {
                section.document.error(
                    section.at,
                    "the sensor needs \"at\", such as at = [\"36 mm\", \"24 mm\"], or \"ref\"",
                );
            }
            None
        }
    };
    let kind = section.choice_or_default("kind");
    for (key, kinds) in BELONGS {
        if section.has(key) && !kinds.contains(&kind) {
            section.error(
                key,
                format!(
                    "\"{key}\" says nothing of a sensor of kind \"{kind}\"; it belongs to {}",
                    kinds.join(", ")
                ),
            );
        }
    }
    let law = law(section, kind);
    Some(Sensor {
        name,
        on,
        at: at?,
        law,
        accuracy: accuracy(section, kind),
        cold_junction_limit_k: section.value_or_default("cold_junction_error"),
        sensing_current_a: section.value("sensing_current"),
        dissipation_w_per_k: section.value("dissipation"),
        resolve_k: section.value_or_default("resolve"),
    })
}

/// Says which sensors lie where no variant has anything to sit on.
pub(super) fn check_places(sections: &[Section<'_>], sensors: &[Option<Sensor>], variants: &[Variant]) {
    for (section, sensor) in sections.iter().zip(sensors) {
        let Some(Sensor { name, on, at, .. }) = sensor else { continue };
        let has = |variant: &Variant| match on {
            SitsOn::Board => variant.outline.contains(*at),
            SitsOn::Heatsink => variant.heatsink.as_ref().is_some_and(|sink| sink.base.contains(*at)),
        };
        if !variants.is_empty() && !variants.iter().any(has) {
            let (x, y) = (1e-6 * f64::from(at.x_nm), 1e-6 * f64::from(at.y_nm));
            let what = match on {
                SitsOn::Board => "board",
                SitsOn::Heatsink => "heatsink base",
            };
            section.warn(
                "at",
                format!("{name} at {x:.2}, {y:.2} mm is on no variant's {what}, so nothing is predicted for it; places are those of the artwork"),
            );
        }
    }
}

fn law(section: &Section<'_>, kind: &str) -> Option<SensorLaw> {
    match kind {
        "NTC" => thermistor(section),
        "Pt100" => platinum(section, 100.0),
        "Pt1000" => platinum(section, 1000.0),
        "thermocouple" => thermocouple(section),
        "forward voltage" => forward_voltage(section),
        "degC" => Some(SensorLaw::DegreesCelsius),
        _ => linear_output(section),
    }
}

/// Says what a sensor needs, unless a value that could not be read has been told already.
fn needs(section: &Section<'_>, keys: &[&str], text: &str) {
    if keys.iter().any(|key| !section.has(key)) {
        section.document.error(section.at, text);
    }
}

fn linear_output(section: &Section<'_>) -> Option<SensorLaw> {
    match (section.value("at_0_degC"), section.value("slope")) {
        (Some(at_0_degc_v), Some(slope_v_per_k)) if slope_v_per_k != 0.0 => {
            Some(SensorLaw::LinearOutput { at_0_degc_v, slope_v_per_k })
        }
        (None, None) => None,
        _ => {
            section.document.error(
                section.at,
                "a linear output needs \"at_0_degC\" and a \"slope\" other than 0, such as \"500 mV\" and \"10 mV/K\"",
            );
            None
        }
    }
}

fn thermistor(section: &Section<'_>) -> Option<SensorLaw> {
    let divider = divider(section);
    let by_beta = (section.value("resistance_at_25_degC"), section.value("beta"));
    let by_constants = section.values("steinhart_hart");
    let curve = match (by_beta, by_constants.as_deref()) {
        ((Some(at_25_degc_ohm), Some(beta_k)), None) => ThermistorCurve::Beta { at_25_degc_ohm, beta_k },
        ((None, None), Some(&[a, b, c])) if b > 0.0 && c >= 0.0 => ThermistorCurve::SteinhartHart { a, b, c },
        ((None, None), Some(_)) => {
            section.error(
                "steinhart_hart",
                "steinhart_hart takes a, b and c in this order, b above 0 and c not below, R in ohm and T in K, such as \
                 [1.104e-3, 2.389e-4, 6.93e-8]",
            );
            return None;
        }
        _ => {
            section.document.error(
                section.at,
                "an NTC needs either \"resistance_at_25_degC\" and \"beta\", such as \"10 kohm\" and \"3950 K\", or \
                 \"steinhart_hart\" alone",
            );
            return None;
        }
    };
    Some(SensorLaw::Thermistor { curve, divider: divider.ok()? })
}

fn platinum(section: &Section<'_>, at_0_degc_ohm: f64) -> Option<SensorLaw> {
    let lead_ohm = section.value_or_default("lead_resistance");
    Some(SensorLaw::Platinum { at_0_degc_ohm, lead_ohm, divider: divider(section).ok()? })
}

/// The divider, where there is one; an error when it was begun and not finished.
fn divider(section: &Section<'_>) -> Result<Option<Divider>, ()> {
    let (fixed, supply) = (section.value("series_resistor"), section.value("supply"));
    let fixed_tolerance = section.value_or_default("series_resistor_tolerance");
    let supply_tolerance = section.value_or_default("supply_tolerance");
    let side = if section.choice_or_default("sits_at") == "supply" {
        DividerSide::Supply
    } else {
        DividerSide::Ground
    };
    match (fixed, supply) {
        (Some(fixed_ohm), Some(supply_v)) => {
            Ok(Some(Divider { fixed_ohm, fixed_tolerance, supply_v, supply_tolerance, side }))
        }
        (None, None) if !section.has("series_resistor") && !section.has("supply") => Ok(None),
        _ => {
            needs(
                section,
                &["series_resistor", "supply"],
                "a divider needs \"series_resistor\" and \"supply\", such as \"10 kohm\" and \"3.3 V\"",
            );
            Err(())
        }
    }
}

fn thermocouple(section: &Section<'_>) -> Option<SensorLaw> {
    let cold_junction_c = section.value("cold_junction");
    let kind = match section.choice("pair") {
        Some("T") => ThermocoupleType::T,
        Some("J") => ThermocoupleType::J,
        Some("N") => ThermocoupleType::N,
        Some(_) => ThermocoupleType::K,
        None => {
            needs(section, &["pair"], "a thermocouple needs its \"pair\": \"K\", \"T\", \"J\" or \"N\"");
            return None;
        }
    };
    Some(SensorLaw::Thermocouple { kind, cold_junction_c })
}

fn forward_voltage(section: &Section<'_>) -> Option<SensorLaw> {
    let (v, c, slope) =
        (section.value("cold_voltage"), section.value("cold_temperature"), section.value("slope"));
    match (v, c, slope) {
        (Some(reference_v), Some(reference_c), Some(slope_v_per_k)) if slope_v_per_k != 0.0 => {
            Some(SensorLaw::ForwardVoltage { reference_c, reference_v, slope_v_per_k })
        }
        _ => {
            let text = "a forward voltage needs \"cold_voltage\", \"cold_temperature\" and a \"slope\" other than 0, such as \
                        \"2.61 V\", \"22 degC\" and \"-1.6 mV/K\"";
            if slope == Some(0.0) {
                section.document.error(section.at, text);
            } else {
                needs(section, &["cold_voltage", "cold_temperature", "slope"], text);
            }
            None
        }
    }
}

fn accuracy(section: &Section<'_>, kind: &str) -> Option<Accuracy> {
    let stated = section.value("error");
    let per_k = section.value_or_default("error_per_degC");
    let class = match section.choice("class") {
        Some("AA") => AccuracyClass::PlatinumAa,
        Some("A") => AccuracyClass::PlatinumA,
        Some("B") => AccuracyClass::PlatinumB,
        Some("C") => AccuracyClass::PlatinumC,
        Some("1") => AccuracyClass::Thermocouple1,
        Some("3") => AccuracyClass::Thermocouple3,
        Some(_) => AccuracyClass::Thermocouple2,
        None => return stated.map(|fixed_k| Accuracy::Stated { fixed_k, per_k }),
    };
    let of_pair = matches!(
        class,
        AccuracyClass::Thermocouple1 | AccuracyClass::Thermocouple2 | AccuracyClass::Thermocouple3
    );
    if class == AccuracyClass::Thermocouple3 && section.choice("pair") == Some("J") {
        section.error(
            "class",
            "there is no class 3 of type J; 1 and 2 are allowed, or an \"error\" of your own",
        );
        return None;
    }
    let fits = if of_pair { kind == "thermocouple" } else { kind.starts_with("Pt") };
    if !fits {
        section.error(
            "class",
            "classes AA, A, B, C are those of Pt100 and Pt1000, 1, 2 and 3 those of thermocouples; state \"error\" for other sensors",
        );
        return None;
    }
    if stated.is_some() {
        section.error("error", "give either \"class\" or \"error\" for a sensor, not both");
    }
    Some(Accuracy::Class(class))
}

/// What reads the sensors.
pub(super) fn logger(section: &Section<'_>) -> Option<Logger> {
    let (bits, range) = (section.value("bits"), section.pair("range"));
    let logger = |bits, [low_v, high_v]: [f64; 2]| Logger {
        bits,
        low_v,
        high_v,
        reference_error: section.value_or_default("reference_error"),
        noise_v: section.value_or_default("noise"),
        averaged: section.value_or_default("averaged"),
        ratiometric: section.choice_or_default("reference") == "sensor supply",
    };
    if range.is_some_and(|[low, high]| low >= high) {
        section.error(
            "range",
            "the logger's range goes from its lowest to its highest voltage, such as [\"0 V\", \"3.3 V\"]",
        );
        return None;
    }
    Some(logger(bits?, range?))
}

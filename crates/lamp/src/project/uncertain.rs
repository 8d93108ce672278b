//! Values that are not known exactly, as lamp.toml states them.

use super::document::Section;
use crate::uncertain::{Departs, Stated, Value};

/// A table [[uncertain]].
pub(super) fn stated(section: &Section<'_>) -> Option<Stated> {
    let value = section.choice("value").and_then(Value::named)?;
    let (key, other) = match value.departs() {
        Departs::ByFactor => ("tolerance", "offset"),
        Departs::ByKelvin => ("offset", "tolerance"),
    };
    if section.has(other) {
        section.error(other, format!("{} takes {key:?}, not {other:?}", value.name()));
    }
    if !section.has(key) {
        section
            .document
            .error(section.at, format!("{} needs {key:?}, such as {}", value.name(), example(key)));
    }
    let by_variant = section.choice("each").map(|each| each == "variant");
    Some(Stated { value, tolerance: section.value(key)?, by_variant })
}

fn example(key: &str) -> &'static str {
    if key == "offset" { "offset = \"0.5 K\"" } else { "tolerance = 0.2" }
}

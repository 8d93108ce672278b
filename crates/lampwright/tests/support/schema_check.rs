//! Holds a JSON value against one of the project's schemas: the forms they use, and no others.

use serde_json::Value;

const KNOWN: [&str; 15] = [
    "$schema",
    "title",
    "description",
    "type",
    "properties",
    "required",
    "additionalProperties",
    "items",
    "enum",
    "minItems",
    "maxItems",
    "minimum",
    "$ref",
    "$defs",
    "anyOf",
];

/// Everything that is wrong, each with its place; `others` are schemas that may be referred to by file name.
pub fn faults(value: &Value, schema: &Value, others: &[(&str, Value)]) -> Vec<String> {
    let mut found = Vec::new();
    hold(value, schema, others, "$", &mut found);
    found
}

fn hold(value: &Value, schema: &Value, others: &[(&str, Value)], place: &str, found: &mut Vec<String>) {
    let mut fault = |text: String| found.push(format!("{place}: {text}"));
    for key in schema.as_object().into_iter().flat_map(|object| object.keys()) {
        if !KNOWN.contains(&key.as_str()) {
            fault(format!("the schema uses {key}, which this check does not know"));
        }
    }
    if let Some(name) = schema.get("$ref").and_then(Value::as_str) {
        let Some((_, other)) = others.iter().find(|(known, _)| *known == name) else {
            return fault(format!("refers to {name}, which is not at hand"));
        };
        return hold(value, other, others, place, found);
    }
    if let Some(ways) = schema.get("anyOf").and_then(Value::as_array)
        && ways.iter().all(|way| !faults(value, way, others).is_empty())
    {
        fault(format!(
            "is none of the forms allowed: {:?}",
            ways.first().map(|way| faults(value, way, others))
        ));
    }
    if let Some(kind) = schema.get("type") {
        let kinds: Vec<&str> = kind.as_array().map_or_else(
            || kind.as_str().into_iter().collect(),
            |kinds| kinds.iter().filter_map(Value::as_str).collect(),
        );
        if !kinds.iter().any(|kind| is(value, kind)) {
            return fault(format!("{value} is not {kinds:?}"));
        }
    }
    if let Some(words) = schema.get("enum").and_then(Value::as_array)
        && !words.contains(value)
    {
        fault(format!("{value} is none of {words:?}"));
    }
    if let (Some(least), Some(number)) = (schema.get("minimum").and_then(Value::as_f64), value.as_f64())
        && number < least
    {
        fault(format!("{number} is below {least}"));
    }
    match value {
        Value::Object(object) => {
            let properties = schema.get("properties").and_then(Value::as_object);
            for name in schema.get("required").and_then(Value::as_array).into_iter().flatten() {
                let name = name.as_str().unwrap_or_default();
                if !object.contains_key(name) {
                    found.push(format!("{place}: {name} is missing"));
                }
            }
            for (name, inner) in object {
                match properties.and_then(|properties| properties.get(name)) {
                    Some(inner_schema) => {
                        hold(inner, inner_schema, others, &format!("{place}.{name}"), found)
                    }
                    None if schema.get("additionalProperties") == Some(&Value::Bool(false)) => {
                        found.push(format!("{place}: {name} is not in the schema"));
                    }
                    None => {}
                }
            }
        }
        Value::Array(items) => {
            let bound = |key: &str| schema.get(key).and_then(Value::as_u64).map(|bound| bound as usize);
            if bound("minItems").is_some_and(|least| items.len() < least)
                || bound("maxItems").is_some_and(|most| items.len() > most)
            {
                found.push(format!("{place}: {} items", items.len()));
            }
            if let Some(inner) = schema.get("items") {
                for (at, item) in items.iter().enumerate() {
                    hold(item, inner, others, &format!("{place}[{at}]"), found);
                }
            }
        }
        _ => {}
    }
}

fn is(value: &Value, kind: &str) -> bool {
    match kind {
        "object" => value.is_object(),
        "array" => value.is_array(),
        "string" => value.is_string(),
        "number" => value.is_number(),
        "integer" => value.is_u64() || value.is_i64(),
        "boolean" => value.is_boolean(),
        "null" => value.is_null(),
        _ => false,
    }
}

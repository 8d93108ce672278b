//! The few forms that the schemas are built of.

use serde_json::{Map, Value, json};

/// A schema document.
pub fn document(title: &str, body: Value) -> Value {
    let mut out = Map::new();
    out.insert("$schema".to_owned(), json!("https://json-schema.org/draft/2020-12/schema"));
    out.insert("title".to_owned(), json!(title));
    if let Value::Object(body) = body {
        out.extend(body);
    }
    Value::Object(out)
}

/// A key of an object: name, schema, and whether it is always there.
pub struct Key(pub &'static str, pub Value, pub bool);

/// A key that is always there.
pub fn always(name: &'static str, schema: Value) -> Key {
    Key(name, schema, true)
}

/// A key that may be missing.
pub fn sometimes(name: &'static str, schema: Value) -> Key {
    Key(name, schema, false)
}

/// An object with these keys and no others.
pub fn object(about: &str, keys: Vec<Key>) -> Value {
    let required: Vec<&str> = keys.iter().filter(|key| key.2).map(|key| key.0).collect();
    let required = json!(required);
    let properties: Map<String, Value> = keys.into_iter().map(|key| (key.0.to_owned(), key.1)).collect();
    json!({
        "description": about,
        "type": "object",
        "properties": properties,
        "required": required,
        "additionalProperties": false
    })
}

pub fn number(about: &str) -> Value {
    json!({ "description": about, "type": "number" })
}

/// A number, or null where there is none.
pub fn number_or_null(about: &str) -> Value {
    json!({ "description": about, "type": ["number", "null"] })
}

/// A whole number of 0 or more.
pub fn count(about: &str) -> Value {
    json!({ "description": about, "type": "integer", "minimum": 0 })
}

pub fn text(about: &str) -> Value {
    json!({ "description": about, "type": "string" })
}

pub fn text_or_null(about: &str) -> Value {
    json!({ "description": about, "type": ["string", "null"] })
}

pub fn yes_or_no(about: &str) -> Value {
    json!({ "description": about, "type": "boolean" })
}

/// One of these words.
pub fn word(about: &str, words: &[&str]) -> Value {
    json!({ "description": about, "type": "string", "enum": words })
}

pub fn list(about: &str, items: Value) -> Value {
    json!({ "description": about, "type": "array", "items": items })
}

/// A list of exactly so many numbers.
pub fn numbers(about: &str, how_many: usize) -> Value {
    json!({
        "description": about, "type": "array", "items": { "type": "number" },
        "minItems": how_many, "maxItems": how_many
    })
}

/// As another schema, or null.
pub fn or_null(mut schema: Value) -> Value {
    if let Some(kind) = schema.get("type").cloned() {
        schema["type"] = json!([kind, "null"]);
    }
    schema
}

/// A remark: what was noticed, and where.
pub fn remark() -> Value {
    object(
        "Something that was noticed, and where.",
        vec![
            always("severity", word("How grave it is.", &["note", "warning", "error"])),
            sometimes("file", text("File it is about, inside the lamp folder or as typed.")),
            sometimes("line", count("Line, from 1.")),
            sometimes("column", count("Column, from 1.")),
            always("text", text("What was found, what is allowed, and what was done.")),
        ],
    )
}

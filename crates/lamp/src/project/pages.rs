//! The reference page and the JSON Schema of lamp.toml and the emitter sheets, both from the key table.

use std::fmt::Write as _;

use serde_json::{Map, Value, json};

use super::keys::{Form, Key, LAMP_KEYS, LAMP_TABLES, SHEET_KEYS, SHEET_TABLES};
use super::quantity::Quantity;
use crate::material::TABLE;

/// Which tables may stand where: parent, name, whether it is a list.
pub type Tables = &'static [(&'static str, &'static str, bool)];

/// The reference page in Markdown.
#[must_use]
pub fn keys_page() -> String {
    let mut page = String::from(
        "# Keys of lamp.toml and of emitter sheets\n\nWritten from the program's key table; values are texts with their unit.\n\n# lamp.toml\n",
    );
    tables_page(&mut page, LAMP_KEYS, LAMP_TABLES);
    page.push_str(
        "\n`[drive]`, `[limits]`, `[bond]`, `[screws]`, `[flatness]`, `[heatsink]`, `[fan]`, `[[vent]]`, `[housing]`, `[faces]`, `[[supply]]` and `[[emitters]]` hold for all\n\
         variants. `[bond]`, `[screws]`, `[flatness]`, `[heatsink]`, `[fan]`, `[[vent]]`, `[housing]`, `[faces]`, `[[supply]]` and `[[emitters]]` may be written again as `[variant.NAME.bond]` and so on, and then hold for that variant alone.\n\n# Emitter sheets\n",
    );
    tables_page(&mut page, SHEET_KEYS, SHEET_TABLES);
    page.push_str("\n# Materials table\n\nNames that `material`, `core`, `laminate`, `dielectric` and `via_fill` may use. Conductivities in W/m/K at 25 degC.\n\n");
    page.push_str("| name | in plane | through | tolerance | source |\n| --- | --- | --- | --- | --- |\n");
    for row in TABLE {
        let _ = writeln!(
            page,
            "| {} | {} | {} | {:.0} % | {} |",
            row.name,
            row.k_in_plane_w_per_m_k,
            row.k_through_w_per_m_k,
            100.0 * row.tolerance_fraction,
            row.source
        );
    }
    page
}

/// The tables of a key table in Markdown, a section for each.
pub fn tables_page(page: &mut String, keys: &[Key], tables: Tables) {
    let mut table = "";
    for key in keys {
        if key.table != table {
            table = key.table;
            let _ = write!(
                page,
                "\n## {}\n\n| key | value | default | meaning |\n| --- | --- | --- | --- |\n",
                heading(table, tables)
            );
        }
        let default = match (key.required, key.default) {
            (true, _) => "needed",
            (false, Some(default)) => default,
            (false, None) => "-",
        };
        let _ = writeln!(
            page,
            "| `{}` | {} | {default} | {} |",
            key.name,
            allowed(key.form).replace('|', "\\|"),
            key.meaning
        );
    }
}

/// A table as it is written: in the place that comes first among those it may stand in.
fn heading(table: &str, tables: Tables) -> String {
    let Some((parent, _, list)) = tables.iter().find(|(_, name, _)| *name == table) else {
        return format!("[{table}.NAME]");
    };
    let prefix = match *parent {
        "" => String::new(),
        "variant" | "material" => format!("{parent}.NAME."),
        table => format!("{table}."),
    };
    if *list { format!("[[{prefix}{table}]]") } else { format!("[{prefix}{table}]") }
}

fn allowed(form: Form) -> String {
    let unit = |quantity: Quantity| format!("{}, such as {}", quantity.name(), quantity.example());
    match form {
        Form::Text => "text".to_owned(),
        Form::Texts => "list of texts".to_owned(),
        Form::Choice(words) => words.iter().map(|word| format!("\"{word}\"")).collect::<Vec<_>>().join(", "),
        Form::Value(quantity, ..) => unit(quantity),
        Form::Values(quantity, ..) => format!("list; {}", unit(quantity)),
        Form::Pair(quantity, ..) => format!("[x, y]; {}", unit(quantity)),
        Form::Pairs(quantity, ..) => format!("list of [x, y]; {}", unit(quantity)),
        Form::Curve(first, second) => format!("list of [{}, {}]", first.example(), second.example()),
        Form::Flag => "true or false".to_owned(),
        Form::FaceWord => "\"open\", \"adiabatic\", or such as \"10 W/m2/K\"".to_owned(),
        Form::CopperWords => "\"full\" or \"none\", or by side".to_owned(),
        Form::Roles => "table of file and role".to_owned(),
        Form::Pad => "text, or [x, y]; length, such as \"1.5 mm\"".to_owned(),
    }
}

/// JSON Schema (2020-12) of lamp.toml.
#[must_use]
pub fn lamp_schema() -> Value {
    let mut properties = object(LAMP_KEYS, LAMP_TABLES, "");
    let named = |kind: &'static str| json!({ "type": "object", "additionalProperties": closed(LAMP_KEYS, LAMP_TABLES, kind) });
    properties.insert("variant".to_owned(), named("variant"));
    properties.insert("material".to_owned(), named("material"));
    json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "lamp.toml",
        "description": "Everything about a lamp that is not artwork. Values are texts with their unit.",
        "type": "object",
        "properties": properties,
        "required": ["variant"],
        "additionalProperties": false
    })
}

/// JSON Schema (2020-12) of an emitter sheet.
#[must_use]
pub fn sheet_schema() -> Value {
    json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "emitter sheet",
        "description": "What an emitter's datasheet says. Values are texts with their unit.",
        "type": "object",
        "properties": object(SHEET_KEYS, SHEET_TABLES, ""),
        "required": ["voltage", "flux", "resistance", "limits", "land"],
        "additionalProperties": false
    })
}

fn closed(keys: &[Key], tables: Tables, kind: &str) -> Value {
    let required: Vec<&str> =
        keys.iter().filter(|key| key.table == kind && key.required).map(|key| key.name).collect();
    json!({ "type": "object", "properties": object(keys, tables, kind), "required": required, "additionalProperties": false })
}

/// The keys and tables of a table (`""`: the top level) as the properties of a JSON Schema.
#[must_use]
pub fn object(keys: &[Key], tables: Tables, kind: &str) -> Map<String, Value> {
    let mut properties = Map::new();
    for key in keys.iter().filter(|key| key.table == kind) {
        let mut value = form_schema(key.form);
        if let Value::Object(fields) = &mut value {
            fields.insert("description".to_owned(), json!(key.meaning));
            if let Some(default) = key.default {
                fields.insert("default".to_owned(), json!(default));
            }
        }
        properties.insert(key.name.to_owned(), value);
    }
    for (_, name, list) in tables.iter().filter(|(parent, ..)| *parent == kind) {
        let inner = closed(keys, tables, name);
        let inner = if *list { json!({ "type": "array", "items": inner }) } else { inner };
        // A key of the same name ("none" for a heatsink) or the table.
        let both = match properties.get(*name) {
            Some(word) => json!({ "anyOf": [word, inner] }),
            None => inner,
        };
        properties.insert((*name).to_owned(), both);
    }
    properties
}

fn quantity_schema(quantity: Quantity) -> Value {
    let text = json!({ "type": "string", "examples": [quantity.example().trim_matches('"')] });
    if quantity == Quantity::Number { json!({ "anyOf": [{ "type": "number" }, text] }) } else { text }
}

fn form_schema(form: Form) -> Value {
    let pair = |quantity| json!({ "type": "array", "items": quantity_schema(quantity), "minItems": 2, "maxItems": 2 });
    match form {
        Form::Text | Form::FaceWord => json!({ "type": "string" }),
        Form::Choice(words) => json!({ "enum": words }),
        Form::Texts => {
            json!({ "anyOf": [{ "type": "string" }, { "type": "array", "items": { "type": "string" } }] })
        }
        Form::Value(quantity, ..) => quantity_schema(quantity),
        Form::Values(quantity, ..) => {
            json!({ "anyOf": [quantity_schema(quantity), { "type": "array", "items": quantity_schema(quantity) }] })
        }
        Form::Pair(quantity, ..) => pair(quantity),
        Form::Pairs(quantity, ..) => json!({ "type": "array", "items": pair(quantity) }),
        Form::Curve(first, second) => json!({
            "type": "array",
            "items": { "type": "array", "prefixItems": [quantity_schema(first), quantity_schema(second)], "minItems": 2, "maxItems": 2 }
        }),
        Form::Flag => json!({ "type": "boolean" }),
        Form::CopperWords => json!({ "anyOf": [{ "enum": ["full", "none"] }, { "type": "object" }] }),
        Form::Pad => json!({ "anyOf": [{ "type": "string" }, pair(Quantity::Length)] }),
        Form::Roles => json!({ "type": "object", "additionalProperties": { "type": "string" } }),
    }
}

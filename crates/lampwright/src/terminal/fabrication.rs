//! Fabrication files as understood, from the documented JSON form of the summary.

use serde::Serialize;
use serde_json::Value;

use super::numbers::{NOTHING, three_digits};
use super::text::{Align, Columns, bold};

/// Tables of the layers and of the drill files, and a line on the nets where there is copper.
#[must_use]
pub fn files(artwork: &impl Serialize, width: usize) -> String {
    let Ok(artwork) = serde_json::to_value(artwork) else { return String::new() };
    let mut out = String::new();
    let layers = list(&artwork, "layers");
    if !layers.is_empty() {
        out += &layer_table(layers).text(width);
    }
    let drills = list(&artwork, "drills");
    if !drills.is_empty() {
        out += "\n";
        out += &drill_table(drills).text(width);
    }
    if let Some(words) = net_words(list(&artwork, "nets")) {
        out += "\n";
        out += &words;
        out += "\n";
    }
    out
}

/// `14 nets: 9 named in the artwork, 5 numbered.`
fn net_words(nets: &[Value]) -> Option<String> {
    let count = |by: &str| nets.iter().filter(|net| text(net, "named_by") == by).count();
    let parts: Vec<String> = [
        (count("artwork"), "named in the artwork"),
        (count("netlist"), "named by a netlist"),
        (count("number"), "numbered"),
    ]
    .into_iter()
    .filter(|(count, _)| *count > 0)
    .map(|(count, words)| format!("{count} {words}"))
    .collect();
    let noun = if nets.len() == 1 { "net" } else { "nets" };
    (!nets.is_empty()).then(|| format!("{} {noun}: {}.", nets.len(), parts.join(", ")))
}

/// The whole text for fabrication files without a lamp, remarks aside.
#[must_use]
pub fn artwork_alone(artwork: &impl Serialize, width: usize) -> String {
    let Ok(whole) = serde_json::to_value(artwork) else { return String::new() };
    let count = |key: &str| list(&whole, key).len();
    let mut out = bold(&format!("{} layers, {} drill files\n", count("layers"), count("drills")));
    let area = whole.get("outline").and_then(|outline| outline.get("area_mm2")).and_then(Value::as_f64);
    out += &match area {
        Some(area) => format!("Outline: {} mm2 less cut-outs.\n\n", three_digits(area)),
        None => "Outline: none.\n\n".to_owned(),
    };
    out + &files(artwork, width)
}

fn layer_table(layers: &[Value]) -> Columns {
    let mut table = Columns::new();
    table.column("layer file", "", Align::Left);
    table.column("role", "", Align::Left);
    table.column("drawn in", "", Align::Left);
    table.column("area", "mm2", Align::Right);
    table.column("from", "mm", Align::Right);
    table.column("to", "mm", Align::Right);
    table.column("pieces", "", Align::Right);
    for layer in layers {
        let corner = |first: usize| {
            let number = |at: usize| layer.get("bbox_mm")?.get(at)?.as_f64();
            match (number(first), number(first + 1)) {
                (Some(x), Some(y)) => format!("{x:.2}, {y:.2}"),
                _ => NOTHING.to_owned(),
            }
        };
        table.row(vec![
            text(layer, "file"),
            text(layer, "role"),
            text(layer, "unit"),
            number(layer, "area_mm2", three_digits),
            corner(0),
            corner(2),
            text(layer, "pieces"),
        ]);
    }
    table
}

fn drill_table(drills: &[Value]) -> Columns {
    let mut table = Columns::new();
    table.column("drill file", "", Align::Left);
    table.column("diameter", "mm", Align::Right);
    table.column("hits", "", Align::Right);
    table.column("slots", "", Align::Right);
    table.column("plated", "", Align::Left);
    for drill in drills {
        for tool in list(drill, "tools") {
            let plated = tool.get("plated").or_else(|| drill.get("plated")).and_then(Value::as_bool);
            table.row(vec![
                text(drill, "file"),
                number(tool, "diameter_mm", |mm| format!("{mm:.3}")),
                text(tool, "hits"),
                text(tool, "slots"),
                plated.map_or("not told", |plated| if plated { "yes" } else { "no" }).to_owned(),
            ]);
        }
    }
    table
}

fn list<'a>(of: &'a Value, key: &str) -> &'a [Value] {
    of.get(key).and_then(Value::as_array).map_or(&[], Vec::as_slice)
}

fn text(of: &Value, key: &str) -> String {
    match of.get(key) {
        Some(Value::String(text)) => text.clone(),
        None | Some(Value::Null) => NOTHING.to_owned(),
        Some(other) => other.to_string(),
    }
}

fn number(of: &Value, key: &str, written: impl Fn(f64) -> String) -> String {
    of.get(key).and_then(Value::as_f64).map_or_else(|| NOTHING.to_owned(), written)
}

#[cfg(test)]
mod tests {
    use super::net_words;
    use serde_json::json;

    #[test]
    fn nets_in_a_line() {
        let net = |by: &str| json!({ "named_by": by });
        assert_eq!(net_words(&[]), None);
        assert_eq!(net_words(&[net("number")]).as_deref(), Some("1 net: 1 numbered."));
        assert_eq!(
            net_words(&[net("artwork"), net("artwork"), net("netlist"), net("number")]).as_deref(),
            Some("4 nets: 2 named in the artwork, 1 named by a netlist, 1 numbered.")
        );
    }
}

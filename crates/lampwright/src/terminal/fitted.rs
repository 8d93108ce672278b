//! What a fit says: the answer, junctions, plateaus predicted and measured, values before and after.

use bench::fit::{FitFindings, FittedValue};

use super::numbers::{NOTHING, with_error};
use super::text::{Align, Columns, capital, heading, paragraph, sentence};

/// The whole text.
#[must_use]
pub fn fitted(lamp: &str, found: &FitFindings, width: usize) -> String {
    let mut out = format!("{lamp}: the model fitted to the bench test\n\n");
    for answer in &found.answers {
        out += &paragraph(answer, width, 2);
    }
    out += &heading("The hottest junction at each plateau");
    out += &junctions(found).text(width);
    out += &heading("Predicted against measured, rise of the sensor above the room");
    out += &plateaus(found).text(width);
    out += &heading("What was not known exactly: factor on what lamp.toml says, or kelvin; ranges hold 95 %");
    out += &values(found).text(width);
    let further: Vec<_> =
        found.further.iter().filter(|f| f.doubt_with_it_k < 0.97 * f.doubt_now_k).take(4).collect();
    if !further.is_empty() {
        out +=
            &heading("What one more measurement would tell of the hottest junction at the nominal current");
        for one in further {
            let text =
                format!("{}: ± {:.1} K instead of ± {:.1} K", one.what, one.doubt_with_it_k, one.doubt_now_k);
            out += "  ";
            out += &paragraph(&text, width.saturating_sub(2), 4);
        }
    }
    out += &heading("Before you rely on it");
    let error = found.reduced_error_k.map(|k| {
        format!(
            "The fit asked a reduced model; at the fitted values it is within {:.2} K of the full one",
            (100.0 * k).ceil() / 100.0
        )
    });
    for text in error.iter().chain(&found.remarks) {
        out += "  ";
        out += &paragraph(&sentence(&capital(text)), width.saturating_sub(2), 4);
    }
    out
}

fn junctions(found: &FitFindings) -> Columns {
    let mut table = Columns::new();
    table.column("board", "", Align::Left);
    table.column("current", "A", Align::Right);
    table.column("emitter", "", Align::Left);
    for (head, unit) in [("from the sensor", "degC"), ("by voltage", "degC"), ("both", "degC")] {
        table.column(head, unit, Align::Right);
    }
    for j in &found.junctions {
        let by_voltage = j.from_voltage_c.zip(j.from_voltage_doubt_k);
        table.row(vec![
            j.variant.clone(),
            format!("{:.3}", j.drive_current_a),
            j.emitter.clone(),
            with_error(j.from_sensor_c, j.from_sensor_doubt_k),
            by_voltage.map_or_else(|| NOTHING.to_owned(), |(c, doubt)| with_error(c, doubt)),
            with_error(j.combined_c, j.combined_doubt_k),
        ]);
    }
    table
}

fn plateaus(found: &FitFindings) -> Columns {
    let mut table = Columns::new();
    table.column("board", "", Align::Left);
    let several = found.plateaus.iter().any(|p| p.sensor != found.plateaus[0].sensor);
    if several {
        table.column("sensor", "", Align::Left);
    }
    for (head, unit) in [
        ("current", "A"),
        ("measured", "K"),
        ("fitted", "K"),
        ("off", "K"),
        ("from the others", "K"),
        ("unfitted", "K"),
        ("weight", ""),
    ] {
        table.column(head, unit, Align::Right);
    }
    for p in &found.plateaus {
        let others = p.from_the_others_k.zip(p.from_the_others_doubt_k);
        let mut row = vec![p.variant.clone()];
        row.extend(several.then(|| p.sensor.clone()));
        row.extend([
            format!("{:.3}", p.drive_current_a),
            format!("{:.2} ± {:.2}", p.measured_k, 1.96 * p.standard_k),
            format!("{:.2}", p.predicted_k),
            format!("{:+.2}", p.residual_k),
            others.map_or_else(|| NOTHING.to_owned(), |(k, doubt)| format!("{k:.2} ± {doubt:.2}")),
            p.unfitted_k.map_or_else(|| NOTHING.to_owned(), |k| format!("{k:.2}")),
            format!("{:.2}", p.weight),
        ]);
        table.row(row);
    }
    table
}

fn values(found: &FitFindings) -> Columns {
    let mut table = Columns::new();
    table.column("value", "", Align::Left);
    table.column("of", "", Align::Left);
    for head in ["fitted", "range", "before", "told"] {
        table.column(head, "", Align::Right);
    }
    let sensors: std::collections::BTreeSet<&String> =
        found.values.iter().filter_map(|v| v.sensor.as_ref()).collect();
    for v in &found.values {
        let whose =
            |name: &String| v.variant.as_ref().map_or(name.clone(), |board| format!("{name}, {board}"));
        let of_sensor = v.sensor.as_ref().filter(|_| sensors.len() > 1).map(whose);
        table.row(vec![
            v.value.to_owned(),
            of_sensor.or_else(|| v.variant.clone()).unwrap_or_else(|| "all".to_owned()),
            number(v, v.fitted),
            format!("{} to {}", number(v, v.low), number(v, v.high)),
            format!("{} to {}", number(v, v.prior_low), number(v, v.prior_high)),
            format!("{:.0} %", 100.0 * (1.0 - v.shrinkage).max(0.0)),
        ]);
    }
    table
}

fn number(of: &FittedValue, value: f64) -> String {
    if of.unit == "kelvin" { format!("{value:+.2} K") } else { format!("{value:.3}") }
}

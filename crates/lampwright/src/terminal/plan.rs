//! The plan of the bench test.

use bench::plan::{PlanFindings, PlannedDifference, PlannedRun, PlannedVariant};

use super::numbers::NOTHING;
use super::text::{Align, Columns, heading, paragraph};

/// The whole text.
#[must_use]
pub fn plan_text(found: &PlanFindings, width: usize) -> String {
    let mut out = format!("{}: plan of the bench test\n\n", found.lamp);
    for answer in &found.answers {
        out += &paragraph(answer, width, 2);
    }
    for caution in &found.cautions {
        out += "  ! ";
        out += &paragraph(caution, width.saturating_sub(4), 4);
    }
    for v in &found.variants {
        let title = if v.title.is_empty() { String::new() } else { format!(" ({})", v.title) };
        out += &heading(&format!("{}{title}: what to expect, room {} degC", v.variant, found.ambient_c));
        out += &expected(v).text(width);
    }
    for run in &found.runs {
        let seed = found.seed.map_or(String::new(), |seed| format!(", seed {seed}"));
        out += &heading(&format!(
            "Run {}: {}, mounting {} ({} order{seed}); bench sheet {}.toml",
            run.run, run.variant, run.mounting, found.order, run.name
        ));
        out += &steps(run).text(width);
    }
    if !found.differences.is_empty() {
        out += &heading("What the boards are expected to differ by");
        out += &differences(&found.differences).text(width);
    }
    out += &heading("Sampling");
    out += "  ";
    out += &paragraph(
        &format!("{} s between samples: {}.", found.sampling_interval_s, found.sampling_reason),
        width.saturating_sub(2),
        2,
    );
    out += &heading("Check list");
    for (k, item) in found.check_list.iter().enumerate() {
        out += &format!("{:>4}  ", k + 1);
        out += &paragraph(item, width.saturating_sub(6), 6);
    }
    out += &heading("Before you rely on it");
    for remark in &found.remarks {
        out += "  ";
        out += &paragraph(remark, width.saturating_sub(2), 4);
    }
    out
}

fn expected(v: &PlannedVariant) -> Columns {
    let mut table = Columns::new();
    table.column("current", "A", Align::Right);
    table.column("sensor", "degC", Align::Right);
    table.column("95 % of lamps", "degC", Align::Right);
    let volts = v.expected.iter().any(|e| e.output_v.is_some());
    let ohms = v.expected.iter().any(|e| e.output_ohm.is_some());
    if volts || ohms {
        let unit = if volts { "V" } else { "ohm" };
        table.column("as logged", unit, Align::Right);
        table.column("95 % of lamps", unit, Align::Right);
    }
    table.column("hottest junction", "degC", Align::Right);
    table.column("power", "W", Align::Right);
    for e in &v.expected {
        let mut cells = vec![
            format!("{:.3}", e.current_a),
            format!("{:.1}", e.sensor_c),
            format!("{:.1} to {:.1}", e.low_c, e.high_c),
        ];
        let logged = e.output_v.map(|o| (o, 4)).or_else(|| e.output_ohm.map(|o| (o, 1)));
        if let Some(([at, low, high], digits)) = logged {
            cells.push(format!("{at:.digits$}"));
            cells.push(format!("{low:.digits$} to {high:.digits$}"));
        } else if volts || ohms {
            cells.extend([NOTHING.to_owned(), NOTHING.to_owned()]);
        }
        cells.push(format!("{:.1}", e.junction_c));
        cells.push(format!("{:.2}", e.electrical_w));
        table.row(cells);
    }
    table
}

fn steps(run: &PlannedRun) -> Columns {
    let mut table = Columns::new();
    table.column("step", "", Align::Right);
    table.column("at", "h:min", Align::Right);
    table.column("set", "A", Align::Right);
    table.column("hold", "min", Align::Right);
    table.column("expect", "degC", Align::Right);
    table.column("95 % of lamps", "degC", Align::Right);
    table.column("break off above", "degC", Align::Right);
    table.column("read", "", Align::Left);
    for s in &run.steps {
        let minutes = (s.start_s / 60.0).round() as u64;
        table.row(vec![
            s.step.to_string(),
            format!("{}:{:02}", minutes / 60, minutes % 60),
            format!("{:.3}", s.current_a),
            format!("{:.0}", s.dwell_s / 60.0),
            format!("{:.1}", s.sensor_c),
            format!("{:.1} to {:.1}", s.low_c, s.high_c),
            s.abort_above_c.map_or_else(|| NOTHING.to_owned(), |c| format!("{c:.0}")),
            "______".to_owned(),
        ]);
    }
    table
}

fn differences(all: &[PlannedDifference]) -> Columns {
    let mut table = Columns::new();
    table.column("boards", "", Align::Left);
    table.column("current", "A", Align::Right);
    table.column("difference", "K", Align::Right);
    table.column("95 % of lamps", "K", Align::Right);
    table.column("told apart", "K", Align::Right);
    table.column("can be seen", "", Align::Left);
    for d in all {
        table.row(vec![
            format!("{} less {}", d.variant, d.other),
            format!("{:.3}", d.current_a),
            format!("{:+.2}", d.difference_k),
            format!("{:+.1} to {:+.1}", d.low_k, d.high_k),
            format!("{:.2}", d.told_apart_k),
            if d.seen { "yes" } else { "no" }.to_owned(),
        ]);
    }
    table
}

//! The air side as a maker reads it: where every watt leaves, the fan's operating point, what changes would do, what may burn.

use lamp::findings::{AirSideFinding, FanFinding, Run, TouchFinding};

use super::numbers::{NOTHING, three_digits};
use super::text::{Align, Columns, bold, paragraph};

/// The part of a variant's section about its cooling.
pub fn air_section(run: &Run, width: usize) -> String {
    let mut out = String::new();
    if !run.ways_out.is_empty() {
        out += "\n";
        out += &bold(&format!("Where every watt leaves at {} A\n", run.current_a));
        out += &ways_out_table(run).text(width);
    }
    if let Some(air) = &run.air_side {
        out += "\n";
        out += &bold(&format!("Air side at {} A\n", run.current_a));
        out += &paragraph(&way_words(air), width, 2);
        if let Some(fan) = &air.fan {
            out += &paragraph(&fan_words(fan), width, 2);
        }
        if !air.what_ifs.is_empty() {
            out += &what_if_table(air).text(width);
            out += &paragraph(
                "What changes would do is solved in full: heat, films and air settle anew.",
                width,
                2,
            );
        }
    }
    for touch in run.touch.iter().filter(|touch| touch.burns_within.is_some()) {
        out += &paragraph(&touch_words(touch), width, 2);
    }
    out
}

/// A row for each way, its parts set in under it, and the sum.
fn ways_out_table(run: &Run) -> Columns {
    let mut table = Columns::new();
    table.column("by", "", Align::Left);
    for (head, unit) in [("leaves", "W"), ("convection", "W"), ("radiation", "W")] {
        table.column(head, unit, Align::Right);
    }
    let or_nothing = |watts: Option<f64>| watts.map_or_else(|| NOTHING.to_owned(), three_digits);
    for way in &run.ways_out {
        let set_in = if way.part_of.is_some() { "  of it " } else { "" };
        table.row(vec![
            format!("{set_in}{}", way.way),
            three_digits(way.heat_w),
            or_nothing(way.convection_w),
            or_nothing(way.radiation_w),
        ]);
    }
    table.row(vec!["all".to_owned(), three_digits(run.ways_out_w), String::new(), String::new()]);
    table
}

fn way_words(air: &AirSideFinding) -> String {
    let mut parts = vec![format!("{:.1} K over fins and film", air.fins_k)];
    if let Some(out_c) = air.air_out_c {
        parts.push(format!(
            "{:.1} K because the air warms, to {out_c:.1} degC where it leaves",
            air.warming_k
        ));
    }
    if air.housing_k > 0.05 {
        parts.push(format!(
            "{:.1} K because the air in the housing is warm{}",
            air.housing_k,
            housing_words(air)
        ));
    }
    format!(
        "From the base's back ({:.1} degC) to the room {} K/W: {}.",
        air.back_c,
        three_digits(air.k_per_w),
        parts.join(", ")
    )
}

/// How the heat leaves a housing, in brackets.
fn housing_words(air: &AirSideFinding) -> String {
    let (Some(walls_w), Some(vents_w)) = (air.walls_w, air.vents_w) else { return String::new() };
    format!(
        " ({} W leave by its vents with {:.2} l/s of draught, {} W by its walls)",
        three_digits(vents_w),
        air.draught_l_per_s,
        three_digits(walls_w)
    )
}

fn fan_words(fan: &FanFinding) -> String {
    if fan.stands {
        return format!("The fan stands at {} V: the heatsink cools by itself.", fan.voltage_v);
    }
    let largest = fan.spent.iter().max_by(|a, b| a.pressure_pa.total_cmp(&b.pressure_pa));
    let spent = largest.map_or_else(String::new, |part| {
        format!("; most pressure, {} Pa, goes into: {}", three_digits(part.pressure_pa), part.what)
    });
    let speed = fan
        .speed_m_per_s
        .map_or_else(String::new, |speed| format!(", {} m/s between the fins", three_digits(speed)));
    format!(
        "Fan at {} V: {} l/s against {} Pa{speed}{spent}.",
        fan.voltage_v,
        three_digits(fan.flow_l_per_s),
        three_digits(fan.pressure_pa)
    )
}

fn what_if_table(air: &AirSideFinding) -> Columns {
    let mut table = Columns::new();
    table.column("what if", "", Align::Left);
    let columns =
        [("hotter by", "K"), ("hottest junction", "degC"), ("back to room", "K/W"), ("flow", "l/s")];
    for (head, unit) in columns {
        table.column(head, unit, Align::Right);
    }
    let or_nothing = |value: Option<f64>, words: &dyn Fn(f64) -> String| match value {
        Some(value) => words(value),
        None => NOTHING.to_owned(),
    };
    for change in &air.what_ifs {
        let hotter = |k: f64| format!("{:.1}", if k.abs() < 0.05 { 0.0 } else { k });
        table.row(vec![
            change.what.clone(),
            if change.steady { or_nothing(change.hotter_k, &hotter) } else { "runs away".to_owned() },
            or_nothing(change.hottest_junction_c, &|c| format!("{c:.1}")),
            or_nothing(change.k_per_w, &three_digits),
            or_nothing(change.flow_l_per_s, &three_digits),
        ]);
    }
    table
}

fn touch_words(touch: &TouchFinding) -> String {
    format!(
        "Touch: {} reaches {:.0} degC; as {} it can burn skin within {} ({}).",
        touch.surface,
        touch.hottest_c,
        touch.material,
        touch.burns_within.unwrap_or_default(),
        touch.source
    )
}

#[cfg(test)]
mod tests {
    use lamp::findings::AirWhatIfFinding;

    use super::*;

    fn fan(stands: bool) -> FanFinding {
        FanFinding {
            count: 1,
            voltage_v: 8.0,
            rated_v: 12.0,
            stands,
            flow_l_per_s: 1.39,
            pressure_pa: 9.18,
            speed_m_per_s: Some(0.62),
            reynolds: Some(200.0),
            spent: vec![lamp::findings::PressureFinding { what: "inlet slots".into(), pressure_pa: 8.32 }],
            curve: Vec::new(),
            system: Vec::new(),
        }
    }

    #[test]
    fn the_air_side_is_said_with_its_numbers() {
        assert_eq!(
            fan_words(&fan(false)),
            "Fan at 8 V: 1.39 l/s against 9.18 Pa, 0.620 m/s between the fins; most pressure, 8.32 Pa, goes into: inlet slots."
        );
        assert_eq!(fan_words(&fan(true)), "The fan stands at 8 V: the heatsink cools by itself.");
        let air = AirSideFinding {
            back_c: 43.9,
            k_per_w: 1.26,
            air_in_c: 25.0,
            air_out_c: Some(33.7),
            fins_k: 14.5,
            warming_k: 4.3,
            housing_k: 0.0,
            walls_w: None,
            vents_w: None,
            draught_l_per_s: 0.0,
            fan: Some(fan(false)),
            what_ifs: vec![AirWhatIfFinding {
                what: "the lamp upside down".into(),
                steady: true,
                k_per_w: Some(1.26),
                hotter_k: Some(-0.01),
                hottest_junction_c: Some(71.23),
                flow_l_per_s: None,
            }],
        };
        assert_eq!(
            way_words(&air),
            "From the base's back (43.9 degC) to the room 1.26 K/W: 14.5 K over fins and film, 4.3 K because the air warms, to 33.7 degC \
             where it leaves."
        );
        let housed = AirSideFinding {
            housing_k: 6.2,
            walls_w: Some(4.1),
            vents_w: Some(11.3),
            draught_l_per_s: 1.53,
            ..air.clone()
        };
        assert!(
            way_words(&housed).contains(
                "6.2 K because the air in the housing is warm (11.3 W leave by its vents with 1.53 l/s of draught, 4.10 W by its walls)"
            ),
            "{}",
            way_words(&housed)
        );
        let table = what_if_table(&air).text(80);
        assert!(
            table.contains("the lamp upside down") && table.contains("  0.0") && !table.contains("-0.0"),
            "{table}"
        );
        assert!(table.contains("71.2"), "{table}");
        let mut away = air.clone();
        away.what_ifs[0] =
            AirWhatIfFinding { steady: false, hotter_k: None, k_per_w: None, ..away.what_ifs[0].clone() };
        assert!(what_if_table(&away).text(80).contains("runs away"));
    }
}

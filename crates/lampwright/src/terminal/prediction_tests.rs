use lamp::findings::{EnergyBalance, HeatPatchFinding, HeatStep, SensorFinding};

use super::*;

/// Built by hand; the numbers only need to be told apart.
fn run(variant: &str, current_a: f64, junction_c: f64) -> Run {
    let limit = |what: &str, found: f64, limit: f64| LimitFinding {
        what: what.into(),
        unit: "degC",
        found,
        limit,
        margin: limit - found,
    };
    let step = |step: &'static str, from: &str, to: &str, from_c: f64, to_c: f64| HeatStep {
        step,
        from: from.into(),
        to: to.into(),
        from_c,
        to_c,
        drop_k: from_c - to_c,
        lowered_by: format!("A better {step}."),
    };
    Run {
        variant: variant.into(),
        current_a,
        ambient_c: 25.0,
        state: RunState::Steady,
        electrical_w: 24.8,
        heat_w: 16.2,
        radiant_w: 8.6,
        light_lm: 2400.0,
        sensors: vec![SensorFinding {
            name: "board sensor".into(),
            reading_c: Some(61.5),
            output_v: Some(1.115),
            output_ohm: None,
        }],
        hottest_board_c: Some(66.4),
        hottest_board_at_mm: Some([10.0, 20.0]),
        hottest_solder_c: Some(66.2),
        hottest_junction_c: Some(junction_c),
        hottest_emitter: Some("D6".into()),
        emitters: vec![EmitterFinding {
            reference: "D6".into(),
            at_mm: [10.0, 20.0],
            current_a,
            junction_c: Some(junction_c),
            solder_c: Some(66.2),
            forward_v: Some(2.95),
            electrical_w: Some(3.1),
            heat_w: Some(2.0),
            radiant_w: Some(1.1),
            flux_lm: Some(300.0),
            junction_limit_c: 150.0,
            junction_margin_k: Some(150.0 - junction_c),
            heat_path: vec![
                step("package", "junction", "solder point", junction_c, 66.2),
                step("air", "back of the heatsink base", "room", 66.2, 25.0),
            ],
        }],
        heat_patches: Vec::new(),
        copper: None,
        sharing: None,
        bond: None,
        ways_out: Vec::new(),
        ways_out_w: 0.0,
        air_side: None,
        touch: Vec::new(),
        limits: vec![limit("board", 66.4, 105.0), limit("junction of D6", junction_c, 150.0)],
        energy_balance: EnergyBalance {
            in_w: 16.2,
            heatsink_w: 15.9,
            convection_w: 0.2,
            radiation_w: 0.1,
            relative_error: 3e-9,
        },
        cells: 123_456,
        pitch_mm: 0.2,
        grid_error_k: 0.34,
        iterations: 40,
        seconds: 0.5,
        remarks: Vec::new(),
    }
}

fn variant(name: &str) -> VariantFindings {
    VariantFindings {
        variant: name.into(),
        title: format!("the {name} board"),
        runaway_current_a: None,
        runaway_of: None,
        runaway_searched_to_a: 5.4,
    }
}

fn findings() -> Findings {
    Findings {
        lamp: "Test lamp".into(),
        runs: vec![
            run("plain", 0.5, 50.0),
            run("plain", 1.05, 78.26),
            run("core", 0.5, 45.0),
            run("core", 1.05, 151.5),
        ],
        variants: vec![variant("plain"), variant("core")],
        remarks: Vec::new(),
        within_limits: false,
    }
}

fn told(findings: &Findings, width: usize) -> String {
    anstream::adapter::strip_str(&prediction(findings, 1.05, width)).to_string()
}

fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn the_answer_comes_first_with_its_number_and_doubt() {
    let text = told(&findings(), 100);
    let lines: Vec<&str> = text.lines().collect();
    assert_eq!(lines[0], "Test lamp");
    let text = one_line(&text);
    let below = "plain: At 1.05 A and 25 degC the hottest junction, D6, reaches 78.3 ± 0.4 degC (grid): 71.7 K below its \
                 limit of 150 degC.";
    assert!(text.starts_with(&format!("Test lamp {below}")), "{text}");
    assert!(text.contains(
        "core: At 1.05 A and 25 degC the hottest junction, D6, reaches 151.5 ± 0.4 degC (grid): 1.5 K above"
    ));
}

#[test]
fn every_current_of_every_variant_has_its_line() {
    let text = told(&findings(), 100);
    let rows = text.lines().filter(|line| line.contains("61.5") && line.contains("1.115")).count();
    assert_eq!(rows, 4, "{text}");
    assert!(text.contains("71.7"), "{text}");
}

#[test]
fn no_line_is_wider_than_the_terminal() {
    for width in [40, 60, 80, 110] {
        for line in told(&findings(), width).lines() {
            let long = unicode_width::UnicodeWidthStr::width(line);
            assert!(long <= width, "{long} > {width}: {line}");
        }
    }
    let table_line = told(&findings(), 40).lines().any(|line| line.starts_with("  current 0.5 A, heat 16.2"));
    assert!(table_line, "a narrow terminal gets a list");
}

#[test]
fn a_runaway_is_told_as_such() {
    let mut findings = findings();
    let run = &mut findings.runs[1];
    run.state = RunState::Runaway;
    (run.hottest_junction_c, run.hottest_emitter, run.hottest_solder_c, run.hottest_board_c) =
        (None, None, None, None);
    findings.variants[0].runaway_current_a = Some(0.812);
    let text = one_line(&told(&findings, 100));
    assert!(
        text.contains("plain: At 1.05 A and 25 degC there is no steady state: the lamp runs away."),
        "{text}"
    );
    assert!(text.contains("Runaway: from 0.812 A of drive current there is no steady state."), "{text}");
}

#[test]
fn the_energy_balance_the_grid_and_the_limits_are_printed() {
    let text = one_line(&told(&findings(), 100));
    assert!(
        text.contains("Energy: 16.2 W of heat in; out 15.9 W by the heatsink, 0.200 W by convection"),
        "{text}"
    );
    assert!(text.contains("Grid: 123 456 cells, finest pitch 0.200 mm"), "{text}");
    assert!(text.contains("junction of D6 151.5 degC 150.0 degC -1.5 K over"), "{text}");
}

#[test]
fn remarks_that_differ_in_their_numbers_alone_are_said_once() {
    let mut findings = findings();
    let remark =
        |text: String| FindingRemark { severity: "warning", file: None, line: None, column: None, text };
    for run in &mut findings.runs[1..] {
        let text = format!("current {} A is beyond the table", run.current_a);
        run.remarks.push(remark(text));
    }
    findings.runs[0].remarks.push(remark("something else".into()));
    let text = one_line(&told(&findings, 100));
    assert_eq!(text.matches("beyond the table").count(), 1, "{text}");
    assert!(
        text.contains(
            "current 1.05 A is beyond the table (core at 1.05 A; 2 other runs have a remark like it)"
        ),
        "{text}"
    );
    assert!(text.contains("something else (plain at 0.5 A)"), "{text}");
}

#[test]
fn a_lamp_of_heat_patches_alone_gets_an_answer_too() {
    let mut run = run("sketch", 0.0, 40.0);
    run.emitters.clear();
    (run.hottest_emitter, run.hottest_junction_c, run.hottest_solder_c) = (None, None, None);
    run.limits.clear();
    run.heat_w = 2.5;
    run.heat_patches.push(HeatPatchFinding {
        name: "patch".into(),
        heat_w: 2.5,
        mean_c: 31.77,
        centre_c: 32.43,
        hottest_c: 32.44,
        mean_rise_k: 6.772,
        centre_rise_k: 7.43,
        hottest_rise_k: 7.437,
    });
    let findings = Findings {
        lamp: "Plate".into(),
        runs: vec![run],
        variants: vec![VariantFindings { runaway_searched_to_a: 0.0, ..variant("sketch") }],
        remarks: Vec::new(),
        within_limits: true,
    };
    let text = one_line(&told(&findings, 100));
    assert!(
        text.contains("At 25 degC and 2.50 W the hottest heat patch, patch, reaches 32.4 ± 0.4 degC (grid)"),
        "{text}"
    );
    assert!(text.contains("6.772"), "{text}");
    assert!(!text.contains("Runaway"), "{text}");
}

//! The procedure against independently made records, and its properties.

use proptest::prelude::*;
use serde_json::Value;

use super::*;

fn records() -> Value {
    serde_json::from_str(include_str!("../../../../checks/lifetime.json")).unwrap()
}

fn record(id: &str) -> Value {
    let all = records();
    all["records"].as_array().unwrap().iter().find(|one| one["id"] == id).unwrap().clone()
}

fn numbers(value: &Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(|v| v.as_f64().unwrap()).collect()
}

/// A record's units at a case temperature, averaged as the user would before typing them in.
fn averaged(record: &Value, case: &str) -> AgeingTest {
    let hours = numbers(&record["data"]["hours"]);
    let units: Vec<Vec<f64>> =
        record["data"]["units"][case].as_array().unwrap().iter().map(numbers).collect();
    let mean = |k: usize| units.iter().map(|unit| unit[k] / unit[0]).sum::<f64>() / units.len() as f64;
    AgeingTest {
        case_c: case.parse().unwrap(),
        current_a: 0.7,
        units: units.len() as u32,
        relative_flux: hours.iter().enumerate().map(|(k, h)| (*h, mean(k))).collect(),
    }
}

fn near(found: f64, expected: &Value) {
    let expected = expected.as_f64().unwrap();
    // The records are printed with 12 digits, calculated to 1e-10.
    assert!((found / expected - 1.0).abs() < 1e-9, "{found}, recorded {expected}");
}

#[test]
fn records_are_met() {
    let mut compared = 0;
    for (id, cases) in [("F-3", &["85", "105"][..]), ("F-4", &["85"][..])] {
        let record = record(id);
        for case in cases {
            let (found, wanted) = (decay(&averaged(&record, case)).unwrap(), &record["results"][case]);
            near(found.rate_per_h, &wanted["alpha"]);
            near(found.initial, &wanted["B"]);
            assert_eq!((found.used_from_h, found.used), (1000.0, 6));
            near(found.limit_h / found.tested_h, &wanted["limit_factor"]);
            for part in ["70", "80", "90"] {
                let life = found.life(part.parse::<f64>().unwrap() / 100.0);
                near(life.calculated_h.unwrap(), &wanted["calculated_h"][part]);
                near(life.reported_h, &wanted["reported_3sig"][part]);
                assert_eq!(Value::Bool(life.beyond_limit), wanted["reported_as_limit"][part]);
                compared += 1;
            }
        }
    }
    assert_eq!(compared, 9);
}

#[test]
fn between_two_temperatures_arrhenius_law_holds() {
    let record = record("F-3");
    let tests = [averaged(&record, "105"), averaged(&record, "85")];
    for wanted in record["arrhenius_L70"].as_array().unwrap() {
        let found = maintenance(&tests, wanted["T_C"].as_f64().unwrap(), 0.7).unwrap();
        near(found.decay.rate_per_h, &wanted["alpha"]);
        near(found.decay.initial, &wanted["B0"]);
        // In kelvin: the record's electronvolts are of a Boltzmann constant rounded to five digits.
        near(found.activation_ev.unwrap() / EV_PER_K, &wanted["Ea_over_kB_K"]);
        near(found.decay.life(0.7).calculated_h.unwrap(), &wanted["Lp_calculated"]);
        near(found.decay.life(0.7).reported_h, &wanted["Lp_reported_3sig"]);
        assert_eq!(found.decay.life(0.7).told(), "reported L70(6k) > 36000 h");
        assert_eq!(found.tested_case_c, [85.0, 105.0]);
    }
}

/// An exact exponential at these hours.
fn exponential(case_c: f64, current_a: f64, rate: f64, initial: f64, hours: &[f64]) -> AgeingTest {
    let at = |h: &f64| (*h, if *h == 0.0 { 1.0 } else { initial * (-rate * h).exp() });
    AgeingTest { case_c, current_a, units: 20, relative_flux: hours.iter().map(at).collect() }
}

const HOURS: [f64; 12] = [0.0, 500.0, 1e3, 2e3, 3e3, 4e3, 5e3, 6e3, 7e3, 8e3, 9e3, 10e3];

#[test]
fn the_recorded_exponential_comes_back() {
    let wanted = &record("F-6")["results"];
    let found = decay(&exponential(85.0, 0.7, 4e-6, 1.012, &HOURS)).unwrap();
    near(found.rate_per_h, &wanted["alpha"]);
    near(found.initial, &wanted["B"]);
    near(found.life(0.7).calculated_h.unwrap(), &wanted["L70_exact"]);
}

#[test]
fn longer_tests_use_their_last_half() {
    let hours = |last: i32| (0..=last).map(|k| 1000.0 * f64::from(k)).collect::<Vec<f64>>();
    let used = |last: i32| decay(&exponential(85.0, 0.7, 1e-6, 1.0, &hours(last))).unwrap().used_from_h;
    assert_eq!([used(8), used(10), used(12), used(15)], [3000.0, 5000.0, 6000.0, 7000.0]);
}

#[test]
fn light_that_does_not_fade_is_reported_to_the_limit() {
    for rate in [0.0, -1e-6] {
        let life = decay(&exponential(85.0, 0.7, rate, 1.01, &HOURS)).unwrap().life(0.7);
        assert!(life.beyond_limit && life.calculated_h.is_none_or(|hours| hours > 1e9));
        assert_eq!(life.told(), "reported L70(10k) > 60000 h");
    }
}

#[test]
fn what_was_not_tested_is_said() {
    let tests = [
        exponential(55.0, 0.7, 2e-6, 1.0, &HOURS),
        exponential(85.0, 0.7, 4e-6, 1.0, &HOURS),
        exponential(85.0, 1.05, 6e-6, 1.0, &HOURS),
    ];
    assert!(
        maintenance(&tests, 95.0, 0.7)
            .unwrap_err()
            .contains("hotter than the hottest test at 0.7 A (85 degC)")
    );
    assert!(maintenance(&tests, 60.0, 1.2).unwrap_err().contains("more than any current tested (1.05 A)"));
    assert!(maintenance(&[], 60.0, 1.2).unwrap_err().contains("[[lumen_maintenance]]"));
    let cool = maintenance(&tests, 40.0, 0.7).unwrap();
    assert!((cool.decay.rate_per_h - 2e-6).abs() < 1e-15 && cool.remarks[0].contains("cooler than any test"));
    let between = maintenance(&tests, 85.0, 0.9).unwrap();
    assert!((between.decay.rate_per_h - 6e-6).abs() < 1e-15);
    assert!(between.remarks[0].contains("the test at 1.05 A is taken"), "{:?}", between.remarks);
    assert_eq!(maintenance(&tests, 85.0, 0.7).unwrap().remarks, [""; 0]);
    let short = exponential(85.0, 0.7, 4e-6, 1.0, &HOURS[..7]);
    assert!(decay(&short).unwrap_err().contains("ends at 5000 h"));
    let few = AgeingTest { units: 9, ..tests[0].clone() };
    assert!(decay(&few).unwrap_err().contains("has 9 units"));
    let odd = [exponential(55.0, 0.7, 5e-6, 1.0, &HOURS), exponential(85.0, 0.7, 4e-6, 1.0, &HOURS)];
    let odd = maintenance(&odd, 70.0, 0.7).unwrap();
    assert!((odd.decay.rate_per_h - 5e-6).abs() < 1e-15 && odd.remarks[0].contains("faster of the two"));
}

proptest! {
    #[test]
    fn an_exact_exponential_is_found_and_hotter_fades_sooner(
        slow in 1e-7_f64..1e-5, more in 1.05_f64..5.0, initial in 0.97_f64..1.03, a in 55.0_f64..105.0, b in 55.0_f64..105.0,
    ) {
        let tests = [exponential(55.0, 0.7, slow, initial, &HOURS), exponential(105.0, 0.7, slow * more, initial, &HOURS)];
        let found = decay(&tests[0]).unwrap();
        prop_assert!((found.rate_per_h / slow - 1.0).abs() < 1e-7 && (found.initial / initial - 1.0).abs() < 1e-9);
        let rate = |case_c: f64| maintenance(&tests, case_c, 0.7).unwrap().decay.rate_per_h;
        prop_assert!(rate(a.min(b)) <= rate(a.max(b)) * (1.0 + 1e-9));
        prop_assert!(rate(a) >= slow * (1.0 - 1e-7) && rate(a) <= slow * more * (1.0 + 1e-7));
        let lives = [0.9, 0.8, 0.7].map(|part| found.life(part).calculated_h.unwrap());
        prop_assert!(lives[0] <= lives[1] && lives[1] <= lives[2]);
    }
}

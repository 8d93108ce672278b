//! The posterior as text, and readings that cannot be taken.

use lamp::as_built::Lamp;
use lamp::uncertain::uncertain_values;
use nalgebra::DMatrix;

use super::Posterior;
use crate::testing::lamp_of;

const LAMP: &str = r#"
[drive]
currents = ["0.7 A"]
[[emitters]]
sheet = "white-3.5mm"
refs = ["D1"]
at = [["6 mm", "8 mm"]]
[variant."a \"b\""]
outline = ["20 mm", "15 mm"]
[variant."a \"b\"".board]
kind = "fr4 two-layer"
"#;

fn posterior(lamp: &Lamp) -> Posterior {
    let uncertain = uncertain_values(lamp);
    let n = uncertain.len();
    let half =
        DMatrix::from_fn(n, n, |i, j| if i >= j { 0.1 / (1.0 + i as f64 + 2.0 * j as f64) } else { 0.0 });
    Posterior {
        departures: (0..n).map(|k| 0.1 * k as f64 - 1.0 / 3.0).collect(),
        covariance: &half * half.transpose(),
        uncertain,
        fitted: true,
    }
}

#[test]
fn a_posterior_comes_back_from_its_text_to_the_last_bit() {
    let lamp = lamp_of(LAMP);
    let written = posterior(&lamp);
    let read = Posterior::from_text(&written.to_text(&lamp), &lamp, &written.uncertain).unwrap();
    assert_eq!(read, written);
}

#[test]
fn a_posterior_of_another_lamp_or_a_damaged_one_is_refused() {
    let lamp = lamp_of(LAMP);
    let written = posterior(&lamp);
    let text = written.to_text(&lamp);
    let changed = lamp_of(&format!("{LAMP}\n[[uncertain]]\nvalue = \"cooling\"\ntolerance = 0\n"));
    let why = Posterior::from_text(&text, &changed, &uncertain_values(&changed)).unwrap_err();
    assert!(why.to_string().contains("fit` again"), "{why}");
    let first = format!("{:e}", written.covariance[(0, 1)]);
    for damaged in [
        text.replacen(&first, "1e3", 1),
        text.replacen(&first, "nan", 1),
        text.replacen("[[fitted]]", "[[fited]]", 1),
        text.replacen("departure = ", "departure = \"", 1),
        text[..text.len() / 2].to_owned(),
        String::new(),
    ] {
        assert!(Posterior::from_text(&damaged, &lamp, &written.uncertain).is_err(), "{damaged}");
    }
}

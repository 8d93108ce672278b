//! A verdict in sentences.

use lamp::as_built::{Lamp, Variant};

use super::findings::{Throttle, VerdictFindings};

/// Below this chance it is said that lamps will fail.
const SURE: f64 = 0.975;

/// Writes answers and remarks.
pub(super) fn tell(found: &mut VerdictFindings, lamp: &Lamp, variant: &Variant) {
    let known = if found.fitted {
        "what the bench test left of the tolerances"
    } else {
        "tolerances alone, nothing measured"
    };
    let hot = found.hottest_ambient_c;
    let mut answers = Vec::new();
    let hottest = found.safe_currents.iter().find(|s| s.is_of_room(hot));
    if let Some(safe) = hottest {
        let by = match safe.limited_by {
            "current" => "the emitters' highest current".to_owned(),
            "runaway" => "thermal runaway".to_owned(),
            of => match &safe.emitter {
                Some(emitter) => format!("the {of} limit at {emitter}"),
                None => format!("the {of} limit"),
            },
        };
        answers.push(format!(
            "{}: set at most {} A for a room of {hot:.0} degC; the likeliest lamp stands {:.2} A there, set by {by} ({known}).",
            variant.name, at_most(safe.low_a), safe.current_a
        ));
    }
    if let Some(throttle) = &found.throttle {
        answers.push(throttling(throttle));
    }
    if let Some(chance) = &found.chance {
        let more = if chance.part < SURE { "; too many fail to build it so" } else { "" };
        answers.push(format!(
            "A lamp built so keeps to every limit at {} A in a room of {:.0} degC with a chance of {:.1} % ({:.1} to {:.1} %, {} drawn){more}.",
            chance.current_a,
            chance.ambient_c,
            100.0 * chance.part,
            100.0 * chance.low_95,
            100.0 * chance.high_95,
            chance.of
        ));
    }
    answers.extend(weakest(found));
    answers.extend(light(found, lamp));
    answers.extend(found.life.iter().filter(|l| l.part == 0.7).map(|life| {
        format!(
            "L70 of {} in a room of {:.0} degC, its solder point at {:.0} degC: {}.",
            life.emitter, life.ambient_c, life.solder_c, life.reported
        )
    }));
    found.answers = answers;
    if found.life.is_empty() {
        found.remarks.push(
            "nothing is said of the life: the emitter sheets hold no ageing test ([[lumen_maintenance]])"
                .to_owned(),
        );
    }
    found.remarks.push(
        "Bands hold what tolerances, plateaus and the spread of forward voltage leave open, not what the model leaves out; how long until the limit \
         if the fan stops is not yet found. Follow local codes; a verdict is no safety certification."
            .to_owned(),
    );
}

/// A highest value, never more than it is: rounded down to hundredths.
fn at_most(most: f64) -> String {
    // What binary fractions lose of a hundredth is no hundredth.
    format!("{:.2}", (100.0 * most + 1e-6).floor() / 100.0)
}

/// What is to be set first, for whichever limit is met first; the junctions' own reading behind it.
fn throttling(throttle: &Throttle) -> String {
    let sets = format!(
        "At {} A the driver must throttle when {} reads {:.1} degC",
        throttle.current_a,
        throttle.sensor,
        throttle.to_set_c()
    );
    let of = throttle.first_limit.unwrap_or("junction");
    if throttle.to_set_c() < throttle.reading_c {
        let of = if of == "junction" { "first of its limits".to_owned() } else { format!("{of} limit") };
        format!(
            "{sets}: then the {of} is kept in 39 lamps of 40. For the junctions alone {:.1} degC would do (the likeliest lamp reads \
             {:.1} degC when its hottest is at the limit).",
            throttle.reading_c, throttle.likeliest_c
        )
    } else {
        format!(
            "{sets}: then no junction passes its limit in 39 lamps of 40 (the likeliest lamp reads {:.1} degC there).",
            throttle.likeliest_c
        )
    }
}

fn weakest(found: &VerdictFindings) -> Option<String> {
    let weakest = found.weakest.as_ref()?;
    let place = match &weakest.emitter {
        Some(emitter) => format!("the {} of {emitter}", weakest.limit),
        None => format!("the {}", weakest.limit),
    };
    let side = if weakest.margin_k >= 0.0 { "below" } else { "above" };
    let best: Vec<String> = found
        .changes
        .iter()
        .filter(|c| c.saves_k > 0.1)
        .take(3)
        .map(|c| format!("{} ({:.1} K)", c.what, c.saves_k))
        .collect();
    let changes =
        if best.is_empty() { String::new() } else { format!(" What buys most: {}.", best.join("; ")) };
    Some(format!(
        "Weakest is {place}: {:.0} K {side} its limit at {} A in a room of {:.0} degC ({:.0} to {:.0} K).{changes}",
        weakest.margin_k.abs(),
        found.nominal_current_a,
        found.hottest_ambient_c,
        weakest.low_k,
        weakest.high_k
    ))
}

fn light(found: &VerdictFindings, lamp: &Lamp) -> Option<String> {
    let now = found.light.first()?;
    let hot = found.light.last()?;
    let binned = if now.above_binning_k <= 0.0 {
        format!(
            "the hottest junction is {:.0} K below the {:.0} degC at which the flux was binned",
            -now.above_binning_k, now.binning_junction_c
        )
    } else {
        format!(
            "the hottest junction is {:.0} K above the {:.0} degC at which the flux was binned, so the rated flux is not reached",
            now.above_binning_k, now.binning_junction_c
        )
    };
    let wanted = lamp.light_least_lm.map_or(String::new(), |least| {
        if hot.low_lm >= least {
            format!(" The {least:.0} lm wanted are kept by 39 lamps in 40.")
        } else {
            format!(" The {least:.0} lm wanted are NOT kept by 39 lamps in 40.")
        }
    });
    Some(format!(
        "Light at {} A: {:.0} lm ({:.0} to {:.0}), {:.0} lm/W; {:.0} lm in a room of {:.0} degC; {binned}.{wanted}",
        found.nominal_current_a,
        now.light_lm,
        now.low_lm,
        now.high_lm,
        now.per_watt_lm_per_w,
        hot.light_lm,
        hot.ambient_c
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn throttle(first: Option<(f64, &'static str)>) -> Throttle {
        Throttle {
            sensor: "board sensor".to_owned(),
            current_a: 1.0,
            reading_c: 109.7,
            likeliest_c: 114.6,
            high_c: 119.0,
            first_limit_reading_c: first.map(|f| f.0),
            first_limit: first.map(|f| f.1),
            output_v: None,
            output_ohm: None,
        }
    }

    #[test]
    fn the_first_limit_is_what_the_driver_throttles_for() {
        let board = throttle(Some((69.1, "board")));
        assert_eq!(board.to_set_c(), 69.1);
        let told = throttling(&board);
        assert!(
            told.contains("must throttle when board sensor reads 69.1 degC: then the board limit"),
            "{told}"
        );
        assert!(told.contains("junctions alone 109.7 degC"), "{told}");
        for other in [throttle(None), throttle(Some((109.7, "junction")))] {
            let told = throttling(&other);
            assert!(told.contains("reads 109.7 degC: then no junction") && !told.contains("alone"), "{told}");
        }
    }

    #[test]
    fn a_highest_current_is_never_rounded_up() {
        for (most, told) in [(1.138, "1.13"), (1.14, "1.14"), (0.29, "0.29"), (2.0, "2.00"), (0.0, "0.00")] {
            assert_eq!(at_most(most), told);
        }
    }
}

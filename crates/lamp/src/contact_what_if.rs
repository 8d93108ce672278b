//! What burrs, bow and missing contact under one emitter cost: a variant solved with each change of its contact.

use std::sync::atomic::AtomicBool;

use crate::as_built::Variant;
use crate::bond_line::BondWhatIf;
use crate::findings::{ContactWhatIfFinding, Run, RunState};
use crate::model::{Model, ModelError};

/// A change of the contact and what it is called.
fn changes(variant: &Variant) -> Vec<(BondWhatIf, String)> {
    let built = BondWhatIf::default();
    let (burrs, bow) = (variant.flatness.has_burrs(), variant.flatness.has_bow());
    let even = [
        (burrs, BondWhatIf { without_burrs: true, ..built }, "without burrs"),
        (bow, BondWhatIf { without_bow: true, ..built }, "without bow"),
        (burrs && bow, BondWhatIf::flat(), "flat and free of burrs"),
    ];
    let under = variant.emitters.iter().enumerate().map(|(index, emitter)| {
        let what_if = BondWhatIf { no_contact_under: Some(index), ..built };
        (what_if, format!("no contact under {}", emitter.reference))
    });
    even.into_iter()
        .filter(|one| one.0)
        .map(|(_, what_if, words)| (what_if, words.to_owned()))
        .chain(under)
        .collect()
}

/// Solves a variant with each change of its contact, at the current and room of `built`, its run as built. The model is left
/// with the contact as built. Nothing without a bond line and heatsink, or where there is no steady state as built.
///
/// # Errors
/// When cancelled, or when a solve fails.
pub fn contact_what_ifs(
    model: &mut Model,
    variant: &Variant,
    built: &Run,
    cancel: &AtomicBool,
    tell: &mut dyn FnMut(&str),
) -> Result<Vec<ContactWhatIfFinding>, ModelError> {
    if built.bond.is_none() || built.state != RunState::Steady {
        return Ok(Vec::new());
    }
    let mut all = Vec::new();
    let mut each = || {
        for (what_if, what) in changes(variant) {
            tell(&what);
            model.what_if(what_if)?;
            let then = model.run(built.current_a, built.ambient_c, cancel)?;
            let under = what_if.no_contact_under.and_then(|index| variant.emitters.get(index));
            all.push(finding(what, under.map(|emitter| emitter.reference.as_str()), built, &then));
        }
        Ok(())
    };
    let ended = each();
    model.what_if(BondWhatIf::default())?;
    ended.map(|()| all)
}

fn finding(what: String, under: Option<&str>, built: &Run, then: &Run) -> ContactWhatIfFinding {
    let hottest = |run: &Run| run.hottest_junction_c.or(run.hottest_board_c);
    let junction = |run: &Run| {
        run.emitters.iter().find(|e| Some(e.reference.as_str()) == under).and_then(|e| e.junction_c)
    };
    let more = |then: Option<f64>, now: Option<f64>| then.zip(now).map(|(then, now)| then - now);
    ContactWhatIfFinding {
        what,
        steady: then.state == RunState::Steady,
        hotter_k: more(hottest(then), hottest(built)),
        hottest_junction_c: then.hottest_junction_c,
        hottest_emitter: then.hottest_emitter.clone(),
        under: under.map(ToOwned::to_owned),
        there_hotter_k: more(junction(then), junction(built)),
    }
}

//! How long the light lasts, by the ageing tests in the emitter sheets.

use lamp::lumen_maintenance::maintenance;

use super::findings::LifeFinding;
use super::{FOR_BANDS, Work};
use crate::draws::spread;

/// Parts of the light: L70, L80.
const PARTS: [f64; 2] = [0.7, 0.8];

/// L70 and L80 of the emitter with the hottest solder point, in the room and in the hottest one; empty without ageing tests.
pub(super) fn life(work: &Work<'_>) -> Vec<LifeFinding> {
    let mut found = Vec::new();
    for room_c in [work.lamp.ambient_c, work.asked.hottest_c] {
        found.extend(in_room(work, room_c).unwrap_or_default());
    }
    found
}

fn in_room(work: &Work<'_>, room_c: f64) -> Option<Vec<LifeFinding>> {
    let drive_a = work.lamp.nominal_current_a;
    let state = work.likeliest.state(drive_a, room_c).ok()?;
    let tested = |k: &usize| !work.variant.emitters[*k].sheet.ageing_tests.is_empty();
    let hottest = (0..state.solder_c.len())
        .filter(tested)
        .max_by(|a, b| state.solder_c[*a].total_cmp(&state.solder_c[*b]))?;
    let emitter = &work.variant.emitters[hottest];
    let current_a = emitter.current_share * drive_a;
    let one = |part: f64| {
        let blank = LifeFinding {
            emitter: emitter.reference.clone(),
            ambient_c: room_c,
            solder_c: state.solder_c[hottest],
            part,
            reported: String::new(),
            calculated_h: None,
            low_h: None,
            remarks: Vec::new(),
        };
        match maintenance(&emitter.sheet.ageing_tests, state.solder_c[hottest], current_a) {
            Err(why) => LifeFinding { reported: "not told".to_owned(), remarks: vec![why], ..blank },
            Ok(kept) => {
                let life = kept.decay.life(part);
                let drawn = work.of_each(FOR_BANDS, |built| {
                    let solder_c = *built.state(drive_a, room_c).ok()?.solder_c.get(hottest)?;
                    let kept = maintenance(&emitter.sheet.ageing_tests, solder_c, current_a).ok()?;
                    kept.decay.life(part).calculated_h
                });
                let low_h = drawn.ok().and_then(|d| spread(&d)).map(|s| s.low_95);
                LifeFinding {
                    reported: life.told(),
                    calculated_h: life.calculated_h,
                    // Beyond the limit nothing may be reported, of no part of the lamps.
                    low_h: life.calculated_h.and(low_h).map(|low_h| low_h.min(life.reported_h)),
                    remarks: kept.remarks,
                    ..blank
                }
            }
        }
    };
    Some(PARTS.into_iter().map(one).collect())
}

//! What changes of the cooling would do: which there are, about, and solved in full.

use std::sync::atomic::AtomicBool;

use crate::as_built::{Cooling, Facing, Variant};
use crate::cooling::ZERO_C_IN_K;
use crate::cooling::air_side::{AirSide, lumped};
use crate::cooling::natural_convection::Orientation;
use crate::findings::{AirWhatIfFinding, Run, RunState};
use crate::gridding::SurfaceKind;
use crate::model::{Model, ModelError};

/// What dust takes of the vents' free area.
const DUST: f64 = 0.3;

/// A change that a lamp may meet in service.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Change {
    HalfTheVoltage,
    FanStopped,
    UpsideDown,
    Dust,
}

const CHANGES: [Change; 4] = [Change::HalfTheVoltage, Change::FanStopped, Change::UpsideDown, Change::Dust];

impl Change {
    fn words(self) -> &'static str {
        match self {
            Self::HalfTheVoltage => "the fan at half its voltage",
            Self::FanStopped => "the fan stopped",
            Self::UpsideDown => "the lamp upside down",
            Self::Dust => "dust on 30 % of the vents",
        }
    }

    /// The air side with this change; `None` where it would change nothing, and where nothing is known of it.
    fn of(self, side: &AirSide, back: Orientation) -> Option<AirSide> {
        let at = |share: f64| {
            let fans = side.fans.as_ref().filter(|fans| fans.runs())?;
            Some(side.with_fan_voltage(share * fans.voltage_v))
        };
        let changed = match self {
            Self::HalfTheVoltage => at(0.5),
            Self::FanStopped => at(0.0),
            // A maker's table knows of no orientation.
            Self::UpsideDown => {
                (back != Orientation::Sideways && side.stated.is_none()).then(|| side.clone())
            }
            Self::Dust => (!side.vents.is_empty()).then(|| side.with_vents_open(1.0 - DUST)),
        };
        changed.filter(|side| !side.is_unknown())
    }
}

/// The back's other way round.
fn turned(back: Orientation) -> Orientation {
    match back {
        Orientation::Up => Orientation::Down,
        Orientation::Down => Orientation::Up,
        Orientation::Sideways => Orientation::Sideways,
    }
}

/// The lamp's other way round; one on its side has none.
fn upside_down(facing: Facing) -> Facing {
    match facing {
        Facing::Up => Facing::Down,
        Facing::Down => Facing::Up,
        Facing::Sideways => Facing::Sideways,
    }
}

/// What each change would do with the heat as it is (W) and the base as one temperature.
pub(crate) fn about(side: &AirSide, back: Orientation, heat_w: f64, ambient_c: f64) -> Vec<AirWhatIfFinding> {
    let ambient_k = ambient_c + ZERO_C_IN_K;
    let now = lumped(side, back, heat_w, ambient_k);
    let found = |change: Change| {
        let then_back = if change == Change::UpsideDown { turned(back) } else { back };
        let then = lumped(&change.of(side, back)?, then_back, heat_w, ambient_k);
        Some(AirWhatIfFinding {
            what: change.words().to_owned(),
            solved: false,
            steady: true,
            k_per_w: Some(if heat_w > 0.0 { then.rise_k / heat_w } else { 0.0 }),
            hotter_k: Some(then.rise_k - now.rise_k),
            hottest_junction_c: None,
            flow_l_per_s: then.state.fan.filter(|fan| !fan.stands).map(|fan| 1e3 * fan.flow_m3_per_s),
        })
    };
    CHANGES.into_iter().filter_map(found).collect()
}

/// Solves each change in full at the run's current and room and puts what is found into its findings; the model is left as
/// it was. A run without an air side or without a steady state stays as it is.
pub(crate) fn solve(
    model: &mut Model,
    (variant, facing): (&Variant, Facing),
    run: &mut Run,
    cancel: &AtomicBool,
) -> Result<(), ModelError> {
    let Some(Cooling::Air(side)) = variant.heatsink.as_ref().map(|heatsink| &heatsink.cooling) else {
        return Ok(());
    };
    let now_c = run.hottest_junction_c.or(run.hottest_board_c);
    let Some(air) = run.air_side.as_mut().filter(|_| run.state == RunState::Steady) else { return Ok(()) };
    let back = SurfaceKind::BaseBack.looks(facing);
    air.what_ifs.clear();
    for (change, changed) in CHANGES.into_iter().filter_map(|change| Some((change, change.of(side, back)?))) {
        if change == Change::UpsideDown {
            model.turn(upside_down(facing))?;
        } else {
            model.adjust(None, Some(Cooling::Air(Box::new(changed))))?;
        }
        let then = model.run(run.current_a, run.ambient_c, cancel);
        model.turn(facing)?;
        model.adjust(None, Some(Cooling::Air(side.clone())))?;
        let then = then?;
        air.what_ifs.push(AirWhatIfFinding {
            what: change.words().to_owned(),
            solved: true,
            steady: then.state == RunState::Steady,
            k_per_w: then.air_side.as_ref().map(|air| air.k_per_w),
            hotter_k: then
                .hottest_junction_c
                .or(then.hottest_board_c)
                .zip(now_c)
                .map(|(then, now)| then - now),
            hottest_junction_c: then.hottest_junction_c,
            flow_l_per_s: then.air_side.and_then(|air| air.fan).filter(|f| !f.stands).map(|f| f.flow_l_per_s),
        });
    }
    Ok(())
}

//! What changes of the cooling would do: a lamp solved with its fan, vents and facing changed.

use std::sync::atomic::AtomicBool;

use crate::as_built::{Cooling, Facing};
use crate::cooling::air_side::AirSide;
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

/// The lamp's other way round; one on its side has none.
fn upside_down(facing: Facing) -> Facing {
    match facing {
        Facing::Up => Facing::Down,
        Facing::Down => Facing::Up,
        Facing::Sideways => Facing::Sideways,
    }
}

/// Solves the lamp with each change of its cooling, at the current and room of `now`, the model's run as it stands. The model is
/// left with its cooling and facing as they were. Nothing without an air side, or where there is no steady state now.
///
/// # Errors
/// When cancelled, or when a solve fails.
pub fn air_what_ifs(
    model: &mut Model,
    now: &Run,
    cancel: &AtomicBool,
    tell: &mut dyn FnMut(&str),
) -> Result<Vec<AirWhatIfFinding>, ModelError> {
    let Some(Cooling::Air(side)) = model.cooling().cloned() else { return Ok(Vec::new()) };
    if now.air_side.is_none() || now.state != RunState::Steady {
        return Ok(Vec::new());
    }
    let facing = model.facing();
    let back = SurfaceKind::BaseBack.looks(facing);
    let mut all = Vec::new();
    for (change, changed) in CHANGES.into_iter().filter_map(|change| Some((change, change.of(&side, back)?)))
    {
        tell(change.words());
        let begun = if change == Change::UpsideDown {
            model.turn(upside_down(facing))
        } else {
            model.adjust(None, Some(Cooling::Air(Box::new(changed))))
        };
        let then = begun.and_then(|()| model.run(now.current_a, now.ambient_c, cancel));
        model.turn(facing)?;
        model.adjust(None, Some(Cooling::Air(side.clone())))?;
        all.push(finding(change, now, then?));
    }
    Ok(all)
}

fn finding(change: Change, now: &Run, then: Run) -> AirWhatIfFinding {
    let hottest = |run: &Run| run.hottest_junction_c.or(run.hottest_board_c);
    AirWhatIfFinding {
        what: change.words().to_owned(),
        steady: then.state == RunState::Steady,
        k_per_w: then.air_side.as_ref().map(|air| air.k_per_w),
        hotter_k: hottest(&then).zip(hottest(now)).map(|(then, now)| then - now),
        hottest_junction_c: then.hottest_junction_c,
        flow_l_per_s: then.air_side.and_then(|air| air.fan).filter(|f| !f.stands).map(|f| f.flow_l_per_s),
    }
}

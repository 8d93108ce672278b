//! The way of the heat from a junction to the room, as a staircase of kelvins.

use crate::air_finding::{AirParts, air_parts};
use crate::as_built::{LayerKind, Variant};
use crate::findings::HeatStep;
use crate::gridding::Footprint;
use crate::stage::Stage;

/// Rises of the levels the staircases of all emitters stand on, K, a value for each column.
pub(crate) struct Levels {
    has_core: bool,
    core_front: Vec<f64>,
    board_back: Vec<f64>,
    base_front: Option<Vec<f64>>,
    base_back: Option<Vec<f64>>,
    air: Option<AirParts>,
}

impl Levels {
    pub fn new(stage: &Stage, variant: &Variant) -> Self {
        let planes = &stage.gridded.planes;
        let core = variant.layers.iter().position(|l| l.kind == LayerKind::Core);
        let core_plane = planes.iter().position(|p| p.layer.is_some() && p.layer == core);
        let last_of_board = stage.gridded.board_planes().saturating_sub(1);
        let base = (last_of_board + 1 < planes.len()).then_some(last_of_board + 1);
        Self {
            has_core: core_plane.is_some(),
            core_front: core_plane.map_or_else(Vec::new, |p| stage.upper_face_k(p)),
            board_back: stage.lower_face_k(last_of_board),
            base_front: base.map(|p| stage.upper_face_k(p)),
            base_back: base.map(|_| stage.lower_face_k(planes.len() - 1)),
            air: base.and_then(|_| air_parts(stage)),
        }
    }

    /// Staircase of an emitter: junction and solder point given in degC.
    pub fn staircase(
        &self,
        footprint: &Footprint,
        junction_c: f64,
        solder_c: f64,
        ambient_c: f64,
    ) -> Vec<HeatStep> {
        let mean =
            |values: &[f64]| ambient_c + footprint.mean(|c| values.get(c).copied().unwrap_or(f64::NAN));
        let on_base = |values: &&Vec<f64>| {
            footprint.part_where(|c| values.get(c).is_some_and(|v| v.is_finite())) > 0.999
        };
        let mut stairs = Stairs { at_c: junction_c, at: "junction".into(), steps: Vec::new() };
        stairs.step("package", "solder point", solder_c);
        if self.has_core {
            stairs.step("dielectric", "front of the core", mean(&self.core_front));
            stairs.step("core", "back of the board", mean(&self.board_back));
        } else {
            stairs.step("board", "back of the board", mean(&self.board_back));
        }
        if let (Some(front), Some(back)) =
            (self.base_front.as_ref().filter(on_base), self.base_back.as_ref().filter(on_base))
        {
            stairs.step("bond", "front of the heatsink base", mean(front));
            stairs.step("base", "back of the heatsink base", mean(back));
            if let Some(air) = self.air.as_ref() {
                stairs.through_air(air, ambient_c);
                return stairs.steps;
            }
        }
        stairs.step("air", "room", ambient_c);
        stairs.steps
    }
}

struct Stairs {
    at_c: f64,
    at: String,
    steps: Vec<HeatStep>,
}

impl Stairs {
    /// From the base's back over fins and film to the air, back along its warming, and out of the housing.
    fn through_air(&mut self, air: &AirParts, ambient_c: f64) {
        let inlet_c = ambient_c + air.housing_k;
        let inlet = if air.housing_k > 0.0 { "air in the housing" } else { "room" };
        match air.warming_k {
            Some(warming_k) => {
                self.step("fins", "air between the fins", inlet_c + warming_k);
                self.step("warming", inlet, inlet_c);
            }
            None => self.step("fins", inlet, inlet_c),
        }
        if air.housing_k > 0.0 {
            self.step("housing", "room", ambient_c);
        }
    }

    fn step(&mut self, step: &'static str, to: &str, to_c: f64) {
        self.steps.push(HeatStep {
            step,
            from: std::mem::replace(&mut self.at, to.into()),
            to: to.into(),
            from_c: self.at_c,
            to_c,
            drop_k: self.at_c - to_c,
            lowered_by: lowered_by(step).into(),
        });
        self.at_c = to_c;
    }
}

/// What would make a step lower.
fn lowered_by(step: &str) -> &'static str {
    match step {
        "package" => {
            "An emitter with a lower junction-to-solder resistance, or less current in each of more emitters."
        }
        "dielectric" => {
            "A dielectric that conducts better or is thinner, or more copper around the thermal land so that the heat crosses on a larger area."
        }
        "core" => "A core that conducts better; a thicker one spreads the heat further before the bond.",
        "board" => "More or filled thermal vias under the thermal land, a thinner board, or a metal core.",
        "bond" => {
            "A thinner or better conducting thermal interface, even pressure, and flat, burr-free faces."
        }
        "base" => "A thicker or better conducting heatsink base, or emitters spread further apart.",
        "fins" => {
            "More fin area, faster air between the fins (more fan voltage, a stronger fan), or fins that conduct better."
        }
        "warming" => {
            "More air: more fan voltage, wider gaps between the fins, larger vents; or a cooler room."
        }
        "housing" => {
            "Larger vents or more height between them, walls that conduct, or the heatsink outside the housing."
        }
        _ => "A heatsink with a lower resistance to the room: more fin area, more air, or a cooler room.",
    }
}

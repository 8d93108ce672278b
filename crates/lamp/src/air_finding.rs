//! Where the heat leaves, what the air side does, what may burn: from a settled stage to findings.

use crate::air_what_if;
use crate::cooling::air_side::{AirSide, AirState, FanState, warming};
use crate::cooling::burn_threshold::{BURN_SOURCE, Contact, TouchMaterial, burn_threshold_c_iso_13732};
use crate::findings::{
    AirSideFinding, CopperFinding, FanFinding, PressureFinding, TouchFinding, WayOutFinding,
};
use crate::stage::Stage;

/// Ways out, largest first; the leads' loss stands last, for it does not come from the board.
pub(crate) fn ways_out(stage: &Stage, copper: Option<&CopperFinding>) -> Vec<WayOutFinding> {
    let mut all: Vec<WayOutFinding> = stage
        .ways_out()
        .into_iter()
        .map(|(words, convection_w, radiation_w)| WayOutFinding {
            way: words.to_owned(),
            heat_w: convection_w + radiation_w,
            convection_w,
            radiation_w,
            from_board: true,
        })
        .collect();
    if stage.air().is_some()
        && let Some(back) = all.iter_mut().find(|way| way.way == "the heatsink base's back")
    {
        back.way = "the heatsink's fins and back".to_owned();
    }
    all.sort_by(|a, b| b.heat_w.total_cmp(&a.heat_w));
    if let Some(leads_w) = copper.map(|c| c.leads_w).filter(|w| *w > 0.0) {
        all.push(WayOutFinding {
            way: "the supplies' leads".to_owned(),
            heat_w: leads_w,
            convection_w: leads_w,
            radiation_w: 0.0,
            from_board: false,
        });
    }
    all
}

/// What of the way from the heatsink's back to the room lies in the air itself, mean over the fins.
pub(crate) struct AirParts {
    /// Half of what the air warms by on its way, K; `None` without a fan that turns.
    pub warming_k: Option<f64>,
    /// Air inside the housing above the room, K.
    pub housing_k: f64,
}

impl AirParts {
    fn of(state: &AirState, convection_w: f64) -> Self {
        Self { warming_k: warming(state, convection_w).map(|k| 0.5 * k), housing_k: state.inlet_rise_k }
    }
}

/// The air's parts at the state found; `None` where the heatsink is not given by its dimensions.
pub(crate) fn air_parts(stage: &Stage) -> Option<AirParts> {
    let (_, state, _) = stage.air()?;
    let (_, convection_w, _) = stage.back()?;
    Some(AirParts::of(state, convection_w))
}

/// The air side at the state found.
pub(crate) fn air_side(stage: &Stage, ambient_c: f64) -> Option<AirSideFinding> {
    let (side, state, back) = stage.air()?;
    let (rise_k, convection_w, radiation_w) = stage.back()?;
    let heat_w = convection_w + radiation_w;
    let leaves_k = warming(state, convection_w);
    let parts = AirParts::of(state, convection_w);
    let housing_k = parts.housing_k;
    let warming_k = parts.warming_k.unwrap_or(0.0);
    let walls_w = side.housing.as_ref().filter(|_| housing_k > 0.0).map(|housing| housing.walls_w(housing_k));
    Some(AirSideFinding {
        back_c: ambient_c + rise_k,
        k_per_w: if heat_w > 0.0 { rise_k / heat_w } else { 0.0 },
        air_in_c: ambient_c + housing_k,
        air_out_c: leaves_k.map(|k| ambient_c + housing_k + k),
        fins_k: rise_k - warming_k - housing_k,
        warming_k,
        housing_k,
        walls_w,
        vents_w: walls_w.map(|walls_w| heat_w - walls_w),
        draught_l_per_s: 1e3 * state.draught_m3_per_s,
        fan: state.fan.as_ref().and_then(|fan| fan_finding(side, fan)),
        what_ifs: air_what_if::about(side, back, heat_w, ambient_c),
    })
}

fn fan_finding(side: &AirSide, fan: &FanState) -> Option<FanFinding> {
    let fans = side.fans.as_ref()?;
    let pairs = |points: &[(f64, f64)]| points.iter().map(|(q, p)| [1e3 * q, *p]).collect();
    Some(FanFinding {
        count: fans.count,
        voltage_v: fans.voltage_v,
        rated_v: fans.rated_v,
        stands: fan.stands,
        flow_l_per_s: 1e3 * fan.flow_m3_per_s,
        pressure_pa: fan.pressure_pa,
        speed_m_per_s: fan.velocity_m_per_s,
        reynolds: fan.reynolds,
        spent: fan
            .parts
            .iter()
            .map(|p| PressureFinding { what: p.what.clone(), pressure_pa: p.pressure_pa })
            .collect(),
        curve: pairs(&fan.curve),
        system: pairs(&fan.system),
    })
}

/// Surfaces within reach: the board's emitter side, the heatsink and, where there is one, the housing.
pub(crate) fn touch(stage: &Stage, ambient_c: f64, hottest_board_c: Option<f64>) -> Vec<TouchFinding> {
    let mut all = Vec::new();
    let mut add = |surface: &str, material: TouchMaterial, hottest_c: f64| {
        let at = |contact| burn_threshold_c_iso_13732(material, contact);
        let contacts =
            [("1 s", Contact::OneSecond), ("10 s", Contact::TenSeconds), ("1 min", Contact::OneMinute)];
        all.push(TouchFinding {
            surface: surface.to_owned(),
            material: if material == TouchMaterial::Metal { "metal" } else { "plastic" },
            hottest_c,
            burns_in_1_s_c: at(Contact::OneSecond),
            burns_in_10_s_c: at(Contact::TenSeconds),
            burns_in_1_min_c: at(Contact::OneMinute),
            burns_within: contacts.into_iter().find(|(_, c)| hottest_c >= at(*c)).map(|(words, _)| words),
            source: BURN_SOURCE,
        });
    };
    if let Some(hottest) = hottest_board_c {
        add("the board's emitter side", TouchMaterial::Plastic, hottest);
    }
    let base = stage.gridded.board_planes();
    if base < stage.gridded.planes.len() {
        let hottest = stage.upper_face_k(base).into_iter().filter(|k| k.is_finite()).reduce(f64::max);
        if let Some(rise) = hottest {
            add("the heatsink", TouchMaterial::Metal, ambient_c + rise);
        }
    }
    if let Some((side, state, _)) = stage.air()
        && side.housing.is_some()
        && state.inlet_rise_k > 0.0
    {
        // With still air on both sides the wall stands half way between inside and room.
        add("the housing", TouchMaterial::Metal, ambient_c + 0.5 * state.inlet_rise_k);
    }
    all
}

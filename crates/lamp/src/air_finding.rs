//! Where the heat leaves, what the air side does, what may burn: from a settled stage to findings.

use crate::cooling::ZERO_C_IN_K;
use crate::cooling::air_side::{AirSide, AirState, FanState, out_of_the_housing, warming};
use crate::cooling::burn_threshold::{BURN_SOURCE, Contact, TouchMaterial, burn_threshold_c_iso_13732};
use crate::findings::{
    AirSideFinding, CopperFinding, FanFinding, PressureFinding, TouchFinding, WayOutFinding,
};
use crate::gridding::SurfaceKind;
use crate::stage::Stage;

/// Where every watt leaves and the sum, W: the heat's ways, largest first, each followed by its parts; then what does not come from the
/// board.
pub(crate) fn ways_out(
    stage: &Stage,
    ambient_c: f64,
    copper: Option<&CopperFinding>,
    radiant_w: f64,
) -> (Vec<WayOutFinding>, f64) {
    let row = |name, words: &str, heat_w, by: Option<(f64, f64)>| WayOutFinding {
        name,
        way: words.to_owned(),
        heat_w,
        convection_w: by.map(|by| by.0),
        radiation_w: by.map(|by| by.1),
        part_of: None,
        from_board: true,
    };
    let has_air = stage.air().is_some();
    let mut faces: Vec<WayOutFinding> = stage
        .ways_out()
        .into_iter()
        .map(|(kind, convection_w, radiation_w)| {
            let (name, words) = match kind {
                SurfaceKind::BoardTop => ("board_face", kind.words()),
                SurfaceKind::BoardBack => ("board_back", kind.words()),
                SurfaceKind::BaseFront => ("base_front", kind.words()),
                SurfaceKind::BaseBack if has_air => ("fins", "the heatsink's fins and back"),
                SurfaceKind::BaseBack => ("base_back", kind.words()),
            };
            // A maker's figure does not tell film and radiation apart.
            let apart = name != "fins" || stage.air().is_none_or(|air| air.0.stated.is_none());
            row(name, words, convection_w + radiation_w, apart.then_some((convection_w, radiation_w)))
        })
        .collect();
    faces.sort_by(|a, b| b.heat_w.total_cmp(&a.heat_w));
    let mut all = Vec::new();
    for face in faces {
        let is_fins = face.name == "fins";
        all.push(face);
        if let Some((walls_w, vents_w)) = through_the_housing(stage, ambient_c).filter(|_| is_fins) {
            let part = |row: WayOutFinding| WayOutFinding { part_of: Some("fins"), ..row };
            all.push(part(row("walls", "the housing's walls", walls_w, None)));
            if vents_w > 0.0 {
                let by = Some((vents_w, 0.0));
                all.push(part(row("vents", "the air through the housing's vents", vents_w, by)));
            }
        }
    }
    let beside = |row: WayOutFinding| WayOutFinding { from_board: false, ..row };
    if let Some(leads_w) = copper.map(|c| c.leads_w).filter(|w| *w > 0.0) {
        all.push(beside(row("leads", "the supplies' leads", leads_w, None)));
    }
    if radiant_w > 0.0 {
        all.push(beside(row("light", "the light", radiant_w, None)));
    }
    let sum_w = all.iter().filter(|way| way.part_of.is_none()).map(|way| way.heat_w).sum();
    (all, sum_w)
}

/// What of the fins' heat leaves the housing by its walls and with the air through its vents, W.
///
/// Where the air inside is warm, in the proportion of the housing's own balance. Where the fan draws the room's air, that air carries
/// what the fins give to it; what they radiate meets the walls.
fn through_the_housing(stage: &Stage, ambient_c: f64) -> Option<(f64, f64)> {
    let (side, state, _) = stage.air()?;
    let (_, convection_w, radiation_w) = stage.back()?;
    let housing = side.housing.as_ref()?;
    if let Some((walls_w, vents_w)) = out_of_the_housing(side, state, ambient_c + ZERO_C_IN_K) {
        let share = (convection_w + radiation_w) / (walls_w + vents_w).max(f64::MIN_POSITIVE);
        return Some((share * walls_w, share * vents_w));
    }
    let turns = state.fan.as_ref().is_some_and(|fan| !fan.stands);
    (housing.fan_in_wall && turns).then_some((radiation_w, convection_w))
}

/// What of the way from the heatsink's back to the room lies in the air itself, mean over the fins.
pub(crate) struct AirParts {
    /// Half of what the air warms by on its way, K; `None` without a fan that turns.
    pub warming_k: Option<f64>,
    /// Air inside the housing above the room, K.
    pub housing_k: f64,
}

impl AirParts {
    fn of(state: &AirState, convection_w: f64, rise_k: f64) -> Self {
        Self {
            warming_k: warming(state, convection_w, rise_k).map(|k| 0.5 * k),
            housing_k: state.inlet_rise_k,
        }
    }
}

/// The air's parts at the state found; `None` where the heatsink is not given by its dimensions.
pub(crate) fn air_parts(stage: &Stage) -> Option<AirParts> {
    let (_, state, _) = stage.air()?;
    let (rise_k, convection_w, _) = stage.back()?;
    Some(AirParts::of(state, convection_w, rise_k))
}

/// The air side at the state found.
pub(crate) fn air_side(stage: &Stage, ambient_c: f64) -> Option<AirSideFinding> {
    let (side, state, _) = stage.air()?;
    let (rise_k, convection_w, radiation_w) = stage.back()?;
    let heat_w = convection_w + radiation_w;
    let leaves_k = warming(state, convection_w, rise_k);
    let parts = AirParts::of(state, convection_w, rise_k);
    let housing_k = parts.housing_k;
    let warming_k = parts.warming_k.unwrap_or(0.0);
    let out = through_the_housing(stage, ambient_c).filter(|_| housing_k > 0.0);
    Some(AirSideFinding {
        back_c: ambient_c + rise_k,
        k_per_w: if heat_w > 0.0 { rise_k / heat_w } else { 0.0 },
        air_in_c: ambient_c + housing_k,
        air_out_c: leaves_k.map(|k| ambient_c + housing_k + k),
        fins_k: rise_k - warming_k - housing_k,
        warming_k,
        housing_k,
        walls_w: out.map(|out| out.0),
        vents_w: out.map(|out| out.1),
        draught_l_per_s: 1e3 * state.draught_m3_per_s,
        fan: state.fan.as_ref().and_then(|fan| fan_finding(side, fan)),
        what_ifs: Vec::new(),
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
        speed_m_per_s: side.has_channels().then_some(fan.velocity_m_per_s),
        reynolds: side.has_channels().then_some(fan.reynolds),
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

//! Where the heat leaves, what the air side does, what may burn: from a settled stage to findings.

use crate::cooling::ZERO_C_IN_K;
use crate::cooling::air_side::{AirSide, AirState, FanState, lumped, warming};
use crate::cooling::burn_threshold::{BURN_SOURCE, Contact, TouchMaterial, burn_threshold_c_iso_13732};
use crate::cooling::natural_convection::Orientation;
use crate::findings::{
    AirSideFinding, AirWhatIfFinding, CopperFinding, FanFinding, PressureFinding, TouchFinding, WayOutFinding,
};
use crate::stage::Stage;

/// What dust takes of the vents' free area.
const DUST: f64 = 0.3;

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

/// The air side at the state found.
pub(crate) fn air_side(stage: &Stage, ambient_c: f64) -> Option<AirSideFinding> {
    let (side, state, back) = stage.air()?;
    let (rise_k, convection_w, radiation_w) = stage.back()?;
    let heat_w = convection_w + radiation_w;
    let leaves_k = warming(state, convection_w);
    let housing_k = state.inlet_rise_k;
    let warming_k = 0.5 * leaves_k.unwrap_or(0.0);
    Some(AirSideFinding {
        back_c: ambient_c + rise_k,
        k_per_w: if heat_w > 0.0 { rise_k / heat_w } else { 0.0 },
        air_in_c: ambient_c + housing_k,
        air_out_c: leaves_k.map(|k| ambient_c + housing_k + k),
        fins_k: rise_k - warming_k - housing_k,
        warming_k,
        housing_k,
        draught_l_per_s: 1e3 * state.draught_m3_per_s,
        fan: state.fan.as_ref().and_then(|fan| fan_finding(side, fan)),
        what_ifs: what_ifs(side, state, back, heat_w, ambient_c),
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

/// Half the fan's voltage, no fan, the lamp upside down, dust in the vents.
fn what_ifs(
    side: &AirSide,
    state: &AirState,
    back: Orientation,
    heat_w: f64,
    ambient_c: f64,
) -> Vec<AirWhatIfFinding> {
    let ambient_k = ambient_c + ZERO_C_IN_K;
    let now = lumped(side, back, heat_w, ambient_k);
    let mut all = Vec::new();
    let mut add = |what: &str, side: &AirSide, back: Orientation| {
        let then = lumped(side, back, heat_w, ambient_k);
        all.push(AirWhatIfFinding {
            what: what.to_owned(),
            k_per_w: if heat_w > 0.0 { then.rise_k / heat_w } else { 0.0 },
            hotter_k: then.rise_k - now.rise_k,
            flow_l_per_s: then.state.fan.filter(|fan| !fan.stands).map(|fan| 1e3 * fan.flow_m3_per_s),
        });
    };
    if let Some(fans) = side.fans.as_ref().filter(|_| state.fan.as_ref().is_some_and(|f| !f.stands)) {
        let at = |voltage_v: f64| {
            let mut changed = side.clone();
            changed.fans = Some(crate::cooling::air_side::FanSet { voltage_v, ..fans.clone() });
            changed
        };
        add("the fan at half its voltage", &at(0.5 * fans.voltage_v), back);
        add("the fan stopped", &at(0.0), back);
    }
    let turned = match back {
        Orientation::Up => Orientation::Down,
        Orientation::Down => Orientation::Up,
        Orientation::Sideways => Orientation::Sideways,
    };
    if turned != back {
        add("the lamp upside down", side, turned);
    }
    if !side.vents.is_empty() {
        let mut dusty = side.clone();
        dusty.vents.iter_mut().for_each(|vent| vent.area_m2 *= 1.0 - DUST);
        add("dust on 30 % of the vents", &dusty, back);
    }
    all
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

//! The heatsink's air side: fins, fan, vents and housing as written, and a maker's stated resistance.

use super::document::Section;
use crate::as_built::Cooling;
use crate::cooling::air_side::{AirSide, FanSet, Fins, FlowWay, Housing, Stated, Vent, between};
use crate::cooling::fan::FanCurve;
use crate::cooling::spreading::resistance_disc_on_plate_lee;
use crate::material::Material;

/// A fan stands below this part of its rated voltage (common practice, no source).
const STALL: f64 = 0.4;

/// The tables beside [heatsink] that say how the air moves.
#[derive(Clone, Default)]
pub(super) struct Tables<'a> {
    fan: Option<Section<'a>>,
    vents: Vec<Section<'a>>,
    housing: Option<Section<'a>>,
}

impl<'a> Tables<'a> {
    /// Those of a table.
    pub fn of(section: &Section<'a>) -> Self {
        Self {
            fan: section.section("fan"),
            vents: section.sections("vent"),
            housing: section.section("housing"),
        }
    }

    /// These, and others where one is missing.
    pub fn or(self, other: &Self) -> Self {
        Self {
            fan: self.fan.or(other.fan),
            vents: if self.vents.is_empty() { other.vents.clone() } else { self.vents },
            housing: self.housing.or(other.housing),
        }
    }
}

/// Emissivity of the finish: bare aluminium and paint as in the materials table's sources, anodising 0.77 to 0.9 there.
pub(super) fn emissivity(section: &Section<'_>) -> f64 {
    match section.choice_or_default("finish") {
        "bare" => 0.09,
        "painted" => 0.92,
        _ => 0.8,
    }
}

/// Fins by their dimensions; the inner `None` when something of them is missing or wrong, which is told.
pub(super) fn fins(
    section: &Section<'_>,
    air: &Tables<'_>,
    base: Option<[f64; 2]>,
    material: Option<&Material>,
) -> Option<Option<AirSide>> {
    if section.choice("fins").is_none() && !section.has("fins") {
        return None;
    }
    Some(side(section, air, base, material, section.choice("fins")))
}

/// An air side with these fins; `None` when something of it is missing or wrong, which is told.
fn side(
    section: &Section<'_>,
    air: &Tables<'_>,
    base: Option<[f64; 2]>,
    material: Option<&Material>,
    kind: Option<&str>,
) -> Option<AirSide> {
    let along_y = section.choice_or_default("channels") == "along y";
    let dimensions = Dimensions::read(section);
    let emissivity = emissivity(section);
    let (fans, filter_pa_s_per_m3) = fan(air.fan.as_ref());
    let vents = air.vents.iter().map(vent).collect();
    let housing = air.housing.as_ref().map(housing);
    let side = || -> Option<AirSide> {
        let ([x, y], material) = (base?, material?);
        let (along_m, across_m) = if along_y { (y, x) } else { (x, y) };
        let fins = match kind? {
            "plates" => dimensions.plates(section, across_m)?,
            "pins" => dimensions.pins(section, along_m, across_m, along_y)?,
            _ => Fins::Plain,
        };
        if air.fan.is_some() && fans.is_none() {
            return None;
        }
        Some(AirSide {
            along_m,
            across_m,
            along_y,
            fins,
            fin_w_per_m_k: material.kz_w_per_m_k,
            emissivity,
            fans,
            vents,
            filter_pa_s_per_m3,
            housing,
            stated: None,
        })
    };
    if let Some(housing) = air.housing.as_ref().filter(|_| air.vents.is_empty()) {
        housing.warn("wall_area", "the housing has no [[vent]]: its heat leaves through the walls alone");
    }
    side()
}

/// Dimensions of fins as written.
struct Dimensions {
    count: Option<f64>,
    pins: Option<[f64; 2]>,
    height: Option<f64>,
    thickness: Option<f64>,
    gap: Option<f64>,
}

impl Dimensions {
    fn read(section: &Section<'_>) -> Self {
        Self {
            count: section.value("fin_count"),
            pins: section.pair("pin_count"),
            height: section.value("fin_height"),
            thickness: section.value("fin_thickness"),
            gap: section.value("fin_gap"),
        }
    }

    fn missing(section: &Section<'_>, keys: &[&str]) {
        let missing: Vec<&str> = keys.iter().copied().filter(|key| !section.has(key)).collect();
        if !missing.is_empty() {
            section.error("fins", format!("fins of this kind need {}", missing.join(", ")));
        }
    }

    fn plates(&self, section: &Section<'_>, across_m: f64) -> Option<Fins> {
        Self::missing(section, &["fin_count", "fin_height", "fin_thickness"]);
        let (count, height_m, thickness_m) = (self.count?.round(), self.height?, self.thickness?);
        let left_m = (across_m - count * thickness_m) / (count - 1.0).max(1.0);
        if left_m <= 1e-4 {
            section.error(
                "fin_count",
                format!(
                    "{count} fins of {:.2} mm leave no gap on {:.1} mm of base: at least 0.1 mm between fins is needed",
                    1e3 * thickness_m,
                    1e3 * across_m
                ),
            );
            return None;
        }
        let gap_m = match self.gap {
            Some(gap) if gap > left_m * 1.001 => {
                section.error(
                    "fin_gap",
                    format!(
                        "{count} fins with gaps of {:.2} mm are wider than the base: {:.2} mm is the most",
                        1e3 * gap,
                        1e3 * left_m
                    ),
                );
                return None;
            }
            Some(gap) => gap,
            None => left_m,
        };
        Some(Fins::Plates { count: count as u32, height_m, thickness_m, gap_m })
    }

    fn pins(&self, section: &Section<'_>, along_m: f64, across_m: f64, along_y: bool) -> Option<Fins> {
        Self::missing(section, &["pin_count", "fin_height", "fin_thickness"]);
        let ([nx, ny], height_m, diameter_m) = (self.pins?, self.height?, self.thickness?);
        let (along, across) = if along_y { (ny.round(), nx.round()) } else { (nx.round(), ny.round()) };
        if along * diameter_m >= 0.95 * along_m || across * diameter_m >= 0.95 * across_m {
            section.error(
                "pin_count",
                "the pins leave no gaps between them on this base; give fewer or thinner ones",
            );
            return None;
        }
        Some(Fins::Pins { count: [along as u32, across as u32], height_m, diameter_m })
    }
}

/// Fans and the pressure of a filter over its flow, Pa per m³/s.
fn fan(section: Option<&Section<'_>>) -> (Option<FanSet>, f64) {
    let Some(section) = section else { return (None, 0.0) };
    let curve = section.curve("curve").and_then(|points| match FanCurve::new(points) {
        Ok(curve) => Some(curve),
        Err(text) => {
            section.error("curve", text);
            None
        }
    });
    let rated = section.value("rated");
    let voltage = section.value("voltage");
    let stall = section.value("stall");
    let count = section.value_or_default("count").round();
    let way = if section.choice_or_default("blows") == "along" { FlowWay::Along } else { FlowWay::Onto };
    let upwards = section.choice_or_default("towards") == "up";
    let filter = section.curve("filter").and_then(|points| points.last().copied());
    let filter = match filter {
        Some((flow, pressure)) if flow > 0.0 => pressure / flow,
        Some(_) => {
            section.error(
                "filter",
                "a filter's pressure is given at a flow above 0, such as [[\"4 l/s\", \"6 Pa\"]]",
            );
            0.0
        }
        None => 0.0,
    };
    let (Some(curve), Some(rated_v)) = (curve, rated) else { return (None, filter) };
    let voltage_v = voltage.unwrap_or(rated_v);
    if voltage_v > 1.2 * rated_v {
        section.warn(
            "voltage",
            format!("{voltage_v} V is well above the fan's {rated_v} V: it will not live long"),
        );
    }
    let stall_v = stall.unwrap_or(STALL * rated_v);
    (Some(FanSet { curve, rated_v, voltage_v, stall_v, count: count as u32, way, upwards }), filter)
}

fn vent(section: &Section<'_>) -> Vent {
    Vent {
        name: section.text_or_default("name"),
        area_m2: section.value("area").unwrap_or(1e-6),
        count: section.value_or_default("count").round() as u32,
        loss: section.value_or_default("loss"),
    }
}

fn housing(section: &Section<'_>) -> Housing {
    Housing {
        wall_m2: section.value("wall_area").unwrap_or(0.0),
        wall_w_per_m2_k: section.value_or_default("wall_h"),
        height_m: section.value_or_default("vent_height"),
        fan_in_wall: section.flag_or_default("fan_in_wall"),
    }
}

/// A stated resistance, plain or from a maker's table, as cooling of the base's back; the inner `None` when it is wrong.
pub(super) fn stated(
    section: &Section<'_>,
    base: Option<[f64; 2]>,
    thickness_m: Option<f64>,
    material: Option<&Material>,
) -> Option<Option<Cooling>> {
    let plain = section.value("resistance");
    let by_flow =
        section.curve("resistance_by_flow").map(|curve| (curve, section.value("at_flow"), "at_flow"));
    let by_speed =
        section.curve("resistance_by_speed").map(|curve| (curve, section.value("at_speed"), "at_speed"));
    let source = section.pair("stated_source");
    let given: Vec<&str> = ["resistance", "resistance_by_flow", "resistance_by_speed"]
        .into_iter()
        .filter(|key| section.has(key))
        .collect();
    let key = *given.first()?;
    if given.len() > 1 {
        section.error(key, format!("give only one of {} for the heatsink", given.join(", ")));
        return Some(None);
    }
    let k_per_w = match (plain, by_flow.or(by_speed)) {
        (Some(k_per_w), _) => k_per_w,
        (None, Some((curve, Some(at), at_key))) => {
            let (first, last) = (curve.first()?.0, curve.last()?.0);
            if !(first..=last).contains(&at) {
                section.error(
                    at_key,
                    format!(
                        "the maker's table goes from {first} to {last} (SI), and {at} lies outside of it"
                    ),
                );
                return Some(None);
            }
            between(&curve, at)
        }
        (None, Some((_, None, at_key))) => {
            section.error(
                key,
                format!(
                    "the maker's table needs \"{at_key}\" to be read at, or a [fan] whose flow is then found"
                ),
            );
            return Some(None);
        }
        (None, None) => return Some(None),
    };
    if k_per_w <= 0.0 {
        section.error(key, "a resistance of 0 K/W is none: it must be more");
        return Some(None);
    }
    let Some(source) = source else { return Some(Some(Cooling::Resistance { k_per_w })) };
    let (Some(base), Some(thickness_m), Some(material)) = (base, thickness_m, material) else {
        return Some(None);
    };
    let film = behind_source(section, key, k_per_w, (source, base), (thickness_m, material));
    Some(film.map(|h_w_per_m2_k| Cooling::Film { h_w_per_m2_k }))
}

/// A maker's table joined with the fan, which finds the flow at which it is read; the inner `None` when something is missing or wrong.
/// The outer one where there is no table, no fan, or the flow or speed is given.
pub(super) fn joined(
    section: &Section<'_>,
    air: &Tables<'_>,
    base: Option<[f64; 2]>,
    thickness_m: Option<f64>,
    material: Option<&Material>,
) -> Option<Option<AirSide>> {
    let by_speed = section.has("resistance_by_speed");
    let (key, at_key, pressure_key) = if by_speed {
        ("resistance_by_speed", "at_speed", "pressure_by_speed")
    } else {
        ("resistance_by_flow", "at_flow", "pressure_by_flow")
    };
    if !section.has(key) || section.has(at_key) || air.fan.is_none() {
        return None;
    }
    let table = section.curve(key);
    let pressure = section.curve(pressure_key);
    let area_m2 = section.value("speed_area");
    let source = section.pair("stated_source");
    let kind = if section.has("fins") { section.choice("fins") } else { Some("none") };
    let side = side(section, air, base, material, kind);
    let join = || -> Option<AirSide> {
        let others = ["resistance", if by_speed { "resistance_by_flow" } else { "resistance_by_speed" }];
        if let Some(other) = others.into_iter().find(|other| section.has(other)) {
            section.error(key, format!("give only one of {key} and {other} for the heatsink"));
            return None;
        }
        let (mut side, table, base, thickness_m, material) = (side?, table?, base?, thickness_m?, material?);
        if by_speed && area_m2.is_none() {
            section.error(
                key,
                "a table over speed needs \"speed_area\", the cross-section over which its maker means the speed, to be joined with [fan]; or                  \"at_speed\" without the fan",
            );
            return None;
        }
        // What is over the speed becomes over the flow.
        let to_flow = if by_speed { area_m2? } else { 1.0 };
        let flows =
            |curve: Vec<(f64, f64)>| curve.into_iter().map(|(x, y)| (x * to_flow, y)).collect::<Vec<_>>();
        if pressure.is_none() && !section.has(pressure_key) && matches!(side.fins, Fins::Plain) {
            section.error(
                key,
                format!(
                    "the flow through the heatsink cannot be found: give its maker's pressure drop as \"{pressure_key}\", or fins = \"plates\" \
                     with fin_count, fin_height and fin_thickness, whose channels then ask for the pressure; or \"{at_key}\" without the fan"
                ),
            );
            return None;
        }
        let mut points = flows(table);
        for (_, k_per_w) in &mut points {
            let from_back = match source {
                Some(source) => {
                    behind_source(section, key, *k_per_w, (source, base), (thickness_m, material))?.recip()
                        / side.back_m2()
                }
                None => *k_per_w,
            };
            if from_back <= 0.0 {
                section.error(key, "a resistance of 0 K/W is none: it must be more");
                return None;
            }
            *k_per_w = from_back;
        }
        let holds_for = match source {
            Some([x, y]) => format!(
                "it is stated for a source of {:.1} x {:.1} mm in the middle of a base like this one, whose own part is taken off",
                1e3 * x,
                1e3 * y
            ),
            None => "no source is stated for it (stated_source): it is taken from the base's back, so that a base which its maker's figure \
                     holds is counted twice"
                .to_owned(),
        };
        side.stated =
            Some(Stated { k_per_w_by_flow: points, pressure_by_flow: pressure.map(flows), holds_for });
        if side.is_unknown() {
            section.error(
                key,
                "the fan stands, and the table says nothing of still air: give a point at a flow of 0, or a voltage at which the fan turns",
            );
            return None;
        }
        Some(side)
    };
    Some(join())
}

/// The film behind the base for a stated resistance from a source on it, W/m²/K; what stands against it is told.
fn behind_source(
    section: &Section<'_>,
    key: &'static str,
    k_per_w: f64,
    (source, base): ([f64; 2], [f64; 2]),
    (thickness_m, material): (f64, &Material),
) -> Option<f64> {
    let [sx, sy] = source;
    if sx > base[0] * 1.001 || sy > base[1] * 1.001 {
        section
            .error("stated_source", "the source for which the resistance is stated is larger than the base");
        return None;
    }
    let film = behind_the_base(k_per_w, source, base, thickness_m, material.kz_w_per_m_k);
    if film.is_none() {
        section.error(
            key,
            format!(
                "{k_per_w} K/W from a source of {:.1} x {:.1} mm is less than the base alone costs: the figure must be for a larger source \
                 or a thicker base",
                1e3 * sx,
                1e3 * sy
            ),
        );
    }
    film
}

/// Film on the base's back with which a source in its middle has this highest resistance to the room, by Lee et al.
fn behind_the_base(k_per_w: f64, source: [f64; 2], base: [f64; 2], thickness_m: f64, k: f64) -> Option<f64> {
    let radius = |[x, y]: [f64; 2]| (x * y / std::f64::consts::PI).sqrt();
    let at = |h: f64| resistance_disc_on_plate_lee(radius(source), radius(base), thickness_m, k, h).1;
    let (mut low, mut high) = (1e-3f64, 1e6f64);
    if at(high) >= k_per_w || at(low) <= k_per_w {
        return None;
    }
    for _ in 0..80 {
        let middle = (low * high).sqrt();
        if at(middle) > k_per_w { low = middle } else { high = middle }
    }
    Some(low)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The other way round: a film, its resistance from a quarter of the base (Lee et al., checked in `spreading`), and back.
    #[test]
    fn a_stated_resistance_is_taken_behind_the_base() {
        let pi = std::f64::consts::PI;
        let (source, base) = ([0.03, 0.03], [0.06, 0.06]);
        let radius = |side: f64| (side * side / pi).sqrt();
        let (_, stated) = resistance_disc_on_plate_lee(radius(0.03), radius(0.06), 4e-3, 200.0, 350.0);
        let h = behind_the_base(stated, source, base, 4e-3, 200.0).unwrap();
        assert!((h / 350.0 - 1.0).abs() < 1e-9, "{h}");
        // Its source as large as the base: the plate's own t / (k A) is taken off.
        let h = behind_the_base(1.0, base, base, 4e-3, 200.0).unwrap();
        let area = 0.06 * 0.06;
        assert!((1.0 / (h * area) + 4e-3 / (200.0 * area) - 1.0).abs() < 1e-9);
        assert_eq!(behind_the_base(1e-3, source, base, 4e-3, 200.0), None);
        assert_eq!(between(&[(0.0, 2.0), (1.0, 1.0), (3.0, 0.5)], 2.0), 0.75);
    }
}

//! What is not known of a lamp before it is built and measured: named values, each with what it may be off by.
//!
//! A value departs from what lamp.toml says either by a factor, whose natural logarithm is the departure, or by kelvins.
//! Limits of a tolerance are taken as those of an even distribution, whose standard deviation is the limit over the square
//! root of three (JCGM 100:2008, the GUM, 4.3.7).

use crate::as_built::{Lamp, LayerKind, Lining, SitsOn, Variant};
use crate::material::TABLE;
use crate::sensor_law::Accuracy;

/// A value of the lamp that is not known exactly.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Value {
    /// Conductivity of the dielectric on a metal core.
    DielectricConductivity,
    /// Thickness of the dielectric on a metal core.
    DielectricThickness,
    /// Conductivity of the laminate, in every direction.
    LaminateConductivity,
    /// Thickness of the copper layers, plating included.
    CopperThickness,
    /// Thickness of the copper on the walls of plated holes.
    ViaBarrel,
    /// Thermal resistance of the film in the bond line.
    BondLine,
    /// How well the heatsink's back gives heat to the air; the open faces without a heatsink.
    Cooling,
    /// Heat of the emitters at a current and junction temperature.
    HeatShare,
    /// Thermal resistance from junction to solder point.
    JunctionResistance,
    /// What the sensor feels of the board's rise at its place: its contact and how exactly it sits there.
    SensorCoupling,
    /// Error of the sensor with its logger, K.
    SensorOffset,
    /// Error of the room's temperature as logged, K.
    AmbientOffset,
}

/// How a value departs from what lamp.toml says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Departs {
    /// By a factor; departures are its natural logarithm.
    ByFactor,
    /// By a difference of temperatures, K.
    ByKelvin,
}

impl Value {
    /// All values, in the order of the heat's way.
    pub const ALL: [Self; 12] = [
        Self::HeatShare,
        Self::JunctionResistance,
        Self::CopperThickness,
        Self::DielectricConductivity,
        Self::DielectricThickness,
        Self::LaminateConductivity,
        Self::ViaBarrel,
        Self::BondLine,
        Self::Cooling,
        Self::SensorCoupling,
        Self::SensorOffset,
        Self::AmbientOffset,
    ];

    /// Its name, in lamp.toml and in results.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::DielectricConductivity => "dielectric conductivity",
            Self::DielectricThickness => "dielectric thickness",
            Self::LaminateConductivity => "laminate conductivity",
            Self::CopperThickness => "copper thickness",
            Self::ViaBarrel => "via barrel",
            Self::BondLine => "bond line",
            Self::Cooling => "cooling",
            Self::HeatShare => "heat share",
            Self::JunctionResistance => "junction resistance",
            Self::SensorCoupling => "sensor coupling",
            Self::SensorOffset => "sensor offset",
            Self::AmbientOffset => "ambient offset",
        }
    }

    /// The value of this name.
    #[must_use]
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|v| v.name() == name)
    }

    /// How it departs.
    #[must_use]
    pub const fn departs(self) -> Departs {
        match self {
            Self::SensorOffset | Self::AmbientOffset => Departs::ByKelvin,
            _ => Departs::ByFactor,
        }
    }

    /// Whether it is taken for each variant apart unless lamp.toml says otherwise: boards differ, and each is mounted anew.
    #[must_use]
    pub const fn differs_by_variant(self) -> bool {
        matches!(
            self,
            Self::DielectricConductivity
                | Self::DielectricThickness
                | Self::LaminateConductivity
                | Self::CopperThickness
                | Self::ViaBarrel
                | Self::BondLine
                | Self::SensorCoupling
        )
    }

    /// Whether it is the lamp's own; else it belongs to what is read of it.
    #[must_use]
    pub const fn is_of_lamp(self) -> bool {
        !matches!(self, Self::SensorCoupling | Self::SensorOffset | Self::AmbientOffset)
    }

    /// Whether each sensor has its own.
    #[must_use]
    pub const fn is_of_sensor(self) -> bool {
        matches!(self, Self::SensorCoupling | Self::SensorOffset)
    }

    /// Whether a variant has it at all.
    #[must_use]
    pub fn is_of(self, variant: &Variant) -> bool {
        let has_core = variant.layers.iter().any(|l| l.kind == LayerKind::Core);
        let insulated = variant.layers.iter().any(|l| l.kind == LayerKind::Dielectric);
        match self {
            Self::DielectricConductivity | Self::DielectricThickness => has_core && insulated,
            Self::LaminateConductivity => !has_core && insulated,
            Self::CopperThickness => variant.layers.iter().any(|l| l.kind == LayerKind::Copper),
            Self::ViaBarrel => {
                !has_core && variant.bores.iter().any(|b| matches!(b.lining, Lining::Plated { .. }))
            }
            Self::BondLine => variant.heatsink.is_some() && variant.bond.is_some(),
            Self::HeatShare | Self::JunctionResistance => !variant.emitters.is_empty(),
            Self::Cooling | Self::SensorCoupling | Self::SensorOffset | Self::AmbientOffset => true,
        }
    }
}

/// What a lamp.toml says of one value, where it says anything.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stated {
    /// Which value.
    pub value: Value,
    /// Limit of its departure either side: a part (0.2 for 20 %) or K; 0 takes it as known.
    pub tolerance: f64,
    /// Whether each variant has its own; `None`: as is usual for the value.
    pub by_variant: Option<bool>,
}

/// A value that is not known exactly, of one variant or of all.
#[derive(Debug, Clone, PartialEq)]
pub struct Uncertain {
    /// Which value.
    pub value: Value,
    /// The variant's index; `None`: one value for all.
    pub variant: Option<usize>,
    /// The index of the sensor that it is the error of; `None`: the lamp's own, or all sensors'.
    pub sensor: Option<usize>,
    /// Standard deviation of its departure before anything is measured: of the factor's logarithm, or K; > 0.
    pub spread: f64,
    /// Where the spread comes from.
    pub source: String,
}

impl Uncertain {
    /// Whether it holds for a variant.
    #[must_use]
    pub fn holds_for(&self, variant: usize) -> bool {
        self.variant.is_none_or(|own| own == variant)
    }
}

/// How far all values of one variant depart; 0 where nothing is known to.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Departures {
    values: [f64; Value::ALL.len()],
    /// Of each sensor besides what all have in common, as far as known.
    of_sensors: Vec<[f64; Value::ALL.len()]>,
}

impl Departures {
    /// Departure of a value: the logarithm of its factor, or K. Of sensors' values: what all sensors have in common.
    #[must_use]
    pub fn of(&self, value: Value) -> f64 {
        self.values[value as usize]
    }

    /// Departure of a value at a sensor, by its index.
    #[must_use]
    pub fn of_sensor(&self, value: Value, sensor: usize) -> f64 {
        self.of(value) + self.of_sensors.get(sensor).map_or(0.0, |own| own[value as usize])
    }

    /// Sets the departure of a value.
    pub fn set(&mut self, value: Value, departure: f64) {
        self.values[value as usize] = departure;
    }

    /// Adds to the departure of a value, of one sensor where given.
    fn add(&mut self, value: Value, sensor: Option<usize>, departure: f64) {
        let values = match sensor {
            None => &mut self.values,
            Some(sensor) => {
                if self.of_sensors.len() <= sensor {
                    self.of_sensors.resize(sensor + 1, Default::default());
                }
                &mut self.of_sensors[sensor]
            }
        };
        values[value as usize] += departure;
    }

    /// The factor on a value; 1 for those that depart by kelvins.
    #[must_use]
    pub fn factor(&self, value: Value) -> f64 {
        match value.departs() {
            Departs::ByFactor => self.of(value).exp(),
            Departs::ByKelvin => 1.0,
        }
    }

    /// The same without values that `has` denies.
    #[must_use]
    pub fn only(&self, has: impl Fn(Value) -> bool) -> Self {
        let mut own = self.clone();
        for value in Value::ALL.into_iter().filter(|v| !has(*v)) {
            own.set(value, 0.0);
            own.of_sensors.iter_mut().for_each(|of| of[value as usize] = 0.0);
        }
        own
    }

    /// Those of a variant from a list of values and their departures, in the list's order.
    #[must_use]
    pub fn for_variant(uncertain: &[Uncertain], departures: &[f64], variant: usize) -> Self {
        let mut own = Self::default();
        for (one, departure) in uncertain.iter().zip(departures).filter(|(u, _)| u.holds_for(variant)) {
            own.add(one.value, one.sensor, *departure);
        }
        own
    }
}

/// Even distribution's standard deviation over its limit.
const EVEN: f64 = 0.577_350_269_189_625_8;

/// The values of a lamp that are not known exactly, shared ones first: what lamp.toml states, else what is usual.
///
/// Each sensor that reads the lamp at its place has its own; one that sits on the heatsink stays there when the board is changed.
#[must_use]
pub fn uncertain_values(lamp: &Lamp) -> Vec<Uncertain> {
    let stated = |value: Value| lamp.uncertain.iter().rev().find(|s| s.value == value);
    let mut shared = Vec::new();
    let mut own = Vec::new();
    for value in Value::ALL {
        let sensors: Vec<Option<usize>> = if value.is_of_sensor() {
            (0..lamp.sensors.len()).filter(|s| lamp.sensors[*s].reads_its_place()).map(Some).collect()
        } else {
            vec![None]
        };
        for sensor in sensors {
            let stays = sensor.is_some_and(|s| lamp.sensors[s].on == SitsOn::Heatsink);
            let by_variant = stated(value)
                .and_then(|s| s.by_variant)
                .unwrap_or_else(|| value.differs_by_variant() && !stays);
            let having = lamp.variants.iter().enumerate().filter(|(_, v)| value.is_of(v));
            let spreads = having.map(|(index, variant)| {
                let (spread, source) = match stated(value) {
                    Some(s) => (EVEN * s.tolerance, "its tolerance in lamp.toml".to_owned()),
                    None => usual_spread((value, sensor), lamp, variant),
                };
                Uncertain { value, variant: by_variant.then_some(index), sensor, spread, source }
            });
            let mut spreads = spreads.filter(|u| u.spread > 0.0);
            if by_variant {
                own.extend(spreads);
            } else {
                shared.extend(spreads.next());
            }
        }
    }
    shared.extend(own);
    shared
}

/// Standard deviation of a departure where lamp.toml does not state the value's tolerance, and where it comes from.
fn usual_spread((value, sensor): (Value, Option<usize>), lamp: &Lamp, variant: &Variant) -> (f64, String) {
    let usual = |limit: f64, why: &str| (EVEN * limit, format!("{why}; common practice, no source"));
    let insulation = || variant.layers.iter().find(|l| l.kind == LayerKind::Dielectric);
    match value {
        Value::DielectricConductivity | Value::LaminateConductivity => {
            match insulation().and_then(|l| tabled(&l.material.name)) {
                Some(tolerance) => (EVEN * tolerance, "the materials table's tolerance".to_owned()),
                None => usual(0.1, "10 % either way"),
            }
        }
        Value::DielectricThickness => usual(0.1, "10 % either way"),
        Value::CopperThickness => usual(0.1, "10 % either way"),
        Value::ViaBarrel => usual(0.25, "25 % either way"),
        Value::BondLine => bond_spread(variant),
        Value::Cooling => usual(0.2, "20 % either way"),
        Value::HeatShare => usual(0.06, "6 % either way"),
        Value::JunctionResistance => usual(0.15, "15 % either way"),
        Value::SensorCoupling => usual(0.03, "3 % of its rise either way"),
        Value::SensorOffset => match sensor.and_then(|s| lamp.sensors[s].accuracy) {
            Some(Accuracy::Stated { fixed_k, per_k }) => {
                (EVEN * (fixed_k + 50.0 * per_k), "the sensor's limit of error at 50 degC".to_owned())
            }
            _ => usual(1.0, "1 K either way"),
        },
        Value::AmbientOffset => usual(0.5, "0.5 K either way"),
    }
}

/// The bond line's spread from its own tolerances; where none are given, that of films spread by hand.
fn bond_spread(variant: &Variant) -> (f64, String) {
    let of = variant.bond.as_ref().map(|bond| bond.interface.tolerance);
    let tolerance = of.map_or(0.0, |of| of.thickness.hypot(of.conductivity));
    if tolerance > 0.0 {
        (EVEN * tolerance, "the bond's tolerances in lamp.toml".to_owned())
    } else {
        (EVEN * 0.5, "50 % either way; common practice, no source".to_owned())
    }
}

/// Tolerance of a substance of the materials table, as a part.
fn tabled(name: &str) -> Option<f64> {
    TABLE.iter().find(|row| row.name == name).map(|row| row.tolerance_fraction)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::project::{MemoryFolder, read};

    const LAMP: &str = r#"
        [drive]
        currents = ["0.7 A"]
        [[emitters]]
        sheet = "white-3.5mm"
        refs = ["D1"]
        at = [["6 mm", "8 mm"]]
        [bond]
        thickness = "80 um"
        conductivity = "1.5 W/m/K"
        conductivity_tolerance = 0.3
        [heatsink]
        base = ["30 mm", "24 mm"]
        base_thickness = "3 mm"
        resistance = "2 K/W"
        [variant.laminate]
        outline = ["20 mm", "15 mm"]
        [variant.laminate.board]
        kind = "fr4 two-layer"
        [variant.core]
        outline = ["20 mm", "15 mm"]
        [variant.core.board]
        kind = "aluminium core"
        dielectric = "filled epoxy 2 W/m/K class"
    "#;

    fn values(more: &str) -> Vec<(&'static str, Option<usize>, f64)> {
        let text = format!("{LAMP}\n{more}");
        let reading = read(&MemoryFolder::new([("lamp.toml".to_owned(), text.into_bytes())]));
        assert!(!reading.has_errors(), "{:#?}", reading.remarks);
        let found = uncertain_values(&reading.lamp.unwrap());
        found.iter().map(|u| (u.value.name(), u.variant, u.spread)).collect()
    }

    /// Spreads by hand: a limit over the square root of three.
    #[test]
    fn usual_values_belong_to_the_boards_that_have_them() {
        let found = values("");
        let of = |name: &str, variant| found.iter().find(|f| f.0 == name && f.1 == variant).map(|f| f.2);
        let root = 3f64.sqrt();
        let near = |found: Option<f64>, limit: f64| assert!((found.unwrap() - limit / root).abs() < 1e-12);
        near(of("laminate conductivity", Some(0)), 0.2);
        near(of("dielectric conductivity", Some(1)), 0.1);
        near(of("bond line", Some(0)), 0.3);
        near(of("bond line", Some(1)), 0.3);
        near(of("cooling", None), 0.2);
        assert_eq!(of("dielectric conductivity", Some(0)), None);
        assert_eq!(of("laminate conductivity", Some(1)), None);
        assert_eq!(of("via barrel", Some(0)), None, "it has no plated holes");
    }

    #[test]
    fn lamp_toml_states_spreads_and_whose_they_are() {
        let found = values(
            "[[uncertain]]\nvalue = \"cooling\"\ntolerance = 0.4\neach = \"variant\"\n\
             [[uncertain]]\nvalue = \"bond line\"\ntolerance = 0\n\
             [[uncertain]]\nvalue = \"ambient offset\"\noffset = \"0.2 K\"\n",
        );
        let of = |name: &str| found.iter().filter(|f| f.0 == name).map(|f| (f.1, f.2)).collect::<Vec<_>>();
        let root = 3f64.sqrt();
        assert_eq!(of("cooling").iter().map(|f| f.0).collect::<Vec<_>>(), [Some(0), Some(1)]);
        assert!(of("cooling").iter().all(|f| (f.1 - 0.4 / root).abs() < 1e-12));
        assert!(of("bond line").is_empty());
        assert!((of("ambient offset")[0].1 - 0.2 / root).abs() < 1e-12);
    }

    #[test]
    fn a_tolerance_of_the_wrong_kind_is_told() {
        for (more, words) in [
            ("[[uncertain]]\nvalue = \"sensor offset\"\ntolerance = 0.4\n", "takes \"offset\""),
            ("[[uncertain]]\nvalue = \"cooling\"\n", "needs \"tolerance\""),
            ("[[uncertain]]\nvalue = \"weather\"\ntolerance = 0.1\n", "\"bond line\""),
        ] {
            let text = format!("{LAMP}\n{more}");
            let reading = read(&MemoryFolder::new([("lamp.toml".to_owned(), text.into_bytes())]));
            assert!(
                reading.remarks.iter().any(|r| r.text.contains(words)),
                "{words}: {:#?}",
                reading.remarks
            );
        }
    }

    /// Spreads by hand: a limit over the square root of three.
    #[test]
    fn each_sensor_has_its_own_errors() {
        let sensor = |name: &str, more: &str| {
            format!("[[sensor]]\nname = \"{name}\"\nat = [\"2 mm\", \"2 mm\"]\nkind = \"degC\"\n{more}\n")
        };
        let text = format!(
            "{LAMP}\n{}{}[[sensor]]\nname = \"diode\"\nat = [\"2 mm\", \"2 mm\"]\nkind = \"forward voltage\"\n\
             cold_voltage = \"2.6 V\"\ncold_temperature = \"25 degC\"\nslope = \"-2 mV/K\"\n",
            sensor("board", "error = \"0.3 K\""),
            sensor("base", "on = \"heatsink\"\nerror = \"0.6 K\"")
        );
        let reading = read(&MemoryFolder::new([("lamp.toml".to_owned(), text.into_bytes())]));
        assert!(!reading.has_errors(), "{:#?}", reading.remarks);
        let mut lamp = reading.lamp.unwrap();
        let found = uncertain_values(&lamp);
        // Whatever their order, the board's own sensor is gone by; without one the first.
        lamp.sensors.reverse();
        assert_eq!(lamp.watched().unwrap().name, "board");
        lamp.sensors.pop();
        assert_eq!(lamp.watched().unwrap().name, "diode");
        let of = |value: Value| {
            let own = found.iter().filter(|u| u.value == value);
            own.map(|u| (u.sensor, u.variant, (1e6 * u.spread * 3f64.sqrt()).round() * 1e-6))
                .collect::<Vec<_>>()
        };
        assert_eq!(of(Value::SensorOffset), [(Some(0), None, 0.3), (Some(1), None, 0.6)]);
        // The board's sensor sits anew on each board; the heatsink's stays.
        let coupling = [(Some(1), None, 0.03), (Some(0), Some(0), 0.03), (Some(0), Some(1), 0.03)];
        assert_eq!(of(Value::SensorCoupling), coupling);
        let of_base =
            found.iter().position(|u| (u.value, u.sensor) == (Value::SensorOffset, Some(1))).unwrap();
        let departures: Vec<f64> = (0..found.len()).map(|k| if k == of_base { 0.25 } else { 0.0 }).collect();
        let own = Departures::for_variant(&found, &departures, 0);
        let offsets = [0, 1, 2].map(|sensor| own.of_sensor(Value::SensorOffset, sensor));
        assert_eq!(offsets, [0.0, 0.25, 0.0]);
        assert_eq!(own.only(Value::is_of_lamp).of_sensor(Value::SensorOffset, 1), 0.0);
    }

    #[test]
    fn departures_add_up_and_stay_with_their_variant() {
        let value =
            |value, variant| Uncertain { value, variant, sensor: None, spread: 0.1, source: String::new() };
        let all =
            [value(Value::Cooling, None), value(Value::BondLine, Some(0)), value(Value::BondLine, Some(1))];
        let own = Departures::for_variant(&all, &[0.2, 0.3, -0.4], 1);
        assert_eq!((own.of(Value::Cooling), own.of(Value::BondLine)), (0.2, -0.4));
        assert!((own.factor(Value::BondLine) - (-0.4f64).exp()).abs() < 1e-15);
        assert_eq!(own.only(|v| v == Value::Cooling).of(Value::BondLine), 0.0);
    }
}

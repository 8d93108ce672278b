//! The air side of a heatsink by its dimensions: fins, fan, vents and housing to the film on its base's back.
//!
//! `state` finds what holds for the whole heatsink: the fan's operating point, the air that enters, natural convection.
//! [`passage`] then goes along the channels, where the film falls and the air warms. [`lumped`] does both on a base of one
//! temperature. Films are per area of the base's back and per kelvin of the base above the *room*; the efficiency of the fins
//! and the warmth of the air are in them.

mod enclosure;
mod forced;
mod lumped;
mod natural;
mod pressure;
mod stated;

pub use enclosure::out_of_the_housing;
pub use forced::{Passage, passage};
pub use lumped::{Lumped, lumped, warming};
pub use pressure::PressurePart;
pub use stated::Stated;
pub(crate) use stated::between;

use super::air::{AIR_RANGE_K, air};
use super::fan::{FanCurve, operating_point};
use super::natural_convection::Orientation;
use super::view_factor::radiating_area_fin_channel;

/// What stands on the base's back.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Fins {
    /// Nothing.
    Plain,
    /// Straight plates.
    Plates {
        /// Their number, 2 or more.
        count: u32,
        /// Height above the base, m.
        height_m: f64,
        /// Thickness, m.
        thickness_m: f64,
        /// Clear distance between them, m.
        gap_m: f64,
    },
    /// Round pins in line.
    Pins {
        /// Their numbers along and across the flow.
        count: [u32; 2],
        /// Height above the base, m.
        height_m: f64,
        /// Diameter, m.
        diameter_m: f64,
    },
}

/// How the fan's air meets the fins.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FlowWay {
    /// In at one end of the channels, out at the other, all of it between the fins.
    Along,
    /// Onto the fins' tips, from the middle out at both ends of the channels.
    Onto,
}

/// One or more fans alike, side by side.
#[derive(Debug, Clone, PartialEq)]
pub struct FanSet {
    /// Curve of one at rated voltage.
    pub curve: FanCurve,
    /// Voltage of the curve, V.
    pub rated_v: f64,
    /// Voltage it runs at, V.
    pub voltage_v: f64,
    /// Voltage below which it stands, V.
    pub stall_v: f64,
    /// How many.
    pub count: u32,
    /// How the air meets the fins.
    pub way: FlowWay,
    /// Along the channels: towards higher x or y (up, where the lamp looks sideways and they run along y), or lower.
    pub upwards: bool,
}

/// Openings of one kind, all of which the whole flow passes side by side; several kinds are passed one after another.
#[derive(Debug, Clone, PartialEq)]
pub struct Vent {
    /// Name, for findings.
    pub name: String,
    /// Free area of one, m².
    pub area_m2: f64,
    /// How many.
    pub count: u32,
    /// Loss coefficient on the velocity in the free area.
    pub loss: f64,
}

impl Vent {
    /// Free area of all, m².
    #[must_use]
    pub fn free_area_m2(&self) -> f64 {
        self.area_m2 * f64::from(self.count)
    }
}

/// A box around the heatsink.
#[derive(Debug, Clone, PartialEq)]
pub struct Housing {
    /// Outer surface of its walls, m².
    pub wall_m2: f64,
    /// From the air inside to the room through the wall, W/m²/K.
    pub wall_w_per_m2_k: f64,
    /// Height between low and high openings, m.
    pub height_m: f64,
    /// Whether the fan stands in the wall and draws the room's air, which then leaves through the vents.
    pub fan_in_wall: bool,
}

impl Housing {
    /// Heat through the walls when the air inside is this much above the room, K: W.
    #[must_use]
    pub fn walls_w(&self, rise_k: f64) -> f64 {
        self.wall_w_per_m2_k * self.wall_m2 * rise_k
    }
}

/// A heatsink's air side.
#[derive(Debug, Clone, PartialEq)]
pub struct AirSide {
    /// Length of the base along the channels, m.
    pub along_m: f64,
    /// Length of the base across them, m.
    pub across_m: f64,
    /// Whether the channels run along y, which is up when the lamp looks sideways; else along x.
    pub along_y: bool,
    /// What stands on the back.
    pub fins: Fins,
    /// Conductivity of the fins, W/m/K.
    pub fin_w_per_m_k: f64,
    /// Emissivity of fins and back.
    pub emissivity: f64,
    /// Fans, where there are any.
    pub fans: Option<FanSet>,
    /// What the air passes besides the fins.
    pub vents: Vec<Vent>,
    /// Pressure over flow of a filter, Pa per m³/s; 0 for none.
    pub filter_pa_s_per_m3: f64,
    /// Housing, where there is one.
    pub housing: Option<Housing>,
    /// Its maker's table, which stands instead of what follows from fins, finish and orientation.
    pub stated: Option<Stated>,
}

/// The fan as it runs.
#[derive(Debug, Clone, PartialEq)]
pub struct FanState {
    /// Whether it stands for lack of voltage.
    pub stands: bool,
    /// Curve of all fans at their voltage; flow, m³/s, and pressure, Pa.
    pub curve: Vec<(f64, f64)>,
    /// Curve of the system at flows from 0 to the fans' free flow.
    pub system: Vec<(f64, f64)>,
    /// Where they meet, m³/s.
    pub flow_m3_per_s: f64,
    /// Where they meet, Pa.
    pub pressure_pa: f64,
    /// What the pressure is spent on.
    pub parts: Vec<PressurePart>,
    /// Velocity between the fins, m/s.
    pub velocity_m_per_s: f64,
    /// Reynolds number there, on the hydraulic diameter.
    pub reynolds: f64,
}

/// What holds for the whole heatsink.
#[derive(Debug, Clone, PartialEq)]
pub struct AirState {
    /// Fan, where there is one.
    pub fan: Option<FanState>,
    /// Air that meets the heatsink above the room, K (warm air in a housing).
    pub inlet_rise_k: f64,
    /// Flow of air through the housing's vents by its own draught, m³/s.
    pub draught_m3_per_s: f64,
    /// Natural convection, or all that a maker's table tells, as a film on the base's back, W/m²/K.
    pub natural_w_per_m2_k: f64,
    /// Black plates' area that radiates as much as the fins do, over the back's area.
    pub radiating_area: f64,
    /// Where the back looks.
    back: Orientation,
    /// Air at the film.
    film_air_k: f64,
    /// Ranges left and assumptions made.
    pub remarks: Vec<String>,
}

impl AirSide {
    /// What it is, in words for a summary.
    #[must_use]
    pub fn words(&self) -> String {
        let mm = |m: f64| format!("{}", (1e5 * m).round() / 100.0);
        let mut words = match self.fins {
            _ if self.stated.is_some() => "a heatsink by its maker's table".to_owned(),
            Fins::Plain => "plain back".to_owned(),
            Fins::Plates { count, height_m, thickness_m, gap_m } => format!(
                "{count} plate fins of {} x {} mm, gaps of {} mm, along {}",
                mm(thickness_m),
                mm(height_m),
                mm(gap_m),
                if self.along_y { "y" } else { "x" }
            ),
            Fins::Pins { count, height_m, diameter_m } => {
                format!("{} x {} pins of {} mm, {} mm high", count[0], count[1], mm(diameter_m), mm(height_m))
            }
        };
        if let Some(fans) = &self.fans {
            let way = if fans.way == FlowWay::Onto { "onto" } else { "along" };
            let many = if fans.count == 1 { "a fan".to_owned() } else { format!("{} fans", fans.count) };
            words += &format!(", {many} at {} of {} V blowing {way} the fins", fans.voltage_v, fans.rated_v);
        }
        if !self.vents.is_empty() {
            let free: Vec<String> =
                self.vents.iter().map(|v| format!("{} {:.0} mm2", v.name, 1e6 * v.free_area_m2())).collect();
            words += &format!(", through {}", free.join(" and "));
        }
        if self.housing.is_some() {
            words += ", in a housing";
        }
        words
    }

    /// Area of the back, m².
    #[must_use]
    pub fn back_m2(&self) -> f64 {
        self.along_m * self.across_m
    }

    /// What radiates as a black plate, over the back's area.
    fn radiating_area(&self) -> f64 {
        if self.stated.is_some() {
            return 0.0;
        }
        let e = self.emissivity.clamp(0.0, 1.0);
        match self.fins {
            Fins::Plain => e,
            Fins::Plates { count, height_m, thickness_m, gap_m } => {
                let channels = f64::from(count.saturating_sub(1)) * gap_m / self.across_m;
                let tips = f64::from(count) * thickness_m / self.across_m;
                let sides = 2.0 * height_m / self.across_m;
                channels * radiating_area_fin_channel(e, self.along_m, height_m, gap_m) + (tips + sides) * e
            }
            // Pins hide one another nearly as fins do: the block's outer faces, with the emissivity of deep gaps.
            Fins::Pins { height_m, .. } => {
                let sides = 2.0 * height_m * (self.along_m + self.across_m) / self.back_m2();
                let deep = e / (e + 0.3 * (1.0 - e)).max(1e-6);
                (1.0 + sides) * deep.min(1.0)
            }
        }
    }

    /// The state at a mean temperature of the base's back, K above the room. `back` says where it looks.
    ///
    /// In a housing the air inside is as warm as makes what the fins give to it equal to what leaves the housing.
    #[must_use]
    pub fn state(&self, back: Orientation, base_rise_k: f64, ambient_k: f64) -> AirState {
        let base_rise_k = if base_rise_k.is_finite() { base_rise_k.clamp(-200.0, 2000.0) } else { 0.0 };
        let at = |inlet_rise_k: f64| self.state_in(back, base_rise_k, inlet_rise_k, ambient_k);
        let fan_runs = self.fans.as_ref().is_some_and(FanSet::runs);
        match &self.housing {
            Some(housing) if !(housing.fan_in_wall && fan_runs) => {
                enclosure::settled(self, housing, base_rise_k, ambient_k, at)
            }
            _ => at(0.0),
        }
    }

    /// The state with air that meets the fins at this rise above the room.
    fn state_in(&self, back: Orientation, base_rise_k: f64, inlet_rise_k: f64, ambient_k: f64) -> AirState {
        let mut remarks = Vec::new();
        let inlet_k = ambient_k + inlet_rise_k;
        let base_k = (ambient_k + base_rise_k).max(150.0);
        let film_air_k = 0.5 * (base_k + inlet_k);
        if !(AIR_RANGE_K.0..=AIR_RANGE_K.1).contains(&film_air_k) {
            remarks.push(format!(
                "the air at the heatsink is about {:.0} degC, outside the -23 to 227 degC for which its properties are known to 1 %",
                film_air_k - super::ZERO_C_IN_K
            ));
        }
        let fan = self.fans.as_ref().map(|fans| self.fan_state(fans, film_air_k, &mut remarks));
        let natural_w_per_m2_k = match &self.stated {
            Some(stated) => {
                let flow = fan.as_ref().filter(|fan| !fan.stands).map_or(0.0, |fan| fan.flow_m3_per_s);
                stated.remarks(flow, &mut remarks);
                stated.k_per_w(flow).map_or(0.0, |k_per_w| 1.0 / (k_per_w * self.back_m2()))
            }
            None => natural::film(self, back, base_k, inlet_k, &mut remarks),
        };
        if let Some(fan) = fan.as_ref().filter(|_| self.stated.is_none()) {
            let warm = (back, base_rise_k - inlet_rise_k);
            forced::mixed_remarks(self, warm, (fan, &air(film_air_k)), &mut remarks);
        }
        AirState {
            fan,
            inlet_rise_k,
            draught_m3_per_s: 0.0,
            natural_w_per_m2_k,
            radiating_area: self.radiating_area(),
            back,
            film_air_k,
            remarks,
        }
    }

    fn fan_state(&self, fans: &FanSet, film_air_k: f64, remarks: &mut Vec<String>) -> FanState {
        let curve = fans.at_voltage();
        let the_air = air(film_air_k);
        let asked =
            |q: f64| pressure::parts(self, fans.way, q, &the_air).iter().map(|p| p.pressure_pa).sum::<f64>();
        let end = curve.free_flow_m3_per_s();
        let system = (0..=40).map(|k| f64::from(k) / 40.0 * end).map(|q| (q, asked(q))).collect();
        let (flow, pressure) = if fans.runs() { operating_point(&curve, asked) } else { (0.0, 0.0) };
        let channel = pressure::channel(self, fans.way, flow, &the_air);
        if fans.runs() {
            if self.stated.is_none() {
                forced::remarks(self, &channel, fans.way, remarks);
            }
            let share = flow / end.max(1e-12);
            if share < 0.25 {
                remarks.push(format!(
                    "the fan works at {:.0} % of its free flow, where fans are loud and their curves uneven: wider gaps or larger \
                     vents would let it breathe",
                    100.0 * share
                ));
            }
        } else {
            remarks.push(format!(
                "the fan stands: {} V is below the {} V it needs to turn; the heatsink cools by itself",
                fans.voltage_v, fans.stall_v
            ));
        }
        FanState {
            stands: !fans.runs(),
            curve: curve.points().to_vec(),
            system,
            flow_m3_per_s: flow,
            pressure_pa: pressure,
            parts: pressure::parts(self, fans.way, flow, &the_air),
            velocity_m_per_s: channel.velocity_m_per_s,
            reynolds: channel.reynolds,
        }
    }
}

impl AirSide {
    /// The same with this share of the vents' free area left.
    #[must_use]
    pub fn with_vents_open(&self, share: f64) -> Self {
        let mut side = self.clone();
        side.vents.iter_mut().for_each(|vent| vent.area_m2 *= share);
        side
    }

    /// Whether nothing is known of it as it runs: its air stands, and its maker's table says nothing of still air.
    #[must_use]
    pub fn is_unknown(&self) -> bool {
        let runs = self.fans.as_ref().is_some_and(FanSet::runs);
        !runs && self.stated.as_ref().is_some_and(|stated| !stated.tells_still_air())
    }

    /// Whether the air passes channels whose dimensions are known.
    #[must_use]
    pub fn has_channels(&self) -> bool {
        self.stated.is_none() || !matches!(self.fins, Fins::Plain)
    }

    /// The same with its fans at another voltage, V.
    #[must_use]
    pub fn with_fan_voltage(&self, voltage_v: f64) -> Self {
        let mut side = self.clone();
        side.fans.iter_mut().for_each(|fans| fans.voltage_v = voltage_v);
        side
    }
}

impl FanSet {
    /// Whether it turns at its voltage.
    #[must_use]
    pub fn runs(&self) -> bool {
        self.count > 0 && self.voltage_v > 0.0 && self.voltage_v >= self.stall_v
    }

    /// Curve of all of them at their voltage: the speed follows the voltage.
    #[must_use]
    pub fn at_voltage(&self) -> FanCurve {
        let ratio = if self.runs() { self.voltage_v / self.rated_v.max(1e-6) } else { 1.0 };
        self.curve.at_speed_ratio(ratio).side_by_side(f64::from(self.count.max(1)))
    }
}

#[cfg(test)]
mod tests;

//! The lamp as meant: everything the project text and the artwork say, units resolved and ranges checked.
//!
//! Lengths of the artwork stay in whole nanometres ([`artwork::shape`]); all other quantities are SI or carry their
//! unit in the name. Plan coordinates: x to the right, y up, seen from the emitter side; depth grows downwards from
//! the emitter side's copper to the heatsink.

use artwork::shape::{Area, Point};

use crate::bond_line::{Flatness, Interface, Screw};
use crate::circuit::Circuit;
use crate::cooling::air_side::AirSide;
use crate::emitter::EmitterSheet;
use crate::material::Material;
use crate::sensor_law::{Accuracy, Logger, SensorLaw};
use crate::uncertain::Stated;

/// A whole lamp: what is common to its variants, and the variants.
#[derive(Debug, Clone)]
pub struct Lamp {
    /// Name, for headings.
    pub name: String,
    /// Room temperature, degC.
    pub ambient_c: f64,
    /// Coldest room in which the lamp is switched on, degC, where given.
    pub coldest_c: Option<f64>,
    /// Hottest room that the lamp must stand, degC.
    pub hottest_c: f64,
    /// Least light that is wanted, lm, where given.
    pub light_least_lm: Option<f64>,
    /// Where the emitter side looks; decides natural convection from the open faces.
    pub facing: Facing,
    /// What the drive currents are for.
    pub drive_per: DrivePer,
    /// Drive currents to predict, A, each string's or the lamp's, ascending.
    pub currents_a: Vec<f64>,
    /// The current the lamp is meant to run at, A, each string's or the lamp's; one of `currents_a`.
    pub nominal_current_a: f64,
    /// Board temperature above which the maker does not want to go, degC, where given.
    pub board_limit_c: Option<f64>,
    /// Solder temperature limit, degC, where given (low-melting solder lets go below the usual value).
    pub solder_limit_c: Option<f64>,
    /// Board sensors.
    pub sensors: Vec<Sensor>,
    /// What reads the sensors, where given.
    pub logger: Option<Logger>,
    /// What lamp.toml states of values that are not known exactly.
    pub uncertain: Vec<Stated>,
    /// The variants, in the order of the project text.
    pub variants: Vec<Variant>,
}

/// What a drive current is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum DrivePer {
    /// Each string is driven with it.
    #[default]
    String,
    /// The whole lamp: all supplies are joined at one driver and share it.
    Lamp,
}

impl Lamp {
    /// Indices of the variants that have emitters.
    #[must_use]
    pub fn lit_variants(&self) -> Vec<usize> {
        (0..self.variants.len()).filter(|v| !self.variants[*v].emitters.is_empty()).collect()
    }

    /// Index of the sensor that plans, abort and throttle readings go by: the first that reads a place of the board, else the first
    /// of all.
    #[must_use]
    pub fn watched_sensor(&self) -> Option<usize> {
        let reads_board = |sensor: &Sensor| sensor.on == SitsOn::Board && sensor.reads_its_place();
        let on_board = self.sensors.iter().position(reads_board);
        on_board.or((!self.sensors.is_empty()).then_some(0))
    }

    /// That sensor.
    #[must_use]
    pub fn watched(&self) -> Option<&Sensor> {
        self.sensors.get(self.watched_sensor()?)
    }
}

/// Direction in which the emitter side looks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Facing {
    /// Towards the ceiling.
    Up,
    /// Towards the floor.
    Down,
    /// Towards a wall: the board stands upright.
    Sideways,
}

/// One board variant on its heatsink.
#[derive(Debug, Clone)]
pub struct Variant {
    /// Short name, as in the project text and on the command line.
    pub name: String,
    /// One line for headings.
    pub title: String,
    /// What a board costs, above 0, in a currency that is the same for all variants; where stated.
    pub board_price: Option<f64>,
    /// The board seen from above after drilling: outline less cut-outs; holes are in `bores`.
    pub outline: Area,
    /// Layers from the emitter side downwards, copper included, mask and bond line excluded.
    pub layers: Vec<StackLayer>,
    /// Drilled and routed openings.
    pub bores: Vec<Bore>,
    /// Solder mask over the emitter side, where there is one.
    pub mask_top: Option<Mask>,
    /// Solder mask over the back, where there is one.
    pub mask_bottom: Option<Mask>,
    /// Emitters in the order of their references.
    pub emitters: Vec<PlacedEmitter>,
    /// The strings, where supply pads are given and the artwork lets them be traced.
    pub circuit: Option<Circuit>,
    /// Heat patches of given watts (a lamp without emitters, or other warm parts).
    pub heat_patches: Vec<HeatPatch>,
    /// Thermal interface between board and heatsink; `None` when there is no heatsink.
    pub bond: Option<Bond>,
    /// Screws that hold the board down.
    pub screws: Vec<Screw>,
    /// Burrs and bow.
    pub flatness: Flatness,
    /// Heatsink; `None` when the board's back is an open face.
    pub heatsink: Option<Heatsink>,
    /// What the emitter side gives to the room.
    pub top_face: Face,
    /// What the back of the board gives to the room where no heatsink covers it.
    pub bottom_face: Face,
}

/// One layer of the board.
#[derive(Debug, Clone)]
pub struct StackLayer {
    /// Name, for messages and the depth selector, such as "top copper" or "dielectric".
    pub name: String,
    /// What it is for.
    pub kind: LayerKind,
    /// Thickness, m; > 0.
    pub thickness_m: f64,
    /// Its substance, conductivities included.
    pub material: Material,
    /// Where the substance is: `None` means everywhere inside the outline; for copper layers the exact copper.
    pub pattern: Option<Area>,
    /// What fills a copper layer where there is no copper (mask or laminate resin); W/m/K.
    pub gap_conductivity_w_per_m_k: f64,
    /// Contact resistance between this layer and the next below, m²K/W; >= 0.
    pub resistance_below_m2k_per_w: f64,
}

/// What a layer of the board is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LayerKind {
    /// A copper layer drawn by the artwork.
    Copper,
    /// Electrical insulation: laminate, prepreg or filled dielectric.
    Dielectric,
    /// The metal core.
    Core,
    /// Any other layer of a sketched lamp.
    Plain,
}

/// A drilled hole or routed slot through the whole board.
#[derive(Debug, Clone)]
pub struct Bore {
    /// Centre line: one point for a hole, two or more for a slot.
    pub path: Vec<Point>,
    /// Drilled diameter, m; > 0.
    pub diameter_m: f64,
    /// What is inside.
    pub lining: Lining,
}

/// What a bore's wall and inside are made of.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Lining {
    /// Bare: the bore removes material.
    Unplated,
    /// Copper barrel of this thickness, m, and a fill of this conductivity, W/m/K (air 0.026 when hollow).
    Plated {
        /// Barrel thickness, m.
        barrel_m: f64,
        /// Conductivity of what fills the barrel, W/m/K.
        fill_w_per_m_k: f64,
    },
}

/// Solder mask: a thin resistance where it covers.
#[derive(Debug, Clone)]
pub struct Mask {
    /// Where the mask is open (bare copper or laminate).
    pub openings: Area,
    /// Thickness, m.
    pub thickness_m: f64,
    /// Conductivity, W/m/K.
    pub conductivity_w_per_m_k: f64,
}

/// An emitter on the board.
#[derive(Debug, Clone)]
pub struct PlacedEmitter {
    /// Reference on the board, such as D3.
    pub reference: String,
    /// What its datasheet says.
    pub sheet: EmitterSheet,
    /// Centre of the package.
    pub at: Point,
    /// Counter-clockwise rotation, degrees.
    pub rotation_deg: f64,
    /// The land through which its heat goes (thermal, or the electrical lands where there is no thermal one), placed
    /// and cut to the copper that is really there.
    pub thermal_land: Area,
    /// Every land of the package, placed; for drawing.
    pub lands: Vec<PlacedLand>,
    /// Its part of the drive current; per string: 1 in series, 0.5 where two share a string's current.
    pub current_share: f64,
    /// Whether the project text gives the share; else it follows from the circuit, or is 1.
    pub share_given: bool,
}

impl PlacedEmitter {
    /// Highest temperature of its solder point, degC: the lower of its sheet's and the lamp's, where either is stated.
    #[must_use]
    pub fn solder_limit_c(&self, lamp: &Lamp) -> Option<f64> {
        [self.sheet.solder_limit_c, lamp.solder_limit_c].into_iter().flatten().reduce(f64::min)
    }
}

/// A land of a placed package, for drawing and for electrical tracing.
#[derive(Debug, Clone)]
pub struct PlacedLand {
    /// `thermal`, `anode` or `cathode`.
    pub role: LandRole,
    /// Its shape on the board.
    pub area: Area,
}

/// What a land is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LandRole {
    /// Carries heat.
    Thermal,
    /// Current goes in.
    Anode,
    /// Current comes out.
    Cathode,
}

/// A rectangle with a given heat.
#[derive(Debug, Clone)]
pub struct HeatPatch {
    /// Name, for messages and results.
    pub name: String,
    /// Where on the emitter side's face.
    pub area: Area,
    /// Heat, W.
    pub heat_w: f64,
}

/// The thermal interface under the board.
#[derive(Debug, Clone, PartialEq)]
pub struct Bond {
    /// Thickness, m, where given; the free one of a pad whose compression is given.
    pub thickness_m: Option<f64>,
    /// Conductivity, W/m/K, where given.
    pub conductivity_w_per_m_k: Option<f64>,
    /// Resistance times area, m²K/W: given, or thickness over conductivity.
    pub resistance_m2k_per_w: f64,
    /// What else is known of it.
    pub interface: Interface,
}

/// A heatsink: a base plate and what its back gives to the room.
#[derive(Debug, Clone)]
pub struct Heatsink {
    /// Base plate seen from the emitter side.
    pub base: Area,
    /// Base plate's thickness, m.
    pub thickness_m: f64,
    /// Base plate's substance.
    pub material: Material,
    /// From the base's back to the room.
    pub cooling: Cooling,
    /// Emissivity of the base's front beside the board, 0..1.
    pub front_emissivity: f64,
}

/// What carries the heat from the base's back to the room.
#[derive(Debug, Clone, PartialEq)]
pub enum Cooling {
    /// Given thermal resistance from the base's back to the room, K/W, spread evenly over the back.
    Resistance {
        /// K/W; > 0.
        k_per_w: f64,
    },
    /// Given heat transfer coefficient over the back, W/m²/K.
    Film {
        /// W/m²/K; > 0.
        h_w_per_m2_k: f64,
    },
    /// Fins by their dimensions, with fan, vents and housing.
    Air(Box<AirSide>),
}

/// What an open face gives to the room.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Face {
    /// Nothing.
    Adiabatic,
    /// A given heat transfer coefficient, W/m²/K, radiation included.
    Film {
        /// W/m²/K; > 0.
        h_w_per_m2_k: f64,
    },
    /// Natural convection by orientation, and radiation, solved with the temperature.
    Open {
        /// Emissivity, 0..1.
        emissivity: f64,
    },
}

/// What a sensor sits on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SitsOn {
    /// The board.
    Board,
    /// The heatsink base.
    Heatsink,
}

impl SitsOn {
    /// In lamp.toml and in results.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Board => "board",
            Self::Heatsink => "heatsink",
        }
    }
}

/// A sensor on the board.
#[derive(Debug, Clone)]
pub struct Sensor {
    /// Name, for results.
    pub name: String,
    /// What it sits on.
    pub on: SitsOn,
    /// Where, in plan: on the emitter side's face of the board; on the heatsink base's front beside the board, or in the middle of
    /// the base's thickness where the board covers it.
    pub at: Point,
    /// Its law, where given.
    pub law: Option<SensorLaw>,
    /// Its limits of error, where given.
    pub accuracy: Option<Accuracy>,
    /// Limit of error of a thermocouple's cold junction, K.
    pub cold_junction_limit_k: f64,
    /// Current through a resistor sensor without a divider, A, where given.
    pub sensing_current_a: Option<f64>,
    /// Heat that warms the sensor by 1 K above its place, W/K, where given.
    pub dissipation_w_per_k: Option<f64>,
    /// Difference of temperature that shall be told apart, K.
    pub resolve_k: f64,
}

impl Sensor {
    /// Whether it reads the temperature of its place; else it reads junctions, by their voltage.
    #[must_use]
    pub fn reads_its_place(&self) -> bool {
        !matches!(self.law, Some(SensorLaw::ForwardVoltage { .. }))
    }
}

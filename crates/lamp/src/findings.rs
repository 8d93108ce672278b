//! What a prediction found. Every view (terminal, JSON, page) prints only what is here.
//!
//! Field names carry their units; the JSON is this, field for field.

use serde::Serialize;

/// The answer of one prediction.
#[derive(Debug, Clone, Serialize)]
pub struct Findings {
    /// Name of the lamp.
    pub lamp: String,
    /// One for each variant and drive current, variants in project order, currents ascending.
    pub runs: Vec<Run>,
    /// What holds for a variant at every current.
    pub variants: Vec<VariantFindings>,
    /// What was noticed about the lamp as a whole while reading it.
    pub remarks: Vec<FindingRemark>,
    /// `true` when every run of every variant keeps every limit.
    pub within_limits: bool,
}

/// What holds for a variant at every drive current.
#[derive(Debug, Clone, Serialize)]
pub struct VariantFindings {
    /// Short name.
    pub variant: String,
    /// One line for headings.
    pub title: String,
    /// Smallest drive current at which no steady state exists, A; `None` when there is none up to
    /// `runaway_searched_to_a`.
    pub runaway_current_a: Option<f64>,
    /// What runs away there.
    pub runaway_of: Option<RunawayOf>,
    /// How far the search for a runaway went, A of drive current.
    pub runaway_searched_to_a: f64,
}

/// One steady state: a variant at a drive current.
#[derive(Debug, Clone, Serialize)]
pub struct Run {
    /// Variant's short name.
    pub variant: String,
    /// Drive current, A: each string's or the lamp's.
    pub current_a: f64,
    /// Room temperature, degC.
    pub ambient_c: f64,
    /// Whether there is a steady state; without one, temperatures are `None`.
    pub state: RunState,
    /// Electrical power into the emitters, W.
    pub electrical_w: f64,
    /// Heat into the board, heat patches and loss in the copper included, W.
    pub heat_w: f64,
    /// Radiant power, W.
    pub radiant_w: f64,
    /// Luminous flux, lm.
    pub light_lm: f64,
    /// What each board sensor reads.
    pub sensors: Vec<SensorFinding>,
    /// Hottest place of the board's emitter side, degC.
    pub hottest_board_c: Option<f64>,
    /// Where that is, mm in artwork coordinates: x, y.
    pub hottest_board_at_mm: Option<[f64; 2]>,
    /// Hottest solder point, degC.
    pub hottest_solder_c: Option<f64>,
    /// Hottest junction, degC.
    pub hottest_junction_c: Option<f64>,
    /// Reference of the emitter with the hottest junction.
    pub hottest_emitter: Option<String>,
    /// Per emitter, in project order.
    pub emitters: Vec<EmitterFinding>,
    /// Per heat patch, in project order.
    pub heat_patches: Vec<HeatPatchFinding>,
    /// What the copper that carries the current costs; `None` where the strings are not traced.
    pub copper: Option<CopperFinding>,
    /// How branches side by side share the current; `None` where none do.
    pub sharing: Option<SharingFinding>,
    /// The bond line as built; `None` without one.
    pub bond: Option<BondFinding>,
    /// Where every watt leaves: the heat's ways, largest first, each followed by its parts; then leads and light.
    pub ways_out: Vec<WayOutFinding>,
    /// Sum of the ways that are no part of another, W: all that comes in.
    pub ways_out_w: f64,
    /// Fins, fan, vents and housing; `None` where the heatsink is not given by its dimensions.
    pub air_side: Option<AirSideFinding>,
    /// Surfaces that can be touched, against burn thresholds.
    pub touch: Vec<TouchFinding>,
    /// Limits with their margins, smallest margin first.
    pub limits: Vec<LimitFinding>,
    /// Heat that went in and where it left.
    pub energy_balance: EnergyBalance,
    /// Number of grid cells.
    pub cells: usize,
    /// Finest in-plane pitch of the grid, mm.
    pub pitch_mm: f64,
    /// Estimated error of the hottest temperatures that comes from the grid, K (from a second, coarser pitch).
    pub grid_error_k: f64,
    /// Linear solver's iterations, all steps of the operating point together.
    pub iterations: usize,
    /// Wall time of this run, s; filled by the program, which has a clock.
    pub seconds: f64,
    /// What was noticed about this run.
    pub remarks: Vec<FindingRemark>,
}

/// Whether a steady state exists.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum RunState {
    /// It does.
    Steady,
    /// Heat grows faster with temperature than the lamp can shed it.
    Runaway,
}

/// What runs away.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum RunawayOf {
    /// Heat grows faster with temperature than the lamp can shed it.
    Heat,
    /// A branch takes ever more of a shared current, for its voltage falls as it gets hotter.
    Sharing,
}

/// What a board sensor reads.
#[derive(Debug, Clone, Serialize)]
pub struct SensorFinding {
    /// Name.
    pub name: String,
    /// Temperature at its place, degC.
    pub reading_c: Option<f64>,
    /// Output of its law at that temperature, V, where the law gives a voltage; filled by the program.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub output_v: Option<f64>,
    /// Its resistance at that temperature, ohm, where that is what is logged; filled by the program.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub output_ohm: Option<f64>,
}

/// One emitter's state.
#[derive(Debug, Clone, Serialize)]
pub struct EmitterFinding {
    /// Reference on the board.
    #[serde(rename = "ref")]
    pub reference: String,
    /// Centre, mm in artwork coordinates: x, y.
    pub at_mm: [f64; 2],
    /// Current through it, A.
    pub current_a: f64,
    /// Junction temperature, degC.
    pub junction_c: Option<f64>,
    /// Solder point (mean over the thermal land at the copper's face), degC.
    pub solder_c: Option<f64>,
    /// Forward voltage, V.
    pub forward_v: Option<f64>,
    /// Electrical power, W.
    pub electrical_w: Option<f64>,
    /// Heat, W.
    pub heat_w: Option<f64>,
    /// Radiant power, W.
    pub radiant_w: Option<f64>,
    /// Luminous flux, lm.
    pub flux_lm: Option<f64>,
    /// Junction limit of its sheet, degC.
    pub junction_limit_c: f64,
    /// Limit less junction, K; negative when over.
    pub junction_margin_k: Option<f64>,
    /// From junction to ambient, top first: the staircase.
    pub heat_path: Vec<HeatStep>,
}

/// One step of the heat path.
#[derive(Debug, Clone, Serialize)]
pub struct HeatStep {
    /// Short fixed name of the step: `package`, `dielectric`, `core`, `board`, `bond`, `base`, then `air`, or where
    /// the heatsink is given by its dimensions `fins`, `warming` (of a fan's air), `housing`.
    pub step: &'static str,
    /// Where it begins, in plain words, such as "junction".
    pub from: String,
    /// Where it ends, in plain words, such as "solder point".
    pub to: String,
    /// Temperature where it begins, degC.
    pub from_c: f64,
    /// Temperature where it ends, degC.
    pub to_c: f64,
    /// What is lost on the step, K.
    pub drop_k: f64,
    /// What would lower it, in a sentence.
    pub lowered_by: String,
}

/// A heat patch's temperatures.
#[derive(Debug, Clone, Serialize)]
pub struct HeatPatchFinding {
    /// Name.
    pub name: String,
    /// Heat, W.
    pub heat_w: f64,
    /// Mean temperature of its face, degC.
    pub mean_c: f64,
    /// Temperature at its centre, degC.
    pub centre_c: f64,
    /// Highest temperature of its face, degC.
    pub hottest_c: f64,
    /// Mean rise above ambient, K.
    pub mean_rise_k: f64,
    /// Rise at its centre, K.
    pub centre_rise_k: f64,
    /// Highest rise, K.
    pub hottest_rise_k: f64,
}

/// A limit and how far the run is from it.
#[derive(Debug, Clone, Serialize)]
pub struct LimitFinding {
    /// What is limited, in plain words: "junction of D6", "drive current", "board", "solder point of D6".
    pub what: String,
    /// Unit of the three numbers: `degC`, `A` or `V`.
    pub unit: &'static str,
    /// The value found, in `unit`.
    pub found: f64,
    /// The limit, in `unit`.
    pub limit: f64,
    /// How far the value keeps from the limit, in K, A or V; negative when it is passed. For a least voltage, value less limit.
    pub margin: f64,
}

/// Where the heat went, W.
#[derive(Debug, Clone, Copy, Serialize)]
pub struct EnergyBalance {
    /// Heat in.
    pub in_w: f64,
    /// Out through the heatsink's back.
    pub heatsink_w: f64,
    /// Out of open faces by natural convection (and given films).
    pub convection_w: f64,
    /// Out of open faces by radiation.
    pub radiation_w: f64,
    /// (in - out) / in; magnitude at most 1e-6.
    pub relative_error: f64,
}

/// A way by which watts leave.
#[derive(Debug, Clone, Serialize)]
pub struct WayOutFinding {
    /// Short fixed name: `board_face`, `board_back`, `base_front`, `base_back` or with fins `fins`, of these the housing's `walls`
    /// and `vents`; `leads`, `light`.
    pub name: &'static str,
    /// In plain words, such as "the board's emitter side".
    pub way: String,
    /// Watts.
    pub heat_w: f64,
    /// Of it by convection (or a given film), W; `None` where that is not known apart, and for light.
    pub convection_w: Option<f64>,
    /// Of it by radiation, W; `None` likewise.
    pub radiation_w: Option<f64>,
    /// Name of the way that this is a part of; it is counted there and not once more.
    pub part_of: Option<&'static str>,
    /// Whether it is part of the heat into the board; the loss in leads and the light are not.
    pub from_board: bool,
}

/// The air side of a heatsink given by its dimensions.
#[derive(Debug, Clone, Serialize)]
pub struct AirSideFinding {
    /// Mean of the base's back, degC.
    pub back_c: f64,
    /// From the base's back to the room, K/W.
    pub k_per_w: f64,
    /// Air that meets the fins, degC: the room's, or that inside a housing.
    pub air_in_c: f64,
    /// Air that leaves them, degC; `None` without a fan that turns.
    pub air_out_c: Option<f64>,
    /// Part of the way from back to room that the fins and the air's film cost, K.
    pub fins_k: f64,
    /// Part that the warming of the air between the fins costs, K, mean over them.
    pub warming_k: f64,
    /// Part that warm air in a housing costs, K.
    pub housing_k: f64,
    /// Heat that leaves the housing through its walls, W; `None` without warm air in a housing.
    pub walls_w: Option<f64>,
    /// Heat that leaves it with the air through its vents, W.
    pub vents_w: Option<f64>,
    /// Air through the housing's vents by its own draught, l/s.
    pub draught_l_per_s: f64,
    /// Fan, where there is one.
    pub fan: Option<FanFinding>,
    /// What changes of the cooling would do, each solved in full: for the run at the nominal current, else at the highest; empty for
    /// others and without a steady state.
    pub what_ifs: Vec<AirWhatIfFinding>,
}

/// A fan at work.
#[derive(Debug, Clone, Serialize)]
pub struct FanFinding {
    /// How many alike.
    pub count: u32,
    /// Voltage, V.
    pub voltage_v: f64,
    /// Rated voltage, V.
    pub rated_v: f64,
    /// Whether it stands for lack of voltage.
    pub stands: bool,
    /// Flow of all of them at the operating point, l/s.
    pub flow_l_per_s: f64,
    /// Pressure there, Pa.
    pub pressure_pa: f64,
    /// Air between the fins, m/s; `None` where a maker's table tells nothing of them.
    pub speed_m_per_s: Option<f64>,
    /// Reynolds number there.
    pub reynolds: Option<f64>,
    /// What the pressure is spent on.
    pub spent: Vec<PressureFinding>,
    /// Curve of all fans at their voltage: flow, l/s, and pressure, Pa.
    pub curve: Vec<[f64; 2]>,
    /// What the system asks for: flow, l/s, and pressure, Pa.
    pub system: Vec<[f64; 2]>,
}

/// A part of the pressure.
#[derive(Debug, Clone, Serialize)]
pub struct PressureFinding {
    /// What it is spent on.
    pub what: String,
    /// Pa.
    pub pressure_pa: f64,
}

/// What a change of the cooling would do.
#[derive(Debug, Clone, Serialize)]
pub struct AirWhatIfFinding {
    /// What is changed, in plain words.
    pub what: String,
    /// Whether there is a steady state then.
    pub steady: bool,
    /// From the base's back to the room then, K/W; `None` without a steady state.
    pub k_per_w: Option<f64>,
    /// By how much the hottest junction becomes hotter (the board's hottest place without emitters), K; `None` without a steady
    /// state.
    pub hotter_k: Option<f64>,
    /// Hottest junction then, degC; `None` without emitters or a steady state.
    pub hottest_junction_c: Option<f64>,
    /// Flow of the fans then, l/s; `None` where none turns.
    pub flow_l_per_s: Option<f64>,
}

/// A surface that can be touched.
#[derive(Debug, Clone, Serialize)]
pub struct TouchFinding {
    /// Which, in plain words.
    pub surface: String,
    /// What the skin feels: `metal`, `plastic`.
    pub material: &'static str,
    /// Its hottest place, degC.
    pub hottest_c: f64,
    /// From which temperature a touch of 1 s can burn, degC.
    pub burns_in_1_s_c: f64,
    /// The same for 10 s.
    pub burns_in_10_s_c: f64,
    /// The same for 1 min.
    pub burns_in_1_min_c: f64,
    /// The shortest of these contacts that can burn: `1 s`, `10 s`, `1 min`; `None`: none of them.
    pub burns_within: Option<&'static str>,
    /// Where the thresholds come from.
    pub source: &'static str,
}

/// A remark that belongs to a result.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct FindingRemark {
    /// `note`, `warning` or `error`.
    pub severity: &'static str,
    /// File it is about, where there is one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub file: Option<String>,
    /// Line, from 1.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub line: Option<u32>,
    /// Column, from 1.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub column: Option<u32>,
    /// What was found, what is allowed, what was done.
    pub text: String,
}

/// The drive current in the copper.
#[derive(Debug, Clone, Serialize)]
pub struct CopperFinding {
    /// Loss in copper and plated holes, W; part of the heat into the board.
    pub loss_w: f64,
    /// Of it in plated holes, W.
    pub barrels_w: f64,
    /// Loss in the supplies' leads, which are beside the board, W.
    pub leads_w: f64,
    /// Loss in the copper over the electrical power of emitters, copper and leads together.
    pub part_of_electrical: f64,
    /// What all drivers give, W: emitters, copper and leads; `None` where a string's voltage is not known.
    pub drivers_w: Option<f64>,
    /// The hottest place of all copper that carries current; `None` where none does.
    pub hottest: Option<HotCopperFinding>,
    /// The strings, in project order.
    pub strings: Vec<StringFinding>,
    /// The supplies with what their drivers must give, in project order.
    pub supplies: Vec<SupplyFinding>,
    /// Copper that carries current, largest loss first.
    pub islands: Vec<IslandFinding>,
    /// Narrow places that carry current, densest first.
    pub necks: Vec<NeckFinding>,
    /// What the IPC-2221 rule beside the necks is made for, and its limits.
    pub ipc_2221_is: &'static str,
    /// Side of the pixels in which the copper was solved, mm.
    pub pixel_mm: f64,
    /// What is left out and why.
    pub remarks: Vec<String>,
}

/// The hottest place of copper.
#[derive(Debug, Clone, Serialize)]
pub struct HotCopperFinding {
    /// Its layer.
    pub layer: String,
    /// Where it is, mm in artwork coordinates: x, y.
    pub at_mm: [f64; 2],
    /// Its temperature, degC.
    pub temperature_c: f64,
}

/// A string's voltages.
#[derive(Debug, Clone, Serialize)]
pub struct StringFinding {
    /// Name.
    pub name: String,
    /// References of its emitters, from + to -.
    pub emitters: Vec<String>,
    /// Current, A.
    pub current_a: f64,
    /// Drop in the board's copper, V; `None` where the string branches or copper is left out.
    pub copper_drop_v: Option<f64>,
    /// Loss in the board's copper for its current: current times drop, W; `None` where the drop is.
    pub copper_loss_w: Option<f64>,
    /// That loss over the electrical power of emitters, copper and leads together.
    pub copper_part_of_electrical: Option<f64>,
    /// Drop in both leads of its supply, V; `None` where no leads are given.
    pub lead_drop_v: Option<f64>,
    /// Sum of the forward voltages, V; `None` where the string branches.
    pub forward_v: Option<f64>,
    /// What the driver must give, settled, V; `None` where the string branches and shares are given by hand.
    pub driver_v: Option<f64>,
    /// What the driver must give at the first moment, all at room temperature, V.
    pub driver_cold_v: Option<f64>,
}

/// What a supply's driver must give, leads and copper included, and what it can.
#[derive(Debug, Clone, Serialize)]
pub struct SupplyFinding {
    /// Name.
    pub name: String,
    /// Current, A.
    pub current_a: f64,
    /// Loss in both leads, W; `None` where none are given.
    pub lead_loss_w: Option<f64>,
    /// Temperature of the leads, degC: bare wires on their own in still air. Insulated ones are cooler, those in a bundle hotter.
    pub lead_c: Option<f64>,
    /// Settled, emitters as their sheets say, V; `None` where a string's voltage is not known.
    pub driver_v: Option<f64>,
    /// Settled, all emitters at the low edge of their voltage tolerance, V.
    pub driver_low_v: Option<f64>,
    /// Settled, all emitters at the high edge, V.
    pub driver_high_v: Option<f64>,
    /// Room of the cold start, degC: the coldest that is given, else the run's.
    pub cold_c: f64,
    /// At the first moment in that room, emitters as their sheets say, V.
    pub cold_v: Option<f64>,
    /// The same with all emitters at the high edge, V.
    pub cold_high_v: Option<f64>,
    /// Least voltage the driver can give, V, where stated.
    pub voltage_least_v: Option<f64>,
    /// Most voltage the driver can give, V, where stated.
    pub voltage_most_v: Option<f64>,
    /// Most voltage less what is needed settled at the high edge, V; negative when the driver cannot give it.
    pub headroom_v: Option<f64>,
    /// Most voltage less what is needed at the cold start at the high edge, V.
    pub cold_headroom_v: Option<f64>,
    /// What is needed settled at the low edge less the least voltage, V; negative when the driver cannot go so low.
    pub least_headroom_v: Option<f64>,
}

/// How branches side by side share the current.
#[derive(Debug, Clone, Serialize)]
pub struct SharingFinding {
    /// Whether the division of the current lasts.
    pub state: RunState,
    /// How much of a temperature difference between branches comes back through their currents: below 1 differences grow to
    /// 1 / (1 - feedback) of themselves, from 1 on they grow of their own. Where junctions are equal.
    pub feedback: f64,
    /// Branches side by side, the outermost first.
    pub groups: Vec<SharingGroupFinding>,
    /// What is left out and why.
    pub remarks: Vec<String>,
}

impl SharingFinding {
    /// Whether the division does not last, as the sheets say or in the worst case of the voltage tolerance.
    #[must_use]
    pub fn may_run_away(&self) -> bool {
        let worst = self.groups.iter().filter_map(|group| group.worst.as_ref());
        self.state == RunState::Runaway || worst.into_iter().any(|worst| worst.runs_away)
    }
}

/// Branches side by side.
#[derive(Debug, Clone, Serialize)]
pub struct SharingGroupFinding {
    /// The branches, in project order.
    pub branches: Vec<SharingBranchFinding>,
    /// How far the largest branch current lies above their mean at the first moment, all junctions at room temperature, %.
    pub cold_imbalance_percent: f64,
    /// The same settled, %; `None` where the division does not last.
    pub imbalance_percent: Option<f64>,
    /// The branch that takes ever more, where the division does not last; where all are alike, any of them may.
    pub runs_away: Option<String>,
    /// The worst case of the voltage tolerance; `None` without one.
    pub worst: Option<SharingWorstFinding>,
}

/// A branch.
#[derive(Debug, Clone, Serialize)]
pub struct SharingBranchFinding {
    /// The string's or supply's name, or how its emitters hang together.
    pub name: String,
    /// References of its emitters.
    pub emitters: Vec<String>,
    /// Current at the first moment, A.
    pub cold_a: f64,
    /// Current settled, A.
    pub current_a: Option<f64>,
    /// Its hottest junction settled, degC.
    pub hottest_junction_c: Option<f64>,
}

/// One branch's emitters at the low edge of their voltage tolerance and all others' at the high one: of the branches, the one for
/// which an emitter comes nearest to its current limit.
#[derive(Debug, Clone, Serialize)]
pub struct SharingWorstFinding {
    /// The branch at the low edge.
    pub branch: String,
    /// Its current at the first moment, A.
    pub cold_a: f64,
    /// How far that lies above the branches' mean, %.
    pub cold_imbalance_percent: f64,
    /// Its current settled, A; `None` where it takes ever more.
    pub current_a: Option<f64>,
    /// How far that lies above the mean, %.
    pub imbalance_percent: Option<f64>,
    /// Feedback in this case, as in [`SharingFinding::feedback`].
    pub feedback: f64,
    /// Whether the branch takes ever more.
    pub runs_away: bool,
    /// Reference of its emitter nearest to the current limit.
    pub emitter: String,
    /// Current of that emitter settled, A; where the branch takes ever more, what it has with all of the group's current.
    pub emitter_a: f64,
    /// Current limit of its sheet, A.
    pub emitter_limit_a: f64,
    /// Reference of the branch's emitter with the hottest junction.
    pub hottest_emitter: Option<String>,
    /// That junction, degC.
    pub hottest_junction_c: Option<f64>,
    /// Limit of its sheet, degC.
    pub junction_limit_c: Option<f64>,
}

/// A piece of copper that carries current.
#[derive(Debug, Clone, Serialize)]
pub struct IslandFinding {
    /// Its net.
    pub net: String,
    /// Its layer.
    pub layer: String,
    /// Size, mm².
    pub area_mm2: f64,
    /// Current into it and what plated holes join it to, A.
    pub current_a: f64,
    /// Loss, W.
    pub loss_w: f64,
    /// Loss over the electrical power of emitters, copper and leads together.
    pub part_of_electrical: f64,
    /// Where most heat arises, mm in artwork coordinates: x, y; over a square of 0.5 mm.
    pub hottest_at_mm: Option<[f64; 2]>,
    /// Loss there, W/cm².
    pub hottest_w_per_cm2: Option<f64>,
}

/// A narrow place that carries current.
#[derive(Debug, Clone, Serialize)]
pub struct NeckFinding {
    /// Its layer.
    pub layer: String,
    /// Middle, mm in artwork coordinates: x, y.
    pub at_mm: [f64; 2],
    /// Copper across the flow, mm.
    pub width_mm: f64,
    /// Length along the flow, mm.
    pub length_mm: f64,
    /// Current through it, A.
    pub current_a: f64,
    /// Mean current density, A/mm².
    pub density_a_per_mm2: f64,
    /// Loss along it, W.
    pub loss_w: f64,
    /// Temperature of the copper there, degC, from the lamp's field; `None` off the board.
    pub temperature_c: Option<f64>,
    /// That temperature above the room's, K: what emitters and copper heat together.
    pub rise_k: Option<f64>,
    /// Rise above the board around it that the IPC-2221 rule gives a long trace of this width, K: a rule for FR4 traces in
    /// still air, not for this board.
    pub ipc_2221_rise_k: f64,
    /// Whether the rule is stated for it.
    pub ipc_2221_in_range: bool,
    /// Width that the rule asks for this current and a rise of 20 K, mm.
    pub ipc_2221_width_mm: f64,
    /// Whether the rule is stated for that width.
    pub ipc_2221_width_in_range: bool,
    /// Free width on both sides together, mm.
    pub free_width_mm: f64,
    /// Loss that filling the free width would save, W, as an estimate.
    pub widening_saves_w: f64,
}

/// The bond line as built: the gap between board and heatsink base, and what is in it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BondFinding {
    /// `grease`, `pad`, `tape` or `adhesive`.
    pub kind: &'static str,
    /// Mean gap where there is a film, µm; this and the next are `None` where only a resistance is given.
    pub mean_um: Option<f64>,
    /// Least gap, µm.
    pub least_um: Option<f64>,
    /// Where that is, mm in artwork coordinates: x, y.
    pub least_at_mm: Option<[f64; 2]>,
    /// Greatest gap, µm.
    pub greatest_um: Option<f64>,
    /// Where that is, mm in artwork coordinates: x, y.
    pub greatest_at_mm: Option<[f64; 2]>,
    /// Area over which board and base lie over each other, mm².
    pub area_mm2: f64,
    /// Part of it where the film is at its least thickness.
    pub part_contact: f64,
    /// Part of it where the gap is wider and filled.
    pub part_filled: f64,
    /// Part of it where the film does not fill the gap.
    pub part_air: f64,
    /// Part of it without film: beside pedestals, and where there is told to be no contact.
    pub part_untouched: f64,
    /// Resistance times area of the whole, m²K/W: as if each place had the same drop.
    pub resistance_m2k_per_w: f64,
    /// The same with thickness and conductivity of the film at the good ends of their tolerances, m²K/W.
    pub least_resistance_m2k_per_w: f64,
    /// The same at their bad ends, m²K/W.
    pub greatest_resistance_m2k_per_w: f64,
    /// How much hotter the hottest junction is at the bad ends, K, in proportion to its step over the bond line; `None` without
    /// tolerances.
    pub doubt_k: Option<f64>,
    /// How much hotter the hottest junction is for the burrs, K; `None` without burrs or where it was not asked.
    pub burrs_cost_k: Option<f64>,
    /// How much hotter it is for the bow, K; `None` without bow or where it was not asked.
    pub bow_costs_k: Option<f64>,
    /// Greatest pull that a screw must give to hold the board as told, N; `None` where nothing bends it.
    pub screw_pull_n: Option<f64>,
    /// What changes of the contact would do, where it was asked.
    pub what_ifs: Vec<ContactWhatIfFinding>,
    /// What the model of the bond line leaves out, and what stands against it.
    pub remarks: Vec<String>,
}

/// What a change of the contact between board and heatsink would do, solved in full.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ContactWhatIfFinding {
    /// What is changed: `without burrs`, `without bow`, `flat and free of burrs`, `no contact under D3`.
    pub what: String,
    /// Whether there is a steady state then.
    pub steady: bool,
    /// By how much the hottest junction (without emitters the board's hottest place) is hotter, K; less than 0 where it is cooler;
    /// `None` without a steady state.
    pub hotter_k: Option<f64>,
    /// Hottest junction then, degC.
    pub hottest_junction_c: Option<f64>,
    /// Reference of its emitter.
    pub hottest_emitter: Option<String>,
    /// Reference of the emitter under which contact is missing, where that is the change.
    pub under: Option<String>,
    /// By how much its own junction is hotter, K.
    pub there_hotter_k: Option<f64>,
}

//! The demo board's geometry, mm: x to the right, y up, lower left corner at 0, 0.
//!
//! Two strings of four emitters in two rows; each row's pours carry the current from the supply pad at the left to the
//! right, and a band along the long edge brings it back. The lower row is the upper one mirrored.

/// Which board is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Build {
    /// Two-layer FR4 with thermal vias.
    Plain,
    /// Aluminium core, one copper side.
    Core,
}

/// A point, mm.
pub(super) type Xy = [f64; 2];

pub(super) const WIDTH: f64 = 72.0;
pub(super) const HEIGHT: f64 = 48.0;
pub(super) const CORNER: f64 = 3.0;

/// Mounting holes, unplated, 3.2 mm.
pub(super) const HOLES: [Xy; 6] =
    [[4.0, 4.0], [68.0, 4.0], [4.0, 44.0], [68.0, 44.0], [36.0, 44.9], [36.0, 3.1]];
pub(super) const HOLE: f64 = 3.2;
/// Copper stays this far from a mounting hole's middle: screw head and creepage.
pub(super) const HOLE_CLEAR: f64 = 5.2;

const COLUMNS: [f64; 4] = [13.5, 28.5, 43.5, 58.5];
const ROW: f64 = 33.0;

/// Gap between nets.
pub(super) const GAP: f64 = 0.3;

/// The package's lands at rotation 0: name, centre, size. The same as in the emitter sheet.
pub(super) const LANDS: [(&str, Xy, Xy); 3] =
    [("A", [-1.4, 0.0], [0.5, 3.3]), ("C", [1.4, 0.0], [0.5, 3.3]), ("TH", [0.0, 0.0], [1.3, 3.3])];

/// Thermal vias under and beside each emitter.
#[cfg(test)]
pub(super) const VIAS_PER_EMITTER: usize = 8 + 2 * 21;
pub(super) const VIA: f64 = 0.3;
pub(super) const VIA_LAND: f64 = 0.6;

/// An emitter's place.
pub(super) struct Emitter {
    pub reference: String,
    pub at: Xy,
    /// Nets of anode, cathode and thermal land.
    pub nets: [String; 3],
}

/// Mirrors the upper row's drawing for the lower row.
fn mirrored(lower: bool, [x, y]: Xy) -> Xy {
    if lower { [x, HEIGHT - y] } else { [x, y] }
}

fn string(lower: bool) -> char {
    if lower { 'B' } else { 'A' }
}

/// Net number `step` of a string: plus, three between emitters, minus.
fn net(lower: bool, step: usize) -> String {
    match step {
        0 => format!("{}+", string(lower)),
        4 => format!("{}-", string(lower)),
        between => format!("{}{between}", string(lower)),
    }
}

pub(super) fn heat_net(build: Build, reference: &str) -> String {
    match build {
        // All spreaders are joined by the vias and the bottom copper.
        Build::Plain => "HEAT".to_owned(),
        Build::Core => format!("HEAT_{reference}"),
    }
}

pub(super) fn emitters(build: Build) -> Vec<Emitter> {
    [false, true]
        .into_iter()
        .flat_map(|lower| {
            COLUMNS.into_iter().enumerate().map(move |(column, x)| {
                let reference = format!("D{}", column + 1 + if lower { 4 } else { 0 });
                let nets = [net(lower, column), net(lower, column + 1), heat_net(build, &reference)];
                Emitter { at: mirrored(lower, [x, ROW]), nets, reference }
            })
        })
        .collect()
}

/// The pours of both strings: net and corners.
pub(super) fn pours() -> Vec<(String, Vec<Xy>)> {
    let (low, high) = (ROW - 6.0, ROW + 6.0);
    let land = 1.15;
    let mut pours = Vec::new();
    for lower in [false, true] {
        let plus = vec![
            [0.8, low],
            [COLUMNS[0] - land, low],
            [COLUMNS[0] - land, high],
            [6.0, high],
            [6.0, 36.0],
            [0.8, 36.0],
        ];
        let minus = vec![
            [COLUMNS[3] + land, low],
            [71.2, low],
            [71.2, 41.1],
            [64.8, 41.1],
            [64.8, 42.3],
            [7.2, 42.3],
            [7.2, 41.1],
            [0.8, 41.1],
            [0.8, 36.0 + GAP],
            [6.0 - GAP, 36.0 + GAP],
            [6.0 - GAP, high + GAP],
            [COLUMNS[3] + land, high + GAP],
        ];
        let mut add = |step: usize, corners: Vec<Xy>| {
            pours.push((
                net(lower, step),
                corners.into_iter().map(|corner| mirrored(lower, corner)).collect(),
            ));
        };
        add(0, plus);
        for (step, pair) in COLUMNS.windows(2).enumerate() {
            let (left, right) = (pair[0] + land, pair[1] - land);
            add(step + 1, vec![[left, low], [right, low], [right, high], [left, high]]);
        }
        add(4, minus);
    }
    pours
}

/// Outline of a heat spreader about an emitter's middle, grown by `by`: a strip under the package with a wing at each
/// end.
pub(super) fn spreader(by: f64) -> Vec<Xy> {
    let (strip, wing, near, far) = (0.85 + by, 4.2 + by, 2.3 - by, 6.0 + by);
    vec![
        [-wing, -far],
        [wing, -far],
        [wing, -near],
        [strip, -near],
        [strip, near],
        [wing, near],
        [wing, far],
        [-wing, far],
        [-wing, near],
        [-strip, near],
        [-strip, -near],
        [-wing, -near],
    ]
}

/// Via places about an emitter's middle.
pub(super) fn vias() -> Vec<Xy> {
    let mut places = Vec::new();
    for y in [-1.2, -0.4, 0.4, 1.2] {
        places.extend([[-0.35, y], [0.35, y]]);
    }
    for y in [-5.2, -4.2, -3.2, 3.2, 4.2, 5.2] {
        places.extend((0..7).map(|i| [-3.6 + 1.2 * f64::from(i), y]));
    }
    places
}

/// A supply pad.
pub(super) struct SupplyPad {
    /// Component and pin: J2 feeds the upper string, J3 the lower; pin 1 is +.
    pub pin: [&'static str; 2],
    pub net: String,
    pub at: Xy,
    pub size: Xy,
}

/// The supply pads of both strings.
pub(super) fn supply_pads() -> Vec<SupplyPad> {
    [false, true]
        .into_iter()
        .flat_map(|lower| {
            let part = if lower { "J3" } else { "J2" };
            [("1", 0, [3.2, ROW], [3.6, 4.0]), ("2", 4, [3.2, 38.6], [3.6, 3.2])].map(
                |(pin, step, at, size)| SupplyPad {
                    pin: [part, pin],
                    net: net(lower, step),
                    at: mirrored(lower, at),
                    size,
                },
            )
        })
        .collect()
}

/// The board sensor's middle.
pub(super) const SENSOR: Xy = [36.0, 24.0];

/// Sensor pads about its middle: pin, net, centre, size.
pub(super) const SENSOR_PADS: [(&str, &str, Xy, Xy); 3] = [
    ("1", "VS", [-1.1, 0.95], [1.0, 0.8]),
    ("2", "OUT", [-1.1, -0.95], [1.0, 0.8]),
    ("3", "GND", [1.1, 0.0], [1.0, 0.8]),
];

/// Connector pads at the left edge: pin, net, centre, size.
pub(super) const CONNECTOR_PADS: [(&str, &str, Xy, Xy); 3] = [
    ("1", "VS", [3.0, 25.8], [3.4, 1.2]),
    ("2", "GND", [3.0, 24.0], [3.4, 1.2]),
    ("3", "OUT", [3.0, 22.2], [3.4, 1.2]),
];

/// Sensor ground: a pour in the middle band.
pub(super) fn ground() -> Vec<Xy> {
    vec![
        [1.3, 23.4],
        [5.4, 23.4],
        [5.4, 21.4],
        [71.2, 21.4],
        [71.2, 26.6],
        [5.4, 26.6],
        [5.4, 24.6],
        [1.3, 24.6],
    ]
}

/// Sensor traces: net, points.
pub(super) const TRACES: [(&str, [Xy; 4]); 2] = [
    ("VS", [[3.0, 25.8], [31.0, 25.8], [33.2, 24.95], [34.9, 24.95]]),
    ("OUT", [[3.0, 22.2], [31.0, 22.2], [33.2, 23.05], [34.9, 23.05]]),
];
pub(super) const TRACE: f64 = 0.4;

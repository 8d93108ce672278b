//! Supply pads: from a place or a name to copper.

use artwork::nets::{NamedBy, Nets};
use artwork::roles::Role;
use artwork::shape::Point;

/// How a supply pad is told.
#[derive(Debug, Clone, PartialEq)]
pub enum PadPlace {
    /// A pad such as `J1.1`, or a net.
    Named(String),
    /// A place on the board.
    At(Point),
}

/// A supply pad on copper.
#[derive(Debug, Clone, PartialEq)]
pub struct SupplyPad {
    /// As it was told: `J1.1`, or `3.2, 33 mm`.
    pub told: String,
    /// Where it is; `None` where only a net is told.
    pub at: Option<Point>,
    /// Its island; `None` where only a net is told.
    pub island: Option<usize>,
    /// Its net.
    pub net: usize,
}

/// Names that a message lists.
const LISTED: usize = 12;
/// How far a message looks for copper beside a place, nm.
const NEAR_NM: f64 = 2e6;

impl PadPlace {
    /// As it was told.
    #[must_use]
    pub fn words(&self) -> String {
        match self {
            Self::Named(name) => name.clone(),
            Self::At(at) => format!("{}, {} mm", f64::from(at.x_nm) / 1e6, f64::from(at.y_nm) / 1e6),
        }
    }

    /// Finds the pad: by place on the copper of the emitter side, else of the bottom, else in a plated hole; by name a pad
    /// (`J1.1`, or `J1` where all pads of J1 are on one net), else a net.
    ///
    /// # Errors
    /// When there is no copper or no such name; the text says what there is.
    pub fn find(&self, nets: &Nets) -> Result<SupplyPad, String> {
        match self {
            Self::At(at) => at_place(nets, *at, self.words()),
            Self::Named(name) => by_name(nets, name),
        }
    }
}

fn at_place(nets: &Nets, at: Point, told: String) -> Result<SupplyPad, String> {
    let layers = [Role::CopperTop, Role::CopperBottom];
    if let Some(island) = layers.into_iter().find_map(|layer| nets.island_at(layer, at)) {
        let net = nets.islands[island].net;
        return Ok(SupplyPad { told, at: Some(at), island: Some(island), net });
    }
    let inside = nets.holes.iter().find(|hole| {
        hole.path.iter().any(|middle| {
            let by = |a: i32, b: i32| f64::from(a) - f64::from(b);
            by(middle.x_nm, at.x_nm).hypot(by(middle.y_nm, at.y_nm)) <= f64::from(hole.diameter_nm) / 2.0
        })
    });
    if let Some(hole) = inside {
        return Ok(SupplyPad { told, at: Some(at), island: hole.islands.first().copied(), net: hole.net });
    }
    let beside = layers.into_iter().find_map(|layer| nets.islands_near(layer, at, NEAR_NM).first().copied());
    let beside = beside.map_or_else(
        || format!("none lies within {} mm", NEAR_NM / 1e6),
        |island| format!("the nearest belongs to net \"{}\"", nets.label(nets.islands[island].net)),
    );
    Err(format!("there is no copper at {told}; {beside}"))
}

fn by_name(nets: &Nets, name: &str) -> Result<SupplyPad, String> {
    let pin_of = |pad: &artwork::nets::Pad| format!("{}.{}", pad.reference, pad.pin);
    let mut pads: Vec<&artwork::nets::Pad> =
        nets.pads.iter().filter(|pad| !pad.pin.is_empty() && pin_of(pad) == name).collect();
    if pads.is_empty() {
        pads = nets.pads.iter().filter(|pad| pad.reference == name).collect();
    }
    if let Some(first) = pads.first() {
        let net = |pad: &artwork::nets::Pad| nets.islands[pad.island].net;
        if let Some(other) = pads.iter().find(|pad| net(pad) != net(first)) {
            return Err(format!(
                "the pads of {name} are on several nets, \"{}\" and \"{}\" among them; name one, such as \"{}\"",
                nets.label(net(first)),
                nets.label(net(other)),
                pin_of(first)
            ));
        }
        let (at, island) = (Some(first.at), Some(first.island));
        return Ok(SupplyPad { told: name.to_owned(), at, island, net: net(first) });
    }
    if let Some(net) = nets.by_name(name) {
        return Ok(SupplyPad { told: name.to_owned(), at: None, island: None, net });
    }
    let mut pins: Vec<String> = nets.pads.iter().filter(|pad| !pad.pin.is_empty()).map(pin_of).collect();
    pins.dedup();
    let named = nets.nets.iter().filter(|net| net.named_by != NamedBy::Number);
    let names: Vec<&str> = named.map(|net| net.name.as_str()).collect();
    Err(format!(
        "there is no pad and no net \"{name}\"; pads: {}; nets: {}; a place such as [\"3 mm\", \"33 mm\"] is allowed too",
        listed(&pins),
        listed(&names)
    ))
}

fn listed(names: &[impl AsRef<str>]) -> String {
    let mut words: Vec<String> = names.iter().take(LISTED).map(|name| name.as_ref().to_owned()).collect();
    match names.len() {
        0 => "none".to_owned(),
        all if all > LISTED => {
            words.push(format!("and {} more", all - LISTED));
            words.join(", ")
        }
        _ => words.join(", "),
    }
}

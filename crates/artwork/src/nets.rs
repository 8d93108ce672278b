//! Copper nets: which pieces of copper hang together, within a layer and through plated holes, and what they are called.
//!
//! An island is a connected piece of a layer's final dark image. Islands that share an edge are one; islands that meet
//! in a single point only are not joined, for there is no copper to carry a current.
//!
//! A plated hole or slot joins, on every layer of its span, the islands that its outline touches when it is grown by
//! [`REGISTRATION_NM`] all round. This stands for the drill's registration, for the barrel's own copper where the file
//! gives the finished diameter, and for pads that are drawn hollow at the hole's size. It is far below the clearance that
//! any board keeps between a hole and copper of another net. Unplated holes join nothing; holes of which nothing tells
//! whether they are plated count as plated, which is told.
//!
//! Names come from the net attribute of the objects that drew the copper, else from a netlist's test points, else nets
//! are numbered, the largest first.

mod drawn;
mod edges;
mod islands;
mod joining;
mod naming;
mod points;
mod signs;
mod telling;

#[cfg(test)]
mod tests;

use crate::reading::Artwork;
use crate::remark::Remark;
use crate::roles::Role;
use crate::shape::{Area, Bounds, Point};
use islands::LayerIslands;

/// How far a plated hole's outline reaches for copper beyond its edge, nm.
pub const REGISTRATION_NM: i32 = 50_000;

/// A connected piece of one layer's copper.
#[derive(Debug, Clone)]
pub struct Island {
    /// Its layer.
    pub layer: Role,
    /// Its copper: one polygon with its holes.
    pub area: Area,
    /// Size, mm².
    pub area_mm2: f64,
    /// Upright rectangle round it.
    pub bounds: Bounds,
    /// Its net: an index into [`Nets::nets`].
    pub net: usize,
}

/// A plated hole or slot that touches copper.
#[derive(Debug, Clone, PartialEq)]
pub struct PlatedHole {
    /// Its middle; for a slot, two points or more of its centre line.
    pub path: Vec<Point>,
    /// Diameter, or width of a slot, nm; 0 where the file gives none.
    pub diameter_nm: i32,
    /// `false` when nothing tells that it is plated.
    pub plating_told: bool,
    /// Islands it joins, from the top down: indices into [`Nets::islands`].
    pub islands: Vec<usize>,
    /// Its net: an index into [`Nets::nets`].
    pub net: usize,
    /// Drill file.
    pub file: String,
    /// Line of the drill file.
    pub line: u32,
}

/// A component's pad on copper.
#[derive(Debug, Clone, PartialEq)]
pub struct Pad {
    /// Component reference, such as D1.
    pub reference: String,
    /// Pin; empty where only the component is told.
    pub pin: String,
    /// The pin's function, such as A or K, where told; else empty.
    pub function: String,
    /// Where it is.
    pub at: Point,
    /// The island it is on: an index into [`Nets::islands`].
    pub island: usize,
    /// Whether a netlist tells it, not the artwork.
    pub from_netlist: bool,
}

/// Where a net's name comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum NamedBy {
    /// The net attribute of objects in the layer files.
    Artwork,
    /// Test points of a netlist file.
    Netlist,
    /// Nothing names it; it has a number.
    Number,
}

impl NamedBy {
    /// `artwork`, `netlist` or `number`.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Artwork => "artwork",
            Self::Netlist => "netlist",
            Self::Number => "number",
        }
    }
}

/// Copper that hangs together.
#[derive(Debug, Clone)]
pub struct Net {
    /// Its name, or `net 3`.
    pub name: String,
    /// Where the name comes from.
    pub named_by: NamedBy,
    /// Further names of the same copper, which a short or a declared tie gives it.
    pub other_names: Vec<String>,
    /// Its islands, from the top layer down: indices into [`Nets::islands`].
    pub islands: Vec<usize>,
    /// Its plated holes: indices into [`Nets::holes`].
    pub holes: Vec<usize>,
    /// Pads on it: indices into [`Nets::pads`].
    pub pads: Vec<usize>,
    /// Copper of all its islands, mm².
    pub area_mm2: f64,
}

/// The copper nets of a board.
#[derive(Debug, Clone, Default)]
pub struct Nets {
    /// All islands, layer by layer from the top down.
    pub islands: Vec<Island>,
    /// All nets: named ones in order of name, then numbered ones, the largest first.
    pub nets: Vec<Net>,
    /// Plated holes and slots that touch copper, in order of the files; one that stands twice is listed once.
    pub holes: Vec<PlatedHole>,
    /// Pads on copper.
    pub pads: Vec<Pad>,
    /// Shorts, opens and test points without copper.
    pub remarks: Vec<Remark>,
    layers: Vec<LayerIslands>,
}

/// An island and how much of it lies under something.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Overlap {
    /// Index into [`Nets::islands`].
    pub island: usize,
    /// Common area, mm².
    pub area_mm2: f64,
}

impl Nets {
    /// Finds the nets of a board. Of two layers of one role the first counts, as everywhere.
    #[must_use]
    pub fn of(artwork: &Artwork) -> Self {
        let mut nets = Self::default();
        islands::collect(artwork, &mut nets);
        let groups = joining::join(artwork, &mut nets);
        naming::name(artwork, groups, &mut nets);
        nets
    }

    /// Copper layers from the top down.
    pub fn copper_layers(&self) -> impl Iterator<Item = Role> {
        self.layers.iter().map(|layer| layer.role)
    }

    /// The island of a layer at a point; a point on an edge belongs to the island.
    #[must_use]
    pub fn island_at(&self, layer: Role, at: Point) -> Option<usize> {
        self.layer(layer)?.at(at)
    }

    /// The net at a point of a layer.
    #[must_use]
    pub fn net_at(&self, layer: Role, at: Point) -> Option<usize> {
        self.island_at(layer, at).map(|island| self.islands[island].net)
    }

    /// The islands of a layer within a distance (nm) of a point, the nearest first.
    #[must_use]
    pub fn islands_near(&self, layer: Role, at: Point, within_nm: f64) -> Vec<usize> {
        let Some(layer) = self.layer(layer) else { return Vec::new() };
        layer.near(&[at], within_nm).into_iter().map(|(island, _)| island).collect()
    }

    /// The islands of a layer under a shape, such as a land: those with most common area first. Islands that the shape
    /// only touches are not listed.
    #[must_use]
    pub fn islands_under(&self, layer: Role, shape: &Area) -> Vec<Overlap> {
        let Some(layer) = self.layer(layer) else { return Vec::new() };
        layer.under(shape, &self.islands)
    }

    /// A net's index by its name; also by another name that the same copper has.
    #[must_use]
    pub fn by_name(&self, name: &str) -> Option<usize> {
        let own = self.nets.iter().position(|net| net.name == name);
        own.or_else(|| self.nets.iter().position(|net| net.other_names.iter().any(|other| other == name)))
    }

    /// A net's islands on one layer.
    pub fn islands_of(&self, net: usize, layer: Role) -> impl Iterator<Item = &Island> {
        let islands = self.nets.get(net).map_or(&[][..], |net| &net.islands);
        islands
            .iter()
            .filter_map(|&island| self.islands.get(island))
            .filter(move |island| island.layer == layer)
    }

    /// A net's copper on one layer.
    #[must_use]
    pub fn copper_of(&self, net: usize, layer: Role) -> Area {
        let polygons = self.islands_of(net, layer).flat_map(|island| island.area.polygons.iter().cloned());
        Area { polygons: polygons.collect() }
    }

    /// A net's plated holes.
    pub fn holes_of(&self, net: usize) -> impl Iterator<Item = &PlatedHole> {
        let holes = self.nets.get(net).map_or(&[][..], |net| &net.holes);
        holes.iter().filter_map(|&hole| self.holes.get(hole))
    }

    /// A net's name, with the pads it touches where it has only a number: `net 3 (D1 pin 1, D2 pin 2)`.
    #[must_use]
    pub fn label(&self, net: usize) -> String {
        const IN_FULL: usize = 4;
        let Some(net) = self.nets.get(net) else { return String::new() };
        if net.named_by != NamedBy::Number || net.pads.is_empty() {
            return net.name.clone();
        }
        let mut pads: Vec<String> =
            net.pads.iter().filter_map(|&pad| self.pads.get(pad)).map(Pad::label).collect();
        if pads.len() > IN_FULL {
            let more = pads.len() - IN_FULL;
            pads.truncate(IN_FULL);
            pads.push(format!("and {more} more"));
        }
        format!("{} ({})", net.name, pads.join(", "))
    }

    fn layer(&self, role: Role) -> Option<&LayerIslands> {
        self.layers.iter().find(|layer| layer.role == role)
    }
}

impl Pad {
    /// `D1 pin A`, or `D1` where no pin is told.
    #[must_use]
    pub fn label(&self) -> String {
        if self.pin.is_empty() {
            self.reference.clone()
        } else {
            format!("{} pin {}", self.reference, self.pin)
        }
    }
}

/// A place in words.
fn place(at: Point, layer: Role) -> String {
    format!("{:.3}, {:.3} mm on {layer}", f64::from(at.x_nm) / 1e6, f64::from(at.y_nm) / 1e6)
}

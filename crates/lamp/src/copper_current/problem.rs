//! What a sheet problem is made of, and what can be wrong with it.

use std::fmt;

use artwork::shape::{Area, Point};

use super::temperature::Temperature;

/// A copper layer. Each polygon of its copper is an island: polygons of one layer do not conduct to one another.
#[derive(Debug, Clone, PartialEq)]
pub struct CopperLayer {
    /// Its name, for messages.
    pub name: String,
    /// Its copper.
    pub copper: Area,
    /// Thickness with plating, m; above 0.
    pub thickness_m: f64,
    /// Depth of its middle below the top face, m; layers come from the top down.
    pub depth_m: f64,
    /// Its temperature.
    pub temperature: Temperature,
}

/// A plated hole or slot: it joins the islands of the layers it passes that its outline, grown by the drill's registration,
/// touches. The wall stands inside the drilled hole.
#[derive(Debug, Clone, PartialEq)]
pub struct Barrel {
    /// Its middle, or, of a slot, the way of the cutter's middle; one point and more.
    pub path: Vec<Point>,
    /// Drilled diameter, of a slot its width, m; above 0.
    pub drilled_m: f64,
    /// Thickness of the wall, m; above 0, at most half the drilled diameter (then it is solid).
    pub plating_m: f64,
    /// First layer it joins.
    pub from_layer: usize,
    /// Last layer it joins.
    pub to_layer: usize,
    /// Temperature of its wall, °C.
    pub temperature_c: f64,
}

impl Barrel {
    /// Section of its wall, m²: the wall's thickness times the way round its middle, a slot's along both sides.
    #[must_use]
    pub fn section_m2(&self) -> f64 {
        let step_nm = |pair: &[Point]| {
            let along = |from: i32, to: i32| f64::from(to) - f64::from(from);
            along(pair[0].x_nm, pair[1].x_nm).hypot(along(pair[0].y_nm, pair[1].y_nm))
        };
        let length_m = 1e-9 * self.path.windows(2).map(step_nm).sum::<f64>();
        // Where the wall is half the diameter, a slot is filled like a hole.
        let round_m = std::f64::consts::PI * (self.drilled_m - self.plating_m) + 2.0 * length_m;
        round_m * self.plating_m
    }

    /// A place on it: its middle, or the point in the middle of a slot's way.
    #[must_use]
    pub fn at(&self) -> Option<Point> {
        let [first, .., last] = self.path[..] else { return self.path.first().copied() };
        if self.path.len() > 2 {
            return Some(self.path[self.path.len() / 2]);
        }
        let middle = |a: i32, b: i32| 0.5 * (f64::from(a) + f64::from(b));
        Some(Point::rounded(middle(first.x_nm, last.x_nm), middle(first.y_nm, last.y_nm)))
    }
}

/// How current enters or leaves at a contact.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ContactKind {
    /// A given current into the copper (A; negative: out of it), spread evenly over the area.
    Spread {
        /// Current, A.
        current_a: f64,
    },
    /// A given current into the copper (A) through a metal land, which conducts a hundred times as well along its face as
    /// the copper under it: its area is nearly at one potential.
    Land {
        /// Current, A.
        current_a: f64,
    },
    /// The area is held at 0 V; the current follows.
    Held,
}

/// A place where current enters or leaves.
#[derive(Debug, Clone, PartialEq)]
pub struct Contact {
    /// Its name, for messages.
    pub name: String,
    /// Its layer.
    pub layer: usize,
    /// Its area: the part on copper counts, and of several islands the one with most of it.
    pub area: Area,
    /// How current enters.
    pub kind: ContactKind,
}

/// Copper sheets, what joins them and where current enters.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct SheetProblem {
    /// Layers from the top down.
    pub layers: Vec<CopperLayer>,
    /// Plated holes.
    pub barrels: Vec<Barrel>,
    /// Contacts.
    pub contacts: Vec<Contact>,
}

/// A sheet problem that cannot be solved.
#[derive(Debug, Clone, PartialEq)]
pub enum SheetError {
    /// A number outside what is allowed.
    OutOfRange {
        /// Of what, such as `thickness of layer top`.
        what: String,
        /// What was found.
        found: f64,
        /// What is allowed.
        allowed: &'static str,
    },
    /// A contact without copper under it.
    NoCopper {
        /// The contact.
        contact: String,
        /// Its layer.
        layer: String,
    },
    /// Two contacts that overlap, of which one is a land or held.
    Overlap {
        /// One contact.
        contact: String,
        /// The other.
        other: String,
    },
    /// Copper into which more current is given than out of it, and no contact is held at 0 V.
    Unbalanced {
        /// A contact on this copper.
        contact: String,
        /// What is left over, A.
        left_a: f64,
    },
    /// The solver did not find the field.
    Solver {
        /// A contact on this copper.
        contact: String,
        /// What the solver says.
        cause: conduction::SolveError,
    },
    /// The grid could not be made.
    Grid(conduction::GridError),
}

impl fmt::Display for SheetError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::OutOfRange { what, found, allowed } => write!(f, "{what} is {found}; allowed: {allowed}"),
            Self::NoCopper { contact, layer } => write!(f, "contact {contact} lies on no copper of {layer}"),
            Self::Overlap { contact, other } => write!(f, "contacts {contact} and {other} overlap"),
            Self::Unbalanced { contact, left_a } => write!(
                f,
                "the currents into the copper at contact {contact} sum to {left_a} A, not 0, and no contact of it is held at 0 V"
            ),
            Self::Solver { contact, cause } => {
                write!(f, "current in the copper at contact {contact}: {cause}")
            }
            Self::Grid(cause) => write!(f, "grid of the copper sheets: {cause}"),
        }
    }
}

impl std::error::Error for SheetError {}

fn positive(what: impl FnOnce() -> String, found: f64) -> Result<(), SheetError> {
    if found > 0.0 && found.is_finite() {
        return Ok(());
    }
    Err(SheetError::OutOfRange { what: what(), found, allowed: "above 0" })
}

impl SheetProblem {
    /// Whether all numbers are in range.
    pub(super) fn check(&self) -> Result<(), SheetError> {
        let layer_in_range = |what: String, layer: usize| {
            if layer < self.layers.len() {
                return Ok(());
            }
            Err(SheetError::OutOfRange { what, found: layer as f64, allowed: "the number of a layer" })
        };
        let mut above = f64::NEG_INFINITY;
        for layer in &self.layers {
            positive(|| format!("thickness of layer {}", layer.name), layer.thickness_m)?;
            if !(layer.depth_m > above && layer.depth_m.is_finite()) {
                let what = format!("depth of layer {}", layer.name);
                return Err(SheetError::OutOfRange {
                    what,
                    found: layer.depth_m,
                    allowed: "below the layer before",
                });
            }
            above = layer.depth_m;
            if !layer.temperature.is_finite() {
                let what = format!("temperature of layer {}", layer.name);
                return Err(SheetError::OutOfRange { what, found: f64::NAN, allowed: "a number" });
            }
        }
        for (index, barrel) in self.barrels.iter().enumerate() {
            positive(|| format!("drilled diameter of barrel {index}"), barrel.drilled_m)?;
            positive(|| format!("plating of barrel {index}"), barrel.plating_m)?;
            if barrel.path.is_empty() {
                let what = format!("points of barrel {index}");
                return Err(SheetError::OutOfRange { what, found: 0.0, allowed: "one and more" });
            }
            if barrel.plating_m > 0.5 * barrel.drilled_m {
                let what = format!("plating of barrel {index}");
                let allowed = "at most half the drilled diameter";
                return Err(SheetError::OutOfRange { what, found: barrel.plating_m, allowed });
            }
            if !barrel.temperature_c.is_finite() {
                let what = format!("temperature of barrel {index}");
                return Err(SheetError::OutOfRange {
                    what,
                    found: barrel.temperature_c,
                    allowed: "a number",
                });
            }
            layer_in_range(format!("layer of barrel {index}"), barrel.from_layer.max(barrel.to_layer))?;
        }
        for contact in &self.contacts {
            layer_in_range(format!("layer of contact {}", contact.name), contact.layer)?;
            if let ContactKind::Spread { current_a } | ContactKind::Land { current_a } = contact.kind
                && !current_a.is_finite()
            {
                let what = format!("current of contact {}", contact.name);
                return Err(SheetError::OutOfRange { what, found: current_a, allowed: "a number" });
            }
        }
        Ok(())
    }
}

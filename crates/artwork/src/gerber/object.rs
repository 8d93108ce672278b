//! What a file draws, object by object, with the attributes that stood at the time.

use std::sync::Arc;

use crate::shape::{Bounds, Contour, Point, bounds_of};

/// A named attribute and its fields, such as `.FileFunction` with `Copper`, `L1`, `Top`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Attribute {
    /// Name, with its leading dot when it is a standard one.
    pub name: String,
    /// Fields in order.
    pub fields: Vec<String>,
}

/// A set of attributes; later ones of the same name have replaced earlier ones.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Attributes {
    /// The attributes in order of first appearance.
    pub list: Vec<Attribute>,
}

impl Attributes {
    /// Fields of an attribute, such as `.FileFunction`.
    #[must_use]
    pub fn fields(&self, name: &str) -> Option<&[String]> {
        self.list.iter().find(|attribute| attribute.name == name).map(|attribute| attribute.fields.as_slice())
    }

    /// First field of an attribute.
    #[must_use]
    pub fn first(&self, name: &str) -> Option<&str> {
        self.fields(name)?.first().map(String::as_str)
    }

    pub(super) fn set(&mut self, attribute: Attribute) {
        match self.list.iter_mut().find(|known| known.name == attribute.name) {
            Some(known) => *known = attribute,
            None => self.list.push(attribute),
        }
    }

    pub(super) fn remove(&mut self, name: &str) {
        self.list.retain(|attribute| attribute.name != name);
    }
}

/// How an object came to be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ObjectKind {
    /// An aperture put down once.
    Flash,
    /// An aperture drawn along a straight line.
    Stroke,
    /// An aperture drawn along an arc.
    Arc,
    /// An area given by its contour.
    Region,
}

/// One object, placed.
#[derive(Debug, Clone)]
pub struct DrawnObject {
    /// How it came to be.
    pub kind: ObjectKind,
    /// Line of the file that drew it.
    pub line: u32,
    /// Whether it adds (dark) or clears.
    pub dark: bool,
    /// Where a flash was put; the end of a stroke.
    pub at: Point,
    /// Its contours: outer ones counter-clockwise, holes clockwise; pieces of a stroke may overlap.
    pub contours: Vec<Contour>,
    /// Attributes of the aperture it was drawn with (of the region, for a region).
    pub aperture_attributes: Arc<Attributes>,
    /// Object attributes: net, pin, component.
    pub object_attributes: Arc<Attributes>,
}

impl DrawnObject {
    /// The upright rectangle round it; `None` for an object without size.
    #[must_use]
    pub fn bounds(&self) -> Option<Bounds> {
        bounds_of(self.contours.iter().flatten())
    }

    /// Function of its aperture, such as `SMDPad`, `Conductor`, `ViaPad`.
    #[must_use]
    pub fn function(&self) -> Option<&str> {
        self.aperture_attributes.first(".AperFunction")
    }

    /// Name of its net, where the file tells it.
    #[must_use]
    pub fn net(&self) -> Option<&str> {
        self.object_attributes.first(".N")
    }

    /// Component reference and pin, where the file tells them.
    #[must_use]
    pub fn pin(&self) -> Option<(&str, &str)> {
        match self.object_attributes.fields(".P")? {
            [component, pin, ..] => Some((component, pin)),
            _ => None,
        }
    }

    /// Component reference, where the file tells it.
    #[must_use]
    pub fn component(&self) -> Option<&str> {
        self.object_attributes.first(".C").or_else(|| self.pin().map(|(component, _)| component))
    }
}

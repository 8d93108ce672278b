//! How a grid conducts when the values that it was made from are a little different.

use crate::as_built::{LayerKind, Variant};
use crate::uncertain::{Departures, Value};

/// Factors on what a variant's cells conduct; 1 as made.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Factors {
    /// On each layer's substance, barrels excepted; the base last.
    pub conductivity: Vec<f64>,
    /// On each layer's thickness; the base last.
    pub thickness: Vec<f64>,
    /// On the barrels through insulating layers.
    pub barrel: f64,
    /// On the bond line's own film.
    pub bond: f64,
}

impl Factors {
    /// As made, for so many layers and a base.
    pub fn none(layers: usize) -> Self {
        Self { conductivity: vec![1.0; layers + 1], thickness: vec![1.0; layers + 1], barrel: 1.0, bond: 1.0 }
    }

    /// Those of a variant whose values depart.
    pub fn of(variant: &Variant, departures: &Departures) -> Self {
        let factor = |value: Value| if value.is_of(variant) { departures.factor(value) } else { 1.0 };
        let mut factors = Self::none(variant.layers.len());
        let insulation = factor(Value::DielectricConductivity) * factor(Value::LaminateConductivity);
        for (index, layer) in variant.layers.iter().enumerate() {
            match layer.kind {
                LayerKind::Copper => factors.thickness[index] = factor(Value::CopperThickness),
                LayerKind::Dielectric => {
                    factors.conductivity[index] = insulation;
                    factors.thickness[index] = factor(Value::DielectricThickness);
                }
                LayerKind::Core | LayerKind::Plain => {}
            }
        }
        factors.barrel = factor(Value::ViaBarrel);
        factors.bond = factor(Value::BondLine);
        factors
    }

    /// On what a layer conducts along itself.
    pub fn along(&self, layer: Option<usize>) -> f64 {
        let at = self.at(layer);
        self.conductivity[at] * self.thickness[at]
    }

    /// The index of a layer, or of the base.
    pub fn at(&self, layer: Option<usize>) -> usize {
        layer.unwrap_or(self.conductivity.len() - 1)
    }
}

//! The cooling as the page asks for it.

use lamp::as_built::{Cooling, Variant};

use super::answers::Trouble;
use super::question::Numbers;

/// What is asked of the heatsink; `None` where the lamp's own holds.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(super) struct CoolingAsked {
    heatsink_k_per_w: Option<f64>,
    fan_v: Option<f64>,
    vents_open: Option<f64>,
}

impl CoolingAsked {
    pub fn of(numbers: Numbers) -> Self {
        Self {
            heatsink_k_per_w: numbers.heatsink_k_per_w,
            fan_v: numbers.fan_v,
            vents_open: numbers.vents_open,
        }
    }

    /// The cooling that follows; `None` without a heatsink, where nothing is asked of it.
    pub fn changed(self, variant: &Variant) -> Result<Option<Cooling>, Trouble> {
        let Some(own) = variant.heatsink.as_ref().map(|heatsink| &heatsink.cooling) else {
            return match self.heatsink_k_per_w {
                None if self.air_field().is_none() => Ok(None),
                _ => Err(Trouble::typed(
                    self.air_field().unwrap_or("heatsink"),
                    "this variant has no heatsink",
                )),
            };
        };
        match (own, self.heatsink_k_per_w, self.air_field()) {
            // Fan and vents as lamp.toml has them are no contradiction to a K/W.
            (Cooling::Air(side), Some(k_per_w), _) if self.leaves(side) => {
                Ok(Some(Cooling::Resistance { k_per_w }))
            }
            (_, Some(k_per_w), None) => Ok(Some(Cooling::Resistance { k_per_w })),
            (_, Some(_), Some(field)) => Err(Trouble::typed(
                field,
                "a K/W typed for the heatsink stands instead of its fins, fan and vents; empty that control first",
            )),
            (Cooling::Air(side), None, _) => {
                let mut side = side.with_vents_open(self.vents_open.unwrap_or(1.0));
                if let Some(fan_v) = self.fan_v {
                    if side.fans.is_none() {
                        return Err(Trouble::typed("fan", "this variant has no fan"));
                    }
                    side = side.with_fan_voltage(fan_v);
                }
                if side.is_unknown() {
                    return Err(Trouble::typed(
                        "fan",
                        "the fan would stand, and the maker's table says nothing of the heatsink in still air",
                    ));
                }
                Ok(Some(Cooling::Air(Box::new(side))))
            }
            (own, None, None) => Ok(Some(own.clone())),
            (_, None, Some(field)) => {
                Err(Trouble::typed(field, "the heatsink is given by its resistance, without fan and vents"))
            }
        }
    }

    /// The first control of the air side that something was typed into.
    fn air_field(self) -> Option<&'static str> {
        let fields = [(self.fan_v, "fan"), (self.vents_open, "vents")];
        fields.into_iter().find(|(value, _)| value.is_some()).map(|(_, field)| field)
    }

    /// Whether fan and vents stay as they are.
    fn leaves(self, side: &lamp::cooling::air_side::AirSide) -> bool {
        let own_v = side.fans.as_ref().map(|fans| fans.voltage_v);
        self.fan_v.is_none_or(|v| Some(v) == own_v) && self.vents_open.is_none_or(|share| share == 1.0)
    }
}

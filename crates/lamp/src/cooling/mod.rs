//! What open faces give to the room: natural convection and radiation.

pub mod air;
pub mod natural_convection;
pub mod radiation;

/// 0 degC in kelvin.
pub const ZERO_C_IN_K: f64 = 273.15;

//! What open faces and heatsinks give to the room: natural and forced convection, radiation, fans, vents.
//!
//! Each relation stands as a pure function named quantity_geometry_author, with its equation, range and source.

pub mod air;
pub mod air_side;
pub mod burn_threshold;
pub mod channel_natural;
pub mod duct_friction;
pub mod duct_heat;
pub mod fan;
pub mod fins;
pub mod mixed;
pub mod natural_convection;
pub mod natural_cylinder;
pub mod openings;
pub mod pin_bank;
pub mod plate_fin_forced;
pub mod radiation;
pub mod spreading;
pub mod view_factor;

/// 0 degC in kelvin.
pub const ZERO_C_IN_K: f64 = 273.15;

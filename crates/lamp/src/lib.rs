//! The lamp as built: stack, copper, emitters and cooling to the operating point and its findings.

mod air_finding;
pub mod as_built;
pub mod bond_line;
pub mod circuit;
pub mod cooling;
pub mod copper_current;
mod copper_loss;
pub mod drawing;
pub mod emitter;
pub mod emitter_physics;
mod faces;
pub mod findings;
mod gridding;
mod heat_path;
mod limits;
mod linear;
pub mod material;
pub mod model;
mod operating_point;
mod parallel;
pub mod predict;
pub mod project;
mod reading;
mod runs;
pub mod sensor_law;
mod slice;
mod stage;

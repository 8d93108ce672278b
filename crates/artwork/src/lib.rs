//! artwork

pub mod centroid;
pub mod coverage;
pub mod drill;
pub mod gerber;
mod gathering;
pub mod remark;
pub mod roles;
pub mod shape;
mod text;

//! artwork

pub mod centroid;
pub mod coverage;
pub mod drill;
mod gathering;
pub mod gerber;
pub mod reading;
pub mod remark;
pub mod roles;
pub mod shape;
mod text;

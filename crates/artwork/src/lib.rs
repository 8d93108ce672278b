//! artwork

pub mod coverage;
pub mod drill;
mod gathering;
pub mod remark;
pub mod roles;
pub mod shape;
mod text;

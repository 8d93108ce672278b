//! artwork

pub mod coverage;
pub mod remark;
pub mod shape;

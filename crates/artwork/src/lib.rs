//! artwork

pub mod remark;
pub mod shape;

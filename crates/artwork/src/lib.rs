//! Fabrication files to shapes: Gerber layers, drill files, netlists and centroid tables as bytes become exact copper,
//! nets, holes and outline in whole nanometres, with remarks that carry line numbers. No input makes it fail; none makes it panic.

pub mod centroid;
pub mod coverage;
pub mod drill;
mod gathering;
pub mod gerber;
pub mod netlist;
pub mod nets;
pub mod outline;
pub mod reading;
pub mod remark;
pub mod roles;
pub mod shape;
pub mod summary;
mod text;

//! Current in copper: resistivity, wires and the trace-width rule; steady conduction in copper sheets of true shape; the
//! necks that carry the current.

mod assembly;
pub mod copper;
pub mod necks;
mod outcome;
mod problem;
mod raster;
pub mod sheet;
mod temperature;

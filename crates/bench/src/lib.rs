//! The bench test: sensors, logs, plateaus, comparison, fit and verdict. So far: what a board sensor puts out.

pub mod sensor;

//! The bench test: sensors, logs, plateaus, comparison, fit and verdict. So far: what a sensor puts out and how well it can
//! tell a temperature, and logs as loggers write them.

pub mod log;
pub mod mapping;
pub mod recording;
pub mod run;
pub mod sensor;

//! The bench test: what a sensor puts out and how well it can tell a temperature; logs as loggers write them; where their plateaus
//! are, what each settles to and what went wrong; variants compared; the model fitted to the plateaus; what to set.

pub mod anomaly;
pub mod approach;
pub mod cold_junction;
pub mod comparison;
pub mod drawing;
pub mod draws;
pub mod evaluation;
pub mod fit;
pub mod least_squares;
pub mod live;
pub mod log;
pub mod mapping;
pub mod plan;
pub mod plateau;
pub mod recording;
pub mod run;
pub mod sensor;
#[cfg(test)]
mod testing;
pub mod verdict;

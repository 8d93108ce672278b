//! The bench test: sensors, logs, plateaus, comparison, fit and verdict. So far: what a sensor puts out and how well it can
//! tell a temperature; logs as loggers write them; where their plateaus are, what each settles to and what went wrong; variants
//! compared; least squares with priors and seeded draws for fits.

pub mod anomaly;
pub mod approach;
pub mod comparison;
pub mod draws;
pub mod evaluation;
pub mod least_squares;
pub mod log;
pub mod mapping;
pub mod plateau;
pub mod recording;
pub mod run;
pub mod sensor;

//! conduction

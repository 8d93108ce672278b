//! The lamp as built: stack, copper, emitters and cooling to the operating point and its findings.

pub mod as_built;
pub mod emitter;
pub mod findings;
pub mod material;

//! The documented form of what `--json` prints, as JSON Schemas (draft 2020-12). `docs/*.schema.json` are written from
//! here by a test, and the same tests hold real output against them: no key more, no key less.

mod air;
mod bench;
mod bench_findings;
mod build;
mod check;
mod failure;
mod fit;
mod plan;
mod predict;
mod record;
mod sharing;
mod small;

pub use bench::{bench, sniff};
pub use check::{artwork, check};
pub use failure::failure;
pub use fit::{fit, verdict};
pub use plan::plan;
pub use predict::predict;
pub use record::record;
pub use small::{demo, new, serve};

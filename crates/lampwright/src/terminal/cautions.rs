//! The usual short cautions, where they apply.

use lamp::findings::Findings;

/// Metal that is held longer than a moment can burn from about here, degC. Source: the burn threshold for bare metal at
/// one minute of contact in ISO 13732-1 (51 degC, from memory), rounded down.
const HOT_C: f64 = 50.0;

/// Cautions that a prediction gives reason for.
pub fn cautions(findings: &Findings) -> Vec<&'static str> {
    let mut all = Vec::new();
    if findings.runs.iter().any(|run| run.radiant_w > 0.0) {
        all.push("Eyes: do not look into emitters that are lit, and dim or shade them on the bench.");
    }
    if findings.runs.iter().filter_map(|run| run.hottest_board_c).any(|hottest| hottest > HOT_C) {
        all.push("Hot metal: board and heatsink can burn skin at these temperatures; let them cool before touching.");
    }
    if findings.runs.iter().any(|run| run.electrical_w > 0.0) {
        all.push("Mains: drivers on the mains can kill; leave mains wiring to licensed people and follow local codes.");
    }
    all
}

//! Writes XNC drill text.

use std::fmt::Write as _;

use super::board::Xy;

/// A drill file with one tool.
pub(super) fn write(plated: bool, diameter: f64, holes: &[Xy]) -> String {
    let mut text = String::from("M48\n; Fossil-preparation bench lamp; an invented demo board\n");
    let function = if plated { "Plated,1,2,PTH" } else { "NonPlated,1,2,NPTH" };
    let _ = write!(text, "; #@! TF.FileFunction,{function}\nMETRIC\nT01C{diameter:.3}\n%\nG05\nT01\n");
    for [x, y] in holes {
        let _ = writeln!(text, "X{x:.3}Y{y:.3}");
    }
    text.push_str("M30\n");
    text
}

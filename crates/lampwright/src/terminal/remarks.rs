//! Remarks: place first, then how grave, then what was read and what is allowed.

use std::fmt::Write;

use anstyle::{AnsiColor, Style};
use lamp::findings::FindingRemark;

use super::text::paragraph;

/// A remark on one line: `lamp.toml:12:9: error: ...`.
#[must_use]
pub fn remark_line(remark: &FindingRemark) -> String {
    format!("{}{}: {}", place(remark), remark.severity, remark.text)
}

/// Remarks one after the other, filled to `width`; notes last.
#[must_use]
pub fn remark_lines(remarks: &[FindingRemark], width: usize) -> String {
    let mut sorted: Vec<&FindingRemark> = remarks.iter().collect();
    sorted.sort_by_key(|remark| gravity(remark.severity));
    let mut out = String::new();
    for remark in sorted {
        out += &coloured(remark, &paragraph(&remark_line(remark), width, 4));
    }
    out
}

/// How many remarks of each kind there are, in words.
#[must_use]
pub fn count(remarks: &[FindingRemark]) -> String {
    let mut parts = Vec::new();
    for word in ["error", "warning", "note"] {
        let number = remarks.iter().filter(|remark| remark.severity == word).count();
        if number > 0 {
            parts.push(format!("{number} {word}{}", if number == 1 { "" } else { "s" }));
        }
    }
    if parts.is_empty() { "no remarks".to_owned() } else { parts.join(", ") }
}

fn gravity(severity: &str) -> u8 {
    match severity {
        "error" => 0,
        "warning" => 1,
        _ => 2,
    }
}

fn place(remark: &FindingRemark) -> String {
    let mut out = String::new();
    let Some(file) = &remark.file else { return out };
    out += file;
    for number in [remark.line, remark.column].into_iter().flatten() {
        let _ = write!(out, ":{number}");
    }
    out + ": "
}

/// The word of severity in its colour; the first one after the place is it.
fn coloured(remark: &FindingRemark, text: &str) -> String {
    let style = match remark.severity {
        "error" => Style::new().bold().fg_color(Some(AnsiColor::Red.into())),
        "warning" => Style::new().bold().fg_color(Some(AnsiColor::Yellow.into())),
        _ => Style::new().bold(),
    };
    let word = format!("{}:", remark.severity);
    text.replacen(&word, &format!("{style}{word}{style:#}"), 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn remark(line: Option<u32>, column: Option<u32>) -> FindingRemark {
        FindingRemark { severity: "error", file: Some("lamp.toml".into()), line, column, text: "no".into() }
    }

    #[test]
    fn the_place_comes_first() {
        assert_eq!(remark_line(&remark(Some(12), Some(9))), "lamp.toml:12:9: error: no");
        assert_eq!(remark_line(&remark(Some(12), None)), "lamp.toml:12: error: no");
        assert_eq!(remark_line(&remark(None, None)), "lamp.toml: error: no");
    }

    #[test]
    fn errors_come_before_notes() {
        let note = FindingRemark { severity: "note", text: "later".into(), ..remark(None, None) };
        let text = remark_lines(&[note.clone(), remark(Some(1), None)], 80);
        assert!(text.find("lamp.toml:1").expect("told") < text.find("later").expect("told"), "{text}");
        assert_eq!(count(&[note, remark(None, None)]), "1 error, 1 note");
    }
}

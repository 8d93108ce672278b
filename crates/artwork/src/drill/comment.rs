//! What comments of drill files say: attributes, digits, plating, tools.

use super::command::Command;
use super::number::{Number, Unit, Zeros};
use super::plating::plating_in_words;

/// What one comment said.
#[derive(Debug, Default, PartialEq)]
pub(crate) struct CommentSense {
    /// A file or aperture attribute: its name and values.
    pub(crate) attribute: Option<(String, Vec<String>)>,
    /// What it commands.
    pub(crate) commands: Vec<Command>,
    /// Plating it gives for the whole file.
    pub(crate) file_plating: Option<bool>,
}

/// Reads a comment; `text` is what follows the semicolon.
pub(crate) fn read(text: &str) -> CommentSense {
    let text = text.trim();
    if let Some(attribute) = text.strip_prefix("#@!") {
        return attribute_comment(attribute.trim());
    }
    let upper = text.to_ascii_uppercase();
    if let Some(kind) = upper.strip_prefix("TYPE=") {
        return commands(vec![Command::Plating(plating_in_words(kind))]);
    }
    if upper.contains("HOLESIZE") {
        return commands(tool_note(&upper).into_iter().collect());
    }
    if upper.contains("FORMAT") {
        return commands(format_words(&upper));
    }
    CommentSense::default()
}

fn commands(commands: Vec<Command>) -> CommentSense {
    CommentSense { commands, ..CommentSense::default() }
}

/// `TF.FileFunction,Plated,1,2,PTH`, `TA.AperFunction,Plated,PTH,ViaDrill`, `TD`.
fn attribute_comment(text: &str) -> CommentSense {
    let text = text.trim_matches(['%', '*']);
    let mut fields = text.split(',').map(str::trim);
    let head = fields.next().unwrap_or_default();
    let values: Vec<String> = fields.map(str::to_owned).collect();
    let mut sense = CommentSense::default();
    if head.eq_ignore_ascii_case("TD") {
        sense.commands.push(Command::NextToolPlating(None));
        return sense;
    }
    let Some((kind, name)) = head.split_at_checked(2) else { return sense };
    let name = name.trim();
    let plating = values.first().and_then(|v| plating_in_words(v));
    if kind.eq_ignore_ascii_case("TF") {
        if name.eq_ignore_ascii_case(".FileFunction") {
            sense.file_plating = plating;
        }
        sense.attribute = Some((name.to_owned(), values));
    } else if kind.eq_ignore_ascii_case("TA") && name.eq_ignore_ascii_case(".AperFunction") {
        sense.commands.push(Command::NextToolPlating(plating));
    }
    sense
}

/// `FORMAT={2:4/ absolute / inch / keep zeros}`, `FILE_FORMAT=2:4` and the like.
fn format_words(upper: &str) -> Vec<Command> {
    let mut found = Vec::new();
    let words = || upper.split(|c: char| !c.is_ascii_alphanumeric() && !matches!(c, ':' | '.'));
    found.extend(words().find_map(digit_pair));
    if words().any(|w| matches!(w, "METRIC" | "MM")) {
        found.push(Command::Unit(Unit::Millimetre));
    } else if words().any(|w| matches!(w, "INCH" | "INCHES")) {
        found.push(Command::Unit(Unit::Inch));
    }
    if upper.contains("SUPPRESS LEADING") {
        found.push(Command::Zeros(Zeros::LeadingOmitted));
    } else if upper.contains("SUPPRESS TRAILING") {
        found.push(Command::Zeros(Zeros::TrailingOmitted));
    }
    found
}

/// `2:4` or `3.3`.
fn digit_pair(word: &str) -> Option<Command> {
    match word.as_bytes() {
        [a @ b'1'..=b'6', b':' | b'.', b @ b'1'..=b'6'] => {
            Some(Command::Digits { integer: a - b'0', fraction: b - b'0' })
        }
        _ => None,
    }
}

/// `HOLESIZE 1. = 12.0 TOLERANCE = +0.0/-0.0 PLATED MILS QUANTITY = 25`.
fn tool_note(upper: &str) -> Option<Command> {
    let after = upper.split_once("HOLESIZE")?.1;
    let (left, right) = after.split_once('=')?;
    let number = left.trim().trim_end_matches('.').trim().parse().ok()?;
    let (mut diameter, _) = Number::read(right.as_bytes())?;
    let words: Vec<&str> = right.split_whitespace().collect();
    let unit = if words.contains(&"MILS") {
        // A thousandth of an inch: three more digits behind the point.
        diameter.fraction = Some(diameter.fraction.unwrap_or(0).saturating_add(3));
        Some(Unit::Inch)
    } else if words.contains(&"MM") {
        Some(Unit::Millimetre)
    } else {
        words.contains(&"INCH").then_some(Unit::Inch)
    };
    diameter.fraction = diameter.fraction.or(Some(0));
    Some(Command::ToolNote { number, diameter, unit, plated: plating_in_words(right) })
}

#[cfg(test)]
mod tests {
    use super::{Command, Unit, read};

    #[test]
    fn attributes_give_plating() {
        let sense = read(" #@! TF.FileFunction,NonPlated,1,2,NPTH");
        assert_eq!(sense.file_plating, Some(false));
        let expected = ["NonPlated", "1", "2", "NPTH"].map(str::to_owned).to_vec();
        assert_eq!(sense.attribute, Some((".FileFunction".to_owned(), expected)));
        let tool = read("#@! TA.AperFunction,Plated,PTH,ViaDrill");
        assert_eq!(tool.commands, [Command::NextToolPlating(Some(true))]);
        assert_eq!(read("#@! TF.FileFunction,MixedPlating,1,2").file_plating, None);
    }

    #[test]
    fn formats_in_comments() {
        assert_eq!(read("FILE_FORMAT=4:3").commands, [Command::Digits { integer: 4, fraction: 3 }]);
        let words = read("FORMAT={2:4/ absolute / inch / keep zeros}").commands;
        assert_eq!(words, [Command::Digits { integer: 2, fraction: 4 }, Command::Unit(Unit::Inch)]);
        assert!(read("FORMAT={-:-/ absolute / metric / decimal}").commands.len() == 1);
        assert_eq!(read("drilled on a Monday, 10:12").commands, []);
    }

    #[test]
    fn tools_described_in_comments() {
        let found = read(" Holesize 2. = 35.5 Tolerance = +0.0/-0.0 NON_PLATED MILS Quantity = 6").commands;
        let [Command::ToolNote { number: 2, diameter, unit: Some(Unit::Inch), plated: Some(false) }] =
            found[..]
        else {
            panic!("{found:?}")
        };
        assert_eq!(diameter.scaled(25_400_000, i32::from(diameter.fraction.unwrap())), 901_700);
    }
}

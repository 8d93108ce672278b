//! One line of a netlist, by its columns and letters.

use super::PointKind;
use crate::drill::Unit;

/// A test record as written: lengths in the file's own counts.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct RawPoint {
    pub(super) kind: PointKind,
    pub(super) continues: bool,
    pub(super) net: String,
    pub(super) reference: String,
    pub(super) pin: String,
    pub(super) middle: bool,
    pub(super) hole: Option<i64>,
    pub(super) plated: Option<bool>,
    pub(super) access: Option<u16>,
    pub(super) x: i64,
    pub(super) y: i64,
    pub(super) size: [Option<i64>; 2],
    pub(super) rotation: Option<i64>,
    pub(super) mask: Option<u8>,
}

/// What a line is.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Line {
    /// A comment, or nothing.
    Comment,
    /// A parameter without meaning for nets.
    Parameter,
    /// A unit, and whether angles are in radians; `None` when it is not understood.
    Unit(Option<(Unit, bool)>),
    /// A short name and the long name that it stands for.
    Name(String, String),
    /// A test record.
    Point(RawPoint),
    /// A test record that cannot be used, and why.
    Bad(String),
    /// A record of conductors, adjacency or an outline, or what continues one.
    Unused,
    /// The end of the job.
    End,
    /// Nothing of this form.
    Unknown,
}

/// The characters of some columns, counted from 1, without blanks about them.
fn columns(line: &[char], from: usize, to: usize) -> String {
    let end = to.min(line.len());
    let text: String = line.get(from - 1..end).unwrap_or_default().iter().collect();
    text.trim().to_owned()
}

/// Reads a line.
pub(super) fn read(text: &str) -> Line {
    let text = text.trim_end();
    if text.trim_start().is_empty() {
        return Line::Comment;
    }
    let alone = |letter: char| {
        text.strip_prefix(letter).filter(|rest| rest.is_empty() || rest.starts_with([' ', '\t']))
    };
    if alone('C').is_some() {
        return Line::Comment;
    }
    if let Some(rest) = alone('P') {
        return parameter(rest.trim());
    }
    let Some((code, _)) = text.split_at_checked(3) else { return Line::Unknown };
    let continues = code.starts_with('0');
    let kind = match code {
        "999" => return Line::End,
        "317" | "017" => PointKind::Hole,
        "327" | "027" => PointKind::Surface,
        "307" | "007" => PointKind::BuriedVia,
        "337" | "347" | "367" | "037" | "047" | "067" => PointKind::Tooling,
        _ => {
            let [first, second, third] = code.as_bytes() else { return Line::Unknown };
            let unused = matches!(first, b'0' | b'3')
                && matches!((second, third), (b'7' | b'8', b'8' | b'9') | (b'9', b'0'..=b'9'));
            return if unused { Line::Unused } else { Line::Unknown };
        }
    };
    match point(&text.chars().collect::<Vec<char>>(), kind, continues) {
        Ok(point) => Line::Point(point),
        Err(why) => Line::Bad(why),
    }
}

fn parameter(text: &str) -> Line {
    let (key, value) = text.split_once(char::is_whitespace).unwrap_or((text, ""));
    let value = value.trim();
    if key.len() > 5 && key.starts_with("NNAME") && !value.is_empty() {
        return Line::Name(key.to_owned(), value.to_owned());
    }
    if !key.eq_ignore_ascii_case("UNITS") {
        return Line::Parameter;
    }
    let words: Vec<String> = value.split_whitespace().map(str::to_ascii_uppercase).collect();
    Line::Unit(match words.iter().map(String::as_str).collect::<Vec<_>>()[..] {
        ["CUST", "0"] | ["CUST"] => Some((Unit::Inch, false)),
        ["CUST", "1"] | ["SI"] => Some((Unit::Millimetre, false)),
        ["CUST", "2"] => Some((Unit::Inch, true)),
        _ => None,
    })
}

fn point(line: &[char], kind: PointKind, continues: bool) -> Result<RawPoint, String> {
    let mut point = RawPoint {
        kind,
        continues,
        net: columns(line, 4, 20),
        reference: columns(line, 21, 26),
        pin: columns(line, 28, 31),
        middle: line.get(31) == Some(&'M'),
        hole: None,
        plated: None,
        access: None,
        x: 0,
        y: 0,
        size: [None; 2],
        rotation: None,
        mask: None,
    };
    let mut places = [None, None];
    let mut rest = Letters { line, at: 32 };
    while let Some(letter) = rest.letter() {
        match letter {
            'D' => point.hole = rest.number()?,
            'P' => point.plated = Some(true),
            'U' => point.plated = Some(false),
            'A' => point.access = rest.number()?.and_then(|n| u16::try_from(n).ok()),
            'X' | 'Y' => {
                let axis = usize::from(letter == 'Y');
                let number = rest.number()?;
                match places[axis] {
                    None => places[axis] = number,
                    Some(_) => point.size[axis] = number,
                }
            }
            'R' => point.rotation = rest.number()?,
            'S' => point.mask = rest.number()?.and_then(|n| u8::try_from(n).ok()),
            // Whatever else stands behind the place is a matter of its writer.
            _ => {}
        }
    }
    match places {
        [Some(x), Some(y)] => {
            (point.x, point.y) = (x, y);
            Ok(point)
        }
        _ => Err("behind column 32 a place is needed, such as X+012500Y-004300".to_owned()),
    }
}

/// Letters with numbers behind them.
struct Letters<'a> {
    line: &'a [char],
    at: usize,
}

impl Letters<'_> {
    fn letter(&mut self) -> Option<char> {
        loop {
            let c = *self.line.get(self.at)?;
            self.at += 1;
            if c.is_ascii_alphabetic() {
                return Some(c.to_ascii_uppercase());
            }
        }
    }

    /// The whole number behind a letter; blanks may stand before it and behind its sign. `None` when there is none.
    fn number(&mut self) -> Result<Option<i64>, String> {
        let skip_blanks = |at: &mut usize| {
            while self.line.get(*at).is_some_and(|c| *c == ' ' || *c == '\t') {
                *at += 1;
            }
        };
        let mut at = self.at;
        skip_blanks(&mut at);
        let sign = self.line.get(at).copied().filter(|c| *c == '+' || *c == '-');
        if sign.is_some() {
            at += 1;
            skip_blanks(&mut at);
        }
        let digits: String =
            self.line.get(at..).unwrap_or_default().iter().take_while(|c| c.is_ascii_digit()).collect();
        if digits.is_empty() {
            return Ok(None);
        }
        self.at = at + digits.len();
        if self.line.get(self.at) == Some(&'.') {
            return Err(format!("numbers are whole, not '{digits}.'"));
        }
        match digits.parse::<i64>() {
            Ok(number) if digits.len() <= 9 => Ok(Some(if sign == Some('-') { -number } else { number })),
            _ => Err(format!("a number of {} digits is larger than any board", digits.len())),
        }
    }
}

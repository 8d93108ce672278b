//! Lines of a drill file to commands: word by word, so that several commands may share a line.

use super::command::{Command, Mode, Placed, Words};
use super::comment;
use super::number::{Number, Unit, Zeros};
use super::plating::plating_in_words;
use crate::gathering::{Gathering, quoted};
use crate::text::numbered_lines;

/// Everything the lines say.
#[derive(Debug, Default)]
pub(crate) struct Program {
    pub(crate) commands: Vec<Placed>,
    pub(crate) attributes: Vec<(String, Vec<String>)>,
    /// Plating given for the whole file inside the file.
    pub(crate) file_plating: Option<bool>,
}

/// Reads all lines. A line that is not understood is told and skipped; the rest goes on.
pub(crate) fn parse(text: &str, remarks: &mut Gathering) -> Program {
    let mut program = Program::default();
    let mut header = false;
    for (line, content) in numbered_lines(text) {
        let (code, note) = match content.split_once(';') {
            Some((code, note)) => (code, Some(note)),
            None => (content, None),
        };
        let upper = code.trim().to_ascii_uppercase();
        let mut reader =
            LineReader { bytes: upper.as_bytes(), at: 0, line, header, program: &mut program, remarks };
        reader.read();
        header = reader.header;
        if let Some(note) = note {
            take_comment(line, note, &mut program);
        }
    }
    program
}

fn take_comment(line: u32, note: &str, program: &mut Program) {
    let sense = comment::read(note);
    program.commands.extend(sense.commands.into_iter().map(|command| Placed { line, command }));
    program.attributes.extend(sense.attribute);
    program.file_plating = program.file_plating.or(sense.file_plating);
}

struct LineReader<'a> {
    bytes: &'a [u8],
    at: usize,
    line: u32,
    header: bool,
    program: &'a mut Program,
    remarks: &'a mut Gathering,
}

/// Header words that say nothing about where holes are.
const WITHOUT_EFFECT: &[&str] = &[
    "VER", "DETECT", "ATC", "BLKD", "OM", "TCST", "AFS", "CCW", "CP", "NCSL", "PCKPARAM", "SBK", "SG",
    "SIXM", "UP", "ZA", "ZC", "ZS", "Z", "TCS", "FSB", "HPCK", "PF", "RSB", "RC",
];

impl LineReader<'_> {
    fn read(&mut self) {
        if self.bytes.first() == Some(&b'/') {
            return; // an optional block, left out by rule when block delete is on, and a comment elsewhere
        }
        while let Some(&byte) = self.bytes.get(self.at) {
            let before = self.at;
            self.read_command(byte);
            if self.at == before {
                self.not_understood();
                return;
            }
        }
    }

    fn read_command(&mut self, byte: u8) {
        match byte {
            b' ' | b'\t' | b'*' | b',' => self.at += 1,
            b'%' => {
                self.at += 1;
                self.header_ends();
            }
            b'(' => {
                let rest = self.bytes.get(self.at..).unwrap_or_default();
                self.at += rest.iter().position(|&b| b == b')').map_or(rest.len(), |p| p + 1);
            }
            b'A'..=b'Z' if self.bytes.get(self.at + 1).is_some_and(u8::is_ascii_alphabetic) => self.keyword(),
            b'X' | b'Y' => self.position(),
            b'G' => self.g_code(),
            b'M' => self.m_code(),
            b'T' => self.tool(),
            b'R' => self.repeat(),
            b'N' | b'F' | b'S' | b'B' | b'H' | b'Z' | b'Q' | b'P' => {
                self.letter_number(byte);
            }
            _ => {}
        }
    }

    fn push(&mut self, command: Command) {
        self.program.commands.push(Placed { line: self.line, command });
    }

    fn header_ends(&mut self) {
        if self.header {
            self.header = false;
            self.push(Command::HeaderEnd);
        }
    }

    fn not_understood(&mut self) {
        let rest = String::from_utf8_lossy(self.bytes.get(self.at..).unwrap_or_default()).into_owned();
        let allowed = "commands of a drill program are T, X, Y, G, M and R words and the header's keywords";
        self.remarks.error(self.line, format!("{} is not understood and skipped; {allowed}", quoted(&rest)));
        self.at = self.bytes.len();
    }

    /// `letter` and a number right here.
    fn letter_number(&mut self, letter: u8) -> Option<Number> {
        let rest = self.bytes.get(self.at..)?;
        if rest.first() != Some(&letter) {
            return None;
        }
        let (number, used) = Number::read(&rest[1..])?;
        self.at += 1 + used;
        Some(number)
    }

    /// Coordinate words up to the first that is none of them, or that is there already.
    fn words(&mut self) -> Words {
        let mut words = Words::default();
        loop {
            while matches!(self.bytes.get(self.at), Some(b' ' | b'\t' | b',')) {
                self.at += 1;
            }
            let Some(&letter) = self.bytes.get(self.at) else { return words };
            let place = match letter {
                b'X' => &mut words.x,
                b'Y' => &mut words.y,
                b'I' => &mut words.i,
                b'J' => &mut words.j,
                b'A' => &mut words.radius,
                _ => return words,
            };
            if place.is_some() {
                return words;
            }
            let Some(number) = self.bytes.get(self.at + 1..).and_then(Number::read) else { return words };
            *place = Some(number.0);
            self.at += 1 + number.1;
        }
    }

    /// A position, and what may follow it in the same command.
    fn position(&mut self) {
        let from = self.words();
        if !from.has_position() {
            return;
        }
        let rest = self.bytes.get(self.at..).unwrap_or_default();
        if rest.starts_with(b"G85") || rest.starts_with(b"G87") {
            self.at += 3;
            let to = self.words();
            self.push(Command::Slot { from, to });
        } else if rest.starts_with(b"G84") {
            self.at += 3;
            match self.words().x {
                Some(diameter) => self.push(Command::Circle { at: from, diameter }),
                None => self
                    .remarks
                    .error(self.line, "G84 needs its diameter as an X word; the circle is missing"),
            }
        } else {
            self.push(Command::Position(from));
        }
    }

    fn g_code(&mut self) {
        let Some(number) = self.letter_number(b'G') else { return };
        match number.digits {
            0 => self.moving(Mode::Rapid),
            1 => self.moving(Mode::Straight),
            2 => self.moving(Mode::Arc { clockwise: true }),
            3 => self.moving(Mode::Arc { clockwise: false }),
            5 | 81 => self.push(Command::Mode(Mode::Drill)),
            85 | 87 => {
                let to = self.words();
                self.push(Command::Slot { from: Words::default(), to });
            }
            90 => self.push(Command::Incremental(false)),
            91 => self.push(Command::Incremental(true)),
            92 | 93 => {
                let words = self.words();
                self.push(Command::ZeroSet(words));
            }
            20 | 70 => self.push(Command::Unit(Unit::Inch)),
            21 | 71 => self.push(Command::Unit(Unit::Millimetre)),
            4 => {
                self.words(); // a pause
            }
            40 => {}
            41 | 42 => self.remarks.warn(
                self.line,
                format!(
                    "G{} shifts the cutter aside; the path is taken as the middle of the slot",
                    number.digits
                ),
            ),
            other => {
                self.words();
                self.remarks.error(
                    self.line,
                    format!("G{other:02} is not known here and is left out with its positions"),
                );
            }
        }
    }

    fn moving(&mut self, mode: Mode) {
        self.push(Command::Mode(mode));
        let words = self.words();
        if words.has_position() {
            self.push(Command::Position(words));
        }
    }

    fn m_code(&mut self) {
        let Some(number) = self.letter_number(b'M') else { return };
        match number.digits {
            0 | 30 => self.push(Command::End),
            1 => self.push(Command::PatternEnd),
            2 => self.pattern_repeat(1),
            8 => self.push(Command::PatternEnd),
            15 => self.push(Command::Plunge),
            16 | 17 => self.push(Command::Retract),
            25 => self.push(Command::PatternStart),
            45 | 47 => self.at = self.bytes.len(), // a message to the operator
            48 => self.header = true,
            71 => self.push(Command::Unit(Unit::Millimetre)),
            72 => self.push(Command::Unit(Unit::Inch)),
            95 => self.header_ends(),
            97 | 98 => {
                let text = "drilled lettering (M97, M98) is not made; its holes are missing";
                self.remarks.error(self.line, text);
                self.at = self.bytes.len();
            }
            6 | 7 | 9 | 14 | 18 | 50..=66 | 99 => {
                self.words();
            }
            other => {
                self.words();
                self.remarks.warn(self.line, format!("M{other:02} is not known here and is left out"));
            }
        }
    }

    fn pattern_repeat(&mut self, times: u32) {
        let step = self.words();
        let (mut swap, mut mirror_x, mut mirror_y) = (false, false, false);
        loop {
            match self.bytes.get(self.at..).and_then(|rest| rest.get(..3)) {
                Some(b"M70") => swap = true,
                Some(b"M80") => mirror_x = true,
                Some(b"M90") => mirror_y = true,
                _ => break,
            }
            self.at += 3;
        }
        self.push(Command::PatternRepeat { times, step, swap, mirror_x, mirror_y });
    }

    fn tool(&mut self) {
        let Some(number) = self.letter_number(b'T') else { return };
        let mut diameter = None;
        loop {
            match self.bytes.get(self.at) {
                Some(b'C') => match self.letter_number(b'C') {
                    Some(read) => diameter = Some(read),
                    None => {
                        let text = format!("tool {} has a diameter (C) that is no number", number.digits);
                        self.remarks.error(self.line, text);
                        self.at += 1;
                    }
                },
                Some(b' ' | b'\t' | b',') => self.at += 1,
                Some(&letter @ (b'F' | b'S' | b'B' | b'H' | b'Z')) => {
                    if self.letter_number(letter).is_none() {
                        self.at += 1;
                    }
                }
                _ => break,
            }
        }
        let tool = u32::try_from(number.digits).unwrap_or(u32::MAX);
        self.push(Command::Tool { number: tool, written_digits: number.count, diameter });
    }

    fn repeat(&mut self) {
        let Some(number) = self.letter_number(b'R') else { return };
        let count = u32::try_from(number.digits).unwrap_or(u32::MAX);
        if self.bytes.get(self.at..).is_some_and(|rest| rest.starts_with(b"M02")) {
            self.at += 3;
            self.pattern_repeat(count);
        } else {
            let step = self.words();
            self.push(Command::Repeat { count, step });
        }
    }

    /// `METRIC,TZ,000.000` and other words of two letters and more.
    fn keyword(&mut self) {
        let rest = self.bytes.get(self.at..).unwrap_or_default();
        let line = String::from_utf8_lossy(rest).into_owned();
        self.at = self.bytes.len();
        let mut fields =
            line.split([',', ' ', '\t']).map(|f| f.trim_end_matches('*')).filter(|f| !f.is_empty());
        let head = fields.next().unwrap_or_default();
        match head {
            "METRIC" | "MM" => self.unit(Unit::Millimetre, fields),
            "INCH" => self.unit(Unit::Inch, fields),
            "LZ" => self.push(Command::Zeros(Zeros::TrailingOmitted)),
            "TZ" => self.push(Command::Zeros(Zeros::LeadingOmitted)),
            "ICI" => self.push(Command::Incremental(fields.next() != Some("OFF"))),
            "FMAT" => {}
            "PLATED" | "UNPLATED" | "NON_PLATED" => self.push(Command::Plating(plating_in_words(head))),
            _ if WITHOUT_EFFECT.contains(&head) || head.starts_with("OM") => {}
            _ => self.remarks.warn(self.line, format!("{} is not known here and is left out", quoted(&line))),
        }
    }

    fn unit<'f>(&mut self, unit: Unit, fields: impl Iterator<Item = &'f str>) {
        self.push(Command::Unit(unit));
        for field in fields {
            match field {
                "LZ" => self.push(Command::Zeros(Zeros::TrailingOmitted)),
                "TZ" => self.push(Command::Zeros(Zeros::LeadingOmitted)),
                _ => match pattern_digits(field) {
                    Some((integer, fraction)) => self.push(Command::Digits { integer, fraction }),
                    None => {
                        let text = format!(
                            "{} beside the unit is not known; LZ, TZ or 000.000 may stand there",
                            quoted(field)
                        );
                        self.remarks.warn(self.line, text);
                    }
                },
            }
        }
    }
}

/// `000.000`: as many zeros as digits.
fn pattern_digits(field: &str) -> Option<(u8, u8)> {
    let (integer, fraction) = field.split_once('.')?;
    let zeros = |part: &str| (part.len() <= 9 && part.bytes().all(|b| b == b'0')).then_some(part.len() as u8);
    Some((zeros(integer)?, zeros(fraction)?))
}

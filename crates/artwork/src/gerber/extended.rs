//! Statements between two `%`: format, unit, apertures, polarity, repeats, attributes, and the deprecated ones.

use super::aperture;
use super::blocks::Block;
use super::machine::{Machine, Purpose, Sheet};
use super::macros::{self, Macro};
use super::number::{Format, LengthUnit, Zeros};
use crate::gathering::quoted;
use crate::remark::Severity;
use std::sync::Arc;

/// Blocks and repeats may be nested this deep.
const DEEPEST: usize = 16;

impl Machine {
    pub fn extended(&mut self, block: &Block) {
        let text = block.text.trim();
        if block.opens {
            self.open_macro = None;
        }
        if let Some(name) = self.open_macro.clone() {
            if text.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '$' | '-' | '+' | '('))
                || text.is_empty()
            {
                if let Some(body) = self.macros.get_mut(&name) {
                    body.statements.push(macros::Statement { text: text.to_owned(), line: block.line });
                }
                return;
            }
            self.open_macro = None;
        }
        let Some((code, rest)) = text.split_at_checked(2) else {
            if !text.is_empty() {
                self.told.error(block.line, format!("{} is no statement; it is passed over", quoted(text)));
            }
            return;
        };
        self.statement(code, rest.trim(), text, block.line);
    }

    fn statement(&mut self, code: &str, rest: &str, text: &str, line: u32) {
        match code {
            "FS" => self.format_statement(rest, line),
            "MO" => match rest {
                "MM" => self.set_unit(LengthUnit::Millimetre, line, false),
                "IN" => self.set_unit(LengthUnit::Inch, line, false),
                _ => self.told.error(line, format!("{} is no unit; MOMM and MOIN are", quoted(text))),
            },
            "AD" => self.define_aperture(rest, line),
            "AM" => {
                if self.macros.insert(rest.to_owned(), Macro::default()).is_some() {
                    self.told.note(
                        line,
                        format!("macro {} is defined again; the new one holds from here on", quoted(rest)),
                    );
                }
                self.open_macro = Some(rest.to_owned());
            }
            "AB" => self.block_statement(rest, line),
            "SR" => self.repeat_statement(rest, line),
            "LP" => match rest {
                "D" => self.dark = true,
                "C" => self.dark = false,
                _ => self.told.error(line, format!("{} is no polarity; LPD and LPC are", quoted(text))),
            },
            "LM" => match rest {
                "N" | "X" | "Y" | "XY" | "YX" => {
                    self.turn.mirror_x = rest.contains('X');
                    self.turn.mirror_y = rest.contains('Y');
                }
                _ => self
                    .told
                    .error(line, format!("{} is no mirroring; LMN, LMX, LMY and LMXY are", quoted(text))),
            },
            "LR" => match number(rest) {
                Some(degrees) => self.turn.rotation_deg = degrees,
                None => self.told.error(
                    line,
                    format!("{} is no rotation; LR and degrees are, such as LR90", quoted(text)),
                ),
            },
            "LS" => match number(rest) {
                Some(scale) if scale > 0.0 && scale < 1e4 => self.turn.scale = scale,
                _ => self.told.error(
                    line,
                    format!("{} is no scale; LS and a factor above 0 are, such as LS0.8", quoted(text)),
                ),
            },
            "TF" | "TA" | "TO" | "TD" => self.attribute_text(text, line),
            "IN" | "LN" => {}
            "IP" | "IR" | "MI" | "SF" | "OF" | "AS" => self.deprecated(code, rest, text, line),
            "IF" => self
                .told
                .error(line, format!("{} includes another file; what stands in it is missing", quoted(text))),
            "KO" => {
                self.told.error(line, "a knock-out (KO) is not drawn; what it should clear is still there")
            }
            "IC" | "ID" | "IJ" | "IO" | "PF" | "NF" | "MA" | "RO" | "PE" | "IG" => {
                self.told.warn(
                    line,
                    format!(
                        "the old statement {} does not change the image here; it is passed over",
                        quoted(text)
                    ),
                );
            }
            _ => {
                // Drawing codes inside `%`: seen in files with a `%` too many.
                if text.starts_with(['G', 'D', 'X', 'Y', 'M']) {
                    self.once(
                        Severity::Warning,
                        line,
                        "drawing codes stand between two '%'; they are obeyed",
                    );
                    let plain =
                        Block { text: text.to_owned(), line, extended: false, opens: false, unclosed: false };
                    self.take(&plain);
                } else {
                    self.told
                        .error(line, format!("{} is no known statement; it is passed over", quoted(text)));
                }
            }
        }
    }

    /// `FS`: omission, notation, digits.
    fn format_statement(&mut self, rest: &str, line: u32) {
        let mut format = Format { x_digits: (0, 0), y_digits: (0, 0), ..Format::default() };
        let mut letters = rest.chars().filter(|c| !c.is_whitespace()).peekable();
        let mut understood = true;
        while let Some(letter) = letters.next() {
            match letter {
                'L' => format.zeros = Zeros::LeadingOmitted,
                'T' => format.zeros = Zeros::TrailingOmitted,
                'A' => format.incremental = false,
                'I' => {
                    format.incremental = true;
                    self.once(
                        Severity::Note,
                        line,
                        "coordinates are incremental, which is deprecated; each is added to the last",
                    );
                }
                'D' => self.once(
                    Severity::Note,
                    line,
                    "no zeros are omitted, says the format; digits are counted from the right",
                ),
                'X' | 'Y' => {
                    let mut digit = || letters.next_if(char::is_ascii_digit).and_then(|c| c.to_digit(10));
                    match (digit(), digit()) {
                        (Some(whole), Some(decimals)) if letter == 'X' => format.x_digits = (whole, decimals),
                        (Some(whole), Some(decimals)) => format.y_digits = (whole, decimals),
                        _ => understood = false,
                    }
                }
                // Lengths of N, G, D, M codes: nothing depends on them.
                'N' | 'G' | 'M' | 'Z' => while letters.next_if(char::is_ascii_digit).is_some() {},
                _ => understood = false,
            }
        }
        if format.x_digits == (0, 0) {
            format.x_digits = format.y_digits;
        }
        if format.y_digits == (0, 0) {
            format.y_digits = format.x_digits;
        }
        if format.x_digits == (0, 0) {
            understood = false;
            format.x_digits = Format::default().x_digits;
            format.y_digits = Format::default().y_digits;
        }
        if !understood {
            let text = format!(
                "the coordinate format FS{rest} is not fully understood; FSLAX24Y24 is an example; X is read with {}.{} digits",
                format.x_digits.0, format.x_digits.1
            );
            self.told.error(line, text);
        }
        self.format = Some(format);
    }

    /// `ADDnn` and a template with its modifiers.
    fn define_aperture(&mut self, rest: &str, line: u32) {
        let read = rest.strip_prefix('D').and_then(|rest| {
            let end = rest.find(|c: char| !c.is_ascii_digit()).unwrap_or(rest.len());
            let code = rest.get(..end)?.parse::<u32>().ok()?;
            Some((code, rest.get(end..)?))
        });
        let Some((code, template)) = read.filter(|(code, _)| *code >= 10) else {
            self.told.error(
                line,
                format!("AD{rest} defines no aperture; ADD10C,0.5 is an example; it is passed over"),
            );
            return;
        };
        let (name, modifiers) = template.split_once(',').unwrap_or((template, ""));
        let name = name.trim();
        let mut values = Vec::new();
        for field in modifiers.split(['X', 'x']).filter(|_| !modifiers.trim().is_empty()) {
            match number(field) {
                Some(value) => values.push(value),
                None => {
                    self.told.error(
                        line,
                        format!("{} in the definition of D{code} is no number; 0 is taken", quoted(field)),
                    );
                    values.push(0.0);
                }
            }
        }
        let unit_nm = self.unit_nm(line);
        let known = self.macros.get(name).cloned();
        let made = if let Some(body) = known {
            let mut trouble = Vec::new();
            let area = macros::draw(&body, &values, unit_nm, &mut trouble);
            for (at, text) in trouble {
                self.told.error(at, format!("aperture D{code}: {text}"));
            }
            if !self.afford(area.contours().map(Vec::len).sum(), line) {
                return;
            }
            Ok((aperture::from_area(area), Vec::new()))
        } else {
            aperture::standard(name, &values, unit_nm)
        };
        match made {
            Ok((mut aperture, told)) => {
                for text in told {
                    self.told.note(line, format!("D{code}: {text}"));
                }
                aperture.attributes = Arc::clone(&self.aperture_attributes);
                if self.apertures.insert(code, aperture).is_some() {
                    self.told.note(
                        line,
                        format!("aperture D{code} is defined again; the new one holds from here on"),
                    );
                }
            }
            Err(text) => self.told.error(line, format!("aperture D{code} is missing: {text}")),
        }
    }

    fn block_statement(&mut self, rest: &str, line: u32) {
        if rest.is_empty() {
            match self.sheets.last().map(|sheet| &sheet.purpose) {
                Some(Purpose::Block { .. }) => self.close_sheet(line),
                _ => self.told.warn(line, "a block aperture is closed (AB) that was not opened"),
            }
            return;
        }
        let code = rest.strip_prefix('D').and_then(|n| n.parse::<u32>().ok()).filter(|n| *n >= 10);
        match code {
            Some(number) if self.sheets.len() <= DEEPEST => {
                let purpose = Purpose::Block { number, line };
                self.sheets.push(Sheet { purpose, objects: Vec::new(), strokes: Vec::new() });
            }
            Some(_) => self.told.error(
                line,
                format!("block apertures are nested deeper than {DEEPEST}; this one is missing"),
            ),
            None => self.told.error(line, format!("AB{rest} opens no block aperture; ABD12 is an example")),
        }
    }

    /// `SRXnYnInJn` opens, `SR` and `SRX1Y1` close.
    fn repeat_statement(&mut self, rest: &str, line: u32) {
        if matches!(self.sheets.last().map(|sheet| &sheet.purpose), Some(Purpose::Repeat { .. })) {
            self.close_sheet(line);
        }
        if rest.is_empty() {
            return;
        }
        let field = |letter: char| -> Option<f64> {
            let begin = rest.find(letter)? + 1;
            let tail = rest.get(begin..)?;
            let end = tail.find(|c: char| c.is_ascii_alphabetic()).unwrap_or(tail.len());
            number(tail.get(..end)?)
        };
        let (columns, rows) = (field('X').unwrap_or(1.0), field('Y').unwrap_or(1.0));
        let (di, dj) = (field('I').unwrap_or(0.0), field('J').unwrap_or(0.0));
        if !(1.0..=10_000.0).contains(&columns) || !(1.0..=10_000.0).contains(&rows) {
            self.told
                .error(line, format!("SR{rest}: between 1 and 10000 repeats are allowed; it is drawn once"));
            return;
        }
        if columns == 1.0 && rows == 1.0 {
            return;
        }
        if self.sheets.len() > DEEPEST {
            self.told.error(line, "step and repeat is nested too deep; it is drawn once");
            return;
        }
        let unit_nm = self.unit_nm(line);
        let purpose = Purpose::Repeat {
            columns: columns as u32,
            rows: rows as u32,
            step_nm: [di * unit_nm, dj * unit_nm],
        };
        self.sheets.push(Sheet { purpose, objects: Vec::new(), strokes: Vec::new() });
    }

    /// Whole-image statements of old files.
    fn deprecated(&mut self, code: &str, rest: &str, text: &str, line: u32) {
        let pair = |first: char, second: char, default: f64| -> [f64; 2] {
            [first, second].map(|letter| {
                let Some(begin) = rest.find(letter) else { return default };
                let tail = rest.get(begin + 1..).unwrap_or("");
                let end = tail.find(|c: char| c.is_ascii_alphabetic()).unwrap_or(tail.len());
                tail.get(..end).and_then(number).unwrap_or(default)
            })
        };
        let before = format!("{:?}{}", self.whole, self.negative);
        match code {
            "IP" => match rest {
                "POS" => self.negative = false,
                "NEG" => self.negative = true,
                _ => self
                    .told
                    .error(line, format!("{} is no image polarity; IPPOS and IPNEG are", quoted(text))),
            },
            "IR" => match number(rest) {
                Some(degrees) => self.whole.rotation_deg = degrees,
                None => self.told.error(
                    line,
                    format!("{} is no image rotation; IR0, IR90, IR180 and IR270 are", quoted(text)),
                ),
            },
            "MI" => self.whole.mirror = pair('A', 'B', 0.0).map(|v| v != 0.0),
            "SF" => {
                self.whole.scale =
                    pair('A', 'B', 1.0).map(|v| if v == 0.0 { 1.0 } else { v.clamp(-1e3, 1e3) })
            }
            "OF" => {
                let unit_nm = self.unit_nm(line);
                self.whole.offset_nm = pair('A', 'B', 0.0).map(|v| v * unit_nm);
            }
            _ => match rest {
                "AXBY" => self.whole.swap_axes = false,
                "AYBX" => self.whole.swap_axes = true,
                _ => self
                    .told
                    .error(line, format!("{} is no axis choice; ASAXBY and ASAYBX are", quoted(text))),
            },
        }
        if format!("{:?}{}", self.whole, self.negative) != before {
            self.told.warn(
                line,
                format!("the deprecated statement {} changes the whole image; it is obeyed", quoted(text)),
            );
        }
    }
}

fn number(text: &str) -> Option<f64> {
    let text = text.trim();
    text.parse::<f64>().ok().filter(|v| v.is_finite())
}

//! A line to its fields.

use memchr::{memchr, memchr_iter};

use super::number::trimmed;

/// What stands between two fields.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Delimiter {
    /// This character.
    Byte(u8),
    /// Any number of blanks or tabs.
    Blanks,
    /// Nothing: a line is one field.
    Whole,
}

impl Delimiter {
    /// As written in a bench sheet.
    #[must_use]
    pub fn word(self) -> String {
        match self {
            Self::Byte(b',') => "comma".to_owned(),
            Self::Byte(b';') => "semicolon".to_owned(),
            Self::Byte(b'\t') => "tab".to_owned(),
            Self::Byte(b'|') => "bar".to_owned(),
            Self::Byte(b) => char::from(b).to_string(),
            Self::Blanks => "blanks".to_owned(),
            Self::Whole => "none".to_owned(),
        }
    }

    /// A word of a bench sheet, or a single character.
    #[must_use]
    pub fn named(word: &str) -> Option<Self> {
        match word {
            "comma" => Some(Self::Byte(b',')),
            "semicolon" => Some(Self::Byte(b';')),
            "tab" => Some(Self::Byte(b'\t')),
            "bar" => Some(Self::Byte(b'|')),
            "blanks" => Some(Self::Blanks),
            "none" => Some(Self::Whole),
            _ => match word.as_bytes() {
                [b] if b.is_ascii_punctuation() && !matches!(b, b'"' | b'.' | b'-' | b'+' | b'\'') => {
                    Some(Self::Byte(*b))
                }
                _ => None,
            },
        }
    }
}

/// Most fields that are taken from a line.
pub const MAX_FIELDS: usize = 1024;

/// Places of a line's fields, quotes and blanks around them left out. Kept between lines.
#[derive(Debug, Default)]
pub struct Fields {
    places: Vec<(u32, u32)>,
    /// Whether a quote was opened and not closed.
    pub open_quote: bool,
}

impl Fields {
    /// How many there are.
    #[must_use]
    pub fn len(&self) -> usize {
        self.places.len()
    }

    /// Whether there is none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.places.is_empty()
    }

    /// A field of the line that was split.
    #[must_use]
    pub fn get<'a>(&self, line: &'a [u8], index: usize) -> Option<&'a [u8]> {
        let (from, to) = *self.places.get(index)?;
        line.get(from as usize..to as usize)
    }

    /// All fields of the line that was split.
    pub fn iter<'a>(&self, line: &'a [u8]) -> impl Iterator<Item = &'a [u8]> {
        self.places.iter().map(|(from, to)| line.get(*from as usize..*to as usize).unwrap_or_default())
    }

    /// Where a field begins: column from 1, in bytes.
    #[must_use]
    pub fn column(&self, index: usize) -> u32 {
        self.places.get(index).map_or(1, |(from, _)| from + 1)
    }

    /// Splits a line.
    pub fn split(&mut self, line: &[u8], delimiter: Delimiter) {
        self.places.clear();
        self.open_quote = false;
        match delimiter {
            Delimiter::Whole => self.push(line, 0, line.len()),
            Delimiter::Blanks => self.split_blanks(line),
            Delimiter::Byte(byte) if memchr(b'"', line).is_none() => {
                let mut from = 0;
                for at in memchr_iter(byte, line) {
                    self.push(line, from, at);
                    from = at + 1;
                }
                self.push(line, from, line.len());
            }
            Delimiter::Byte(byte) => self.split_quoted(line, |b| b == byte, false),
        }
    }

    fn split_blanks(&mut self, line: &[u8]) {
        if memchr(b'"', line).is_some() {
            return self.split_quoted(line, |b| matches!(b, b' ' | b'\t'), true);
        }
        let mut from = None;
        for (at, b) in line.iter().enumerate() {
            match (from, matches!(b, b' ' | b'\t')) {
                (None, false) => from = Some(at),
                (Some(begin), true) => {
                    self.push(line, begin, at);
                    from = None;
                }
                _ => {}
            }
        }
        if let Some(begin) = from {
            self.push(line, begin, line.len());
        }
    }

    fn split_quoted(&mut self, line: &[u8], ends: impl Fn(u8) -> bool, runs: bool) {
        let mut at = 0;
        loop {
            if runs {
                at += line.iter().skip(at).take_while(|b| ends(**b)).count();
                if at >= line.len() {
                    return;
                }
            }
            let blanks = line.iter().skip(at).take_while(|b| **b == b' ').count();
            let next = if line.get(at + blanks) == Some(&b'"') {
                let inside = at + blanks + 1;
                let close = closing_quote(line, inside);
                self.open_quote |= close.is_none();
                let end = close.unwrap_or(line.len());
                self.push(line, inside, end);
                line.iter().skip(end).position(|b| ends(*b)).map(|more| end + more)
            } else {
                let next = line.iter().skip(at).position(|b| ends(*b)).map(|more| at + more);
                self.push(line, at, next.unwrap_or(line.len()));
                next
            };
            match next {
                Some(delimiter) => at = delimiter + 1,
                None => return,
            }
        }
    }

    fn push(&mut self, line: &[u8], from: usize, to: usize) {
        if self.places.len() >= MAX_FIELDS {
            return;
        }
        let field = line.get(from..to).unwrap_or_default();
        let kept = trimmed(field);
        let blanks =
            if kept.len() == field.len() { 0 } else { field.iter().take_while(|b| **b <= b' ').count() };
        let from = (from + blanks).min(to);
        // Lines are shorter than 2^32.
        let place = |at: usize| u32::try_from(at).unwrap_or(u32::MAX);
        self.places.push((place(from), place(from + kept.len())));
    }
}

/// Where a quoted field ends; a doubled quote is one inside.
fn closing_quote(line: &[u8], inside: usize) -> Option<usize> {
    let mut at = inside;
    loop {
        at += memchr(b'"', line.get(at..)?)?;
        if line.get(at + 1) != Some(&b'"') {
            return Some(at);
        }
        at += 2;
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn split(line: &str, delimiter: Delimiter) -> Vec<String> {
        let mut fields = Fields::default();
        fields.split(line.as_bytes(), delimiter);
        fields.iter(line.as_bytes()).map(|field| String::from_utf8_lossy(field).into_owned()).collect()
    }

    #[test]
    fn fields_come_without_quotes_and_blanks() {
        let comma = Delimiter::Byte(b',');
        assert_eq!(split("a, b ,,\"c,d\" ,e", comma), ["a", "b", "", "c,d", "e"]);
        assert_eq!(split("", comma), [""]);
        assert_eq!(split("1,2,", comma), ["1", "2", ""]);
        assert_eq!(split("  1   2\t3 ", Delimiter::Blanks), ["1", "2", "3"]);
        assert_eq!(split("\"a b\"  2", Delimiter::Blanks), ["a b", "2"]);
        assert_eq!(split("a;b", Delimiter::Whole), ["a;b"]);
        assert_eq!(split("1;\"2;3", Delimiter::Byte(b';')), ["1", "2;3"]);
    }

    proptest! {
        /// Against the `csv` library's writer and reader.
        #[test]
        fn fields_are_those_of_the_csv_library(
            cells in proptest::collection::vec("[a-z0-9,;|.\"]{0,6}", 1..8), which in 0usize..4
        ) {
            let byte = [b',', b';', b'\t', b'|'][which];
            let mut writer = csv::WriterBuilder::new().delimiter(byte).from_writer(Vec::new());
            writer.write_record(&cells).unwrap();
            let line = String::from_utf8(writer.into_inner().unwrap()).unwrap();
            // Doubled quotes stay as they are written.
            let written: Vec<String> = cells.iter().map(|cell| cell.replace('"', "\"\"")).collect();
            prop_assert_eq!(split(line.trim_end_matches('\n'), Delimiter::Byte(byte)), written);
        }

        #[test]
        fn no_line_makes_it_panic(line in "[\"a,; \\t]{0,40}") {
            for delimiter in [Delimiter::Byte(b','), Delimiter::Blanks, Delimiter::Whole] {
                split(&line, delimiter);
            }
        }
    }
}

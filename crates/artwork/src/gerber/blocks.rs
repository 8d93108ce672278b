//! Bytes to blocks: what stands between `*` and `%`, with the line where it begins.
//!
//! Lines mean nothing in a Gerber file, so they only serve to say where something stands.

/// One data block without its closing `*`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Block {
    /// Printable characters; line ends, NUL and other control characters are left out. Latin-1 bytes above 127 are
    /// kept as the characters they stand for.
    pub text: String,
    /// Line where its first character stands, from 1.
    pub line: u32,
    /// Whether it stands between two `%`.
    pub extended: bool,
    /// Whether a `%` opened just before it: it begins an extended command.
    pub opens: bool,
    /// Whether its `*` was missing: a `%` or the end of the file closed it.
    pub unclosed: bool,
}

struct Splitter {
    blocks: Vec<Block>,
    text: String,
    line: u32,
    begin: Option<u32>,
    extended: bool,
    opens: bool,
}

impl Splitter {
    fn close(&mut self, unclosed: bool) {
        let text = std::mem::take(&mut self.text);
        let line = self.begin.take().unwrap_or(self.line);
        let empty = text.trim().is_empty();
        if empty && (unclosed || !self.extended) {
            return;
        }
        let opens = std::mem::take(&mut self.opens);
        self.blocks.push(Block { text, line, extended: self.extended, opens, unclosed });
    }

    fn take(&mut self, byte: u8) {
        match byte {
            b'*' => self.close(false),
            b'%' if !self.extended && is_comment(&self.text) => self.text.push('%'),
            b'%' => {
                self.close(true);
                self.extended = !self.extended;
                self.opens = self.extended;
            }
            byte if byte < b' ' || byte == 127 => {}
            byte => {
                if self.begin.is_none() && byte != b' ' {
                    self.begin = Some(self.line);
                }
                self.text.push(char::from(byte));
            }
        }
    }
}

/// Whether a block so far reads as a `G04` comment, inside which a `%` is a character like any other.
fn is_comment(text: &str) -> bool {
    let digits = text.trim_start().trim_start_matches('G').trim_start_matches('0');
    text.trim_start().starts_with('G')
        && digits.starts_with('4')
        && !digits[1..].starts_with(|c: char| c.is_ascii_digit())
}

/// Splits a file into blocks. Never fails; what is not closed is marked so.
pub(super) fn split(bytes: &[u8]) -> Vec<Block> {
    let bytes = bytes.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(bytes);
    let mut splitter = Splitter {
        blocks: Vec::new(),
        text: String::new(),
        line: 1,
        begin: None,
        extended: false,
        opens: false,
    };
    let mut previous = 0u8;
    for &byte in bytes {
        if byte == b'\r' || (byte == b'\n' && previous != b'\r') {
            splitter.line = splitter.line.saturating_add(1);
        }
        splitter.take(byte);
        previous = byte;
    }
    splitter.close(true);
    splitter.blocks
}

#[cfg(test)]
mod tests {
    use super::split;

    #[test]
    fn line_ends_do_not_matter_and_are_counted() {
        let blocks = split(b"\xEF\xBB\xBFG04 hello\rworld*\r\nG01*D02*%FSLAX24Y24*MOIN*%\n\0X1\nY2D01*M02*");
        let short: Vec<_> = blocks.iter().map(|b| (b.text.as_str(), b.line, b.extended)).collect();
        assert_eq!(
            short,
            [
                ("G04 helloworld", 1, false),
                ("G01", 3, false),
                ("D02", 3, false),
                ("FSLAX24Y24", 3, true),
                ("MOIN", 3, true),
                ("X1Y2D01", 4, false),
                ("M02", 5, false)
            ]
        );
        assert!(blocks[3].opens && !blocks[4].opens);
    }

    #[test]
    fn percent_in_a_comment_is_a_character() {
        let blocks = split(b"G04 50 % copper*D10*");
        assert_eq!(blocks.len(), 2);
        assert_eq!(blocks[0].text, "G04 50 % copper");
    }
}

//! Bytes to lines, whatever ends them, without ever holding more than one line and a chunk.

use std::io::{self, ErrorKind, Read};

use memchr::memchr;

use super::encoding::CHUNK_BYTES;

/// Longest line that is read, bytes. A logger's lines have some hundreds.
pub const MAX_LINE_BYTES: usize = 1 << 20;

/// Lines of a log.
pub struct Lines<R> {
    inner: R,
    buffer: Vec<u8>,
    start: usize,
    end: usize,
    ended: bool,
    /// What ends a line.
    terminator: u8,
    /// Number of the line last handed out, from 1.
    number: u64,
}

/// A line without its end.
#[derive(Debug, Clone, Copy)]
pub struct Line<'a> {
    /// Its bytes; of a line that is too long, the first of them.
    pub bytes: &'a [u8],
    /// From 1.
    pub number: u64,
    /// Whether its end was there; the last line of a log that was cut off has none.
    pub ended: bool,
    /// Whether it was longer than [`MAX_LINE_BYTES`].
    pub too_long: bool,
}

impl<R: Read> Lines<R> {
    /// Lines of a reader; `head` was read from it already.
    pub fn new(inner: R, head: Vec<u8>, terminator: u8) -> Self {
        let end = head.len();
        Self { inner, buffer: head, start: 0, end, ended: false, terminator, number: 0 }
    }

    /// The next line.
    ///
    /// # Errors
    ///
    /// When the bytes cannot be read any further.
    pub fn next_line(&mut self) -> io::Result<Option<Line<'_>>> {
        let mut searched = 0;
        let mut too_long = false;
        loop {
            let window = self.buffer.get(self.start..self.end).unwrap_or_default();
            let unseen = window.get(searched..).unwrap_or_default();
            if let Some(found) = memchr(self.terminator, unseen) {
                let length = if too_long { searched.min(MAX_LINE_BYTES) } else { searched + found };
                let from = self.start;
                self.start += searched + found + 1;
                return Ok(Some(self.line(from, length, true, too_long)));
            }
            if self.ended {
                let length = window.len();
                if length == 0 && !too_long {
                    return Ok(None);
                }
                let from = self.start;
                self.start = self.end;
                return Ok(Some(self.line(from, length.min(MAX_LINE_BYTES), false, too_long)));
            }
            searched = window.len();
            if searched > MAX_LINE_BYTES {
                // The rest of it is read past without keeping it.
                too_long = true;
                searched = MAX_LINE_BYTES;
                self.end = self.start + MAX_LINE_BYTES;
            }
            self.fill()?;
        }
    }

    fn line(&mut self, from: usize, length: usize, ended: bool, too_long: bool) -> Line<'_> {
        self.number += 1;
        let mut bytes = self.buffer.get(from..from + length).unwrap_or_default();
        if self.terminator == b'\n' {
            bytes = bytes.strip_suffix(b"\r").unwrap_or(bytes);
        }
        Line { bytes, number: self.number, ended, too_long }
    }

    fn fill(&mut self) -> io::Result<()> {
        if self.start > 0 {
            self.buffer.copy_within(self.start..self.end, 0);
            self.end -= self.start;
            self.start = 0;
        }
        if self.buffer.len() < self.end + CHUNK_BYTES {
            self.buffer.resize(self.end + CHUNK_BYTES, 0);
        }
        let room = self.buffer.get_mut(self.end..).unwrap_or_default();
        loop {
            match self.inner.read(room) {
                Ok(0) => {
                    self.ended = true;
                    return Ok(());
                }
                Ok(count) => {
                    self.end += count.min(room.len());
                    return Ok(());
                }
                Err(error) if error.kind() == ErrorKind::Interrupted => {}
                Err(error) => return Err(error),
            }
        }
    }
}

/// What ends the lines of a log that begins so.
#[must_use]
pub fn terminator(head: &[u8]) -> u8 {
    if memchr(b'\n', head).is_none() && memchr(b'\r', head).is_some() { b'\r' } else { b'\n' }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn all(bytes: &[u8], head: usize) -> Vec<(String, bool, bool)> {
        let (head, rest) = bytes.split_at(head.min(bytes.len()));
        let mut lines = Lines::new(rest, head.to_vec(), terminator(bytes));
        let mut out = Vec::new();
        while let Some(line) = lines.next_line().unwrap() {
            assert_eq!(line.number as usize, out.len() + 1);
            out.push((String::from_utf8_lossy(line.bytes).into_owned(), line.ended, line.too_long));
        }
        out
    }

    #[test]
    fn every_end_of_line_is_one() {
        for text in ["a\nbc\n\nd", "a\r\nbc\r\n\r\nd", "a\rbc\r\rd"] {
            for head in [0, 2, 100] {
                let lines = all(text.as_bytes(), head);
                let words: Vec<&str> = lines.iter().map(|(word, ..)| word.as_str()).collect();
                assert_eq!(words, ["a", "bc", "", "d"], "{text:?}");
                assert_eq!(lines.last().map(|(_, ended, _)| *ended), Some(false));
            }
        }
        assert!(all(b"", 0).is_empty());
        assert_eq!(all(b"x\n", 0).len(), 1);
    }

    #[test]
    fn a_line_without_end_is_cut_and_the_next_one_read() {
        let mut bytes = b"first\n".to_vec();
        bytes.extend(std::iter::repeat_n(b'x', 3 * MAX_LINE_BYTES));
        bytes.extend_from_slice(b"\nlast\n");
        let lines = all(&bytes, 3);
        assert_eq!(lines.len(), 3);
        assert!(lines[1].2 && lines[1].0.len() == MAX_LINE_BYTES && !lines[2].2);
        assert_eq!(lines[2].0, "last");
        let endless = vec![0u8; 3 * MAX_LINE_BYTES];
        assert_eq!(all(&endless, 0).len(), 1);
    }
}

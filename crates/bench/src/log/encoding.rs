//! Bytes of a log to bytes in which every mark, digit and line end is ASCII.

use std::io::{self, Read};

use encoding_rs::{Decoder, UTF_16BE, UTF_16LE, WINDOWS_1252};

/// How a log's letters are coded.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Encoding {
    /// UTF-8, or plain ASCII.
    Utf8,
    /// UTF-16, the low byte first.
    Utf16Le,
    /// UTF-16, the high byte first.
    Utf16Be,
    /// One byte a letter, as older Western software writes it (windows-1252).
    Western,
}

impl Encoding {
    /// For messages.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Utf8 => "UTF-8",
            Self::Utf16Le => "UTF-16 LE",
            Self::Utf16Be => "UTF-16 BE",
            Self::Western => "windows-1252",
        }
    }

    /// A cell's bytes, as they come out of [`Decoded`], as text.
    #[must_use]
    pub fn text(self, bytes: &[u8]) -> String {
        match self {
            Self::Western => WINDOWS_1252.decode_without_bom_handling(bytes).0.into_owned(),
            _ => String::from_utf8_lossy(bytes).into_owned(),
        }
    }

    /// The coding of a log that begins with these bytes, what shows it, and the length of its byte order mark.
    #[must_use]
    pub fn of(head: &[u8]) -> (Self, &'static str, usize) {
        const MARK: &str = "its byte order mark";
        match head {
            [0xef, 0xbb, 0xbf, ..] => return (Self::Utf8, MARK, 3),
            [0xff, 0xfe, ..] => return (Self::Utf16Le, MARK, 2),
            [0xfe, 0xff, ..] => return (Self::Utf16Be, MARK, 2),
            _ => {}
        }
        let sample = head.get(..head.len().min(4096)).unwrap_or_default();
        let zeros = |odd: usize| sample.iter().skip(odd).step_by(2).filter(|b| **b == 0).count();
        let (even, odd) = (zeros(0), zeros(1));
        let half = sample.len() / 2;
        if half >= 8 && odd * 10 > half * 7 && even * 10 < half {
            return (Self::Utf16Le, "every other byte is zero", 0);
        }
        if half >= 8 && even * 10 > half * 7 && odd * 10 < half {
            return (Self::Utf16Be, "every other byte is zero", 0);
        }
        match std::str::from_utf8(head) {
            Ok(_) => (Self::Utf8, "its bytes are UTF-8", 0),
            // Cut within a letter.
            Err(error) if error.error_len().is_none() => (Self::Utf8, "its bytes are UTF-8", 0),
            Err(_) => (Self::Western, "its bytes are not UTF-8", 0),
        }
    }
}

/// Reads a log in any coding; UTF-16 comes out as UTF-8, all else as it is.
pub struct Decoded<R> {
    inner: R,
    decoder: Option<Decoder>,
    /// Decoded and not yet handed out.
    ready: Vec<u8>,
    at: usize,
    ended: bool,
}

/// Bytes read at a time.
pub const CHUNK_BYTES: usize = 64 << 10;

impl<R: Read> Decoded<R> {
    /// A reader of bytes in this coding, byte order mark left out.
    pub fn new(inner: R, encoding: Encoding) -> Self {
        let decoder = match encoding {
            Encoding::Utf16Le => Some(UTF_16LE.new_decoder_without_bom_handling()),
            Encoding::Utf16Be => Some(UTF_16BE.new_decoder_without_bom_handling()),
            Encoding::Utf8 | Encoding::Western => None,
        };
        Self { inner, decoder, ready: Vec::new(), at: 0, ended: false }
    }
}

impl<R: Read> Read for Decoded<R> {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        let Some(decoder) = &mut self.decoder else { return self.inner.read(into) };
        while self.at == self.ready.len() && !self.ended {
            let mut raw = [0u8; 4096];
            let count = self.inner.read(&mut raw)?;
            self.ended = count == 0;
            let source = raw.get(..count).unwrap_or_default();
            let room = decoder.max_utf8_buffer_length(source.len()).unwrap_or(3 * source.len() + 16);
            self.ready.resize(room, 0);
            let (_, _, written, _) = decoder.decode_to_utf8(source, &mut self.ready, self.ended);
            self.ready.truncate(written);
            self.at = 0;
        }
        let left = self.ready.get(self.at..).unwrap_or_default();
        let count = left.len().min(into.len());
        if let (Some(to), Some(from)) = (into.get_mut(..count), left.get(..count)) {
            to.copy_from_slice(from);
        }
        self.at += count;
        Ok(count)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codings_are_told_apart() {
        let wide = |text: &str, big: bool| -> Vec<u8> {
            text.encode_utf16()
                .flat_map(|unit| if big { unit.to_be_bytes() } else { unit.to_le_bytes() })
                .collect()
        };
        let text = "Zeit;T (°C)\n1;23,5\n";
        for (bytes, encoding) in [
            (text.as_bytes().to_vec(), Encoding::Utf8),
            (wide(text, false), Encoding::Utf16Le),
            (wide(text, true), Encoding::Utf16Be),
        ] {
            assert_eq!(Encoding::of(&bytes).0, encoding);
            let mut out = String::new();
            Decoded::new(&bytes[..], encoding).read_to_string(&mut out).unwrap();
            assert_eq!(out, text);
        }
        let western = b"Zeit;T (\xb0C)\n";
        assert_eq!(Encoding::of(western).0, Encoding::Western);
        assert_eq!(Encoding::Western.text(b"T (\xb0C)"), "T (°C)");
        assert_eq!(Encoding::of(b"\xff\xfe1\0"), (Encoding::Utf16Le, "its byte order mark", 2));
        assert_eq!(Encoding::of("T °".as_bytes().get(..3).unwrap()).0, Encoding::Utf8);
    }
}

//! Bytes as they come to whole lines: half a line is held until its end arrives.

use memchr::memchr2;

/// Longest line that is taken, bytes; what has no end by then is no logger's.
pub const MAX_LINE_BYTES: usize = 16 << 10;

/// What has come so far and is not a line yet.
#[derive(Debug, Default)]
pub struct HeldLine {
    bytes: Vec<u8>,
    /// Whether the line at hand was too long: it is left out to its end.
    skipping: bool,
    /// Lines left out for their length.
    pub too_long: u64,
}

impl HeldLine {
    /// Takes bytes and hands every line that they end to `each`, without its end; blank lines are passed over.
    pub fn take(&mut self, mut bytes: &[u8], mut each: impl FnMut(&[u8])) {
        while let Some(end) = memchr2(b'\n', b'\r', bytes) {
            let (piece, rest) = bytes.split_at(end);
            self.hold(piece);
            if !std::mem::take(&mut self.skipping) && self.bytes.iter().any(|b| *b > b' ') {
                each(&self.bytes);
            }
            self.bytes.clear();
            bytes = rest.get(1..).unwrap_or_default();
        }
        self.hold(bytes);
    }

    /// Bytes of a line without its end; what stays when the source ends.
    #[must_use]
    pub fn half(&self) -> &[u8] {
        &self.bytes
    }

    /// Forgets the half line: the source begins anew.
    pub fn clear(&mut self) {
        self.bytes.clear();
        self.skipping = false;
    }

    fn hold(&mut self, piece: &[u8]) {
        if self.skipping {
            return;
        }
        if self.bytes.len() + piece.len() > MAX_LINE_BYTES {
            self.skipping = true;
            self.too_long += 1;
            self.bytes.clear();
        } else {
            self.bytes.extend_from_slice(piece);
        }
    }
}

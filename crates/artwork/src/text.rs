//! Bytes to numbered lines of text, whatever the file went through on its way.

use encoding_rs::{UTF_8, UTF_16BE, UTF_16LE, WINDOWS_1252};

/// Decodes UTF-8 and UTF-16 (by their marks), else Latin-1 with its usual Windows extension; drops NUL bytes.
pub(crate) fn decoded(bytes: &[u8]) -> String {
    let text = match bytes {
        [0xFF, 0xFE, ..] => UTF_16LE.decode_with_bom_removal(bytes).0,
        [0xFE, 0xFF, ..] => UTF_16BE.decode_with_bom_removal(bytes).0,
        _ => match UTF_8.decode_with_bom_removal(bytes) {
            (text, false) => text,
            (_, true) => WINDOWS_1252.decode_without_bom_handling(bytes).0,
        },
    };
    if text.contains('\0') { text.replace('\0', "") } else { text.into_owned() }
}

/// The lines of a text, numbered from 1; LF, CR LF and a lone CR each end a line.
pub(crate) fn numbered_lines(text: &str) -> impl Iterator<Item = (u32, &str)> {
    let mut rest = Some(text);
    let pieces = std::iter::from_fn(move || {
        let all = rest?;
        let Some(end) = all.find(['\r', '\n']) else {
            rest = None;
            return Some(all);
        };
        let after = if all[end..].starts_with("\r\n") { end + 2 } else { end + 1 };
        rest = Some(&all[after..]);
        Some(&all[..end])
    });
    (1u32..).zip(pieces)
}

#[cfg(test)]
mod tests {
    use super::{decoded, numbered_lines};

    #[test]
    fn every_line_ending_counts_once() {
        let lines: Vec<_> = numbered_lines("a\r\nb\rc\n\nd").collect();
        assert_eq!(lines, [(1, "a"), (2, "b"), (3, "c"), (4, ""), (5, "d")]);
    }

    #[test]
    fn marks_nul_and_latin_1_are_read() {
        assert_eq!(decoded(b"\xEF\xBB\xBFX1\0Y2"), "X1Y2");
        assert_eq!(decoded(b";\xB5m"), ";\u{b5}m");
        assert_eq!(decoded(b"\xFF\xFEX\x001\x00"), "X1");
    }
}

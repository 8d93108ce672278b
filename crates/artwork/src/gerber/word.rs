//! A plain block to its letters and numbers.

/// A letter with the number behind it, as written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Word {
    pub letter: char,
    pub number: String,
}

/// The words of a block, and what could not be read between them.
pub(super) fn words(text: &str) -> (Vec<Word>, String) {
    let mut words = Vec::new();
    let mut strange = String::new();
    let mut rest = text.chars().filter(|c| !c.is_whitespace()).peekable();
    while let Some(c) = rest.next() {
        let letter = c.to_ascii_uppercase();
        if !matches!(letter, 'G' | 'D' | 'M' | 'X' | 'Y' | 'I' | 'J' | 'N') {
            strange.push(c);
            continue;
        }
        let mut number = String::new();
        while let Some(d) = rest.next_if(|d| d.is_ascii_digit() || matches!(d, '+' | '-' | '.')) {
            number.push(d);
        }
        words.push(Word { letter, number });
    }
    (words, strange)
}

/// The text behind `G4` or `G04` when the block is a comment.
pub(super) fn comment(text: &str) -> Option<&str> {
    let rest = text.trim_start().strip_prefix(['G', 'g'])?;
    let rest = rest.trim_start_matches('0').strip_prefix('4')?;
    (!rest.starts_with(|c: char| c.is_ascii_digit())).then_some(rest)
}

#[cfg(test)]
mod tests {
    use super::{comment, words};

    #[test]
    fn letters_in_any_order_with_signs_and_points() {
        let (found, strange) = words("G1 Y+200X-1.5 D01?");
        let short: Vec<_> = found.iter().map(|w| (w.letter, w.number.as_str())).collect();
        assert_eq!(short, [('G', "1"), ('Y', "+200"), ('X', "-1.5"), ('D', "01")]);
        assert_eq!(strange, "?");
    }

    #[test]
    fn comments_are_seen_by_their_code() {
        assert_eq!(comment("G04 D10 X5"), Some(" D10 X5"));
        assert_eq!(comment("G4,x"), Some(",x"));
        assert_eq!(comment("G54D10"), None);
        assert_eq!(comment("G40"), None);
    }
}

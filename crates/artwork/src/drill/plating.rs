//! Plated or not, from words.

/// What the words of a file name, an attribute or a comment say about plating: `None` when nothing, or both.
///
/// Words are runs of letters and digits. `PTH` and `plated` mean plated, `NPTH`, `nonplated`, `unplated` and `non` or
/// `not` before `plated` mean unplated (common practice; the attribute values are those of the Gerber layer format
/// specification, section on the .FileFunction attribute).
#[must_use]
pub fn plating_in_words(text: &str) -> Option<bool> {
    let lower = text.to_ascii_lowercase();
    let words: Vec<&str> =
        lower.split(|c: char| !c.is_ascii_alphanumeric()).filter(|w| !w.is_empty()).collect();
    let (mut plated, mut unplated) = (false, false);
    for (k, word) in words.iter().enumerate() {
        let before = k.checked_sub(1).and_then(|b| words.get(b)).copied().unwrap_or_default();
        match *word {
            "npth" | "nonplated" | "unplated" | "notplated" => unplated = true,
            "plated" | "pth" if matches!(before, "non" | "not" | "un") => unplated = true,
            "plated" | "pth" => plated = true,
            _ => {}
        }
    }
    match (plated, unplated) {
        (true, false) => Some(true),
        (false, true) => Some(false),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::plating_in_words;

    #[test]
    fn names_and_words() {
        for text in ["board-PTH.drl", "PLATED", "x_plated.xln", "Plated,1,2,PTH"] {
            assert_eq!(plating_in_words(text), Some(true), "{text}");
        }
        for text in ["board-NPTH.drl", "NON_PLATED", "non-plated holes.txt", "NonPlated", "UNPLATED"] {
            assert_eq!(plating_in_words(text), Some(false), "{text}");
        }
        for text in ["board.drl", "pthalo.drl", "MixedPlating", "PTH and NPTH"] {
            assert_eq!(plating_in_words(text), None, "{text}");
        }
    }
}

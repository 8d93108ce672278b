//! What a misspelt name may have meant.

/// A name's nearest neighbour among those known, when it is near enough to be a slip of the hand.
pub fn nearest<'a>(name: &str, known: impl Iterator<Item = &'a str>) -> Option<&'a str> {
    let lower = name.to_lowercase();
    known
        .map(|candidate| (distance(&lower, &candidate.to_lowercase()), candidate))
        .filter(|(far, candidate)| *far <= 1 + candidate.chars().count() / 3)
        .min_by_key(|(far, _)| *far)
        .map(|(_, candidate)| candidate)
}

/// Levenshtein distance.
fn distance(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().take(64).collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, ca) in a.chars().take(64).enumerate() {
        let mut diagonal = i;
        row[0] = i + 1;
        for (j, cb) in b.iter().enumerate() {
            let here = (diagonal + usize::from(ca != *cb)).min(row[j] + 1).min(row[j + 1] + 1);
            diagonal = std::mem::replace(&mut row[j + 1], here);
        }
    }
    row.last().copied().unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::nearest;

    #[test]
    fn a_slip_finds_its_neighbour() {
        assert_eq!(nearest("thicknes", ["thickness", "conductivity"].into_iter()), Some("thickness"));
        assert_eq!(nearest("colour", ["thickness", "conductivity"].into_iter()), None);
    }
}

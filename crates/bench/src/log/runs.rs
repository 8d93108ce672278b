//! Rows that share a mark, as runs: 16 bytes a run, however long it is.

use std::ops::Range;

/// Ascending rows, as runs.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Runs(Vec<Range<usize>>);

impl Runs {
    /// Adds a row; rows come in ascending order.
    pub fn push(&mut self, row: usize) {
        match self.0.last_mut() {
            Some(last) if last.end == row => last.end += 1,
            Some(last) if last.end > row => {}
            _ => self.0.push(row..row + 1),
        }
    }

    /// How many rows.
    #[must_use]
    pub fn rows(&self) -> usize {
        self.0.iter().map(ExactSizeIterator::len).sum()
    }

    /// Whether there is none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// The runs.
    #[must_use]
    pub fn ranges(&self) -> &[Range<usize>] {
        &self.0
    }

    /// Every row.
    pub fn iter(&self) -> impl Iterator<Item = usize> {
        self.0.iter().cloned().flatten()
    }

    /// Whether a row is among them.
    #[must_use]
    pub fn contains(&self, row: usize) -> bool {
        let after = self.0.partition_point(|run| run.end <= row);
        self.0.get(after).is_some_and(|run| run.contains(&row))
    }

    /// Adds those of a following part that begins at `offset`.
    pub fn append(&mut self, other: &Self, offset: usize) {
        for run in &other.0 {
            match self.0.last_mut() {
                Some(last) if last.end == run.start + offset => last.end = run.end + offset,
                _ => self.0.push(run.start + offset..run.end + offset),
            }
        }
    }

    /// Memory that the runs take, bytes.
    #[must_use]
    pub fn bytes(&self) -> usize {
        self.0.capacity() * size_of::<Range<usize>>()
    }
}

impl FromIterator<usize> for Runs {
    fn from_iter<T: IntoIterator<Item = usize>>(rows: T) -> Self {
        let mut runs = Self::default();
        rows.into_iter().for_each(|row| runs.push(row));
        runs
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_become_runs() {
        let mut runs: Runs = [1, 2, 3, 7, 9, 10].into_iter().collect();
        assert_eq!(runs.ranges(), [1..4, 7..8, 9..11]);
        assert_eq!(
            (runs.rows(), runs.contains(3), runs.contains(4), runs.contains(10)),
            (6, true, false, true)
        );
        let more: Runs = [0, 5].into_iter().collect();
        runs.append(&more, 11);
        assert_eq!(runs.ranges(), [1..4, 7..8, 9..12, 16..17]);
        assert_eq!(runs.iter().count(), 8);
    }
}

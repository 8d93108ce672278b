//! Some rows of a log's head, cell by cell.

use crate::log::fields::{Delimiter, Fields};

/// Rows of the head.
pub struct Sampled<'a> {
    rows: Vec<Vec<&'a [u8]>>,
}

impl<'a> Sampled<'a> {
    /// Lines split; those with a field less or more are left out.
    pub fn new(lines: impl Iterator<Item = &'a [u8]>, delimiter: Delimiter, count: usize) -> Self {
        let mut fields = Fields::default();
        let rows = lines
            .filter_map(|line| {
                fields.split(line, delimiter);
                (fields.len() >= count && fields.len() <= count + 1).then(|| fields.iter(line).collect())
            })
            .collect();
        Self { rows }
    }

    /// How many.
    pub fn len(&self) -> usize {
        self.rows.len()
    }

    /// The cells of a column.
    pub fn column(&self, column: usize) -> impl Iterator<Item = &'a [u8]> + '_ {
        self.rows.iter().filter_map(move |row| row.get(column).copied())
    }

    /// A cell of a column that is not empty, for messages.
    pub fn example(&self, column: usize) -> String {
        let cell = self.column(column).find(|cell| !cell.is_empty()).unwrap_or_default();
        super::clean(&String::from_utf8_lossy(cell), 40)
    }
}

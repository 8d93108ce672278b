//! Rows of few entries, one after the other.

use rayon::prelude::*;

/// Rows that one task takes.
const ROWS_A_TASK: usize = 8192;

/// A matrix by rows.
#[derive(Debug, Clone, Default)]
pub(super) struct Sparse {
    start: Vec<u32>,
    column: Vec<u32>,
    value: Vec<f32>,
}

impl Sparse {
    /// Made row by row; rows are shared out, and each says its own entries.
    pub fn build(rows: usize, entries: impl Fn(usize, &mut Vec<(u32, f32)>) + Sync) -> Self {
        struct Piece {
            lengths: Vec<u32>,
            column: Vec<u32>,
            value: Vec<f32>,
        }
        let pieces: Vec<Piece> = (0..rows.div_ceil(ROWS_A_TASK))
            .into_par_iter()
            .map(|piece| {
                let range = piece * ROWS_A_TASK..((piece + 1) * ROWS_A_TASK).min(rows);
                let mut made = Piece {
                    lengths: Vec::with_capacity(range.len()),
                    column: Vec::with_capacity(4 * range.len()),
                    value: Vec::with_capacity(4 * range.len()),
                };
                let mut row_entries = Vec::new();
                for row in range {
                    row_entries.clear();
                    entries(row, &mut row_entries);
                    made.lengths.push(row_entries.len() as u32);
                    made.column.extend(row_entries.iter().map(|e| e.0));
                    made.value.extend(row_entries.iter().map(|e| e.1));
                }
                made
            })
            .collect();
        let count = pieces.iter().map(|piece| piece.column.len()).sum();
        let mut all = Self {
            start: Vec::with_capacity(rows + 1),
            column: Vec::with_capacity(count),
            value: Vec::with_capacity(count),
        };
        all.start.push(0);
        let mut end = 0;
        for piece in pieces {
            for length in piece.lengths {
                end += length;
                all.start.push(end);
            }
            all.column.extend(piece.column);
            all.value.extend(piece.value);
        }
        all
    }

    pub fn entries(&self) -> usize {
        self.column.len()
    }

    #[inline(always)]
    pub fn row(&self, row: usize) -> impl Iterator<Item = (u32, f32)> + '_ {
        let range = self.start[row] as usize..self.start[row + 1] as usize;
        self.column[range.clone()].iter().copied().zip(self.value[range].iter().copied())
    }

    /// A row times a vector.
    #[inline(always)]
    pub fn times(&self, row: usize, x: &[f32]) -> f32 {
        self.row(row).map(|(column, value)| value * x[column as usize]).sum()
    }

    /// Columns as rows.
    pub fn transposed(&self, columns: usize) -> Self {
        let rows = self.start.len() - 1;
        let mut start = vec![0u32; columns + 1];
        self.column.iter().for_each(|c| start[*c as usize + 1] += 1);
        for i in 0..columns {
            start[i + 1] += start[i];
        }
        let mut next = start.clone();
        let mut column = vec![0; self.column.len()];
        let mut value = vec![0.0; self.column.len()];
        for row in 0..rows {
            for (c, v) in self.row(row) {
                let at = &mut next[c as usize];
                column[*at as usize] = row as u32;
                value[*at as usize] = v;
                *at += 1;
            }
        }
        Self { start, column, value }
    }
}

/// Fills a range of a vector, in pieces side by side.
pub(super) fn fill(out: &mut [f32], of: impl Fn(usize) -> f32 + Sync) {
    if out.len() <= ROWS_A_TASK {
        out.iter_mut().enumerate().for_each(|(i, out)| *out = of(i));
        return;
    }
    out.par_chunks_mut(ROWS_A_TASK).enumerate().for_each(|(piece, out)| {
        out.iter_mut().enumerate().for_each(|(i, out)| *out = of(piece * ROWS_A_TASK + i));
    });
}

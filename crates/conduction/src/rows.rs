//! Work over rows, shared between threads in a way that never changes a bit of the result: each row is computed from the
//! same values in the same order, whoever does it.

use std::marker::PhantomData;
use std::ops::Range;

use rayon::prelude::*;

use crate::team;

/// Cells below which a share is not worth a thread.
const LEAST_CELLS: usize = 2_000;
/// Fewest rows of a share: its first two and last two wait for its neighbours.
const LEAST_ROWS: usize = 8;

/// Shares that `rows` of together `cells` are cut into on the threads at hand.
pub(crate) fn shares(rows: usize, cells: usize) -> usize {
    let worth = (cells / LEAST_CELLS).min(rows / LEAST_ROWS).max(1);
    rayon::current_num_threads().min(worth)
}

/// Rows of a share; each begins at an even row.
pub(crate) fn span(rows: usize, count: usize, index: usize) -> Range<usize> {
    let cut = |i: usize| if i == count { rows } else { (rows * i / count) & !1 };
    cut(index)..cut(index + 1)
}

/// A share's rows, and those of them that wait until the neighbours' are ready.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Share {
    pub begin: usize,
    pub end: usize,
    /// Whether another share lies before and behind.
    pub before: bool,
    pub behind: bool,
}

impl Share {
    /// Rows at least `margin` away from other shares.
    pub fn inner(&self, margin: usize) -> Range<usize> {
        let begin = if self.before { self.begin + margin } else { self.begin };
        let end = if self.behind { self.end - margin } else { self.end };
        begin..end.max(begin)
    }

    /// The other rows.
    pub fn outer(&self, margin: usize) -> impl Iterator<Item = usize> + use<> {
        let inner = self.inner(margin);
        (self.begin..inner.start).chain(inner.end..self.end)
    }
}

/// Does the work of each share, with something of its own to work in.
pub(crate) fn each<W: Send + Sync>(works: &mut [W], rows: usize, work: impl Fn(Share, &mut W) + Sync) {
    let count = works.len();
    let share = |index: usize| {
        let span = span(rows, count, index);
        Share { begin: span.start, end: span.end, before: index > 0, behind: index + 1 < count }
    };
    if let [only] = works {
        return work(share(0), only);
    }
    let rooms = Shared::new(works);
    // SAFETY: each share is done once, with a room of its own.
    let one = |index: usize| work(share(index), unsafe { &mut rooms.write(index, 1)[0] });
    if !team::share_out(count, &one) {
        (0..count).into_par_iter().with_max_len(1).for_each(one);
    }
}

/// Does some work with at most `threads` of the solver's threads at once, on threads of its own: for callers that solve
/// several systems side by side. Where no threads can be had, the work is done with those there are.
pub fn on_threads<R: Send>(threads: usize, work: impl FnOnce() -> R + Send) -> R {
    match rayon::ThreadPoolBuilder::new().num_threads(threads.max(1)).build() {
        Ok(pool) => pool.install(work),
        Err(_) => work(),
    }
}

/// Does all of some work on the pool's threads, so that its many short steps need not each be handed over from outside.
pub(crate) fn in_pool<R: Send>(work: impl FnOnce() -> R + Send) -> R {
    rayon::scope(|_| team::lead(work))
}

/// An array whose lines several threads read and write, each at its time.
pub(crate) struct Shared<'a, T> {
    first: *mut T,
    length: usize,
    life: PhantomData<&'a mut [T]>,
}

impl<T> Clone for Shared<'_, T> {
    fn clone(&self) -> Self {
        *self
    }
}
impl<T> Copy for Shared<'_, T> {}

// SAFETY: it is a mutable slice cut into pieces; whoever takes pieces promises that they do not overlap at one time.
unsafe impl<T: Send> Send for Shared<'_, T> {}
// SAFETY: as above.
unsafe impl<T: Send + Sync> Sync for Shared<'_, T> {}

impl<'a, T> Shared<'a, T> {
    pub fn new(values: &'a mut [T]) -> Self {
        Self { first: values.as_mut_ptr(), length: values.len(), life: PhantomData }
    }

    /// A piece to read.
    ///
    /// # Safety
    /// Nobody may write into the piece while it is read.
    #[inline(always)]
    pub unsafe fn read(&self, begin: usize, count: usize) -> &'a [T] {
        assert!(begin <= self.length && count <= self.length - begin);
        // SAFETY: inside the array, which outlives 'a; the caller keeps writers away.
        unsafe { std::slice::from_raw_parts(self.first.add(begin), count) }
    }

    /// A piece to write.
    ///
    /// # Safety
    /// Nobody else may read from the piece or write into it meanwhile.
    #[inline(always)]
    #[allow(clippy::mut_from_ref)] // that is what it is for
    pub unsafe fn write(&self, begin: usize, count: usize) -> &'a mut [T] {
        assert!(begin <= self.length && count <= self.length - begin);
        // SAFETY: inside the array, which outlives 'a; the caller keeps everybody else away.
        unsafe { std::slice::from_raw_parts_mut(self.first.add(begin), count) }
    }
}

#[cfg(test)]
mod tests {
    use super::{Share, each, span};

    #[test]
    fn shares_cover_all_rows_once_and_begin_at_even_ones() {
        for rows in [1, 7, 16, 33, 500] {
            for count in 1..=rows / 8 {
                let mut next = 0;
                for index in 0..count {
                    let part = span(rows, count, index);
                    assert!(part.start == next && part.start & 1 == 0, "{rows} {count} {part:?}");
                    next = part.end;
                }
                assert_eq!(next, rows);
            }
        }
    }

    #[test]
    fn inner_and_outer_rows_make_the_share() {
        let share = Share { begin: 8, end: 20, before: true, behind: false };
        assert_eq!(share.inner(2), 10..20);
        assert_eq!(share.outer(2).collect::<Vec<_>>(), [8, 9]);
        let mut works = [0usize; 3];
        each(&mut works, 31, |share, w| *w = share.end - share.begin);
        assert_eq!(works.iter().sum::<usize>(), 31);
    }
}

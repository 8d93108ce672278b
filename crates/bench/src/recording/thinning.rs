//! Millions of values to the few that a drawing can show, without losing a spike.

use std::ops::Range;

use super::Recording;

/// What falls on one pixel of a drawing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pixel {
    /// Least value.
    pub least: f64,
    /// Largest value.
    pub largest: f64,
    /// First value in time, so that a line can be drawn from pixel to pixel.
    pub first: f64,
    /// Last value in time.
    pub last: f64,
}

impl Recording {
    /// A channel between two times (s from the start), a [`Pixel`] for each of `pixels` equal parts; `None` where no
    /// value falls. Duplicate and backward rows count, since a drawing shows what is there.
    #[must_use]
    pub fn thinned(&self, channel: usize, from_s: f64, to_s: f64, pixels: usize) -> Vec<Option<Pixel>> {
        let mut out = vec![None; pixels];
        let Some(channel) = self.channels.get(channel) else { return out };
        let width = to_s - from_s;
        if width.is_nan() || width <= 0.0 || pixels == 0 {
            return out;
        }
        let rows = self.candidates(from_s, to_s);
        let times = self.times_s.get(rows.clone()).unwrap_or_default();
        let values = channel.values.get(rows).unwrap_or_default();
        let scale = pixels as f64 / width;
        for (time, &value) in times.iter().zip(values) {
            if value.is_nan() || *time < from_s || *time > to_s {
                continue;
            }
            // The last time belongs to the last pixel.
            let at = (((time - from_s) * scale) as usize).min(pixels - 1);
            let Some(pixel) = out.get_mut(at) else { continue };
            *pixel = Some(match *pixel {
                None => Pixel { least: value, largest: value, first: value, last: value },
                Some(old) => Pixel {
                    least: old.least.min(value),
                    largest: old.largest.max(value),
                    first: old.first,
                    last: value,
                },
            });
        }
        out
    }

    /// How many rows lie between two times, s from the first row.
    #[must_use]
    pub fn rows_between(&self, from_s: f64, to_s: f64) -> usize {
        let times = self.times_s.get(self.candidates(from_s, to_s)).unwrap_or_default();
        times.iter().filter(|time| (from_s..=to_s).contains(*time)).count()
    }

    /// Rows among which those between two times are: rising times are searched, others looked through.
    fn candidates(&self, from_s: f64, to_s: f64) -> Range<usize> {
        if !self.marks.backward.is_empty() {
            return 0..self.times_s.len();
        }
        let first = self.times_s.partition_point(|time| *time < from_s);
        let end = self.times_s.partition_point(|time| *time <= to_s);
        first..end.max(first)
    }
}

//! What a run of the bench test recorded: channels over one time, with marks for what is doubtful.
//!
//! Times are seconds from the first row as f64; where the logger wrote dates, the start is kept besides. Every channel
//! takes 8 bytes a row, the times another 8 once, and a mark 16 bytes for each run of rows that share it.

mod held;
mod joining;
mod statistics;
#[cfg(test)]
mod tests;
mod thinning;
mod timing;

use std::borrow::Cow;

use lamp::findings::FindingRemark;

use crate::log::stamp::DateOrder;
use crate::log::unit::Unit;
use crate::log::{Log, Runs};

pub use held::held;
pub use joining::join;
pub use statistics::Statistics;
pub use thinning::Pixel;

/// When a recording began.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Start {
    /// Seconds from 1970-01-01 00:00, by UTC or by the logger's own clock.
    pub seconds: f64,
    /// Whether that is UTC; otherwise the clock's zone is not known.
    pub utc: bool,
}

/// One thing that was recorded.
#[derive(Debug, Clone, PartialEq)]
pub struct Channel {
    /// Name.
    pub name: String,
    /// Unit of the log, where known; the values are in its base (V, A, degC, ohm, W).
    pub unit: Option<Unit>,
    /// One for each row; NaN where nothing was read or the reading was out of the logger's range.
    pub values: Vec<f64>,
    /// Rows whose reading was out of the logger's range.
    pub saturated: Runs,
}

/// What is doubtful about the time of rows.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Marks {
    /// Rows with the time of an earlier row.
    pub duplicate: Runs,
    /// Rows with a time before that of an earlier row.
    pub backward: Runs,
    /// First rows after a gap.
    pub gap: Runs,
}

/// What was recorded.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Recording {
    /// When, where the logger wrote dates and they are understood.
    pub start: Option<Start>,
    /// Time of each row, s from the first row.
    pub times_s: Vec<f64>,
    /// Channels, each with as many values as there are times.
    pub channels: Vec<Channel>,
    /// Rows of doubtful time.
    pub marks: Marks,
    /// Time between two rows as a rule (median of the steps forward), s; `None` with fewer than two times.
    pub step_s: Option<f64>,
    /// Lines of the logs that could not be read.
    pub lost_lines: u64,
}

/// What a bench sheet tells of a log's times.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct TimeRules {
    /// Which of two numbers of a date is the day.
    pub date_order: Option<DateOrder>,
    /// Offset from UTC of stamps without one, s.
    pub utc_offset_s: Option<i32>,
}

impl Recording {
    /// A log's rows on one time. The remarks say what was found about it; with an error there is no recording.
    #[must_use]
    pub fn of(log: Log, rules: TimeRules) -> (Option<Self>, Vec<FindingRemark>) {
        let (timed, mut log, remarks) = timing::timed(log, rules);
        let Some(timed) = timed else { return (None, remarks) };
        let channels = std::mem::take(&mut log.columns)
            .into_iter()
            .map(|column| Channel {
                name: column.name,
                unit: column.unit,
                values: column.values,
                saturated: column.saturated,
            })
            .collect();
        let recording = Self {
            start: timed.start,
            times_s: timed.times_s,
            channels,
            marks: timed.marks,
            step_s: timed.step_s,
            lost_lines: log.lost_lines,
        };
        (Some(recording), remarks)
    }

    /// How many rows.
    #[must_use]
    pub fn rows(&self) -> usize {
        self.times_s.len()
    }

    /// From the first time to the last, s.
    #[must_use]
    pub fn span_s(&self) -> f64 {
        self.times_s.iter().copied().fold(0.0, f64::max)
    }

    /// A channel by its name.
    #[must_use]
    pub fn channel(&self, name: &str) -> Option<&Channel> {
        self.channels.iter().find(|channel| channel.name == name)
    }

    /// Rows with a rising time: times and, of each channel, values. Duplicate and backward rows are left out (the first
    /// of equal times stays); where there are none, nothing is copied.
    #[must_use]
    pub fn rising(&self) -> (Cow<'_, [f64]>, Vec<Cow<'_, [f64]>>) {
        let all = |values: &Vec<f64>| -> Vec<f64> {
            let left_out =
                |row: &usize| self.marks.duplicate.contains(*row) || self.marks.backward.contains(*row);
            values.iter().enumerate().filter(|(row, _)| !left_out(row)).map(|(_, value)| *value).collect()
        };
        if self.marks.duplicate.is_empty() && self.marks.backward.is_empty() {
            let values = self.channels.iter().map(|channel| Cow::Borrowed(&channel.values[..])).collect();
            return (Cow::Borrowed(&self.times_s), values);
        }
        let values = self.channels.iter().map(|channel| Cow::Owned(all(&channel.values))).collect();
        (Cow::Owned(all(&self.times_s)), values)
    }

    /// Memory that the numbers and marks take, bytes.
    #[must_use]
    pub fn bytes(&self) -> usize {
        let numbers = self.times_s.capacity()
            + self.channels.iter().map(|channel| channel.values.capacity()).sum::<usize>();
        let marks = self.marks.duplicate.bytes()
            + self.marks.backward.bytes()
            + self.marks.gap.bytes()
            + self.channels.iter().map(|channel| channel.saturated.bytes()).sum::<usize>();
        numbers * size_of::<f64>() + marks
    }
}

//! The time of a recorded row: the logger's own where it gives one, else that of the receiving clock.

use crate::log::calendar::written;
use crate::log::fields::Fields;
use crate::log::number::number;
use crate::log::stamp::{DateOrder, stamp};
use crate::log::{CountedFrom, Dialect, TimeSource};

/// Least step between the last row before a count began anew and the first one after, s: what a written time tells apart.
const LEAST_STEP_S: f64 = 1e-3;

/// Where the times of the rows come from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TimeFrom {
    /// Date and time of day of the logger.
    Logger,
    /// What the logger counts, from the moment its first row came.
    LoggerCount,
    /// The moment each row came.
    Receiving,
}

impl TimeFrom {
    /// In words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Logger => "the logger's own time",
            Self::LoggerCount => "the logger's own count of time, from when its first row came",
            Self::Receiving => "the time at which each row came, by this machine's clock",
        }
    }
}

/// Reads the times of rows.
#[derive(Debug, Clone)]
pub struct RowClock {
    source: TimeSource,
    order: DateOrder,
    /// Whether the logger's time is used.
    pub from: TimeFrom,
    /// What is added to a count, s; `None` before the first row.
    shift_s: Option<f64>,
    last_count_s: f64,
    last_s: Option<f64>,
    /// How often the count began anew.
    pub restarts: u64,
}

/// The time of a row.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RowTime {
    /// Seconds from 1970-01-01; of the logger's clock where that gives date and time of day without a zone.
    pub seconds: f64,
    /// Whether that is UTC.
    pub utc: bool,
}

impl RowTime {
    /// As it stands in the recorded log: `2026-03-01T12:00:00.25Z`.
    #[must_use]
    pub fn written(self) -> String {
        written(self.seconds).replacen(' ', "T", 1) + if self.utc { "Z" } else { "" }
    }
}

impl RowClock {
    /// For a log that is written so. With open questions about its time, which come from whoever looked at it, the receiving clock
    /// is taken.
    #[must_use]
    pub fn new(dialect: &Dialect, open_questions: bool) -> Self {
        let from = match dialect.time {
            _ if open_questions => TimeFrom::Receiving,
            TimeSource::Stamp { .. } => TimeFrom::Logger,
            TimeSource::Count { from, .. } if from != CountedFrom::Start => TimeFrom::Logger,
            TimeSource::Count { .. } | TimeSource::Clock { .. } => TimeFrom::LoggerCount,
            TimeSource::Rows { .. } => TimeFrom::Receiving,
        };
        Self {
            source: dialect.time,
            order: dialect.date_order.unwrap_or(DateOrder::DayFirst),
            from,
            shift_s: None,
            last_count_s: 0.0,
            last_s: None,
            restarts: 0,
        }
    }

    /// The time of a row that came at `received_s` (seconds from 1970-01-01 UTC); `None` where the logger's time is used and the
    /// row has none, so that it is no row.
    pub fn time(
        &mut self,
        fields: &Fields,
        line: &[u8],
        dialect: &Dialect,
        received_s: f64,
    ) -> Option<RowTime> {
        let time = match self.from {
            TimeFrom::Receiving => RowTime { seconds: received_s, utc: true },
            TimeFrom::Logger => self.logger(fields, line, dialect)?,
            TimeFrom::LoggerCount => {
                let count_s = self.count(fields, line, dialect)?;
                RowTime { seconds: self.counted(count_s, received_s), utc: true }
            }
        };
        self.last_s = Some(time.seconds);
        Some(time)
    }

    /// Moves what is added to a count: the row at hand was recorded at another time than the one that was read.
    pub fn shift_by(&mut self, seconds: f64) {
        if self.from == TimeFrom::LoggerCount && seconds.is_finite() {
            self.shift_s = self.shift_s.map(|shift| shift + seconds);
            self.last_s = self.last_s.map(|last| last + seconds);
        }
    }

    /// Counted rows to come lie behind this time, s: that of the last row of a run that is gone on with.
    pub fn go_on_after(&mut self, last_s: f64) {
        self.last_s = Some(last_s).filter(|last| last.is_finite());
    }

    /// When a row came, but never at or before the last one: a count may have run ahead of the receiving clock.
    fn earliest(&self, received_s: f64) -> f64 {
        self.last_s.map_or(received_s, |last_s| received_s.max(last_s + LEAST_STEP_S))
    }

    fn counted(&mut self, count_s: f64, received_s: f64) -> f64 {
        let shift = match self.shift_s {
            None => self.earliest(received_s) - count_s,
            // A count that falls back began anew; it goes on from when the row came, never before the last one.
            Some(_) if count_s < self.last_count_s => {
                self.restarts += 1;
                self.earliest(received_s) - count_s
            }
            Some(shift) => shift,
        };
        self.shift_s = Some(shift);
        self.last_count_s = count_s;
        count_s + shift
    }

    fn count(&self, fields: &Fields, line: &[u8], dialect: &Dialect) -> Option<f64> {
        match self.source {
            TimeSource::Count { column, unit, .. } => {
                number(fields.get(line, column)?, dialect.decimal).map(|count| unit.to_base(count))
            }
            TimeSource::Clock { column, minutes_first } => {
                let found = stamp(fields.get(line, column)?).filter(|found| found.date.is_none())?;
                let scale = if minutes_first && found.clock_parts == 2 { 1.0 / 60.0 } else { 1.0 };
                Some(found.seconds? * scale)
            }
            _ => None,
        }
        .filter(|seconds| seconds.is_finite() && seconds.abs() < 1e11)
    }

    fn logger(&self, fields: &Fields, line: &[u8], dialect: &Dialect) -> Option<RowTime> {
        let TimeSource::Stamp { date, clock } = self.source else {
            let TimeSource::Count { from, .. } = self.source else { return None };
            let seconds = self.count(fields, line, dialect)? + from.from_1970_s()?;
            return Some(RowTime { seconds, utc: from == CountedFrom::Epoch });
        };
        let mut found = stamp(fields.get(line, date)?)?;
        if let Some(clock) = clock {
            let of_day = stamp(fields.get(line, clock)?)?;
            (found.seconds, found.offset_s) = (of_day.seconds, of_day.offset_s);
        }
        #[expect(clippy::cast_precision_loss, reason = "days of a calendar")]
        let days = found.date?.days(self.order)? as f64;
        let seconds = days * 86_400.0 + found.seconds? - f64::from(found.offset_s.unwrap_or(0));
        Some(RowTime { seconds, utc: found.offset_s.is_some() })
    }
}

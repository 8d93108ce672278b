//! Logs as loggers write them: bytes to columns of numbers with their times, and remarks.
//!
//! A log is opened first: its head shows how it is written ([`Dialect`]), each finding with its evidence. Then it is read,
//! line by line, in one pass; nothing but the columns that are wanted is kept. A line that cannot be read is told and left
//! out; it never costs the log.

pub mod calendar;
mod dialect;
pub mod encoding;
pub mod fields;
pub mod lines;
pub mod number;
mod reading;
mod runs;
pub mod sniff;
pub mod stamp;
mod tally;
#[cfg(test)]
mod tests;
pub mod unit;
pub mod zone;

use std::io::{self, Read};

use lamp::findings::FindingRemark;

pub use dialect::{ColumnHead, ColumnKind, CountedFrom, Detection, Dialect, TimeSource, Told};
pub use reading::{Log, LogColumn, Wanted};
pub use runs::Runs;

use encoding::{Decoded, Encoding};

/// Bytes of a log's head that are looked at before it is read.
pub const HEAD_BYTES: usize = 256 << 10;

/// Most numbers that are kept of one log, times included; 8 bytes each.
pub const MAX_NUMBERS: usize = 400_000_000;

/// A log whose head was looked at.
pub struct Opened<R> {
    /// Name of the file, for remarks.
    file: String,
    inner: Decoded<io::Chain<io::Cursor<Vec<u8>>, R>>,
    /// Bytes of the head, decoded; they come first.
    head: Vec<u8>,
    terminator: u8,
    /// Size of the file, where known, and bytes of the head before decoding.
    size: Option<u64>,
    told: Told,
    /// How it is written; `None` where no rows of values were found.
    pub dialect: Option<Dialect>,
    /// What was noticed so far. An error stands against reading it.
    pub remarks: Vec<FindingRemark>,
}

/// Opens a log: reads its head and finds out how it is written. `size` is that of the file in bytes, where known, and
/// saves memory while it is read.
///
/// # Errors
///
/// When its first bytes cannot be read.
pub fn open<R: Read>(file: &str, mut source: R, size: Option<u64>, told: &Told) -> io::Result<Opened<R>> {
    let mut raw = Vec::new();
    source.by_ref().take(HEAD_BYTES as u64).read_to_end(&mut raw)?;
    let (encoding, evidence, mark) = Encoding::of(&raw);
    let rest = raw.split_off(mark);
    let mut inner = Decoded::new(io::Cursor::new(rest).chain(source), encoding);
    // What was decoded of the head comes first when lines are read.
    let mut head = Vec::new();
    inner.by_ref().take(HEAD_BYTES as u64 - mark as u64).read_to_end(&mut head)?;
    let terminator = lines::terminator(&head);
    let found = sniff::sniff(&head, terminator, (encoding, evidence), told);
    let remark = |severity, text| FindingRemark {
        severity,
        file: Some(file.to_owned()),
        line: None,
        column: None,
        text,
    };
    let mut remarks: Vec<FindingRemark> =
        found.questions.into_iter().map(|text| remark("error", text)).collect();
    remarks.extend(found.warnings.into_iter().map(|text| remark("warning", text)));
    Ok(Opened {
        file: file.to_owned(),
        inner,
        head,
        terminator,
        size,
        told: told.clone(),
        dialect: found.dialect,
        remarks,
    })
}

//! Collects the remarks on one file, and keeps a file of nonsense from drowning the reader.

use crate::remark::{Remark, Severity};

/// Remarks of each severity that are written out in full; the rest are counted.
const IN_FULL: usize = 100;

/// The remarks on one file.
#[derive(Debug, Clone, Default)]
pub(crate) struct Gathering {
    file: String,
    remarks: Vec<Remark>,
    counts: [usize; 3],
}

impl Gathering {
    pub(crate) fn new(file: &str) -> Self {
        Self { file: file.to_owned(), ..Self::default() }
    }

    pub(crate) fn at(&mut self, severity: Severity, line: u32, text: impl Into<String>) {
        if self.admits(severity) {
            self.remarks.push(Remark::at(severity, &*self.file, line, text));
        }
    }

    pub(crate) fn about(&mut self, severity: Severity, text: impl Into<String>) {
        if self.admits(severity) {
            self.remarks.push(Remark::about(severity, &*self.file, text));
        }
    }

    pub(crate) fn note(&mut self, line: u32, text: impl Into<String>) {
        self.at(Severity::Note, line, text);
    }

    pub(crate) fn warn(&mut self, line: u32, text: impl Into<String>) {
        self.at(Severity::Warning, line, text);
    }

    pub(crate) fn error(&mut self, line: u32, text: impl Into<String>) {
        self.at(Severity::Error, line, text);
    }

    fn admits(&mut self, severity: Severity) -> bool {
        let count = &mut self.counts[severity as usize];
        *count += 1;
        *count <= IN_FULL
    }

    /// The remarks in order of line, those about the whole file first, what was only counted last.
    pub(crate) fn finish(mut self) -> Vec<Remark> {
        self.remarks.sort_by_key(|r| r.line);
        for (severity, count) in
            [Severity::Note, Severity::Warning, Severity::Error].into_iter().zip(self.counts)
        {
            if count > IN_FULL {
                let text = format!("{} more remarks of this kind ({})", count - IN_FULL, severity.word());
                self.remarks.push(Remark::about(severity, &*self.file, text));
            }
        }
        self.remarks
    }
}

/// A short, printable quotation of what was read.
pub(crate) fn quoted(text: &str) -> String {
    let mut shown: String = text.chars().take(40).map(|c| if c.is_control() { '?' } else { c }).collect();
    if text.chars().count() > 40 {
        shown.push_str("...");
    }
    format!("'{shown}'")
}

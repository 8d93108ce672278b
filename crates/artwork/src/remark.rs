//! What a reader has to say about a file: where, how grave, what was read and what is allowed.

use std::fmt;

/// How grave a remark is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// Something worth knowing; nothing was lost.
    Note,
    /// Something was guessed, repaired or deprecated; the result may differ from what was meant.
    Warning,
    /// Something could not be understood and is missing from the result.
    Error,
}

impl Severity {
    /// The word printed before the text: `note`, `warning` or `error`.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Note => "note",
            Self::Warning => "warning",
            Self::Error => "error",
        }
    }
}

/// One remark about one place in one file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Remark {
    /// How grave it is.
    pub severity: Severity,
    /// File name as it was given to the reader; empty when the remark is about no single file.
    pub file: String,
    /// Line number counted from 1 (LF, CR LF and a lone CR each end a line), where one is known.
    pub line: Option<u32>,
    /// What was found, what is allowed, and what was done about it, in one or two sentences.
    pub text: String,
}

impl Remark {
    /// A remark about a line of a file.
    pub fn at(severity: Severity, file: impl Into<String>, line: u32, text: impl Into<String>) -> Self {
        Self { severity, file: file.into(), line: Some(line), text: text.into() }
    }

    /// A remark about a file as a whole.
    pub fn about(severity: Severity, file: impl Into<String>, text: impl Into<String>) -> Self {
        Self { severity, file: file.into(), line: None, text: text.into() }
    }
}

impl fmt::Display for Remark {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match (self.file.is_empty(), self.line) {
            (true, _) => write!(f, "{}: {}", self.severity.word(), self.text),
            (false, None) => write!(f, "{}: {}: {}", self.file, self.severity.word(), self.text),
            (false, Some(line)) => write!(f, "{}:{line}: {}: {}", self.file, self.severity.word(), self.text),
        }
    }
}

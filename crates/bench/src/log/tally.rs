//! Troubles of a log, told once a kind: the first place in full, the others by their number.

use lamp::findings::FindingRemark;

/// What may be wrong with a line or a cell.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Trouble {
    /// A line whose time cannot be read.
    NoTime,
    /// Another zone name that does not tell its offset.
    OtherZone,
    /// A cell that is no number.
    NoNumber,
    /// A cell whose own unit measures something else.
    OtherUnit,
    /// A line with too few fields.
    Short,
    /// A line with too many fields.
    Long,
    /// A quote that is not closed.
    OpenQuote,
    /// A line too long to be one.
    TooLong,
    /// The header again.
    HeaderAgain,
    /// Another header.
    NewHeader,
    /// A last line that was cut off.
    CutOff,
}

impl Trouble {
    fn severity(self) -> &'static str {
        match self {
            Self::HeaderAgain | Self::CutOff => "note",
            _ => "warning",
        }
    }
}

#[derive(Debug)]
struct Told {
    trouble: Trouble,
    /// A kind is told for each column by itself.
    column: usize,
    count: u64,
    line: u64,
    at: u32,
    text: String,
    last_line: u64,
}

/// Most kinds and columns that are kept.
const MOST: usize = 200;

/// All troubles of a log.
#[derive(Debug, Default)]
pub struct Tally(Vec<Told>);

impl Tally {
    /// Counts a trouble; `text` is asked for only at its first place.
    pub fn count(
        &mut self,
        trouble: Trouble,
        column: usize,
        line: u64,
        at: u32,
        text: impl FnOnce() -> String,
    ) {
        let full = self.0.len() >= MOST;
        match self.0.iter_mut().find(|told| told.trouble == trouble && told.column == column) {
            Some(told) => {
                told.count += 1;
                told.last_line = line;
            }
            None if !full => {
                self.0.push(Told { trouble, column, count: 1, line, at, text: text(), last_line: line });
            }
            None => {}
        }
    }

    /// As remarks on a file, in the order of their first places.
    #[must_use]
    pub fn remarks(&self, file: &str) -> Vec<FindingRemark> {
        let mut all: Vec<&Told> = self.0.iter().collect();
        all.sort_by_key(|told| (told.line, told.at));
        all.into_iter()
            .map(|told| {
                let more = match told.count {
                    1 => String::new(),
                    2 => format!(" (and once more, line {})", told.last_line),
                    count => format!(" (and {} times more, the last in line {})", count - 1, told.last_line),
                };
                FindingRemark {
                    severity: told.trouble.severity(),
                    file: Some(file.to_owned()),
                    line: u32::try_from(told.line).ok(),
                    column: Some(told.at).filter(|at| *at > 0),
                    text: format!("{}{more}", told.text),
                }
            })
            .collect()
    }
}

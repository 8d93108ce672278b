//! Plain text laid out for a terminal: paragraphs, headings and columns.

use std::fmt::Write;

use anstyle::Style;
use unicode_width::UnicodeWidthStr;

/// Text that carries weight.
#[must_use]
pub fn bold(text: &str) -> String {
    let style = Style::new().bold();
    format!("{style}{text}{style:#}")
}

/// Text that stands back.
#[must_use]
pub fn faint(text: &str) -> String {
    let style = Style::new().dimmed();
    format!("{style}{text}{style:#}")
}

/// A heading on a line of its own, with an empty line before it.
#[must_use]
pub fn heading(text: &str) -> String {
    format!("\n{}\n", bold(text))
}

/// With a full stop at its end.
#[must_use]
pub fn sentence(text: &str) -> String {
    if text.ends_with('.') { text.to_owned() } else { format!("{text}.") }
}

/// With a capital at its beginning; not for what begins with a name.
#[must_use]
pub fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}

/// Words filled into lines of at most `width` characters; lines after the first begin with `indent` spaces.
#[must_use]
pub fn paragraph(text: &str, width: usize, indent: usize) -> String {
    let mut out = String::new();
    let mut column = 0;
    for word in text.split_whitespace() {
        let long = word.width();
        if column > 0 && column + 1 + long > width {
            out.push('\n');
            out.extend(std::iter::repeat_n(' ', indent));
            column = indent;
        } else if column > 0 {
            out.push(' ');
            column += 1;
        }
        out.push_str(word);
        column += long;
    }
    out.push('\n');
    out
}

/// Which side of its column a text keeps to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Align {
    /// Words.
    Left,
    /// Numbers.
    Right,
}

/// A table: a heading and a unit over each column, numbers flush right, no rules but one under the headings.
#[derive(Debug, Clone, Default)]
pub struct Columns {
    heads: Vec<(String, String, Align)>,
    rows: Vec<Vec<String>>,
}

impl Columns {
    /// A table without rows yet.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds a column.
    pub fn column(&mut self, head: impl Into<String>, unit: impl Into<String>, align: Align) {
        self.heads.push((head.into(), unit.into(), align));
    }

    /// Adds a row; missing cells stay empty.
    pub fn row(&mut self, cells: Vec<String>) {
        self.rows.push(cells);
    }

    /// The table as text; as a list of rows where it is wider than `width`.
    #[must_use]
    pub fn text(&self, width: usize) -> String {
        let widths = self.widths();
        let whole: usize = widths.iter().map(|wide| wide + 2).sum();
        if whole > width { self.as_list(width) } else { self.as_table(&widths, whole) }
    }

    fn widths(&self) -> Vec<usize> {
        let cell = |row: &Vec<String>, at: usize| row.get(at).map_or(0, |cell| cell.width());
        self.heads
            .iter()
            .enumerate()
            .map(|(at, (head, unit, _))| {
                let widest = self.rows.iter().map(|row| cell(row, at)).max().unwrap_or(0);
                widest.max(head.width()).max(unit.width())
            })
            .collect()
    }

    fn as_table(&self, widths: &[usize], whole: usize) -> String {
        let aligns: Vec<Align> = self.heads.iter().map(|(_, _, align)| *align).collect();
        let line = |cells: Vec<&str>| {
            let mut out = String::new();
            for ((cell, wide), align) in cells.iter().zip(widths).zip(&aligns) {
                let space = " ".repeat(wide.saturating_sub(cell.width()));
                let (before, after) =
                    if *align == Align::Right { (space.as_str(), "") } else { ("", space.as_str()) };
                let _ = write!(out, "  {before}{cell}{after}");
            }
            out.trim_end().to_owned() + "\n"
        };
        let mut out = line(self.heads.iter().map(|(head, _, _)| head.as_str()).collect());
        if self.heads.iter().any(|(_, unit, _)| !unit.is_empty()) {
            out += &faint(&line(self.heads.iter().map(|(_, unit, _)| unit.as_str()).collect()));
        }
        out += &faint(&format!("  {}\n", "-".repeat(whole.saturating_sub(2))));
        for row in &self.rows {
            out += &line(row.iter().map(String::as_str).collect());
        }
        out
    }

    fn as_list(&self, width: usize) -> String {
        let mut out = String::new();
        for row in &self.rows {
            let cells = self.heads.iter().zip(row).filter(|(_, cell)| !cell.is_empty());
            let said: Vec<String> = cells
                .map(|((head, unit, align), cell)| match align {
                    Align::Left => format!("{head} {unit} {cell}").trim().to_owned(),
                    Align::Right => format!("{head} {cell} {unit}").trim().to_owned(),
                })
                .collect();
            out += "  ";
            out += &paragraph(&said.join(", "), width.saturating_sub(2), 4);
        }
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plain(text: &str) -> String {
        anstream::adapter::strip_str(text).to_string()
    }

    #[test]
    fn no_line_of_a_paragraph_is_wider_than_asked() {
        let text = "one two three four five six seven eight nine ten eleven twelve";
        let filled = paragraph(text, 20, 4);
        assert!(filled.lines().all(|line| line.width() <= 20), "{filled}");
        assert_eq!(
            filled.split_whitespace().collect::<Vec<_>>(),
            text.split_whitespace().collect::<Vec<_>>()
        );
    }

    #[test]
    fn numbers_stand_flush_right_and_words_flush_left() {
        let mut table = Columns::new();
        table.column("what", "", Align::Left);
        table.column("heat", "W", Align::Right);
        table.row(vec!["a".into(), "1.5".into()]);
        table.row(vec!["longer".into(), "26.0".into()]);
        assert_eq!(
            plain(&table.text(80)),
            "  what    heat\n             W\n  ------------\n  a        1.5\n  longer  26.0\n"
        );
    }

    #[test]
    fn a_table_too_wide_becomes_a_list() {
        let mut table = Columns::new();
        table.column("current", "A", Align::Right);
        table.column("the hottest junction of all", "degC", Align::Right);
        table.row(vec!["1.05".into(), "78.3".into()]);
        assert_eq!(plain(&table.text(34)), "  current 1.05 A, the hottest\n    junction of all 78.3 degC\n");
    }
}

//! Delimiter, preamble, header rows: from the lines of a log's head.

use super::looks::{Look, look};
use crate::log::fields::{Delimiter, Fields};
use crate::log::number::trimmed;
use crate::log::unit::unit_named;

/// A line of the head that is not blank.
#[derive(Debug, Clone, Copy)]
pub struct HeadLine<'a> {
    /// From 1.
    pub number: u64,
    /// Without its end.
    pub bytes: &'a [u8],
}

/// Lines as they fall apart with a delimiter.
#[derive(Debug)]
pub struct Layout {
    /// The delimiter.
    pub delimiter: Delimiter,
    /// Fields of a row.
    pub fields: usize,
    /// Part of the lines that are rows, times how much of them are values.
    score: f64,
    /// How many lines are rows.
    rows: usize,
    /// Index of the first row of values among the head's lines.
    pub first: usize,
    /// Index of the line of names.
    pub names: Option<usize>,
    /// Index of the line of units.
    pub units: Option<usize>,
}

/// Part of a row's fields that must be values.
const VALUES_IN_A_ROW: f64 = 0.6;

/// The layout of a head, evidence for the delimiter, and whether it leaves a doubt.
pub fn layout(lines: &[HeadLine<'_>], told: Option<Delimiter>) -> Option<(Layout, String, bool)> {
    if let Some(delimiter) = told {
        let layout = with(lines, delimiter)?;
        return Some((layout, "told by the bench sheet".to_owned(), true));
    }
    let candidates = [
        Delimiter::Byte(b'\t'),
        Delimiter::Byte(b';'),
        Delimiter::Byte(b'|'),
        Delimiter::Byte(b','),
        Delimiter::Blanks,
    ];
    let found: Vec<Layout> = candidates.into_iter().filter_map(|delimiter| with(lines, delimiter)).collect();
    let best = found.iter().map(|layout| layout.score).fold(0.0, f64::max);
    if best < 0.1 {
        let layout = with(lines, Delimiter::Whole)?;
        let evidence = format!("{} of {} lines are one number each", layout.rows, lines.len());
        return Some((layout, evidence, true));
    }
    let near = |layout: &&Layout| layout.score >= 0.9 * best;
    // Blanks within stamps split as well as any delimiter does.
    let rivals: Vec<String> = found
        .iter()
        .filter(near)
        .skip(1)
        .filter(|layout| layout.delimiter != Delimiter::Blanks)
        .map(|layout| layout.delimiter.word())
        .collect();
    let chosen = found.iter().position(|layout| near(&layout))?;
    let layout = found.into_iter().nth(chosen)?;
    let mut evidence = format!(
        "{} of {} lines fall into {} fields of values with it",
        layout.rows,
        lines.len(),
        layout.fields
    );
    if !rivals.is_empty() {
        evidence += &format!("; {} would do as well", rivals.join(" and "));
    }
    Some((layout, evidence, rivals.is_empty()))
}

/// A line with its looks.
fn looks(line: &[u8], delimiter: Delimiter, fields: &mut Fields) -> Vec<Look> {
    fields.split(line, delimiter);
    fields.iter(line).map(look).collect()
}

fn is_row(looks: &[Look]) -> bool {
    let values = looks.iter().filter(|look| look.is_value()).count();
    looks.iter().any(|look| look.is_solid()) && values as f64 >= VALUES_IN_A_ROW * looks.len() as f64
}

fn with(lines: &[HeadLine<'_>], delimiter: Delimiter) -> Option<Layout> {
    let mut fields = Fields::default();
    let all: Vec<Vec<Look>> = lines.iter().map(|line| looks(line.bytes, delimiter, &mut fields)).collect();
    let least = if delimiter == Delimiter::Whole { 1 } else { 2 };
    // The commonest number of fields among rows; of equals the larger.
    let mut counts: Vec<(usize, usize)> = Vec::new();
    for row in all.iter().filter(|looks| looks.len() >= least && is_row(looks)) {
        match counts.iter_mut().find(|(fields, _)| *fields == row.len()) {
            Some((_, count)) => *count += 1,
            None => counts.push((row.len(), 1)),
        }
    }
    let (count, _) = counts.into_iter().max_by_key(|(fields, count)| (*count, *fields))?;
    let row = |looks: &Vec<Look>| looks.len() == count && is_row(looks);
    let rows = all.iter().filter(|looks| row(looks)).count();
    let values: usize =
        all.iter().filter(|looks| row(looks)).flatten().filter(|look| look.is_value()).count();
    let score = values as f64 / (count * lines.len()).max(1) as f64;
    // Rows begin where most of what follows is rows too.
    let mut first = (0..all.len()).find(|at| {
        let next = all.get(*at..(at + 5).min(all.len())).unwrap_or_default();
        all.get(*at).is_some_and(row) && next.iter().filter(|looks| row(looks)).count() * 5 >= next.len() * 3
    })?;
    // A row of names may pass for values where most names are numbers.
    for _ in 0..3 {
        let names = all.get(first).is_some_and(|looks| {
            looks.iter().enumerate().any(|(column, look)| {
                *look == Look::Text && {
                    let below =
                        all.iter().skip(first + 1).filter(|looks| row(looks)).filter_map(|l| l.get(column));
                    let (solid, text) = below.fold((0, 0), |(solid, text), look| {
                        (solid + usize::from(look.is_solid()), text + usize::from(*look == Look::Text))
                    });
                    solid > 0 && solid > 4 * text
                }
            })
        });
        let next = (first + 1..all.len()).find(|at| all.get(*at).is_some_and(row));
        match next {
            Some(next) if names => first = next,
            _ => break,
        }
    }
    let (names, units) = header(lines, delimiter, count, first);
    // A delimiter at the end of every line makes no field, unless it has a name.
    let named = names.and_then(|at| lines.get(at)).map(|line| header_cells(line.bytes, delimiter).len());
    let last_is_empty = all.iter().filter(|looks| row(looks)).all(|looks| looks.last() == Some(&Look::Empty));
    let count = if last_is_empty && count > least && named.is_none_or(|named| named < count) {
        count - 1
    } else {
        count
    };
    Some(Layout { delimiter, fields: count, score, rows, first, names, units })
}

/// The line of names and the line of units above the first row.
fn header(
    lines: &[HeadLine<'_>],
    delimiter: Delimiter,
    count: usize,
    first: usize,
) -> (Option<usize>, Option<usize>) {
    let cells = |at: usize| -> Vec<Vec<u8>> {
        lines.get(at).map_or_else(Vec::new, |line| header_cells(line.bytes, delimiter))
    };
    let fits = |cells: &[Vec<u8>]| {
        let full = cells.iter().filter(|cell| !cell.is_empty()).count();
        // Commas between fields and in numbers make twice as many fields as names; that is told later.
        let doubled =
            delimiter == Delimiter::Byte(b',') && (cells.len() * 2 == count || cells.len() * 2 == count + 1);
        full > 0
            && (cells.len() + 1 >= count || doubled)
            && (count == 1 || cells.len() > 1)
            && cells.len() <= 2 * count
    };
    let ruled =
        |cells: &[Vec<u8>]| cells.iter().flatten().all(|b| matches!(b, b'-' | b'=' | b'_' | b'+' | b' '));
    let mut above = (0..first).rev().skip_while(|at| ruled(&cells(*at)));
    let Some(near) = above.next().filter(|at| fits(&cells(*at))) else { return (None, None) };
    if !is_units(&cells(near)) {
        return (Some(near), None);
    }
    match above.next().filter(|at| fits(&cells(*at))) {
        Some(names) => (Some(names), Some(near)),
        None => (Some(near), None),
    }
}

/// Cells of a header line, its comment mark left out.
pub fn header_cells(line: &[u8], delimiter: Delimiter) -> Vec<Vec<u8>> {
    let mut line = trimmed_end(line);
    while let Some(rest) = [&b"#"[..], b"%", b"!", b"//"].iter().find_map(|mark| line.strip_prefix(*mark)) {
        line = rest;
    }
    if delimiter == Delimiter::Blanks {
        line = trimmed(line);
    }
    let mut fields = Fields::default();
    fields.split(line, delimiter);
    let mut cells: Vec<Vec<u8>> = fields.iter(line).map(<[u8]>::to_vec).collect();
    if cells.len() > 2 && cells.last().is_some_and(Vec::is_empty) {
        cells.pop();
    }
    cells
}

fn trimmed_end(line: &[u8]) -> &[u8] {
    let end = line.iter().rposition(|b| !matches!(b, b' ' | b'\r')).map_or(0, |last| last + 1);
    line.get(..end).unwrap_or_default()
}

/// Whether most cells name units.
fn is_units(cells: &[Vec<u8>]) -> bool {
    let full: Vec<&Vec<u8>> = cells.iter().filter(|cell| !cell.is_empty()).collect();
    let unit = |cell: &&&Vec<u8>| {
        let text = String::from_utf8(cell.to_vec())
            .unwrap_or_else(|_| cell.iter().map(|b| char::from(*b)).collect());
        let bracketed = text.starts_with(['[', '(']) && text.ends_with([']', ')']);
        let time = matches!(text.as_str(), "hh:mm:ss" | "h:m:s" | "mm:ss" | "date" | "time" | "-");
        bracketed || time || unit_named(&text).is_some()
    };
    2 * full.iter().filter(unit).count() > full.len()
}

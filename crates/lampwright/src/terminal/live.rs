//! A run while it is recorded: on a terminal a few lines that are drawn anew, elsewhere a line now and then.

use std::io::{IsTerminal, Write};
use std::time::{Duration, Instant};

use super::text::{bold, faint};
use super::{Console, paragraph};
use crate::commands::record::shown::{Course, Point, Shown};
use crate::commands::record::{PlateauSeen, Recorded};

/// Without a terminal, a line so often.
const LINE_EVERY: Duration = Duration::from_secs(10);
/// Height of the chart, lines.
const CHART_LINES: usize = 8;
/// Time that the chart shows, s.
const CHART_S: f64 = 900.0;
/// Smallest range of the chart, K.
const CHART_K: f64 = 2.0;

/// The lines.
pub struct LiveScreen<'a> {
    console: &'a Console,
    terminal: bool,
    drawn: usize,
    last_line: Option<Instant>,
    last_plateau: usize,
}

/// Inverse and bold.
fn loud(text: &str) -> String {
    format!("\u{1b}[1;7m {text} \u{1b}[0m")
}

impl<'a> LiveScreen<'a> {
    /// On standard error.
    pub fn new(console: &'a Console) -> Self {
        let terminal = std::io::stderr().is_terminal();
        Self { console, terminal, drawn: 0, last_line: None, last_plateau: 0 }
    }

    /// Says something that stays.
    pub fn notice(&mut self, text: &str, is_loud: bool) {
        self.clear();
        if is_loud {
            for line in paragraph(text, self.console.width().saturating_sub(2), 0).lines() {
                self.put(&format!("{}\n", loud(line)));
            }
            if self.terminal {
                self.put("\u{7}");
            }
        } else {
            self.put(&paragraph(&format!("note: {text}"), self.console.width(), 4));
        }
    }

    /// Shows how things are.
    pub fn show(&mut self, shown: &Shown, course: &Course) {
        if !self.terminal {
            return self.line_now_and_then(shown);
        }
        let width = self.console.width();
        let mut lines: Vec<String> = Vec::new();
        for text in [&shown.alarm, &shown.trouble].into_iter().flatten() {
            lines.extend(paragraph(text, width.saturating_sub(2), 0).lines().map(loud));
        }
        lines.extend(paragraph(&shown.answer, width, 0).lines().map(bold));
        lines.extend(chart(course.points(), width, shown.abort.as_ref().map(|abort| abort.above_c)));
        lines.extend(paragraph(&figures(shown), width, 0).lines().map(faint));
        self.clear();
        let text = lines.join("\n") + "\n";
        self.drawn = lines.len();
        self.put(&text);
    }

    fn line_now_and_then(&mut self, shown: &Shown) {
        let due = self.last_line.is_none_or(|last| last.elapsed() >= LINE_EVERY);
        if shown.samples == 0 || !(due || shown.plateau != self.last_plateau) {
            return;
        }
        self.last_line = Some(Instant::now());
        self.last_plateau = shown.plateau;
        if let Some(alarm) = &shown.alarm {
            self.put(&format!("{alarm}\n"));
        }
        self.put(&format!("{} {} samples.\n", shown.answer, shown.samples));
    }

    /// Ends the drawing; what stands there last stays.
    pub fn end(&mut self) {
        self.drawn = 0;
    }

    fn clear(&mut self) {
        if self.drawn > 0 {
            let up = format!("\u{1b}[{}A\r\u{1b}[J", self.drawn);
            self.drawn = 0;
            self.put(&up);
        }
    }

    fn put(&self, text: &str) {
        if self.terminal {
            let mut out = std::io::stderr().lock();
            // Nobody is left to tell when this fails.
            let _ = out.write_all(text.as_bytes()).and_then(|()| out.flush());
        } else {
            self.console.aside(text);
        }
    }
}

/// The numbers under the chart.
fn figures(shown: &Shown) -> String {
    let number = |value: Option<f64>, digits: usize, unit: &str, name: &str| {
        value.map(|value| format!("{name} {value:.digits$} {unit}"))
    };
    let parts = [
        number(shown.drive_a, 3, "A", "current"),
        number(shown.sensor_c, 2, "degC", "board sensor"),
        number(shown.ambient_c, 2, "degC", "room"),
        number(shown.rise_k, 2, "K", "rise"),
        number(shown.slope_k_per_min, 2, "K/min", "slope"),
        Some(format!("{} samples in {}", shown.samples, shown.log)),
        Some("Ctrl+C ends".to_owned()),
    ];
    format!("{}. {}", parts.into_iter().flatten().collect::<Vec<_>>().join(", "), shown.abort_words)
}

/// The board sensor over the last minutes: dots, degC at the left, the abort point as a line of dashes where it is in range.
fn chart(points: &[Point], width: usize, abort_c: Option<f64>) -> Vec<String> {
    let known: Vec<(f64, f64)> =
        points.iter().filter_map(|point| Some((point.time_s, point.sensor_c?))).collect();
    let Some((last_s, _)) = known.last().copied() else { return Vec::new() };
    let known: Vec<(f64, f64)> = known.into_iter().filter(|(time_s, _)| last_s - time_s <= CHART_S).collect();
    let span_s = known.first().map_or(0.0, |(first_s, _)| last_s - first_s).max(10.0);
    let (low, high) = known
        .iter()
        .fold((f64::MAX, f64::MIN), |(low, high), (_, celsius)| (low.min(*celsius), high.max(*celsius)));
    let middle = 0.5 * (low + high);
    let half = (0.5 * (high - low)).max(0.5 * CHART_K) * 1.05;
    let columns = width.saturating_sub(9).max(10);
    let mut cells = vec![vec![' '; columns]; CHART_LINES];
    let row = |celsius: f64| ((middle + half - celsius) / (2.0 * half) * (CHART_LINES as f64 - 1.0)).round();
    if let Some(at) = abort_c.map(row).filter(|at| (0.0..CHART_LINES as f64).contains(at))
        && let Some(line) = cells.get_mut(at as usize)
    {
        line.fill('-');
    }
    for (time_s, celsius) in &known {
        let column = (1.0 - (last_s - time_s) / span_s) * (columns as f64 - 1.0);
        if let Some(cell) =
            cells.get_mut(row(*celsius).max(0.0) as usize).and_then(|line| line.get_mut(column as usize))
        {
            *cell = '*';
        }
    }
    let mut lines: Vec<String> = cells
        .into_iter()
        .enumerate()
        .map(|(at, line)| {
            let label = match at {
                at if at == 0 || at == CHART_LINES - 1 || at == CHART_LINES / 2 => {
                    let value = middle + half - 2.0 * half * at as f64 / (CHART_LINES as f64 - 1.0);
                    format!("{value:6.1} |")
                }
                _ => "       |".to_owned(),
            };
            label + line.iter().collect::<String>().trim_end()
        })
        .collect();
    let ago =
        if span_s < 120.0 { format!("{span_s:.0} s ago") } else { format!("{:.0} min ago", span_s / 60.0) };
    let gap = columns.saturating_sub(ago.len() + 3);
    lines.push(format!("  degC  {ago}{}now", " ".repeat(gap)));
    lines
}

/// What is said at the end.
pub fn recorded(found: &Recorded, width: usize) -> String {
    let first = match (found.samples_lost, found.samples_written) {
        (0, written) => format!("{written} samples are in {}, none is lost.", found.log),
        (lost, written) => format!("{written} samples are in {}, {lost} ARE LOST.", found.log),
    };
    let mut out = bold(&paragraph(&format!("{first} Ended: {}.", found.ended_by), width, 0));
    if found.ended_above_abort {
        let text = "The last reading was above the abort point. Switch the drive current off by hand; this program switches nothing.";
        for line in paragraph(text, width.saturating_sub(2), 0).lines() {
            out += &(loud(line) + "\n");
        }
    }
    for seen in &found.plateaus {
        out += &paragraph(&plateau(seen), width, 4);
    }
    if found.lines_left_out > 0 {
        out += &paragraph(
            &format!("{} lines held no sample and were left out.", found.lines_left_out),
            width,
            0,
        );
    }
    if found.samples_written > 0 {
        let next = format!(
            "The bench sheet is {}; `lampwright bench LAMP {}` evaluates the run. The same command with the same RUN goes on with it.",
            found.sheet, found.run
        );
        out += &paragraph(&next, width, 0);
    }
    out
}

fn plateau(seen: &PlateauSeen) -> String {
    let current = seen.drive_current_a.map_or(String::new(), |current| format!(" at {current:.3} A"));
    let head = format!("Plateau {}{current}, held {:.1} min", seen.plateau, seen.held_s / 60.0);
    let rest = match (seen.settled_c, seen.settled_interval_c, seen.minutes_more) {
        (Some(settled), Some([low, high]), Some(more)) => {
            let end = if more == 0.0 {
                "settled".to_owned()
            } else {
                format!("not settled, about {more:.0} min more")
            };
            format!("{end}, {settled:.1} degC (95 %: {low:.1} to {high:.1})")
        }
        _ => "too short to say what it settles to".to_owned(),
    };
    format!("{head}: {rest}.")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_chart_rises_from_left_to_right_between_its_labels() {
        let point = |k: u32| Point {
            time_s: f64::from(k),
            sensor_c: Some(20.0 + f64::from(k) / 10.0),
            ambient_c: None,
            drive_a: None,
        };
        let points: Vec<Point> = (0..=300).map(point).collect();
        let lines = chart(&points, 60, Some(40.0));
        assert_eq!(lines.len(), CHART_LINES + 1);
        let place = |line: &str| line.chars().skip(8).collect::<String>().find('*');
        assert!(place(&lines[0]) > place(&lines[CHART_LINES - 1]), "{lines:#?}");
        assert!(
            lines[0].starts_with("  50.8 |") && lines[CHART_LINES - 1].starts_with("  19.2 |"),
            "{lines:#?}"
        );
        assert!(lines.iter().any(|line| line.contains("---")), "{lines:#?}");
        assert!(lines.iter().all(|line| line.chars().count() <= 60), "{lines:#?}");
        assert!(chart(&[], 60, None).is_empty());
    }
}

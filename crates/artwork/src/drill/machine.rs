//! Runs the commands of a drill program and notes every hole and slot it makes.

use super::arc::{Position, centre_by_radius, chords};
use super::command::{Command, Mode, Placed, Words};
use super::number::{DigitFormat, Number, Unit};
use super::{Hit, Slot, Tool};
use crate::gathering::Gathering;
use crate::shape::{LIMIT_NM, Point};

/// Most holes and slot corners of one file; a repeat that would go beyond is cut off and told.
const MOST_FEATURES: usize = 500_000;

/// What a program makes.
#[derive(Debug, Clone, Default)]
pub(crate) struct Made {
    pub(crate) tools: Vec<Tool>,
    pub(crate) hits: Vec<Hit>,
    pub(crate) slots: Vec<Slot>,
}

/// How the digits of coordinates are to be read.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Start {
    /// The format until the program says otherwise.
    pub(crate) format: DigitFormat,
    /// Whether the program's own words about the digits and zeros are to be ignored.
    pub(crate) forced: bool,
}

/// Runs a program.
pub(crate) fn run(commands: &[Placed], start: Start, remarks: &mut Gathering) -> Made {
    let mut machine = Machine::new(start, commands, remarks);
    for (k, placed) in commands.iter().enumerate() {
        machine.line = placed.line;
        if machine.ended {
            machine.tell_rest(&commands[k..]);
            break;
        }
        machine.obey(&placed.command);
    }
    machine.finish_path();
    machine.made
}

struct Machine<'a> {
    start: Start,
    format: DigitFormat,
    line: u32,
    in_header: bool,
    ended: bool,
    incremental: bool,
    mode: Mode,
    /// Whether the program ever plunges (M15); one that never does cuts with every G01, G02, G03.
    plunges: bool,
    down: bool,
    at: Position,
    zero: Position,
    tool: Option<usize>,
    without_diameter_told: Vec<u32>,
    next_tool_plating: Option<Option<bool>>,
    header_plating: Option<bool>,
    body_plating: Option<bool>,
    path: Vec<Point>,
    path_line: u32,
    pattern: Option<(usize, usize)>,
    pattern_end: Option<(usize, usize)>,
    pattern_shift: Position,
    features: usize,
    full_told: bool,
    made: Made,
    remarks: &'a mut Gathering,
}

impl<'a> Machine<'a> {
    fn new(start: Start, commands: &[Placed], remarks: &'a mut Gathering) -> Self {
        let has = |wanted: &Command| commands.iter().any(|p| p.command == *wanted);
        Self {
            start,
            format: start.format,
            line: 0,
            in_header: true,
            ended: false,
            incremental: false,
            mode: Mode::Drill,
            plunges: has(&Command::Plunge),
            down: false,
            at: (0, 0),
            zero: (0, 0),
            tool: None,
            without_diameter_told: Vec::new(),
            next_tool_plating: None,
            header_plating: None,
            body_plating: None,
            path: Vec::new(),
            path_line: 0,
            pattern: None,
            pattern_end: None,
            pattern_shift: (0, 0),
            features: 0,
            full_told: false,
            made: Made::default(),
            remarks,
        }
    }

    fn obey(&mut self, command: &Command) {
        match command {
            Command::Unit(unit) => self.format.unit = *unit,
            Command::Zeros(zeros) if !self.start.forced => self.format.zeros = *zeros,
            Command::Digits { integer, fraction } if !self.start.forced => {
                (self.format.integer_digits, self.format.fraction_digits) = (*integer, *fraction);
            }
            Command::Zeros(_) | Command::Digits { .. } => {}
            Command::Incremental(on) => self.incremental = *on,
            Command::HeaderEnd => self.in_header = false,
            Command::Tool { number, written_digits, diameter } => {
                self.tool(*number, *written_digits, *diameter)
            }
            Command::ToolNote { number, diameter, unit, plated } => {
                let unit = unit.unwrap_or(self.format.unit);
                self.define(*number, diameter_nm(*diameter, unit).0, *plated);
            }
            Command::Mode(mode) => self.set_mode(*mode),
            Command::Position(words) => self.position(words),
            Command::Slot { from, to } => self.slot(from, to),
            Command::Circle { at, diameter } => self.circle(at, *diameter),
            Command::ZeroSet(words) => {
                let length = |n: Option<Number>| n.map_or(0, |n| n.nanometres(self.format));
                self.zero = (length(words.x), length(words.y));
            }
            Command::Plunge => self.plunge(),
            Command::Retract => self.finish_path(),
            Command::Repeat { count, step } => self.repeat(*count, step),
            Command::PatternStart => {
                self.pattern = Some((self.made.hits.len(), self.made.slots.len()));
                self.pattern_end = None;
                self.pattern_shift = (0, 0);
            }
            Command::PatternEnd => self.end_pattern(),
            Command::PatternRepeat { times, step, swap, mirror_x, mirror_y } => {
                self.repeat_pattern(*times, step, *swap, *mirror_x, *mirror_y);
            }
            Command::End => self.ended = true,
            Command::Plating(plating) if self.in_header => self.header_plating = *plating,
            Command::Plating(plating) => {
                self.header_plating = *plating;
                self.body_plating = *plating;
            }
            Command::NextToolPlating(plating) => self.next_tool_plating = Some(*plating),
        }
    }

    // Tools.

    fn tool(&mut self, number: u32, written_digits: u8, diameter: Option<Number>) {
        self.finish_path();
        if number == 0 && diameter.is_none() {
            self.tool = None; // T0 puts the tool away
            return;
        }
        if let Some(diameter) = diameter {
            let (nm, guessed) = diameter_nm(diameter, self.format.unit);
            if guessed {
                let text = format!(
                    "tool {number} has a diameter without decimal point, taken as {} mm; write it with a point",
                    nm as f64 * 1e-6
                );
                self.remarks.warn(self.line, text);
            }
            self.define(number, nm, None);
            return;
        }
        self.tool = self.find(number).or_else(|| {
            // Four digits may be the tool and its offset number.
            if written_digits == 4 { self.find(number / 100) } else { None }
        });
        if self.tool.is_none() {
            self.define(number, 0, None);
        }
    }

    fn find(&self, number: u32) -> Option<usize> {
        self.made.tools.iter().rposition(|t| t.number == number)
    }

    fn define(&mut self, number: u32, diameter_nm: i64, note_plating: Option<bool>) {
        let diameter_nm = match i32::try_from(diameter_nm) {
            Ok(nm) if (0..=LIMIT_NM).contains(&nm) => nm,
            _ => {
                self.remarks
                    .error(self.line, format!("tool {number} has an impossible diameter; taken as 0"));
                0
            }
        };
        let next = self.next_tool_plating.take().flatten();
        let plated = next.or(self.header_plating).or(note_plating);
        if let Some(old) = self.find(number)
            && let Some(tool) = self.made.tools.get_mut(old)
        {
            // A description in a comment and the command itself are one definition; so is a plain repetition.
            let unused = tool.hits == 0 && tool.slots == 0;
            if unused || tool.diameter_nm == diameter_nm {
                if tool.diameter_nm == diameter_nm || tool.diameter_nm == 0 {
                    tool.plated = plated.or(tool.plated);
                } else {
                    tool.plated = plated;
                    let text =
                        format!("tool {number} is defined again with another diameter before its first use");
                    self.remarks.warn(self.line, text);
                }
                tool.diameter_nm = diameter_nm;
                self.tool = Some(old);
                return;
            }
            self.remarks
                .warn(self.line, format!("tool {number} changes its diameter on the way; both are listed"));
        }
        self.made.tools.push(Tool { number, diameter_nm, hits: 0, slots: 0, plated });
        self.tool = Some(self.made.tools.len() - 1);
    }

    // Positions.

    fn target(&self, words: &Words) -> Position {
        let axis = |word: Option<Number>, at: i64, zero: i64| match word.map(|n| n.nanometres(self.format)) {
            None => at,
            Some(by) if self.incremental => at.saturating_add(by),
            Some(to) => to.saturating_add(zero),
        };
        let far = |v: i64| v.clamp(-1_000_000_000_000_000, 1_000_000_000_000_000);
        (far(axis(words.x, self.at.0, self.zero.0)), far(axis(words.y, self.at.1, self.zero.1)))
    }

    fn set_mode(&mut self, mode: Mode) {
        self.in_header = false;
        if matches!(mode, Mode::Drill | Mode::Rapid) {
            self.finish_path();
        }
        self.mode = mode;
    }

    fn position(&mut self, words: &Words) {
        self.in_header = false;
        let from = self.at;
        let to = self.target(words);
        self.at = to;
        match self.mode {
            Mode::Drill => self.hit(to),
            Mode::Rapid => self.finish_path(),
            Mode::Straight => self.cut(from, &[to]),
            Mode::Arc { clockwise } => {
                let points = self.arc(from, to, words, clockwise);
                self.cut(from, &points);
            }
        }
    }

    fn arc(&mut self, from: Position, to: Position, words: &Words, clockwise: bool) -> Vec<Position> {
        let length = |n: Number| n.nanometres(self.format);
        if let Some(radius) = words.radius {
            let (centre, fits) = centre_by_radius(from, to, length(radius), clockwise);
            if !fits {
                self.remarks.warn(
                    self.line,
                    "the arc's radius is less than half the way; a half circle is cut instead",
                );
            }
            return if from == to { vec![to] } else { chords(from, to, centre, clockwise) };
        }
        if words.i.is_none() && words.j.is_none() {
            self.remarks
                .warn(self.line, "an arc without radius (A) or centre (I, J) is cut as a straight line");
            return vec![to];
        }
        let centre = (
            from.0 as f64 + words.i.map_or(0, length) as f64,
            from.1 as f64 + words.j.map_or(0, length) as f64,
        );
        chords(from, to, centre, clockwise)
    }

    // Holes and slots.

    fn point(&mut self, at: Position) -> Option<Point> {
        let axis = |v: i64| i32::try_from(v).ok().filter(|v| (-LIMIT_NM..=LIMIT_NM).contains(v));
        let point = axis(at.0).zip(axis(at.1)).map(|(x_nm, y_nm)| Point { x_nm, y_nm });
        if point.is_none() {
            self.remarks.error(self.line, "a position more than 1 m from the origin is left out");
        }
        point
    }

    /// Counts a feature; false when the file has too many.
    fn admits(&mut self) -> bool {
        self.features += 1;
        if self.features > MOST_FEATURES && !self.full_told {
            self.full_told = true;
            let text = format!("more than {MOST_FEATURES} holes and slot corners; the rest is left out");
            self.remarks.error(self.line, text);
        }
        self.features <= MOST_FEATURES
    }

    fn tool_index(&mut self) -> usize {
        let index = self.tool.or_else(|| self.find(0)).unwrap_or_else(|| {
            self.made.tools.push(Tool { number: 0, diameter_nm: 0, hits: 0, slots: 0, plated: None });
            self.made.tools.len() - 1
        });
        self.tool = Some(index);
        if let Some(&Tool { number, diameter_nm: 0, .. }) = self.made.tools.get(index)
            && !self.without_diameter_told.contains(&number)
        {
            self.without_diameter_told.push(number);
            let what = if number == 0 {
                "no tool is chosen here".to_owned()
            } else {
                format!("tool {number} has no diameter")
            };
            self.remarks
                .error(self.line, format!("{what}; its holes are listed with diameter 0 and remove nothing"));
        }
        index
    }

    fn hit(&mut self, at: Position) {
        let Some(at) = self.point(at) else { return };
        let index = self.tool_index();
        let Some(tool) = self.made.tools.get(index) else { return };
        let (tool, diameter_nm, plated) = (tool.number, tool.diameter_nm, self.body_plating.or(tool.plated));
        if self.admits() {
            self.made.hits.push(Hit { tool, at, diameter_nm, plated, line: self.line });
            if let Some(tool) = self.made.tools.get_mut(index) {
                tool.hits += 1;
            }
        }
    }

    fn push_slot(&mut self, path: Vec<Point>, line: u32) {
        let index = self.tool_index();
        let Some(tool) = self.made.tools.get_mut(index) else { return };
        tool.slots += 1;
        let (tool, diameter_nm, plated) = (tool.number, tool.diameter_nm, self.body_plating.or(tool.plated));
        self.made.slots.push(Slot { tool, path, diameter_nm, plated, line });
    }

    fn slot(&mut self, from: &Words, to: &Words) {
        self.in_header = false;
        let start = self.target(from);
        self.at = start;
        let end = self.target(to);
        self.at = end;
        if let (Some(a), Some(b)) = (self.point(start), self.point(end))
            && self.admits()
            && self.admits()
        {
            self.push_slot(vec![a, b], self.line);
        }
    }

    fn circle(&mut self, at: &Words, diameter: Number) {
        self.at = self.target(at);
        let nm = i32::try_from(diameter.nanometres(self.format)).unwrap_or(LIMIT_NM).clamp(0, LIMIT_NM);
        let before = self.made.hits.len();
        self.hit(self.at);
        if let Some(hit) = self.made.hits.get_mut(before) {
            hit.diameter_nm = nm;
        }
    }

    fn plunge(&mut self) {
        self.finish_path();
        self.down = true;
        self.path_line = self.line;
        if let Some(at) = self.point(self.at) {
            self.path.push(at);
        }
    }

    fn cut(&mut self, from: Position, points: &[Position]) {
        if self.plunges && !self.down {
            return;
        }
        if self.path.is_empty() {
            self.path_line = self.line;
            let start = self.point(from);
            self.path.extend(start);
        }
        for &position in points {
            if let Some(point) = self.point(position)
                && self.admits()
            {
                self.path.push(point);
            }
        }
    }

    /// The tool leaves the board: what it cut since it went in is one slot, or a hole if it did not move.
    fn finish_path(&mut self) {
        self.down = false;
        let mut path = std::mem::take(&mut self.path);
        path.dedup();
        match path[..] {
            [] => {}
            [only] => {
                let line = std::mem::replace(&mut self.line, self.path_line);
                self.hit((only.x_nm.into(), only.y_nm.into()));
                self.line = line;
            }
            _ => self.push_slot(path, self.path_line),
        }
    }

    // Repeats.

    fn repeat(&mut self, count: u32, step: &Words) {
        let length = |n: Option<Number>| n.map_or(0, |n| n.nanometres(self.format));
        let step = (length(step.x), length(step.y));
        if self.mode != Mode::Drill {
            self.remarks.error(self.line, "R repeats holes; while routing it is left out");
            return;
        }
        if step == (0, 0) {
            self.remarks.warn(self.line, "a repeat without a step changes nothing and is left out");
            return;
        }
        for _ in 0..count {
            let far =
                |v: i64, by: i64| v.saturating_add(by).clamp(-1_000_000_000_000_000, 1_000_000_000_000_000);
            self.at = (far(self.at.0, step.0), far(self.at.1, step.1));
            if self.features > MOST_FEATURES || self.at.0.abs().max(self.at.1.abs()) > LIMIT_NM.into() {
                self.remarks
                    .error(self.line, format!("the repeat of {count} leaves the board and is cut off"));
                return;
            }
            self.hit(self.at);
        }
    }

    fn end_pattern(&mut self) {
        if self.pattern.is_some() && self.pattern_end.is_none() {
            self.finish_path();
            self.pattern_end = Some((self.made.hits.len(), self.made.slots.len()));
        }
    }

    fn repeat_pattern(&mut self, times: u32, step: &Words, swap: bool, mirror_x: bool, mirror_y: bool) {
        self.end_pattern();
        let (Some(first), Some(last)) = (self.pattern, self.pattern_end) else {
            if step.has_position() {
                self.remarks.error(self.line, "M02 repeats a pattern, but none was begun by M25; left out");
            }
            return;
        };
        let length = |n: Option<Number>| n.map_or(0, |n| n.nanometres(self.format));
        let step = (length(step.x), length(step.y));
        if step == (0, 0) && !(swap || mirror_x || mirror_y) {
            return;
        }
        for _ in 0..times {
            if self.features > MOST_FEATURES || first == last {
                return;
            }
            // Each repeat steps on from the one before (from memory of the format's description).
            let shift =
                (self.pattern_shift.0.saturating_add(step.0), self.pattern_shift.1.saturating_add(step.1));
            self.pattern_shift = shift;
            let moved = |p: Point| {
                let (mut x, mut y) = (i64::from(p.x_nm), i64::from(p.y_nm));
                if swap {
                    (x, y) = (y, x);
                }
                x = if mirror_x { -x } else { x };
                y = if mirror_y { -y } else { y };
                (x.saturating_add(shift.0), y.saturating_add(shift.1))
            };
            if !self.copy_pattern(first, last, moved) {
                return;
            }
        }
    }

    /// Copies a pattern's holes and slots; false when the copy does not fit any more.
    fn copy_pattern(
        &mut self,
        first: (usize, usize),
        last: (usize, usize),
        moved: impl Fn(Point) -> Position,
    ) -> bool {
        let hits: Vec<Hit> = self.made.hits.get(first.0..last.0).unwrap_or_default().to_vec();
        let slots: Vec<Slot> = self.made.slots.get(first.1..last.1).unwrap_or_default().to_vec();
        for hit in hits {
            let Some(at) = self.point(moved(hit.at)) else { return false };
            if !self.admits() {
                return false;
            }
            if let Some(tool) = self.made.tools.iter_mut().rev().find(|t| t.number == hit.tool) {
                tool.hits += 1;
            }
            self.made.hits.push(Hit { at, ..hit });
        }
        for slot in slots {
            let mut path = Vec::with_capacity(slot.path.len());
            for &point in &slot.path {
                let Some(at) = self.point(moved(point)) else { return false };
                if !self.admits() {
                    return false;
                }
                path.push(at);
            }
            if let Some(tool) = self.made.tools.iter_mut().rev().find(|t| t.number == slot.tool) {
                tool.slots += 1;
            }
            self.made.slots.push(Slot { path, ..slot });
        }
        true
    }

    /// After the end of the program, says what still stands there.
    fn tell_rest(&mut self, rest: &[Placed]) {
        let positions =
            rest.iter().filter(|p| matches!(p.command, Command::Position(_) | Command::Slot { .. })).count();
        if positions > 0 {
            let text = format!(
                "{positions} positions stand after the end of the program (M30 or M00) and are left out"
            );
            self.remarks.warn(self.line, text);
        }
    }
}

/// A tool diameter in nm, and whether it had to be guessed for want of a decimal point.
///
/// Without a point, a number of up to 12 is taken as whole millimetres in a metric file; anything else as micrometres
/// or thousandths of an inch (common practice, no source).
fn diameter_nm(diameter: Number, unit: Unit) -> (i64, bool) {
    match diameter.fraction {
        Some(fraction) => (diameter.scaled(unit.nanometres(), i32::from(fraction)), false),
        None if unit == Unit::Millimetre && diameter.whole() <= 12 => {
            (diameter.scaled(unit.nanometres(), 0), true)
        }
        None => (diameter.scaled(unit.nanometres(), 3), true),
    }
}

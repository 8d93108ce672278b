//! What a drill file can say, a value each.

use super::number::{Number, Unit, Zeros};

/// The coordinate words that follow one another in a command.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) struct Words {
    pub(crate) x: Option<Number>,
    pub(crate) y: Option<Number>,
    pub(crate) i: Option<Number>,
    pub(crate) j: Option<Number>,
    pub(crate) radius: Option<Number>,
}

impl Words {
    pub(crate) fn numbers(&self) -> impl Iterator<Item = Number> {
        [self.x, self.y, self.i, self.j, self.radius].into_iter().flatten()
    }

    pub(crate) fn has_position(&self) -> bool {
        self.x.is_some() || self.y.is_some()
    }
}

/// How the machine moves between positions.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Mode {
    /// Every position is a hole.
    Drill,
    /// Routing, above the board.
    Rapid,
    /// Routing along a straight line.
    Straight,
    /// Routing along an arc.
    Arc { clockwise: bool },
}

/// One command.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Command {
    Unit(Unit),
    Zeros(Zeros),
    Digits {
        integer: u8,
        fraction: u8,
    },
    Incremental(bool),
    HeaderEnd,
    /// Chooses a tool; defines it where a diameter is given.
    Tool {
        number: u32,
        written_digits: u8,
        diameter: Option<Number>,
    },
    Mode(Mode),
    Position(Words),
    /// A slot from one position to another.
    Slot {
        from: Words,
        to: Words,
    },
    /// A round opening of its own diameter, cut by a smaller tool.
    Circle {
        at: Words,
        diameter: Number,
    },
    ZeroSet(Words),
    Plunge,
    Retract,
    Repeat {
        count: u32,
        step: Words,
    },
    PatternStart,
    PatternEnd,
    PatternRepeat {
        times: u32,
        step: Words,
        swap: bool,
        mirror_x: bool,
        mirror_y: bool,
    },
    End,
    /// Plating of the tools defined from here on (in the body: of the holes from here on).
    Plating(Option<bool>),
    /// Plating of the next tool only.
    NextToolPlating(Option<bool>),
    /// A tool described in a comment.
    ToolNote {
        number: u32,
        diameter: Number,
        unit: Option<Unit>,
        plated: Option<bool>,
    },
}

/// A command and the line it stands on.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Placed {
    pub(crate) line: u32,
    pub(crate) command: Command,
}

//! Every key of lamp.toml and of the emitter sheets: the one table from which reading, messages about unknown keys, the
//! reference page and the schema come.

mod boards;
mod common;
mod cooling;
mod nearest;
mod sheet;
mod uncertain;

pub use nearest::nearest;
pub use sheet::{SHEET_KEYS, SHEET_TABLES};

use super::quantity::Quantity;

/// What a value may be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Form {
    /// Free text.
    Text,
    /// One of these words.
    Choice(&'static [&'static str]),
    /// Texts in a list.
    Texts,
    /// A value with its unit, within limits (in the quantity's own unit).
    Value(Quantity, f64, f64),
    /// Values in a list.
    Values(Quantity, f64, f64),
    /// Two values: x and y.
    Pair(Quantity, f64, f64),
    /// Pairs in a list.
    Pairs(Quantity, f64, f64),
    /// A curve: pairs of a value and another.
    Curve(Quantity, Quantity),
    /// `true` or `false`.
    Flag,
    /// One of these words, or a heat transfer coefficient.
    FaceWord,
    /// A word for all copper, or words by side: `{ top = "full", bottom = "none" }`.
    CopperWords,
    /// A table of file names with their roles.
    Roles,
    /// A supply pad: a place, or the name of a pad or net.
    Pad,
}

/// A key.
#[derive(Debug, Clone, Copy)]
pub struct Key {
    /// Table it stands in; `variant` and `material` stand for `variant.NAME` and `material.NAME`.
    pub table: &'static str,
    /// Its name.
    pub name: &'static str,
    /// What its value may be.
    pub form: Form,
    /// What is taken when it is missing; `None`: it must be there, or nothing is taken.
    pub default: Option<&'static str>,
    /// Whether the table is incomplete without it.
    pub required: bool,
    /// What it means, in a sentence.
    pub meaning: &'static str,
}

/// A key that may be missing.
#[must_use]
pub const fn key(
    table: &'static str,
    name: &'static str,
    form: Form,
    default: Option<&'static str>,
    meaning: &'static str,
) -> Key {
    Key { table, name, form, default, required: false, meaning }
}

/// A key that its table cannot do without.
#[must_use]
pub const fn required(table: &'static str, name: &'static str, form: Form, meaning: &'static str) -> Key {
    Key { table, name, form, default: None, required: true, meaning }
}

use Form::{Pair, Value};
use Quantity as Q;

const LENGTH: Form = Value(Q::Length, 1e-9, 1.0);
const PLACE: Form = Pair(Q::Length, -1.0, 1.0);
const K: Form = Value(Q::Conductivity, 1e-4, 1e5);

const OHMS: Form = Value(Q::Ohms, 1e-3, 1e9);
const PART: Form = Value(Q::Number, 0.0, 1.0);

/// The kinds of board sensor.
pub const SENSOR_KINDS: &[&str] =
    &["linear output", "NTC", "Pt100", "Pt1000", "thermocouple", "forward voltage", "degC"];

/// The kinds of board.
pub const BOARD_KINDS: &[&str] =
    &["fr4 one-layer", "fr4 two-layer", "aluminium core", "copper core", "layers"];

/// All keys of lamp.toml, table by table.
pub static LAMP_KEYS: &[Key] = &JOINED;

const PARTS: [&[Key]; 4] = [common::LAMP, uncertain::UNCERTAIN, cooling::COOLING, boards::BOARDS];
static JOINED: [Key; PARTS[0].len() + PARTS[1].len() + PARTS[2].len() + PARTS[3].len()] = joined();

/// The parts one after the other; done by the compiler, which also counts.
const fn joined<const N: usize>() -> [Key; N] {
    let mut all = [PARTS[0][0]; N];
    let (mut part, mut next) = (0, 0);
    while part < PARTS.len() {
        let mut at = 0;
        while at < PARTS[part].len() {
            all[next] = PARTS[part][at];
            (at, next) = (at + 1, next + 1);
        }
        part += 1;
    }
    all
}

/// Which tables may stand where: parent, name, whether it is a list (`[[name]]`).
pub const LAMP_TABLES: &[(&str, &str, bool)] = &[
    ("", "lamp", false),
    ("", "drive", false),
    ("", "limits", false),
    ("", "supply", true),
    ("", "emitters", true),
    ("", "sensor", true),
    ("", "logger", false),
    ("", "uncertain", true),
    ("", "bond", false),
    ("", "screws", false),
    ("", "flatness", false),
    ("", "heatsink", false),
    ("", "fan", false),
    ("", "vent", true),
    ("", "housing", false),
    ("", "faces", false),
    ("bond", "pedestal", true),
    ("bond", "region", true),
    ("variant", "board", false),
    ("variant", "layer", true),
    ("variant", "heat", true),
    ("variant", "supply", true),
    ("variant", "emitters", true),
    ("variant", "drive", false),
    ("variant", "limits", false),
    ("variant", "bond", false),
    ("variant", "screws", false),
    ("variant", "flatness", false),
    ("variant", "heatsink", false),
    ("variant", "fan", false),
    ("variant", "vent", true),
    ("variant", "housing", false),
    ("variant", "faces", false),
];

#[cfg(test)]
mod tests {
    use super::{LAMP_KEYS, SHEET_KEYS};

    #[test]
    fn keys_stand_once_and_say_what_they_mean() {
        for keys in [LAMP_KEYS, SHEET_KEYS] {
            for key in keys {
                assert_eq!(
                    keys.iter().filter(|k| k.table == key.table && k.name == key.name).count(),
                    1,
                    "{}",
                    key.name
                );
                assert!(key.meaning.ends_with('.'), "{}: {}", key.name, key.meaning);
            }
        }
    }
}

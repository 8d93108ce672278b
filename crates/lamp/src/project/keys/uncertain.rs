//! Keys of lamp.toml. What is not known exactly before the lamp is built and measured.

use super::Form::{Choice, Value};
use super::{Key, PART, Q, key, required};
use crate::uncertain::Value as Uncertain;

/// The names of the values that may be uncertain.
pub const UNCERTAIN_VALUES: &[&str] = &{
    let mut names = [""; Uncertain::ALL.len()];
    let mut at = 0;
    while at < names.len() {
        names[at] = Uncertain::ALL[at].name();
        at += 1;
    }
    names
};

pub(super) const UNCERTAIN: &[Key] = &[
    required(
        "uncertain",
        "value",
        Choice(UNCERTAIN_VALUES),
        "A value that is not known exactly. Values without a table of their own have the usual tolerances, which `fit` prints.",
    ),
    key(
        "uncertain",
        "tolerance",
        PART,
        None,
        "How far it may be off either way, as a part, such as 0.2 for 20 %; 0 takes it as known. For all values but offsets.",
    ),
    key(
        "uncertain",
        "offset",
        Value(Q::Interval, 0.0, 100.0),
        None,
        "Sensor offset, ambient offset: how far the temperature may be off either way; \"0 K\" takes it as right.",
    ),
    key(
        "uncertain",
        "each",
        Choice(&["lamp", "variant"]),
        None,
        "Whether all variants have the same departure (\"lamp\") or each its own (\"variant\"). When missing: each variant its own \
         for what belongs to its board, bond line and sensor's place; the same for cooling, emitters and offsets.",
    ),
];

//! Lamps that tests sketch as text.

use lamp::as_built::Lamp;
use lamp::project::{MemoryFolder, read};

/// A lamp from the text of its lamp.toml, which must have no errors.
pub fn lamp_of(text: &str) -> Lamp {
    let reading = read(&MemoryFolder::new([("lamp.toml".to_owned(), text.as_bytes().to_vec())]));
    assert!(!reading.has_errors(), "{:#?}", reading.remarks);
    reading.lamp.unwrap()
}

//! What the crate's tests share.

use lamp::as_built::Lamp;
use lamp::project::{MemoryFolder, read};

/// A lamp from the text of its lamp.toml, which must have no errors.
pub fn lamp_of(text: &str) -> Lamp {
    let reading = read(&MemoryFolder::new([("lamp.toml".to_owned(), text.as_bytes().to_vec())]));
    let errors: Vec<_> = reading.remarks.iter().filter(|remark| remark.severity == "error").collect();
    assert!(errors.is_empty(), "{errors:#?}");
    reading.lamp.expect("a lamp")
}

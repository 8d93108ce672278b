//! Every reader on the same bytes: the first byte chooses the file's name, so that each is reached.
#![no_main]

use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    let Some((choice, rest)) = bytes.split_first() else { return };
    let name = ["top.gtl", "edge.gko", "holes.drl", "places.csv", "unknown"][usize::from(*choice) % 5];
    let files = [(name.to_owned(), rest.to_vec())];
    let _ = artwork::reading::read_artwork(&files, &std::collections::BTreeMap::new());
});

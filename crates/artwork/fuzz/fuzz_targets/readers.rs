//! Every reader on the same bytes: the first byte chooses the file's name, so that each is reached.
#![no_main]

use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    let Some((choice, rest)) = bytes.split_first() else { return };
    let name = ["top.gtl", "edge.gko", "holes.drl", "places.csv", "unknown", "list.ipc"][usize::from(*choice) % 6];
    let files = [(name.to_owned(), rest.to_vec())];
    let artwork = artwork::reading::read_artwork(&files, &std::collections::BTreeMap::new());
    let _ = artwork.nets();
});

//! Nets of real boards carried by registry packages.
#![allow(clippy::expect_used, clippy::panic)] // a test's helpers may fail loudly

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use artwork::nets::{NamedBy, Nets};
use artwork::reading::{Artwork, read_artwork};
use artwork::roles::Role;

fn fetched() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../checks/fetched")
}

fn read(path: &Path) -> Vec<u8> {
    std::fs::read(path)
        .unwrap_or_else(|error| panic!("{}: {error}; run checks/fetch-real-boards first", path.display()))
}

/// All boards of the package of fixtures, by name.
fn boards() -> Vec<(String, Artwork)> {
    let folder = fetched().join("tracespace-fixtures-4.2.7/package/boards");
    let entries = std::fs::read_dir(&folder)
        .unwrap_or_else(|error| panic!("{}: {error}; run checks/fetch-real-boards first", folder.display()));
    let mut names: Vec<PathBuf> = entries.flatten().map(|entry| entry.path()).collect();
    names.sort();
    let files = |board: &Path| {
        let entries = std::fs::read_dir(board).expect("a folder");
        let mut files: Vec<(String, Vec<u8>)> = entries
            .flatten()
            .filter(|entry| entry.path().is_file())
            .map(|entry| (entry.file_name().to_string_lossy().into_owned(), read(&entry.path())))
            .collect();
        files.sort();
        files
    };
    let name = |board: &Path| board.file_name().unwrap_or_default().to_string_lossy().into_owned();
    names.iter().map(|board| (name(board), read_artwork(&files(board), &BTreeMap::new()))).collect()
}

/// What must hold on any board: islands, nets and holes refer to one another, islands cover the layers, and both ends of
/// a hole are on its net.
fn consistent(name: &str, artwork: &Artwork, nets: &Nets) {
    let mut seen = BTreeSet::new();
    for (index, net) in nets.nets.iter().enumerate() {
        for &island in &net.islands {
            assert_eq!(nets.islands[island].net, index, "{name}");
            assert!(seen.insert(island), "{name}: island {island} is in two nets");
        }
        for &hole in &net.holes {
            let hole = &nets.holes[hole];
            assert!(hole.islands.iter().all(|&island| nets.islands[island].net == index), "{name}: {hole:?}");
        }
    }
    assert_eq!(seen.len(), nets.islands.len(), "{name}");
    for role in nets.copper_layers() {
        let drawn = artwork.layer(role).expect("a layer").area.area_mm2();
        let own: f64 = (0..nets.nets.len()).map(|net| nets.copper_of(net, role).area_mm2()).sum();
        assert!((drawn - own).abs() < 1e-6 * drawn.max(1.0), "{name} {role}: {drawn} {own}");
    }
}

#[test]
fn real_boards_have_consistent_nets_in_bounded_time() {
    let boards = boards();
    assert_eq!(boards.len(), 8);
    for (name, artwork) in boards {
        let began = Instant::now();
        let nets = artwork.nets();
        let took = began.elapsed();
        let objects: usize =
            artwork.layers.iter().filter(|l| l.role.is_copper()).map(|l| l.objects.len()).sum();
        println!(
            "{name}: {objects} objects, {} islands, {} nets, {} plated holes, {took:?}",
            nets.islands.len(),
            nets.nets.len(),
            nets.holes.len()
        );
        assert!(took < Duration::from_secs(5), "{name}: {took:?}");
        assert!(
            !nets.nets.is_empty() && nets.nets.iter().all(|net| net.named_by == NamedBy::Number),
            "{name}"
        );
        consistent(&name, &artwork, nets);
        // Boards with a drill file on copper of both sides: most holes are vias and pads that join the two.
        if !nets.holes.is_empty() {
            let joining = nets.holes.iter().filter(|hole| hole.islands.len() > 1).count();
            assert!(2 * joining > nets.holes.len(), "{name}: {joining} of {} holes join", nets.holes.len());
            assert!(nets.nets.len() < nets.islands.len(), "{name}");
        }
    }
}

/// A layer that names its nets itself: every island has one name, as drawn by its designer's software; and every name
/// that the file carries is on an island.
#[test]
fn islands_agree_with_the_nets_that_a_real_layer_names() {
    let file = "pygerber-2.4.3/src/pygerber/examples/simple_2layer-F_Cu.gbr";
    let artwork = read_artwork(&[(file.to_owned(), read(&fetched().join(file)))], &BTreeMap::new());
    let nets = artwork.nets();
    consistent(file, &artwork, nets);
    let layer = artwork.layer(Role::CopperTop).expect("top copper");
    let written: BTreeSet<&str> =
        layer.objects.iter().filter_map(|object| object.net()).filter(|net| !net.is_empty()).collect();
    let named: Vec<_> = nets.nets.iter().filter(|net| net.named_by == NamedBy::Artwork).collect();
    let found: BTreeSet<&str> = named.iter().map(|net| net.name.as_str()).collect();
    println!("{} islands, {} names", nets.islands.len(), written.len());
    assert_eq!(found, written);
    assert_eq!((written.len(), nets.islands.len()), (25, 40));
    // Each island has exactly one name: none is unnamed, none has two.
    assert_eq!(named.len(), nets.nets.len());
    assert!(named.iter().all(|net| net.other_names.is_empty() && net.islands.len() == 1));
    // The bottom is not there: names on several islands are told as open, and nothing else is.
    let pieces = |name: &str| named.iter().filter(|net| net.name == name).count();
    let open = written.iter().filter(|name| pieces(name) > 1).count();
    assert_eq!(nets.remarks.len(), open);
    assert!(nets.remarks.iter().all(|remark| remark.text.starts_with("open: ")), "{:?}", nets.remarks);
    // Every pin that the file tells is on the net that the file tells for it.
    let mut pins = 0;
    for object in layer.objects.iter().filter(|object| object.dark && object.pin().is_some()) {
        let (reference, pin) = object.pin().expect("a pin");
        let on = |pad: &&artwork::nets::Pad| pad.reference == reference && pad.pin == pin;
        let mut pads = nets.pads.iter().filter(on).peekable();
        assert!(pads.peek().is_some(), "{reference} {pin}");
        assert!(pads.all(|pad| Some(nets.nets[nets.islands[pad.island].net].name.as_str()) == object.net()));
        pins += 1;
    }
    assert!(pins > 40, "{pins}");
}

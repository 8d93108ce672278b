//! The demo lamp: invented, and written by a small generator so that its artwork is this project's own.

mod board;
mod drill_text;
mod gerber_text;
mod layers;

/// Name of the folder into which the demo is unpacked.
pub const FOLDER: &str = "fossil-bench-lamp";

/// The demo lamp's files: path in the lamp folder, and bytes. Always the same.
#[must_use]
pub fn files() -> Vec<(String, Vec<u8>)> {
    let mut files = vec![
        ("lamp.toml".to_owned(), include_bytes!("../../demo/lamp.toml").to_vec()),
        ("README.txt".to_owned(), include_bytes!("../../demo/README.txt").to_vec()),
        ("emitters/white-3.5mm.toml".to_owned(), emitter_sheet().into_bytes()),
    ];
    for build in [board::Build::Plain, board::Build::Core] {
        let folder = match build {
            board::Build::Plain => "artwork/plain",
            board::Build::Core => "artwork/core",
        };
        files.extend(
            layers::files(build)
                .into_iter()
                .map(|(name, text)| (format!("{folder}/{name}"), text.into_bytes())),
        );
    }
    files
}

/// The shipped 3.5 mm class, copied so that the maker can edit it.
fn emitter_sheet() -> String {
    let shipped = lamp::project::sheet::SHIPPED.iter().find(|(name, _)| *name == "white-3.5mm");
    shipped.map(|(_, text)| (*text).to_owned()).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use lamp::project::{MemoryFolder, read};

    #[test]
    fn the_demo_reads_without_errors_and_as_meant() {
        let reading = read(&MemoryFolder::new(super::files()));
        let grave: Vec<_> = reading.remarks.iter().filter(|remark| remark.severity != "note").collect();
        assert!(grave.is_empty(), "{grave:#?}");
        let lamp = reading.lamp.expect("a lamp");
        assert_eq!(lamp.variants.len(), 2);
        for variant in &lamp.variants {
            assert_eq!(variant.emitters.len(), 8);
            // 72 x 48 mm less four corners of radius 3 mm: (4 - pi) r².
            let exact = 72.0 * 48.0 - (4.0 - std::f64::consts::PI) * 9.0;
            assert!((variant.outline.area_mm2() - exact).abs() < 0.01, "{}", variant.outline.area_mm2());
            for emitter in &variant.emitters {
                assert!((emitter.thermal_land.area_mm2() - 1.3 * 3.3).abs() < 1e-6, "{}", emitter.reference);
            }
        }
        assert_eq!(lamp.variants[0].bores.len(), 6 + 8 * super::board::VIAS_PER_EMITTER);
        assert_eq!(lamp.variants[1].bores.len(), 6);
    }

    /// Every net is one piece per layer (heat spreaders and through-plated ones aside): nothing is shorted or cut.
    #[test]
    fn no_two_nets_touch() {
        let reading = read(&MemoryFolder::new(super::files()));
        let lamp = reading.lamp.expect("a lamp");
        // Ten string pours, eight heat spreaders, and of the sensor: ground, supply, output.
        for variant in &lamp.variants {
            let copper = variant.layers[0].pattern.as_ref().expect("drawn copper");
            assert_eq!(copper.pieces(), 10 + 8 + 3, "{}", variant.name);
        }
        let bottom = lamp.variants[0].layers[2].pattern.as_ref().expect("drawn copper");
        assert_eq!(bottom.pieces(), 1);
    }
}

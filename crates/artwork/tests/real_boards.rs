//! Real boards carried by registry packages: dark area and bounding box against checks/real_boards.toml.

#![allow(clippy::expect_used, clippy::panic)] // a test's helpers may fail loudly

use std::path::{Path, PathBuf};

struct Reference {
    path: String,
    unit: String,
    area_mm2: f64,
    bbox_mm: [f64; 4],
}

fn checks() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../checks")
}

/// Reads the little of TOML that the table uses.
fn references() -> Vec<Reference> {
    let text =
        std::fs::read_to_string(checks().join("real_boards.toml")).expect("checks/real_boards.toml is there");
    let field = |block: &str, key: &str| -> Option<String> {
        let line = block.lines().find(|line| line.starts_with(&format!("{key} = ")))?;
        let value = line.split_once('=')?.1;
        Some(value.split('#').next()?.trim().trim_matches('"').to_owned())
    };
    text.split("[[file]]")
        .skip(1)
        .filter(|block| field(block, "kind").as_deref() == Some("gerber"))
        .map(|block| {
            let bbox = field(block, "bbox_mm").expect("bbox_mm");
            let corners: Vec<f64> = bbox
                .trim_matches(['[', ']'])
                .split(',')
                .map(|v| v.trim().parse().expect("a number"))
                .collect();
            Reference {
                path: field(block, "path").expect("path"),
                unit: field(block, "unit").expect("unit"),
                area_mm2: field(block, "area_mm2").expect("area_mm2").parse().expect("a number"),
                bbox_mm: corners.try_into().expect("four corners"),
            }
        })
        .collect()
}

/// Within 0.2 % of the reference: its own circles and arcs are inscribed polygons, small by up to 0.04 %, and readers
/// differ by rounding.
#[test]
fn real_boards_have_their_area_and_place() {
    let references = references();
    assert_eq!(references.len(), 13, "checks/real_boards.toml lists 13 Gerber files");
    for reference in references {
        let path = checks().join("fetched").join(&reference.path);
        let bytes = std::fs::read(&path).unwrap_or_else(|error| {
            panic!("{}: {error}; run checks/fetch-real-boards first", path.display())
        });
        let layer = artwork::gerber::read(&reference.path, &bytes);
        assert_eq!(layer.unit.symbol(), reference.unit, "{}", reference.path);
        let area = layer.area.area_mm2();
        assert!(
            (area / reference.area_mm2 - 1.0).abs() < 2e-3,
            "{}: {area} mm2, reference {}",
            reference.path,
            reference.area_mm2
        );
        let bbox = layer.area.bounds().expect("something is drawn").corners_mm();
        let size =
            (reference.bbox_mm[2] - reference.bbox_mm[0]).max(reference.bbox_mm[3] - reference.bbox_mm[1]);
        for (found, wanted) in bbox.iter().zip(reference.bbox_mm) {
            assert!(
                (found - wanted).abs() < 2e-3 * size,
                "{}: {bbox:?}, reference {:?}",
                reference.path,
                reference.bbox_mm
            );
        }
        let errors: Vec<_> =
            layer.remarks.iter().filter(|r| r.severity == artwork::remark::Severity::Error).collect();
        assert!(errors.is_empty(), "{errors:?}");
    }
}

//! Prints, for each Gerber file named, its dark area, bounding box and remarks as a line of JSON; for comparisons.

fn main() {
    for path in std::env::args().skip(1) {
        let Ok(bytes) = std::fs::read(&path) else {
            eprintln!("{path}: cannot be read");
            continue;
        };
        let layer = artwork::gerber::read(&path, &bytes);
        let bbox = layer.area.bounds().map_or("null".to_owned(), |b| format!("{:?}", b.corners_mm()));
        let worst =
            layer.remarks.iter().map(|r| r.severity).max().map_or("none", artwork::remark::Severity::word);
        println!(
            "{{\"file\": {path:?}, \"area_mm2\": {}, \"bbox_mm\": {bbox}, \"pieces\": {}, \"objects\": {}, \"worst_remark\": {worst:?}}}",
            layer.area.area_mm2(),
            layer.area.pieces(),
            layer.objects.len()
        );
        for remark in &layer.remarks {
            eprintln!("{remark}");
        }
    }
}

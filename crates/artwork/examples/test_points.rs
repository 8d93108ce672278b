//! Prints, for each netlist file named, its test points as lines of JSON; for comparisons.

fn main() {
    for path in std::env::args().skip(1) {
        let Ok(bytes) = std::fs::read(&path) else {
            eprintln!("{path}: cannot be read");
            continue;
        };
        let netlist = artwork::netlist::read(&path, &bytes, None);
        let mm = |nm: i32| f64::from(nm) / 1e6;
        let or_null = |nm: Option<i32>| nm.map_or("null".to_owned(), |nm| mm(nm).to_string());
        for point in &netlist.points {
            println!(
                "{{\"net\": {:?}, \"ref\": {:?}, \"pin\": {:?}, \"middle\": {}, \"hole_mm\": {}, \"plated\": {}, \"access\": {}, \
                 \"x_mm\": {}, \"y_mm\": {}, \"width_mm\": {}, \"height_mm\": {}, \"rotation_deg\": {}, \"mask\": {}}}",
                point.net,
                point.reference,
                point.pin,
                point.middle,
                or_null(point.hole_nm),
                point.plated.map_or("null".to_owned(), |plated| plated.to_string()),
                point.access.map_or("null".to_owned(), |access| access.to_string()),
                mm(point.at.x_nm),
                mm(point.at.y_nm),
                or_null(point.size_nm[0]),
                or_null(point.size_nm[1]),
                point.rotation_deg.map_or("null".to_owned(), |degrees| degrees.to_string()),
                point.mask.map_or("null".to_owned(), |mask| mask.to_string()),
            );
        }
        for remark in &netlist.remarks {
            eprintln!("{remark}");
        }
    }
}

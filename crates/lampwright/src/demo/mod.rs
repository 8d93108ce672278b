//! The demo lamp: invented, and written by a small generator so that its artwork is this project's own.

mod bench_log;
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
    for (name, board, sheet) in [
        ("plain", bench_log::Board::Plain, include_str!("../../demo/bench/plain.toml")),
        ("core", bench_log::Board::Core, include_str!("../../demo/bench/core.toml")),
    ] {
        files.push((format!("bench/{name}.csv"), bench_log::log(board).into_bytes()));
        files.push((format!("bench/{name}.toml"), sheet.as_bytes().to_vec()));
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

    /// The invented logs against what they were made of: rows, currents, the gap and the fan that fails.
    #[test]
    fn the_logs_of_the_bench_read_as_they_were_made() {
        let folder = MemoryFolder::new(super::files());
        let lamp = read(&folder).lamp.expect("a lamp");
        let names = bench::mapping::Names::of(&lamp);
        let sheets = bench::run::sheets(&folder).expect("a folder bench");
        assert_eq!(sheets, ["bench/core.toml", "bench/plain.toml"]);
        for (file, rows, gaps) in [("bench/core.toml", 8530, 1), ("bench/plain.toml", 8700, 0)] {
            let run = bench::run::read(&folder, file, &names);
            let grave: Vec<_> = run.remarks.iter().filter(|remark| remark.severity == "error").collect();
            assert!(grave.is_empty(), "{grave:#?}");
            let recording = run.recording.as_ref().expect("a recording");
            assert_eq!(
                (recording.rows(), recording.marks.gap.rows(), recording.step_s),
                (rows, gaps, Some(1.0)),
                "{file}"
            );
            assert_eq!(recording.span_s(), 8699.0);
            let values = |column: &str| &recording.channel(column).expect(column).values;
            let at = |column: &str, time: f64| {
                let row = recording.times_s.iter().position(|at| *at >= time).expect("within the log");
                values(column)[row]
            };
            for (time, current) in
                [(100.0, 0.0), (1000.0, 0.35), (4000.0, 0.7), (6000.0, 0.85), (8600.0, 1.05)]
            {
                assert!((at("I drive", time) - current).abs() < 0.008, "{file} {time}");
            }
            // Rise at the end of the last step, K: (1.21 + 0.25) or (1.21 + 0.10) K/W times 16 W, both time constants settled
            // to 1 %; the room is 22.3 degC + 0.75 K/h + 0.25 K.
            let rise_k = if file.contains("plain") { 1.46 * 16.0 } else { 1.31 * 16.0 };
            let sensor_c = (at("U1", 8690.0) - 0.5) / 0.010;
            assert!((sensor_c - (22.3 + 0.75 * 8690.0 / 3600.0 + rise_k)).abs() < 0.8, "{file}: {sensor_c}");
            let still = values("U fan").iter().filter(|volts| **volts < 1.0).count();
            assert_eq!(still, if file.contains("plain") { 240 } else { 0 });
        }
        assert_eq!(super::files(), super::files(), "always the same");
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

    /// The traced strings against the generator's own rows: D1 to D4 between J2's pads, D5 to D8 between J3's, on both boards.
    /// The same when the pads are told by net or by place.
    #[test]
    fn the_strings_are_those_that_were_drawn() {
        let by_pin = [["\"J2.1\"", "\"J2.2\""], ["\"J3.1\"", "\"J3.2\""]];
        let by_net = [["\"A+\"", "\"A-\""], ["\"B+\"", "\"B-\""]];
        let place = |lower: bool, pin: &str| {
            let wanted = [if lower { "J3" } else { "J2" }, pin];
            let pads = super::board::supply_pads();
            let at = pads.iter().find(|pad| pad.pin == wanted).expect("a pad").at;
            format!("[\"{} mm\", \"{} mm\"]", at[0], at[1])
        };
        let by_place = [false, true].map(|lower| ["1", "2"].map(|pin| place(lower, pin)));
        let texts: [[[String; 2]; 2]; 3] = [
            by_pin.map(|pair| pair.map(str::to_owned)),
            by_net.map(|pair| pair.map(str::to_owned)),
            by_place,
        ];
        for told in texts {
            let mut files = super::files();
            for (path, bytes) in &mut files {
                if path == "lamp.toml" {
                    let mut text = String::from_utf8(bytes.clone()).expect("UTF-8");
                    for (from, to) in by_pin.as_flattened().iter().zip(told.as_flattened()) {
                        assert!(text.contains(from), "{from}");
                        text = text.replace(from, to);
                    }
                    *bytes = text.into_bytes();
                }
            }
            let reading = read(&MemoryFolder::new(files));
            let grave: Vec<_> = reading.remarks.iter().filter(|remark| remark.severity != "note").collect();
            assert!(grave.is_empty(), "{grave:#?}");
            for variant in &reading.lamp.expect("a lamp").variants {
                let circuit = variant.circuit.as_ref().expect("a traced circuit");
                let strings: Vec<(&str, Vec<&str>)> = circuit
                    .strings
                    .iter()
                    .map(|s| {
                        let of = |index: &usize| variant.emitters[*index].reference.as_str();
                        (s.name.as_str(), s.emitters.iter().map(of).collect())
                    })
                    .collect();
                let drawn = [("A", vec!["D1", "D2", "D3", "D4"]), ("B", vec!["D5", "D6", "D7", "D8"])];
                assert_eq!(strings, drawn, "{}", variant.name);
                assert_eq!(circuit.remarks, [], "{}", variant.name);
                assert!(circuit.parallel_groups.is_empty());
                assert!(variant.emitters.iter().all(|emitter| emitter.current_share == 1.0));
            }
        }
    }

    /// Net names against geometry: with the attributes taken out of the files, the same copper hangs together; with them,
    /// each piece has the generator's one name and each pin is on its net.
    #[test]
    fn nets_by_name_are_nets_by_geometry() {
        use super::board::{self, Build};
        for (build, nets, holes) in
            [(Build::Plain, 10 + 1 + 3, 8 * board::VIAS_PER_EMITTER), (Build::Core, 10 + 8 + 3, 0)]
        {
            let understood = |without: &str| {
                let kept = |text: &str| {
                    let lines = text.lines().filter(|line| without.is_empty() || !line.starts_with(without));
                    lines.flat_map(|line| [line, "\n"]).collect::<String>().into_bytes()
                };
                let files: Vec<(String, Vec<u8>)> = super::layers::files(build)
                    .into_iter()
                    .map(|(name, text)| (name.to_owned(), kept(&text)))
                    .collect();
                serde_json::to_value(lamp::project::check_artwork(&files)).expect("a summary is JSON")
            };
            let (named, bare) = (understood(""), understood("%TO."));
            let shapes = |of: &serde_json::Value| {
                let shape = |net: &serde_json::Value| {
                    let area = net["area_mm2"].as_f64().expect("a number");
                    (net["islands"].to_string(), net["holes"].to_string(), format!("{area:.9}"))
                };
                let mut shapes: Vec<_> = of["nets"].as_array().expect("nets").iter().map(shape).collect();
                shapes.sort();
                shapes
            };
            assert_eq!(shapes(&named).len(), nets);
            assert_eq!(shapes(&named), shapes(&bare));
            let all = named["nets"].as_array().expect("nets");
            assert!(all.iter().all(|net| net["named_by"] == "artwork"), "{all:?}");
            assert!(bare["nets"].as_array().expect("nets").iter().all(|net| net["named_by"] == "number"));
            let drilled: u64 = all.iter().filter_map(|net| net["holes"].as_u64()).sum();
            assert_eq!(drilled, holes as u64);
            // 8 emitters of three pins, 3 pins each of sensor and connector, 2 supply pads a string.
            let mut pins: Vec<[String; 3]> = board::emitters(build)
                .into_iter()
                .flat_map(|emitter| {
                    let pins = board::LANDS.into_iter().zip(emitter.nets);
                    pins.map(move |((pin, _, _), net)| [net, emitter.reference.clone(), pin.to_owned()])
                })
                .collect();
            for (reference, pads) in [("U1", board::SENSOR_PADS), ("J1", board::CONNECTOR_PADS)] {
                pins.extend(pads.map(|(pin, net, _, _)| [net, reference, pin].map(str::to_owned)));
            }
            pins.extend(board::supply_pads().into_iter().map(|pad| {
                let [part, pin] = pad.pin;
                [pad.net, part.to_owned(), pin.to_owned()]
            }));
            pins.sort();
            let word = |value: &serde_json::Value| value.as_str().expect("a text").to_owned();
            let mut found: Vec<[String; 3]> = all
                .iter()
                .flat_map(|net| {
                    let pads = net["pads"].as_array().expect("pads").iter();
                    pads.map(|pad| [word(&net["name"]), word(&pad["ref"]), word(&pad["pin"])])
                        .collect::<Vec<_>>()
                })
                .collect();
            found.sort();
            assert_eq!(found, pins);
            let grave = |remark: &&serde_json::Value| remark["severity"] != "note";
            assert_eq!(named["remarks"].as_array().expect("remarks").iter().find(grave), None);
        }
    }
}

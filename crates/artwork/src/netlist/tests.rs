//! Records written by hand after the columns of the module's page, from memory of IPC-D-356A.

use super::{PointKind, UnitSource, looks_like_netlist, read};
use crate::drill::Unit;
use crate::remark::Severity;
use crate::shape::{Area, Bounds, Point};

//                     1         2         3         4         5         6         7
//            123456789012345678901234567890123456789012345678901234567890123456789012345678
const INCH: &str = "\
C  a comment
P  JOB    an invented board
P  UNITS CUST 0
P  NNAME1  A_NET_WITH_A_VERY_LONG_NAME
327LED_PLUS         D1    -1          A01X+012500Y-004300X0350Y0400R090 S1
317LED_MINUS        J1    -2   MD0320PA00X 001000Y 002000X0600Y0000R000 S0
317NNAME1           VIA         D0120PA00X-000100Y+000200X0240Y      S3
017                 VIA         D0120PA00X-000100Y+000300X0240Y      S3
307LED_PLUS         VIA         D0080PA02X+012500Y-004400X0160
367N/C              H1    -1    D1250UA00X+002000Y+002000X1250
378LED_PLUS         L01 X0100 X+012500Y-004300 X+012500Y-005000
078                 X+012500Y-006000
327N/C              U1    -3          A02X+000000Y+000000X0100Y0100R000 S2
999
";

#[test]
fn every_kind_of_record_is_read_by_its_columns() {
    let netlist = read("n.ipc", INCH.as_bytes(), None);
    let notes: Vec<_> = netlist.remarks.iter().map(|r| (r.severity, r.line)).collect();
    assert_eq!(notes, [(Severity::Note, None)], "{:?}", netlist.remarks);
    assert_eq!(
        (netlist.unit, netlist.unit_source, netlist.unused_records),
        (Unit::Inch, UnitSource::Declared, 2)
    );
    let [first, second, via, again, buried, tooling, free] = &netlist.points[..] else {
        panic!("{:?}", netlist.points)
    };
    // 0.0001 inch is 2540 nm.
    assert_eq!((first.net.as_str(), first.reference.as_str(), first.pin.as_str()), ("LED_PLUS", "D1", "1"));
    assert_eq!(first.at, Point::new(31_750_000, -10_922_000));
    assert_eq!(first.size_nm, [Some(889_000), Some(1_016_000)]);
    assert_eq!((first.kind, first.access, first.hole_nm), (PointKind::Surface, Some(1), None));
    assert_eq!((first.rotation_deg, first.mask, first.middle, first.line), (Some(90.0), Some(1), false, 5));
    assert_eq!((second.hole_nm, second.plated, second.middle), (Some(812_800), Some(true), true));
    assert_eq!((second.at, second.size_nm), (Point::new(2_540_000, 5_080_000), [Some(1_524_000), None]));
    assert_eq!((via.net.as_str(), via.is_via(), via.mask), ("A_NET_WITH_A_VERY_LONG_NAME", true, Some(3)));
    assert_eq!((again.net.as_str(), again.at), (via.net.as_str(), Point::new(-254_000, 762_000)));
    assert_eq!((buried.kind, buried.access), (PointKind::BuriedVia, Some(2)));
    assert_eq!((tooling.kind, tooling.plated), (PointKind::Tooling, Some(false)));
    assert_eq!((free.net.as_str(), free.access, free.reference.as_str()), ("", Some(2), "U1"));
    assert!(looks_like_netlist(INCH.as_bytes()));
    assert!(!looks_like_netlist(b"M48\nMETRIC\nT01C0.3\n%\nT01\nX1Y1\nM30\n"));
    assert!(!looks_like_netlist(b"Ref,X,Y\nD1,1,2\n") && !looks_like_netlist(b""));
}

#[test]
fn metric_files_count_micrometres() {
    for unit in ["CUST 1", "SI", "cust 1"] {
        let text = format!(
            "P  UNITS {unit}\r\n327A                  D1    -A          A01X+012500Y-004300X0350Y0400R000 S1\r\n999\r\n"
        );
        let netlist = read("n.ipc", text.as_bytes(), None);
        assert_eq!(netlist.unit, Unit::Millimetre);
        assert_eq!(netlist.points[0].at, Point::new(12_500_000, -4_300_000));
        assert_eq!(netlist.points[0].size_nm, [Some(350_000), Some(400_000)]);
    }
    let radians = "P  UNITS CUST 2\n327A                  D1    -A          A01X+000100Y+000100X0350Y0400R157 S1\n999\n";
    let netlist = read("n.ipc", radians.as_bytes(), None);
    assert_eq!((netlist.points[0].at.x_nm, netlist.points[0].rotation_deg), (254_000, None));
}

#[test]
fn an_undeclared_unit_is_found_on_the_copper() {
    let text = "327A                  D1    -A          A01X+002000Y+001000X0350Y0400R000 S1\n999\n";
    let square = |x: i32, y: i32| {
        let corner = |d: i32| Point::new(x + d, y + d);
        Area::rectangle(Bounds { min: corner(-300_000), max: corner(300_000) })
    };
    // 2.000, 1.000 mm in the one reading; 0.2 inch, 0.1 inch in the other.
    for (copper, unit) in
        [(square(2_000_000, 1_000_000), Unit::Millimetre), (square(5_080_000, 2_540_000), Unit::Inch)]
    {
        let netlist = read("n.ipc", text.as_bytes(), Some(&copper));
        assert_eq!((netlist.unit, netlist.unit_source), (unit, UnitSource::Deduced));
        assert!(
            netlist.remarks.iter().any(|r| r.text.contains("1 of 1 points lie on copper")),
            "{:?}",
            netlist.remarks
        );
    }
    let netlist = read("n.ipc", text.as_bytes(), None);
    assert_eq!((netlist.unit, netlist.unit_source), (Unit::Inch, UnitSource::Assumed));
    assert!(netlist.remarks.iter().any(|r| r.severity == Severity::Warning));
}

#[test]
fn malformed_records_are_told_with_their_line_and_harm_no_other() {
    let text = "\
P  UNITS CUST 7
P  UNITS CUST 1
017                 VIA         D0120PA00X+000100Y+000300X0240
327A                D1    -1          A01X+0125
327A                D1    -1          A01X+99999999999Y+000100
327A                D1    -1          A01X+0.5Y+000100
327A                D1    -1          A01X+999999999Y+000100
327
what is this
32
327GOOD             D1    -1          A01X+002000Y+001000X0350Y0400R000 S1
317SLIPPED            D1    -1      D0300PA00X+003000Y+001000X0350Y0400R000 S1
";
    let netlist = read("n.ipc", text.as_bytes(), None);
    let nets: Vec<_> = netlist.points.iter().map(|p| (p.net.as_str(), p.at.x_nm)).collect();
    assert_eq!(nets, [("", 100_000), ("GOOD", 2_000_000), ("SLIPPED", 3_000_000)]);
    let lines = |severity| -> Vec<u32> {
        netlist.remarks.iter().filter(|r| r.severity == severity).filter_map(|r| r.line).collect()
    };
    // Line 7: 999 999 999 micrometres are a kilometre.
    assert_eq!(lines(Severity::Error), [4, 5, 6, 7, 8], "{:?}", netlist.remarks);
    assert_eq!(lines(Severity::Warning), [1, 3, 9, 10], "{:?}", netlist.remarks);
}

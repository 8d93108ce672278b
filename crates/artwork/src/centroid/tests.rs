use super::{Side, read};
use crate::remark::Severity;

fn rows(text: &str) -> Vec<(String, i32, i32, f64, Side)> {
    let found = read("parts.csv", text.as_bytes());
    found
        .placements
        .into_iter()
        .map(|p| (p.reference, p.at.x_nm, p.at.y_nm, p.rotation_deg, p.side))
        .collect()
}

#[test]
fn usual_column_names_and_separators() {
    let expected = vec![
        ("D1".to_owned(), 12_700_000, -2_540_000, 90.0, Side::Top),
        ("D2".to_owned(), 1_000, 0, 270.0, Side::Bottom),
    ];
    for text in [
        "Designator,Mid X,Mid Y,Rotation,Layer\nD1,12.7mm,-2.54mm,90,TopLayer\nD2,0.001mm,0mm,-90,BottomLayer\n",
        "\"Ref\";\"PosX (mm)\";\"PosY (mm)\";\"Rot\";\"Side\"\r\nD1;12,7;-2,54;90,0;top\r\nD2;0,001;0;270;bottom",
        "# Units used = mm / deg\rRefDes\tX\tY\tangle\tTB\rD1\t12.7\t-2.54\t450\tT\rD2\t.001\t0\t270\tB",
        "### made today\n## Unit = mm, Angle = deg\n# Ref  Val  Package PosX  PosY  Rot  Side\n\
         D1  w  p  12.7 -2.54  90 front\nD2 w p 0.001 0 270.0 back\n## End\n",
        "Comment,Designator,Footprint,Center-X(mil),Center-Y(mil),Rotation,Layer\n\
         w,D1,p,500,-100,90,Top\nw,D2,p,0.0393701,0,270,Bottom\n",
        "Reference, X (inch), Y (inch), Rotation, Side\nD1, 0.5, -0.1, 90, T\nD2, 0.0000393701, 0, 270, B\n",
    ] {
        assert_eq!(rows(text), expected, "{text}");
    }
}

#[test]
fn values_and_packages_come_along() {
    let found = read("x", b"Ref,Val,Package,X(mm),Y(mm),Rot,Side\nD1,\"white, 90\",3.5 mm,1,2,0,top\n");
    let part = &found.placements[0];
    assert_eq!((part.value.as_str(), part.package.as_str(), part.line), ("white, 90", "3.5 mm", 2));
    assert!(found.remarks.is_empty(), "{:?}", found.remarks);
    assert_eq!(found.unit_assumed, None);
}

#[test]
fn a_bad_row_is_told_and_the_rest_stays() {
    let found =
        read("x", b"Ref,X(mm),Y(mm),Rot,Side\nD1,1,2,0,top\nD2,one,2,0,top\n\nD3,3,4,x,left\nD1,5,5,0,top\n");
    assert_eq!(found.placements.iter().map(|p| p.line).collect::<Vec<_>>(), [2, 5, 6]);
    let told: Vec<_> = found.remarks.iter().map(|r| (r.line, r.severity)).collect();
    let expected = [
        (Some(3), Severity::Error),
        (Some(5), Severity::Warning),
        (Some(5), Severity::Warning),
        (Some(6), Severity::Warning),
    ];
    assert_eq!(told, expected, "{:?}", found.remarks);
}

#[test]
fn missing_unit_and_missing_heading_are_told() {
    let found = read("x", b"Ref,X,Y,Rot,Side\nD1,1,2,0,top\n");
    assert!(found.unit_assumed.is_some());
    assert_eq!(found.remarks.len(), 1);
    let found = read("x", b"D1 10.5 20.0 90 white\nD2 11 21 0 white\n");
    assert_eq!(found.placements.len(), 2);
    assert_eq!(found.placements[0].at.x_nm, 10_500_000);
    let found = read("x", b"hello\nworld");
    assert!(found.placements.is_empty());
    assert_eq!(found.remarks[0].severity, Severity::Error);
}

#[test]
fn latin_1_is_read() {
    let found = read("x", b"Ref;Val;X(mm);Y(mm);Rot;Side\nR1;10 k\xB5;1,5;2;0\xB0;T\n");
    assert_eq!(found.placements[0].value, "10 k\u{b5}");
    assert_eq!(found.placements[0].rotation_deg, 0.0);
}

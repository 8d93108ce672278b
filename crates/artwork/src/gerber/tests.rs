//! Whole files of a few lines, with areas worked out by plane geometry.

use std::f64::consts::PI;

use super::read;
use crate::remark::Severity;

/// Area, mm², of a file in millimetres with six decimals, without remarks.
fn area(body: &str) -> f64 {
    let text = format!("%FSLAX36Y36*%%MOMM*%{body}M02*");
    let layer = read("t", text.as_bytes());
    assert!(layer.remarks.is_empty(), "{body}: {:?}", layer.remarks);
    layer.area.area_mm2()
}

fn near(found: f64, exact: f64) {
    // Whole nanometres, and polygons for circles where they are cut or moved.
    assert!((found - exact).abs() < 1e-3 * exact.abs().max(0.1), "{found} is not {exact}");
}

#[test]
fn standard_apertures_have_their_areas() {
    let flash = "D10*X1000000Y2000000D03*";
    near(area(&format!("%ADD10C,2*%{flash}")), PI);
    near(area(&format!("%ADD10C,2X1*%{flash}")), PI * 0.75);
    near(area(&format!("%ADD10R,2X3*%{flash}")), 6.0);
    near(area(&format!("%ADD10R,2X3X1*%{flash}")), 6.0 - PI / 4.0);
    near(area(&format!("%ADD10O,4X2*%{flash}")), 4.0 + PI);
    near(area(&format!("%ADD10O,2X4X0.5*%{flash}")), 4.0 + PI - PI / 16.0);
    near(area(&format!("%ADD10P,2X6*%{flash}")), 1.5 * 3f64.sqrt());
    near(area(&format!("%ADD10P,2X4X45X0.5*%{flash}")), 2.0 - PI / 16.0);
}

/// The box, mm, of a file as in [`area`] is this one, to whole nanometres and a circle's polygon.
fn lies(body: &str, corners: [f64; 4]) {
    let text = format!("%FSLAX36Y36*%%MOMM*%{body}M02*");
    let found = read("t", text.as_bytes()).area.bounds().unwrap().corners_mm();
    for (found_mm, exact_mm) in found.iter().zip(corners) {
        assert!((found_mm - exact_mm).abs() < 1e-3, "{body}: {found:?} is not {corners:?}");
    }
}

#[test]
fn what_is_drawn_lies_where_it_should() {
    let flash = "D10*X0Y0D03*";
    lies(&format!("%ADD10O,4X2*%{flash}"), [-2.0, -1.0, 2.0, 1.0]);
    // The first corner of a triangle at 30 degrees, counter-clockwise.
    let height = 0.75f64.sqrt();
    lies(&format!("%ADD10P,2X3X30*%{flash}"), [-height, -1.0, height, 0.5]);
    lies(&format!("%ADD10R,1X1*%%SRX2Y3I5J7*%{flash}%SR*%"), [-0.5, -0.5, 5.5, 14.5]);
    // A square of 1 mm at 2, 1 in a block, flashed at 10, 0: mirrored, turned counter-clockwise, doubled, mirrored and then turned.
    let block = "%ADD10R,1X1*%%ABD20*%D10*X2000000Y1000000D03*%AB*%";
    for (turn, corners) in [
        ("", [11.5, 0.5, 12.5, 1.5]),
        ("%LMX*%", [7.5, 0.5, 8.5, 1.5]),
        ("%LMY*%", [11.5, -1.5, 12.5, -0.5]),
        ("%LMXY*%", [7.5, -1.5, 8.5, -0.5]),
        ("%LR90*%", [8.5, 1.5, 9.5, 2.5]),
        ("%LS2*%", [13.0, 1.0, 15.0, 3.0]),
        ("%LMX*%%LR90*%", [8.5, -2.5, 9.5, -1.5]),
    ] {
        lies(&format!("{block}{turn}D20*X10000000Y0D03*"), corners);
    }
    // A quarter and three quarters of a circle of radius 10, 1 mm wide.
    lies("%ADD10C,1*%D10*G75*X10000000Y0D02*G03*X0Y10000000I-10000000J0D01*", [-0.5, -0.5, 10.5, 10.5]);
    lies("%ADD10C,1*%D10*G75*X10000000Y0D02*G02*X0Y10000000I-10000000J0D01*", [-10.5, -10.5, 10.5, 10.5]);
}

#[test]
fn strokes_are_exact_sums_of_aperture_and_line() {
    near(area("%ADD10C,1*%D10*X0Y0D02*X3000000Y4000000D01*"), 5.0 + PI / 4.0);
    // A rectangle of a x b moved by (dx, dy) covers ab + a|dy| + b|dx|.
    near(area("%ADD10R,1X2*%D10*X0Y0D02*X3000000Y4000000D01*"), 2.0 + 4.0 + 6.0);
    // No width, no area; no height still leaves a track across it.
    let text = "%FSLAX36Y36*%%MOMM*%%ADD10C,0*%D10*X0Y0D02*X3000000Y0D01*M02*";
    let layer = read("t", text.as_bytes());
    assert_eq!((layer.area.area_mm2(), layer.strokes.len()), (0.0, 1));
}

#[test]
fn polarity_clears_what_came_before_and_only_that() {
    let body = "%ADD10R,4X4*%%ADD11R,2X2*%%ADD12R,1X1*%D10*X0Y0D03*%LPC*%D11*X0Y0D03*%LPD*%D12*X0Y0D03*";
    near(area(body), 16.0 - 4.0 + 1.0);
    // A mirrored flash adds to what it overlaps, whichever way round its contour runs then.
    near(area("%ADD10R,1X1*%D10*X0Y0D03*%LMX*%X500000Y0D03*"), 1.5);
}

#[test]
fn arcs_in_both_quadrant_modes() {
    // A quarter ring, 1 mm wide, middle radius 10 mm, with round ends.
    let ring = PI / 4.0 * (10.5 * 10.5 - 9.5 * 9.5) + PI / 4.0;
    near(area("%ADD10C,1*%D10*G75*X10000000Y0D02*G03*X0Y10000000I-10000000J0D01*"), ring);
    near(area("%ADD10C,1*%D10*G74*X10000000Y0D02*G03*X0Y10000000I10000000J0D01*"), ring);
    near(area("%ADD10C,1*%D10*G75*X0Y10000000D02*G02*X10000000Y0I0J-10000000D01*"), ring);
    // A full circle as a region, and one with a bite.
    near(area("G75*G36*X1000000Y0D02*G03*X1000000Y0I-1000000J0D01*G37*"), PI);
    near(area("G75*G36*X1000000Y0D02*G03*X0Y1000000I-1000000J0D01*G01*X0Y0D01*X1000000Y0D01*G37*"), PI / 4.0);
}

#[test]
fn repeats_and_blocks_multiply() {
    near(area("%ADD10R,1X1*%%SRX3Y2I2J3*%D10*X0Y0D03*%SR*%"), 6.0);
    // A block of two squares, one half clear, flashed dark and mirrored.
    let block =
        "%ADD10R,1X1*%%ADD11R,0.5X0.5*%%ABD20*%D10*X0Y0D03*X2000000Y0D03*%LPC*%D11*X2000000Y0D03*%LPD*%%AB*%";
    near(area(&format!("{block}D20*X0Y0D03*X0Y5000000D03*")), 2.0 * 1.75);
    near(area(&format!("{block}%LMX*%%LR90*%%LS2*%D20*X0Y0D03*")), 4.0 * 1.75);
    // Flashed clear on a plate of 20 mm, dark and clear of the block change places (section 4.11).
    near(area(&format!("{block}%ADD12R,20X20*%D12*X0Y0D03*%LPC*%D20*X0Y0D03*")), 400.0 - 2.0 + 0.25);
}

#[test]
fn old_formats_units_and_modes_are_obeyed() {
    let read_area = |text: &str| read("t", text.as_bytes()).area.area_mm2();
    // Inches by G70, trailing zeros omitted, incremental, several statements in one block, one line, no end.
    let inches = read("t", b"%FSTIX24Y24*MOIN*ADD10R,0.1X0.1*%G91*D10*X01Y0D03*X01D03*");
    near(inches.area.area_mm2(), 2.0 * 2.54 * 2.54);
    assert_eq!(inches.area.bounds().map(|b| b.corners_mm()), Some([24.13, -1.27, 52.07, 1.27]));
    near(read_area("G70*%FSLAX23Y23*%%ADD10R,.1X.1*%G54D10*X1000Y0D03*M02*"), 2.54 * 2.54);
    // Decimal points and plus signs, letters in any order, short codes, lower counts of zeros.
    near(read_area("%FSLAX24Y24*%%MOMM*%%ADD10R,1X1*%D10*D03Y+1.5X-2*G1X0Y0D2*X2.0D1*M2*"), 1.0 + 3.0);
    // Repeated operation without a code.
    near(read_area("%FSLAX36Y36*%%MOMM*%%ADD10R,1X1*%D10*X0Y0D03*X5000000*Y5000000*M02*"), 3.0);
    // CR alone, NUL, a byte order mark, Latin-1 in a comment.
    near(read_area("\u{feff}G04 \u{b5}m*\r%FSLAX36Y36*%\r%MOMM*%\r%ADD10R,1X1*%\rD10*\0X0Y0D03*\rM02*"), 1.0);
    // The whole image scaled, mirrored, shifted.
    let layer =
        read("t", b"%FSLAX36Y36*%%MOMM*%%SFA2B1*%%MIA1B0*%%OFA1B0*%%ADD10R,1X1*%D10*X1000000Y0D03*M02*");
    assert_eq!(layer.area.bounds().map(|b| b.corners_mm()), Some([-2.0, -0.5, 0.0, 0.5]));
}

#[test]
fn attributes_stay_with_the_shapes() {
    let text = "G04 #@! TF.FileFunction,Copper,L1,Top*%FSLAX36Y36*%%MOMM*%%TA.AperFunction,SMDPad,CuDef*%%ADD10R,1X1*%%TD*%\
                %TO.N,LED+*%%TO.P,D1,A*%D10*X0Y0D03*%TD*%X5000000Y0D03*M02*";
    let layer = read("t", text.as_bytes());
    assert_eq!(layer.attributes.fields(".FileFunction").map(<[String]>::len), Some(3));
    let [first, second] = &layer.objects[..] else { panic!("two objects") };
    assert_eq!(
        (first.function(), first.net(), first.pin()),
        (Some("SMDPad"), Some("LED+"), Some(("D1", "A")))
    );
    assert_eq!((first.component(), second.net(), second.function()), (Some("D1"), None, Some("SMDPad")));
}

#[test]
fn a_bad_line_is_told_and_the_rest_is_drawn() {
    let text = "%FSLAX36Y36*%\n%MOMM*%\n%ADD10R,1X1*%\n%ADD11Q,1*%\nD10*\nX0Y0D03*\nX9Y?D03*\nD12*\nX1D03*\nG99*\nD10*\nX5000000Y0D03*\nM02*\n";
    let layer = read("t", text.as_bytes());
    near(layer.area.area_mm2(), 2.0);
    let lines: Vec<_> =
        layer.remarks.iter().filter(|r| r.severity == Severity::Error).filter_map(|r| r.line).collect();
    assert_eq!(lines, [4, 7, 7, 8, 10], "{:?}", layer.remarks);
}

#[test]
fn bombs_are_bounded_and_told() {
    let bomb =
        "%FSLAX36Y36*%%MOMM*%%ADD10C,1*%%ABD20*%%SRX9999Y9999I1J1*%D10*X0Y0D03*%SR*%%AB*%D20*X0Y0D03*M02*";
    let layer = read("t", bomb.as_bytes());
    assert!(
        layer
            .remarks
            .iter()
            .any(|r| r.severity == Severity::Error && r.text.contains("larger than any board"))
    );
}

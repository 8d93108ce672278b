//! The example lamp of two strings on one driver: its text, and its artwork drawn here.

use std::fmt::Write as _;

/// Rectangle of copper, mm (x min, y min, x max, y max), with its net and, for a pad, its pin.
type Copper = (&'static str, Option<&'static str>, [f64; 4]);

/// Width and height of the board, mm.
const BOARD: [f64; 2] = [64.0, 30.0];

/// Two rows of three emitters between a bar of + at the left and one of - at the right.
fn copper() -> Vec<Copper> {
    let mut all: Vec<Copper> = vec![
        ("P", None, [2.0, 3.0, 13.0, 27.0]),
        ("M", None, [51.0, 3.0, 62.0, 27.0]),
        ("P", Some("J1,1"), [3.0, 14.0, 5.0, 16.0]),
        ("M", Some("J1,2"), [59.0, 14.0, 61.0, 16.0]),
    ];
    for (nets, low, high) in [(["A1", "A2"], 17.0, 27.0), (["B1", "B2"], 3.0, 13.0)] {
        all.push((nets[0], None, [15.0, low, 31.0, high]));
        all.push((nets[1], None, [33.0, low, 49.0, high]));
        for x in [14.0, 32.0, 50.0] {
            all.push(("", None, [x - 0.75, low, x + 0.75, high]));
        }
    }
    all
}

fn nm(mm: f64) -> i64 {
    (mm * 1e6).round() as i64
}

fn copper_top(more: &[Copper]) -> String {
    let mut text = String::from("%TF.FileFunction,Copper,L1,Top*%\n%FSLAX46Y46*%\n%MOMM*%\nG01*\n");
    for (net, pin, [x0, y0, x1, y1]) in copper().into_iter().chain(more.iter().copied()) {
        if !net.is_empty() {
            let _ = writeln!(text, "%TO.N,{net}*%");
        }
        if let Some(pin) = pin {
            let _ = writeln!(text, "%TO.P,{pin}*%");
        }
        let corners = [(x0, y0, 2), (x1, y0, 1), (x1, y1, 1), (x0, y1, 1), (x0, y0, 1)];
        text += "G36*\n";
        for (x, y, code) in corners {
            let _ = writeln!(text, "X{}Y{}D0{code}*", nm(x), nm(y));
        }
        text += "G37*\n%TD*%\n";
    }
    text + "M02*\n"
}

fn profile() -> String {
    let mut text =
        String::from("%TF.FileFunction,Profile,NP*%\n%FSLAX46Y46*%\n%MOMM*%\nG01*\n%ADD10C,0.1*%\nD10*\n");
    let [w, h] = BOARD;
    for (x, y, code) in [(0.0, 0.0, 2), (w, 0.0, 1), (w, h, 1), (0.0, h, 1), (0.0, 0.0, 1)] {
        let _ = writeln!(text, "X{}Y{}D0{code}*", nm(x), nm(y));
    }
    text + "M02*\n"
}

/// Its files.
pub fn files() -> Vec<(String, Vec<u8>)> {
    files_with(&[])
}

/// Its files with a bar between the two strings behind their first emitters: one string that branches twice.
#[allow(dead_code, reason = "not every test has use for it")]
pub fn bridged_files() -> Vec<(String, Vec<u8>)> {
    files_with(&[("", None, [20.0, 12.0, 22.0, 18.0])])
}

fn files_with(more: &[Copper]) -> Vec<(String, Vec<u8>)> {
    vec![
        ("lamp.toml".to_owned(), include_bytes!("parallel-strings.toml").to_vec()),
        ("artwork/copper-top.gbr".to_owned(), copper_top(more).into_bytes()),
        ("artwork/profile.gbr".to_owned(), profile().into_bytes()),
    ]
}

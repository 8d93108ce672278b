//! Writes Gerber X2 text, millimetres with six decimals: one unit of a coordinate is a nanometre.

use std::fmt::Write as _;

use super::board::Xy;

/// A layer being written.
pub(super) struct GerberText {
    text: String,
    apertures: Vec<String>,
}

fn nm(mm: f64) -> i64 {
    (mm * 1e6).round() as i64
}

impl GerberText {
    /// Begins a layer with its file function, such as `Copper,L1,Top`.
    pub fn new(function: &str) -> Self {
        let mut text = String::from("G04 Fossil-preparation bench lamp; an invented demo board*\n");
        let polarity = if function.starts_with("Soldermask") { "Negative" } else { "Positive" };
        let _ = write!(
            text,
            "%TF.Part,Single*%\n%TF.FileFunction,{function}*%\n%TF.FilePolarity,{polarity}*%\n%FSLAX46Y46*%\n%MOMM*%\nG01*\nG75*\n"
        );
        Self { text, apertures: Vec::new() }
    }

    fn line(&mut self, line: &str) {
        self.text.push_str(line);
        self.text.push('\n');
    }

    /// Chooses an aperture, defining it with its function at first use.
    fn choose(&mut self, shape: &str, function: &str) {
        let key = format!("{shape}|{function}");
        let index = match self.apertures.iter().position(|known| *known == key) {
            Some(index) => index,
            None => {
                self.apertures.push(key);
                let index = self.apertures.len() - 1;
                if !function.is_empty() {
                    self.line(&format!("%TA.AperFunction,{function}*%"));
                }
                self.line(&format!("%ADD{}{shape}*%", index + 10));
                if !function.is_empty() {
                    self.line("%TD.AperFunction*%");
                }
                index
            }
        };
        self.line(&format!("D{}*", index + 10));
    }

    /// Names the net of what follows; an empty name ends it.
    pub fn net(&mut self, name: &str) {
        if name.is_empty() { self.line("%TD*%") } else { self.line(&format!("%TO.N,{name}*%")) }
    }

    /// Names the pin of what follows.
    pub fn pin(&mut self, component: &str, pin: &str) {
        self.line(&format!("%TO.P,{component},{pin}*%"));
    }

    /// Dark or clear from here on.
    pub fn dark(&mut self, dark: bool) {
        self.line(if dark { "%LPD*%" } else { "%LPC*%" });
    }

    /// A region with straight edges.
    pub fn region(&mut self, corners: &[Xy], offset: Xy) {
        self.line("G36*");
        for (index, [x, y]) in corners.iter().chain(corners.first()).enumerate() {
            let code = if index == 0 { "D02" } else { "D01" };
            let _ = writeln!(self.text, "X{}Y{}{code}*", nm(x + offset[0]), nm(y + offset[1]));
        }
        self.line("G37*");
    }

    /// A rectangular flash.
    pub fn rectangle(&mut self, at: Xy, size: Xy, function: &str) {
        self.choose(&format!("R,{:.3}X{:.3}", size[0], size[1]), function);
        self.flash(at);
    }

    /// A round flash.
    pub fn disc(&mut self, at: Xy, diameter: f64, function: &str) {
        self.choose(&format!("C,{diameter:.3}"), function);
        self.flash(at);
    }

    fn flash(&mut self, at: Xy) {
        let _ = writeln!(self.text, "X{}Y{}D03*", nm(at[0]), nm(at[1]));
    }

    /// A line of strokes with a round aperture.
    pub fn stroke(&mut self, points: &[Xy], width: f64, function: &str) {
        self.choose(&format!("C,{width:.3}"), function);
        for (index, [x, y]) in points.iter().enumerate() {
            let code = if index == 0 { "D02" } else { "D01" };
            let _ = writeln!(self.text, "X{}Y{}{code}*", nm(*x), nm(*y));
        }
    }

    /// A rectangle with round corners, as a stroke or, with no width, as a region.
    pub fn rounded_rectangle(&mut self, [x0, y0]: Xy, [x1, y1]: Xy, radius: f64, width: Option<f64>) {
        match width {
            Some(width) => self.choose(&format!("C,{width:.3}"), "Profile"),
            None => self.line("G36*"),
        }
        let r = radius;
        let _ = writeln!(self.text, "G01*\nX{}Y{}D02*", nm(x0 + r), nm(y0));
        let sides = [
            ([x1 - r, y0], [x1, y0 + r], [0.0, r]),
            ([x1, y1 - r], [x1 - r, y1], [-r, 0.0]),
            ([x0 + r, y1], [x0, y1 - r], [0.0, -r]),
            ([x0, y0 + r], [x0 + r, y0], [r, 0.0]),
        ];
        for (straight, corner, centre) in sides {
            let _ = writeln!(
                self.text,
                "G01*\nX{}Y{}D01*\nG03*\nX{}Y{}I{}J{}D01*",
                nm(straight[0]),
                nm(straight[1]),
                nm(corner[0]),
                nm(corner[1]),
                nm(centre[0]),
                nm(centre[1])
            );
        }
        self.line("G01*");
        if width.is_none() {
            self.line("G37*");
        }
    }

    /// The finished text.
    pub fn finish(mut self) -> String {
        self.line("M02*");
        self.text
    }
}

//! What each fabrication file is for: from its attributes, else its name, else what the user says.

use std::fmt;

use crate::drill::plating_in_words;

/// What a file is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Role {
    /// Copper on the top side.
    CopperTop,
    /// An inner copper layer, counted from the top, 2 being the first below the top side.
    CopperInner(u16),
    /// Copper on the bottom side.
    CopperBottom,
    /// Solder mask openings of the top side.
    MaskTop,
    /// Solder mask openings of the bottom side.
    MaskBottom,
    /// Paste openings of the top side.
    PasteTop,
    /// Paste openings of the bottom side.
    PasteBottom,
    /// Printed legend of the top side.
    LegendTop,
    /// Printed legend of the bottom side.
    LegendBottom,
    /// The board's outline and cut-outs.
    Profile,
    /// Holes and slots; plated or not where known.
    Drill(Option<bool>),
    /// Where parts are placed.
    Centroid,
    /// Nets.
    Netlist,
    /// Anything else: kept, but not part of the board.
    Other,
}

impl Role {
    /// The role's name, such as `copper top`; [`Role::from_name`] reads it back.
    #[must_use]
    pub fn name(self) -> String {
        match self {
            Self::CopperTop => "copper top".into(),
            Self::CopperInner(n) => format!("copper inner {n}"),
            Self::CopperBottom => "copper bottom".into(),
            Self::MaskTop => "mask top".into(),
            Self::MaskBottom => "mask bottom".into(),
            Self::PasteTop => "paste top".into(),
            Self::PasteBottom => "paste bottom".into(),
            Self::LegendTop => "legend top".into(),
            Self::LegendBottom => "legend bottom".into(),
            Self::Profile => "profile".into(),
            Self::Drill(None) => "drill".into(),
            Self::Drill(Some(true)) => "drill plated".into(),
            Self::Drill(Some(false)) => "drill unplated".into(),
            Self::Centroid => "centroid".into(),
            Self::Netlist => "netlist".into(),
            Self::Other => "other".into(),
        }
    }

    /// Reads a role's name as [`Role::name`] gives it; case, `-` and `_` do not matter.
    #[must_use]
    pub fn from_name(name: &str) -> Option<Self> {
        let plain = name.to_ascii_lowercase().replace(['-', '_'], " ");
        let plain = plain.split_whitespace().collect::<Vec<_>>().join(" ");
        if let Some(number) = plain.strip_prefix("copper inner ") {
            return number.parse().ok().map(Self::CopperInner);
        }
        Self::NAMED.into_iter().find(|role| role.name() == plain)
    }

    /// All roles but the inner copper layers.
    pub const NAMED: [Self; 15] = [
        Self::CopperTop,
        Self::CopperBottom,
        Self::MaskTop,
        Self::MaskBottom,
        Self::PasteTop,
        Self::PasteBottom,
        Self::LegendTop,
        Self::LegendBottom,
        Self::Profile,
        Self::Drill(None),
        Self::Drill(Some(true)),
        Self::Drill(Some(false)),
        Self::Centroid,
        Self::Netlist,
        Self::Other,
    ];

    /// Whether it is a copper layer.
    #[must_use]
    pub fn is_copper(self) -> bool {
        matches!(self, Self::CopperTop | Self::CopperInner(_) | Self::CopperBottom)
    }
}

impl fmt::Display for Role {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.name())
    }
}

/// How a role was decided.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum RoleSource {
    /// The user said so.
    Given,
    /// The file's own .FileFunction attribute.
    Attribute,
    /// The file's name or its ending: a guess by custom.
    Name,
    /// What is in the file, nothing else being known.
    Content,
}

impl RoleSource {
    /// Plain words for remarks.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Given => "as given",
            Self::Attribute => "from the file's attribute",
            Self::Name => "guessed from the file's name",
            Self::Content => "guessed from the file's content",
        }
    }
}

/// Role by the values of a .FileFunction attribute (Gerber layer format specification, section 5.6.3): `Copper,L1,Top`,
/// `Soldermask,Bot`, `Profile,NP`, `Plated,1,2,PTH`, ...
#[must_use]
pub fn role_by_attribute(values: &[String]) -> Option<Role> {
    let lower: Vec<String> = values.iter().map(|v| v.trim().to_ascii_lowercase()).collect();
    let has = |word: &str| lower.iter().skip(1).any(|v| v == word);
    let sided = |top: Role, bottom: Role| match (has("top"), has("bot") || has("bottom")) {
        (true, false) => top,
        (false, true) => bottom,
        _ => Role::Other,
    };
    Some(match lower.first()?.as_str() {
        "copper" => match (has("top"), has("bot") || has("bottom")) {
            (true, _) => Role::CopperTop,
            (false, true) => Role::CopperBottom,
            _ => {
                let number = lower.get(1).and_then(|l| l.strip_prefix('l')).and_then(|n| n.parse().ok());
                number.map_or(Role::Other, Role::CopperInner)
            }
        },
        "soldermask" => sided(Role::MaskTop, Role::MaskBottom),
        "paste" => sided(Role::PasteTop, Role::PasteBottom),
        "legend" => sided(Role::LegendTop, Role::LegendBottom),
        "profile" => Role::Profile,
        "plated" => Role::Drill(Some(true)),
        "nonplated" => Role::Drill(Some(false)),
        "mixedplating" => Role::Drill(None),
        "component" => Role::Centroid,
        _ => Role::Other,
    })
}

/// Role by file name: a common ending first, else the words in the name. Common practice, no source.
#[must_use]
pub fn role_by_name(file: &str) -> Option<Role> {
    let base = file.rsplit(['/', '\\']).next().unwrap_or(file);
    let (stem, ending) = base.rsplit_once('.').unwrap_or((base, ""));
    let words = words_of(stem);
    by_ending(&ending.to_ascii_lowercase(), stem, &words).or_else(|| by_words(&words, stem))
}

/// Letters and digits in runs, cut at changes from lower to upper case.
fn words_of(stem: &str) -> Vec<String> {
    let mut words = vec![String::new()];
    let mut before = ' ';
    for c in stem.chars() {
        let starts = !c.is_alphanumeric() || (c.is_uppercase() && before.is_lowercase());
        if starts && words.last().is_some_and(|w| !w.is_empty()) {
            words.push(String::new());
        }
        if c.is_alphanumeric()
            && let Some(word) = words.last_mut()
        {
            word.extend(c.to_lowercase());
        }
        before = c;
    }
    words.retain(|w| !w.is_empty());
    words
}

fn by_ending(ending: &str, stem: &str, words: &[String]) -> Option<Role> {
    Some(match ending {
        "gtl" | "cmp" | "top" | "art01" => Role::CopperTop,
        "gbl" | "sol" | "bot" | "art02" => Role::CopperBottom,
        "gts" | "stc" | "smt" | "tsm" => Role::MaskTop,
        "gbs" | "sts" | "smb" | "bsm" => Role::MaskBottom,
        "gtp" | "crc" | "spt" | "tsp" => Role::PasteTop,
        "gbp" | "crs" | "spb" | "bsp" => Role::PasteBottom,
        "gto" | "plc" | "sst" | "tsk" => Role::LegendTop,
        "gbo" | "pls" | "ssb" | "bsk" => Role::LegendBottom,
        "gko" | "gml" | "gm1" | "mil" | "dim" => Role::Profile,
        "drl" | "xln" | "drd" | "nc" | "exc" | "tap" | "ncd" | "xnc" => Role::Drill(plating_in_words(stem)),
        "ipc" | "d356" | "356" => Role::Netlist,
        "csv" | "pos" | "xy" | "mnt" => Role::Centroid,
        "pho" | "gbr" | "ger" | "gbx" | "art" | "txt" | "" => return None,
        _ => return inner_ending(ending).or_else(|| by_words(words, stem)),
    })
}

/// `g1`, `g2` ... and `gl2`, `in1`: inner copper layers; `g1` is the first below the top.
fn inner_ending(ending: &str) -> Option<Role> {
    let number =
        |prefix: &str| ending.strip_prefix(prefix).and_then(|n| n.parse::<u16>().ok()).filter(|n| *n < 64);
    if let Some(layer) = number("gl") {
        return Some(Role::CopperInner(layer));
    }
    number("g").or_else(|| number("in")).map(|n| Role::CopperInner(n.saturating_add(1)))
}

fn by_words(words: &[String], stem: &str) -> Option<Role> {
    let has = |wanted: &[&str]| words.iter().any(|w| wanted.contains(&w.as_str()));
    let top = has(&["top", "front", "f", "component", "upper", "tcu"]);
    let bottom = has(&["bottom", "bot", "back", "b", "rear", "lower", "solderside"]);
    let sided = |t: Role, b: Role| match (top, bottom) {
        (true, false) => Some(t),
        (false, true) => Some(b),
        _ => None,
    };
    if has(&["drill", "drills", "holes", "pth", "npth", "excellon", "drl", "xnc", "slots"]) {
        return Some(Role::Drill(plating_in_words(stem)));
    }
    if has(&["outline", "profile", "edge", "edges", "cuts", "border", "contour", "dimension", "mechanical"]) {
        return Some(Role::Profile);
    }
    if has(&["centroid", "placement", "positions", "position", "pos", "pnp", "xy"]) {
        return Some(Role::Centroid);
    }
    if has(&["netlist", "nets", "ipc"]) {
        return Some(Role::Netlist);
    }
    if has(&["mask", "soldermask", "smask", "resist"]) {
        return sided(Role::MaskTop, Role::MaskBottom);
    }
    if has(&["paste", "solderpaste", "pastemask", "stencil", "cream"]) {
        return sided(Role::PasteTop, Role::PasteBottom);
    }
    if has(&["legend", "silk", "silks", "silkscreen", "overlay", "ident"]) {
        return sided(Role::LegendTop, Role::LegendBottom);
    }
    if has(&["copper", "cu", "layer", "signal"]) {
        return sided(Role::CopperTop, Role::CopperBottom).or_else(|| inner_word(words));
    }
    None
}

/// `In1_Cu`, `inner2`, `layer 3`: an inner layer's number.
fn inner_word(words: &[String]) -> Option<Role> {
    let number = |w: &String| {
        let digits = w.strip_prefix("inner").or_else(|| w.strip_prefix("in"))?;
        digits.parse::<u16>().ok().filter(|n| (1..64).contains(n))
    };
    words.iter().find_map(number).map(|n| Role::CopperInner(n + 1))
}

#[cfg(test)]
mod tests {
    use super::{Role, role_by_attribute, role_by_name};

    fn attribute(text: &str) -> Option<Role> {
        role_by_attribute(&text.split(',').map(str::to_owned).collect::<Vec<_>>())
    }

    #[test]
    fn attributes_of_the_specification() {
        assert_eq!(attribute("Copper,L1,Top"), Some(Role::CopperTop));
        assert_eq!(attribute("Copper,L3,Inr,Plane"), Some(Role::CopperInner(3)));
        assert_eq!(attribute("Copper,L4,Bot,Mixed"), Some(Role::CopperBottom));
        assert_eq!(attribute("Soldermask,Bot,1"), Some(Role::MaskBottom));
        assert_eq!(attribute("Paste,Top"), Some(Role::PasteTop));
        assert_eq!(attribute("Profile,NP"), Some(Role::Profile));
        assert_eq!(attribute("NonPlated,1,2,NPTH,Drill"), Some(Role::Drill(Some(false))));
        assert_eq!(attribute("AssemblyDrawing,Top"), Some(Role::Other));
    }

    #[test]
    fn endings_and_words() {
        for (name, role) in [
            ("lamp.GTL", Role::CopperTop),
            ("lamp.gbl", Role::CopperBottom),
            ("a/b/lamp.GBS", Role::MaskBottom),
            ("lamp.gko", Role::Profile),
            ("lamp.GM1", Role::Profile),
            ("lamp.MIL", Role::Profile),
            ("lamp.g2", Role::CopperInner(3)),
            ("lamp-F_Cu.gbr", Role::CopperTop),
            ("lamp-In1_Cu.gbr", Role::CopperInner(2)),
            ("lamp-Edge_Cuts.pho", Role::Profile),
            ("lamp-F_Mask.pho", Role::MaskTop),
            ("lamp-B_SilkS.gbr", Role::LegendBottom),
            ("copper_bottom.gbr", Role::CopperBottom),
            ("top copper.ger", Role::CopperTop),
            ("lamp-NPTH.drl", Role::Drill(Some(false))),
            ("lamp.xln", Role::Drill(None)),
            ("lamp drill.txt", Role::Drill(None)),
            ("lamp-centroid.csv", Role::Centroid),
            ("outline.gbr", Role::Profile),
            ("TopMask.gbr", Role::MaskTop),
        ] {
            assert_eq!(role_by_name(name), Some(role), "{name}");
        }
        for name in ["lamp.txt", "readme", "lamp.gbr", "", "."] {
            assert_eq!(role_by_name(name), None, "{name}");
        }
    }

    #[test]
    fn names_read_back() {
        for role in Role::NAMED.into_iter().chain([Role::CopperInner(2)]) {
            assert_eq!(Role::from_name(&role.name()), Some(role));
        }
        assert_eq!(Role::from_name("Copper-Top"), Some(Role::CopperTop));
        assert_eq!(Role::from_name("copper"), None);
    }
}

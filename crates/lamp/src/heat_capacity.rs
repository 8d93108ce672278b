//! What a lamp stores: the heat capacity of board, bond line, heatsink base and fins, by their geometry and the materials table.
//!
//! Equation: `C = sum of rho c V` over the parts (the definition of heat capacity at constant pressure). Emitters, solder, screws,
//! wires and the sensor are left out: some J/K of a hundred and more. Holes are counted as if they were filled.

use crate::as_built::{Bond, Cooling, Heatsink, StackLayer, Variant};
use crate::cooling::air_side::Fins;
use crate::material::{Material, TABLE};

/// A part that stores heat.
#[derive(Debug, Clone, PartialEq)]
pub struct Store {
    /// Which, in plain words.
    pub part: String,
    /// Heat capacity, J/K.
    pub j_per_k: f64,
    /// Whether its substance is in the materials table; else it is taken by its class.
    pub known: bool,
}

/// What a variant stores.
#[derive(Debug, Clone, PartialEq)]
pub struct Stores {
    /// Layers of the board, and the bond line.
    pub board: Vec<Store>,
    /// Base and fins of the heatsink; none without one.
    pub heatsink: Vec<Store>,
    /// Whether the heatsink may have fins that nobody states: it is given by its resistance or film alone.
    pub fins_unknown: bool,
}

impl Stores {
    /// Heat capacity of board and bond line, J/K.
    #[must_use]
    pub fn board_j_per_k(&self) -> f64 {
        self.board.iter().map(|s| s.j_per_k).sum()
    }

    /// Heat capacity of the heatsink, J/K; 0 without one.
    #[must_use]
    pub fn heatsink_j_per_k(&self) -> f64 {
        self.heatsink.iter().map(|s| s.j_per_k).sum()
    }

    /// Everything, J/K.
    #[must_use]
    pub fn whole_j_per_k(&self) -> f64 {
        self.board_j_per_k() + self.heatsink_j_per_k()
    }

    /// Part of the whole whose substance is taken by its class, 0 to 1.
    #[must_use]
    pub fn part_by_class(&self) -> f64 {
        let by_class = self.board.iter().chain(&self.heatsink).filter(|s| !s.known).map(|s| s.j_per_k);
        by_class.sum::<f64>() / self.whole_j_per_k().max(f64::MIN_POSITIVE)
    }
}

/// From here on a substance that is not in the table is taken for a metal, W/m/K.
const METAL_W_PER_M_K: f64 = 20.0;
/// Metals of boards and heatsinks, J/m³/K: aluminium alloys 2.36e6 to 2.43e6 (the table's rows); copper has 3.4e6.
const METAL_J_PER_M3_K: f64 = 2.42e6;
/// Laminates, filled epoxies, greases and pads, J/m³/K: 1.9e6 to 2.5e6 (the table's rows).
const POLYMER_J_PER_M3_K: f64 = 2.1e6;

/// Density times specific heat of a substance, J/m³/K, and whether it is in the materials table.
#[must_use]
pub fn volumetric_j_per_m3_k(material: &Material) -> (f64, bool) {
    let row = TABLE.iter().find(|row| row.name.eq_ignore_ascii_case(material.name.trim()));
    match row {
        Some(row) => (row.density_kg_per_m3 * row.heat_capacity_j_per_kg_k, true),
        None if material.kx_w_per_m_k >= METAL_W_PER_M_K => (METAL_J_PER_M3_K, false),
        None => (POLYMER_J_PER_M3_K, false),
    }
}

/// What a variant stores, part by part.
#[must_use]
pub fn stores(variant: &Variant) -> Stores {
    let board_m2 = 1e-6 * variant.outline.area_mm2();
    let mut board: Vec<Store> = variant.layers.iter().map(|l| layer(l, board_m2)).collect();
    board.extend(variant.bond.as_ref().and_then(|b| bond_line(b, board_m2)));
    let heatsink = variant.heatsink.as_ref().map(heatsink).unwrap_or_default();
    let fins_unknown = variant.heatsink.as_ref().is_some_and(|h| !matches!(h.cooling, Cooling::Air(_)));
    Stores { board, heatsink, fins_unknown }
}

fn layer(layer: &StackLayer, board_m2: f64) -> Store {
    let area_m2 = layer.pattern.as_ref().map_or(board_m2, |copper| 1e-6 * copper.area_mm2());
    let (own, known) = volumetric_j_per_m3_k(&layer.material);
    // Between the copper there is mask or resin.
    let gaps = if layer.pattern.is_some() { (board_m2 - area_m2).max(0.0) * POLYMER_J_PER_M3_K } else { 0.0 };
    Store { part: layer.name.clone(), j_per_k: (area_m2 * own + gaps) * layer.thickness_m, known }
}

fn bond_line(bond: &Bond, board_m2: f64) -> Option<Store> {
    let thickness_m = bond.thickness_m.filter(|m| *m > 0.0)?;
    let j_per_k = board_m2 * thickness_m * POLYMER_J_PER_M3_K;
    Some(Store { part: "bond line".to_owned(), j_per_k, known: false })
}

fn heatsink(of: &Heatsink) -> Vec<Store> {
    let (own, known) = volumetric_j_per_m3_k(&of.material);
    let store = |part: &str, m3: f64| Store { part: part.to_owned(), j_per_k: own * m3, known };
    let mut all = vec![store("heatsink base", 1e-6 * of.base.area_mm2() * of.thickness_m)];
    if let Cooling::Air(side) = &of.cooling {
        let m3 = match side.fins {
            Fins::Plain => 0.0,
            Fins::Plates { count, height_m, thickness_m, .. } => {
                f64::from(count) * height_m * thickness_m * side.along_m
            }
            Fins::Pins { count: [along, across], height_m, diameter_m } => {
                let pins = f64::from(along) * f64::from(across);
                pins * height_m * std::f64::consts::FRAC_PI_4 * diameter_m * diameter_m
            }
        };
        if m3 > 0.0 {
            all.push(store("fins", m3));
        }
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::project::{MemoryFolder, read};

    fn sketch(text: &str) -> Variant {
        let folder = MemoryFolder::new([("lamp.toml".to_owned(), text.as_bytes().to_vec())]);
        let reading = read(&folder);
        reading.lamp.unwrap_or_else(|| panic!("{:?}", reading.remarks)).variants.remove(0)
    }

    const LAMP: &str = r#"
[lamp]
name = "a slab on a finned base"
ambient = "25 degC"
[bond]
thickness = "100 um"
conductivity = "2 W/m/K"
[heatsink]
base = ["80 mm", "60 mm"]
base_thickness = "6 mm"
material = "aluminium 6063-T5"
fins = "plates"
fin_count = 16
fin_height = "20 mm"
fin_thickness = "1.5 mm"
channels = "along y"
[variant.a]
outline = ["50 mm", "40 mm"]
[variant.a.board]
kind = "layers"
[[variant.a.layer]]
name = "slab"
thickness = "2 mm"
material = "copper, pure"
[[variant.a.layer]]
name = "film"
thickness = "0.1 mm"
conductivity = "1 W/m/K"
[[variant.a.heat]]
name = "patch"
at = ["25 mm", "20 mm"]
size = ["5 mm", "5 mm"]
power = "5 W"
"#;

    /// By hand, from density and specific heat as published: pure copper 8933 kg/m³ and 385 J/kg/K (Incropera et al., Appendix A),
    /// aluminium 6063 2690 kg/m³ and 900 J/kg/K (makers' tables): the slab 13.757 J/K, the base 69.725, sixteen fins of
    /// 20 x 1.5 x 60 mm 69.725. Exact but for rounding.
    #[test]
    fn a_slab_on_a_finned_base_by_hand() {
        let found = stores(&sketch(LAMP));
        let slab = 0.050 * 0.040 * 0.002 * 8933.0 * 385.0;
        let base = 0.080 * 0.060 * 0.006 * 2690.0 * 900.0;
        let fins = 16.0 * 0.020 * 0.0015 * 0.060 * 2690.0 * 900.0;
        for (part, by_hand) in [("slab", slab), ("heatsink base", base), ("fins", fins)] {
            let all = found.board.iter().chain(&found.heatsink);
            let one = all.clone().find(|s| s.part == part).unwrap_or_else(|| panic!("{part} {found:?}"));
            assert!((one.j_per_k / by_hand - 1.0).abs() < 1e-9 && one.known, "{part}: {one:?}, {by_hand}");
        }
        assert!((found.heatsink_j_per_k() - 139.45).abs() < 0.01, "{found:?}");
        // Film and bond line: 20 cm² and 0.1 mm of polymer each, known by class alone.
        let class = 2.0 * 0.050 * 0.040 * 1e-4 * POLYMER_J_PER_M3_K;
        assert!((found.board_j_per_k() - slab - class).abs() < 1e-9);
        assert!((found.part_by_class() - class / found.whole_j_per_k()).abs() < 1e-12);
        assert!(!found.fins_unknown);
    }

    /// The classes lie within what the table's own rows spread over.
    #[test]
    fn classes_are_those_of_the_table() {
        let of = |name: &str| {
            let row = TABLE.iter().find(|row| row.name == name).unwrap();
            row.density_kg_per_m3 * row.heat_capacity_j_per_kg_k
        };
        let within =
            |value: f64, low: &str, high: &str| value >= of(low) * 0.999 && value <= of(high) * 1.001;
        assert!(within(METAL_J_PER_M3_K, "aluminium 5052", "copper, pure"));
        assert!(within(POLYMER_J_PER_M3_K, "epoxy", "thermal grease"));
        let by_class = volumetric_j_per_m3_k(&Material::isotropic("nickel, my own", 90.0, "given"));
        assert_eq!(by_class, (METAL_J_PER_M3_K, false));
    }

    #[test]
    fn a_heatsink_by_its_resistance_alone_has_fins_that_nobody_states() {
        let given = LAMP.replace("fins = \"plates\"\nfin_count = 16\nfin_height = \"20 mm\"\nfin_thickness = \"1.5 mm\"\nchannels = \"along y\"", "resistance = \"1.3 K/W\"");
        let found = stores(&sketch(&given));
        assert!(found.fins_unknown);
        assert_eq!(found.heatsink.len(), 1);
    }
}

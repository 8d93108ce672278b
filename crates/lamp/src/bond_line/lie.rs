//! A variant's board as a plate: its mesh, rigidity, bed and what holds it.

use artwork::coverage::coverage;
use artwork::shape::{Area, Point};

use super::plate::{Bed, Holds, Lie, Plate};
use super::{BondKind, BondWhatIf};
use crate::as_built::{Bond, LayerKind, StackLayer, Variant};

/// Elements along the longer side.
const ELEMENTS: f64 = 24.0;

/// Young's moduli, Pa (handbook values, from memory; laminates 18 to 26 GPa, filled dielectrics 5 to 20 GPa).
const COPPER_PA: f64 = 117e9;
const ALUMINIUM_PA: f64 = 70e9;
const LAMINATE_PA: f64 = 22e9;
const DIELECTRIC_PA: f64 = 10e9;
/// Poisson's ratio of metals and of woven laminates (from memory).
const METAL_POISSON: f64 = 0.33;
const LAMINATE_POISSON: f64 = 0.17;
/// Dielectrics thinner than this are those of metal cores, m.
const THIN_M: f64 = 3e-4;

/// How a board lies on its base.
#[derive(Debug, Clone)]
pub(super) struct Laid {
    lie: Lie,
    origin_nm: [f64; 2],
    /// Greatest pull that a screw must give to hold the board as told, N.
    pub screw_pull_n: Option<f64>,
    /// Whether the plate's shape was found to its last digit.
    pub settled: bool,
}

impl Laid {
    /// Gap at a place, m.
    pub fn gap_m(&self, x_nm: f64, y_nm: f64) -> f64 {
        self.lie.gap_m([1e-9 * (x_nm - self.origin_nm[0]), 1e-9 * (y_nm - self.origin_nm[1])]).max(0.0)
    }
}

fn modulus_pa(layer: &StackLayer) -> f64 {
    match layer.kind {
        LayerKind::Copper => COPPER_PA,
        LayerKind::Core if layer.material.name.to_lowercase().contains("copper") => COPPER_PA,
        LayerKind::Core => ALUMINIUM_PA,
        LayerKind::Dielectric if layer.thickness_m < THIN_M => DIELECTRIC_PA,
        // Metals conduct ten times as well as anything that does not bend like a laminate.
        LayerKind::Plain if layer.material.kz_w_per_m_k > 50.0 => ALUMINIUM_PA,
        LayerKind::Dielectric | LayerKind::Plain => LAMINATE_PA,
    }
}

/// Poisson's ratio of a stack: that of its core, or of its laminate.
fn poisson(layers: &[StackLayer]) -> f64 {
    let metal = layers.iter().any(|l| l.kind != LayerKind::Copper && modulus_pa(l) >= ALUMINIUM_PA);
    if metal { METAL_POISSON } else { LAMINATE_POISSON }
}

/// Bending rigidity of a stack, N m: `D = sum E_i (b_i³ - a_i³) / 3 / (1 - n²)` with the layers' faces `a`, `b` measured from the neutral
/// plane `z = sum E_i t_i z_i / sum E_i t_i` (laminated plate of layers of one Poisson's ratio; Timoshenko and Woinowsky-Krieger,
/// article 23, from memory). Copper counts by the part of the board it covers; moduli are typical, from memory: good to a fifth.
#[must_use]
pub fn rigidity_n_m(layers: &[StackLayer], board_mm2: f64) -> f64 {
    let n = poisson(layers);
    let stiff = |layer: &StackLayer| {
        let part =
            layer.pattern.as_ref().map_or(1.0, |p| (p.area_mm2() / board_mm2.max(1e-9)).clamp(0.0, 1.0));
        modulus_pa(layer) * part
    };
    let (mut z, mut first, mut sum) = (0.0, 0.0, 0.0);
    for layer in layers {
        let e_t = stiff(layer) * layer.thickness_m;
        sum += e_t;
        first += e_t * (z + 0.5 * layer.thickness_m);
        z += layer.thickness_m;
    }
    if sum <= 0.0 {
        return 0.0;
    }
    let neutral = first / sum;
    let (mut z, mut rigidity) = (-neutral, 0.0);
    for layer in layers {
        let below = z + layer.thickness_m;
        rigidity += stiff(layer) * (below.powi(3) - z.powi(3)) / 3.0;
        z = below;
    }
    rigidity / (1.0 - n * n)
}

/// How a variant's board lies, or `None` where the film is even.
pub(super) fn laid(variant: &Variant, bond: &Bond, what_if: BondWhatIf) -> Option<Laid> {
    let flatness = &variant.flatness;
    let burrs = flatness.has_burrs() && !what_if.without_burrs;
    let bow = flatness.has_bow() && !what_if.without_bow;
    let thickness = bond.thickness_m.filter(|t| *t > 0.0)?;
    bond.conductivity_w_per_m_k?;
    let interface = &bond.interface;
    let pad = interface.compression.as_ref().filter(|_| interface.kind == BondKind::Pad);
    let forces: f64 = variant.screws.iter().filter_map(|s| s.force_n).sum();
    let by_screws = pad.is_some() && !variant.screws.is_empty();
    if !(burrs || bow || by_screws) {
        return None;
    }
    let bounds = variant.outline.bounds()?;
    let [wide, high] = [1e-9 * bounds.width_nm() as f64, 1e-9 * bounds.height_nm() as f64];
    let target = wide.max(high) / ELEMENTS;
    let cells = [wide, high].map(|side| ((side / target).round() as usize).clamp(2, 48));
    let size_m = [wide / cells[0] as f64, high / cells[1] as f64];
    let origin_nm = [f64::from(bounds.min.x_nm), f64::from(bounds.min.y_nm)];
    let lines = |k: usize, half: f64| -> Vec<f64> {
        let count = cells[k] + 1 + usize::from(half > 0.0);
        (0..count).map(|i| origin_nm[k] + 1e9 * size_m[k] * (i as f64 - half)).collect()
    };
    let present: Vec<bool> =
        coverage(&variant.outline, &lines(0, 0.0), &lines(1, 0.0)).iter().map(|share| *share > 0.5).collect();
    let bedded = coverage(&bed_area(variant, bond), &lines(0, 0.5), &lines(1, 0.5));
    let at =
        |p: Point| [1e-9 * (f64::from(p.x_nm) - origin_nm[0]), 1e-9 * (f64::from(p.y_nm) - origin_nm[1])];
    let burr = |p: Point| if burrs && flatness.burrs.contains(&p) { flatness.burr_m } else { 0.0 };
    let board_m2 = 1e-6 * variant.outline.area_mm2();
    // Screws hold to the film's least thickness, or, on a pad, pull with their force.
    let each = interface.pressure_pa.map(|p| p * board_m2 / variant.screws.len().max(1) as f64);
    let hold = |screw: &super::Screw| match pad {
        None => Holds::At(thickness.max(burr(screw.at))),
        Some(_) => Holds::Pull(screw.force_n.filter(|_| forces > 0.0).or(each).unwrap_or(0.0)),
    };
    let mut holds: Vec<([f64; 2], Holds)> = variant.screws.iter().map(|s| (at(s.at), hold(s))).collect();
    let screws = holds.len();
    if burrs {
        let held = |p: &Point| pad.is_none() && variant.screws.iter().any(|s| s.at == *p);
        let bed = bed_area(variant, bond);
        let props = flatness.burrs.iter().filter(|p| !held(p) && bed.contains(**p));
        holds.extend(props.map(|p| (at(*p), Holds::NotBelow(flatness.burr_m))));
    }
    let curved = |bow: super::Bow| bow.curvatures_per_m();
    let (a, b) = (curved(flatness.board), curved(flatness.heatsink));
    let plate = Plate {
        cells,
        size_m,
        present,
        bedded,
        rigidity_n_m: rigidity_n_m(&variant.layers, variant.outline.area_mm2()).max(1e-6),
        poisson: poisson(&variant.layers),
        curved_per_m: if bow { [a[0] + b[0], a[1] + b[1]] } else { [0.0; 2] },
        bed: pad.map_or(Bed::Hard(thickness), |curve| Bed::Pad(thickness, curve)),
        pressure_pa: if by_screws { 0.0 } else { pad.and(interface.pressure_pa).unwrap_or(0.0) },
        holds,
    };
    let lie = plate.lie();
    let screw_pull_n = lie.pulls_n.iter().take(screws).copied().reduce(f64::max).filter(|_| pad.is_none());
    Some(Laid { settled: lie.settled, lie, origin_nm, screw_pull_n })
}

/// Where the base, or its pedestals, can touch the board.
fn bed_area(variant: &Variant, bond: &Bond) -> Area {
    let base = variant.heatsink.as_ref().map(|h| h.base.clone()).unwrap_or_default();
    let pedestals = &bond.interface.pedestals;
    if pedestals.is_empty() {
        return base;
    }
    let all = pedestals.iter().fold(Area::default(), |sum, p| sum.union(p));
    base.intersect(&all)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::material::Material;

    fn layer(kind: LayerKind, thickness_m: f64, k: f64) -> StackLayer {
        StackLayer {
            name: "layer".to_owned(),
            kind,
            thickness_m,
            material: Material::isotropic("given", k, "given"),
            pattern: None,
            gap_conductivity_w_per_m_k: 0.3,
            resistance_below_m2k_per_w: 0.0,
        }
    }

    /// One layer: `E t³ / 12 / (1 - n²)`; a sandwich: thin faces of area `t` at distance `d` add `E t d² / 2 / (1 - n²)` (by hand).
    #[test]
    fn a_stack_has_the_rigidity_of_its_layers() {
        let one = rigidity_n_m(&[layer(LayerKind::Dielectric, 1.6e-3, 0.3)], 100.0);
        let by_hand = 22e9 * 1.6e-3f64.powi(3) / 12.0 / (1.0 - 0.17 * 0.17);
        assert!((one / by_hand - 1.0).abs() < 1e-12, "{one}");
        let face = || layer(LayerKind::Copper, 1e-6, 390.0);
        let three = rigidity_n_m(&[face(), layer(LayerKind::Dielectric, 1.6e-3, 0.3), face()], 100.0);
        let faces = 117e9 * 1e-6 * 1.6e-3f64.powi(2) / 2.0 / (1.0 - 0.17 * 0.17);
        assert!(((three - one) / faces - 1.0).abs() < 2e-3, "{three}");
    }

    /// Stacks that are not mirrored, by the parallel-axis theorem: each layer's own `E t³ / 12` and `E t d²` about the neutral plane;
    /// metal cores by their metal and its Poisson's ratio, thin dielectrics softer than laminates.
    #[test]
    fn an_uneven_stack_bends_about_its_neutral_plane() {
        let by_hand = |layers: &[(f64, f64)], poisson: f64| {
            let mut middle = 0.0;
            let middles: Vec<f64> = layers
                .iter()
                .map(|(_, t)| {
                    middle += t;
                    middle - 0.5 * t
                })
                .collect();
            let stiff: f64 = layers.iter().map(|(e, t)| e * t).sum();
            let neutral = layers.iter().zip(&middles).map(|((e, t), z)| e * t * z).sum::<f64>() / stiff;
            let each = |((e, t), z): (&(f64, f64), &f64)| {
                e * t.powi(3) / 12.0 + e * t * (z - neutral) * (z - neutral)
            };
            layers.iter().zip(&middles).map(each).sum::<f64>() / (1.0 - poisson * poisson)
        };
        let copper = || layer(LayerKind::Copper, 70e-6, 390.0);
        let thin = || layer(LayerKind::Dielectric, 100e-6, 2.0);
        let mut named = layer(LayerKind::Core, 1.5e-3, 390.0);
        named.material = Material::isotropic("copper core", 390.0, "given");
        for (last, modulus_pa, poisson) in [
            (layer(LayerKind::Core, 1.5e-3, 138.0), 70e9, 0.33),
            (named, 117e9, 0.33),
            (layer(LayerKind::Plain, 1.5e-3, 138.0), 70e9, 0.33),
            (layer(LayerKind::Plain, 1.5e-3, 0.3), 22e9, 0.17),
        ] {
            let exact = by_hand(&[(117e9, 70e-6), (10e9, 100e-6), (modulus_pa, 1.5e-3)], poisson);
            let found = rigidity_n_m(&[copper(), thin(), last], 100.0);
            assert!((found / exact - 1.0).abs() < 1e-9, "{modulus_pa}: {found} {exact}");
        }
        // Copper on a quarter of 100 mm2 counts by a quarter.
        let mut etched = copper();
        let part = artwork::shape::Bounds {
            min: artwork::shape::Point::new(0, 0),
            max: artwork::shape::Point::new(5_000_000, 5_000_000),
        };
        etched.pattern = Some(artwork::shape::Area::rectangle(part));
        let exact = by_hand(&[(0.25 * 117e9, 70e-6), (22e9, 1.6e-3)], 0.17);
        let found = rigidity_n_m(&[etched, layer(LayerKind::Dielectric, 1.6e-3, 0.3)], 100.0);
        assert!((found / exact - 1.0).abs() < 1e-9, "{found} {exact}");
    }
}

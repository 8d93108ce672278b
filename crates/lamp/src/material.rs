//! Substances: what conducts, with temperature, tolerance and source.

/// A substance with its thermal conductivities.
#[derive(Debug, Clone, PartialEq)]
pub struct Material {
    /// Name, as in the materials table, or "given" for values typed in.
    pub name: String,
    /// In-plane conductivity along x, W/m/K.
    pub kx_w_per_m_k: f64,
    /// In-plane conductivity along y, W/m/K.
    pub ky_w_per_m_k: f64,
    /// Conductivity through the thickness, W/m/K.
    pub kz_w_per_m_k: f64,
    /// Where the values come from.
    pub source: String,
}

impl Material {
    /// The same conductivity in every direction, W/m/K.
    pub fn isotropic(name: impl Into<String>, k_w_per_m_k: f64, source: impl Into<String>) -> Self {
        Self {
            name: name.into(),
            kx_w_per_m_k: k_w_per_m_k,
            ky_w_per_m_k: k_w_per_m_k,
            kz_w_per_m_k: k_w_per_m_k,
            source: source.into(),
        }
    }

    /// A row of the materials table by name; case does not matter.
    #[must_use]
    pub fn known(name: &str) -> Option<Self> {
        TABLE.iter().find(|row| row.name.eq_ignore_ascii_case(name.trim())).map(Row::material)
    }
}

/// A row of the materials table.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Row {
    /// Name, as lamp.toml uses it.
    pub name: &'static str,
    /// In-plane conductivity, W/m/K.
    pub k_in_plane_w_per_m_k: f64,
    /// Conductivity through the thickness, W/m/K.
    pub k_through_w_per_m_k: f64,
    /// Temperature at which it holds, degC.
    pub temperature_c: f64,
    /// Half the spread between sources or lots, as a fraction of the value.
    pub tolerance_fraction: f64,
    /// Density, kg/m³.
    pub density_kg_per_m3: f64,
    /// Heat capacity, J/kg/K.
    pub heat_capacity_j_per_kg_k: f64,
    /// Emissivity of its usual surface, 0..1, where known.
    pub emissivity: Option<f64>,
    /// Where the values come from.
    pub source: &'static str,
}

impl Row {
    /// The row as a substance.
    #[must_use]
    pub fn material(&self) -> Material {
        Material {
            name: self.name.to_owned(),
            kx_w_per_m_k: self.k_in_plane_w_per_m_k,
            ky_w_per_m_k: self.k_in_plane_w_per_m_k,
            kz_w_per_m_k: self.k_through_w_per_m_k,
            source: self.source.to_owned(),
        }
    }
}

const fn even(
    name: &'static str,
    k: f64,
    tolerance_fraction: f64,
    density_kg_per_m3: f64,
    heat_capacity_j_per_kg_k: f64,
    emissivity: Option<f64>,
    source: &'static str,
) -> Row {
    Row {
        name,
        k_in_plane_w_per_m_k: k,
        k_through_w_per_m_k: k,
        temperature_c: 25.0,
        tolerance_fraction,
        density_kg_per_m3,
        heat_capacity_j_per_kg_k,
        emissivity,
        source,
    }
}

const MEMORY: &str = "from memory";
const ALUMINIUM_TABLES: &str = "makers' aluminium data sheets (typical values; 0.14 to 0.23 kW/m/K by alloy)";

/// The substances that lamp.toml may name.
pub const TABLE: &[Row] = &[
    even(
        "copper",
        390.0,
        0.025,
        8940.0,
        385.0,
        Some(0.05),
        "electrodeposited foil, 380 to 398 W/m/K, from memory; pure C101 copper is 400 W/m/K in makers' tables",
    ),
    even(
        "copper, pure",
        401.0,
        0.01,
        8933.0,
        385.0,
        Some(0.05),
        "Incropera et al., Fundamentals of Heat and Mass Transfer, Appendix A, 300 K",
    ),
    even("aluminium 1050", 229.0, 0.02, 2705.0, 900.0, Some(0.09), ALUMINIUM_TABLES),
    even("aluminium 5052", 138.0, 0.02, 2680.0, 880.0, Some(0.09), ALUMINIUM_TABLES),
    even("aluminium 6061-T6", 167.0, 0.02, 2700.0, 896.0, Some(0.09), ALUMINIUM_TABLES),
    even("aluminium 6063-T5", 209.0, 0.02, 2690.0, 900.0, Some(0.09), ALUMINIUM_TABLES),
    even("aluminium 6063-T6", 201.0, 0.02, 2690.0, 900.0, Some(0.09), ALUMINIUM_TABLES),
    Row {
        name: "FR4 laminate",
        k_in_plane_w_per_m_k: 0.81,
        k_through_w_per_m_k: 0.29,
        temperature_c: 25.0,
        tolerance_fraction: 0.2,
        density_kg_per_m3: 1850.0,
        heat_capacity_j_per_kg_k: 1100.0,
        emissivity: Some(0.9),
        source: "Graebner and Azar, J. Heat Transfer 119 (1997) 401-405: in-plane about three times through; other \
                 measurements give 1.06 and 0.34",
    },
    even("epoxy", 0.3, 0.2, 1900.0, 1000.0, Some(0.9), MEMORY),
    even("filled epoxy 1 W/m/K class", 1.0, 0.25, 2000.0, 950.0, None, MEMORY),
    even("filled epoxy 2 W/m/K class", 2.0, 0.1, 2300.0, 900.0, None, MEMORY),
    even("filled epoxy 3 W/m/K class", 3.0, 0.1, 2500.0, 900.0, None, MEMORY),
    even("filled epoxy 8 W/m/K class", 8.0, 0.125, 2900.0, 850.0, None, MEMORY),
    even(
        "solder SAC305",
        58.0,
        0.1,
        7380.0,
        230.0,
        None,
        "published solder-alloy reference table; heat capacity from memory",
    ),
    even("solder Sn42Bi58", 20.0, 0.05, 8560.0, 167.0, None, MEMORY),
    even("solder mask", 0.22, 0.12, 1300.0, 1200.0, Some(0.9), MEMORY),
    even("thermal grease", 3.0, 0.5, 2500.0, 1000.0, None, "0.7 to 5 W/m/K by make, from memory"),
    even("silicone gap pad", 3.0, 0.5, 2200.0, 1000.0, None, "1 to 6 W/m/K by make, from memory"),
    even(
        "air",
        0.026,
        0.05,
        1.18,
        1006.0,
        None,
        "dry air at 300 K and 101325 Pa: 0.0264 W/m/K (Lemmon and Jacobsen 2004)",
    ),
];

#[cfg(test)]
mod tests {
    use super::{Material, TABLE};

    /// Values a reader can find in the sources named in the rows.
    #[test]
    fn values_stand_as_published() {
        // Name, in-plane and through, W/m/K, as the sources give them; the plain ones from memory, as their rows say.
        let published = [
            ("copper", 390.0, 390.0),
            ("copper, pure", 401.0, 401.0),
            ("aluminium 1050", 229.0, 229.0),
            ("aluminium 5052", 138.0, 138.0),
            ("aluminium 6061-T6", 167.0, 167.0),
            ("aluminium 6063-T5", 209.0, 209.0),
            ("aluminium 6063-T6", 201.0, 201.0),
            ("FR4 laminate", 0.81, 0.29),
            ("epoxy", 0.3, 0.3),
            ("filled epoxy 1 W/m/K class", 1.0, 1.0),
            ("filled epoxy 2 W/m/K class", 2.0, 2.0),
            ("filled epoxy 3 W/m/K class", 3.0, 3.0),
            ("filled epoxy 8 W/m/K class", 8.0, 8.0),
            ("solder SAC305", 58.0, 58.0),
            ("solder Sn42Bi58", 20.0, 20.0),
            ("solder mask", 0.22, 0.22),
            ("thermal grease", 3.0, 3.0),
            ("silicone gap pad", 3.0, 3.0),
            ("air", 0.026, 0.026),
        ];
        assert_eq!(published.len(), TABLE.len(), "a row of the table is not in this list");
        for (name, in_plane, through) in published {
            let found = Material::known(name).unwrap();
            assert_eq!(
                [found.kx_w_per_m_k, found.ky_w_per_m_k, found.kz_w_per_m_k],
                [in_plane, in_plane, through],
                "{name}"
            );
        }
        let given = Material::isotropic("given", 2.5, "given");
        assert_eq!([given.kx_w_per_m_k, given.ky_w_per_m_k, given.kz_w_per_m_k], [2.5; 3]);
        // Air at 300 K, 0.02638 W/m/K of Lemmon and Jacobsen 2004 (see cooling::air), to the two digits of the row.
        let air = crate::cooling::air::air(300.0).k_w_per_m_k;
        let k = |name: &str| Material::known(name).unwrap().kz_w_per_m_k;
        assert_eq!((1e3 * air).round(), (1e3 * k("air")).round());
        // Incropera et al., Appendix A: pure copper at 300 K.
        assert_eq!(k("copper, pure"), 401.0);
        // Makers' tables: 5052 80 Btu/ft/h/F = 138.5; 6063-T6 116 Btu/ft/h/F = 200.8 W/m/K (1.7307 W/m/K each).
        assert!((k("aluminium 5052") - 80.0 * 1.7307).abs() < 1.0);
        assert!((k("aluminium 6063-T6") - 116.0 * 1.7307).abs() < 1.0);
        // Graebner and Azar 1997: in-plane about three times through.
        let laminate = Material::known("fr4 LAMINATE").unwrap();
        assert!((laminate.kx_w_per_m_k / laminate.kz_w_per_m_k - 3.0).abs() < 0.5);
        assert_eq!(Material::known("unobtainium"), None);
    }

    #[test]
    fn every_row_is_whole() {
        for row in TABLE {
            assert!(
                row.k_in_plane_w_per_m_k > 0.0 && row.k_through_w_per_m_k > 0.0 && !row.source.is_empty()
            );
            assert!(row.tolerance_fraction > 0.0 && row.tolerance_fraction <= 0.5, "{}", row.name);
            assert!(row.emissivity.is_none_or(|e| (0.0..=1.0).contains(&e)));
            assert_eq!(TABLE.iter().filter(|other| other.name.eq_ignore_ascii_case(row.name)).count(), 1);
        }
    }
}

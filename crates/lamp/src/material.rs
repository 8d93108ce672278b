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

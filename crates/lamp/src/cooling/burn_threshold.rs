//! From which temperature on touching a surface burns skin.
//!
//! ISO 13732-1:2006, burn thresholds, all from memory: for 1 s the lower edge of the band that the standard draws, for 10 s the
//! value read from its figures, for 1 min and longer its table.

/// What a surface is made of, as the skin feels it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TouchMaterial {
    /// Bare metal; a thin paint or anodising changes little.
    Metal,
    /// Ceramics, glass, stone.
    Ceramic,
    /// Plastics, and a board's mask and laminate.
    Plastic,
    /// Wood.
    Wood,
}

/// How long it is touched.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Contact {
    /// A hand that pulls back, 1 s.
    OneSecond,
    /// A hand that grips or adjusts, 10 s.
    TenSeconds,
    /// 1 min.
    OneMinute,
    /// 10 min.
    TenMinutes,
    /// 8 h and longer.
    EightHours,
}

/// Where the thresholds come from, for findings.
pub const BURN_SOURCE: &str = "ISO 13732-1:2006, from memory";

/// Temperature, degC, from which a contact of this time can burn.
#[must_use]
pub fn burn_threshold_c_iso_13732(material: TouchMaterial, contact: Contact) -> f64 {
    use Contact::{EightHours, OneMinute, OneSecond, TenMinutes, TenSeconds};
    use TouchMaterial::{Ceramic, Metal, Plastic, Wood};
    match (contact, material) {
        (OneSecond, Metal) => 65.0,
        (OneSecond, Ceramic) => 80.0,
        (OneSecond, Plastic) => 85.0,
        (OneSecond, Wood) => 110.0,
        (TenSeconds, Metal) => 55.0,
        (TenSeconds, Ceramic) => 66.0,
        (TenSeconds, Plastic) => 71.0,
        (TenSeconds, Wood) => 89.0,
        (OneMinute, Metal) => 51.0,
        (OneMinute, Ceramic) => 56.0,
        (OneMinute, Plastic | Wood) => 60.0,
        (TenMinutes, _) => 48.0,
        (EightHours, _) => 43.0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// ISO 13732-1, table of thresholds for 1 min, 10 min and 8 h (from memory).
    #[test]
    fn long_contacts_have_the_tables_thresholds() {
        let at = burn_threshold_c_iso_13732;
        assert_eq!(at(TouchMaterial::Metal, Contact::OneMinute), 51.0);
        assert_eq!(at(TouchMaterial::Ceramic, Contact::OneMinute), 56.0);
        assert_eq!(at(TouchMaterial::Plastic, Contact::OneMinute), 60.0);
        assert_eq!(at(TouchMaterial::Metal, Contact::TenMinutes), 48.0);
        assert_eq!(at(TouchMaterial::Wood, Contact::EightHours), 43.0);
    }

    /// Longer contact burns at less, and what conducts less may be hotter.
    #[test]
    fn thresholds_fall_with_time_and_with_conduction() {
        use Contact::*;
        use TouchMaterial::*;
        let times = [OneSecond, TenSeconds, OneMinute, TenMinutes, EightHours];
        let materials = [Metal, Ceramic, Plastic, Wood];
        for m in materials {
            for w in times.windows(2) {
                assert!(burn_threshold_c_iso_13732(m, w[0]) > burn_threshold_c_iso_13732(m, w[1]));
            }
        }
        for t in times {
            for w in materials.windows(2) {
                assert!(burn_threshold_c_iso_13732(w[0], t) <= burn_threshold_c_iso_13732(w[1], t));
            }
        }
    }
}

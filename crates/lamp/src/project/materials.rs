//! Substances by name: those given in lamp.toml first, then the materials table.

use std::collections::BTreeMap;

use super::document::Section;
use super::keys::nearest;
use crate::material::{Material, TABLE};

/// Substances that may be named in a lamp.toml.
#[derive(Debug, Default)]
pub(super) struct Substances {
    own: BTreeMap<String, Material>,
}

impl Substances {
    /// Adds one of the `[material.NAME]` tables.
    pub fn add(&mut self, name: &str, section: &Section<'_>) {
        if let Some(material) = given(section, name, section.text_or_default("source")) {
            self.own.insert(name.to_lowercase(), material);
        } else if ["conductivity", "kx", "ky", "kz"].iter().all(|key| !section.has(key)) {
            section.document.error(
                section.at,
                format!("[material.\"{name}\"] needs \"conductivity\", or \"kx\", \"ky\" and \"kz\""),
            );
        }
    }

    /// The substance that a key names; says so when there is none of that name. `None` when the key is missing.
    pub fn named(&self, section: &Section<'_>, key: &'static str) -> Option<Material> {
        let name = section.text(key)?;
        let found = self.by_name(&name);
        if found.is_none() {
            let known = || self.own.keys().map(String::as_str).chain(TABLE.iter().map(|row| row.name));
            let hint = match nearest(&name, known()) {
                Some(near) => format!("did you mean \"{near}\"?"),
                None => format!("known are: {}", known().collect::<Vec<_>>().join("; ")),
            };
            section.error(key, format!("{key} = \"{name}\": no such substance; {hint}"));
        }
        found
    }

    pub fn by_name(&self, name: &str) -> Option<Material> {
        self.own.get(&name.trim().to_lowercase()).cloned().or_else(|| Material::known(name))
    }
}

/// Conductivities typed in: one for all directions, or three.
pub(super) fn given(section: &Section<'_>, name: &str, source: String) -> Option<Material> {
    let axes = (section.value("kx"), section.value("ky"), section.value("kz"));
    match (section.value("conductivity"), axes) {
        (Some(k), (None, None, None)) => Some(Material::isotropic(name, k, source)),
        (None, (Some(kx), Some(ky), Some(kz))) => Some(Material {
            name: name.to_owned(),
            kx_w_per_m_k: kx,
            ky_w_per_m_k: ky,
            kz_w_per_m_k: kz,
            source,
        }),
        (Some(_), _) => {
            section
                .error("conductivity", "give either \"conductivity\" or \"kx\", \"ky\" and \"kz\", not both");
            None
        }
        (None, (None, None, None)) => None,
        (None, _) => {
            let missing: Vec<&str> = ["kx", "ky", "kz"].into_iter().filter(|key| !section.has(key)).collect();
            if !missing.is_empty() {
                section.document.error(
                    section.at,
                    format!("\"kx\", \"ky\" and \"kz\" belong together; missing: {}", missing.join(", ")),
                );
            }
            None
        }
    }
}

//! What the page asks, as typed, to numbers.

use lamp::as_built::{Facing, Variant};
use lamp::bond_line::BondWhatIf;
use lamp::project::quantity::Quantity;
use serde::Deserialize;

use super::answers::Trouble;

/// A question as typed; every value with its unit, or empty for the lamp's own.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct Asked {
    pub variant: String,
    pub ambient: String,
    pub current: String,
    pub bond: String,
    /// What if the contact were another: "as built", "without burrs", "without bow", "flat", "no contact under D3".
    pub contact: String,
    pub heatsink: String,
    /// Voltage of the fan.
    pub fan: String,
    /// Share of the vents' free area that is open, in percent.
    pub vents: String,
    /// Where the emitter side looks: "up", "down", "sideways".
    pub facing: String,
    /// Depth to look at, as an index; nothing is drawn without.
    pub depth: Option<usize>,
    /// Copper layer whose current is looked at, as an index.
    pub copper_layer: Option<usize>,
    /// The page's own name for this question, by which it finds it among the work.
    pub asked_as: String,
}

/// A question in numbers; `None` where the lamp's own value holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Numbers {
    pub ambient_c: Option<f64>,
    pub current_a: Option<f64>,
    pub bond_m: Option<f64>,
    pub heatsink_k_per_w: Option<f64>,
    pub fan_v: Option<f64>,
    /// 0 to 1.
    pub vents_open: Option<f64>,
    pub facing: Option<Facing>,
}

/// The words for where the emitter side looks.
pub(super) const FACINGS: [(&str, Facing); 3] =
    [("up", Facing::Up), ("down", Facing::Down), ("sideways", Facing::Sideways)];

fn read(
    field: &'static str,
    typed: &str,
    quantity: Quantity,
    low: f64,
    high: f64,
    allowed: &str,
) -> Result<Option<f64>, Trouble> {
    let typed = typed.trim();
    if typed.is_empty() {
        return Ok(None);
    }
    // A bare number means the unit that the control shows.
    let bare = typed.parse::<f64>().is_ok();
    let unit = allowed.rsplit(' ').next().unwrap_or_default();
    let text = if bare { format!("{typed} {unit}") } else { typed.to_owned() };
    let value = quantity.read(&text).map_err(|text| Trouble::typed(field, text))?;
    if (low..=high).contains(&value) {
        Ok(Some(value))
    } else {
        Err(Trouble::typed(field, format!("\"{typed}\": allowed is {allowed}")))
    }
}

impl Asked {
    /// The contact asked for, of a variant.
    pub fn contact(&self, variant: &Variant) -> Result<BondWhatIf, Trouble> {
        let built = BondWhatIf::default();
        match self.contact.trim() {
            "" | "as built" => Ok(built),
            "without burrs" => Ok(BondWhatIf { without_burrs: true, ..built }),
            "without bow" => Ok(BondWhatIf { without_bow: true, ..built }),
            "flat" => Ok(BondWhatIf::flat()),
            other => {
                let reference = other.strip_prefix("no contact under ").unwrap_or_default();
                let index = variant.emitters.iter().position(|e| e.reference == reference).ok_or_else(|| {
                    Trouble::typed(
                        "contact",
                        format!(
                            "\"{other}\": allowed are \"as built\", \"without burrs\", \"without bow\", \"flat\", and \"no contact under\" an \
                             emitter of this variant"
                        ),
                    )
                })?;
                Ok(BondWhatIf { no_contact_under: Some(index), ..built })
            }
        }
    }

    pub fn numbers(&self) -> Result<Numbers, Trouble> {
        Ok(Numbers {
            ambient_c: read(
                "ambient",
                &self.ambient,
                Quantity::Temperature,
                -60.0,
                120.0,
                "-60 to 120 degC",
            )?,
            current_a: read("current", &self.current, Quantity::Current, 0.0, 100.0, "0 to 100 A")?,
            bond_m: read("bond", &self.bond, Quantity::Length, 0.0, 0.01, "0 to 10000 um")?,
            heatsink_k_per_w: read(
                "heatsink",
                &self.heatsink,
                Quantity::Resistance,
                0.001,
                1000.0,
                "0.001 to 1000 K/W",
            )?,
            fan_v: read("fan", &self.fan, Quantity::Voltage, 0.0, 400.0, "0 to 400 V")?,
            vents_open: self.vents_open()?,
            facing: self.facing()?,
        })
    }

    /// The open share of the vents, 0.01 to 1.
    fn vents_open(&self) -> Result<Option<f64>, Trouble> {
        let typed = self.vents.trim();
        if typed.is_empty() {
            return Ok(None);
        }
        let percent = typed.strip_suffix('%').unwrap_or(typed).trim().parse::<f64>().ok();
        match percent.filter(|percent| (1.0..=100.0).contains(percent)) {
            Some(percent) => Ok(Some(percent / 100.0)),
            None => {
                Err(Trouble::typed("vents", format!("\"{typed}\": allowed is 1 to 100 %, such as \"70 %\"")))
            }
        }
    }

    fn facing(&self) -> Result<Option<Facing>, Trouble> {
        let typed = self.facing.trim();
        if typed.is_empty() {
            return Ok(None);
        }
        match FACINGS.into_iter().find(|(words, _)| *words == typed) {
            Some((_, facing)) => Ok(Some(facing)),
            None => Err(Trouble::typed(
                "facing",
                format!("\"{typed}\": allowed are \"up\", \"down\" and \"sideways\""),
            )),
        }
    }
}

#[cfg(test)]
mod tests {
    use lamp::as_built::Facing;

    use super::Asked;

    #[test]
    fn units_may_be_typed_or_left_out() {
        let asked = Asked {
            ambient: "30".into(),
            bond: "0.1 mm".into(),
            current: "900 mA".into(),
            ..Asked::default()
        };
        let numbers = asked.numbers().unwrap();
        assert_eq!(
            (numbers.ambient_c, numbers.bond_m, numbers.current_a, numbers.heatsink_k_per_w),
            (Some(30.0), Some(1e-4), Some(0.9), None)
        );
        let wrong = Asked { current: "30 degC".into(), ..Asked::default() }.numbers().unwrap_err();
        assert_eq!(wrong.field, Some("current"));
        assert!(wrong.text.contains("A, mA"), "{}", wrong.text);
        assert!(Asked { heatsink: "0 K/W".into(), ..Asked::default() }.numbers().is_err());
        let air =
            Asked { fan: "6".into(), vents: "70 %".into(), facing: "sideways".into(), ..Asked::default() };
        let numbers = air.numbers().unwrap();
        assert_eq!(
            (numbers.fan_v, numbers.vents_open, numbers.facing),
            (Some(6.0), Some(0.7), Some(Facing::Sideways))
        );
        for (asked, field) in [
            (Asked { fan: "-1 V".into(), ..Asked::default() }, "fan"),
            (Asked { vents: "0 %".into(), ..Asked::default() }, "vents"),
            (Asked { vents: "open".into(), ..Asked::default() }, "vents"),
            (Asked { facing: "north".into(), ..Asked::default() }, "facing"),
        ] {
            assert_eq!(asked.numbers().unwrap_err().field, Some(field));
        }
    }
}

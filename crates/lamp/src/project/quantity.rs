//! Values with units as typed, such as "70 um" or "2 W/m/K", to SI numbers.

/// What a value measures; decides the units allowed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Quantity {
    /// Length; m.
    Length,
    /// Thickness of copper; m; ounces per square foot are allowed.
    CopperThickness,
    /// Temperature; degC.
    Temperature,
    /// Current; A.
    Current,
    /// Voltage; V.
    Voltage,
    /// Power; W.
    Power,
    /// Thermal conductivity; W/m/K.
    Conductivity,
    /// Thermal resistance; K/W.
    Resistance,
    /// Thermal resistance times area; m²K/W.
    AreaResistance,
    /// Heat transfer coefficient; W/m²/K.
    Film,
    /// Luminous flux; lm.
    Flux,
    /// Efficacy of radiation; lm/W.
    Efficacy,
    /// Voltage over temperature; V/K.
    VoltageSlope,
    /// Electrical resistance; ohm.
    Ohms,
    /// Difference of temperatures; K.
    Interval,
    /// Heat over the temperature it warms by; W/K.
    Dissipation,
    /// Cross-section of a wire; m²; American wire gauge is allowed.
    CrossSection,
    /// Pressure; Pa.
    Pressure,
    /// Force; N.
    Force,
    /// Area; m².
    Area,
    /// Flow of air; m³/s.
    Flow,
    /// Pressure of moving air; Pa.
    FanPressure,
    /// Speed of air; m/s.
    Speed,
    /// Angle; degrees.
    Angle,
    /// Time; s.
    Time,
    /// A plain number without unit.
    Number,
}

/// Unit, and its size in the quantity's own unit.
type Unit = (&'static str, f64);

const LENGTHS: &[Unit] = &[
    ("mm", 1e-3),
    ("um", 1e-6),
    ("µm", 1e-6),
    ("μm", 1e-6),
    ("cm", 1e-2),
    ("m", 1.0),
    ("in", 25.4e-3),
    ("mil", 25.4e-6),
];

const WIRE_GAUGE: &str = "AWG";

impl Quantity {
    /// Units allowed, the customary one first.
    #[must_use]
    pub fn units(self) -> Vec<Unit> {
        match self {
            Self::Length => LENGTHS.to_vec(),
            // One ounce of copper per square foot: 35 µm nominal, common practice, no source.
            Self::CopperThickness => [&[("um", 1e-6), ("oz", 35e-6)], LENGTHS].concat(),
            Self::Temperature => vec![("degC", 1.0), ("°C", 1.0), ("C", 1.0), ("K", 1.0)],
            Self::Current => vec![("A", 1.0), ("mA", 1e-3)],
            Self::Voltage => vec![("V", 1.0), ("mV", 1e-3)],
            Self::Power => vec![("W", 1.0), ("mW", 1e-3), ("kW", 1e3)],
            Self::Conductivity => {
                vec![("W/m/K", 1.0), ("W/(m·K)", 1.0), ("W/(mK)", 1.0), ("W/(m*K)", 1.0), ("W/mK", 1.0)]
            }
            Self::Resistance => vec![("K/W", 1.0), ("degC/W", 1.0), ("°C/W", 1.0)],
            Self::AreaResistance => {
                vec![
                    ("m2K/W", 1.0),
                    ("m²K/W", 1.0),
                    ("mm2K/W", 1e-6),
                    ("mm²K/W", 1e-6),
                    ("cm2K/W", 1e-4),
                    ("K*m2/W", 1.0),
                ]
            }
            Self::Film => {
                vec![("W/m2/K", 1.0), ("W/m²/K", 1.0), ("W/(m2K)", 1.0), ("W/(m²K)", 1.0), ("W/m2K", 1.0)]
            }
            Self::Flux => vec![("lm", 1.0), ("klm", 1e3)],
            Self::Efficacy => vec![("lm/W", 1.0)],
            Self::VoltageSlope => vec![("mV/K", 1e-3), ("V/K", 1.0), ("mV/degC", 1e-3), ("mV/°C", 1e-3)],
            Self::Ohms => vec![("ohm", 1.0), ("kohm", 1e3), ("Ω", 1.0), ("kΩ", 1e3)],
            Self::Interval => vec![("K", 1.0), ("mK", 1e-3)],
            Self::Dissipation => vec![("mW/K", 1e-3), ("W/K", 1.0)],
            Self::CrossSection => vec![("mm2", 1e-6), ("mm²", 1e-6), (WIRE_GAUGE, f64::NAN)],
            Self::Pressure => {
                vec![
                    ("kPa", 1e3),
                    ("Pa", 1.0),
                    ("MPa", 1e6),
                    ("bar", 1e5),
                    ("N/mm2", 1e6),
                    ("psi", 6_894.757_293),
                ]
            }
            Self::Force => vec![("N", 1.0), ("kN", 1e3)],
            Self::Area => {
                vec![("mm2", 1e-6), ("mm²", 1e-6), ("cm2", 1e-4), ("cm²", 1e-4), ("m2", 1.0), ("m²", 1.0)]
            }
            // A cubic foot is 0.028316846592 m³ exactly; 1 mm of water 9.80665 Pa and 1 inch 249.08891 Pa (water at 4 degC).
            Self::Flow => vec![
                ("l/s", 1e-3),
                ("L/s", 1e-3),
                ("m3/h", 1.0 / 3600.0),
                ("m³/h", 1.0 / 3600.0),
                ("m3/min", 1.0 / 60.0),
                ("m3/s", 1.0),
                ("CFM", 0.028_316_846_592 / 60.0),
            ],
            Self::FanPressure => vec![("Pa", 1.0), ("mmH2O", 9.806_65), ("inH2O", 249.088_91)],
            Self::Speed => vec![("m/s", 1.0), ("LFM", 0.3048 / 60.0)],
            Self::Angle => vec![("deg", 1.0), ("°", 1.0)],
            Self::Time => vec![("s", 1.0), ("ms", 1e-3), ("min", 60.0), ("h", 3600.0)],
            Self::Number => Vec::new(),
        }
    }

    /// Name, for messages.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Length => "length",
            Self::CopperThickness => "copper thickness",
            Self::Temperature => "temperature",
            Self::Current => "current",
            Self::Voltage => "voltage",
            Self::Power => "power",
            Self::Conductivity => "thermal conductivity",
            Self::Resistance => "thermal resistance",
            Self::AreaResistance => "thermal resistance times area",
            Self::Film => "heat transfer coefficient",
            Self::Flux => "luminous flux",
            Self::Efficacy => "efficacy of radiation",
            Self::VoltageSlope => "voltage over temperature",
            Self::Ohms => "electrical resistance",
            Self::Interval => "difference of temperatures",
            Self::Dissipation => "heat for a kelvin of warming",
            Self::CrossSection => "cross-section",
            Self::Pressure => "pressure",
            Self::Force => "force",
            Self::Area => "area",
            Self::Flow => "flow of air",
            Self::FanPressure => "pressure of moving air",
            Self::Speed => "speed of air",
            Self::Angle => "angle",
            Self::Time => "time",
            Self::Number => "number",
        }
    }

    /// An example as it would be typed.
    #[must_use]
    pub fn example(self) -> &'static str {
        match self {
            Self::Length => "\"1.5 mm\"",
            Self::CopperThickness => "\"70 um\"",
            Self::Temperature => "\"25 degC\"",
            Self::Current => "\"1.05 A\"",
            Self::Voltage => "\"2.9 V\"",
            Self::Power => "\"3 W\"",
            Self::Conductivity => "\"2 W/m/K\"",
            Self::Resistance => "\"1.2 K/W\"",
            Self::AreaResistance => "\"1.7e-5 m2K/W\"",
            Self::Film => "\"900 W/m2/K\"",
            Self::Flux => "\"220 lm\"",
            Self::Efficacy => "\"310 lm/W\"",
            Self::VoltageSlope => "\"10 mV/K\"",
            Self::Ohms => "\"10 kohm\"",
            Self::Interval => "\"0.5 K\"",
            Self::Dissipation => "\"2 mW/K\"",
            Self::CrossSection => "\"0.75 mm2\"",
            Self::Pressure => "\"200 kPa\"",
            Self::Force => "\"80 N\"",
            Self::Area => "\"300 mm2\"",
            Self::Flow => "\"4 l/s\"",
            Self::FanPressure => "\"25 Pa\"",
            Self::Speed => "\"2 m/s\"",
            Self::Angle => "\"90 deg\"",
            Self::Time => "\"90 s\"",
            Self::Number => "0.9",
        }
    }

    /// Reads a value as typed. Temperatures come out in degC, all others in SI (angles in degrees). An error says what
    /// was read and what is allowed.
    pub fn read(self, text: &str) -> Result<f64, String> {
        let trimmed = text.trim();
        let end = number_end(trimmed);
        let (number, unit) = trimmed.split_at(end);
        let unit: String = unit.split_whitespace().collect();
        if unit.starts_with(',') && number.parse::<f64>().is_ok() {
            return Err(format!(
                "\"{trimmed}\" has a decimal comma; write a point, such as {}",
                self.example()
            ));
        }
        let value: f64 = number.parse().map_err(|_| {
            format!(
                "\"{trimmed}\" does not begin with a number; a {} is written like {}",
                self.name(),
                self.example()
            )
        })?;
        if !value.is_finite() {
            return Err(format!("\"{trimmed}\" is too large a number"));
        }
        let units = self.units();
        if units.is_empty() {
            return if unit.is_empty() {
                Ok(value)
            } else {
                Err(format!("\"{trimmed}\" is a plain number without a unit here"))
            };
        }
        if self == Self::Temperature && unit == "K" {
            return Ok(value - 273.15);
        }
        if self == Self::CrossSection && unit == WIRE_GAUGE {
            return wire_gauge_m2(number, value).ok_or_else(|| {
                format!("\"{trimmed}\" is no wire gauge; allowed are 0000 AWG to 40 AWG in whole numbers")
            });
        }
        if let Some((_, size)) = units.iter().find(|(symbol, _)| *symbol == unit) {
            return Ok(scaled(value, *size));
        }
        let allowed: Vec<&str> =
            units.iter().map(|(symbol, _)| *symbol).filter(|symbol| symbol.is_ascii()).collect();
        let read = if unit.is_empty() { "has no unit".to_owned() } else { format!("has the unit '{unit}'") };
        Err(format!(
            "\"{trimmed}\" {read}; a {} takes {}, such as {}",
            self.name(),
            allowed.join(", "),
            self.example()
        ))
    }
}

/// Cross-section, m², of a wire of American wire gauge: `d = 0.127 mm x 92^((36 - n) / 39)` (ASTM B258, from memory); 00,
/// 000 and 0000 stand for -1, -2 and -3.
fn wire_gauge_m2(typed: &str, value: f64) -> Option<f64> {
    let zeros = typed.bytes().all(|b| b == b'0');
    let number = if zeros { 1.0 - typed.len() as f64 } else { value };
    if number.fract() != 0.0 || !(-3.0..=40.0).contains(&number) {
        return None;
    }
    let diameter_m = 0.127e-3 * 92f64.powf((36.0 - number) / 39.0);
    Some(std::f64::consts::FRAC_PI_4 * diameter_m * diameter_m)
}

/// Value times unit; a decimal fraction of the unit divides, which keeps short decimals exact to the last bit.
fn scaled(value: f64, size: f64) -> f64 {
    let parts = (1.0 / size).round();
    if size < 1.0 && (parts * size - 1.0).abs() < 1e-12 { value / parts } else { value * size }
}

/// Where the leading number of a text ends.
fn number_end(text: &str) -> usize {
    let bytes = text.as_bytes();
    let mut end = 0;
    while let Some(&b) = bytes.get(end) {
        let sign = matches!(b, b'+' | b'-');
        let after_exponent = end > 0 && matches!(bytes.get(end - 1), Some(b'e' | b'E'));
        let exponent = matches!(b, b'e' | b'E')
            && end > 0
            && matches!(bytes.get(end + 1), Some(c) if c.is_ascii_digit() || matches!(c, b'+' | b'-'));
        if b.is_ascii_digit() || b == b'.' || (sign && (end == 0 || after_exponent)) || exponent {
            end += 1;
        } else {
            break;
        }
    }
    end
}

#[cfg(test)]
mod tests {
    use super::Quantity;

    #[test]
    fn units_are_resolved() {
        assert_eq!(Quantity::Length.read("1.5 mm"), Ok(1.5e-3));
        assert_eq!(Quantity::Length.read("100um"), Ok(1e-4));
        assert_eq!(Quantity::CopperThickness.read("2 oz"), Ok(70e-6));
        assert_eq!(Quantity::Temperature.read("-5 °C"), Ok(-5.0));
        assert_eq!(Quantity::Temperature.read("298.15 K"), Ok(25.0));
        assert_eq!(Quantity::AreaResistance.read("1.7e-5 m2K/W"), Ok(1.7e-5));
        assert_eq!(Quantity::AreaResistance.read("17 mm2K/W"), Ok(17e-6));
        assert_eq!(Quantity::Number.read("0.9"), Ok(0.9));
        assert_eq!(Quantity::CrossSection.read("0.75 mm2"), Ok(0.75e-6));
        assert_eq!(Quantity::Area.read("3 cm2"), Ok(3e-4));
        assert!((Quantity::Flow.read("10 CFM").unwrap() - 4.719_474_432e-3).abs() < 1e-12);
        assert!((Quantity::Flow.read("36 m3/h").unwrap() - 0.01).abs() < 1e-15);
        assert!((Quantity::FanPressure.read("0.1 inH2O").unwrap() - 24.908_891).abs() < 1e-9);
        assert!((Quantity::Speed.read("200 LFM").unwrap() - 1.016).abs() < 1e-12);
    }

    /// Cross-sections as tables of American wire gauge print them, mm² (from memory).
    #[test]
    fn wire_gauges_have_their_cross_sections() {
        for (gauge, mm2) in [("18 AWG", 0.823), ("24 AWG", 0.205), ("10 AWG", 5.26), ("0000 AWG", 107.2)] {
            let found = Quantity::CrossSection.read(gauge).unwrap() * 1e6;
            assert!((found / mm2 - 1.0).abs() < 2e-3, "{gauge}: {found}");
        }
        for wrong in ["41 AWG", "18.5 AWG", "00000 AWG", "18 awg", "0.75"] {
            assert!(Quantity::CrossSection.read(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn what_is_wrong_is_said_with_what_is_allowed() {
        let error = Quantity::Current.read("70 mm").unwrap_err();
        assert!(error.contains("'mm'") && error.contains("A, mA") && error.contains("1.05 A"), "{error}");
        assert!(Quantity::Length.read("1.5").unwrap_err().contains("has no unit"));
        assert!(Quantity::Length.read("1,5 mm").unwrap_err().contains("decimal comma"));
        assert!(Quantity::Length.read("").is_err());
        assert!(Quantity::Length.read("µ").is_err());
        assert!(Quantity::Length.read("1e999 mm").is_err());
    }
}

//! Units as they stand in the headers of logs.

/// What a column measures, by its unit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Measured {
    /// Time; base s.
    Time,
    /// Temperature; base degC.
    Temperature,
    /// Voltage; base V.
    Voltage,
    /// Current; base A.
    Current,
    /// Electrical resistance; base ohm.
    Resistance,
    /// Power; base W.
    Power,
    /// Anything else that has a unit.
    Other,
}

impl Measured {
    /// In words.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Time => "time",
            Self::Temperature => "temperature",
            Self::Voltage => "voltage",
            Self::Current => "current",
            Self::Resistance => "resistance",
            Self::Power => "power",
            Self::Other => "other",
        }
    }

    /// Symbol of the base unit.
    #[must_use]
    pub fn base(self) -> &'static str {
        match self {
            Self::Time => "s",
            Self::Temperature => "degC",
            Self::Voltage => "V",
            Self::Current => "A",
            Self::Resistance => "ohm",
            Self::Power => "W",
            Self::Other => "",
        }
    }
}

/// A unit: base value = `(read + shift) * size`, dividing where `divides`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Unit {
    /// What it measures.
    pub measured: Measured,
    /// As it is printed.
    pub symbol: &'static str,
    /// Base units in one of it, or how many of it make a base unit.
    size: f64,
    divides: bool,
    shift: f64,
}

impl Unit {
    /// A value in this unit, in the base unit of what it measures.
    #[must_use]
    pub fn to_base(self, value: f64) -> f64 {
        let shifted = value + self.shift;
        if self.divides { shifted / self.size } else { shifted * self.size }
    }

    /// A difference in this unit, in base units.
    #[must_use]
    pub fn difference_to_base(self, value: f64) -> f64 {
        if self.divides { value / self.size } else { value * self.size }
    }

    /// Whether values are in the base unit already.
    #[must_use]
    pub fn is_base(self) -> bool {
        self.size == 1.0 && self.shift == 0.0
    }
}

const fn times(measured: Measured, symbol: &'static str, size: f64) -> Unit {
    Unit { measured, symbol, size, divides: false, shift: 0.0 }
}

const fn parts(measured: Measured, symbol: &'static str, size: f64) -> Unit {
    Unit { measured, symbol, size, divides: true, shift: 0.0 }
}

use Measured::{Current, Other, Power, Resistance, Temperature, Time, Voltage};

const DEGC: Unit = times(Temperature, "degC", 1.0);
const KELVIN: Unit = Unit { measured: Temperature, symbol: "K", size: 1.0, divides: false, shift: -273.15 };
/// Fahrenheit: `t_c = (t_f - 32) / 1.8`.
const DEGF: Unit = Unit { measured: Temperature, symbol: "degF", size: 1.8, divides: true, shift: -32.0 };

/// Spellings; compared as written first, then without regard to case where that leaves no doubt.
const SPELLINGS: &[(&str, Unit)] = &[
    ("s", times(Time, "s", 1.0)),
    ("sec", times(Time, "s", 1.0)),
    ("secs", times(Time, "s", 1.0)),
    ("second", times(Time, "s", 1.0)),
    ("seconds", times(Time, "s", 1.0)),
    ("sek", times(Time, "s", 1.0)),
    ("sekunden", times(Time, "s", 1.0)),
    ("ms", parts(Time, "ms", 1e3)),
    ("msec", parts(Time, "ms", 1e3)),
    ("millis", parts(Time, "ms", 1e3)),
    ("milliseconds", parts(Time, "ms", 1e3)),
    ("us", parts(Time, "us", 1e6)),
    ("µs", parts(Time, "us", 1e6)),
    ("μs", parts(Time, "us", 1e6)),
    ("micros", parts(Time, "us", 1e6)),
    ("microseconds", parts(Time, "us", 1e6)),
    ("ns", parts(Time, "ns", 1e9)),
    ("min", times(Time, "min", 60.0)),
    ("mins", times(Time, "min", 60.0)),
    ("minute", times(Time, "min", 60.0)),
    ("minutes", times(Time, "min", 60.0)),
    ("minuten", times(Time, "min", 60.0)),
    ("h", times(Time, "h", 3600.0)),
    ("hr", times(Time, "h", 3600.0)),
    ("hrs", times(Time, "h", 3600.0)),
    ("hour", times(Time, "h", 3600.0)),
    ("hours", times(Time, "h", 3600.0)),
    ("d", times(Time, "d", 86400.0)),
    ("days", times(Time, "d", 86400.0)),
    ("degC", DEGC),
    ("deg C", DEGC),
    ("deg. C", DEGC),
    ("°C", DEGC),
    ("° C", DEGC),
    ("ºC", DEGC),
    ("℃", DEGC),
    ("C", DEGC),
    ("Cel", DEGC),
    ("celsius", DEGC),
    ("grad C", DEGC),
    ("K", KELVIN),
    ("kelvin", KELVIN),
    ("°F", DEGF),
    ("degF", DEGF),
    ("deg F", DEGF),
    ("fahrenheit", DEGF),
    ("V", times(Voltage, "V", 1.0)),
    ("VDC", times(Voltage, "V", 1.0)),
    ("V DC", times(Voltage, "V", 1.0)),
    ("volt", times(Voltage, "V", 1.0)),
    ("volts", times(Voltage, "V", 1.0)),
    ("mV", parts(Voltage, "mV", 1e3)),
    ("mVDC", parts(Voltage, "mV", 1e3)),
    ("mV DC", parts(Voltage, "mV", 1e3)),
    ("millivolts", parts(Voltage, "mV", 1e3)),
    ("uV", parts(Voltage, "uV", 1e6)),
    ("µV", parts(Voltage, "uV", 1e6)),
    ("μV", parts(Voltage, "uV", 1e6)),
    ("A", times(Current, "A", 1.0)),
    ("ADC", times(Current, "A", 1.0)),
    ("A DC", times(Current, "A", 1.0)),
    ("amp", times(Current, "A", 1.0)),
    ("amps", times(Current, "A", 1.0)),
    ("ampere", times(Current, "A", 1.0)),
    ("mA", parts(Current, "mA", 1e3)),
    ("mADC", parts(Current, "mA", 1e3)),
    ("uA", parts(Current, "uA", 1e6)),
    ("µA", parts(Current, "uA", 1e6)),
    ("ohm", times(Resistance, "ohm", 1.0)),
    ("ohms", times(Resistance, "ohm", 1.0)),
    ("Ohm", times(Resistance, "ohm", 1.0)),
    ("Ω", times(Resistance, "ohm", 1.0)),
    ("Ω", times(Resistance, "ohm", 1.0)),
    ("kohm", times(Resistance, "kohm", 1e3)),
    ("kOhm", times(Resistance, "kohm", 1e3)),
    ("kΩ", times(Resistance, "kohm", 1e3)),
    ("W", times(Power, "W", 1.0)),
    ("watt", times(Power, "W", 1.0)),
    ("watts", times(Power, "W", 1.0)),
    ("mW", parts(Power, "mW", 1e3)),
    ("%", times(Other, "%", 1.0)),
    ("%RH", times(Other, "%RH", 1.0)),
    ("rpm", times(Other, "rpm", 1.0)),
    ("1/min", times(Other, "rpm", 1.0)),
    ("Pa", times(Other, "Pa", 1.0)),
    ("hPa", times(Other, "hPa", 1.0)),
    ("m/s", times(Other, "m/s", 1.0)),
    ("lx", times(Other, "lx", 1.0)),
    ("lm", times(Other, "lm", 1.0)),
    ("Hz", times(Other, "Hz", 1.0)),
    ("counts", times(Other, "counts", 1.0)),
    ("LSB", times(Other, "counts", 1.0)),
];

/// The unit that a text names, or `None`.
#[must_use]
pub fn unit_named(text: &str) -> Option<Unit> {
    let text = text.trim().trim_matches(|c| matches!(c, '[' | ']' | '(' | ')' | '{' | '}')).trim();
    if text.is_empty() || text.chars().count() > 16 {
        return None;
    }
    if let Some((_, unit)) = SPELLINGS.iter().find(|(spelling, _)| *spelling == text) {
        return Some(*unit);
    }
    // Short symbols differ by case alone (mA and MA, s and S); words do not.
    let (_, unit) = SPELLINGS.iter().find(|(spelling, _)| {
        spelling.chars().count() >= 3 && spelling.to_lowercase() == text.to_lowercase()
    })?;
    Some(*unit)
}

/// A header cell taken apart: name, and the unit as it was written.
#[must_use]
pub fn name_and_unit(header: &str) -> (String, Option<String>) {
    let header = header.trim();
    for (open, close) in [('[', ']'), ('(', ')'), ('{', '}')] {
        if let Some(inner) = header.strip_suffix(close)
            && let Some((name, unit)) = inner.rsplit_once(open)
            && (unit_named(unit).is_some() || open == '[')
            && !unit.trim().is_empty()
        {
            return (name.trim().to_owned(), Some(unit.trim().to_owned()));
        }
    }
    for separator in [" / ", "/", ", ", " in ", " ", "_"] {
        if let Some((name, unit)) = header.rsplit_once(separator)
            && !name.trim().is_empty()
            && unit_named(unit)
                .is_some_and(|unit| separator != "_" && separator != " " || unit_is_plain(unit))
            && plain_tail(separator, unit)
        {
            return (name.trim().to_owned(), Some(unit.trim().to_owned()));
        }
    }
    (header.to_owned(), None)
}

fn unit_is_plain(unit: Unit) -> bool {
    unit.measured != Measured::Other
}

/// A name's last word must not be taken for a unit: `channel A`, `sensor C` and `string_d` are names.
fn plain_tail(separator: &str, unit: &str) -> bool {
    match separator {
        " " | "_" => unit.chars().count() > 1 || matches!(unit, "s" | "V"),
        _ => true,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn headers_come_apart() {
        for (header, name, unit) in [
            ("T board (°C)", "T board", Some("°C")),
            ("U_sensor [mV]", "U_sensor", Some("mV")),
            ("I / A", "I", Some("A")),
            ("Strom, A", "Strom", Some("A")),
            ("time_ms", "time", Some("ms")),
            ("elapsed s", "elapsed", Some("s")),
            ("channel A", "channel A", None),
            ("sensor_d", "sensor_d", None),
            ("Temp (board)", "Temp (board)", None),
            ("speed [furlong]", "speed", Some("furlong")),
            ("A", "A", None),
        ] {
            assert_eq!(name_and_unit(header), (name.to_owned(), unit.map(str::to_owned)), "{header}");
        }
    }

    /// 0 °C is 273.15 K and 32 °F, 100 °C is 212 °F: definitions of the scales.
    #[test]
    fn units_turn_into_their_base() {
        let base = |text: &str, value: f64| unit_named(text).map(|unit| unit.to_base(value)).unwrap();
        assert_eq!(base("mV", 980.0), 0.98);
        assert!((base("K", 273.15)).abs() < 1e-9);
        assert!((base("°F", 212.0) - 100.0).abs() < 1e-9 && base("degF", 32.0).abs() < 1e-9);
        assert_eq!(base("min", 2.0), 120.0);
        assert_eq!(base("MSEC", 5.0), 0.005);
        assert_eq!(unit_named("MA"), None);
        assert_eq!(unit_named("furlong"), None);
    }
}

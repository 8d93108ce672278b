//! The bench sheet of a run that is recorded, so that it is read afterwards as it stands.

use std::fmt::Write as _;

use super::form::{Form, TIME_COLUMN};
use crate::mapping::{BenchSheet, Mapped, Names, Role, proposal, quoted, read};

/// What is said of the run.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct About {
    /// Name of the run.
    pub name: String,
    /// Variant on the bench.
    pub variant: Option<String>,
    /// Notes.
    pub notes: Option<String>,
    /// Room temperature where no column holds it, degC.
    pub ambient_c: Option<f64>,
    /// Drive current where no column holds it, A.
    pub drive_current_a: Option<f64>,
}

/// The sheet of a new run: its columns as another sheet has them where that is given, else as their names and units tell.
#[must_use]
pub fn proposed(about: &About, form: &Form, like: Option<&BenchSheet>, names: &Names) -> String {
    let channels = match like {
        Some(like) => like.channels.iter().filter_map(|mapped| renamed(mapped, form)).collect(),
        None => by_names(form, names),
    };
    text(about, &channels, like, form)
}

/// The channel with its column as the recorded log names it; `None` where the logger has no such column.
fn renamed(mapped: &Mapped, form: &Form) -> Option<Mapped> {
    let head = form.dialect.columns.get(form.dialect.column(&mapped.column).ok()?)?;
    Some(Mapped { column: head.name.clone(), unit: mapped.unit.or(head.unit), ..mapped.clone() })
}

/// The proposal for a log of this form, read back.
fn by_names(form: &Form, names: &Names) -> Vec<Mapped> {
    // Which of several variants it was makes no difference to the columns, and which of several sensors none to its name.
    let one = |all: &[String]| all.first().cloned().into_iter().collect();
    let some = Names { variants: one(&names.variants), sensors: one(&names.sensors) };
    let proposed = proposal("log.csv", &form.dialect, Some(&some));
    let (sheet, _) = read("bench/log.toml", proposed.as_bytes(), &some);
    let channels = sheet.map(|sheet| sheet.channels).unwrap_or_default();
    // What nothing is known of needs no channel; it is in the log all the same.
    channels.into_iter().filter(|mapped| mapped.role != Role::Other).collect()
}

fn text(about: &About, channels: &[Mapped], like: Option<&BenchSheet>, form: &Form) -> String {
    let mut out = format!(
        "# Bench sheet of a run recorded by `lampwright record`. The log beside it is plain CSV; change what is wrong here.\n\n\
         [run]\nlogs = [{}]\n",
        quoted(&format!("{}.csv", about.name))
    );
    let mut line = |key: &str, value: Option<String>| {
        if let Some(value) = value {
            let _ = writeln!(out, "{key} = {value}");
        }
    };
    line("variant", about.variant.as_deref().map(quoted));
    line("notes", about.notes.as_deref().map(quoted));
    line("ambient", about.ambient_c.map(|ambient| format!("\"{ambient} degC\"")));
    line("drive_current", about.drive_current_a.map(|current| format!("\"{current} A\"")));
    out += "\n[format]\ndelimiter = \"comma\"\ndecimal = \"point\"\n";
    let codes = |key: &str, words: &[String]| match words {
        [] => String::new(),
        words => {
            format!("{key} = [{}]\n", words.iter().map(|word| quoted(word)).collect::<Vec<_>>().join(", "))
        }
    };
    if let Some(like) = like {
        out += &codes("missing", &like.told.missing);
        out += &codes("over_range", &like.told.over_range);
    }
    let _ = write!(
        out,
        "\n[time]                           # {}\ncolumn = \"{TIME_COLUMN}\"\n",
        form.clock.from.words()
    );
    for mapped in channels {
        channel(&mut out, mapped);
    }
    if !channels.iter().any(|mapped| matches!(mapped.role, Role::Sensor(_))) {
        out += "\n# ? No column was known as the board sensor. Name it here:\n# [[channel]]\n# column = \"\"\n# is = \"sensor\"\n# unit = \"mV\"\n";
    }
    out
}

fn channel(out: &mut String, mapped: &Mapped) {
    let _ = writeln!(
        out,
        "\n[[channel]]\ncolumn = {}\nis = {}",
        quoted(&mapped.column),
        quoted(mapped.role.word())
    );
    if let Role::Sensor(name) = &mapped.role {
        let _ = writeln!(out, "sensor = {}", quoted(name));
    }
    if let Some(unit) = mapped.unit {
        let _ = writeln!(out, "unit = {}", quoted(unit.symbol));
    }
    if mapped.factor != 1.0 {
        let _ = writeln!(out, "factor = {}", mapped.factor);
    }
    if let (Some([low, high]), Some(unit)) = (mapped.range, mapped.unit) {
        let base = unit.measured.base();
        let _ = writeln!(out, "range = [\"{low} {base}\", \"{high} {base}\"]");
    }
    let own = matches!(&mapped.role, Role::Sensor(name) if mapped.law.as_ref() == Some(name));
    if let Some(law) = mapped.law.as_ref().filter(|_| !own) {
        let _ = writeln!(out, "law = {}", quoted(law));
    }
}

//! Supply pads and leads, and what the traced strings say to the drive current.

use std::sync::Arc;

use artwork::reading::Artwork;
use artwork::roles::Role;
use artwork::shape::Point;

use super::Common;
use super::document::{PadWords, Section};
use crate::as_built::{DrivePer, PlacedEmitter};
use crate::circuit::sharing::{Drive, shares};
use crate::circuit::{Circuit, Fault, Lead, PadPlace, SupplyPads};
use crate::findings::FindingRemark;

/// How far a share given by hand may lie beside that of the circuit: it is typed with few digits (0.33 for a third).
const SHARE_BESIDE: f64 = 0.02;

/// A supply as written.
struct Written<'a> {
    section: Section<'a>,
    name: String,
    pads: [PadPlace; 2],
    lead: Option<Lead>,
    /// What the driver can give, V.
    voltage_v: [Option<f64>; 2],
}

/// The drive of the lamp: what the current is for, and the nominal current.
pub(super) fn drive(common: &Common<'_>) -> Drive {
    let Some(drive) = &common.drive else { return Drive { per: DrivePer::String, current_a: 0.0 } };
    let per = if drive.choice_or_default("per") == "lamp" { DrivePer::Lamp } else { DrivePer::String };
    let highest = || drive.values("currents").unwrap_or_default().into_iter().fold(0.0, f64::max);
    Drive { per, current_a: drive.value("nominal").unwrap_or_else(highest) }
}

/// Traces the circuit of a variant, gives its emitters their shares of the drive current, and says what is wrong. Without
/// supply pads nothing is traced, and only what copper shorts is told.
pub(super) fn trace(
    variant: &Section<'_>,
    common: &Common<'_>,
    artwork: Option<&(String, Artwork)>,
    emitters: &mut [PlacedEmitter],
    remarks: &mut Vec<FindingRemark>,
) -> Option<Circuit> {
    let own = variant.sections("supply");
    let tables = if own.is_empty() { &common.supplies } else { &own };
    let written: Vec<Option<Written<'_>>> =
        tables.iter().enumerate().map(|(index, table)| supply(table, index)).collect();
    let drive = drive(common);
    let circuit = match artwork {
        Some((path, artwork)) if !tables.is_empty() && written.iter().all(Option::is_some) => {
            circuit(path, artwork, written.into_iter().flatten().collect(), emitters, remarks)
        }
        Some((path, artwork)) if tables.is_empty() => {
            let nets = Arc::new(artwork.nets().clone());
            let untraced = Circuit::trace(nets, Role::CopperTop, emitters, Vec::new());
            say(path, artwork, &untraced, |fault| fault == Fault::Short, remarks);
            None
        }
        None if !own.is_empty() => {
            let text = "supply pads are not used: a lamp without artwork has no copper along which strings could be traced";
            variant.document.say("note", own[0].at, text.to_owned());
            None
        }
        _ => None,
    };
    match &circuit {
        Some(circuit) => give_shares(common, circuit, drive, emitters),
        None if drive.per == DrivePer::Lamp => say_untraced(common, emitters),
        None => {}
    }
    circuit
}

fn supply<'a>(section: &Section<'a>, index: usize) -> Option<Written<'a>> {
    let name = section.text("name").unwrap_or_else(|| match u8::try_from(index) {
        Ok(letter) if letter < 26 => char::from(b'A' + letter).to_string(),
        _ => format!("{}", index + 1),
    });
    let place = |words: PadWords| match words {
        PadWords::Named(name) => PadPlace::Named(name),
        PadWords::At([x, y]) => PadPlace::At(Point::rounded(x * 1e9, y * 1e9)),
    };
    let (plus, minus) = (section.pad("plus").map(place), section.pad("minus").map(place));
    let lead = match (section.value("lead_length"), section.value("lead_section")) {
        (Some(length_m), Some(section_m2)) => Some(Lead { length_m, section_m2 }),
        (None, None) => None,
        (length, _) => {
            // A value that could not be read has been told already.
            let missing = if length.is_none() { "lead_length" } else { "lead_section" };
            if !section.has(missing) {
                section.document.error(
                    section.at,
                    "leads need \"lead_length\" and \"lead_section\", such as \"0.8 m\" and \"0.75 mm2\"",
                );
            }
            None
        }
    };
    let voltage_v = [section.value("voltage_least"), section.value("voltage_most")];
    if let [Some(least), Some(most)] = voltage_v
        && least > most
    {
        section.error(
            "voltage_least",
            format!(
                "voltage_least = {least} V is more than voltage_most = {most} V; a driver's range goes from the least to the most, such as \"9 V\" to \"15 V\""
            ),
        );
    }
    Some(Written { section: *section, name, pads: [plus?, minus?], lead, voltage_v })
}

fn circuit(
    path: &str,
    artwork: &Artwork,
    written: Vec<Written<'_>>,
    emitters: &[PlacedEmitter],
    remarks: &mut Vec<FindingRemark>,
) -> Option<Circuit> {
    let nets = artwork.nets();
    let mut supplies = Vec::new();
    let mut lost = false;
    for Written { section, name, pads: [plus, minus], lead, voltage_v } in written {
        let mut find = |key: &'static str, place: &PadPlace| match place.find(nets) {
            Ok(pad) => Some(pad),
            Err(text) => {
                section.error(key, format!("{key} of supply {name}: {text} (artwork \"{path}\")"));
                lost = true;
                None
            }
        };
        if let (Some(plus), Some(minus)) = (find("plus", &plus), find("minus", &minus)) {
            let [voltage_least_v, voltage_most_v] = voltage_v;
            supplies.push(SupplyPads { name, plus, minus, lead, voltage_least_v, voltage_most_v });
        }
    }
    if lost {
        return None;
    }
    let circuit = Circuit::trace(Arc::new(nets.clone()), Role::CopperTop, emitters, supplies);
    // A land on no copper is told with the emitter's line already.
    say(path, artwork, &circuit, |fault| fault != Fault::NoCopper, remarks);
    Some(circuit)
}

/// Hands on what a circuit says, at the artwork of its copper.
fn say(
    path: &str,
    artwork: &Artwork,
    circuit: &Circuit,
    wanted: impl Fn(Fault) -> bool,
    remarks: &mut Vec<FindingRemark>,
) {
    let file =
        artwork.layer(Role::CopperTop).map_or_else(|| path.to_owned(), |top| format!("{path}/{}", top.file));
    let told = circuit.remarks.iter().filter(|remark| wanted(remark.fault));
    remarks.extend(told.map(|remark| FindingRemark {
        severity: remark.severity(),
        file: Some(file.clone()),
        line: None,
        column: None,
        text: remark.text.clone(),
    }));
}

/// Gives each emitter its share by the circuit; one given by hand stays, and is told where it differs.
fn give_shares(common: &Common<'_>, circuit: &Circuit, drive: Drive, emitters: &mut [PlacedEmitter]) {
    let Some(section) = &common.drive else { return };
    if drive.current_a <= 0.0 {
        return;
    }
    let shares = match shares(circuit, emitters, drive) {
        Ok(shares) => shares,
        Err(error) if drive.per == DrivePer::Lamp => {
            section.error("per", error.to_string());
            return;
        }
        Err(error) => {
            section.warn("currents", format!("{error}; each emitter keeps the share given or 1"));
            return;
        }
    };
    let (mut dark, mut untold) = (Vec::new(), false);
    let mut differing = Vec::new();
    for (emitter, share) in emitters.iter_mut().zip(shares) {
        match share {
            None => {
                untold |= !emitter.share_given;
                dark.push(emitter.reference.clone());
            }
            Some(share) if !emitter.share_given => emitter.current_share = share,
            Some(share) if (emitter.current_share - share).abs() > SHARE_BESIDE * share => {
                differing
                    .push(format!("{} {:.3} and not {}", emitter.reference, share, emitter.current_share));
            }
            Some(_) => {}
        }
    }
    if !differing.is_empty() {
        let text = format!(
            "the traced strings give other shares of the drive current than \"share\" says, which counts: {}",
            differing.join(", ")
        );
        section.warn("per", text);
    }
    if dark.is_empty() {
        return;
    }
    let (list, verb) = (dark.join(", "), if dark.len() == 1 { "is" } else { "are" });
    if drive.per == DrivePer::Lamp && untold {
        let text = format!(
            "per = \"lamp\": {list} {verb} part of no string between the supply pads, so nothing tells the share of the current; mend the circuit or give \"share\" in [[emitters]]"
        );
        section.error("per", text);
    } else {
        let text = format!(
            "{list} {verb} part of no string between the supply pads; predicted as lit with the share given or 1"
        );
        section.warn("per", text);
    }
}

/// A current for the lamp needs to be divided.
fn say_untraced(common: &Common<'_>, emitters: &[PlacedEmitter]) {
    let (Some(drive), Some(first)) = (&common.drive, emitters.iter().find(|emitter| !emitter.share_given))
    else {
        return;
    };
    let text = format!(
        "per = \"lamp\": the current cannot be divided, for no string is traced and {} has no \"share\"; give [[supply]] pads and artwork, or \"share\" in [[emitters]]",
        first.reference
    );
    drive.error("per", text);
}

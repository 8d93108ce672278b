//! What names tell: shorts, opens, and names that differ between artwork and netlist.

use std::collections::{BTreeMap, BTreeSet};

use super::signs::{Sign, Signs, Standing};
use crate::remark::{Remark, Severity};

/// Places of one name that a remark lists.
const PLACES_TOLD: usize = 4;
/// Remarks on shorts, on opens and on differing names that are written out.
const TOLD: usize = 50;

/// Two names on one net that no object ties.
pub(super) fn say_shorts(
    signs: &Signs<'_>,
    standing: &BTreeMap<usize, Standing<'_>>,
    remarks: &mut Vec<Remark>,
) {
    let mut told = 0;
    for net in standing.values() {
        let names = net.in_order();
        let Some((&kept, others)) = names.split_first() else { continue };
        let tied = tied_to(kept, &signs.ties);
        for &other in others.iter().filter(|other| !tied.contains(*other)) {
            told += 1;
            let all =
                |name: &str| net.by_name.get(name).into_iter().flatten().map(|&index| &signs.list[index]);
            // Signs on one island, where there are such; else a plated hole joins them.
            let mut islands: BTreeMap<usize, &Sign<'_>> = BTreeMap::new();
            for sign in all(kept) {
                islands.entry(sign.island).or_insert(sign);
            }
            let shared = all(other).find_map(|sign| Some((*islands.get(&sign.island)?, sign)));
            let how = if shared.is_some() { "are one piece of copper" } else { "are joined by plated holes" };
            let pair = shared.or_else(|| Some((all(kept).next()?, all(other).next()?)));
            if let (Some((a, b)), true) = (pair, told <= TOLD) {
                let text = format!(
                    "short: nets \"{kept}\" (at {}) and \"{other}\" (at {}) {how}",
                    a.place(),
                    b.place()
                );
                remarks.push(Remark::at(Severity::Warning, b.file, b.line, text));
            }
        }
    }
    if told > TOLD {
        remarks.push(Remark::about(Severity::Warning, "", format!("{} more shorts", told - TOLD)));
    }
}

/// All names that objects tie to a name, in one step or several.
fn tied_to<'a>(name: &'a str, ties: &BTreeSet<(&'a str, &'a str)>) -> BTreeSet<&'a str> {
    let mut found = BTreeSet::from([name]);
    loop {
        let before = found.len();
        for (a, b) in ties {
            if found.contains(a) || found.contains(b) {
                found.extend([a, b]);
            }
        }
        if found.len() == before {
            return found;
        }
    }
}

/// One name on several nets.
pub(super) fn say_opens(
    signs: &Signs<'_>,
    standing: &BTreeMap<usize, Standing<'_>>,
    remarks: &mut Vec<Remark>,
) {
    let mut places: BTreeMap<&str, Vec<&Sign<'_>>> = BTreeMap::new();
    for net in standing.values() {
        for (name, own) in &net.by_name {
            places.entry(name).or_default().extend(own.first().map(|&index| &signs.list[index]));
        }
    }
    let open: Vec<_> = places.into_iter().filter(|(_, places)| places.len() > 1).collect();
    for (name, places) in open.iter().take(TOLD) {
        let mut words: Vec<String> =
            places.iter().take(PLACES_TOLD).map(|sign| format!("at {}", sign.place())).collect();
        if places.len() > PLACES_TOLD {
            words.push(format!("and {} more", places.len() - PLACES_TOLD));
        }
        let text = format!(
            "open: net \"{name}\" is {} pieces that nothing read here joins: {}",
            places.len(),
            words.join("; ")
        );
        if let Some(first) = places.first() {
            remarks.push(Remark::at(Severity::Warning, first.file, first.line, text));
        }
    }
    if open.len() > TOLD {
        remarks.push(Remark::about(Severity::Warning, "", format!("{} more opens", open.len() - TOLD)));
    }
}

/// Nets that the artwork and a netlist call differently.
pub(super) fn say_differences(
    artwork: &BTreeMap<usize, Standing<'_>>,
    netlist: &BTreeMap<usize, Standing<'_>>,
    tested: &Signs<'_>,
    remarks: &mut Vec<Remark>,
) {
    let mut told = 0;
    for (group, tested_names) in netlist {
        let Some(own) = artwork.get(group) else { continue };
        if tested_names.by_name.keys().any(|name| own.by_name.contains_key(name)) {
            continue;
        }
        let (own, theirs) = (own.in_order(), tested_names.in_order());
        let sign = theirs.first().and_then(|name| tested_names.by_name.get(*name)?.first());
        if let (Some(own), Some(theirs), Some(sign)) =
            (own.first(), theirs.first(), sign.map(|&index| &tested.list[index]))
        {
            told += 1;
            if told <= TOLD {
                let text = format!("net \"{theirs}\" is called \"{own}\" in the artwork, which counts");
                remarks.push(Remark::at(Severity::Note, sign.file, sign.line, text));
            }
        }
    }
    if told > TOLD {
        let text = format!("{} more nets have two names", told - TOLD);
        remarks.push(Remark::about(Severity::Note, "", text));
    }
}

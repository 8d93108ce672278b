//! Plated holes join islands into nets.

use std::collections::BTreeMap;
use std::collections::btree_map::Entry;

use super::{Nets, PlatedHole, REGISTRATION_NM};
use crate::drill::DrillFile;
use crate::reading::Artwork;
use crate::remark::{Remark, Severity};
use crate::shape::Point;

/// Groups of islands: each points towards the first of its group.
pub(super) struct Groups(Vec<usize>);

impl Groups {
    fn new(count: usize) -> Self {
        Self((0..count).collect())
    }

    /// The first island of an island's group.
    pub(super) fn first(&mut self, mut island: usize) -> usize {
        while self.0[island] != island {
            self.0[island] = self.0[self.0[island]];
            island = self.0[island];
        }
        island
    }

    fn join(&mut self, a: usize, b: usize) {
        let (a, b) = (self.first(a), self.first(b));
        self.0[a.max(b)] = a.min(b);
    }
}

/// Joins islands through plated holes and slots, which are listed.
pub(super) fn join(artwork: &Artwork, nets: &mut Nets) -> Groups {
    let mut groups = Groups::new(nets.islands.len());
    // A hole that stands twice, in two files or drilled in two steps, has one barrel: that of the larger drill.
    let mut known: BTreeMap<(Vec<Point>, [u16; 2]), usize> = BTreeMap::new();
    for drill in &artwork.drills {
        let span = span(drill);
        let hits = drill.hits.iter().map(|hit| (vec![hit.at], hit.diameter_nm, hit.plated, hit.line));
        let slots =
            drill.slots.iter().map(|slot| (slot.path.clone(), slot.diameter_nm, slot.plated, slot.line));
        let mut untold = 0;
        for (path, diameter_nm, plated, line) in hits.chain(slots) {
            if plated == Some(false) {
                continue;
            }
            let islands = touched(nets, &path, diameter_nm, span);
            let Some((&first, others)) = islands.split_first() else { continue };
            untold += usize::from(plated.is_none() && !others.is_empty());
            for &other in others {
                groups.join(first, other);
            }
            let file = drill.file.clone();
            let plating_told = plated.is_some();
            let hole = PlatedHole { path, diameter_nm, plating_told, islands, net: 0, file, line };
            match known.entry((hole.path.clone(), span)) {
                Entry::Vacant(entry) => {
                    entry.insert(nets.holes.len());
                    nets.holes.push(hole);
                }
                Entry::Occupied(entry) => {
                    let before = &mut nets.holes[*entry.get()];
                    if hole.diameter_nm > before.diameter_nm {
                        *before = hole;
                    }
                }
            }
        }
        if untold > 0 {
            let text = if untold == 1 {
                "1 hole joins copper and nothing tells whether it is plated; for nets it is taken as plated"
                    .to_owned()
            } else {
                format!(
                    "{untold} holes join copper and nothing tells whether they are plated; for nets they are taken as plated"
                )
            };
            nets.remarks.push(Remark::about(Severity::Note, drill.file.as_str(), text));
        }
    }
    groups
}

/// First and last layer of a drill file's holes: `Plated,1,2,PTH` (Gerber layer format specification, the .FileFunction
/// attribute); all layers where the file does not say.
fn span(drill: &DrillFile) -> [u16; 2] {
    let told = drill.attributes.iter().find(|(name, _)| name.eq_ignore_ascii_case(".FileFunction")).and_then(
        |(_, fields)| {
            let number = |index: usize| fields.get(index)?.trim().parse::<u16>().ok();
            Some([number(1)?, number(2)?])
        },
    );
    told.map_or([0, u16::MAX], |[a, b]| [a.min(b), a.max(b)])
}

/// The islands that a hole touches on the layers of its span.
fn touched(nets: &Nets, path: &[Point], diameter_nm: i32, span: [u16; 2]) -> Vec<usize> {
    let within_nm = f64::from(diameter_nm.max(0)) / 2.0 + f64::from(REGISTRATION_NM);
    let layers = nets.layers.iter().filter(|layer| (span[0]..=span[1]).contains(&layer.number));
    layers.flat_map(|layer| layer.near(path, within_nm).into_iter().map(|(island, _)| island)).collect()
}

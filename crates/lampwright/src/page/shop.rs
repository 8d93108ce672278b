//! The lamp behind the page: one warm model for each variant.

use std::collections::BTreeMap;
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::Instant;

use lamp::air_what_if::air_what_ifs;
use lamp::as_built::{Bond, Cooling, Facing, Lamp, Variant};
use lamp::bond_line::BondWhatIf;
use lamp::contact_what_if::contact_what_ifs;
use lamp::cooling::air_side::AirSide;
use lamp::drawing::drawing;
use lamp::findings::{AirWhatIfFinding, ContactWhatIfFinding, Run};
use lamp::model::{GridChoice, Model};
use lamp::project::Reading;

use super::answers::{About, AboutVariant, Changed, Solved, Trouble};
use super::at_work::Working;
use super::cooling_asked::CoolingAsked;
use super::question::{Asked, FACINGS, Numbers};

/// Pitch of the picture, m.
const PITCH_M: f64 = 0.25e-3;
/// Pitch of the gap's picture, m: it is smoother than temperatures.
const GAP_PITCH_M: f64 = 0.5e-3;

/// A model with what it answered last.
struct Warm {
    model: Model,
    bond: Option<f64>,
    cooling: CoolingAsked,
    contact: BondWhatIf,
    last: Option<(Numbers, Run)>,
}

/// A lamp and its models.
pub(super) struct Shop {
    reading: Reading,
    threads: usize,
    warm: Vec<Mutex<Option<Warm>>>,
}

fn unpoisoned<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

impl Shop {
    pub fn new(reading: Reading, threads: usize) -> Self {
        let count = reading.lamp.as_ref().map_or(0, |lamp| lamp.variants.len());
        Self { reading, threads, warm: (0..count).map(|_| Mutex::new(None)).collect() }
    }

    /// The lamp, where it can be used.
    pub fn lamp(&self) -> Option<&Lamp> {
        self.reading.lamp.as_ref()
    }

    pub fn about(&self) -> About {
        let understood: BTreeMap<&str, _> =
            self.reading.understood.variants.iter().map(|v| (v.variant.as_str(), v.clone())).collect();
        let lamp = self.reading.lamp.as_ref();
        About {
            name: self.reading.understood.lamp.clone(),
            version: env!("CARGO_PKG_VERSION"),
            ambient_c: lamp.map_or(25.0, |lamp| lamp.ambient_c),
            currents_a: lamp.map(|lamp| lamp.currents_a.clone()).unwrap_or_default(),
            nominal_current_a: lamp.map_or(0.0, |lamp| lamp.nominal_current_a),
            facing: lamp
                .and_then(|lamp| FACINGS.into_iter().find(|(_, facing)| *facing == lamp.facing))
                .map_or("", |(words, _)| words),
            board_limit_c: lamp.and_then(|lamp| lamp.board_limit_c),
            variants: lamp.map_or_else(Vec::new, |lamp| {
                lamp.variants
                    .iter()
                    .map(|variant| {
                        about_variant(lamp, variant, understood.get(variant.name.as_str()).cloned())
                    })
                    .collect()
            }),
            remarks: self.reading.remarks.clone(),
        }
    }

    /// Solves a question until `working` is told to stop. What is made by then stays: the grid, and the field as a start.
    pub fn solve(&self, asked: &Asked, working: &Working) -> Result<Solved, Trouble> {
        let (variant, mut warm) = self.taken(asked, working)?;
        let (ready, run) = self.run(&mut warm, variant, asked, asked.contact(variant)?, working)?;
        let slice = asked
            .depth
            .filter(|_| run.hottest_board_c.is_some())
            .map(|depth| ready.model.slice(depth, PITCH_M));
        let gap_map = asked.depth.and_then(|_| ready.model.gap_map(GAP_PITCH_M));
        Ok(Solved {
            copper_map: asked.copper_layer.and_then(|layer| ready.model.copper_map(layer)),
            copper_layers: ready.model.copper_layers(),
            depths: ready.model.depths(),
            run,
            slice,
            gap_map,
        })
    }

    /// What changes of the contact would do, from the contact as built; all else as asked.
    pub fn contact(
        &self,
        asked: &Asked,
        working: &Working,
    ) -> Result<Changed<ContactWhatIfFinding>, Trouble> {
        let (variant, mut warm) = self.taken(asked, working)?;
        let (ready, built) = self.run(&mut warm, variant, asked, BondWhatIf::default(), working)?;
        // The field will be that of another contact.
        ready.last = None;
        let mut tell = |what: &str| working.tell(what);
        let what_ifs = contact_what_ifs(&mut ready.model, variant, &built, working.cancel(), &mut tell)?;
        Ok(Changed { current_a: built.current_a, ambient_c: built.ambient_c, what_ifs })
    }

    /// What changes of fan, vents and facing would do, from the cooling and all else as asked.
    pub fn air(&self, asked: &Asked, working: &Working) -> Result<Changed<AirWhatIfFinding>, Trouble> {
        let (variant, mut warm) = self.taken(asked, working)?;
        let (ready, now) = self.run(&mut warm, variant, asked, asked.contact(variant)?, working)?;
        // The field will be that of another cooling.
        ready.last = None;
        let mut tell = |what: &str| working.tell(what);
        let what_ifs = air_what_ifs(&mut ready.model, &now, working.cancel(), &mut tell)?;
        Ok(Changed { current_a: now.current_a, ambient_c: now.ambient_c, what_ifs })
    }

    /// The variant asked for, and its model once no other question has it.
    fn taken(
        &self,
        asked: &Asked,
        working: &Working,
    ) -> Result<(&Variant, MutexGuard<'_, Option<Warm>>), Trouble> {
        let Some(lamp) = &self.reading.lamp else {
            return Err(Trouble::plain("the lamp has errors; they are listed on the page"));
        };
        let index =
            lamp.variants.iter().position(|variant| variant.name == asked.variant).ok_or_else(|| {
                Trouble::typed("variant", format!("there is no variant \"{}\"", asked.variant))
            })?;
        let warm = unpoisoned(&self.warm[index]);
        go_on(working)?;
        Ok((&lamp.variants[index], warm))
    }

    /// Brings a model to what is asked, with this contact, and solves it where it has not just been.
    fn run<'a>(
        &self,
        warm: &'a mut Option<Warm>,
        variant: &Variant,
        asked: &Asked,
        contact: BondWhatIf,
        working: &Working,
    ) -> Result<(&'a mut Warm, Run), Trouble> {
        let numbers = asked.numbers()?;
        let Some(lamp) = &self.reading.lamp else {
            return Err(Trouble::plain("the lamp has errors; they are listed on the page"));
        };
        let began = Instant::now();
        let ready = match warm.take() {
            Some(ready) => ready,
            None => {
                working.tell("laying the grid");
                let model = Model::new(lamp, variant, &GridChoice::default(), self.threads)?;
                Warm {
                    model,
                    bond: None,
                    cooling: CoolingAsked::default(),
                    contact: BondWhatIf::default(),
                    last: None,
                }
            }
        };
        let ready = warm.insert(ready);
        go_on(working)?;
        working.tell(format!("solving {} cells", ready.model.cells()));
        ready.adjust(variant, numbers)?;
        ready.turn(numbers.facing.unwrap_or(lamp.facing))?;
        ready.touch(contact)?;
        go_on(working)?;
        if let Some((_, run)) = ready.last.as_ref().filter(|(same, _)| *same == numbers) {
            let run = run.clone();
            return Ok((ready, run));
        }
        let current_a = numbers.current_a.unwrap_or(lamp.nominal_current_a);
        let ambient_c = numbers.ambient_c.unwrap_or(lamp.ambient_c);
        ready.last = None;
        let mut run = ready.model.run(current_a, ambient_c, working.cancel())?;
        run.seconds = began.elapsed().as_secs_f64();
        ready.last = Some((numbers, run.clone()));
        Ok((ready, run))
    }
}

fn go_on(working: &Working) -> Result<(), Trouble> {
    if working.is_cancelled() { Err(Trouble::cancelled()) } else { Ok(()) }
}

impl Warm {
    /// Takes over another contact.
    fn touch(&mut self, contact: BondWhatIf) -> Result<(), Trouble> {
        if contact != self.contact {
            self.last = None;
            self.model.what_if(contact)?;
            self.contact = contact;
        }
        Ok(())
    }

    /// Takes over where the lamp looks.
    fn turn(&mut self, facing: Facing) -> Result<(), Trouble> {
        if facing != self.model.facing() {
            self.last = None;
            self.model.turn(facing)?;
        }
        Ok(())
    }

    /// Takes over bond line and heatsink where they differ from what the model has.
    fn adjust(&mut self, variant: &Variant, numbers: Numbers) -> Result<(), Trouble> {
        let bond =
            (numbers.bond_m != self.bond).then(|| changed_bond(variant, numbers.bond_m)).transpose()?;
        let asked = CoolingAsked::of(numbers);
        let cooling = (asked != self.cooling).then(|| asked.changed(variant)).transpose()?;
        if bond.is_some() || cooling.is_some() {
            self.last = None;
            self.model.adjust(bond.flatten().as_ref(), cooling.flatten())?;
            (self.bond, self.cooling) = (numbers.bond_m, asked);
        }
        Ok(())
    }
}

/// The bond line with another thickness; the lamp's own without one.
fn changed_bond(variant: &Variant, thickness_m: Option<f64>) -> Result<Option<Bond>, Trouble> {
    let (Some(own), Some(thickness_m)) = (&variant.bond, thickness_m) else {
        return match thickness_m {
            None => Ok(variant.bond.clone()),
            Some(_) => Err(Trouble::typed("bond", "this variant has no bond line")),
        };
    };
    let Some(k) = own.conductivity_w_per_m_k else {
        return Err(Trouble::typed(
            "bond",
            "the bond line is given by its resistance; give thickness and conductivity in lamp.toml to change it here",
        ));
    };
    Ok(Some(Bond { thickness_m: Some(thickness_m), resistance_m2k_per_w: thickness_m / k, ..own.clone() }))
}

/// The fins of a variant, where they are given.
fn air_of(variant: &Variant) -> Option<&AirSide> {
    match &variant.heatsink.as_ref()?.cooling {
        Cooling::Air(side) => Some(side),
        Cooling::Resistance { .. } | Cooling::Film { .. } => None,
    }
}

fn about_variant(
    lamp: &Lamp,
    variant: &Variant,
    understood: Option<lamp::project::summary::VariantSummary>,
) -> AboutVariant {
    let least = |values: &mut dyn Iterator<Item = f64>| values.reduce(f64::min);
    AboutVariant {
        variant: variant.name.clone(),
        title: variant.title.clone(),
        drawing: drawing(lamp, variant),
        understood: understood.map(|mut summary| {
            summary.artwork = summary.artwork.map(|mut artwork| {
                artwork.remarks.clear();
                artwork
            });
            summary
        }),
        has_bond: variant.bond.is_some(),
        bond_thickness_um: variant
            .bond
            .as_ref()
            .filter(|b| b.conductivity_w_per_m_k.is_some())
            .and_then(|b| b.thickness_m)
            .map(|t| t * 1e6),
        bond_conductivity_w_per_m_k: variant.bond.as_ref().and_then(|b| b.conductivity_w_per_m_k),
        bond_resistance_m2k_per_w: variant.bond.as_ref().map(|b| b.resistance_m2k_per_w),
        has_burrs: variant.flatness.has_burrs(),
        has_bow: variant.flatness.has_bow(),
        has_heatsink: variant.heatsink.is_some(),
        heatsink_k_per_w: variant.heatsink.as_ref().and_then(|heatsink| match heatsink.cooling {
            Cooling::Resistance { k_per_w } => Some(k_per_w),
            _ => None,
        }),
        heatsink_h_w_per_m2_k: variant.heatsink.as_ref().and_then(|heatsink| match heatsink.cooling {
            Cooling::Film { h_w_per_m2_k } => Some(h_w_per_m2_k),
            _ => None,
        }),
        fan_voltage_v: air_of(variant).and_then(|side| side.fans.as_ref()).map(|fans| fans.voltage_v),
        has_vents: air_of(variant).is_some_and(|side| !side.vents.is_empty()),
        heatsink_air: air_of(variant).map(AirSide::words),
        current_limit_a: least(
            &mut variant.emitters.iter().map(|e| e.sheet.current_limit_a / e.current_share),
        ),
        junction_limit_c: least(&mut variant.emitters.iter().map(|e| e.sheet.junction_limit_c)),
    }
}

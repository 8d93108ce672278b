//! How the drive current divides among strings and emitters side by side.

use std::collections::BTreeMap;
use std::fmt;

use super::Circuit;
use super::curve::Curve;
use super::network::{self, Branch};
use super::part::Part;
use crate::as_built::{DrivePer, PlacedEmitter};

/// Shares are given to a billionth, so that the share of a plain string is exactly 1.
const SHARE_STEPS: f64 = 1e9;

/// The drive.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Drive {
    /// What the current is for. Per string: each supply gives the current times the number of its strings, which share it by
    /// their voltages. Per lamp: all supplies are joined at one driver that gives the current.
    pub per: DrivePer,
    /// Current, A; >= 0.
    pub current_a: f64,
}

/// In which state the emitters and conductors are; lists are indexed as the variant's emitters and the circuit's supplies.
#[derive(Debug, Clone, PartialEq)]
pub struct Conditions {
    /// Junction temperature of each emitter, degC.
    pub junction_c: Vec<f64>,
    /// What each emitter's forward voltage lies above its sheet's, V.
    pub offset_v: Vec<f64>,
    /// Resistance in series with each emitter, ohm; >= 0: the copper on its way.
    pub emitter_ohm: Vec<f64>,
    /// Resistance of each supply's conductors up to its pads, ohm; >= 0: both leads.
    pub supply_ohm: Vec<f64>,
}

impl Conditions {
    /// Every emitter at the junction temperature of its sheet's voltage table and just as its sheet says; no resistance.
    #[must_use]
    pub fn by_sheet(circuit: &Circuit, emitters: &[PlacedEmitter]) -> Self {
        Self {
            junction_c: emitters.iter().map(|emitter| emitter.sheet.voltage_reference_c).collect(),
            offset_v: vec![0.0; emitters.len()],
            emitter_ohm: vec![0.0; emitters.len()],
            supply_ohm: vec![0.0; circuit.supplies.len()],
        }
    }
}

/// Currents and voltages of a circuit.
#[derive(Debug, Clone, PartialEq)]
pub struct Currents {
    /// Current of each emitter of the variant, A; 0 where it is not lit.
    pub emitter_a: Vec<f64>,
    /// Forward voltage of each emitter, V; 0 where it is not lit.
    pub emitter_v: Vec<f64>,
    /// Current of each supply, A.
    pub supply_a: Vec<f64>,
    /// Current of each string, A.
    pub string_a: Vec<f64>,
}

/// Why currents were not found.
#[derive(Debug, Clone, PartialEq)]
pub enum SharingError {
    /// An input has the wrong length or is out of range.
    Input(String),
    /// A sheet's voltage does not rise with its current.
    VoltageFalls {
        /// The sheet's name.
        sheet: String,
    },
    /// Too many nodes where branches meet.
    TooLarge {
        /// Nodes there are.
        nodes: usize,
        /// Nodes allowed.
        most: usize,
    },
    /// Newton's method did not get there.
    NotConverged {
        /// Largest voltage left over, V.
        residual_v: f64,
    },
}

impl fmt::Display for SharingError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Input(text) => f.write_str(text),
            Self::VoltageFalls { sheet } => write!(
                f,
                "emitter sheet {sheet}: the forward voltage does not rise with the current all along its table, so nothing tells how branches side by side share a current"
            ),
            Self::TooLarge { nodes, most } => {
                write!(f, "the circuit has {nodes} nodes where branches meet; up to {most} are solved for")
            }
            Self::NotConverged { residual_v } => {
                write!(
                    f,
                    "the currents of branches side by side were not found; {residual_v:.2e} V is left over"
                )
            }
        }
    }
}

impl std::error::Error for SharingError {}

/// Divides a drive current: in series the same current, side by side the same voltage. Kirchhoff's laws with `V_e(I) = sum of forward voltages(I, T_j) + offsets + R I` for each branch.
///
/// # Errors
/// For inputs out of range, a sheet whose voltage falls with the current, or when no solution is found.
pub fn share(
    circuit: &Circuit,
    emitters: &[PlacedEmitter],
    drive: Drive,
    at: &Conditions,
) -> Result<Currents, SharingError> {
    Ok(shared(circuit, emitters, drive, at, false)?.0)
}

/// How currents answer to voltages.
#[derive(Debug, Clone, Default)]
pub(crate) struct Yielding {
    /// The branch of the network that each emitter is part of; `None` where it is not lit.
    chain_of: Vec<Option<usize>>,
    chains: usize,
    a_per_v: Vec<f64>,
}

impl Yielding {
    /// Change of an emitter's current for each volt by which another's (or its own) forward voltage rises, A/V.
    pub(crate) fn a_per_v(&self, of: usize, by: usize) -> f64 {
        let chain = |emitter: usize| self.chain_of.get(emitter).copied().flatten();
        match (chain(of), chain(by)) {
            (Some(k), Some(l)) => self.a_per_v.get(k * self.chains + l).copied().unwrap_or(0.0),
            _ => 0.0,
        }
    }
}

/// As [`share`], with how the currents answer to each emitter's voltage.
pub(crate) fn share_and_yield(
    circuit: &Circuit,
    emitters: &[PlacedEmitter],
    drive: Drive,
    at: &Conditions,
) -> Result<(Currents, Yielding), SharingError> {
    shared(circuit, emitters, drive, at, true)
}

fn shared(
    circuit: &Circuit,
    emitters: &[PlacedEmitter],
    drive: Drive,
    at: &Conditions,
    with_yield: bool,
) -> Result<(Currents, Yielding), SharingError> {
    check(circuit, emitters, drive, at)?;
    let mut found = Currents {
        emitter_a: vec![0.0; emitters.len()],
        emitter_v: vec![0.0; emitters.len()],
        supply_a: vec![0.0; circuit.supplies.len()],
        string_a: vec![0.0; circuit.strings.len()],
    };
    if drive.current_a == 0.0 || circuit.strings.is_empty() {
        return Ok((found, Yielding::default()));
    }
    let wires = Wires::of(circuit, emitters, drive, at)?;
    let branches: Vec<Branch> =
        wires.chains.iter().map(|chain| chain.branch(&wires)).collect::<Result<_, _>>()?;
    let currents = network::solve(&branches, &wires.sources_a)?;
    let mut yielding =
        Yielding { chain_of: vec![None; emitters.len()], chains: branches.len(), a_per_v: Vec::new() };
    if with_yield {
        // Where it cannot be told, currents are taken not to answer.
        let nodes = wires.sources_a.len();
        yielding.a_per_v = network::yielding_a_per_v(&branches, nodes, &currents).unwrap_or_default();
    }
    for (number, (chain, current_a)) in wires.chains.iter().zip(currents).enumerate() {
        for &link in &chain.links {
            if let Some(emitter) = wires.links[link].emitter {
                found.emitter_a[emitter] = current_a;
                yielding.chain_of[emitter] = Some(number);
            }
        }
    }
    for (index, &current_a) in found.emitter_a.iter().enumerate().filter(|(_, current)| **current > 0.0) {
        let curve = Curve::new(&emitters[index].sheet, at.junction_c[index], at.offset_v[index])?;
        found.emitter_v[index] = curve.at(current_a).0;
    }
    for (string, into) in circuit.strings.iter().zip(&mut found.string_a) {
        *into = through(&string.part, &found.emitter_a);
        found.supply_a[string.supply] += *into;
    }
    Ok((found, yielding))
}

/// The current through a part, A.
pub(crate) fn through(part: &Part, emitter_a: &[f64]) -> f64 {
    part.entrance().into_iter().filter_map(|emitter| emitter_a.get(emitter)).sum()
}

/// Each emitter's part of the drive current by the circuit, all emitters as their sheets say at the same junction temperature as
/// their tables; `None` for an emitter that is not lit.
///
/// # Errors
/// As [`share`].
pub fn shares(
    circuit: &Circuit,
    emitters: &[PlacedEmitter],
    drive: Drive,
) -> Result<Vec<Option<f64>>, SharingError> {
    let found = share(circuit, emitters, drive, &Conditions::by_sheet(circuit, emitters))?;
    let part = |current_a: f64| (current_a / drive.current_a * SHARE_STEPS).round() / SHARE_STEPS;
    Ok(circuit.lit.iter().zip(found.emitter_a).map(|(lit, current_a)| lit.then(|| part(current_a))).collect())
}

fn check(
    circuit: &Circuit,
    emitters: &[PlacedEmitter],
    drive: Drive,
    at: &Conditions,
) -> Result<(), SharingError> {
    let input = |text: String| Err(SharingError::Input(text));
    if !(drive.current_a >= 0.0 && drive.current_a.is_finite()) {
        return input(format!("drive current {} A: must be 0 A or more", drive.current_a));
    }
    let (lamps, supplies) = (emitters.len(), circuit.supplies.len());
    let lists = [
        ("junction temperatures", &at.junction_c, lamps, -273.15),
        ("voltage offsets", &at.offset_v, lamps, f64::MIN),
        ("emitter resistances", &at.emitter_ohm, lamps, 0.0),
        ("supply resistances", &at.supply_ohm, supplies, 0.0),
    ];
    for (name, list, wanted, least) in lists {
        if list.len() != wanted {
            return input(format!("{} {name} are given for {wanted}", list.len()));
        }
        if let Some(wrong) = list.iter().find(|value| !(value.is_finite() && **value >= least)) {
            return input(format!("{name}: {wrong} is out of range"));
        }
    }
    if circuit.emitter_nodes.len() != lamps || circuit.lit.len() != lamps {
        return input(format!("the circuit has {} emitters, {lamps} are given", circuit.lit.len()));
    }
    Ok(())
}

/// An emitter or a supply's conductors, between two nodes of the network.
struct Link<'a> {
    from: usize,
    to: usize,
    emitter: Option<usize>,
    lit: Option<(&'a PlacedEmitter, f64, f64)>,
    ohm: f64,
    guess_a: f64,
}

/// Links in series between nodes where branches meet.
struct Chain {
    links: Vec<usize>,
    from: usize,
    to: usize,
}

impl Chain {
    fn branch(&self, wires: &Wires<'_>) -> Result<Branch, SharingError> {
        let links = || self.links.iter().map(|link| &wires.links[*link]);
        let curve = |link: &Link<'_>| {
            link.lit.map(|(emitter, junction_c, offset_v)| Curve::new(&emitter.sheet, junction_c, offset_v))
        };
        Ok(Branch {
            from: self.from,
            to: self.to,
            curves: links().filter_map(curve).collect::<Result<_, _>>()?,
            ohm: links().map(|link| link.ohm).sum(),
            guess_a: links().map(|link| link.guess_a).fold(0.0, f64::max),
        })
    }
}

/// The network of a circuit at a drive.
struct Wires<'a> {
    links: Vec<Link<'a>>,
    chains: Vec<Chain>,
    sources_a: Vec<f64>,
}

impl<'a> Wires<'a> {
    fn of(
        circuit: &Circuit,
        emitters: &'a [PlacedEmitter],
        drive: Drive,
        at: &Conditions,
    ) -> Result<Self, SharingError> {
        let driver = circuit.nodes.len();
        let mut stands_for: Vec<usize> = (0..=driver).collect();
        let mut sources_a = vec![0.0; driver + 1];
        let mut guess_a = vec![0.0; emitters.len()];
        let mut leads = Vec::new();
        let lit: Vec<(usize, &super::Supply, &Part)> = circuit
            .supplies
            .iter()
            .enumerate()
            .filter_map(|(index, supply)| Some((index, supply, supply.root.as_ref()?)))
            .collect();
        for (index, supply, root) in &lit {
            let [plus, minus] = supply.nodes;
            let strings = root.branches().len() as f64;
            let current_a = match drive.per {
                DrivePer::String => {
                    sources_a[plus] += drive.current_a * strings;
                    sources_a[minus] -= drive.current_a * strings;
                    drive.current_a * strings
                }
                DrivePer::Lamp => {
                    let ohm = at.supply_ohm[*index];
                    if ohm > 0.0 {
                        leads.push((plus, ohm));
                    } else {
                        join(&mut stands_for, plus, driver);
                    }
                    join(&mut stands_for, minus, lit[0].1.nodes[1]);
                    drive.current_a / lit.len() as f64
                }
            };
            guess(root, current_a, &mut guess_a);
        }
        if drive.per == DrivePer::Lamp
            && let Some((_, first, _)) = lit.first()
        {
            sources_a[driver] += drive.current_a;
            sources_a[first.nodes[1]] -= drive.current_a;
        }
        let head = |node: usize| {
            let mut node = node;
            while stands_for[node] != node {
                node = stands_for[node];
            }
            node
        };
        let mut gathered = vec![0.0; driver + 1];
        for (node, source) in sources_a.iter().enumerate() {
            gathered[head(node)] += source;
        }
        if head(driver) == head(lit.first().map_or(driver, |(_, first, _)| first.nodes[1])) && !lit.is_empty()
        {
            return Err(SharingError::Input(
                "the supplies cannot be joined at one driver: the + pad of one is on the net of another's - pad".to_owned(),
            ));
        }
        let mut links = Vec::new();
        for (index, pair) in circuit.emitter_nodes.iter().enumerate().filter(|(index, _)| circuit.lit[*index])
        {
            let Some([anode, cathode]) = *pair else { continue };
            links.push(Link {
                from: head(anode),
                to: head(cathode),
                emitter: Some(index),
                lit: Some((&emitters[index], at.junction_c[index], at.offset_v[index])),
                ohm: at.emitter_ohm[index],
                guess_a: guess_a[index],
            });
        }
        let share_a = drive.current_a / lit.len().max(1) as f64;
        links.extend(leads.into_iter().map(|(plus, ohm)| Link {
            from: head(driver),
            to: head(plus),
            emitter: None,
            lit: None,
            ohm,
            guess_a: share_a,
        }));
        let chains = chains(&links, &gathered);
        Ok(Self { links, chains, sources_a: gathered })
    }
}

fn join(stands_for: &mut [usize], a: usize, b: usize) {
    let head = |mut node: usize| {
        while stands_for[node] != node {
            node = stands_for[node];
        }
        node
    };
    let (a, b) = (head(a), head(b));
    stands_for[a] = b;
}

/// An even division, from which the search begins.
fn guess(part: &Part, current_a: f64, into: &mut [f64]) {
    match part {
        Part::Emitter(emitter) => into[*emitter] = current_a,
        Part::Series(parts) => parts.iter().for_each(|part| guess(part, current_a, into)),
        Part::Parallel(parts) => {
            parts.iter().for_each(|part| guess(part, current_a / parts.len() as f64, into));
        }
        Part::Mesh(edges) => {
            edges.iter().for_each(|edge| guess(&edge.part, current_a / edges.len() as f64, into));
        }
    }
}

/// Follows links through nodes that only pass their current on.
fn chains(links: &[Link<'_>], sources_a: &[f64]) -> Vec<Chain> {
    let mut out: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    let mut entering: BTreeMap<usize, usize> = BTreeMap::new();
    for (index, link) in links.iter().enumerate() {
        out.entry(link.from).or_default().push(index);
        *entering.entry(link.to).or_default() += 1;
    }
    let passes = |node: usize| -> Option<usize> {
        let next = out.get(&node).filter(|next| next.len() == 1)?;
        (entering.get(&node) == Some(&1) && sources_a[node] == 0.0).then_some(next[0])
    };
    let mut found = Vec::new();
    for (index, link) in links.iter().enumerate() {
        if passes(link.from).is_some() {
            continue;
        }
        let mut chain = Chain { links: vec![index], from: link.from, to: link.to };
        while let Some(next) = passes(chain.to) {
            chain.links.push(next);
            chain.to = links[next].to;
        }
        found.push(chain);
    }
    found
}

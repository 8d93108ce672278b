//! Circuits of small boards, told by plane geometry; random circuits, traced back from their copper.

use artwork::roles::Role;
use proptest::prelude::*;

use super::boards::{at, emitter, emitters, named, nets, row, supply, wired};
use super::{Circuit, CircuitRemark, Fault, Part};
use crate::as_built::PlacedEmitter;

fn words(circuit: &Circuit, emitters: &[PlacedEmitter]) -> Vec<String> {
    let name = |index: usize| emitters[index].reference.clone();
    circuit.strings.iter().map(|s| format!("{}: {}", s.name, s.part.words(&name))).collect()
}

fn faults(circuit: &Circuit) -> Vec<&CircuitRemark> {
    circuit.remarks.iter().filter(|remark| remark.severity() == "warning").collect()
}

/// The only warning of a circuit, of this kind, with these words.
#[track_caller]
fn only(circuit: &Circuit, fault: Fault, says: &[&str]) {
    let faults = faults(circuit);
    let [one] = faults[..] else { panic!("one fault is expected: {faults:#?}") };
    assert_eq!(one.fault, fault, "{}", one.text);
    for word in says {
        assert!(one.text.contains(word), "{word}: {}", one.text);
    }
}

const ROW: [&str; 5] = ["P", "a", "b", "c", "M"];

#[test]
fn a_row_is_one_string_however_its_pads_are_told() {
    let mut copper = row(&ROW);
    copper.push(("J1.1", [1.0, -0.5, 2.0, 0.5]));
    copper.push(("J1.2", [47.0, -0.5, 48.0, 0.5]));
    let nets = nets(&copper, &[], &[]);
    let emitters = emitters(4);
    for (plus, minus) in
        [(named("P"), named("M")), (named("J1.1"), named("J1.2")), (at(1.5, 0.0), at(48.0, 0.0))]
    {
        let pads = vec![supply(&nets, "A", plus, minus)];
        let circuit = Circuit::trace(nets.clone(), Role::CopperTop, &emitters, pads);
        assert_eq!(words(&circuit, &emitters), ["A: D1, D2, D3, D4"]);
        assert_eq!(circuit.remarks, []);
        assert!(circuit.lit.iter().all(|lit| *lit) && circuit.parallel_groups.is_empty());
        let node = |index: usize| circuit.emitter_nodes[index].unwrap();
        assert!((0..3).all(|index| node(index)[1] == node(index + 1)[0]));
        assert_eq!(circuit.nodes[node(0)[1]].contacts.len(), 2);
    }
}

#[test]
fn pads_that_are_not_there_are_told_with_what_there_is() {
    let mut copper = row(&ROW);
    copper.push(("J1.1", [1.0, -0.5, 2.0, 0.5]));
    copper.push(("J1.2", [47.0, -0.5, 48.0, 0.5]));
    let nets = nets(&copper, &[], &[]);
    let error = |place: super::PadPlace| place.find(&nets).unwrap_err();
    assert!(error(named("J1.3")).contains("J1.1, J1.2") && error(named("Q")).contains("M, P"));
    assert!(error(named("J1")).contains("several nets"));
    assert!(error(at(1.0, 1.0)).contains("the nearest belongs to net \"P\""), "{}", error(at(1.0, 1.0)));
    assert!(error(at(1.0, 9.0)).contains("none lies within 2 mm"));
}

#[test]
fn a_pad_in_a_plated_hole_is_on_its_copper() {
    // A ring on the bottom round a hole that the top's strip P reaches.
    let ring = [
        ("", [3.0, -0.5, 4.0, -0.2]),
        ("", [3.0, 0.2, 4.0, 0.5]),
        ("", [3.0, -0.5, 3.35, 0.5]),
        ("", [3.65, -0.5, 4.0, 0.5]),
    ];
    let mut copper = row(&ROW);
    copper[0].1 = [3.65, -0.6, 9.3, 0.6];
    let nets = nets(&copper, &ring, &[[3.5, 0.0]]);
    let found = at(3.5, 0.0).find(&nets).unwrap();
    assert_eq!(nets.nets[found.net].name, "P");
}

#[test]
fn an_emitter_the_wrong_way_round_is_told_and_darkens_its_string() {
    let nets = nets(&row(&ROW), &[], &[]);
    let pads = || vec![supply(&nets, "A", named("P"), named("M"))];
    let mut emitters = emitters(4);
    emitters[1] = emitter(2, true);
    let circuit = Circuit::trace(nets.clone(), Role::CopperTop, &emitters, pads());
    only(
        &circuit,
        Fault::Reversed,
        &["D2 at 20.000, 0.000 mm", "anode looks towards the - pad", "D1, D3, D4"],
    );
    assert!(circuit.strings.is_empty() && !circuit.lit.contains(&true));
    // All turned: the pads are exchanged.
    let turned: Vec<_> = (1..=4).map(|number| emitter(number, true)).collect();
    let circuit = Circuit::trace(nets.clone(), Role::CopperTop, &turned, pads());
    only(&circuit, Fault::Exchanged, &["supply A", "from P to M"]);
}

#[test]
fn one_against_others_side_by_side_leaves_them_lit() {
    let (circuit, emitters) = wired(&[(0, 1), (1, 2), (2, 1)], &[(0, 2)]);
    assert_eq!(words(&circuit, &emitters), ["A: D1, D2"]);
    only(&circuit, Fault::Reversed, &["D3 at 30.000, 0.000 mm"]);
}

#[test]
fn a_gap_is_told_with_both_its_sides() {
    // Net b is in two pieces, the left one under D2's cathode, the right one under D3's anode.
    let mut copper = row(&["P", "a", "", "c", "M"]);
    copper[2].1 = [20.7, -0.6, 24.0, 0.6];
    copper.push(("", [25.0, -0.6, 29.3, 0.6]));
    let gap = nets(&copper, &[], &[]);
    let emitters = emitters(4);
    let traced = |nets: &std::sync::Arc<artwork::nets::Nets>| {
        let pads = vec![supply(nets, "A", named("P"), named("M"))];
        Circuit::trace(nets.clone(), Role::CopperTop, &emitters, pads)
    };
    only(
        &traced(&gap),
        Fault::Open,
        &[
            "gap",
            "cathode land of D2 at 21.000, 0.000 mm",
            "anode land of D3 at 29.000, 0.000 mm",
            "D1, D2, D3, D4 carry no current",
        ],
    );
    // A resistor over the gap is named and not followed.
    copper.push(("R1.1", [23.0, -0.5, 24.0, 0.5]));
    copper.push(("R1.2", [25.0, -0.5, 26.0, 0.5]));
    only(&traced(&nets(&copper, &[], &[])), Fault::Open, &["R1 stands between"]);
    // Copper across the gap mends it.
    copper.push(("", [23.5, -0.1, 25.5, 0.1]));
    assert_eq!(faults(&traced(&nets(&copper, &[], &[]))), Vec::<&CircuitRemark>::new());
}

#[test]
fn a_land_on_an_island_of_its_own_is_open() {
    // The last strip covers D4's cathode land only; the - pad is on copper further on.
    let mut copper = row(&ROW);
    copper[4] = ("", [40.7, -0.6, 41.3, 0.6]);
    copper.push(("M", [44.0, -0.6, 49.0, 0.6]));
    let nets = nets(&copper, &[], &[]);
    let emitters = emitters(4);
    let pads = vec![supply(&nets, "A", named("P"), named("M"))];
    let circuit = Circuit::trace(nets, Role::CopperTop, &emitters, pads);
    let kinds: Vec<Fault> = faults(&circuit).iter().map(|remark| remark.fault).collect();
    assert_eq!(kinds, [Fault::WrongNet, Fault::Open]);
    assert!(faults(&circuit)[0].text.contains("its - pad (M)"));
    let open = &faults(&circuit)[1].text;
    assert!(open.contains("cathode land of D4 at 41.000") && open.contains("no supply pad"), "{open}");
}

#[test]
fn supply_pads_on_wrong_nets_are_told() {
    let mut copper = row(&ROW);
    copper.push(("OUT", [0.0, 3.0, 5.0, 4.0]));
    let nets = nets(&copper, &[], &[]);
    let emitters = emitters(4);
    let traced = |plus: &str, minus: &str| {
        let pads = vec![supply(&nets, "A", named(plus), named(minus))];
        Circuit::trace(nets.clone(), Role::CopperTop, &emitters, pads)
    };
    let circuit = traced("OUT", "M");
    assert_eq!(faults(&circuit)[0].fault, Fault::WrongNet);
    assert!(faults(&circuit)[0].text.contains("+ pad (OUT) is on net \"OUT\""), "{:?}", faults(&circuit));
    // In the middle of the string: D1 and D2 stay dark.
    let circuit = traced("b", "M");
    assert_eq!(words(&circuit, &emitters), ["A: D3, D4"]);
    only(&circuit, Fault::Open, &["net \"P\" (anode land of D1", "D1, D2 carry no current"]);
    let circuit = traced("P", "P");
    let short = faults(&circuit)[0];
    assert_eq!(short.fault, Fault::Short);
    assert!(short.text.contains("supply A are on one net, net \"P\""), "{}", short.text);
    assert!(circuit.strings.is_empty());
}

#[test]
fn shorts_under_an_emitter_are_told() {
    let emitters = emitters(4);
    let traced = |copper: &[(&str, [f64; 4])], bottom: &[(&str, [f64; 4])], holes: &[[f64; 2]]| {
        let nets = nets(copper, bottom, holes);
        let pads = vec![supply(&nets, "A", named("P"), named("M"))];
        Circuit::trace(nets, Role::CopperTop, &emitters, pads)
    };
    // Copper all along D3: one island.
    let mut copper = row(&ROW);
    copper.push(("", [28.0, 0.5, 32.0, 0.6]));
    let circuit = traced(&copper, &[], &[]);
    let short = faults(&circuit)[0];
    assert_eq!(short.fault, Fault::Short);
    assert!(short.text.contains("of D3 at 30.000, 0.000 mm are on one piece of copper"), "{}", short.text);
    // The string goes on without D3.
    assert_eq!(words(&circuit, &emitters), ["A: D1, D2, D4"]);
    // Joined on the bottom by plated holes.
    let circuit = traced(&row(&ROW), &[("", [28.0, -0.5, 32.0, 0.5])], &[[28.5, 0.0], [31.5, 0.0]]);
    assert!(faults(&circuit)[0].text.contains("of D3 at 30.000, 0.000 mm are joined"));
    // A land half on another net.
    let mut copper = row(&ROW);
    copper.push(("x", [28.75, -0.3, 29.2, 0.0]));
    copper[2].1 = [20.7, 0.1, 29.3, 0.6];
    copper.push(("", [20.7, -0.6, 25.0, 0.6]));
    let circuit = traced(&copper, &[], &[]);
    let short = faults(&circuit)[0];
    assert!(
        short.fault == Fault::Short && short.text.contains("D3's anode land at 29.000"),
        "{}",
        short.text
    );
    assert!(short.text.contains("0.200 mm2 of it on \"b\" and 0.135 mm2 on \"x\""), "{}", short.text);
}

#[test]
fn a_land_without_copper_is_told() {
    let mut copper = row(&ROW);
    copper[1].1 = [11.5, -0.6, 19.3, 0.6];
    let nets = nets(&copper, &[], &[]);
    let pads = vec![supply(&nets, "A", named("P"), named("M"))];
    let circuit = Circuit::trace(nets, Role::CopperTop, &emitters(4), pads);
    let bare: Vec<&CircuitRemark> = circuit.remarks.iter().filter(|r| r.fault == Fault::NoCopper).collect();
    assert_eq!(bare.len(), 1);
    assert!(bare[0].text.contains("D1's cathode land at 11.000, 0.000 mm stands on no copper"));
}

#[test]
fn thermal_lands_are_told_where_they_carry_current_only() {
    let mut copper = row(&ROW);
    // D1's on an island of its own, D2's joined to its cathode.
    copper.push(("", [19.6, -0.55, 20.8, 0.55]));
    let nets = nets(&copper, &[], &[]);
    let pads = vec![supply(&nets, "A", named("P"), named("b"))];
    let circuit = Circuit::trace(nets, Role::CopperTop, &emitters(2), pads);
    assert_eq!(faults(&circuit), Vec::<&CircuitRemark>::new());
    let told: Vec<&str> = circuit.remarks.iter().map(|remark| remark.text.as_str()).collect();
    assert!(
        told.len() == 1 && told[0].starts_with("thermal land of D2: joined to the net of its own cathode"),
        "{told:?}"
    );
}

#[test]
fn series_parallel_and_bridges_by_hand() {
    // D1 in series with D2 | (D3, D4).
    let (circuit, emitters) = wired(&[(0, 1), (1, 2), (1, 3), (3, 2)], &[(0, 2)]);
    assert_eq!(words(&circuit, &emitters), ["A: D1, (D2 | D3, D4)"]);
    assert_eq!(circuit.parallel_groups.len(), 1);
    // Two strings side by side are two strings.
    let (circuit, emitters) = wired(&[(0, 1), (1, 2), (0, 3), (3, 2)], &[(0, 2)]);
    assert_eq!(words(&circuit, &emitters), ["A 1: D1, D2", "A 2: D3, D4"]);
    // A bridge from the middle of one to the middle of the other.
    let (circuit, emitters) = wired(&[(0, 1), (1, 2), (0, 3), (3, 2), (1, 3)], &[(0, 2)]);
    assert_eq!(words(&circuit, &emitters), ["A: mesh of D1; D2; D3; D4; D5"]);
    assert!(faults(&circuit).is_empty() && circuit.lit.iter().all(|lit| *lit));
    // Two supplies with a common - pad; and one that is there twice.
    let (circuit, emitters) = wired(&[(0, 1), (1, 2), (3, 4), (4, 2)], &[(0, 2), (3, 2), (0, 2)]);
    assert_eq!(words(&circuit, &emitters), ["A: D1, D2", "B: D3, D4"]);
    assert_eq!(circuit.supplies[2].same_as, Some(0));
    // A ring that hangs on the string carries nothing.
    let (circuit, emitters) = wired(&[(0, 1), (1, 2), (1, 3), (3, 4), (4, 1)], &[(0, 2)]);
    assert_eq!(words(&circuit, &emitters), ["A: D1, D2"]);
    only(&circuit, Fault::Open, &["D3, D4, D5 carry no current"]);
    // So does a full mesh of four nodes that hangs there, which no reduction undoes.
    let ring = [(0, 1), (1, 2), (1, 3), (1, 4), (1, 5), (3, 4), (4, 5), (3, 5)];
    let (circuit, emitters) = wired(&ring, &[(0, 2)]);
    assert_eq!(words(&circuit, &emitters), ["A: D1, D2"]);
}

/// A random part; emitters are numbered by [`number`].
fn any_part() -> impl Strategy<Value = Part> {
    Just(Part::Emitter(0)).boxed().prop_recursive(4, 24, 4, |inner| {
        (any::<bool>(), prop::collection::vec(inner, 2..4)).prop_map(|(series, parts)| {
            // A series within a series is one series.
            let flat = parts.into_iter().flat_map(|part| match part {
                Part::Series(parts) if series => parts,
                Part::Parallel(parts) if !series => parts,
                other => vec![other],
            });
            if series { Part::Series(flat.collect()) } else { Part::Parallel(flat.collect()) }
        })
    })
}

/// Numbers a part's emitters and gives their nodes.
fn number(part: &mut Part, from: usize, to: usize, edges: &mut Vec<(usize, usize)>, nodes: &mut usize) {
    match part {
        Part::Emitter(index) => {
            *index = edges.len();
            edges.push((from, to));
        }
        Part::Series(parts) => {
            let mut here = from;
            let last = parts.len() - 1;
            for (step, part) in parts.iter_mut().enumerate() {
                let next = if step == last {
                    to
                } else {
                    *nodes += 1;
                    *nodes - 1
                };
                number(part, here, next, edges, nodes);
                here = next;
            }
        }
        Part::Parallel(parts) => parts.iter_mut().for_each(|part| number(part, from, to, edges, nodes)),
        Part::Mesh(_) => {}
    }
}

/// A random circuit as a part and its emitters' nodes; the supply is on nodes 0 and 1.
pub(super) fn any_circuit() -> impl Strategy<Value = (Part, Vec<(usize, usize)>)> {
    any_part().prop_map(|mut part| {
        let (mut edges, mut nodes) = (Vec::new(), 2);
        number(&mut part, 0, 1, &mut edges, &mut nodes);
        (part, edges)
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn random_circuits_are_traced_back_from_their_copper((part, edges) in any_circuit()) {
        let (circuit, _) = wired(&edges, &[(0, 1)]);
        prop_assert_eq!(faults(&circuit), Vec::<&CircuitRemark>::new());
        prop_assert_eq!(circuit.supplies[0].root.as_ref(), Some(&part));
        prop_assert_eq!(circuit.strings.len(), part.branches().len());
        let inside: usize = circuit.strings.iter().map(|string| string.emitters.len()).sum();
        prop_assert_eq!(inside, edges.len());
    }

    /// Any emitters between any nodes: whatever they are, tracing ends, and what is lit hangs on both pads.
    #[test]
    fn any_wiring_is_traced_without_harm(
        edges in prop::collection::vec((0usize..6, 0usize..6), 1..14), ends in (0usize..6, 0usize..6),
    ) {
        let (circuit, emitters) = wired(&edges, &[ends]);
        for (index, lit) in circuit.lit.iter().enumerate() {
            prop_assert!(!lit || edges[index].0 != edges[index].1);
        }
        // The part's ends carry Kirchhoff's first law: as many enter each inner node as leave it, at least one.
        for string in &circuit.strings {
            for &emitter in &string.emitters {
                let [anode, cathode] = circuit.emitter_nodes[emitter].unwrap();
                let [plus, minus] = circuit.supplies[0].nodes;
                let any = |wanted: &dyn Fn([usize; 2]) -> bool| {
                    (0..emitters.len()).any(|e| circuit.lit[e] && circuit.emitter_nodes[e].is_some_and(wanted))
                };
                prop_assert!(anode == plus || any(&|[_, c]| c == anode));
                prop_assert!(cathode == minus || any(&|[a, _]| a == cathode));
            }
        }
    }
}

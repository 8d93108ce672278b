//! From emitters between nodes to parts in series and in parallel between two terminals.
//!
//! Nodes with two neighbours make a series, edges between the same two nodes a parallel, until nothing changes (two-terminal
//! series-parallel reduction: Valdes, Tarjan and Lawler, SIAM J. Comput. 11 (1982) 298, from memory). What is then left is
//! meshed; which way current flows through it follows from its potentials with equal emitters. Directions play no role in the
//! reduction, so that it finds emitters that stand the wrong way round.

use std::collections::{BTreeMap, BTreeSet};

use super::dense;
use super::part::{MeshPart, Part};

/// Meshes of more nodes than this are not followed.
const MOST_MESHED: usize = 300;
/// Series within parallels within series deeper than this are not followed.
const MOST_NESTED: usize = 200;
/// A share of the whole current that is none.
const NO_CURRENT: f64 = 1e-9;

/// An emitter between two nodes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Edge {
    /// Node of its anode.
    pub anode: usize,
    /// Node of its cathode.
    pub cathode: usize,
}

/// What lies between two terminals.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Between {
    /// Emitters through which current can flow; `None` when there are none.
    pub root: Option<Part>,
    /// Emitters between the terminals that stand against the current.
    pub reversed: Vec<usize>,
    /// Whether all emitters between the terminals stand against the current.
    pub exchanged: bool,
    /// Whether a mesh was too large, or parts nested too deep, to be followed.
    pub too_meshed: bool,
}

/// Finds what lies between `plus` and `minus`. Edges count by their index; `None` stands for an emitter without nodes.
pub(super) fn between(edges: &[Option<Edge>], plus: usize, minus: usize) -> Between {
    let mut found = Between::default();
    let mut left: Vec<Option<Edge>> = edges.to_vec();
    if plus == minus {
        return found;
    }
    loop {
        let remove = match reduce(&left, plus, minus) {
            Outcome::Nothing => return found,
            Outcome::TooMeshed => {
                found.too_meshed = true;
                return found;
            }
            Outcome::Idle(idle) => idle,
            Outcome::Whole(piece) => {
                let (mut against, mut with) = (Vec::new(), 0);
                piece.against(&mut against, &mut with);
                if against.is_empty() {
                    found.root = Some(piece.part());
                    found.reversed.sort_unstable();
                    return found;
                }
                found.exchanged = found.reversed.is_empty() && with == 0;
                found.reversed.extend(&against);
                against
            }
        };
        for index in remove {
            left[index] = None;
        }
    }
}

enum Outcome {
    Nothing,
    TooMeshed,
    /// Emitters that lie on no path between the terminals.
    Idle(Vec<usize>),
    Whole(Piece),
}

/// A part whose emitters may stand against its direction.
#[derive(Debug, Clone)]
enum Piece {
    Emitter { index: usize, against: bool },
    Series(Vec<Piece>),
    Parallel(Vec<Piece>),
    Mesh(Vec<(usize, usize, Piece)>),
}

impl Piece {
    fn turned(self) -> Self {
        match self {
            Self::Emitter { index, against } => Self::Emitter { index, against: !against },
            Self::Series(pieces) => Self::Series(pieces.into_iter().rev().map(Self::turned).collect()),
            Self::Parallel(pieces) => Self::Parallel(pieces.into_iter().map(Self::turned).collect()),
            Self::Mesh(edges) => {
                Self::Mesh(edges.into_iter().map(|(from, to, piece)| (to, from, piece.turned())).collect())
            }
        }
    }

    fn first(&self) -> usize {
        match self {
            Self::Emitter { index, .. } => *index,
            Self::Series(pieces) | Self::Parallel(pieces) => {
                pieces.iter().map(Self::first).min().unwrap_or(usize::MAX)
            }
            Self::Mesh(edges) => edges.iter().map(|(_, _, piece)| piece.first()).min().unwrap_or(usize::MAX),
        }
    }

    fn after(self, other: Self) -> Self {
        let list = |piece| if let Self::Series(pieces) = piece { pieces } else { vec![piece] };
        let mut pieces = list(self);
        pieces.extend(list(other));
        Self::Series(pieces)
    }

    fn beside(self, other: Self) -> Self {
        let list = |piece| if let Self::Parallel(pieces) = piece { pieces } else { vec![piece] };
        let mut pieces = list(self);
        pieces.extend(list(other));
        Self::Parallel(pieces)
    }

    /// Emitters against the direction, and the number of those with it.
    fn against(&self, into: &mut Vec<usize>, with: &mut usize) {
        match self {
            Self::Emitter { index, against: true } => into.push(*index),
            Self::Emitter { .. } => *with += 1,
            Self::Series(pieces) | Self::Parallel(pieces) => {
                pieces.iter().for_each(|piece| piece.against(into, with));
            }
            Self::Mesh(edges) => edges.iter().for_each(|(_, _, piece)| piece.against(into, with)),
        }
    }

    /// Resistance of equal emitters of one ohm.
    fn ohm(&self) -> f64 {
        match self {
            Self::Emitter { .. } | Self::Mesh(_) => 1.0,
            Self::Series(pieces) => pieces.iter().map(Self::ohm).sum(),
            Self::Parallel(pieces) => 1.0 / pieces.iter().map(|piece| 1.0 / piece.ohm()).sum::<f64>(),
        }
    }

    fn part(self) -> Part {
        match self {
            Self::Emitter { index, .. } => Part::Emitter(index),
            Self::Series(pieces) => Part::Series(pieces.into_iter().map(Self::part).collect()),
            Self::Parallel(mut pieces) => {
                pieces.sort_by_key(Self::first);
                Part::Parallel(pieces.into_iter().map(Self::part).collect())
            }
            Self::Mesh(mut edges) => {
                edges.sort_by_key(|(_, _, piece)| piece.first());
                let part =
                    |(from, to, piece): (usize, usize, Self)| MeshPart { from, to, part: piece.part() };
                Part::Mesh(edges.into_iter().map(part).collect())
            }
        }
    }
}

/// Pieces between pairs of nodes, directed from the lower number to the higher.
#[derive(Default)]
struct Graph {
    pieces: BTreeMap<(usize, usize), Nested>,
    neighbours: BTreeMap<usize, BTreeSet<usize>>,
    too_deep: bool,
}

/// A piece and how deep its parts are nested.
struct Nested {
    piece: Piece,
    depth: usize,
}

impl Nested {
    fn after(self, other: Self) -> Self {
        let depth = |one: &Self| one.depth + usize::from(!matches!(one.piece, Piece::Series(_)));
        let depth = depth(&self).max(depth(&other));
        Self { piece: self.piece.after(other.piece), depth }
    }

    fn beside(self, other: Self) -> Self {
        let depth = |one: &Self| one.depth + usize::from(!matches!(one.piece, Piece::Parallel(_)));
        let depth = depth(&self).max(depth(&other));
        Self { piece: self.piece.beside(other.piece), depth }
    }

    fn turned(self) -> Self {
        Self { piece: self.piece.turned(), ..self }
    }
}

impl Graph {
    fn add(&mut self, from: usize, to: usize, piece: Nested) {
        if from == to {
            return;
        }
        let piece = if from < to { piece } else { piece.turned() };
        let key = (from.min(to), from.max(to));
        let both = match self.pieces.remove(&key) {
            Some(before) => before.beside(piece),
            None => piece,
        };
        self.too_deep |= both.depth > MOST_NESTED;
        self.pieces.insert(key, both);
        self.neighbours.entry(from).or_default().insert(to);
        self.neighbours.entry(to).or_default().insert(from);
    }

    /// Takes out the piece between two nodes, directed from the first to the second.
    fn take(&mut self, from: usize, to: usize) -> Option<Nested> {
        let piece = self.pieces.remove(&(from.min(to), from.max(to)))?;
        for (one, other) in [(from, to), (to, from)] {
            self.neighbours.entry(one).or_default().remove(&other);
        }
        Some(if from < to { piece } else { piece.turned() })
    }

    /// Makes series and parallels, and drops what hangs on one node only.
    fn shrink(&mut self, plus: usize, minus: usize) {
        let mut open: Vec<usize> = self.neighbours.keys().copied().rev().collect();
        while let Some(node) = open.pop() {
            if self.too_deep {
                return;
            }
            if node == plus || node == minus {
                continue;
            }
            let near: Vec<usize> =
                self.neighbours.get(&node).map_or_else(Vec::new, |near| near.iter().copied().collect());
            match near[..] {
                [only] => {
                    self.take(only, node);
                    open.push(only);
                }
                [a, b] => {
                    if let (Some(first), Some(second)) = (self.take(a, node), self.take(node, b)) {
                        self.add(a, b, first.after(second));
                    }
                    open.extend([a, b]);
                }
                _ => {}
            }
        }
    }
}

fn reduce(edges: &[Option<Edge>], plus: usize, minus: usize) -> Outcome {
    let mut graph = Graph::default();
    for (index, edge) in edges.iter().enumerate() {
        if let Some(Edge { anode, cathode }) = *edge {
            graph.add(anode, cathode, Nested { piece: Piece::Emitter { index, against: false }, depth: 0 });
        }
    }
    graph.shrink(plus, minus);
    if graph.too_deep {
        return Outcome::TooMeshed;
    }
    if graph.pieces.len() <= 1 {
        return graph.take(plus, minus).map_or(Outcome::Nothing, |whole| Outcome::Whole(whole.piece));
    }
    meshed(&graph, plus, minus)
}

/// Gives what is left its directions, or says what of it is on no path.
fn meshed(graph: &Graph, plus: usize, minus: usize) -> Outcome {
    let mut reached = BTreeSet::from([plus]);
    let mut open = vec![plus];
    while let Some(node) = open.pop() {
        for &next in graph.neighbours.get(&node).into_iter().flatten() {
            if reached.insert(next) {
                open.push(next);
            }
        }
    }
    if !reached.contains(&minus) {
        return Outcome::Nothing;
    }
    if reached.len() > MOST_MESHED {
        return Outcome::TooMeshed;
    }
    let places: BTreeMap<usize, usize> =
        reached.iter().filter(|node| **node != minus).enumerate().map(|(i, node)| (*node, i)).collect();
    let near: Vec<(usize, usize, &Piece)> = graph
        .pieces
        .iter()
        .filter(|((from, _), _)| reached.contains(from))
        .map(|(&(from, to), nested)| (from, to, &nested.piece))
        .collect();
    // Unequal resistances tell which pieces lie on a path: no two paths cancel. Equal ones tell the direction.
    let unequal = |k: usize| 1.0 + 0.5 * (0.618_033_988_75 * k as f64 + 0.3).fract();
    let flows = |weight: &dyn Fn(usize) -> f64| {
        let n = places.len();
        let (mut a, mut b) = (vec![0.0; n * n], vec![0.0; n]);
        let conductance = |k: usize, piece: &Piece| 1.0 / (piece.ohm() * weight(k));
        for (k, (from, to, piece)) in near.iter().enumerate() {
            let g = conductance(k, piece);
            let (i, j) = (places.get(from), places.get(to));
            for i in [i, j].into_iter().flatten() {
                a[i * n + i] += g;
            }
            if let (Some(i), Some(j)) = (i, j) {
                a[i * n + j] -= g;
                a[j * n + i] -= g;
            }
        }
        b[*places.get(&plus)?] = 1.0;
        let potential = dense::solve(a, b)?;
        let at = |node: &usize| places.get(node).map_or(0.0, |i| potential[*i]);
        let flow = |(k, (from, to, piece)): (usize, &(usize, usize, &Piece))| {
            (at(from) - at(to)) * conductance(k, piece)
        };
        Some(near.iter().enumerate().map(flow).collect::<Vec<f64>>())
    };
    let (Some(any), Some(equal)) = (flows(&unequal), flows(&|_| 1.0)) else { return Outcome::TooMeshed };
    let mut idle = Vec::new();
    let mut edges = Vec::new();
    for ((&(from, to, piece), any), equal) in near.iter().zip(any).zip(equal) {
        if any.abs() < NO_CURRENT {
            // Both kinds: those with the direction and those against it.
            piece.against(&mut idle, &mut 0);
            piece.clone().turned().against(&mut idle, &mut 0);
            continue;
        }
        let (mut against, mut with) = (Vec::new(), 0);
        piece.against(&mut against, &mut with);
        let turn = if equal.abs() < NO_CURRENT { against.len() > with } else { equal < 0.0 };
        let piece = piece.clone();
        edges.push(if turn { (to, from, piece.turned()) } else { (from, to, piece) });
    }
    if idle.is_empty() { Outcome::Whole(Piece::Mesh(edges)) } else { Outcome::Idle(idle) }
}

#[cfg(test)]
mod tests {
    use super::{Edge, between};

    fn edge(anode: usize, cathode: usize) -> Option<Edge> {
        Some(Edge { anode, cathode })
    }

    /// Circuits that no board has still end: deep nests and large meshes are told, long strings are followed.
    #[test]
    fn large_circuits_end() {
        let string: Vec<_> = (0..3000)
            .map(|k| edge(if k == 0 { 0 } else { k + 1 }, if k == 2999 { 1 } else { k + 2 }))
            .collect();
        assert_eq!(between(&string, 0, 1).root.map(|root| root.emitters().len()), Some(3000));
        let nested = |steps: usize| {
            let ladder =
                (0..steps).flat_map(|k| [edge(if k == 0 { 0 } else { k + 1 }, k + 2), edge(k + 2, 1)]);
            between(&ladder.collect::<Vec<_>>(), 0, 1)
        };
        assert!(nested(90).root.is_some());
        assert!(nested(5000).root.is_none() && nested(5000).too_meshed);
        let mesh = |n: usize| {
            let right = (0..n).flat_map(|i| (0..n - 1).map(move |j| edge(i * n + j, i * n + j + 1)));
            let down = (0..n - 1).flat_map(|i| (0..n).map(move |j| edge(i * n + j, (i + 1) * n + j)));
            between(&right.chain(down).collect::<Vec<_>>(), 0, n * n - 1)
        };
        assert_eq!(mesh(10).root.map(|root| root.emitters().len()), Some(180));
        assert!(mesh(30).root.is_none() && mesh(30).too_meshed);
    }
}

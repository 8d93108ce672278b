//! What lies between two places of a circuit: emitters in series, in parallel, or meshed.

/// Emitters between two nodes, all passed from the first node to the second.
#[derive(Debug, Clone, PartialEq)]
pub enum Part {
    /// One emitter: its index in the variant.
    Emitter(usize),
    /// One after the other, from + to -; never a series within a series.
    Series(Vec<Part>),
    /// Side by side; never a parallel within a parallel.
    Parallel(Vec<Part>),
    /// Neither: bridges between branches.
    Mesh(Vec<MeshPart>),
}

/// A part within a mesh.
#[derive(Debug, Clone, PartialEq)]
pub struct MeshPart {
    /// Node where current goes in.
    pub from: usize,
    /// Node where it comes out.
    pub to: usize,
    /// What lies between.
    pub part: Part,
}

impl Part {
    /// Whether it is one emitter behind the other, without branches.
    #[must_use]
    pub fn is_chain(&self) -> bool {
        match self {
            Self::Emitter(_) => true,
            Self::Series(parts) => parts.iter().all(|part| matches!(part, Self::Emitter(_))),
            _ => false,
        }
    }

    /// All its emitters, from + to - and branch by branch.
    #[must_use]
    pub fn emitters(&self) -> Vec<usize> {
        let mut found = Vec::new();
        self.each(&mut |emitter| found.push(emitter));
        found
    }

    fn each(&self, with: &mut impl FnMut(usize)) {
        match self {
            Self::Emitter(emitter) => with(*emitter),
            Self::Series(parts) | Self::Parallel(parts) => parts.iter().for_each(|part| part.each(with)),
            Self::Mesh(edges) => edges.iter().for_each(|edge| edge.part.each(with)),
        }
    }

    /// The emitters that its whole current enters through.
    #[must_use]
    pub fn entrance(&self) -> Vec<usize> {
        match self {
            Self::Emitter(emitter) => vec![*emitter],
            Self::Series(parts) => parts.first().map_or_else(Vec::new, Self::entrance),
            Self::Parallel(parts) => parts.iter().flat_map(Self::entrance).collect(),
            Self::Mesh(edges) => {
                // The first node of a mesh is the one that nothing leads to.
                let into = |node: usize| edges.iter().any(|edge| edge.to == node);
                edges.iter().filter(|edge| !into(edge.from)).flat_map(|edge| edge.part.entrance()).collect()
            }
        }
    }

    /// Voltage over it, V, from that of each emitter with what is in series with it. Of branches side by side, the one whose
    /// entrance carries most tells it.
    pub(crate) fn voltage_v(&self, emitter_v: &impl Fn(usize) -> f64, emitter_a: &[f64]) -> f64 {
        match self {
            Self::Emitter(emitter) => emitter_v(*emitter),
            Self::Series(parts) => parts.iter().map(|part| part.voltage_v(emitter_v, emitter_a)).sum(),
            Self::Parallel(parts) => {
                let through = |part: &Self| super::sharing::through(part, emitter_a);
                let most = parts.iter().reduce(|a, b| if through(b) > through(a) { b } else { a });
                most.map_or(0.0, |part| part.voltage_v(emitter_v, emitter_a))
            }
            Self::Mesh(edges) => mesh_voltage_v(edges, emitter_v, emitter_a),
        }
    }

    /// Its branches side by side; itself alone where there are none.
    #[must_use]
    pub fn branches(&self) -> &[Part] {
        match self {
            Self::Parallel(parts) => parts,
            one => std::slice::from_ref(one),
        }
    }

    /// All groups of branches side by side in it, the outermost first.
    pub(super) fn groups<'a>(&'a self, into: &mut Vec<&'a [Part]>) {
        match self {
            Self::Emitter(_) => {}
            Self::Series(parts) => parts.iter().for_each(|part| part.groups(into)),
            Self::Parallel(parts) => {
                into.push(parts);
                parts.iter().for_each(|part| part.groups(into));
            }
            Self::Mesh(edges) => edges.iter().for_each(|edge| edge.part.groups(into)),
        }
    }

    /// In words: `D1, D2, (D3 | D4)`; branches side by side stand in brackets.
    #[must_use]
    pub fn words(&self, name: &impl Fn(usize) -> String) -> String {
        let joined =
            |parts: &[Self], by: &str| parts.iter().map(|part| part.words(name)).collect::<Vec<_>>().join(by);
        match self {
            Self::Emitter(emitter) => name(*emitter),
            Self::Series(parts) => joined(parts, ", "),
            Self::Parallel(parts) => format!("({})", joined(parts, " | ")),
            Self::Mesh(edges) => {
                let parts: Vec<String> = edges.iter().map(|edge| edge.part.words(name)).collect();
                format!("mesh of {}", parts.join("; "))
            }
        }
    }
}

/// Voltage from the node that nothing leads to, to the one that nothing leads from, along any way: all are equal by Kirchhoff's
/// second law.
fn mesh_voltage_v(edges: &[MeshPart], emitter_v: &impl Fn(usize) -> f64, emitter_a: &[f64]) -> f64 {
    let Some(mut at) =
        edges.iter().map(|edge| edge.from).find(|node| edges.iter().all(|edge| edge.to != *node))
    else {
        return 0.0;
    };
    let mut sum = 0.0;
    // A way through a mesh is no longer than its edges are many.
    for _ in 0..edges.len() {
        let through = |edge: &MeshPart| super::sharing::through(&edge.part, emitter_a);
        let out = edges.iter().filter(|edge| edge.from == at);
        let Some(edge) = out.reduce(|a, b| if through(b) > through(a) { b } else { a }) else { break };
        sum += edge.part.voltage_v(emitter_v, emitter_a);
        at = edge.to;
    }
    sum
}

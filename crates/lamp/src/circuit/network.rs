//! Currents of a network of emitters and resistances by Newton's method.
//!
//! For each branch the voltages of its emitters and resistances make up its nodes' difference (Kirchhoff's second law), and at
//! each node as much comes in as goes out (the first):
//!
//! `V_e(I_e) = u_from - u_to`, `sum of I_e leaving n - sum of I_e entering n = s_n`.
//!
//! Since every `V_e` rises, these are the conditions for the least content (integral of V over I) under the first law: one
//! solution (Millar, Phil. Mag. 42 (1951) 1150, from memory). A Newton step solves
//! `sum over branches at n of (du_from - du_to) / V_e' = residual` for the node voltages; it is shortened until the residuals
//! fall (infeasible start: Boyd and Vandenberghe, Convex Optimization, section 10.3, from memory).

use super::curve::Curve;
use super::dense::{self, Factors};
use super::sharing::SharingError;

/// Newton steps after which it is given up; a usual circuit needs ten.
const MOST_STEPS: usize = 300;
/// Nodes where branches meet that are solved for at most.
const MOST_NODES: usize = 1500;
/// Residuals at which the currents are found: V, and part of the whole current.
const CLOSED_V: f64 = 1e-9;
const CLOSED_PART: f64 = 1e-12;
/// A step leaves at least this part of each current.
const LEFT: f64 = 0.01;

/// Emitters and resistance in series between two nodes.
pub(super) struct Branch {
    pub from: usize,
    pub to: usize,
    /// Curves of its emitters.
    pub curves: Vec<Curve>,
    /// Resistance, ohm; >= 0. A branch without emitters has one above 0.
    pub ohm: f64,
    /// Where the search begins, A; > 0.
    pub guess_a: f64,
}

impl Branch {
    fn at(&self, current_a: f64) -> (f64, f64) {
        self.curves.iter().fold((self.ohm * current_a, self.ohm), |(v, slope), curve| {
            let own = curve.at(current_a);
            (v + own.0, slope + own.1)
        })
    }
}

/// Solves for the branch currents, A. `sources_a` is what each node is fed, A; its sum over nodes that hang together is 0.
pub(super) fn solve(branches: &[Branch], sources_a: &[f64]) -> Result<Vec<f64>, SharingError> {
    let places = unknowns(branches, sources_a.len());
    let n = places.iter().flatten().count();
    if n > MOST_NODES {
        return Err(SharingError::TooLarge { nodes: n, most: MOST_NODES });
    }
    let whole: f64 = sources_a.iter().filter(|s| **s > 0.0).sum::<f64>().max(f64::MIN_POSITIVE);
    let mut state = State {
        current_a: branches.iter().map(|branch| branch.guess_a.max(1e-9 * whole)).collect(),
        node_v: vec![0.0; sources_a.len()],
    };
    let mut residual = Residual::of(branches, sources_a, &state);
    for _ in 0..MOST_STEPS {
        if residual.closed(whole) {
            return Ok(state.current_a);
        }
        let Some(step) = newton(branches, &places, n, &state, &residual) else { break };
        let mut length = 1.0f64;
        for (current, change) in state.current_a.iter().zip(&step.current_a) {
            if *change < 0.0 {
                length = length.min((1.0 - LEFT) * current / -change);
            }
        }
        let before = residual.size(whole);
        loop {
            let next = state.moved(&step, length);
            let found = Residual::of(branches, sources_a, &next);
            if found.size(whole) < (1.0 - 0.01 * length) * before || length < 1e-6 {
                (state, residual) = (next, found);
                break;
            }
            length /= 2.0;
        }
    }
    if residual.closed(whole) {
        return Ok(state.current_a);
    }
    Err(SharingError::NotConverged { residual_v: residual.largest_v() })
}

/// The place of each node among the unknowns; one node of those that hang together is held at 0 V.
fn unknowns(branches: &[Branch], nodes: usize) -> Vec<Option<usize>> {
    let mut first: Vec<usize> = (0..nodes).collect();
    fn head(first: &mut [usize], mut node: usize) -> usize {
        while first[node] != node {
            first[node] = first[first[node]];
            node = first[node];
        }
        node
    }
    for branch in branches {
        let (a, b) = (head(&mut first, branch.from), head(&mut first, branch.to));
        first[a.max(b)] = a.min(b);
    }
    let mut count = 0;
    (0..nodes)
        .map(|node| {
            (head(&mut first, node) != node).then(|| {
                count += 1;
                count - 1
            })
        })
        .collect()
}

/// How much each branch's current changes for each volt added to each branch's voltage, A/V, row by row, at a solution:
/// `dI_k = (du_from - du_to - dw_k) / V_k'` with what enters a node leaving it again. `None` where nothing can be told.
pub(super) fn yielding_a_per_v(branches: &[Branch], nodes: usize, current_a: &[f64]) -> Option<Vec<f64>> {
    let places = unknowns(branches, nodes);
    let n = places.iter().flatten().count();
    let conductance: Vec<f64> =
        branches.iter().zip(current_a).map(|(branch, &i)| 1.0 / branch.at(i).1).collect();
    let factors = Factors::of(laplacian(branches, &places, n, &conductance), n)?;
    let m = branches.len();
    let mut yields = vec![0.0; m * m];
    for (l, (branch, g)) in branches.iter().zip(&conductance).enumerate() {
        let mut b = vec![0.0; n];
        if let Some(from) = places[branch.from] {
            b[from] += g;
        }
        if let Some(to) = places[branch.to] {
            b[to] -= g;
        }
        let change = factors.solve(b);
        let at = |node: usize| places[node].map_or(0.0, |place| change[place]);
        for (k, (other, g)) in branches.iter().zip(&conductance).enumerate() {
            let own = if k == l { 1.0 } else { 0.0 };
            yields[k * m + l] = g * (at(other.from) - at(other.to) - own);
        }
    }
    yields.iter().all(|value| value.is_finite()).then_some(yields)
}

/// The matrix of the node voltages.
fn laplacian(branches: &[Branch], places: &[Option<usize>], n: usize, conductance: &[f64]) -> Vec<f64> {
    let mut a = vec![0.0; n * n];
    for (branch, g) in branches.iter().zip(conductance) {
        let (from, to) = (places[branch.from], places[branch.to]);
        if let Some(from) = from {
            a[from * n + from] += g;
        }
        if let Some(to) = to {
            a[to * n + to] += g;
        }
        if let (Some(from), Some(to)) = (from, to) {
            a[from * n + to] -= g;
            a[to * n + from] -= g;
        }
    }
    a
}

struct State {
    current_a: Vec<f64>,
    node_v: Vec<f64>,
}

impl State {
    fn moved(&self, step: &Self, length: f64) -> Self {
        let add = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a + length * b).collect();
        Self { current_a: add(&self.current_a, &step.current_a), node_v: add(&self.node_v, &step.node_v) }
    }
}

struct Residual {
    /// Of each branch, V.
    branch_v: Vec<f64>,
    /// Of each node, A.
    node_a: Vec<f64>,
}

impl Residual {
    fn of(branches: &[Branch], sources_a: &[f64], state: &State) -> Self {
        let mut node_a = sources_a.to_vec();
        let mut branch_v = Vec::with_capacity(branches.len());
        for (branch, &current) in branches.iter().zip(&state.current_a) {
            node_a[branch.from] -= current;
            node_a[branch.to] += current;
            branch_v.push(branch.at(current).0 - state.node_v[branch.from] + state.node_v[branch.to]);
        }
        Self { branch_v, node_a }
    }

    fn largest_v(&self) -> f64 {
        self.branch_v.iter().fold(0.0, |most: f64, v| most.max(v.abs()))
    }

    fn closed(&self, whole_a: f64) -> bool {
        self.largest_v() < CLOSED_V && self.node_a.iter().all(|a| a.abs() <= CLOSED_PART * whole_a)
    }

    fn size(&self, whole_a: f64) -> f64 {
        let square = |values: &[f64], unit: f64| values.iter().map(|v| (v / unit) * (v / unit)).sum::<f64>();
        (square(&self.branch_v, 1.0) + square(&self.node_a, whole_a)).sqrt()
    }
}

fn newton(
    branches: &[Branch],
    places: &[Option<usize>],
    n: usize,
    state: &State,
    residual: &Residual,
) -> Option<State> {
    let mut b = vec![0.0; n];
    let conductance: Vec<f64> =
        branches.iter().zip(&state.current_a).map(|(branch, &i)| 1.0 / branch.at(i).1).collect();
    for (node, place) in places.iter().enumerate() {
        if let Some(place) = place {
            b[*place] += residual.node_a[node];
        }
    }
    for (branch, (g, v)) in branches.iter().zip(conductance.iter().zip(&residual.branch_v)) {
        let (from, to) = (places[branch.from], places[branch.to]);
        if let Some(from) = from {
            b[from] += g * v;
        }
        if let Some(to) = to {
            b[to] -= g * v;
        }
    }
    let change = dense::solve(laplacian(branches, places, n, &conductance), b)?;
    let node_v: Vec<f64> = places.iter().map(|place| place.map_or(0.0, |place| change[place])).collect();
    let current_a = branches
        .iter()
        .zip(conductance.iter().zip(&residual.branch_v))
        .map(|(branch, (g, v))| g * (node_v[branch.from] - node_v[branch.to] - v))
        .collect();
    Some(State { current_a, node_v })
}

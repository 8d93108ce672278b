//! Arbitrary networks of conductances, against a general-purpose dense factorisation (`nalgebra`, LU with full pivoting).
#![allow(clippy::unwrap_used, clippy::expect_used)] // a test may fail loudly

use conduction::{Conductances, Grid, SolveError, SolveOptions, Solver};
use nalgebra::{DMatrix, DVector};
use proptest::prelude::*;

/// Decades over which the conductances of one network are spread. With more, double precision itself loses the answer.
const DECADES: f64 = 5.0;

/// What a network is made from: its size, a share of missing faces, a share of grounded cells, and a seed for the rest.
#[derive(Debug, Clone)]
struct Recipe {
    size: (usize, usize, usize),
    missing: f64,
    grounded: f64,
    seed: u64,
}

fn recipes() -> impl Strategy<Value = Recipe> {
    ((1usize..24, 1usize..20, 1usize..9), 0.0..0.6, 0.02..0.6, any::<u64>())
        .prop_filter("dense systems stay small", |(size, ..)| size.0 * size.1 * size.2 <= 700)
        .prop_map(|(size, missing, grounded, seed)| Recipe { size, missing, grounded, seed })
}

/// Numbers from 0 to 1 (splitmix64; Steele, Lea and Flood, OOPSLA 2014).
struct Numbers(u64);

impl Numbers {
    fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 53) as f64
    }

    fn conductance(&mut self, missing: f64) -> f64 {
        if self.next() < missing { 0.0 } else { 10f64.powf(DECADES * (self.next() - 0.5)) }
    }
}

struct Network {
    grid: Grid,
    conductances: Conductances,
    power: Vec<f64>,
}

fn network(recipe: &Recipe) -> Network {
    let (nx, ny, nz) = recipe.size;
    let lines = |n: usize| (0..=n).map(|i| i as f64).collect::<Vec<_>>();
    let grid = Grid::new(lines(nx), lines(ny), lines(nz)).unwrap();
    let mut numbers = Numbers(recipe.seed);
    let mut many = |share: f64| (0..grid.cells()).map(|_| numbers.conductance(share)).collect::<Vec<_>>();
    let faces = [many(recipe.missing), many(recipe.missing), many(recipe.missing)];
    let ground = many(1.0 - recipe.grounded);
    let mut power = many(0.5);
    power[0] += 1.0;
    let [gx, gy, gz] = faces;
    let conductances = Conductances::from_faces(&grid, gx, gy, gz, ground).unwrap();
    Network { grid, conductances, power }
}

/// The matrix of the network, row by row.
fn dense(network: &Network) -> DMatrix<f64> {
    let g = &network.grid;
    let mut a = DMatrix::zeros(g.cells(), g.cells());
    let [gx, gy, gz] = network.conductances.faces();
    let mut join = |c: usize, d: usize, value: f64| {
        a[(c, c)] += value;
        a[(d, d)] += value;
        a[(c, d)] -= value;
        a[(d, c)] -= value;
    };
    for k in 0..g.nz() {
        for j in 0..g.ny() {
            for i in 0..g.nx() {
                let c = g.index(i, j, k);
                if i + 1 < g.nx() {
                    join(c, g.index(i + 1, j, k), gx[c]);
                }
                if j + 1 < g.ny() {
                    join(c, g.index(i, j + 1, k), gy[c]);
                }
                if k + 1 < g.nz() {
                    join(c, g.index(i, j, k + 1), gz[c]);
                }
            }
        }
    }
    for (c, value) in network.conductances.ground().iter().enumerate() {
        a[(c, c)] += value;
        // Cells that are not there: their potential is 0.
        if a[(c, c)] == 0.0 {
            a[(c, c)] = 1.0;
        }
    }
    a
}

/// Which cells have a path to the reference; unheated pieces without one may be at any common level.
fn reached(network: &Network, a: &DMatrix<f64>) -> Vec<bool> {
    let mut reached: Vec<bool> = network.conductances.ground().iter().map(|g| *g > 0.0).collect();
    let mut open: Vec<usize> = (0..reached.len()).filter(|c| reached[*c]).collect();
    while let Some(c) = open.pop() {
        for d in 0..reached.len() {
            if a[(c, d)] != 0.0 && !reached[d] {
                reached[d] = true;
                open.push(d);
            }
        }
    }
    reached
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 96, ..ProptestConfig::default() })]

    #[test]
    fn any_network_is_solved_as_by_elimination(recipe in recipes()) {
        let network = network(&recipe);
        let mut solver = Solver::new(&network.conductances).unwrap();
        let options = SolveOptions { relative_residual: 1e-9, max_iterations: 3000, ..SolveOptions::default() };
        match solver.solve(&network.power, &options) {
            Err(SolveError::Floating { .. }) => {}
            Err(other) => prop_assert!(false, "{other}"),
            Ok(solution) => {
                let a = dense(&network);
                let power = DVector::from_vec(network.power.clone());
                let found = DVector::from_vec(solution.rise_k.clone());
                let left = (&power - &a * &found).norm() / power.norm().max(f64::MIN_POSITIVE);
                prop_assert!(left < 1.02e-9, "residual {left}");
                let reached = reached(&network, &a);
                let mut anchored = a;
                for c in (0..reached.len()).filter(|c| !reached[*c]) {
                    anchored.row_mut(c).fill(0.0);
                    anchored[(c, c)] = 1.0;
                }
                if let Some(exact) = anchored.full_piv_lu().solve(&power) {
                    // Errors of the field in the energy norm; the dense answer has its own rounding.
                    let off = |c: usize| if reached[c] { (found[c] - exact[c]).abs() } else { 0.0 };
                    let away = (0..reached.len()).map(off).fold(0.0, f64::max) / exact.amax();
                    prop_assert!(away < 1e-4, "{away} away after {} iterations", solution.iterations);
                }
            }
        }
    }
}
